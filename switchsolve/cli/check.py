"""``switchsolve check``: every problem of each file, then what the district can do."""

from __future__ import annotations

import sys
from argparse import Namespace

from switchsolve.cli.codes import BAD_FILE, OK, STANDARD_SHORT
from switchsolve.cli.loading import uncollected
from switchsolve.errors import FileError
from switchsolve.puzzlefile import load

__all__ = ["run_check"]

_SECONDS = 30.0
"""At most, for the facts of one file."""


def run_check(arguments: Namespace) -> int:
    """Check each file; returns the exit code.

    Of several files the worst counts: one that is badly written, else one with a standard that is short.
    """
    codes = [_check(name, _SECONDS, arguments.ascii) for name in arguments.files]
    return next((code for code in (BAD_FILE, STANDARD_SHORT) if code in codes), OK)


def _check(name: str, seconds: float, ascii_only: bool) -> int:
    try:
        puzzle = load(name)
    except FileError as error:
        for problem in error.problems:
            print(problem, file=sys.stderr)
        return BAD_FILE
    with uncollected():  # nor do proofs leave anything behind that is worth a look
        # only now, for pictures and proofs take long to import, and a problem need not wait for them
        from switchsolve.cli.factscreen import print_facts

        return OK if print_facts(name, puzzle, seconds, ascii_only=ascii_only) else STANDARD_SHORT
