"""Whether strings fit on a track as the file lists them: plain arithmetic, on one track at a time."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import combinations, pairwise

__all__ = ["Standing", "first_that_does_not_fit", "least_coupled"]


@dataclass(frozen=True, slots=True)
class Standing:
    """A string on a track, seen from the track's ``from`` end; all in grid units.

    ``lengths`` are those of its vehicles; ``gap`` is the least gap that it needs towards the string before
    it; ``at`` gives for a vehicle (by index) a point that must lie within it; ``fixed`` is the place of
    the string's ``from`` end, if it is given; ``closed`` gives for a vehicle the stretches it may not touch.
    """

    lengths: tuple[int, ...]
    gap: int = 0
    at: tuple[tuple[int, int], ...] = ()
    fixed: int | None = None
    closed: tuple[tuple[int, tuple[tuple[int, int], ...]], ...] = ()

    @property
    def length(self) -> int:
        """Length of the string."""
        return sum(self.lengths)

    def range(self, track: int) -> tuple[int, int]:
        """Least and greatest place of its ``from`` end that keep it in the track and at its points."""
        low, high = 0, track - self.length
        for index, point in self.at:
            before = sum(self.lengths[:index])
            low, high = max(low, point - before - self.lengths[index]), min(high, point - before)
        if self.fixed is not None:
            low, high = max(low, self.fixed), min(high, self.fixed)
        return low, high

    def clear_of(self, place: int) -> int:
        """The least place, ``place`` or more, that keeps all vehicles off what is closed to them."""
        moved = True
        while moved:
            moved = False
            for index, stretches in self.closed:
                before = sum(self.lengths[:index])
                for start, end in stretches:
                    if place + before < end and start < place + before + self.lengths[index]:
                        place, moved = end - before, True
        return place

    def without_closed(self) -> Standing:
        """The same string, allowed everywhere."""
        return replace(self, closed=())


def first_that_does_not_fit(strings: Sequence[Standing], track: int) -> int | None:
    """Index of the first string that finds no place when each stands as near to ``from`` as it may.

    ``None`` if all fit.  Standing as near as may be leaves the most room beyond, so this is exact.
    """
    taken = 0
    for index, string in enumerate(strings):
        low, high = string.range(track)
        place = string.clear_of(max(low, taken + (string.gap if index else 0)))
        if place > high:
            return index
        taken = place + string.length
    return None


def least_coupled(lengths: Sequence[int], points: Sequence[int], track: int) -> list[range] | None:
    """The strings, as ranges of indexes, in which vehicles of these ``lengths`` stand over these ``points``:
    as few of them coupled as the ``track`` allows.  ``None`` if they do not fit at all.
    """
    count = len(lengths)
    if not count:
        return []
    for coupled in range(count):
        for seams in combinations(range(1, count), count - 1 - coupled):
            strings = [range(*ends) for ends in pairwise((0, *seams, count))]
            standings = [
                Standing(
                    tuple(lengths[index] for index in string),
                    gap=1,
                    at=tuple((place, points[index]) for place, index in enumerate(string)),
                )
                for string in strings
            ]
            if first_that_does_not_fit(standings, track) is None:
                return strings
    return None
