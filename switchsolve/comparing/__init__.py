"""Arrangements side by side: the same traffic, or the same work, sent to all of them."""

from __future__ import annotations

from switchsolve.comparing.cases import Case, cases_of
from switchsolve.comparing.figures import Interval, interval_of
from switchsolve.comparing.once import Compared, compare_once
from switchsolve.comparing.pairing import Pairing, pair
from switchsolve.comparing.running import Comparison, Far, compare
from switchsolve.comparing.saying import sentence_of, sentence_once
from switchsolve.comparing.tallying import Differences

__all__ = [
    "Case",
    "Compared",
    "Comparison",
    "Differences",
    "Far",
    "Interval",
    "Pairing",
    "cases_of",
    "compare",
    "compare_once",
    "interval_of",
    "pair",
    "sentence_of",
    "sentence_once",
]
