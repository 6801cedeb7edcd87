"""Reverse questions: how many cars in so many minutes, and the longest train with so many trips around."""

from __future__ import annotations

from switchsolve.reaching.evening import Evening, cars_in
from switchsolve.reaching.trains import LongTrains, TrainRow, long_trains

__all__ = ["Evening", "LongTrains", "TrainRow", "cars_in", "long_trains"]
