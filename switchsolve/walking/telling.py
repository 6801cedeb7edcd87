"""A step that was made, and what can be said of the way ahead, in a crew's words."""

from __future__ import annotations

from switchsolve.plan import Advance, Placed, Run, Verdict
from switchsolve.puzzle import Puzzle
from switchsolve.referee import Frame
from switchsolve.solving import Onward
from switchsolve.walking.stops import Stop
from switchsolve.words import counted, run_text

__all__ = ["ahead_text", "step_text"]


def step_text(
    puzzle: Puzzle, stop: Stop, set_off: tuple[Placed, ...], run: Run | None, after: tuple[Placed, ...]
) -> str:
    """What the crew does in one step."""
    if run is None:
        table = puzzle.district.tables[stop.first.string]
        return f"Line the {table.name} to {table.meets[stop.first.way][1].place}."
    entered = tuple(way for step in run.steps if isinstance(step, Advance) for way in step.enters)
    return run_text(puzzle, run, Frame("before", set_off), Frame("after", after, entered=entered))


def ahead_text(onward: Onward) -> str:
    """How many moves are still needed, and whether that is proved."""
    if onward.verdict is Verdict.IMPOSSIBLE:
        return "From here the work cannot be done any more (proved). Undo takes a step back."
    least = f"{onward.least} more" if onward.least else "none"
    if onward.verdict is Verdict.GAVE_UP:
        return f"No way was found within {onward.limit}; it takes at least {least}."
    assert onward.moves is not None
    if onward.verdict is Verdict.PROVED:
        if not onward.moves:
            return "No more moves are needed: go on in this one, or make the last cuts."
        return f"{counted(onward.moves, 'more move', 'more moves')} from here at best (proved)."
    ways = counted(onward.moves, "more move", "more moves")
    return f"A way with {ways} is known; it takes at least {least} (stopped by {onward.limit})."
