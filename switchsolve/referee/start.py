"""Does the starting placement of a plan agree with what the puzzle says of the start?"""

from __future__ import annotations

from collections.abc import Sequence
from typing import NoReturn

from switchsolve.district import Track
from switchsolve.errors import PlanError
from switchsolve.plan import Placed
from switchsolve.puzzle import Puzzle, StartString
from switchsolve.referee.marks import closed_to
from switchsolve.referee.rail import (
    Ground,
    badly_written,
    contacts,
    is_live,
    may_meet,
    names,
    overlap,
    pieces,
    say,
    split,
    turned,
)

__all__ = ["check_start"]


def check_start(ground: Ground, puzzle: Puzzle, placed: Sequence[Placed]) -> list[Placed]:
    """The strings at the start, each listed from the ``from`` end of its track.

    Raises ``PlanError`` when the placement is not one that the puzzle allows.
    """
    if len(placed) != len(puzzle.start.strings):
        _no(f"{len(placed)} strings are placed, but the set-up has {len(puzzle.start.strings)}")
    for string in placed:
        _check_form(ground, string)
    strings = [_matching(ground, wanted, placed) for wanted in puzzle.start.strings]
    for wanted, string in zip(puzzle.start.strings, strings, strict=True):
        _check_heads(ground, puzzle, string)
        _check_places(ground, puzzle, wanted, string)
        _check_couplings(ground, string)
        _check_marks(ground, string)
    _check_order(ground, puzzle, strings)
    _check_apart(ground, puzzle, strings)
    return strings


def _no(what: str) -> NoReturn:
    raise PlanError("start", what)


def _check_form(ground: Ground, string: Placed) -> None:
    for vehicle in string.vehicles:
        if vehicle not in ground.vehicles:
            _no(f"{vehicle} is no vehicle of the set-up")
    cells = set(ground.district.cells())
    for way in string.ways:
        if way.cell not in cells or way.sign not in (1, -1):
            _no(f"{names(string.vehicles)}: {way} is no rail of the district")
    wrong = badly_written(ground, string)
    if wrong:
        _no(wrong)


def _matching(ground: Ground, wanted: StartString, placed: Sequence[Placed]) -> Placed:
    """The placement of a starting string, listed from the ``from`` end of its track."""
    for string in placed:
        if set(string.vehicles) == set(wanted.vehicles):
            break
    else:
        _no(f"{names(wanted.vehicles)} are not placed as one string")
    if string.ways[0].sign < 0:
        string = turned(ground, string)
    first = string.ways[0].cell.index
    for index, way in enumerate(string.ways):
        if (way.cell.place, way.cell.index, way.sign) != (wanted.track, first + index, 1):
            _no(f"{names(wanted.vehicles)} must stand wholly on {wanted.track}")
    if string.vehicles != wanted.vehicles:
        _no(f"{names(string.vehicles)} must stand in the order {names(wanted.vehicles)}")
    return string


def _check_heads(ground: Ground, puzzle: Puzzle, string: Placed) -> None:
    live = [vehicle for vehicle in string.vehicles if is_live(ground, vehicle)]
    if set(string.noses) != set(live):
        _no(f"{names(string.vehicles)}: noses must be given for its live locomotives and nothing else")
    for locomotive in live:
        heads = puzzle.start.heads.get(locomotive)
        if string.noses[locomotive] != (1 if heads == "to" else -1):
            _no(f"{locomotive} must head for the {heads!r} end of its track")


def from_end(ground: Ground, string: Placed) -> int:
    """Distance of the string's first vehicle from the ``from`` end of its track, grid units."""
    place = ground.district.place(string.ways[0].cell.place)
    if not isinstance(place, Track):
        return string.offset
    return sum(part.length for part in place.parts[: string.ways[0].cell.index]) + string.offset


def _check_places(ground: Ground, puzzle: Puzzle, wanted: StartString, string: Placed) -> None:
    start = from_end(ground, string)
    if wanted.fixed_at is not None and start != wanted.fixed_at:
        _no(f"{names(string.vehicles)} must stand fixed at {wanted.fixed_at}, not at {start}")
    for vehicle in string.vehicles:
        end = start + ground.vehicles[vehicle].length
        if vehicle in wanted.spots:
            spot = ground.district.track(wanted.track).spot(wanted.spots[vehicle])
            if not start <= spot.at <= end:
                _no(f"{vehicle} must stand at {wanted.track} {spot.name}")
        start = end


def _check_couplings(ground: Ground, string: Placed) -> None:
    for count in range(1, len(string.vehicles)):
        if may_meet(ground, *split(ground, string, count)):
            _no(f"{names(string.vehicles[count - 1 : count + 1])} cannot be coupled to each other")


def _check_marks(ground: Ground, string: Placed) -> None:
    for piece in pieces(ground, string):
        reason = closed_to(ground, piece.vehicle, piece.cell)
        if reason:
            _no(f"{piece.vehicle} may not stand on {say(ground.district, piece.cell)}: {reason}")


def _check_order(ground: Ground, puzzle: Puzzle, strings: Sequence[Placed]) -> None:
    """Strings of one track, in the order in which the set-up names them, stand one behind the other."""
    last: dict[str, Placed] = {}
    for wanted, string in zip(puzzle.start.strings, strings, strict=True):
        before = last.get(wanted.track)
        if before is not None and from_end(ground, before) >= from_end(ground, string):
            _no(f"{names(before.vehicles)} must stand before {names(string.vehicles)} on {wanted.track}")
        last[wanted.track] = string


def _check_apart(ground: Ground, puzzle: Puzzle, strings: Sequence[Placed]) -> None:
    wrong = overlap(ground, strings)
    if wrong:
        _no(wrong)
    lined = {table.name: table.lined for table in puzzle.district.tables}
    for one, other in contacts(ground, strings, lined):
        _no(f"{names(one.vehicles)} touches {names(other.vehicles)} and is not coupled to it")
