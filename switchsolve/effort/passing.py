"""Does a plan run around, and how often?  Told from its replay.

A locomotive has **passed** a car if it holds it at one of its ends, and later at the other.  In between it
let go of the car and came to be on the other side of it.  A car that it does not hold is on that side of it
on which the way along the rail is shorter, from its end to the middle of the car.  The last run in which a
passed car changes sides before it is held again is a **trip around**, whatever number of cars it passes.
"""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise

from switchsolve.effort.rail import Rail, point_of
from switchsolve.plan import Placed
from switchsolve.puzzle import Puzzle
from switchsolve.referee import Frame, Replay

__all__ = ["runs_around", "trips_around", "trips_of"]


def runs_around(puzzle: Puzzle, replayed: Replay) -> bool:
    """Whether a locomotive has passed a car: it holds the car at one of its ends, and later at the other.

    That is looked at in every standing at rest, the first one included, for all that is coupled to a
    locomotive.  A locomotive that has turned itself round meanwhile (wye, turntable) has done it too.
    """
    return next(_passings(puzzle, replayed), None) is not None


def trips_of(puzzle: Puzzle, replayed: Replay) -> tuple[tuple[str, int], ...]:
    """The trips around, in order: the locomotive, and the run (counted from 1)."""
    rail, trips = Rail(puzzle.district), set[tuple[int, str]]()
    for engine, car, last_held, held_again in _passings(puzzle, replayed):
        frames = replayed.frames[last_held : held_again + 1]
        sides = [_is_in_front(puzzle, rail, frame, engine, car) for frame in frames]
        changes = [run for run, pair in enumerate(pairwise(sides), last_held + 1) if pair[0] != pair[1]]
        trips.add((changes[-1], engine))
    return tuple((engine, run) for run, engine in sorted(trips))


def trips_around(puzzle: Puzzle, replayed: Replay) -> int:
    """How many trips around there are."""
    return len(trips_of(puzzle, replayed))


def _passings(puzzle: Puzzle, replayed: Replay) -> Iterator[tuple[str, str, int, int]]:
    """Each passing: locomotive, car, the last standing with it held the old way, the first with the new way.

    Standings are numbered by the runs done: 0 is the start.
    """
    engines = {locomotive.name for locomotive in puzzle.locomotives}
    held: dict[tuple[str, str], tuple[bool, int]] = {}
    for number, frame in enumerate(replayed.frames[:-1]):
        for string in frame.standing:
            for engine in engines & set(string.vehicles):
                for car in set(string.vehicles) - engines:
                    is_in_front = _is_held_in_front(string, engine, car)
                    before, last = held.get((engine, car), (is_in_front, number))
                    held[engine, car] = (is_in_front, number)
                    if before != is_in_front:
                        yield engine, car, last, number


def _is_held_in_front(string: Placed, engine: str, car: str) -> bool:
    ahead = string.vehicles.index(car) > string.vehicles.index(engine)
    return ahead == (string.noses[engine] > 0)


def _is_in_front(puzzle: Puzzle, rail: Rail, frame: Frame, engine: str, car: str) -> bool:
    """Whether the car is in front of the locomotive: held there, or nearer to its front than to its rear."""
    mine = next(string for string in frame.standing if engine in string.vehicles)
    if car in mine.vehicles:
        return _is_held_in_front(mine, engine, car)
    other = next(string for string in frame.standing if car in string.vehicles)
    begin, end = _extent(puzzle, mine, engine)
    front, rear = (end, begin) if mine.noses[engine] > 0 else (begin, end)
    low, high = _extent(puzzle, other, car)
    middle = point_of(puzzle.district, other, (low + high) // 2)
    ways = [rail.distance(point_of(puzzle.district, mine, at), middle) for at in (front, rear)]
    assert ways[0] is not None and ways[1] is not None, "a car was held that no rail leads to: a defect"
    return ways[0] < ways[1]


def _extent(puzzle: Puzzle, string: Placed, vehicle: str) -> tuple[int, int]:
    """Where the vehicle begins and ends along its string, grid units."""
    lengths = [puzzle.vehicles[name].length for name in string.vehicles]
    begin = sum(lengths[: string.vehicles.index(vehicle)])
    return begin, begin + puzzle.vehicles[vehicle].length
