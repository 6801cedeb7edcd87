"""Counting: the census of a district, and how many different minimum plans there are."""

from __future__ import annotations

from switchsolve.counting.census import Census, take_census
from switchsolve.counting.plans import PlanCount, count_plans
from switchsolve.counting.refusing import Refused

__all__ = ["Census", "PlanCount", "Refused", "count_plans", "take_census"]
