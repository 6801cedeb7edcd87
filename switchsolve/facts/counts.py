"""The facts as they are told, and how a number that can be done is looked for."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from switchsolve.facts.deciding import Answer
from switchsolve.facts.probes import Entry
from switchsolve.facts.shape import Loop
from switchsolve.facts.sparing import Change
from switchsolve.work import Place

__all__ = ["Count", "LoopFact", "SpotFact", "SpurFact", "TailFact", "from_guess", "most_of"]


@dataclass(frozen=True, slots=True)
class Count:
    """``number`` can be done.  ``is_proved``: one more cannot.  ``spare``: the track, and the length, that
    can be taken off it before the number drops (``None``: not known, or no single track decides).
    ``with_idlers``: so many more cars are needed, which reach where the locomotive may not go.  ``side``:
    the cars must be ``ahead`` of the locomotive, or ``behind`` it (empty: either will do, or not asked).
    """

    number: int
    is_proved: bool
    spare: Change | None = None
    with_idlers: int = 0
    side: str = ""


@dataclass(frozen=True, slots=True)
class SpurFact:
    """``reached``: for each entry, the fewest moves from there into the spur.  ``holds``: standard cars;
    ``None``: not even one could be decided.
    """

    track: str
    reached: tuple[tuple[Entry, Answer], ...]
    holds: Count | None


@dataclass(frozen=True, slots=True)
class LoopFact:
    """``passes``: standard cars that the locomotive gets past in as few moves as one car (``moves``)."""

    loop: Loop
    name: str
    moves: int | None
    passes: Count | None


@dataclass(frozen=True, slots=True)
class TailFact:
    """``takes``: standard cars beside the locomotive; a number of -1 means not even the locomotive."""

    track: str
    takes: Count | None


@dataclass(frozen=True, slots=True)
class SpotFact:
    """A spot, and whether a standard car can be spotted there.  ``cure``: the lengthening that lets it."""

    place: Place
    is_possible: bool | None
    cure: Change | None = None


def most_of(
    can: Callable[[int], bool | None], most: int, least: int, one_by_one: bool = False
) -> tuple[int, bool]:
    """The greatest number up to ``most`` that can be done, and whether it is proved that one more cannot.

    ``least`` is taken for granted, and that what can be done with some cars can be done with fewer; unless
    ``one_by_one``, for a car may be what reaches in where a locomotive may not go.
    """
    if most <= least or can(most):
        return max(most, least), True
    low, high = least, most
    while high - low > 1:
        middle = high - 1 if one_by_one else (low + high) // 2
        low, high = (middle, high) if can(middle) else (low, middle)
    return low, can(high) is False


def from_guess(can: Callable[[int], bool | None], guess: int) -> tuple[int, bool]:
    """The number from which on one more cannot be done, and whether that is proved; 1 can, sought at
    ``guess`` first.
    """
    number = guess if guess > 1 and can(guess) else 1
    while True:
        answer = can(number + 1)
        if not answer:
            return number, answer is False
        number += 1
