"""Fewest locomotive moves, proved, for model-railroad switching districts.

::

    from switchsolve import load, solve, replay

    puzzle = load("puzzles/first_spur.toml")
    solution = solve(puzzle)
    print(solution.verdict, solution.lower_bound, replay(puzzle, solution.plan).counts)

For models only, never for real train movements.
"""

from __future__ import annotations

from switchsolve.errors import DrawingError, FileError, PlanError, Problem, SwitchsolveError
from switchsolve.plan import Counts, Plan, Solution, Verdict
from switchsolve.puzzle import Puzzle
from switchsolve.puzzlefile import dumps, json_schema, load, loads
from switchsolve.referee import Replay, replay
from switchsolve.solving import solve

__all__ = [
    "Counts",
    "DrawingError",
    "FileError",
    "Plan",
    "PlanError",
    "Problem",
    "Puzzle",
    "Replay",
    "Solution",
    "SwitchsolveError",
    "Verdict",
    "dumps",
    "json_schema",
    "load",
    "loads",
    "replay",
    "solve",
]
