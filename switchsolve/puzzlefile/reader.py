"""From the text of a puzzle file to a puzzle, or to every problem that the text has."""

from __future__ import annotations

import re
import tomllib
from dataclasses import replace
from decimal import Decimal, InvalidOperation
from pathlib import Path as FilePath
from typing import Any

from switchsolve.errors import FileError, Problem
from switchsolve.puzzle import Puzzle
from switchsolve.puzzlefile.building import build
from switchsolve.puzzlefile.mending import mend
from switchsolve.puzzlefile.problems import Problems
from switchsolve.puzzlefile.schema import PuzzleFile
from switchsolve.puzzlefile.shape import check_shape
from switchsolve.puzzlefile.tomltext import shortened
from switchsolve.puzzlefile.variants import read_variants

__all__ = ["json_schema", "load", "loads", "parsed", "read_document", "text_of"]


def load(path: str | FilePath) -> Puzzle:
    """Read the puzzle file at ``path``.  Raises :class:`~switchsolve.errors.FileError` with all problems."""
    return loads(text_of(path), str(path))


def text_of(path: str | FilePath) -> str:
    """The text of a file.  Raises :class:`~switchsolve.errors.FileError` if it has none."""
    name = str(path)
    try:
        data = FilePath(path).read_bytes()
    except (OSError, ValueError) as error:
        raise FileError([_unreadable(name, error)]) from None
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = data[: error.start].count(b"\n") + 1
        key = f"line {line}"
        problem = Problem(
            name, key, f"byte {error.start + 1}", "this is not UTF-8 text", "save the file as UTF-8"
        )
        raise FileError([problem]) from None


def loads(text: str, name: str = "<text>") -> Puzzle:
    """Read a puzzle from ``text``.  Raises :class:`~switchsolve.errors.FileError` with all problems.

    ``name`` stands for the file in messages.
    """
    return read_document(parsed(text, name), name)


def read_document(document: dict[str, Any], name: str) -> Puzzle:
    """Read a puzzle from the content of a TOML text.  Raises ``FileError`` with all problems."""
    if "tracks" not in document and {"districts", "trains"} <= set(document):
        cure = "give it to `switchsolve session`, or name one of its puzzle files"
        raise FileError([Problem(name, "file", "", "this is a layout file, not a puzzle file", cure)])
    problems = Problems(name, document)
    file = check_shape(document, problems, PuzzleFile)
    if file is None:
        _check_the_rest(document, problems, name)
        problems.raise_if_any()
    assert file is not None
    return _with_variants(document, file, problems, name)


def _with_variants(document: dict[str, Any], file: PuzzleFile, problems: Problems, name: str) -> Puzzle:
    """The puzzle and its variants; what is wrong with the file itself is not told again of each variant."""
    found: list[Problem] = []
    puzzle = None
    try:
        puzzle = build(file, problems)
    except FileError as error:
        found += error.problems
    known = {(problem.value, problem.what) for problem in found}
    variants, others = read_variants(document, name)
    found += [problem for problem in others if (problem.value, problem.what) not in known]
    if found:
        raise FileError(found)
    assert puzzle is not None
    return replace(puzzle, variants=tuple(variants))


def _check_the_rest(document: dict[str, Any], problems: Problems, name: str) -> None:
    """Note the cross problems of what has a good shape, so that all problems of a file are told at once."""
    mended = mend(document, PuzzleFile)
    if mended is None:
        return
    file, left, gone = mended
    others = Problems(name, left)
    try:
        build(file, others)
    except FileError:
        problems.absorb(others, gone)


def json_schema() -> dict[str, Any]:
    """The JSON Schema of a puzzle file, for editors.  It knows the shape, not the cross checks."""
    schema = PuzzleFile.model_json_schema()
    return {"$schema": "https://json-schema.org/draft/2020-12/schema", **schema, "title": "Puzzle file"}


def _unreadable(name: str, error: Exception) -> Problem:
    """Why a file cannot be read at all."""
    if isinstance(error, FileNotFoundError):
        return Problem(name, "file", "", "there is no such file", "check the name")
    if isinstance(error, IsADirectoryError):
        return Problem(name, "file", "", "this is a folder", "name a file in it")
    reason = getattr(error, "strerror", None) or str(error)
    return Problem(
        name, "file", "", f"it cannot be read ({reason.lower()})", "check the name and its permissions"
    )


def parsed(text: str, name: str) -> dict[str, Any]:
    """The content of a TOML text; decimals stay exact.  Raises ``FileError`` if it is not TOML."""
    try:
        return tomllib.loads(text, parse_float=_decimal)
    except RecursionError:
        problem = Problem(name, "file", "", "lists or tables are nested too deeply", "write it more plainly")
    except ValueError as error:
        problem = _not_toml(text, name, str(error))
    raise FileError([problem])


def _decimal(text: str) -> Decimal:
    """A decimal number as written; one that is beyond all bounds as infinity."""
    try:
        return Decimal(text)
    except InvalidOperation:
        return Decimal("inf")


def _not_toml(text: str, name: str, says: str) -> Problem:
    """Where and why a text is not TOML."""
    found = re.search(r"^(.*?) \(at (?:line (\d+), column (\d+)|end of document)\)$", says, re.DOTALL)
    reason = found[1] if found else ""
    what = f"this is not TOML ({reason[:1].lower()}{reason[1:]})"
    if found is None:
        what = "this is not TOML (a number has far too many digits)"
        return Problem(name, "file", "", what, "write a shorter number")
    if found[2] is None:
        return Problem(name, "end of the file", "", what, "mend or finish the last line")
    line, column = int(found[2]), int(found[3])
    lines = text.replace("\r\n", "\n").split("\n")
    there = lines[line - 1].strip() if line <= len(lines) else ""
    return Problem(name, f"line {line}, column {column}", shortened(there), what, "mend this line")
