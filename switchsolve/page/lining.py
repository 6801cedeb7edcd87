"""How turnouts are lined while a plan goes on.

Nobody says how a turnout lies before it is first used.  As the count of turnouts thrown does, it is taken to
lie at the start as its first use wants it, and afterwards as it was used last.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from itertools import combinations

from switchsolve.district import Cell, District, Junction
from switchsolve.page.motion import Beat

__all__ = ["Lining", "Switching", "linings_of", "movable_routes", "route_numbers"]


@dataclass(frozen=True, slots=True)
class Lining:
    """The routes that are lined in a beat from ``distance`` on (grid units from its start)."""

    distance: int
    routes: frozenset[Cell]


@dataclass(frozen=True, slots=True)
class Switching:
    """``start``: what is lined before anything moves.  ``beats``: for each beat of each run its linings, the
    first at distance 0.  ``used``: for each run the routes that it runs over or stands on."""

    start: frozenset[Cell]
    beats: tuple[tuple[tuple[Lining, ...], ...], ...]
    used: tuple[frozenset[Cell], ...]


def route_numbers(district: District) -> dict[Cell, int]:
    """Every route of every junction, numbered in the order of the plan."""
    routes = (cell for cell in district.cells() if isinstance(district.place(cell.place), Junction))
    return {cell: number for number, cell in enumerate(routes)}


def movable_routes(district: District) -> list[Cell]:
    """Routes of junctions that can be lined: some two of them share an end (not so in a crossing)."""
    return [
        Cell(place.name, index)
        for place in district.junctions
        if any({one.a, one.b} & {two.a, two.b} for one, two in combinations(place.routes, 2))
        for index in range(len(place.routes))
    ]


def linings_of(district: District, runs: list[list[Beat]]) -> Switching:
    """The linings of a plan, by its beats."""
    used = [_used(district, beats) for beats in runs]
    lined: frozenset[Cell] = frozenset()
    for cell in (cell for cells in used for cell in cells):
        if not _barring(district, lined, cell):
            lined |= {cell}
    start = lined
    rows = []
    for beats, cells in zip(runs, used, strict=True):
        lined = _lined_for(district, lined, _first_uses(district, cells))
        row = []
        for beat in beats:
            linings = _in_one_beat(district, lined, beat)
            lined = linings[-1].routes
            row.append(linings)
        rows.append(tuple(row))
    return Switching(start, tuple(rows), tuple(frozenset(cells) for cells in used))


def _used(district: District, beats: list[Beat]) -> list[Cell]:
    """The routes that a run uses, in order: those that it stands on first."""
    cells: list[Cell] = []
    for beat in beats:
        if beat.moving is not None:
            cells += [way.cell for way in beat.moving.ways]
    return [cell for cell in dict.fromkeys(cells) if isinstance(district.place(cell.place), Junction)]


def _first_uses(district: District, cells: Iterable[Cell]) -> list[Cell]:
    """The cells that nothing used before them excludes."""
    first: list[Cell] = []
    for cell in cells:
        if not _barring(district, first, cell):
            first.append(cell)
    return first


def _lined_for(district: District, lined: frozenset[Cell], cells: Iterable[Cell]) -> frozenset[Cell]:
    for cell in cells:
        lined = (lined - _barring(district, lined, cell)) | {cell}
    return lined


def _barring(district: District, lined: Iterable[Cell], cell: Cell) -> frozenset[Cell]:
    """Which of the lined routes cannot lie together with ``cell``."""
    return frozenset(one for one in lined if district.conflicts(one, cell))


def _in_one_beat(district: District, lined: frozenset[Cell], beat: Beat) -> tuple[Lining, ...]:
    """The lining at the start of a beat, and where it changes when a junction is run through anew."""
    found = [Lining(0, lined)]
    gone = beat.free
    for way in beat.enters:
        now = found[-1].routes
        if isinstance(district.place(way.cell.place), Junction) and way.cell not in now:
            found.append(Lining(gone, _lined_for(district, now, [way.cell])))
        gone += district.cell_length(way.cell)
    return tuple(found)
