"""From who stands where, who comes and who is to be picked up, to the set-up of a session."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace

from switchsolve.district import District, End, Part, Track
from switchsolve.puzzle import Puzzle, StartString, Traffic
from switchsolve.puzzlefile.canonical import canonical
from switchsolve.puzzlefile.placing import least_coupled
from switchsolve.puzzlefile.trackplan import long_enough, long_enough_note
from switchsolve.traffic.cars import Visitor
from switchsolve.vehicles import Car
from switchsolve.work import EndsIn, Place, Train, Work

__all__ = ["set_up"]


def set_up(
    puzzle: Puzzle,
    traffic: Traffic,
    title: str,
    standing: Sequence[Visitor],
    train: Sequence[Visitor],
    due: Iterable[Visitor],
    known: Mapping[str, Car] | None = None,
) -> Puzzle:
    """The set-up of a session, in the form of files: the locomotive with its ``train`` (from the locomotive
    outwards) on the track of the train, ``standing`` at the industries (in order of arrival), and the work:
    each car of the train to its place, all ``due`` with the departing train.  ``known``: cars that are what
    they are (the others are as long as their kind).
    """
    cars = tuple(_car(puzzle, one, known or {}) for one in (*train, *standing))
    lengths = {car.name: car.length for car in cars}
    (locomotive,) = puzzle.locomotives
    strings = [_train_string(traffic, locomotive.name, train)]
    for industry in traffic.industries:
        here = [one for one in standing if one.track == industry.track]
        strings += _strings(puzzle.district, puzzle.district.track(industry.track), here, lengths)
    departing = Train(locomotive.name, traffic.train, frozenset(one.name for one in due), traffic.departs_at)
    spots = tuple(EndsIn(one.name, (Place(one.track, one.spot),)) for one in train)
    district, notes = _long_enough(puzzle, traffic.train, [*lengths.values(), locomotive.length])
    return canonical(
        replace(
            puzzle,
            district=district,
            cars=cars,
            start=replace(puzzle.start, strings=tuple(strings)),
            work=Work((*spots, departing)),
            title=title,
            stated_minimum=None,
            stated_verdict=None,
            notes=notes,
            traffic=None,
            variants=(),
        )
    )


def _car(puzzle: Puzzle, one: Visitor, known: Mapping[str, Car]) -> Car:
    return known.get(one.name) or Car(one.name, puzzle.kinds[one.kind], one.kind)


def _train_string(traffic: Traffic, locomotive: str, train: Sequence[Visitor]) -> StartString:
    """The train as it arrives."""
    outwards = (locomotive, *(one.name for one in train))
    return StartString(traffic.train, outwards if traffic.locomotive_at == "from" else outwards[::-1])


def _strings(
    district: District, track: Track, here: Sequence[Visitor], lengths: dict[str, int]
) -> list[StartString]:
    """The strings of one industry: cars at spots coupled only where there is no room between them; without
    spots all in one, the last to come nearest to the way in.
    """
    if not track.spots:
        first_in_front = district.mate(End(track.name, "from")) is None
        row = here if first_in_front else here[::-1]
        return [StartString(track.name, tuple(one.name for one in row))] if row else []
    row = sorted(here, key=lambda one: track.spot(str(one.spot)).at)
    points = [track.spot(str(one.spot)).at for one in row]
    coupled = least_coupled([lengths[one.name] for one in row], points, track.length)
    if coupled is None:
        raise AssertionError(f"the cars at the spots of {track.name} do not fit: a defect")
    return [
        StartString(
            track.name,
            tuple(row[index].name for index in string),
            {row[index].name: str(row[index].spot) for index in string},
        )
        for string in coupled
    ]


def _long_enough(puzzle: Puzzle, name: str, vehicles: Sequence[int]) -> tuple[District, dict[str, str]]:
    """The district with an entrance that has no length of its own as long as these vehicles need it."""
    notes = dict(puzzle.notes)
    before = long_enough(vehicle.length for vehicle in puzzle.vehicles.values())
    length = long_enough(vehicles)
    tracks = []
    for track in puzzle.district.tracks:
        if notes.get(track.name) == long_enough_note(before, puzzle) and track.entrances:
            track = replace(track, parts=(Part(length, track.parts[0].marks),))
            notes[track.name] = long_enough_note(length, puzzle)
        tracks.append(track)
    old = puzzle.district
    return District(tuple(tracks), old.junctions, old.tables, old.links, old.limits), notes
