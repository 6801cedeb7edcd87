"""``switchsolve sheets``: work sheets to print, with the solutions on sheets of their own."""

from __future__ import annotations

import sys
from argparse import Namespace

from switchsolve.cli.codes import BEST_FOUND, INTERRUPTED, OK, USAGE
from switchsolve.cli.progress import Progress
from switchsolve.cli.remarks import remarks_on
from switchsolve.cli.stopping import Stop
from switchsolve.cli.written import html_problems, write_html
from switchsolve.errors import FileError, Problem
from switchsolve.paper import Sheet, sheets_html
from switchsolve.plan import Verdict
from switchsolve.puzzle import Puzzle
from switchsolve.puzzlefile import load
from switchsolve.solving import solve

__all__ = ["run_sheets"]


def run_sheets(arguments: Namespace) -> int:
    """Solve every file and write one page; returns the exit code."""
    wrong = html_problems(arguments.output)
    if not arguments.limit_seconds > 0:
        wrong.append(f"--limit-seconds {arguments.limit_seconds:g}: give a time above zero")
    if wrong:
        print("\n".join(wrong), file=sys.stderr)
        return USAGE
    puzzles = _load_all(arguments.files)
    sheets: list[Sheet] = []
    with Stop() as stop:
        for puzzle in puzzles:
            if stop() is not None:
                break
            solution = solve(puzzle, seconds=arguments.limit_seconds, tell=Progress(), stop=stop)
            remarks = remarks_on(puzzle, solution, arguments.limit_seconds, is_asked=True)
            sheets.append(Sheet(puzzle, solution, tuple(remarks)))
    if len(sheets) < len(puzzles):
        told = f"stopped: {len(sheets)} of {len(puzzles)} set-ups are on the sheets"
        print(told, file=sys.stderr)
    if not sheets:
        return INTERRUPTED
    if not write_html("sheets", arguments.output, sheets_html(sheets)):
        return USAGE
    decided = all(sheet.solution.verdict in (Verdict.PROVED, Verdict.IMPOSSIBLE) for sheet in sheets)
    return OK if decided and len(sheets) == len(puzzles) else BEST_FOUND


def _load_all(files: list[str]) -> list[Puzzle]:
    """Every file.  Raises ``FileError`` with the problems of all of them."""
    puzzles: list[Puzzle] = []
    problems: list[Problem] = []
    for file in files:
        try:
            puzzles.append(load(file))
        except FileError as error:
            problems += error.problems
    if problems:
        raise FileError(problems)
    return puzzles
