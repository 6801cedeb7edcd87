"""Does a plan run around, and how often?  Told from its replay.

A locomotive has **passed** a car if it holds it at one of its ends and later at the other.  When it did is
not to be seen in the standings at rest, but it was after the last of them in which it held the car the one
way, and no later than the first in which it holds it the other way.  One **trip around** passes any number of
cars, so the trips are the fewest moments that account for all that was passed: a moment in each such stretch.
That is the classic of piercing intervals with the fewest points; taking always the end of the stretch that
ends first is exact (any textbook of algorithms has the proof, by exchange).
"""

from __future__ import annotations

from collections.abc import Iterator

from switchsolve.puzzle import Puzzle
from switchsolve.referee import Replay

__all__ = ["runs_around", "trips_around"]


def runs_around(puzzle: Puzzle, replayed: Replay) -> bool:
    """Whether a locomotive has passed a car: it holds the car at one of its ends, and later at the other.

    That is looked at in every standing at rest, the first one included, for all that is coupled to a
    locomotive.  A locomotive that has turned itself round meanwhile (wye, turntable) has done it too.
    """
    return next(_passings(puzzle, replayed), None) is not None


def trips_around(puzzle: Puzzle, replayed: Replay) -> int:
    """How often a locomotive went around to the other end of cars: no fewer trips account for all passed.

    Trips of different locomotives are counted apart.
    """
    stretches: dict[str, list[tuple[int, int]]] = {}
    for engine, last_held, held_again in _passings(puzzle, replayed):
        stretches.setdefault(engine, []).append((held_again, last_held))
    return sum(_fewest_points(sorted(found)) for found in stretches.values())


def _fewest_points(stretches: list[tuple[int, int]]) -> int:
    """Points that pierce all stretches, each given as (end, begin) with the begin left out."""
    points, latest = 0, -1
    for end, begin in stretches:
        if latest <= begin:
            points, latest = points + 1, end
    return points


def _passings(puzzle: Puzzle, replayed: Replay) -> Iterator[tuple[str, int, int]]:
    """Each passing: locomotive, the last standing with the car held the old way, the first with the new way.

    Standings are numbered by the runs done: 0 is the start.
    """
    engines = {locomotive.name for locomotive in puzzle.locomotives}
    held: dict[tuple[str, str], tuple[bool, int]] = {}
    for number, frame in enumerate(replayed.frames[:-1]):
        for string in frame.standing:
            for at, engine in enumerate(string.vehicles):
                for other, car in enumerate(string.vehicles):
                    if engine not in engines or car in engines:
                        continue
                    is_in_front = (other > at) == (string.noses[engine] > 0)
                    before, last = held.get((engine, car), (is_in_front, number))
                    held[engine, car] = (is_in_front, number)
                    if before != is_in_front:
                        yield engine, last, number
