"""A compiled search by events from one end: one number of moves after the other."""

from __future__ import annotations

from collections.abc import Iterable

from switchsolve.goal import Goal
from switchsolve.kernel import event_kernel as kernel
from switchsolve.rules import Rules, Standing
from switchsolve.search.event_arrays import EventArrays
from switchsolve.search.tariffs import by_moves

__all__ = ["Side", "from_the_ends"]

_SLICE = 2_000
"""Standings expanded between two looks at the clock."""


class Side:
    """A compiled search by events that closes one number of moves after the other."""

    def __init__(self, arrays: EventArrays) -> None:
        self.arrays = arrays
        arrays.ask_for_no_end()  # where both meet tells
        self.closed = -1
        """All standings within so many moves are known."""
        self.met = 0
        """Nodes that have been looked up on the other side."""
        self.is_full = False
        self._resume = -1

    def go_on(self) -> bool:
        """Expand standings within one move more, a slice of them; whether all are closed now."""
        store = self.arrays.store
        most = int(store.sizes[3]) + _SLICE
        why = kernel.run(self.arrays.memory, store, most, self.closed + 1, self._resume)
        self.is_full = why == kernel.FULL
        if why == kernel.EXHAUSTED:
            self._resume = -1
            self.closed += 1
            return True
        self._resume = int(store.sizes[7])
        return False

    @property
    def is_exhausted(self) -> bool:
        """Whether all that can be reached is known."""
        return self.closed >= 0 and not self.waiting

    @property
    def waiting(self) -> int:
        """How many standings are known, and not expanded."""
        return int(self.arrays.store.sizes[5])

    @property
    def expanded(self) -> int:
        """How many standings have been expanded."""
        return int(self.arrays.store.sizes[3])


def from_the_ends(rules: Rules, goal: Goal, lasts: Iterable[Standing]) -> Side:
    """The search back from the ends of the work.

    Every locomotive may set out either way for nothing: what comes before is told where it is met.
    """
    any_way = (kernel.ANY_WAY,) * len(rules.p.loco_names)
    ends = [standing._replace(last=any_way) for standing in lasts]
    return Side(EventArrays(rules, goal, by_moves(rules), ends))
