"""Scheduling: tasks, crews, resources and reservoirs, by CP-SAT; knows names and whole numbers only.

::

    answer = make_schedule(Problem(tasks=(Task("a", 3), Task("b", 2)), resources={"lead": 1}))

:func:`make_schedule` gives the shortest schedule and then the most even loads, each proved or with its bound,
or else a set of demands that clash; :func:`faults` asks, on its own, what is wrong with a schedule.
"""

from __future__ import annotations

from switchsolve.scheduling.checking import Fault, faults
from switchsolve.scheduling.demands import Demand, demands_of
from switchsolve.scheduling.problem import (
    After,
    Change,
    Choice,
    Duty,
    Problem,
    Reservoir,
    Schedule,
    Task,
    Use,
)
from switchsolve.scheduling.solving import Answer, Clash, Effort, Outcome, clash_of, make_schedule

__all__ = [
    "After",
    "Answer",
    "Change",
    "Choice",
    "Clash",
    "Demand",
    "Duty",
    "Effort",
    "Fault",
    "Outcome",
    "Problem",
    "Reservoir",
    "Schedule",
    "Task",
    "Use",
    "clash_of",
    "demands_of",
    "faults",
    "make_schedule",
]
