"""``switchsolve replay``: a web page that plays the plan."""

from __future__ import annotations

import sys
from argparse import Namespace

from switchsolve.cli.codes import USAGE
from switchsolve.cli.opening import opened
from switchsolve.cli.progress import Progress
from switchsolve.cli.remarks import remarks_on
from switchsolve.cli.verdicts import CODE_OF_VERDICT
from switchsolve.cli.written import html_problems, write_html
from switchsolve.drawing import draw
from switchsolve.page import page_html
from switchsolve.referee import replay
from switchsolve.solving import solve

__all__ = ["run_replay"]


def run_replay(arguments: Namespace) -> int:
    """Solve one file and write its page; returns the exit code."""
    output = arguments.output
    wrong = html_problems(output)
    if wrong:
        print("\n".join(wrong), file=sys.stderr)
        return USAGE
    if arguments.limit_seconds is not None and not arguments.limit_seconds > 0:
        print(f"--limit-seconds {arguments.limit_seconds:g}: give a time above zero", file=sys.stderr)
        return USAGE
    puzzle = opened(arguments)
    solution = solve(puzzle, seconds=arguments.limit_seconds, tell=Progress())
    page = page_html(
        puzzle,
        solution,
        replay(puzzle, solution.plan) if solution.plan is not None else None,
        draw(puzzle),
        remarks_on(puzzle, solution, arguments.limit_seconds, is_asked=not arguments.no_explanation),
    )
    if not write_html("replay", output, page):
        return USAGE
    return CODE_OF_VERDICT[solution.verdict]
