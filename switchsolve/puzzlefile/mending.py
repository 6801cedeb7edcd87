"""A file with the places of bad shape taken out, so that the rest can be cross-checked all the same."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from copy import deepcopy
from typing import Any, TypeVar

from pydantic import BaseModel, ValidationError

from switchsolve.puzzlefile.problems import Path
from switchsolve.puzzlefile.values import TAG

__all__ = ["mend"]

Shape = TypeVar("Shape", bound=BaseModel)

_ROUNDS = 6


def _nothing(_: Path) -> None:
    return None


def mend(
    document: Mapping[str, object], model: type[Shape], stand_in: Callable[[Path], object] = _nothing
) -> tuple[Shape, Mapping[str, object], list[Path]] | None:
    """What is left of ``document`` in good shape, as a file of this ``model`` and as a document, and the
    paths taken out; ``None`` if nothing useful is left.

    ``stand_in``: what may stand at a path instead of a value that is bad or missing, without which more
    would have to go; such a path is not among those taken out.
    """
    left: dict[str, Any] = deepcopy(dict(document))
    gone: list[Path] = []
    for _ in range(_ROUNDS):
        try:
            return model.model_validate(left), left, gone
        except ValidationError as error:
            for detail in error.errors(include_url=False):
                path = tuple(step for step in detail["loc"] if not str(step).startswith(TAG))
                instead = stand_in(path)
                if instead is not None:
                    _put_in(left, path, instead)
                    continue
                if (path and path[-1] == "[key]") or detail["type"] == "missing":
                    path = path[:-1]
                if not path:
                    return None  # a part that no file can do without
                _take_out(left, path)
                if detail["type"] != "extra_forbidden":  # what is not known is missed by nobody
                    gone.append(path)
    return None


def _put_in(document: dict[str, Any], path: Path, value: object) -> None:
    """Have ``value`` at ``path``; what is around it is there."""
    here: Any = document
    for step in path[:-1]:
        here = here[step]
    here[path[-1]] = value


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
