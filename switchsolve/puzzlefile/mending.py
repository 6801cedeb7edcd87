"""A file with the places of bad shape taken out, so that the rest can be cross-checked all the same."""

from __future__ import annotations

from collections.abc import Mapping
from copy import deepcopy
from typing import Any

from pydantic import ValidationError

from switchsolve.puzzlefile.problems import Path
from switchsolve.puzzlefile.schema import PuzzleFile
from switchsolve.puzzlefile.values import TAG

__all__ = ["mend"]

_ROUNDS = 6


def mend(document: Mapping[str, object]) -> tuple[PuzzleFile, Mapping[str, object], list[Path]] | None:
    """What is left of ``document`` in good shape, as a file and as a document, and the paths taken out;
    ``None`` if nothing useful is left.
    """
    left: dict[str, Any] = deepcopy(dict(document))
    gone: list[Path] = []
    for _ in range(_ROUNDS):
        try:
            return PuzzleFile.model_validate(left), left, gone
        except ValidationError as error:
            for detail in error.errors(include_url=False):
                path = tuple(step for step in detail["loc"] if not str(step).startswith(TAG))
                if (path and path[-1] == "[key]") or detail["type"] == "missing":
                    path = path[:-1]
                if not path:
                    return None  # a part that no file can do without
                _take_out(left, path)
                gone.append(path)
    return None


def _take_out(document: dict[str, Any], path: Path) -> None:
    """Delete what is at ``path``, or the short form that stands in its place; an entry of a list by its
    whole list, so that numbers stay true.
    """
    here: Any = document
    for at, step in enumerate(path):
        inner = here.get(step) if isinstance(here, dict) else None
        if at == len(path) - 1 or not isinstance(inner, dict):
            if isinstance(here, dict):
                here.pop(step, None)
            return
        here = inner
