"""Does a plan run around?  Told from its replay."""

from __future__ import annotations

from switchsolve.puzzle import Puzzle
from switchsolve.referee import Replay

__all__ = ["runs_around"]


def runs_around(puzzle: Puzzle, replayed: Replay) -> bool:
    """Whether a locomotive has passed a car: it holds the car at one of its ends, and later at the other.

    That is looked at in every standing at rest, the first one included, for all that is coupled to a
    locomotive.  A locomotive that has turned itself round meanwhile (wye, turntable) has done it too.
    """
    engines = {locomotive.name for locomotive in puzzle.locomotives}
    side_of: dict[tuple[str, str], bool] = {}
    for frame in replayed.frames[:-1]:
        for string in frame.standing:
            for at, engine in enumerate(string.vehicles):
                if engine not in engines:
                    continue
                for other, car in enumerate(string.vehicles):
                    if car in engines:
                        continue
                    is_in_front = (other > at) == (string.noses[engine] > 0)
                    if side_of.setdefault((engine, car), is_in_front) != is_in_front:
                        return True
    return False
