"""The minutes of a study, as a host would tell them."""

from __future__ import annotations

from switchsolve.minutes import figures_of, past_minutes, under_minutes
from switchsolve.puzzle import Puzzle
from switchsolve.study import Tally, at_or_under
from switchsolve.words import counted

__all__ = ["evening_lines", "minutes_lines", "study_minutes"]

_HALF, _NINE_IN_TEN = 0.5, 0.9


def study_minutes(tally: Tally) -> dict[str, object] | None:
    """Percentiles of both ends of the range, in whole minutes."""
    if not tally.least_seconds:
        return None
    return {
        "half_under": list(under_minutes(*_ends(tally, _HALF))),
        "one_in_ten_past": list(past_minutes(*_ends(tally, _NINE_IN_TEN))),
        "sessions": tally.least_seconds.total(),
        "without_end": tally.without_end,
    }


def _ends(tally: Tally, share: float) -> tuple[int, int]:
    """Seconds: the low and the high end that this share of the sessions does not pass, each for itself."""
    return at_or_under(tally.least_seconds, share), at_or_under(tally.most_seconds, share)


def minutes_lines(puzzle: Puzzle, tally: Tally) -> list[str]:
    """The evening as a host would tell it, and where its time figures are from."""
    lines = evening_lines(tally)
    if tally.least_seconds and figures_of(puzzle).borrowed:
        cure = "`switchsolve calibrate` finds your own from timed runs"
        lines.append(f"Time figures by common practice, no source: {cure}.")
    return lines


def evening_lines(tally: Tally) -> list[str]:
    """The evening as a host would tell it."""
    gave_up = f"In {counted(tally.without_end, 'session')} the plain crew gave up"
    if not tally.least_seconds:
        return [f"{gave_up}: there is no telling the minutes."] if tally.without_end else []
    half = under_minutes(*_ends(tally, _HALF))
    most = past_minutes(*_ends(tally, _NINE_IN_TEN))
    how = (
        "Of each two figures the first is the plan without a mistake, the second a plain crew"
        if tally.crew_moves
        else "By the club's own ratio of moves to the minimum"
    )
    lines = [
        f"Half the sessions take under {half[0]} to {half[1]} minutes, one in ten goes past {most[0]} to "
        f"{most[1]}, by a real clock. {how}."
    ]
    if tally.without_end:
        lines.append(f"{gave_up}: not among the minutes and the crew's moves.")
    return lines
