"""Whether a locomotive passes its cars by a turntable in three moves, told by lengths alone.

It pulls the cars in and cuts them off before the table, is turned on it, comes out beside them and stands at
their other end, still in its first move.  Then it comes up to them, and pulls them out.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from switchsolve.district import End, Table, Track
from switchsolve.facts.probes import Entry
from switchsolve.facts.rail import MOST_PATHS, Rail, is_one_train
from switchsolve.packing import PackedPuzzle, pack
from switchsolve.puzzle import Puzzle

__all__ = ["Passing", "passing_by_table"]

_MOVES = 3


@dataclass(frozen=True, slots=True)
class Passing:
    """No plan has fewer moves than ``least``; one has ``most`` (``None``: that is not known)."""

    least: int = 0
    most: int | None = None


@dataclass(frozen=True, slots=True)
class _Path:
    """Cells from the entry track (not among them) up to a table, and the outside end that meets it."""

    cells: tuple[int, ...]
    table: Table
    end: End


def passing_by_table(entry: Entry, probe: Puzzle) -> Passing:
    """What lengths say of ``probe``, in which the locomotive of a train on the track of ``entry`` gets from
    its inner end to the other end of its cars.

    Let every table be too short for the locomotive with a car, the track lead nowhere but inwards, and no
    run come back to where it was, or get from a way outwards (the reverse of one that leads in from the
    track, or one that leads off a table) to one inwards.  Call the inner end of the locomotive F, the other,
    with the cars, R.  In a dead end vehicles keep their order: when it comes into the track for good it comes
    first, and no car is left there.  It first goes out with F ahead, in some move f.  If it comes in for good

    * in move f, it has been lined on a table since, so it has cut all cars off, and has coupled to none since
      (that would be by F, and come in before it).  Then two moves follow, to fetch them;
    * in move f + 1, with R ahead, it has the cars at F: it met them in move f on a way inwards, so it was not
      lined on a table since it went out, and it has come back to where it was.  That cannot be;
    * in move f + 2, it has them at R, all that are to come, or two more moves follow.  It met them in move
      f + 1, and not lined since; if not lined in move f either, it got from a way outwards to one inwards.

    So three moves it takes at the least, and if three will do all cars stood, while it went around, where it
    had left them: on its way in to its first table, beyond the first junction that has another route, for it
    came off the table to their outer end, or came up to them, by such a route.  And when the table was lined
    there was a gap of one unit at least between them and the locomotive on it.
    """
    if not is_one_train(probe, entry) or not _are_short(probe):
        return Passing()
    p = pack(probe)
    rail = _Tables(p, entry)
    if not rail.goes_one_way():
        return Passing()
    needs = sum(car.length for car in probe.cars)
    paths = list(rail.paths())
    if len(paths) > MOST_PATHS:
        return Passing(_MOVES)
    if not any(rail.holds(path, needs) for path in paths):
        return Passing(_MOVES + 1)
    fits = needs + probe.locomotives[0].length <= probe.district.track(entry.track).length
    is_enough = (
        fits
        and _forbids_nothing(p)
        and any(rail.can_go_around(path, other, needs) for path in paths for other in paths)
    )
    return Passing(_MOVES, _MOVES if is_enough else None)


def _are_short(puzzle: Puzzle) -> bool:
    """Whether there are tables, at the ends of tracks, and none takes the locomotive with a car."""
    short = puzzle.locomotives[0].length + min(car.length for car in puzzle.cars)
    district = puzzle.district
    meet_tracks = all(
        isinstance(district.place(outside.place), Track)
        for table in district.tables
        for _, outside in table.meets
    )
    return meet_tracks and bool(district.tables) and all(table.length < short for table in district.tables)


def _forbids_nothing(p: PackedPuzzle) -> bool:
    """Whether any vehicle may stand and run anywhere, however many come along."""
    is_open = all(p.all_may_touch) and not p.keep_clear_at_end and not p.has_limits
    return is_open and not p.puzzle.locomotives[0].rear_only


class _Tables(Rail):
    """The rail between the entry track and the tables."""

    def paths(self) -> Iterator[_Path]:
        """All ways in to a table, one more than are to be looked at at the most."""
        waiting: list[tuple[int, tuple[int, ...]]] = [(self.inwards, ())]
        count = 0
        while waiting and count <= MOST_PATHS:
            way, cells = waiting.pop()
            if way in self.meets:
                count += 1
                yield _Path(cells, *self.meets[way])
            waiting += [(one, (*cells, one >> 1)) for one in self.after(way)]

    def holds(self, path: _Path, needs: int) -> bool:
        """Whether cars of the length ``needs`` fit on the path beyond its first cell that excludes one."""
        first = next((at for at, cell in enumerate(path.cells) if self.p.conflicts[cell]), len(path.cells))
        return self._fits(path, first + 1, needs)

    def _fits(self, path: _Path, first: int, needs: int) -> bool:
        """Whether they fit from that cell on, with the locomotive on the table, and a gap between."""
        room = sum(self.p.lengths[cell] for cell in path.cells[first:])
        beside = path.table.length - self.p.puzzle.locomotives[0].length
        return beside >= 0 and needs <= room and needs + 1 <= room + beside

    def can_go_around(self, path: _Path, other: _Path, needs: int) -> bool:
        """Whether cars of the length ``needs`` can be left on ``path`` and be out of the way of the
        locomotive, which comes off the same table, turned, and out by ``other``.

        The whole train fits on the entry track, so the locomotive gets clear of all junctions there.
        """
        conflicts = self.p.conflicts
        at = next(
            (at for at, (a, b) in enumerate(zip(path.cells, other.cells, strict=False)) if a != b), None
        )
        if at is None or path.table != other.table or not self._turns(path, other):
            return False
        left = path.cells[at + 1 :]
        is_clear = all(not {cell, *conflicts[cell]} & set(left) for cell in other.cells)
        for cells in (path.cells, other.cells):  # nor is a train in its own way
            is_clear &= all(not set(conflicts[cell]) & set(cells) for cell in cells)
        return is_clear and self._fits(path, at + 1, needs)

    def _turns(self, path: _Path, other: _Path) -> bool:
        """Whether who comes on by one and off by the other has the same end ahead."""
        on, off = (
            {end for end, outside in path.table.meets if outside == here.end} for here in (path, other)
        )
        return ("from" in on and "to" in off) or ("to" in on and "from" in off)
