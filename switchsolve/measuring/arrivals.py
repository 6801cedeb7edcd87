"""The small set-ups behind the work of a spot: one train, one car to be brought, taken or exchanged.

The district is emptied, or holds the file's own cars as *neighbors*, each to be back in its place at the end.
A train of the standard locomotive stands on an entrance track.  The cars are **behind** it if they stand on
the side of the entrance, as in a train that it has pulled in, and **ahead** of it if they stand on the inner
side, as in one that it has shoved in.

======== =============================================================================================
spot     the train has one standard car; the car is spotted, and the locomotive ends wholly on another track
pick up  the locomotive comes alone; a standard car from the spot ends with it on the entrance track, on
         that side of it on which a train has its cars (behind or ahead)
exchange the train has one standard car, another one stands at the spot; the one is spotted, the other ends
         with the locomotive on the entrance track, on either side of it
======== =============================================================================================

Where a locomotive may not go, standard cars as *idlers* stand between it and the others, and leave with it.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from enum import StrEnum

from switchsolve.district import End
from switchsolve.facts.probes import Bench, Entry, train_probe, unused_names
from switchsolve.facts.shape import spurs
from switchsolve.packing import pack
from switchsolve.puzzle import Puzzle, StartString
from switchsolve.rules import Rules
from switchsolve.vehicles import Car
from switchsolve.work import EndsIn, Free, Item, LocomotiveEnds, Place, Train

__all__ = ["Arrival", "Task", "among_neighbors", "places_of", "task_puzzle"]


class Task(StrEnum):
    """What is done at the spot."""

    SPOT = "spot"
    PICK_UP = "pick up"
    EXCHANGE = "exchange"


@dataclass(frozen=True, slots=True)
class Arrival:
    """How the train comes: from ``entry``, with its cars ``ahead`` of the locomotive or behind it."""

    entry: Entry
    is_ahead: bool

    @property
    def order(self) -> str:
        """``ahead`` or ``behind``."""
        return "ahead" if self.is_ahead else "behind"


def places_of(puzzle: Puzzle) -> tuple[Place, ...]:
    """What is measured: every named spot, and every dead-end track without spots, as the file has them."""
    dead_ends = {track.name for track in spurs(puzzle.district)}
    found: list[Place] = []
    for track in puzzle.district.tracks:
        found += [Place(track.name, spot.name) for spot in track.spots]
        if not track.spots and track.name in dead_ends:
            found.append(Place(track.name))
    return tuple(found)


def among_neighbors(puzzle: Puzzle, bench: Bench) -> Bench | None:
    """The bench with the file's own cars in their places; ``None`` if there are none but those it has.

    The strings that a locomotive is coupled to are no neighbors: they are the file's own train.
    """
    engines = {locomotive.name for locomotive in puzzle.locomotives}
    there = {car.name for car in bench.puzzle.cars}
    strings = tuple(string for string in puzzle.start.strings if not engines & set(string.vehicles))
    standing = {name for string in strings for name in string.vehicles}
    if standing <= there:
        return None
    cars = tuple(car for car in puzzle.cars if car.name in standing)
    start = replace(bench.puzzle.start, strings=strings)
    return replace(bench, puzzle=replace(bench.puzzle, cars=cars, start=start))


def task_puzzle(
    bench: Bench, arrival: Arrival, place: Place, task: Task, idlers: int = 0, ends_on: str | None = None
) -> Puzzle | None:
    """The set-up of ``task`` at ``place``; ``None`` if there is no room for the car that is to stand there.

    ``ends_on``: for a car to be spotted, the track on which the locomotive ends (``None``: anywhere).

    A neighbor that stands at the very spot makes room: it is the car that is taken away, or it is left out.
    """
    arriving, standing, *names = unused_names(bench, "car", 2 + idlers)
    brings = [] if task is Task.PICK_UP else [arriving]
    cars = [*names, *brings]
    items: list[Item] = [EndsIn(car, (place,)) for car in brings]
    if task is Task.SPOT:
        items += [Free(name) for name in names]
        items += [LocomotiveEnds(bench.locomotive.name, ends_on)] if ends_on else []
        return _with_train(_without(bench, place), arrival, cars, items)
    items.append(_leaving(bench, arrival, task, frozenset([standing, *names])))
    for ground in _with_standing(bench, place, standing):
        puzzle = _with_train(ground, arrival, cars, items)
        if next(Rules(pack(puzzle)).starts(), None) is not None:
            return puzzle
    return None


def _leaving(bench: Bench, arrival: Arrival, task: Task, cars: frozenset[str]) -> Train:
    entry = arrival.entry
    nearest = entry.outward if arrival.is_ahead else entry.inward
    locomotive_at = nearest if task is Task.PICK_UP else None
    return Train(bench.locomotive.name, entry.track, cars, locomotive_at=locomotive_at)


def _with_train(bench: Bench, arrival: Arrival, cars: list[str], items: list[Item]) -> Puzzle:
    total = sum(car.length for car in bench.puzzle.cars)
    more = max(len(bench.puzzle.cars), -(-total // bench.car_length))
    return train_probe(bench, arrival.entry, cars, items, is_ahead=arrival.is_ahead, more=more)


# ---- who stands at the spot


def _without(bench: Bench, place: Place) -> Bench:
    """The bench with the spot empty."""
    strings: list[StartString] = []
    gone = set()
    for string in bench.puzzle.start.strings:
        at = _at_spot(string, place)
        if at is None:
            strings.append(string)
            continue
        gone.add(string.vehicles[at])
        sides = (slice(0, at), slice(at + 1, None))
        strings += [_part(string, side) for side in sides if string.vehicles[side]]
    cars = tuple(car for car in bench.puzzle.cars if car.name not in gone)
    return _standing(bench, cars, strings)


def _with_standing(bench: Bench, place: Place, name: str) -> Iterator[Bench]:
    """The benches with a standard car called ``name`` at the spot: instead of the one there, or in every
    place of the row on its track, the innermost first.
    """
    new = Car(name, bench.car_length, bench.kind)
    strings = list(bench.puzzle.start.strings)
    for number, string in enumerate(strings):
        at = _at_spot(string, place)
        if at is not None:
            old = string.vehicles[at]
            row = (*string.vehicles[:at], name, *string.vehicles[at + 1 :])
            spots = {name if car == old else car: spot for car, spot in string.spots.items()}
            cars = (*(car for car in bench.puzzle.cars if car.name != old), new)
            strings[number] = replace(string, vehicles=row, spots=spots)
            yield _standing(bench, cars, strings)
            return
    here = [string for string in strings if string.track == place.track]
    others = [string for string in strings if string.track != place.track]
    own = StartString(place.track, (name,), {} if place.spot is None else {name: place.spot})
    for at in _innermost_first(bench, place.track, len(here)):
        yield _standing(bench, (*bench.puzzle.cars, new), [*others, *here[:at], own, *here[at:]])


def _innermost_first(bench: Bench, track: str, strings: int) -> list[int]:
    """Every place in a row of strings from ``from`` to ``to``, beginning at the bumper, if there is one."""
    order = list(range(strings + 1))
    is_open_at_to = bench.district.mate(End(track, "to")) is not None
    return order if is_open_at_to else order[::-1]


def _at_spot(string: StartString, place: Place) -> int | None:
    """Which vehicle of the string stands at the spot."""
    if place.spot is None or string.track != place.track:
        return None
    return next((at for at, car in enumerate(string.vehicles) if string.spots.get(car) == place.spot), None)


def _part(string: StartString, part: slice) -> StartString:
    """Some vehicles of a string; its exact place is that of the first one only."""
    vehicles = string.vehicles[part]
    spots = {car: spot for car, spot in string.spots.items() if car in vehicles}
    return StartString(string.track, vehicles, spots, string.fixed_at if part.start == 0 else None)


def _standing(bench: Bench, cars: tuple[Car, ...], strings: list[StartString]) -> Bench:
    start = replace(bench.puzzle.start, strings=tuple(strings))
    return replace(bench, puzzle=replace(bench.puzzle, cars=cars, start=start))
