"""From a layout file to a layout, or to every problem that it has."""

from __future__ import annotations

from pathlib import Path as FilePath

from switchsolve.errors import FileError, Problem
from switchsolve.layout import Layout
from switchsolve.layoutfile.building import build
from switchsolve.layoutfile.checks import check
from switchsolve.layoutfile.schema import LayoutFile
from switchsolve.puzzle import Puzzle
from switchsolve.puzzlefile import load
from switchsolve.puzzlefile.problems import Problems
from switchsolve.puzzlefile.reader import parsed, text_of
from switchsolve.puzzlefile.shape import check_shape

__all__ = ["load_layout", "loads_layout"]


def load_layout(path: str | FilePath) -> Layout:
    """Read the layout file at ``path``, and the puzzle files that it names.

    Raises :class:`~switchsolve.errors.FileError` with all problems of all of them.
    """
    return loads_layout(text_of(path), FilePath(path).parent, str(path))


def loads_layout(text: str, folder: FilePath, name: str = "<text>") -> Layout:
    """Read a layout from ``text``; its puzzle files are looked for in ``folder``.  Raises as
    :func:`load_layout`."""
    document = parsed(text, name)
    if "tracks" in document and "districts" not in document:
        cure = "name a layout file (puzzles/saltmarsh_layout.toml is one)"
        raise FileError([Problem(name, "file", "", "this is a puzzle file, not a layout file", cure)])
    problems = Problems(name, document)
    file = check_shape(document, problems, LayoutFile)
    problems.raise_if_any()
    assert file is not None
    puzzles, others = _puzzles(file, folder)
    check(file, puzzles, problems)
    try:
        problems.raise_if_any()
    except FileError as error:
        raise FileError([*error.problems, *others]) from None
    if others:
        raise FileError(others)
    return build(file, puzzles)


def _puzzles(file: LayoutFile, folder: FilePath) -> tuple[dict[str, Puzzle], list[Problem]]:
    """The puzzle of each place, as far as their files are sound; and what is wrong with the others."""
    puzzles, others = {}, []
    names = {place: line.file for place, line in file.yard.items()}
    names |= {place: line.file for place, line in file.districts.items()}
    for place, name in names.items():
        try:
            puzzles[place] = load(folder / name)
        except FileError as error:
            others += list(error.problems)
    return puzzles, others
