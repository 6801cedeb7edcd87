"""Boxes of arrangements that differ in lengths, and in which way round some spurs lie.

A **box** holds one option of each choice by name (``picks``) and, for each track whose length is open, a row
of lengths that follow each other.  Of a spur that may be flipped it can hold both ways (:data:`BOTH`).
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import prod

__all__ = ["BOTH", "Box", "Indexes"]

Indexes = tuple[int, ...]
BOTH = -1
"""Stands for both options of a choice: as drawn, and the other way."""


@dataclass(frozen=True, slots=True)
class Box:
    """``picks``: the option of each choice by name; ``low``, ``high``: of each length choice the first and
    the last option in the box.  ``above``: the picks of the boxes that it is part of, the widest first.
    """

    picks: Indexes
    low: Indexes
    high: Indexes
    above: tuple[Indexes, ...] = ()

    @property
    def size(self) -> int:
        """How many arrangements it holds."""
        lengths = prod(high - low + 1 for low, high in zip(self.low, self.high, strict=True))
        return lengths << self.picks.count(BOTH)

    @property
    def is_single(self) -> bool:
        """Whether it holds one arrangement."""
        return self.low == self.high and BOTH not in self.picks

    @property
    def root(self) -> Indexes:
        """The picks of the widest box that it is part of."""
        return self.above[0] if self.above else self.picks

    @property
    def lineage(self) -> tuple[Indexes, ...]:
        """The picks of all boxes that hold all of its arrangements, its own at the end."""
        return (*self.above, self.picks)

    def halves(self, choice: int | None) -> tuple[Box, Box]:
        """Two boxes that hold the same together: by the two ways of ``choice``; with ``None`` the longest row
        of lengths is parted, and where each has one length the first spur of which both ways are open.
        """
        spans = [high - low for low, high in zip(self.low, self.high, strict=True)]
        if choice is None and not any(spans):
            choice = self.picks.index(BOTH)
        if choice is not None:
            return self._laid(choice, 0), self._laid(choice, 1)
        axis = spans.index(max(spans))
        middle = (self.low[axis] + self.high[axis]) // 2
        shorter = (*self.high[:axis], middle, *self.high[axis + 1 :])
        longer = (*self.low[:axis], middle + 1, *self.low[axis + 1 :])
        return replace(self, high=shorter), replace(self, low=longer)

    def _laid(self, choice: int, option: int) -> Box:
        picks = (*self.picks[:choice], option, *self.picks[choice + 1 :])
        return replace(self, picks=picks, above=self.lineage)
