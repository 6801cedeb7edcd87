"""Chore or puzzle: what a plan asks of its crew beside the number of its moves.

:func:`effort_of` reads a plan that the referee has replayed: trips around, repeated shuttles, running light,
the longest unbroken spell.  :func:`forced_moves` looks at all plans with the fewest moves: at how many moves
none of them has a choice.
"""

from __future__ import annotations

from switchsolve.effort.figures import Effort, Shuttle, effort_of
from switchsolve.effort.forced import Forced, forced_moves, shortest_steps
from switchsolve.effort.passing import runs_around, trips_around, trips_of

__all__ = [
    "Effort",
    "Forced",
    "Shuttle",
    "effort_of",
    "forced_moves",
    "runs_around",
    "shortest_steps",
    "trips_around",
    "trips_of",
]
