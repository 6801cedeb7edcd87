"""``switchsolve paper``: a switch list for the crew, with the solution on a second sheet."""

from __future__ import annotations

import sys
from argparse import Namespace

from switchsolve.cli.codes import OK, USAGE
from switchsolve.cli.opening import opened
from switchsolve.cli.progress import Progress
from switchsolve.cli.remarks import remarks_on
from switchsolve.cli.verdicts import CODE_OF_VERDICT
from switchsolve.cli.written import html_problems, write_html
from switchsolve.paper import paper_html
from switchsolve.solving import solve

__all__ = ["run_paper"]


def run_paper(arguments: Namespace) -> int:
    """Write the sheets of one file; returns the exit code."""
    wrong = _what_is_wrong(arguments)
    if wrong:
        print("\n".join(wrong), file=sys.stderr)
        return USAGE
    puzzle = opened(arguments)
    solution, code, remarks = None, OK, list[str]()
    if not arguments.no_solution:
        solution = solve(puzzle, seconds=arguments.limit_seconds, tell=Progress())
        code = CODE_OF_VERDICT[solution.verdict]
        asked = not arguments.no_explanation
        remarks = remarks_on(puzzle, solution, arguments.limit_seconds, is_asked=asked)
    html = paper_html(puzzle, solution, remarks)
    return code if write_html("paper", arguments.output, html) else USAGE


def _what_is_wrong(arguments: Namespace) -> list[str]:
    """Every wrong argument, each with its cure."""
    wrong = html_problems(arguments.output)
    if arguments.limit_seconds is not None:
        if not arguments.limit_seconds > 0:
            wrong.append(f"--limit-seconds {arguments.limit_seconds:g}: give a time above zero")
        if arguments.no_solution:
            wrong.append("--no-solution: nothing is solved then; leave --limit-seconds out")
    if arguments.no_solution and arguments.no_explanation:
        wrong.append("--no-solution: nothing is solved then; leave --no-explanation out")
    return wrong
