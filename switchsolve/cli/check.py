"""``switchsolve check``: every problem of each file, then what the district can do."""

from __future__ import annotations

import sys
from collections.abc import Sequence

from rich.console import Console
from rich.text import Text

from switchsolve.cli.codes import BAD_FILE, OK
from switchsolve.errors import FileError
from switchsolve.puzzle import Puzzle
from switchsolve.puzzlefile import load

__all__ = ["run_check"]


def run_check(files: Sequence[str]) -> int:
    """Check each file; returns the exit code."""
    console = Console(width=80, highlight=False)
    code = OK
    for name in files:
        try:
            puzzle = load(name)
        except FileError as error:
            for problem in error.problems:
                print(problem, file=sys.stderr)
            code = BAD_FILE
            continue
        _print(console, name, puzzle)
    return code


def _print(console: Console, name: str, puzzle: Puzzle) -> None:
    console.print(Text(f"{name}: {puzzle.title}", style="bold"))
    for what, figure in puzzle.notes.items():
        console.print(Text(f"  {what}: {figure}"))
