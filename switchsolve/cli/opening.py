"""The file of a command, or one of its variants."""

from __future__ import annotations

from argparse import Namespace
from dataclasses import replace

from switchsolve.errors import FileError, Problem
from switchsolve.puzzle import Puzzle
from switchsolve.puzzlefile import load
from switchsolve.puzzlefile.problems import suggestion

__all__ = ["opened"]


def opened(arguments: Namespace) -> Puzzle:
    """The set-up that a command is asked about; without variants, so that what is made of it has none of
    what is no longer true.  Raises ``FileError``.
    """
    puzzle = load(arguments.file)
    name = getattr(arguments, "variant", None)
    if name is None:
        return replace(puzzle, variants=())
    for variant in puzzle.variants:
        if variant.name == name:
            return variant.puzzle
    known = [variant.name for variant in puzzle.variants]
    cure = suggestion(name, known, f"name one of: {', '.join(known)}" if known else "this file has none")
    raise FileError([Problem(arguments.file, "--variant", name, "the file has no such variant", cure)])
