"""Arrangements without traffic: the one set-up of each file, solved, and done by a plain crew."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from switchsolve.comparing.cases import Case
from switchsolve.crew import plain_crew
from switchsolve.objectives import objective_of, rounded_minutes
from switchsolve.plan import Counts, Solution
from switchsolve.puzzle import Puzzle
from switchsolve.solving import solve

__all__ = ["Compared", "compare_once", "stopped_by_none"]

_CREW_SECONDS = 5.0
"""For each question of the plain crew."""


@dataclass(frozen=True, slots=True)
class Compared:
    """One arrangement.  ``crew_moves``: those of a plain crew; ``minutes``: from the shorter to the longer of
    the two plans, by the time figures of the file (0: under a minute); ``None`` without a plan.
    """

    case: Case
    solution: Solution
    crew_moves: int | None
    minutes: tuple[int, int] | None

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
    tell: Callable[[str], None] | None = None,
    stop: Callable[[], str | None] = stopped_by_none,
) -> list[Compared]:
    """Solve the set-up of each case, ``seconds`` for each; a plain crew is asked where there is a plan."""
    found = []
    for case in cases:
        solution = solve(case.puzzle, seconds=seconds, tell=tell, stop=stop)
        counts = [solution.counts] if solution.counts else []
        crew = None
        if solution.counts and stop() is None:
            crew = plain_crew(case.puzzle, seconds_each=_CREW_SECONDS, tell=tell, stop=stop).counts
            counts += [crew] if crew else []
        times = [_minutes(case.puzzle, one) for one in counts]
        span = (min(times), max(times)) if times else None
        found.append(Compared(case, solution, crew.moves if crew else None, span))
    return found


def _minutes(puzzle: Puzzle, counts: Counts) -> int:
    objective = objective_of(puzzle, "minutes")
    return rounded_minutes(objective.shown(objective.rows[0].of(counts)))
