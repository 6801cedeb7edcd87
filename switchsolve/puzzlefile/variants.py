"""The variants of a file: read with all their problems at once, and written as what they change."""

from __future__ import annotations

import tomllib
from collections.abc import Iterator, Mapping
from copy import deepcopy
from dataclasses import replace
from decimal import Decimal
from typing import Any

from switchsolve.errors import FileError, Problem
from switchsolve.puzzle import Puzzle, Variant
from switchsolve.puzzlefile.building import build
from switchsolve.puzzlefile.dropping import PLACES, Document, drop
from switchsolve.puzzlefile.problems import Problems
from switchsolve.puzzlefile.schema import PuzzleFile
from switchsolve.puzzlefile.shape import check_shape
from switchsolve.puzzlefile.tomltext import value_text
from switchsolve.puzzlefile.varying import MERGED, varied

__all__ = ["read_variants", "variant_lines"]


def read_variants(document: Document, file: str) -> tuple[list[Variant], list[Problem]]:
    """The variants of a file of good shape, and what is wrong with them; each problem of what becomes of the
    file names its variant.
    """
    own = Problems(file, document)
    variants, problems, names = [], [], set()
    for index, line in enumerate(document.get("variants", ())):
        name = line["name"]
        if name in names:
            own.add(("variants", index, "name"), "another variant has this name", "give it another one")
        names.add(name)
        content = varied(document, line, ("variants", index), own)
        try:
            variants.append(Variant(name, _built(content, file)))
        except FileError as error:
            problems += [
                replace(one, key=f"variant {value_text(name)}: {one.key}") for one in error.problems
            ]
    return variants, [*own.found(), *problems]


def _built(content: Document, file: str) -> Puzzle:
    """The set-up of such a content.  Raises ``FileError``."""
    problems = Problems(file, content)
    shaped = check_shape(content, problems, PuzzleFile)
    problems.raise_if_any()
    assert shaped is not None
    return build(shaped, problems)


def variant_lines(base: str, variant: str, name: str) -> dict[str, Any]:
    """What to write for a variant: what the text of its file has other than that of the ``base``.

    Raises ``ValueError`` if it differs in something that no variant can say.
    """
    before, after = _parsed(base), _parsed(variant)
    gone = [one for section in PLACES for one in before.get(section, {}) if not _has(after, one)]
    line: dict[str, Any] = {"name": name} | ({"drop": gone} if gone else {})
    left = deepcopy(before)
    drop(left, gone)
    for section in MERGED:
        changes = dict(_changes(section, left.get(section, {}), after.get(section, {})))
        if changes:
            line[section] = changes
    _keep_notes(line, after.get("notes", {}))
    content = varied(before, line, (), Problems(name, before))
    wanted = _built(after, name)
    if _built(content, name) != replace(wanted, title=content["title"]):
        raise ValueError(f"the variant {name!r} differs from its file in more than a variant can say")
    return line


def _parsed(text: str) -> Document:
    return tomllib.loads(text, parse_float=Decimal)


def _has(document: Document, name: str) -> bool:
    return any(name in document.get(section, {}) for section in PLACES)


def _changes(section: str, before: Mapping[str, Any], after: Mapping[str, Any]) -> Iterator[tuple[str, Any]]:
    """The lines of a section that are new or not the same."""
    for name, line in after.items():
        old = before.get(name)
        if section not in PLACES or not isinstance(old, dict):
            if old != line:
                yield name, line
            continue
        change = {key: value for key, value in line.items() if old.get(key) != value}
        if "to" not in line and old.get("to", "bumper") != "bumper":
            change["to"] = "bumper"
        if "meets" not in line and old.get("meets"):
            change["meets"] = {}
        if change:
            yield name, change


def _keep_notes(line: dict[str, Any], notes: Mapping[str, str]) -> None:
    """What is said of pieces that change is to be said again."""
    changed = {name for section in MERGED for name in line.get(section, {})}
    kept = {name: note for name, note in notes.items() if name in changed}
    if kept:
        line["notes"] = {**line.get("notes", {}), **kept}
