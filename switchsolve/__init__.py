"""Fewest locomotive moves, proved, for model-railroad switching districts.

::

    from switchsolve import load, solve, replay

    puzzle = load("puzzles/first_spur.toml")
    solution = solve(puzzle)
    print(solution.verdict, solution.lower_bound, replay(puzzle, solution.plan).counts)

For models only, never for real train movements.
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING

if TYPE_CHECKING:
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

_ROOM = {
    "Counts": "plan",
    "DrawingError": "errors",
    "FileError": "errors",
    "Plan": "plan",
    "PlanError": "errors",
    "Problem": "errors",
    "Puzzle": "puzzle",
    "Replay": "referee",
    "Solution": "plan",
    "SwitchsolveError": "errors",
    "Verdict": "plan",
    "dumps": "puzzlefile",
    "json_schema": "puzzlefile",
    "load": "puzzlefile",
    "loads": "puzzlefile",
    "replay": "referee",
    "solve": "solving",
}
"""Where each name is at home: its room is imported when the name is first asked for, so that the command line
can show its help, or say what is wrong in its arguments, before any of them is."""

# hidden from type checkers: with it they would let every misspelled name pass
if not TYPE_CHECKING:

    def __getattr__(name: str) -> object:
        if name not in _ROOM:
            raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
        found = getattr(import_module(f"{__name__}.{_ROOM[name]}"), name)
        globals()[name] = found
        return found


def __dir__() -> list[str]:
    return sorted({*globals(), *__all__})
