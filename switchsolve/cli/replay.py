"""``switchsolve replay``: a web page that plays the plan."""

from __future__ import annotations

import sys
from argparse import Namespace
from pathlib import Path

from switchsolve.cli.codes import USAGE
from switchsolve.cli.opening import opened
from switchsolve.cli.progress import Progress
from switchsolve.cli.remarks import remarks_on
from switchsolve.cli.verdicts import CODE_OF_VERDICT
from switchsolve.drawing import draw
from switchsolve.page import page_html
from switchsolve.referee import replay
from switchsolve.solving import solve

__all__ = ["run_replay"]

_ENDINGS = (".html", ".htm")


def run_replay(arguments: Namespace) -> int:
    """Solve one file and write its page; returns the exit code."""
    output = Path(arguments.output)
    if output.suffix.lower() not in _ENDINGS:
        print(f"-o {output}: name a file that ends in {' or '.join(_ENDINGS)}", file=sys.stderr)
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
    try:
        output.write_text(page, encoding="utf-8", newline="\n")
    except OSError as error:
        reason = (error.strerror or str(error)).lower()
        print(f"replay: {output}: it cannot be written ({reason}); name another file", file=sys.stderr)
        return USAGE
    return CODE_OF_VERDICT[solution.verdict]
