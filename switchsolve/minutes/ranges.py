"""A range of minutes for a piece of work, and the words for it.

It comes of two things, never of one plan: the plan with the fewest moves, and what a crew makes of the same
work.  Without a club's own ratio that is a plain crew's plan.  With it both ends are the least plan times the
ratio: the first one of the file for the low end, the second one for the high end.

Whole minutes: the low end is rounded down and the high end up; if both come to the same minute, the high end
is one more.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from fractions import Fraction

from switchsolve.crew import CrewResult, plain_crew
from switchsolve.minutes.model import cars_worked, figures_of, seconds_of
from switchsolve.plan import Counts
from switchsolve.puzzle import Puzzle

__all__ = [
    "USUAL",
    "SpanOfTime",
    "club_moves",
    "crew_for",
    "minutes_span",
    "past_minutes",
    "span_of",
    "span_text",
    "under_minutes",
    "warning_for",
]

USUAL = (Fraction(90), Fraction(300))
"""Real seconds a car within which switching usually stays: common practice, no source."""


@dataclass(frozen=True, slots=True)
class SpanOfTime:
    """Real seconds, exact: from ``low`` to ``high`` (``None``: nobody can say, for the plain crew gave up).

    ``by_ratio``: both ends come of the club's own ratio; else the low end is the plan with the fewest moves
    and the high end the plain crew's.
    """

    low: Fraction
    high: Fraction | None
    by_ratio: bool = False

    @property
    def minutes(self) -> tuple[int, int | None]:
        """The ends in whole minutes, the low one rounded down, the high one up; never equal."""
        return minutes_span(self.low, self.high)


def minutes_span(low: Fraction | int, high: Fraction | int | None) -> tuple[int, int | None]:
    """Seconds as whole minutes: ``low`` rounded down, ``high`` up, and one more if that is the same."""
    least = int(low // 60)
    return least, None if high is None else max(least + 1, int(-(-high // 60)))


def under_minutes(low: Fraction | int, high: Fraction | int) -> tuple[int, int]:
    """Whole minutes that ``low`` and ``high`` seconds stay under; never equal."""
    least = int(low // 60) + 1
    return least, max(least + 1, int(high // 60) + 1)


def past_minutes(low: Fraction | int, high: Fraction | int) -> tuple[int, int]:
    """Whole minutes that what takes more than ``low`` and ``high`` seconds goes past; never equal."""
    most = max(1, int(high // 60))
    return min(int(low // 60), most - 1), most


def span_of(puzzle: Puzzle, least: Counts, crew: Counts | None) -> SpanOfTime:
    """The range for work whose best plan counts ``least`` and the plain crew's ``crew`` (``None``: it gave
    up, or was not asked, for a file with a ratio of its own needs none).
    """
    figures = figures_of(puzzle)
    if figures.crew_ratio is not None:
        low, high = (seconds_of(figures, least, ratio) for ratio in figures.crew_ratio)
        return SpanOfTime(low, high, by_ratio=True)
    low = seconds_of(figures, least)
    if crew is None:
        return SpanOfTime(low, None)
    # a crew that makes more moves may still run less, or couple less often
    high = seconds_of(figures, crew)
    return SpanOfTime(min(low, high), max(low, high))


def club_moves(puzzle: Puzzle, least: int) -> tuple[int, int] | None:
    """What a crew of the club makes of a minimum of ``least`` moves, from and to, by the ratio of the file
    (rounded outwards); ``None`` without one.
    """
    ratio = figures_of(puzzle).crew_ratio
    if ratio is None:
        return None
    low, high = ratio
    return int(low * least), int(-(-high * least // 1))


def crew_for(
    puzzle: Puzzle,
    *,
    seconds_each: float = 30.0,
    tell: Callable[[str], None] | None = None,
    stop: Callable[[], str | None] | None = None,
) -> CrewResult | None:
    """The plain crew's work, if the range of minutes needs it: ``None`` where the file has a ratio."""
    if puzzle.times.crew_ratio is not None:
        return None
    return plain_crew(puzzle, seconds_each=seconds_each, tell=tell, stop=stop)


def span_text(span: SpanOfTime) -> str:
    """``12 to 19 minutes``; ``at least 12 minutes`` if there is no other end."""
    low, high = span.minutes
    if high is None:
        return f"at least {low} minute{'' if low == 1 else 's'}" if low else "no telling how many minutes"
    if low == 0:
        return "up to 1 minute" if high == 1 else f"up to {high} minutes"
    return f"{low} to {high} minutes"


def warning_for(puzzle: Puzzle, span: SpanOfTime) -> str | None:
    """What to say if the range leaves the usual minutes a car; ``None``: nothing."""
    cars = cars_worked(puzzle)
    if not cars:
        return None
    is_short = span.low < USUAL[0] * cars
    is_long = span.high is not None and span.high > USUAL[1] * cars
    if not (is_short or is_long):
        return None
    ends = " and ".join(
        text
        for text, is_so in (
            ("the low end is under one and a half minutes a car", is_short),
            ("the high end over five", is_long),
        )
        if is_so
    )
    if not is_short:
        ends = "the high end is over five minutes a car"
    borrowed = bool(figures_of(puzzle).borrowed)
    cure = "time your own runs and let `switchsolve calibrate` find your figures"
    told = cure if borrowed else "look at the figures of [times] again"
    return f"Take care: {ends}, which is unusual (common practice, no source); {told}."
