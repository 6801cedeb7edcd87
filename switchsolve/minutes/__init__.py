"""What work takes in real time: always a range, in whole minutes, never the minimum alone.

The minimum is not the evening.  The low end is the plan with the fewest moves, done without a mistake; the
high end is a plain crew's plan, or, once a club has timed itself, the minimum times the club's own ratio.
"""

from __future__ import annotations

from switchsolve.minutes.fitting import FIGURES, Fit, Ratio, fit
from switchsolve.minutes.log import HEADS, LogRow, read_log
from switchsolve.minutes.model import NAMES, TimeFigures, cars_worked, figures_of, seconds_of
from switchsolve.minutes.pasting import times_text
from switchsolve.minutes.ranges import (
    USUAL,
    SpanOfTime,
    club_moves,
    crew_for,
    minutes_span,
    past_minutes,
    span_of,
    span_text,
    under_minutes,
    warning_for,
)
from switchsolve.minutes.runs import TimedRun, timed_runs

__all__ = [
    "FIGURES",
    "HEADS",
    "NAMES",
    "USUAL",
    "Fit",
    "LogRow",
    "Ratio",
    "SpanOfTime",
    "TimeFigures",
    "TimedRun",
    "cars_worked",
    "club_moves",
    "crew_for",
    "figures_of",
    "fit",
    "minutes_span",
    "past_minutes",
    "read_log",
    "seconds_of",
    "span_of",
    "span_text",
    "timed_runs",
    "times_text",
    "under_minutes",
    "warning_for",
]
