"""What is said on a page after the verdict."""

from __future__ import annotations

from switchsolve.cli.progress import Progress
from switchsolve.explaining import explain
from switchsolve.plan import Solution, Verdict
from switchsolve.puzzle import Puzzle

__all__ = ["remarks_on"]

_LONGEST = 60.0
"""Seconds to look for a reason, where no limit is given."""


def remarks_on(puzzle: Puzzle, solution: Solution, seconds: float | None, *, is_asked: bool) -> list[str]:
    """Why the work is impossible, if it is and that is asked for, as far as ``seconds`` allow."""
    if solution.verdict is not Verdict.IMPOSSIBLE or not is_asked:
        return []
    return [explain(puzzle, seconds=seconds or _LONGEST, tell=Progress()).text]
