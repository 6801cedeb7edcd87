"""The space of arrangements: what each costs, and boxes of those that differ in lengths only.

A **box** holds one option of each choice by name (``picks``) and, for each track whose length is open, a row
of lengths that follow each other.  Rail only adds up, so what the cheapest of a box costs is known at once.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction
from itertools import product
from math import prod

from switchsolve.design import Choice, Design
from switchsolve.designing.laying import CannotBeLaid, lay, rail_of, turnouts_of
from switchsolve.puzzle import Puzzle
from switchsolve.puzzlefile import canonical

__all__ = ["Box", "Ground", "Space"]

Indexes = tuple[int, ...]


@dataclass(frozen=True, slots=True)
class Box:
    """``picks``: the option of each choice by name; ``low``, ``high``: of each length choice the first and
    the last option in the box.
    """

    picks: Indexes
    low: Indexes
    high: Indexes

    @property
    def size(self) -> int:
        """How many arrangements it holds."""
        return prod(high - low + 1 for low, high in zip(self.low, self.high, strict=True))

    @property
    def is_single(self) -> bool:
        """Whether it holds one arrangement."""
        return self.low == self.high

    def halves(self) -> tuple[Box, Box]:
        """Two boxes that hold the same together: the longest row of lengths is parted."""
        spans = [high - low for low, high in zip(self.low, self.high, strict=True)]
        axis = spans.index(max(spans))
        middle = (self.low[axis] + self.high[axis]) // 2
        shorter = (*self.high[:axis], middle, *self.high[axis + 1 :])
        longer = (*self.low[:axis], middle + 1, *self.low[axis + 1 :])
        return Box(self.picks, self.low, shorter), Box(self.picks, longer, self.high)


@dataclass(frozen=True, slots=True)
class Ground:
    """What holds for all lengths of one row of picks: turnouts, and the rail with the shortest lengths."""

    turnouts: int
    rail: int


class Space:
    """All arrangements of the design of ``puzzle``.  Raises ``ValueError`` if it has none."""

    def __init__(self, puzzle: Puzzle) -> None:
        if puzzle.design is None:
            raise ValueError("this puzzle has no design")
        self.puzzle = puzzle
        self.design: Design = puzzle.design
        self.named: tuple[Choice, ...] = tuple(c for c in self.design.choices if c.length_of is None)
        self.grids: tuple[Choice, ...] = tuple(c for c in self.design.choices if c.length_of is not None)
        self._grounds: dict[Indexes, Ground] = {}
        self._last: tuple[Indexes, Indexes, Puzzle] | None = None

    @property
    def tracks(self) -> tuple[str, ...]:
        """The tracks whose length is open."""
        return tuple(grid.length_of or "" for grid in self.grids)

    def roots(self, ruled_out: Counter[str]) -> Iterator[Box]:
        """A box for each row of picks that can be built and is not another one over again.

        What is left out is added to ``ruled_out``, by the reason.
        """
        seen: set[str] = set()
        zeros = tuple(0 for _ in self.grids)
        tops = tuple(len(grid.options) - 1 for grid in self.grids)
        for picks in product(*(range(len(choice.options)) for choice in self.named)):
            whole = Box(picks, zeros, tops)
            try:
                laid = self.laid(picks, zeros)
            except CannotBeLaid as error:
                ruled_out[f"cannot be built: {error}"] += whole.size
                continue
            said = repr(sorted(map(repr, (*laid.district.tracks, *laid.district.junctions, *_links(laid)))))
            if said in seen:
                ruled_out[_TWICE] += whole.size
                continue
            seen.add(said)
            self._grounds[picks] = Ground(turnouts_of(laid), rail_of(laid))
            there = {track.name for track in laid.district.tracks}
            pairs = zip(self.tracks, tops, strict=True)
            box = Box(picks, zeros, tuple(top if track in there else 0 for track, top in pairs))
            if box.size < whole.size:
                ruled_out[_TWICE] += whole.size - box.size
            yield box

    def laid(self, picks: Indexes, lengths: Indexes) -> Puzzle:
        """The set-up of one arrangement, as a file would have it.  Raises :class:`CannotBeLaid`."""
        if self._last is None or self._last[:2] != (picks, lengths):
            chosen = [choice.options[at] for choice, at in zip(self.named, picks, strict=True)]
            left_out = {name for option in chosen for name in option.leave_out}
            chosen += [
                grid.options[at]
                for grid, at in zip(self.grids, lengths, strict=True)
                if grid.length_of not in left_out
            ]
            self._last = (picks, lengths, canonical(lay(self.puzzle, chosen)))
        return self._last[2]

    def turnouts(self, picks: Indexes) -> int:
        """How many turnouts there are to build."""
        return self._grounds[picks].turnouts

    def rail(self, picks: Indexes, lengths: Indexes) -> int:
        """How much rail there is to build, grid units."""
        more = 0
        for grid, track, at in zip(self.grids, self.tracks, lengths, strict=True):
            more += grid.options[at].lengths[track] - grid.options[0].lengths[track] if at else 0
        return self._grounds[picks].rail + more

    def cost(self, picks: Indexes, lengths: Indexes) -> Fraction:
        """By what arrangements are sorted."""
        rail = Fraction(self.rail(picks, lengths), self.puzzle.grid)
        return rail * self.design.rail_cost + self.turnouts(picks) * self.design.turnout_cost

    def told(self, picks: Indexes, lengths: Indexes) -> tuple[tuple[str, str], ...]:
        """What is chosen: name of the choice and of the option."""
        pairs = [*zip(self.named, picks, strict=True), *zip(self.grids, lengths, strict=True)]
        left_out = {name for choice, at in pairs for name in choice.options[at].leave_out}
        return tuple(
            (choice.name, choice.options[at].name) for choice, at in pairs if choice.length_of not in left_out
        )


_TWICE = "the same as another"


def _links(puzzle: Puzzle) -> Iterator[tuple[str, ...]]:
    for one, other in puzzle.district.links:
        yield tuple(sorted((str(one), str(other))))
