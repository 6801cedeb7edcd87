"""What came of a question: the fewest moves as far as proved, and what is told of the plan.

The bare proof does without a plan.  Where one is wanted, its trips around are told, or how it uses spurs that
are laid both ways at once.
"""

from __future__ import annotations

import time
from dataclasses import dataclass

from switchsolve.designing.fewest_trips import fewest_trips
from switchsolve.designing.loosening import Ways, is_loose, ways_of
from switchsolve.effort import trips_around
from switchsolve.facts.deciding import decide
from switchsolve.measuring.pieces import NO_PLAN, Minimum
from switchsolve.plan import Solution, Verdict
from switchsolve.puzzle import Puzzle
from switchsolve.referee import replay
from switchsolve.solving import solve

__all__ = ["NO", "UNKNOWN", "YES", "Answer", "figure_of", "proved", "solved", "told_of"]

_SOON = 2.0
"""Seconds for the bare proof, which is plain Python; what takes longer is compiled."""


@dataclass(frozen=True, slots=True)
class Answer:
    """``figure``: the fewest moves (thousandths of a second for a plain crew; for a question of yes or no, 0
    is yes and :data:`NO_PLAN` no), as far as proved.  ``trips``: to a run-around, in the plan found;
    ``least_trips``: no plan with the fewest moves has fewer.
    ``at_best``: of a plain crew's question, thousandths of a second for the plan of the fewest moves.
    ``ways``: how the plan found uses spurs that are laid both ways at once, if there are any.
    """

    figure: Minimum
    trips: int | None = None
    least_trips: int = 0
    at_best: int | None = None
    ways: Ways | None = None


UNKNOWN = Answer(Minimum(0, NO_PLAN))
YES, NO = Answer(Minimum(0, 0)), Answer(Minimum(NO_PLAN, NO_PLAN))


def solved(puzzle: Puzzle, seconds: float | None) -> Solution:
    """The fewest moves with a plan."""
    return solve(puzzle, seconds=seconds, tie_standings=0)


def proved(puzzle: Puzzle, seconds: float | None) -> Solution:
    """The fewest moves without a plan: the bare proof, or all of it where that takes long.

    Both are exact, so that it makes no difference which of them is done first.
    """
    first = _SOON if seconds is None else min(_SOON, seconds)
    found = decide(puzzle, seconds=first)
    if found.is_possible is None:
        return solved(puzzle, None if seconds is None else max(0.0, seconds - first))
    if not found.is_possible:
        return Solution(Verdict.IMPOSSIBLE, None)
    return Solution(Verdict.PROVED, found.moves)


def figure_of(solution: Solution) -> Minimum:
    """The fewest moves, as far as ``solution`` proves them."""
    if solution.verdict is Verdict.IMPOSSIBLE:
        return Minimum(NO_PLAN, NO_PLAN)
    least = solution.lower_bound or 0
    if solution.verdict is Verdict.PROVED:
        return Minimum(least, least)
    return Minimum(least, solution.counts.moves if solution.counts is not None else NO_PLAN)


def told_of(puzzle: Puzzle, solution: Solution, wanted: int | None, seconds: float | None) -> Answer:
    """The answer with what is told of the plan of ``solution``; if it has more trips than ``wanted`` another
    is looked for, as far as ``seconds`` allow.
    """
    if solution.plan is None:
        return Answer(figure_of(solution))
    if is_loose(puzzle.district):
        return Answer(figure_of(solution), ways=ways_of(puzzle.district, solution.plan))
    trips, moves = trips_around(puzzle, replay(puzzle, solution.plan)), solution.lower_bound
    if wanted is None or trips <= wanted or solution.verdict is not Verdict.PROVED or moves is None:
        return Answer(figure_of(solution), trips)
    end = None if seconds is None else time.monotonic() + seconds
    other = fewest_trips(
        puzzle, moves, wanted, lambda: "time" if end is not None and time.monotonic() > end else None
    )
    if other is None:
        return Answer(figure_of(solution), trips)
    return Answer(figure_of(solution), trips if other.most is None else min(other.most, trips), other.least)
