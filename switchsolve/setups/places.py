"""Where the cars of drawn set-ups may stand: the places of a district."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from switchsolve.district import KeepClear, Track
from switchsolve.puzzle import Puzzle
from switchsolve.puzzlefile.placing import least_coupled
from switchsolve.puzzlefile.trafficlist import places_of
from switchsolve.vehicles import Car
from switchsolve.work import AnyCars, EndsIn

__all__ = ["Slot", "cars_fit", "slots_of", "takes"]


@dataclass(frozen=True, slots=True, order=True)
class Slot:
    """A place for one car: a spot of ``track``, or (``spot`` is ``None``) its place ``number`` from 0."""

    track: str
    spot: str | None
    number: int


def slots_of(puzzle: Puzzle, home: str) -> list[Slot]:
    """Every place for a car, in the order of the file: each spot, and on each other track on which the file
    has a car start or end, or has traffic, as many as it is long enough for; but none on ``home``, the track
    of the train, and none where rail is to be kept clear.  If that is none at all: every dead-end track.
    """
    named = _named_tracks(puzzle)
    tracks = [track for track in puzzle.district.tracks if track.name != home and not _kept_clear(track)]
    chosen = [track for track in tracks if track.spots or track.name in named]
    longest = max((car.length for car in puzzle.cars), default=1)
    return [
        slot
        for track in chosen or [track for track in tracks if _is_dead_end(puzzle, track)]
        for slot in _slots_on(track, longest)
    ]


def _named_tracks(puzzle: Puzzle) -> set[str]:
    """Tracks on which the file has cars, at the start or at the end, or in its traffic."""
    cars = {car.name for car in puzzle.cars}
    named = {string.track for string in puzzle.start.strings if cars & set(string.vehicles)}
    for item in puzzle.work.items:
        if isinstance(item, EndsIn):
            named |= {place.track for place in item.places}
        elif isinstance(item, AnyCars):
            named.add(item.place.track)
    if puzzle.traffic is not None:
        named |= {industry.track for industry in puzzle.traffic.industries}
    return named


def _kept_clear(track: Track) -> bool:
    return any(part.marks.keep_clear is not KeepClear.NO for part in track.parts)


def _is_dead_end(puzzle: Puzzle, track: Track) -> bool:
    ends = {end for one, other in puzzle.district.links for end in (one, other) if end.place == track.name}
    return len(ends) == 1 and not track.entrances


def _slots_on(track: Track, longest: int) -> list[Slot]:
    if track.spots:
        return [Slot(track.name, spot.name, number) for number, spot in enumerate(track.spots)]
    return [Slot(track.name, None, number) for number in range(places_of(track, longest))]


def takes(puzzle: Puzzle, track: str, car: Car) -> bool:
    """Whether the car may stand on the track: no part of it is barred to its kind, and a dead locomotive
    is kept off rail that is closed to locomotives.
    """
    marks = [part.marks for part in puzzle.district.track(track).parts]
    barred = any(car.kind in mark.barred for mark in marks)
    return not barred and not (car.is_dead_locomotive and any(mark.no_locomotives for mark in marks))


def cars_fit(track: Track, placed: Iterable[tuple[Slot, int]]) -> bool:
    """Whether cars of these lengths (grid units) can stand at these places of one track together."""
    row = sorted(placed, key=lambda one: track.spot(one[0].spot).at if one[0].spot else one[0].number)
    lengths: Sequence[int] = [length for _, length in row]
    if not track.spots:
        return sum(lengths) <= track.length
    points = [track.spot(slot.spot).at for slot, _ in row if slot.spot is not None]
    return least_coupled(lengths, points, track.length) is not None
