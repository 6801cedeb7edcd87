"""The patterns of one search: those of a bank, if there is one, and its own."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable
from functools import reduce
from typing import Any

import numpy as np

from switchsolve.kernel import run_kernel as kernel
from switchsolve.rules import Rules
from switchsolve.search.bank import MOST_KEPT, Bank
from switchsolve.search.hands import Hands
from switchsolve.search.patterns import Kept, Patterns
from switchsolve.search.reached import Budget, Reached
from switchsolve.search.runs import RunState
from switchsolve.search.space import Space

__all__ = ["Tables"]

_Array = np.ndarray[Any, Any]


class Tables:
    """What the patterns of a search say together."""

    def __init__(
        self, rules: Rules, space: Space, budget: Budget, hands: Hands | None, bank: Bank | None
    ) -> None:
        """The arguments are those of :class:`~switchsolve.search.patterns.Patterns`; with a ``bank`` the
        smaller patterns are kept there.
        """
        self.rules = rules
        self.space = space
        self.budget = budget
        self.hands = hands
        self._is_shared = bank is not None
        self.parts = [Patterns(rules, space, budget, hands, bank)]

    def _part(self, size: int) -> Patterns:
        """The patterns that keep so many cars."""
        if not self._is_shared or size <= MOST_KEPT:
            return self.parts[0]
        if len(self.parts) == 1:
            self.parts.append(Patterns(self.rules, self.space, self.budget, self.hands))
        return self.parts[1]

    # ---- making them

    def add(self, batch: list[Kept], should_stop: Callable[[], bool]) -> int | None:
        """Make the tables of patterns of one size: how many states they hold, or ``None`` if told to stop.

        Raises :class:`~switchsolve.search.reached.NoRoom`.
        """
        patterns = self._part(len(batch[0]))
        before = patterns.states
        return patterns.states - before if patterns.add(batch, should_stop) else None

    def hardest(self, first: list[RunState], size: int, count: int) -> list[Kept]:
        """Choices of so many cars that have no table yet, at most ``count``: those whose smaller parts have
        the longest plans from the states ``first``.
        """
        start = self._started(first)
        known: list[tuple[Counter[int], int]] = []
        for patterns in self.parts:
            numbers = {number: token >> 1 for token, number in self.space.token_number.items()}
            for row in patterns.rows:
                runs = patterns.bounds(
                    start, np.arange(start.count), row.reshape(1, -1).copy(), kernel.UNREACHABLE
                )
                cars = (numbers[int(token)] for token in row[5 : 5 + row[0]])
                known.append((Counter(cars), int(runs.min())))
        start.release()

        def rank(choice: Kept) -> tuple[int, int, Kept]:
            has = Counter(choice)
            inside = [runs for part, runs in known if not part - has]
            return -max(inside, default=0), -sum(inside), choice

        kept = set().union(*(patterns.kept for patterns in self.parts))
        return sorted((one for one in self.parts[0].all_of(size) if one not in kept), key=rank)[:count]

    @property
    def cars(self) -> int:
        """Cars that there are to choose from."""
        return len(self.parts[0].cars)

    @property
    def states(self) -> int:
        """States in all tables."""
        return sum(patterns.states for patterns in self.parts)

    @property
    def looks(self) -> int:
        """How often a table was asked."""
        return sum(patterns.looks for patterns in self.parts)

    # ---- what they say

    def from_start(self, first: list[RunState]) -> int:
        """The fewest runs that they allow from the states ``first``."""
        start = self._started(first)
        chosen = np.arange(start.count)
        found = [
            patterns.bounds(start, chosen, patterns.rows, kernel.UNREACHABLE) for patterns in self.parts
        ]
        start.release()
        return int(reduce(np.maximum, found).min())

    def _started(self, first: list[RunState]) -> Reached:
        start = Reached(self.space, self.budget)
        start.begin(first, 1)
        return start

    @property
    def has_untried(self) -> bool:
        """Whether there are tables that :meth:`try_all` has not put to use yet."""
        return any(patterns.has_untried for patterns in self.parts)

    def try_all(self) -> None:
        """Use every pattern that says more than smaller ones do, to see which are worth their looks."""
        for patterns in self.parts:
            patterns.try_all()

    def within(self, reached: Reached, chosen: _Array, most: int) -> tuple[_Array, int, int]:
        """Those of the states chosen that may have ``most`` runs to go or fewer; how many others there were,
        and how many of them may still reach the end.
        """
        gone, may_reach = 0, 0
        for patterns in self.parts:
            chosen, more, still = patterns.within(reached, chosen, most)
            gone, may_reach = gone + more, may_reach + still
        return chosen, gone, may_reach

    def sums(self, reached: Reached, chosen: _Array, size: int) -> _Array:
        """As :meth:`~switchsolve.search.patterns.Patterns.sums`, for a size that a bank holds."""
        return self.parts[0].sums(reached, chosen, size)
