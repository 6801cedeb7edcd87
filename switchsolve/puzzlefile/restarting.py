"""A puzzle that starts otherwise: the lines of ``[start]`` typed anew, all else as it is."""

from __future__ import annotations

from typing import Any

from switchsolve.errors import FileError, Problem
from switchsolve.puzzle import Puzzle
from switchsolve.puzzlefile.reader import parsed, read_document
from switchsolve.puzzlefile.tomltext import dotted, shortened, value_text
from switchsolve.puzzlefile.writer import dumps
from switchsolve.work import DoNotTouch

__all__ = ["restarted", "start_text"]


def restarted(puzzle: Puzzle, text: str, name: str) -> Puzzle:
    """``puzzle`` with the strings of ``text``, which holds lines of ``[start]`` with or without that heading.

    Exact places are kept of do-not-touch cars only.  ``name`` stands for the text in messages.  Raises
    :class:`~switchsolve.errors.FileError` with all problems, ``ValueError`` for a puzzle that no file can
    hold.
    """
    typed = _only_start(parsed(text, name), name)
    document = parsed(dumps(puzzle), name)
    untouched = {item.car for item in puzzle.work.items if isinstance(item, DoNotTouch)}
    document["start"] = typed
    document["fixed"] = {car: at for car, at in document.get("fixed", {}).items() if car in untouched}
    return read_document(document, name)


def _only_start(document: dict[str, Any], name: str) -> dict[str, Any]:
    """The lines of ``[start]``; raises ``FileError`` if there is anything else."""
    lines = document.get("start")
    if not isinstance(lines, dict):
        lines = {}
    others = {key: value for key, value in document.items() if not (key == "start" and lines)}
    strange = [key for key, value in others.items() if isinstance(value, dict) or lines]
    if strange:
        raise FileError(
            [
                Problem(
                    name,
                    dotted((key,)),
                    shortened(value_text(others[key])),
                    "only the lines of [start] may stand here",
                    "take it out",
                )
                for key in strange
            ]
        )
    return lines or others


def start_text(puzzle: Puzzle) -> str:
    """The lines of ``[start]`` as a file has them."""
    document = dumps(puzzle)
    after = document.partition("\n[start]\n")[2]
    return after.partition("\n\n")[0].strip() + "\n"
