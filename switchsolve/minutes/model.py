"""The time model: seconds of a plan from what is counted in it.

::

    seconds = reading + moves x new move + couplings x coupling
              + cuts x (cut + failed share x failed uncoupling)
              + turnouts thrown x turnout + tables turned x table + distance / speed

All figures are exact fractions.  They are those of the file's ``[times]``; what it leaves out is
:data:`~switchsolve.objectives.COMMON_PRACTICE`, which has no source.  Five of them (new move, coupling, cut,
table, speed) are those of the objective ``minutes``; reading the list, throwing turnouts and what goes wrong
are for the crew's minutes only.  Switching is real time: a fast clock scales timetables, never this.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from switchsolve.objectives import COMMON_PRACTICE, common_speed
from switchsolve.plan import Counts
from switchsolve.puzzle import Puzzle
from switchsolve.work import AnyCars, EndsIn, Train

__all__ = ["NAMES", "TimeFigures", "cars_worked", "figures_of", "seconds_of"]

NAMES = ("new_move", "coupling", "cut", "table", "turnout", "reading", "failed_uncoupling", "failed_share")
"""The figures in thousandths, by their keys in ``[times]``; speed and the crew's ratio are apart."""


@dataclass(frozen=True, slots=True)
class TimeFigures:
    """Seconds each, exact.  ``speed``: grid units a second.  ``failed_share``: of the cuts, 0 to 1.

    ``crew_ratio``: the crew's moves over the minimum, as in :class:`~switchsolve.puzzle.Times` (``None``: not
    known).  ``borrowed``: keys that the file does not state: common practice, no source.
    """

    new_move: Fraction
    coupling: Fraction
    cut: Fraction
    table: Fraction
    turnout: Fraction
    reading: Fraction
    failed_uncoupling: Fraction
    failed_share: Fraction
    speed: Fraction
    crew_ratio: tuple[Fraction, Fraction] | None = None
    borrowed: tuple[str, ...] = ()


def figures_of(puzzle: Puzzle) -> TimeFigures:
    """The figures that hold for ``puzzle``."""
    own = {name: getattr(puzzle.times, name) for name in NAMES}
    usual = {name: getattr(COMMON_PRACTICE, name) for name in NAMES}
    borrowed = [name for name in NAMES if own[name] is None]
    in_seconds = {name: Fraction(usual[name] if own[name] is None else own[name], 1000) for name in NAMES}
    speed = puzzle.times.speed
    ratio = puzzle.times.crew_ratio
    return TimeFigures(
        **in_seconds,
        speed=common_speed(puzzle) if speed is None else Fraction(speed),
        crew_ratio=None if ratio is None else (Fraction(ratio[0], 1000), Fraction(ratio[1], 1000)),
        borrowed=tuple(borrowed if speed is not None else [*borrowed, "speed"]),
    )


def seconds_of(figures: TimeFigures, counts: Counts, ratio: Fraction = Fraction(1)) -> Fraction:
    """What a plan with these counts takes, exact.

    ``ratio``: all that is counted is taken so many times, as by a crew that needs more moves than the plan;
    the list is read once all the same.
    """
    fails = figures.failed_share * figures.failed_uncoupling
    work = (
        counts.moves * figures.new_move
        + counts.couplings * figures.coupling
        + counts.cuts * (figures.cut + fails)
        + counts.turnouts_thrown * figures.turnout
        + counts.tables_turned * figures.table
        + counts.distance / figures.speed
    )
    return figures.reading + ratio * work


def cars_worked(puzzle: Puzzle) -> int:
    """Cars that the work asks for: each to be spotted, set out or picked up."""
    cars = 0
    for item in puzzle.work.items:
        if isinstance(item, EndsIn):
            cars += 1
        elif isinstance(item, AnyCars):
            cars += item.count
        elif isinstance(item, Train):
            cars += len(item.cars)
    return cars
