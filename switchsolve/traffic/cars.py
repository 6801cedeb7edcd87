"""Cars on their way through a season."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from switchsolve.puzzle import Puzzle

__all__ = ["Visitor", "car_name", "roads_of"]


@dataclass(frozen=True, slots=True)
class Visitor:
    """A car that comes to an industry, stays, and leaves.

    ``name`` is the same as long as it is about, and no other car of the season has it.  ``track`` is that of
    the industry, ``spot`` the spot at which it stands or is to stand.  ``due`` is the number of the session
    in which it is to be picked up (``None``: it has not been spotted yet).  ``was_left``: it was in the work
    of an earlier session, and was left undone.
    """

    name: str
    kind: str
    track: str
    stay: int
    spot: str | None = None
    due: int | None = None
    was_left: bool = False


def roads_of(puzzle: Puzzle) -> tuple[str, ...]:
    """The letters of the roads: what comes before the last blank in the names of the file's cars.

    ``("car",)`` if no car has any.
    """
    letters = (car.name.rpartition(" ")[0].strip() for car in puzzle.cars)
    return tuple(sorted({road for road in letters if road})) or ("car",)


def car_name(roads: tuple[str, ...], road: int, serial: int, taken: Iterable[str]) -> str:
    """The name of the car number ``serial`` of a season; a mark is added while a locomotive has that name."""
    name = f"{roads[road]} {100 + serial}"
    while name in taken:
        name += "A"
    return name
