"""Strings on their rail: which rail each vehicle stands on, and what touches what.

A string is a :class:`~switchsolve.plan.Placed`: vehicles in order, the ways (cells in a row) that it
touches, and the offset of its first vehicle in the first of them.  All lengths are whole grid units.

A vehicle *touches* a cell when a positive length of it lies there: one that ends exactly at a clearance
point is in the clear.  Two strings *meet* when nothing is left between their ends along rail that could
be run: in one cell, or across the boundary of two cells that follow each other.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass

from switchsolve.district import Cell, District, Junction, Track, Way
from switchsolve.plan import Placed
from switchsolve.puzzle import Puzzle
from switchsolve.vehicles import Locomotive, Vehicle
from switchsolve.work import DoNotTouch

__all__ = [
    "Ground",
    "Piece",
    "badly_written",
    "conflict",
    "contacts",
    "has_locomotive",
    "is_live",
    "joined",
    "leading_offset",
    "may_meet",
    "moved",
    "names",
    "occupied",
    "overlap",
    "pieces",
    "say",
    "split",
    "string_length",
    "turned",
    "under",
]


@dataclass(frozen=True, slots=True)
class Ground:
    """What never changes while a plan is replayed: the track plan, the vehicles, the fixed cars."""

    district: District
    vehicles: Mapping[str, Vehicle]
    fixed: frozenset[str]

    @classmethod
    def of(cls, puzzle: Puzzle) -> Ground:
        """The ground of a puzzle; its do-not-touch cars are the fixed ones."""
        fixed = frozenset(item.car for item in puzzle.work.items if isinstance(item, DoNotTouch))
        return cls(puzzle.district, puzzle.vehicles, fixed)


@dataclass(frozen=True, slots=True)
class Piece:
    """The rail of ``cell`` under a vehicle: ``start`` < ``end``, grid units from the cell's ``from`` end."""

    vehicle: str
    cell: Cell
    start: int
    end: int


def names(vehicles: Iterable[str]) -> str:
    """Vehicles as a person reads them."""
    return " + ".join(vehicles)


def say(district: District, cell: Cell) -> str:
    """A cell as a person reads it: a track (with its part), a junction with the two ends of a route."""
    place = district.place(cell.place)
    if isinstance(place, Junction):
        route = place.routes[cell.index]
        return f"{place.name} ({route.a} - {route.b})"
    if isinstance(place, Track) and len(place.parts) > 1:
        return f"{place.name} ({place.parts[cell.index].name or f'part {cell.index + 1}'})"
    return place.name


def is_live(ground: Ground, vehicle: str) -> bool:
    """Whether the vehicle is a live locomotive (a dead one is a car)."""
    return isinstance(ground.vehicles[vehicle], Locomotive)


def has_locomotive(ground: Ground, string: Placed) -> bool:
    """Whether a live locomotive is in the string."""
    return any(is_live(ground, vehicle) for vehicle in string.vehicles)


def string_length(ground: Ground, vehicles: Iterable[str]) -> int:
    """Length of coupled vehicles, grid units."""
    return sum(ground.vehicles[vehicle].length for vehicle in vehicles)


def _rail_length(ground: Ground, ways: Iterable[Way]) -> int:
    return sum(ground.district.cell_length(way.cell) for way in ways)


def leading_offset(ground: Ground, string: Placed) -> int:
    """How far the outer end of the last vehicle is in the last way: above 0, at most its length."""
    length = string_length(ground, string.vehicles)
    return string.offset + length - _rail_length(ground, string.ways[:-1])


def badly_written(ground: Ground, string: Placed) -> str | None:
    """What is wrong with the form of a placement: ways must be exactly the cells that are touched."""
    if not string.vehicles or not string.ways:
        return "a string without vehicles or without rail"
    if not 0 <= string.offset < ground.district.cell_length(string.ways[0].cell):
        return f"{names(string.vehicles)}: the offset {string.offset} is not in the first of its ways"
    last = ground.district.cell_length(string.ways[-1].cell)
    if not 0 < leading_offset(ground, string) <= last:
        return f"{names(string.vehicles)}: does not end in the last of its ways"
    return None


def turned(ground: Ground, string: Placed) -> Placed:
    """The same string, listed from its other end."""
    last = ground.district.cell_length(string.ways[-1].cell)
    return Placed(
        vehicles=string.vehicles[::-1],
        ways=tuple(way.reverse() for way in reversed(string.ways)),
        offset=last - leading_offset(ground, string),
        noses={locomotive: -nose for locomotive, nose in string.noses.items()},
    )


def _trimmed(ground: Ground, string: Placed) -> Placed:
    """The string with the ways dropped that it does not touch, at both ends."""
    district, ways, offset = ground.district, list(string.ways), string.offset
    while offset >= district.cell_length(ways[0].cell):
        offset -= district.cell_length(ways.pop(0).cell)
    end = offset + string_length(ground, string.vehicles)
    while end <= _rail_length(ground, ways[:-1]):
        ways.pop()
    noses = {name: nose for name, nose in string.noses.items() if name in string.vehicles}
    return Placed(string.vehicles, tuple(ways), offset, noses)


def moved(ground: Ground, string: Placed, distance: int, enters: Sequence[Way] = ()) -> Placed:
    """The string ``distance`` farther along its ways and the ways it ``enters`` after them."""
    longer = Placed(string.vehicles, (*string.ways, *enters), string.offset + distance, string.noses)
    return _trimmed(ground, longer)


def split(ground: Ground, string: Placed, count: int) -> tuple[Placed, Placed]:
    """The first ``count`` vehicles of the string, and the others, each as a string of its own."""
    first, others = string.vehicles[:count], string.vehicles[count:]
    offset = string.offset + string_length(ground, first)
    return (
        _trimmed(ground, Placed(first, string.ways, string.offset, string.noses)),
        _trimmed(ground, Placed(others, string.ways, offset, string.noses)),
    )


def joined(ground: Ground, string: Placed, other: Placed) -> Placed:
    """One string of two that meet: ``other`` begins where ``string`` ends."""
    last = ground.district.cell_length(string.ways[-1].cell)
    across = leading_offset(ground, string) == last
    ways = string.ways + (other.ways if across else other.ways[1:])
    noses = {**string.noses, **other.noses}
    return Placed(string.vehicles + other.vehicles, ways, string.offset, noses)


def under(ground: Ground, ways: Sequence[Way], start: int, end: int) -> Iterator[tuple[Way, int, int]]:
    """The ways under the stretch ``start`` to ``end`` (from the start of ``ways``), each with the part of it
    that is covered, measured along the way; only parts of positive length."""
    begin = 0
    for way in ways:
        length = ground.district.cell_length(way.cell)
        low, high = max(start - begin, 0), min(end - begin, length)
        if low < high:
            yield way, low, high
        begin += length


def pieces(ground: Ground, string: Placed) -> list[Piece]:
    """All rail under the string, vehicle by vehicle."""
    found = []
    start = string.offset
    for vehicle in string.vehicles:
        end = start + ground.vehicles[vehicle].length
        for way, low, high in under(ground, string.ways, start, end):
            if way.sign < 0:
                length = ground.district.cell_length(way.cell)
                low, high = length - high, length - low
            found.append(Piece(vehicle, way.cell, low, high))
        start = end
    return found


def occupied(puzzle: Puzzle, string: Placed) -> tuple[Piece, ...]:
    """All rail under a string of a frame, vehicle by vehicle, for pictures and words."""
    return tuple(pieces(Ground.of(puzzle), string))


def conflict(district: District, one: Cell, other: Cell) -> bool:
    """Whether a vehicle on ``one`` keeps everything off ``other``: two routes of a junction that exclude each
    other.  Routes that share an end always do, whatever else the junction says."""
    place = district.place(one.place)
    if one.place != other.place or one == other or not isinstance(place, Junction):
        return False
    route, second = place.routes[one.index], place.routes[other.index]
    shares_end = bool({route.a, route.b} & {second.a, second.b})
    return shares_end or district.conflicts(one, other)


def overlap(ground: Ground, strings: Iterable[Placed]) -> str | None:
    """The first two vehicles that stand on the same rail, or on routes that exclude each other."""
    everything = [piece for string in strings for piece in pieces(ground, string)]
    for index, one in enumerate(everything):
        for other in everything[:index]:
            place = say(ground.district, one.cell)
            if one.cell == other.cell and one.start < other.end and other.start < one.end:
                return f"{other.vehicle} and {one.vehicle} stand on the same rail of {place}"
            if conflict(ground.district, one.cell, other.cell):
                blocked = say(ground.district, other.cell)
                return f"{other.vehicle} on {blocked} and {one.vehicle} on {place} exclude each other"
    return None


def may_meet(ground: Ground, one: Placed, other: Placed) -> bool:
    """Whether the leading end of ``one`` may touch the first vehicle of ``other`` without coupling: one
    of the two is a do-not-touch car, or the front of a rear-only locomotive."""
    here, there = one.vehicles[-1], other.vehicles[0]
    if here in ground.fixed or there in ground.fixed:
        return True
    return _is_shy_front(ground, here, one.noses.get(here) == 1) or _is_shy_front(
        ground, there, other.noses.get(there) == -1
    )


def _is_shy_front(ground: Ground, vehicle: str, is_front: bool) -> bool:
    found = ground.vehicles[vehicle]
    return is_front and isinstance(found, Locomotive) and found.rear_only


def contacts(ground: Ground, strings: Sequence[Placed], lined: dict[str, int]) -> list[tuple[Placed, Placed]]:
    """Every two strings that touch and must not (not counting the exceptions of :func:`may_meet`).

    The leading end of the first meets the first vehicle of the second; both orders of a pair are listed.
    A string that touches itself is paired with itself.
    """
    found = []
    for string in strings:
        for one in (string, turned(ground, string)):
            other = _met(ground, one, strings, lined)
            if other is not None and (one == other or not may_meet(ground, one, other)):
                found.append((one, other))
    return found


def _met(ground: Ground, one: Placed, strings: Sequence[Placed], lined: dict[str, int]) -> Placed | None:
    """The string at the leading end of ``one``, listed outwards, with nothing between."""
    last, at = one.ways[-1], leading_offset(ground, one)
    is_at_end = at == ground.district.cell_length(last.cell)
    ahead = ground.district.ahead(last, lined) if is_at_end else ()
    for string in strings:
        for other in (string, turned(ground, string)):
            first = other.ways[0]
            if (first == last and other.offset == at) or (first in ahead and other.offset == 0):
                return other
    return None
