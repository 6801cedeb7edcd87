"""``switchsolve kit``: the district at the size of the model, on sheets to print."""

from __future__ import annotations

import sys
from argparse import Namespace

from switchsolve.cli.codes import OK, USAGE
from switchsolve.cli.opening import opened
from switchsolve.cli.written import html_problems, write_html
from switchsolve.errors import FileError, Problem
from switchsolve.kit import PAPERS, kit_html, why_no_kit

__all__ = ["run_kit"]


def run_kit(arguments: Namespace) -> int:
    """Write the kit of one file; returns the exit code."""
    wrong = html_problems(arguments.output)
    if wrong:
        print("\n".join(wrong), file=sys.stderr)
        return USAGE
    puzzle = opened(arguments)
    why = why_no_kit(puzzle)
    if why is not None:
        raise FileError([Problem(arguments.file, "unit", puzzle.unit, why, "measure in in, mm, cm or ft")])
    done = write_html("kit", arguments.output, kit_html(puzzle, PAPERS[arguments.paper]))
    return OK if done else USAGE
