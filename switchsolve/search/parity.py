"""Whether the plans with the fewest runs all have an even number of runs, or all an odd one.

Where no run can turn a string end for end every run goes one of two ways along the district, and the other
way than the run before.  So the ways of the first run and of the last say whether their number is even.
"""

from __future__ import annotations

from typing import Any

import numpy as np

from switchsolve.rules import Rules
from switchsolve.search.reached import Budget, successors
from switchsolve.search.runs import RunState
from switchsolve.search.space import Space

__all__ = ["odd_or_even"]

_Array = np.ndarray[Any, Any]


def odd_or_even(
    rules: Rules, space: Space, budget: Budget, first: list[RunState], goals: list[RunState]
) -> int | None:
    """1 if every plan with the fewest runs (if they are three or more) from ``first`` to ``goals`` has an odd
    number of them, 0 if an even one; ``None`` where neither is known.

    A beginning from which every run only leads to another beginning is left aside: a plan without that run
    has one run fewer, and still two or more.  So is an ending that can only be come to from another ending.
    If those that are left all set out one way, and all end one way, the number is known.

    Raises :class:`~switchsolve.search.reached.NoRoom`.
    """
    if rules.orientation is None:
        return None
    sets_out = _ways_of(rules, space, budget, first)
    ends = _ways_of(rules, space, budget, goals) if len(sets_out) == 1 else set()
    return sets_out.pop() ^ ends.pop() if len(ends) == 1 else None


def _ways_of(rules: Rules, space: Space, budget: Budget, states: list[RunState]) -> set[int]:
    """The ways (0 or 1) of the next run of those states that are not left aside.

    Of one end, next is counted towards the other: what is said of a beginning holds of an ending, undone.
    """
    assert rules.orientation is not None
    ways = np.array([_way(rules, state) for state in states], np.int64)
    rows = np.array([space.encode(state) for state in states], np.int64).reshape(-1, space.words)
    known = {row.tobytes() for row in rows}
    found: set[int] = set()
    for way in (0, 1):
        chosen = np.ascontiguousarray(rows[ways == way])
        if _leads_out(space, budget, chosen, known):
            found.add(way)
    return found


_AT_ONCE = 64
"""States looked at before it is asked whether one of them does."""


def _leads_out(space: Space, budget: Budget, states: _Array, known: set[bytes]) -> bool:
    """Whether a run leads from one of ``states`` to one that is not ``known``."""
    for begin in range(0, len(states), _AT_ONCE):
        _, rows = successors(space, budget, states[begin : begin + _AT_ONCE])
        if any(row.tobytes() not in known for row in rows):
            return True
    return False


def _way(rules: Rules, state: RunState) -> int:
    assert rules.orientation is not None
    way = state[1].ways[0]
    return (way & 1) ^ rules.orientation[way >> 1]
