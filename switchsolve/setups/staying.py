"""Cars that stand right at the start, and the same set-up with one of them not to be touched."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from switchsolve.district import End, Track
from switchsolve.puzzle import Puzzle, StartString
from switchsolve.work import AnyCars, DoNotTouch, EndsIn, Hold, Place, Work

__all__ = ["kept_where_it_is", "right_at_start"]


def right_at_start(puzzle: Puzzle) -> list[str]:
    """The cars that may end where they start, in the order of the file: on hold, or wanted there already.

    Candidates of an any-car item are left out.
    """
    return [car.name for car in puzzle.cars if _is_right(puzzle, car.name, car.kind)]


def _is_right(puzzle: Puzzle, car: str, kind: str) -> bool:
    item = puzzle.work.of_car(car)
    if isinstance(item, EndsIn):
        string = next(one for one in puzzle.start.strings if car in one.vehicles)
        here = {Place(string.track), Place(string.track, string.spots.get(car))}
        return not here.isdisjoint(item.places)
    any_kinds = {one.kind for one in puzzle.work.items if isinstance(one, AnyCars)}
    return isinstance(item, Hold) or (item is None and kind not in any_kinds)


def kept_where_it_is(puzzle: Puzzle, car: str) -> Iterator[Puzzle]:
    """The set-up with ``car`` not to be touched, once for each end of its track that it may be left at.

    In a dead end that is the end at the bumper.  It stands as near to that end as the vehicles beyond it
    allow, and over its spot if it has one.  None comes if it stands on a table, or if there is no room.
    """
    row = [one for one in puzzle.start.strings if car in one.vehicles]
    place = puzzle.district.place(row[0].track)
    if isinstance(place, Track):
        for towards in _ends(puzzle, place):
            at = _at(puzzle, place, car, towards)
            if at is not None:
                yield _fixed(puzzle, place.name, car, at)


def _ends(puzzle: Puzzle, track: Track) -> list[str]:
    """The ends of the track at which a car is least in the way."""
    closed = [end for end in ("from", "to") if puzzle.district.mate(End(track.name, end)) is None]
    return closed if len(closed) == 1 and not track.entrances else ["from", "to"]


def _vehicles_on(puzzle: Puzzle, track: str) -> list[str]:
    return [name for one in puzzle.start.strings if one.track == track for name in one.vehicles]


def _at(puzzle: Puzzle, track: Track, car: str, towards: str) -> int | None:
    """The distance of the car's ``from`` end from that of the track, grid units."""
    row, lengths = _vehicles_on(puzzle, track.name), puzzle.vehicles
    index, own = row.index(car), puzzle.vehicles[car].length
    low = sum(lengths[name].length + 1 for name in row[:index])
    high = track.length - own - sum(lengths[name].length + 1 for name in row[index + 1 :])
    spot = next((one.spots[car] for one in puzzle.start.strings if car in one.spots), None)
    if spot is not None:
        point = track.spot(spot).at
        low, high = max(low, point - own), min(high, point)
    if low > high:
        return None
    return high if towards == "to" else low


def _fixed(puzzle: Puzzle, track: str, car: str, at: int) -> Puzzle:
    """The car by itself at its place, and its neighbors not coupled to it."""
    strings: list[StartString] = []
    for one in puzzle.start.strings:
        if car not in one.vehicles:
            strings.append(one)
            continue
        index = one.vehicles.index(car)
        spots = {car: one.spots[car]} if car in one.spots else {}
        pieces = (
            _piece(one, one.vehicles[:index]),
            StartString(track, (car,), spots, at),
            _piece(one, one.vehicles[index + 1 :]),
        )
        strings += [piece for piece in pieces if piece.vehicles]
    items = [item for item in puzzle.work.items if not (isinstance(item, EndsIn | Hold) and item.car == car)]
    return replace(
        puzzle,
        start=replace(puzzle.start, strings=tuple(strings)),
        work=Work((*items, DoNotTouch(car))),
    )


def _piece(string: StartString, vehicles: tuple[str, ...]) -> StartString:
    """Part of a string, wherever in the track it stands."""
    spots = {name: string.spots[name] for name in vehicles if name in string.spots}
    return StartString(string.track, vehicles, spots)
