"""Which command does what."""

from __future__ import annotations

import sys
from collections.abc import Sequence
from importlib import import_module

from switchsolve.cli.arguments import parser
from switchsolve.cli.codes import BAD_FILE, INTERRUPTED
from switchsolve.errors import FileError

__all__ = ["main"]


def main(argv: Sequence[str] | None = None) -> int:
    """Run one command; returns the exit code.

    The command NAME is the function ``run_NAME`` of the module NAME of this room, which is imported only now:
    what it needs may take a second to import.
    """
    arguments = parser().parse_args(argv)
    name = arguments.command
    try:
        code: int = getattr(import_module(f"switchsolve.cli.{name}"), f"run_{name}")(arguments)
        return code
    except FileError as error:
        for problem in error.problems:
            print(problem, file=sys.stderr)
        return BAD_FILE
    except KeyboardInterrupt:
        print("interrupted", file=sys.stderr)
        return INTERRUPTED
