"""Which command does what."""

from __future__ import annotations

import os
import sys
from collections.abc import Sequence
from concurrent.futures import BrokenExecutor
from importlib import import_module

from switchsolve.cli.arguments import parser
from switchsolve.cli.codes import BAD_FILE, INTERRUPTED, READER_GONE
from switchsolve.cli.loading import uncollected
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
        with uncollected():
            room = import_module(f"switchsolve.cli.{name}")
        code: int = getattr(room, f"run_{name}")(arguments)
        sys.stdout.flush()
        return code
    except BrokenPipeError:
        _write_to_nobody()
        return READER_GONE
    except FileError as error:
        for problem in error.problems:
            print(problem, file=sys.stderr)
        return BAD_FILE
    except BrokenExecutor:  # killed from outside, or out of memory
        print("a worker was lost; ask again, with fewer --workers", file=sys.stderr)
        return INTERRUPTED
    except KeyboardInterrupt:
        print("interrupted", file=sys.stderr)
        return INTERRUPTED


def _write_to_nobody() -> None:
    """So that Python can end without one more broken pipe (its library reference, note on SIGPIPE)."""
    os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
