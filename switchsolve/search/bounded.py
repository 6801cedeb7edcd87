"""A compiled search that gets its tables when it has become dearer than they are."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from itertools import chain as chain_of

from switchsolve.rules import Rules
from switchsolve.search.bank import MOST_KEPT
from switchsolve.search.course import Course, Stopped
from switchsolve.search.patterns import Kept
from switchsolve.search.runs import RunState
from switchsolve.search.tables import Tables

__all__ = ["Bounded"]

_ALL = 1_000_000
_BATCHES = (
    (2, _ALL),
    (3, 6),
    (3, 30),
    (3, _ALL),
    (4, 1),
    (5, 1),
    (5, 1),
    (6, 1),
)
"""Tables to be made one batch after the other: of so many cars, so many more, the hardest choices first."""
_TABLES_PAY = 8
"""Tables are made once the search has expanded one state for so many that they will hold."""
_SHARED, _NOT_SHARED = 12, 1 / 4
"""Tables that many questions share are as cheap as if they held so many times fewer; those that such a
question makes for itself alone come later, for what is shared says most of it."""


class Bounded(Course):
    """``allowed``: what may be spent before more tables pay.  ``reason``: what stopped it, if anything."""

    def __init__(
        self,
        rules: Rules,
        first: list[RunState],
        goals: list[RunState],
        should_stop: Callable[[int], str | None],
        most_bytes: int | None,
        name: Callable[[str], object],
        same_district: bool,
    ) -> None:
        """The arguments are those of :func:`~switchsolve.search.compiled_runs.search_runs`."""
        super().__init__(rules, first, goals, most_bytes, name, same_district)
        self.should_stop = should_stop
        self.reason: str | None = None
        self.allowed = float("inf")
        self._batches: Iterator[list[Kept]] = iter(())
        self._table_size: dict[int, int] = {}

    def has_patterns(self) -> bool:
        """Whether there are enough cars to leave some out."""
        return len(self.rules.p.class_of) > 3

    def with_tables(self) -> Tables:
        """The first tables."""
        self.tables = Tables(self.rules, self.space, self.budget, self.hands, self.bank)
        self._batches = self._choices(self.tables)
        self.more_tables()
        self.more_tables()  # the first, of two cars, cost next to nothing
        return self.tables

    def more_tables(self) -> None:
        """The next ones.  Raises :class:`~switchsolve.search.course.Stopped`, and
        :class:`~switchsolve.search.reached.NoRoom`.
        """
        assert self.tables is not None
        batch = next(self._batches, None)  # the hardest choices are ranked by the tables made so far
        if batch is None:
            self.allowed = float("inf")
            return
        self.name(f"at least {self.least} moves, tables for {len(batch[-1])} of the cars")

        def stopped() -> bool:
            self.reason = self.should_stop(self.stats["expanded"])
            return self.reason is not None

        size = len(batch[-1])
        states = self.tables.add(batch, stopped)
        if states is None:
            raise Stopped
        self._table_size[size] = max(1, states) // len(batch)
        self.allowed = self._next_allowed()

    def _choices(self, tables: Tables) -> Iterator[list[Kept]]:
        """Choices of cars to keep, in the order in which their tables are made."""
        for size, count in _BATCHES:
            if size < tables.cars:
                batch = tables.hardest(self.first, size, count)
                if batch:
                    yield batch

    def _next_allowed(self) -> float:
        """States to be expanded before the next tables pay, whose size is guessed from those there are."""
        for batch in self._batches:
            self._batches = chain_of([batch], self._batches)
            size = len(batch[-1])
            nearest = max(self._table_size)
            states = float(len(batch) * self._table_size[nearest] * 14 ** (size - nearest))
            if self.bank is None:
                return states / _TABLES_PAY
            return states / (_TABLES_PAY * (_SHARED if size <= MOST_KEPT else _NOT_SHARED))
        return float("inf")
