"""From a layout file to a layout, or to every problem that it has."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path as FilePath
from typing import Any

from switchsolve.errors import FileError, Problem
from switchsolve.layout import Layout
from switchsolve.layoutfile.building import build
from switchsolve.layoutfile.checks import check
from switchsolve.layoutfile.schema import LayoutFile
from switchsolve.puzzle import Puzzle
from switchsolve.puzzlefile import load
from switchsolve.puzzlefile.mending import mend
from switchsolve.puzzlefile.problems import Path, Problems
from switchsolve.puzzlefile.reader import parsed, text_of
from switchsolve.puzzlefile.shape import check_shape

__all__ = ["json_schema", "load_layout", "loads_layout"]

_SESSION = {"minutes": 10**6, "fast_clock": 1, "begins": "0:00", "pace": 1}
_INSTEAD: dict[tuple[str | int, str | int], object] = {
    ("yard", "room"): "1000 ft",
    ("yard", "stop"): 1,
    ("staging", "through"): False,
    ("links", "minutes"): 1,
    ("links", "tracks"): 1,
    ("aisles", "people"): 1,
    ("trains", "equipment"): "1 mm",
    ("trains", "most_cars"): 1,
}
_FROM = {
    "no train works it": "trains",
    "the yard is worked by": "trains",
    "no link leads there": "links",
    "no crew can take it": "crews",
    "nothing is said of its industry": "industries",
}
_LACKS = {words: set(LayoutFile.model_fields) - {table} for words, table in _FROM.items()}
"""Words of problems that may come from what was taken out, unless only of these tables."""


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
    if file is None:
        others = _check_the_rest(document, problems, folder)
        raise FileError([*problems.found(), *others])
    puzzles, others = _puzzles(file, folder)
    check(file, puzzles, problems)
    if problems.found() or others:
        raise FileError([*problems.found(), *others])
    return build(file, puzzles)


def json_schema() -> dict[str, Any]:
    """The JSON Schema of a layout file, for editors.  It knows the shape, not the cross checks."""
    schema = LayoutFile.model_json_schema()
    return {"$schema": "https://json-schema.org/draft/2020-12/schema", **schema, "title": "Layout file"}


def _check_the_rest(
    document: Mapping[str, object], problems: Problems, folder: FilePath
) -> list[Problem]:
    """Note the cross problems of what has a good shape, so that all problems are told at once; returns those
    of the puzzle files."""
    mended = mend(document, LayoutFile, _stand_in)
    if mended is None:
        return []
    file, left, gone = mended
    puzzles, others = _puzzles(file, folder)
    more = Problems(problems.file, left)
    check(file, puzzles, more)
    problems.absorb(more, gone, _LACKS)
    return others


def _stand_in(path: Path) -> object:
    """What no cross check objects to, where a place, a link or a train would have to go otherwise."""
    if path and path[0] == "session":
        return _SESSION if len(path) == 1 else _SESSION.get(str(path[1]))
    return _INSTEAD.get((path[0], path[2])) if len(path) == 3 else None


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
