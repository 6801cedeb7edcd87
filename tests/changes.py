"""Changes to a puzzle whose effect on the minimum is known beforehand; for tests only."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import fields, is_dataclass, replace
from typing import Any

from switchsolve.district import District, End, Junction, Route, Spot, Table, Track
from switchsolve.puzzle import Puzzle, StartString
from switchsolve.work import AnyCars, Free, Hold, Item, LocomotiveEnds, Train, Work

__all__ = ["freed", "has_closed_parts", "held_cars", "lengthened", "mirrored", "renamed", "without_car"]

_SWAP = {"from": "to", "to": "from"}


# -- the mirror image ------------------------------------------------------------------------------------


def mirrored(puzzle: Puzzle) -> Puzzle:
    """Every track, table and route listed from its other end: the same rail, told the other way round."""
    district = puzzle.district
    flipped = {track.name for track in district.tracks} | {table.name for table in district.tables}

    def end(old: End) -> End:
        return End(old.place, _SWAP[old.end]) if old.place in flipped else old

    new = District(
        tuple(_mirrored_track(track) for track in reversed(district.tracks)),
        tuple(_mirrored_junction(junction) for junction in reversed(district.junctions)),
        tuple(
            replace(table, meets=tuple((_SWAP[side], end(outside)) for side, outside in table.meets))
            for table in district.tables
        ),
        tuple((end(other), end(one)) for one, other in reversed(district.links)),
        district.limits,
    )
    start = replace(
        puzzle.start,
        strings=tuple(_mirrored_string(puzzle, string) for string in reversed(puzzle.start.strings)),
        heads=_swapped(puzzle.start.heads),
        under_way=_swapped(puzzle.start.under_way),
    )
    work = Work(tuple(_mirrored_item(item) for item in puzzle.work.items))
    return replace(puzzle, district=new, start=start, work=work)


def _swapped(ends: Mapping[str, str]) -> dict[str, str]:
    return {name: _SWAP[end] for name, end in ends.items()}


def _mirrored_track(track: Track) -> Track:
    spots = tuple(Spot(spot.name, track.length - spot.at) for spot in track.spots)
    return Track(track.name, track.parts[::-1], spots, frozenset(_SWAP[end] for end in track.entrances))


def _mirrored_junction(junction: Junction) -> Junction:
    return replace(junction, routes=tuple(Route(r.b, r.a, r.length) for r in junction.routes))


def _mirrored_string(puzzle: Puzzle, string: StartString) -> StartString:
    at = string.fixed_at
    if at is not None:
        place = puzzle.district.place(string.track)
        assert isinstance(place, Track | Table)
        at = place.length - at - sum(puzzle.vehicles[name].length for name in string.vehicles)
    return replace(string, vehicles=string.vehicles[::-1], fixed_at=at)


def _mirrored_item(item: Item) -> Item:
    if isinstance(item, Train) and item.locomotive_at:
        return replace(item, locomotive_at=_SWAP[item.locomotive_at])
    if isinstance(item, LocomotiveEnds) and item.heads:
        return replace(item, heads=_SWAP[item.heads])
    return item


# -- other names -----------------------------------------------------------------------------------------


def renamed(puzzle: Puzzle) -> Puzzle:
    """Other names for all vehicles, which turn their alphabetical order round; cars listed backwards."""
    names = sorted(puzzle.vehicles)
    other = {name: f"{len(names) - number:02} was {name}" for number, name in enumerate(names)}
    start, work = _with_names(puzzle.start, other), _with_names(puzzle.work, other)
    cars = tuple(_with_names(car, other) for car in reversed(puzzle.cars))
    locomotives = tuple(_with_names(locomotive, other) for locomotive in puzzle.locomotives)
    return replace(puzzle, cars=cars, locomotives=locomotives, start=start, work=work)


_PLACES = {"track", "places", "place", "spots", "kind"}
"""Fields that hold no vehicle's name (``spots`` of a string maps vehicles to places)."""


def _with_names(thing: Any, other: Mapping[str, str]) -> Any:
    if isinstance(thing, str):
        return other.get(thing, thing)
    if isinstance(thing, tuple | frozenset):
        return type(thing)(_with_names(each, other) for each in thing)
    if isinstance(thing, Mapping):
        return {other[name]: value for name, value in thing.items()}
    if is_dataclass(thing) and not isinstance(thing, type):
        new: dict[str, Any] = {}
        for field in fields(thing):
            value = getattr(thing, field.name)
            keep = field.name in _PLACES and not isinstance(value, Mapping)
            new[field.name] = value if keep else _with_names(value, other)
        return type(thing)(**new)
    return thing


# -- easier or harder ------------------------------------------------------------------------------------


def has_closed_parts(puzzle: Puzzle) -> bool:
    """Whether anything is closed to locomotives or to kinds of car: there less room may be a longer reach."""
    marks = [puzzle.district.cell_marks(cell) for cell in puzzle.district.cells()]
    return any(mark.no_locomotives or mark.barred for mark in marks)


def lengthened(puzzle: Puzzle, name: str, more: int) -> Puzzle:
    """The track ``name`` made longer by ``more`` grid units at its ``to`` end."""
    old = puzzle.district.track(name)
    last = replace(old.parts[-1], length=old.parts[-1].length + more)
    new = replace(old, parts=(*old.parts[:-1], last))
    tracks = tuple(new if track is old else track for track in puzzle.district.tracks)
    return replace(puzzle, district=replace(puzzle.district, tracks=tracks))


def without_car(puzzle: Puzzle, name: str) -> Puzzle:
    """The car ``name`` left out, of its string and of the work."""
    strings = []
    for string in puzzle.start.strings:
        vehicles = tuple(vehicle for vehicle in string.vehicles if vehicle != name)
        spots = {vehicle: spot for vehicle, spot in string.spots.items() if vehicle != name}
        if vehicles:
            strings.append(replace(string, vehicles=vehicles, spots=spots))
    items = [_without(item, name) for item in puzzle.work.items if getattr(item, "car", None) != name]
    return replace(
        puzzle,
        cars=tuple(car for car in puzzle.cars if car.name != name),
        start=replace(puzzle.start, strings=tuple(strings)),
        work=Work(tuple(items)),
    )


def _without(item: Item, name: str) -> Item:
    if not isinstance(item, Train):
        return item
    blocks = tuple(block - {name} for block in item.blocks if block - {name})
    return replace(
        item, cars=item.cars - {name}, blocks=blocks, last=None if item.last == name else item.last
    )


def held_cars(puzzle: Puzzle) -> list[str]:
    """Cars that must be back where they were: those with a hold, and those with no item at all."""
    if any(isinstance(item, AnyCars) for item in puzzle.work.items):
        return []
    items = {car.name: puzzle.work.of_car(car.name) for car in puzzle.cars}
    return [name for name, item in items.items() if item is None or isinstance(item, Hold)]


def freed(puzzle: Puzzle, name: str) -> Puzzle:
    """The held car ``name`` may end anywhere."""
    items = [item for item in puzzle.work.items if getattr(item, "car", None) != name]
    return replace(puzzle, work=Work((*items, Free(name))))
