"""Objectives: what a plan is to have least of.

An objective is a row of figures, compared in order: the first one is what the verdict speaks of, the others
are ties.  Every figure is a plain sum over what is counted in a plan (:class:`Weights`), in whole numbers, so
that no comparison hangs on a rounding.

The figure of ``minutes`` is a plain sum too::

    seconds = moves x new move + couplings x coupling + cuts x cut + tables turned x table + distance / speed

with the figures of the file's ``[times]``, and for those that it leaves out :data:`COMMON_PRACTICE`.  It is
counted in ticks: with a speed of ``p / q`` grid units a second a tick is 1 / (1000 p) second, so that a
thousandth of a second is ``p`` ticks and a grid unit of distance 1000 q, exactly.

Turnouts thrown are in no figure.  Whether a turnout is thrown depends on the route that was used last in it,
which is no part of a standing: two standings with equal rails and vehicles, reached by different ways, would
have to be kept apart for every lie of every turnout.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from typing import NamedTuple

from switchsolve.plan import Counts
from switchsolve.puzzle import Puzzle, Times

__all__ = [
    "BY_CHOICE",
    "COMMON_PRACTICE",
    "DISTANCE",
    "HANDLING",
    "MOVES",
    "OBJECTIVES",
    "Objective",
    "Weights",
    "common_speed",
    "objective_of",
]

OBJECTIVES = ("moves", "couplings and cuts", "minutes")
"""What a user can ask for."""
BY_CHOICE = (*OBJECTIVES, "cars in hand", "distance")
"""What a table of choices asks for."""

COMMON_PRACTICE = Times(
    new_move=10_000,
    coupling=10_000,
    cut=15_000,
    table=30_000,
    turnout=8_000,
    reading=60_000,
    failed_uncoupling=20_000,
    failed_share=100,
)
"""Figures for what a file does not say: common practice, no source.  Nothing is published on the time that a
move takes.  The speed goes by the cars of the file: :func:`common_speed`.
"""
_SECONDS_A_CAR = 3
"""Seconds in which a locomotive runs the length of a car: common practice, no source."""


class Weights(NamedTuple):
    """What one of each thing counted adds to a figure (distance: each grid unit).

    ``dragged``: cars in hand, as :class:`~switchsolve.referee.Replay` counts them.
    """

    move: int = 0
    coupling: int = 0
    cut: int = 0
    table: int = 0
    distance: int = 0
    dragged: int = 0

    def of(self, counts: Counts, dragged: int = 0) -> int:
        """The figure of a plan."""
        return (
            self.move * counts.moves
            + self.coupling * counts.couplings
            + self.cut * counts.cuts
            + self.table * counts.tables_turned
            + self.distance * counts.distance
            + self.dragged * dragged
        )


MOVES = Weights(move=1)
HANDLING = Weights(coupling=1, cut=1)
DISTANCE = Weights(distance=1)
DRAGGED = Weights(dragged=1)


@dataclass(frozen=True, slots=True)
class Objective:
    """Figures to be least, in order.

    ``rows``: what each figure is made of.  ``ties``: the same with all ties, when they take a proof of their
    own.  ``to_one``: how many of the first figure make one of what people count (one move, one second).
    """

    name: str
    rows: tuple[Weights, ...]
    ties: tuple[Weights, ...] = ()
    to_one: int = 1

    def shown(self, figure: int) -> int | Fraction:
        """The first figure in moves, in couplings + cuts, or in seconds (exact)."""
        return figure if self.to_one == 1 else Fraction(figure, self.to_one)


def objective_of(puzzle: Puzzle, name: str) -> Objective:
    """The objective called ``name`` for this set-up.

    Raises ``ValueError`` if it is none of :data:`BY_CHOICE`.
    """
    if name == "moves":
        return Objective(name, (MOVES,), (MOVES, HANDLING, DISTANCE))
    if name == "couplings and cuts":
        return Objective(name, (HANDLING, MOVES), (HANDLING, MOVES, DISTANCE))
    if name == "minutes":
        seconds, ticks = _ticks(puzzle)
        return Objective(name, (seconds, MOVES), to_one=ticks)
    if name == "cars in hand":
        return Objective(name, (DRAGGED, MOVES))
    if name == "distance":
        return Objective(name, (DISTANCE, MOVES), to_one=puzzle.grid)
    raise ValueError(f"no objective is called {name!r}: it is one of {', '.join(BY_CHOICE)}")


def _ticks(puzzle: Puzzle) -> tuple[Weights, int]:
    """The weights of time in ticks, and the ticks in a second."""
    own, common = puzzle.times, COMMON_PRACTICE
    speed = common_speed(puzzle) if own.speed is None else Fraction(own.speed)
    pairs = zip(own.figures[:4], common.figures[:4], strict=True)
    of_events = [(usual or 0) if given is None else given for given, usual in pairs]
    move, coupling, cut, table = (thousandths * speed.numerator for thousandths in of_events)
    return Weights(move, coupling, cut, table, 1000 * speed.denominator), 1000 * speed.numerator


def common_speed(puzzle: Puzzle) -> Fraction:
    """Grid units a second, where the file says none: the length of a car in three seconds, going by the mean
    of the file's cars (of its locomotives, if it has no cars).
    """
    lengths = [car.length for car in puzzle.cars] or [one.length for one in puzzle.locomotives]
    return Fraction(sum(lengths), _SECONDS_A_CAR * len(lengths))
