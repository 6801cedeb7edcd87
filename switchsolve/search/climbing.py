"""A plan, soon: from where it is the search goes on to the nearest standing that is nearer to the end.

How near a standing is, is said by all choices of two cars together: the sum of the fewest runs still to go
for each.  What is found is a plan, with no claim about how good it is.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import numpy as np

from switchsolve.search.ends import Ends
from switchsolve.search.runs import RunState
from switchsolve.search.tables import Tables

__all__ = ["CHOICES", "climb"]

_Array = np.ndarray[Any, Any]
_FAR = 1 << 60
CHOICES = 2
"""Cars in a choice; the choices of so many that have tables are looked at."""


def climb(
    ends: Ends, tables: Tables, width: int, look: Callable[[Ends], None]
) -> list[RunState] | None:
    """The standings at the reversals of some plan, or ``None`` if there is none.

    ``ends``: where it begins, with what is known from the goal.  ``width``: standings of a layer to go on
    from; with each layer that is no nearer as many more.  Where that leads no farther it goes on from the
    nearest of those left behind.  ``look`` is called now and then, and may raise.
    """
    nearest, wide = _FAR, width
    behind = _Behind()
    while len(ends.layers[0]):
        ends.depth[0] = 0  # how deep a standing lies is of no use here
        chain = ends.expand(0, look)
        if chain is not None:
            return chain
        fresh = ends.layers[0]
        if not len(fresh):
            ends.layers[0], wide = behind.take(width), width
            continue
        sums = tables.sums(ends.reached, fresh, CHOICES)
        order = np.argsort(sums, kind="stable")
        if sums[order[0]] < nearest:
            nearest, wide, count = int(sums[order[0]]), width, 1
        else:
            count, wide = wide, wide + width
        ends.layers[0] = np.sort(fresh[order[:count]])
        behind.leave(fresh[order[count:]], sums[order[count:]])
    return None


class _Behind:
    """Standings left behind, with their sums."""

    def __init__(self) -> None:
        self._states: list[_Array] = []
        self._sums: list[_Array] = []

    def leave(self, states: _Array, sums: _Array) -> None:
        """Leave some more."""
        self._states.append(states)
        self._sums.append(sums)

    def take(self, count: int) -> _Array:
        """Take the ``count`` nearest of them."""
        states = np.concatenate([*self._states, np.zeros(0, np.int64)])
        sums = np.concatenate([*self._sums, np.zeros(0, np.int64)])
        order = np.argsort(sums, kind="stable")
        self._states, self._sums = [states[order[count:]]], [sums[order[count:]]]
        return np.sort(states[order[:count]])
