"""Arrangements without traffic: the one set-up of each file, solved, and done by a plain crew."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from switchsolve.comparing.cases import Case
from switchsolve.crew import plain_crew
from switchsolve.minutes import SpanOfTime, span_of
from switchsolve.plan import Solution
from switchsolve.solving import solve

__all__ = ["Compared", "compare_once", "stopped_by_none"]

_CREW_SECONDS = 5.0
"""For each question of the plain crew."""


@dataclass(frozen=True, slots=True)
class Compared:
    """One arrangement.  ``crew_moves``: those of a plain crew; ``span``: real time, from the plan with the
    fewest moves to that of the plain crew; ``None`` without a plan, or if no crew was asked.
    """

    case: Case
    solution: Solution
    crew_moves: int | None
    span: SpanOfTime | None

    @property
    def moves(self) -> int | None:
        """Of the plan."""
        return self.solution.counts.moves if self.solution.counts else None


def stopped_by_none() -> str | None:
    """Nothing stops it."""
    return None


def compare_once(
    cases: Sequence[Case],
    *,
    seconds: float | None = None,
    with_crew: bool = True,
    tell: Callable[[str], None] | None = None,
    stop: Callable[[], str | None] = stopped_by_none,
) -> list[Compared]:
    """Solve the set-up of each case, ``seconds`` for each; a plain crew is asked where there is a plan.

    ``with_crew``: without, there are moves only, for minutes never come of the fewest moves alone.
    """
    found = []
    for case in cases:
        solution = solve(case.puzzle, seconds=seconds, tell=tell, stop=stop)
        crew = None
        if with_crew and solution.counts and stop() is None:
            crew = plain_crew(case.puzzle, seconds_each=_CREW_SECONDS, tell=tell, stop=stop).counts
        span = span_of(case.puzzle, solution.counts, crew) if with_crew and solution.counts else None
        found.append(Compared(case, solution, crew.moves if crew else None, span))
    return found
