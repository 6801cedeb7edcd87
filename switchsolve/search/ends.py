"""Layers of standings from both ends, for the compiled search by longest runs."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import Any

import numpy as np

from switchsolve.search.hands import Hands
from switchsolve.search.reached import Budget, Reached
from switchsolve.search.runs import RunState
from switchsolve.search.space import Space

__all__ = ["Ends", "Within"]

_Array = np.ndarray[Any, Any]
Within = Callable[[int, _Array], _Array]
"""Which states to expand of the part of a layer with that number."""
_TRIAL = 400
"""States of a layer on which all patterns are tried, to see which are worth their looks."""
_SLICE = 20_000
"""States looked at between two looks at the clock."""


class Ends:
    """Layers from both ends."""

    def __init__(
        self, space: Space, budget: Budget, hands: Hands | None, first: list[RunState], goals: list[RunState]
    ) -> None:
        self.reached = Reached(space, budget, hands)
        self.reached.begin(first, 1)
        self.reached.begin(goals, -1)
        self.layers = [np.arange(len(first)), np.arange(len(first), len(first) + len(goals))]
        self.depth = [0, 0]
        self.pruned = 0
        self.may_reach = 0
        """Of those pruned: how many may still reach the end, in more runs."""

    @property
    def effort(self) -> float:
        """States expanded, and those looked at for what they cost."""
        return self.reached.expanded + self.pruned / 8

    def expand(
        self, side: int, look: Callable[[Ends], None], within: Within | None = None
    ) -> list[RunState] | None:
        """One layer more, from the states ``within``; the chain of states if it meets the other end."""
        reached = self.reached
        begin = reached.count
        self.depth[side] += 1
        depth = (1 + self.depth[side]) * (-1 if side else 1)
        for number, part in enumerate(_parts(self.layers[side])):
            chosen = part if within is None else within(number, part)
            if reached.expand(chosen, depth):
                return self._chain(side)
            look(self)
        self.layers[side] = np.arange(begin, reached.count)
        return None

    def chosen(self, side: int, within: Within, look: Callable[[Ends], None]) -> _Array:
        """The states of a layer that are ``within``."""
        stay = []
        for number, part in enumerate(_parts(self.layers[side])):
            stay.append(within(number, part))
            look(self)
        return np.sort(np.concatenate(stay))

    def _chain(self, side: int) -> list[RunState]:
        met, source = self.reached.meeting
        before, after = (source, met) if side == 0 else (met, source)
        return [*reversed(self.reached.chain(before)), *self.reached.chain(after)]


def _parts(layer: _Array) -> Iterator[_Array]:
    """The layer in parts: first states from all over it, then the rest in order."""
    step = max(1, len(layer) // _TRIAL)
    yield np.ascontiguousarray(layer[::step])
    rest = np.delete(layer, np.s_[::step])
    for begin in range(0, len(rest), _SLICE):
        yield rest[begin : begin + _SLICE]
