"""The items of the work as a plain crew sees them: errands, each for one car; and the work of one errand."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace

from switchsolve.crew.standing import Standpoint
from switchsolve.district import District, KeepClear, Marks
from switchsolve.puzzle import Puzzle
from switchsolve.work import (
    AnyCars,
    DoNotTouch,
    EndsIn,
    Free,
    Hold,
    Item,
    LocomotiveEnds,
    Place,
    Train,
    Work,
)

__all__ = ["Errand", "errand_puzzle", "errands_of"]


@dataclass(frozen=True, slots=True)
class Errand:
    """One car to be brought somewhere.  ``item`` is an EndsIn, or an AnyCars that asks for one car."""

    text: str
    item: EndsIn | AnyCars


def errands_of(puzzle: Puzzle) -> tuple[Errand, ...]:
    """The errands, in the order of the file.

    A car to be picked up is an errand to the track that its train leaves from; making up the train is none:
    it comes last.
    """
    return tuple(errand for item in puzzle.work.items for errand in _errands(puzzle, item))


def _errands(puzzle: Puzzle, item: Item) -> Iterator[Errand]:
    if isinstance(item, EndsIn):
        yield Errand(f"{item.car} to {' or '.join(map(str, item.places))}", item)
    elif isinstance(item, AnyCars):
        for _ in range(item.count):
            yield Errand(f"1 {item.kind} to {item.place}", replace(item, count=1))
    elif isinstance(item, Train):
        for car in puzzle.cars:
            if car.name in item.cars:
                yield Errand(f"{car.name} to {item.track}", EndsIn(car.name, (Place(item.track),)))


def errand_puzzle(
    puzzle: Puzzle,
    point: Standpoint,
    done: Mapping[str, Place],
    errands: tuple[Errand, ...],
    ends: Mapping[str, str | None],
) -> Puzzle:
    """The set-up in which just ``errands`` are to be run, from ``point``.

    ``done``: where cars are that have been brought there.  All other cars end where they stand.  ``ends``:
    for each locomotive the track on which it ends (``None``: anywhere).  Tracks to be clear at the end need
    not be clear yet.
    """
    asked = _merged(errands)
    named = {item.car for item in asked if isinstance(item, EndsIn)}
    kinds = {item.kind for item in asked if isinstance(item, AnyCars)}
    items: list[Item] = list(asked)
    for car in puzzle.cars:
        own = puzzle.work.of_car(car.name)
        if isinstance(own, DoNotTouch):
            items.append(own)
        elif car.name not in named and not (own is None and car.kind in kinds and car.name not in done):
            items.append(EndsIn(car.name, (_stays_at(puzzle, point, done, car.name, own),)))
    items += [LocomotiveEnds(name, track) for name, track in ends.items() if track is not None]
    return replace(
        puzzle, start=point.start, district=_not_cleared(point.district), work=Work(tuple(items))
    )


def _merged(errands: tuple[Errand, ...]) -> list[EndsIn | AnyCars]:
    """The items, those for any car of one kind to one place as one item."""
    merged: list[EndsIn | AnyCars] = []
    for errand in errands:
        item = errand.item
        if isinstance(item, AnyCars) and item in merged:
            merged[merged.index(item)] = replace(item, count=2)
        else:
            merged.append(item)
    return merged


def _stays_at(
    puzzle: Puzzle, point: Standpoint, done: Mapping[str, Place], car: str, own: Item | None
) -> Place:
    """Where a car is to be at the end of an errand that is not its own."""
    if car in done:
        return done[car]
    track = point.track_of[car]
    if isinstance(own, EndsIn | Train | Free):
        return Place(track)
    assert own is None or isinstance(own, Hold)
    spots = {name: spot for string in puzzle.start.strings for name, spot in string.spots.items()}
    return Place(track, spots.get(car))


def _not_cleared(district: District) -> District:
    """The district without what is to be clear at the end only."""
    tracks = tuple(
        replace(track, parts=tuple(replace(part, marks=_eased(part.marks)) for part in track.parts))
        for track in district.tracks
    )
    return District(
        tracks,
        tuple(replace(junction, marks=_eased(junction.marks)) for junction in district.junctions),
        tuple(replace(table, marks=_eased(table.marks)) for table in district.tables),
        district.links,
        district.limits,
    )


def _eased(marks: Marks) -> Marks:
    return replace(marks, keep_clear=KeepClear.NO) if marks.keep_clear is KeepClear.AT_END else marks
