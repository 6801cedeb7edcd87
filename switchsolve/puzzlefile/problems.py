"""Everything wrong with one file, collected while it is read."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping
from decimal import Decimal
from difflib import get_close_matches

from switchsolve.errors import FileError, Problem
from switchsolve.puzzlefile.tomltext import dotted, shortened, value_text

__all__ = ["Path", "Problems", "suggestion"]

Path = tuple[str | int, ...]
"""Keys and list indexes (from 0) that lead to a place in the file."""

_NOTHING = object()

_TOLD = {"work", "standards", "times", "traffic", "design", "drawing", "stated", "notes"}
_ROLLING = {"kinds", "cars", "locomotives", "start", "fixed", *_TOLD}
_LACKS = {
    "nothing is linked": _ROLLING,
    "meets nothing": _ROLLING,
    "stands nowhere": {"tracks", "turnouts", *_TOLD},
    "nothing is left open": {"tracks", "turnouts", *_ROLLING} - {"design"},
}
"""Of a puzzle file: words of problems that may come from what was taken out, unless only of these tables."""


class Problems:
    """The problems of the file ``file``, whose whole content is ``document``."""

    def __init__(self, file: str, document: Mapping[str, object]) -> None:
        self.file = file
        self._document = document
        self._found: list[tuple[Path, Problem]] = []

    def add(self, path: Path, what: str, cure: str, value: str | None = None) -> None:
        """Note one problem at ``path``; ``value`` is what the file has there, unless given."""
        path = self._nearest(path)
        if value is None:
            there = self._look_up(path)
            value = "" if there is _NOTHING else shortened(value_text(there))
        self._found.append((path, Problem(self.file, dotted(path), value, what, cure)))

    def absorb(
        self, others: Problems, gone: Iterable[Path], lacks_of: Mapping[str, Collection[str]] = _LACKS
    ) -> None:
        """Note the problems of ``others`` too, but those that may come from what was taken ``gone``.

        ``lacks_of``: words of problems that may come from that, unless it is of these tables alone.
        """
        lost = list(gone)
        if any(len(path) == 1 for path in lost):
            return  # a whole table, or a measure that all others go by
        tables = {str(path[0]) for path in lost}
        names = {str(path[2] if path[0] == "work" and len(path) > 2 else path[1]) for path in lost}
        for path, problem in others._found:
            text = " ".join((problem.key, problem.value, problem.what))
            told = (beyond for words, beyond in lacks_of.items() if words in problem.what)
            lacks = any(tables.difference(beyond) for beyond in told)
            if not (lacks or any(name in text for name in names)):
                self._found.append((path, problem))

    def raise_if_any(self) -> None:
        """Raise all that was found, in the order of the file, as one ``FileError``."""
        if self._found:
            raise FileError(list(dict.fromkeys(self.found())))

    def found(self) -> list[Problem]:
        """All that was found so far, in the order of the file."""
        order = _order(self._document)
        return [problem for _, problem in sorted(self._found, key=lambda found: _rank(found[0], order))]

    def _nearest(self, path: Path) -> Path:
        """``path``, or where a short form stands in its place."""
        while path and isinstance(self._look_up(path[:-1]), str | bool | int | float | Decimal):
            path = path[:-1]
        return path

    def _look_up(self, path: Path) -> object:
        """What the file has at ``path``."""
        here: object = self._document
        for step in path:
            here = _inside(here, step)
        return here


def _inside(here: object, step: str | int) -> object:
    """What a table or list has under ``step``."""
    if isinstance(here, Mapping):
        return here.get(step, _NOTHING)
    if isinstance(here, list) and isinstance(step, int) and step < len(here):
        return here[step]
    return _NOTHING


def _order(document: Mapping[str, object]) -> dict[Path, int]:
    """The rank of every place in the file, as it is read from top to bottom."""
    order: dict[Path, int] = {}
    waiting: list[tuple[Path, object]] = [((), document)]
    while waiting:
        path, here = waiting.pop()
        order[path] = len(order)
        inside: list[tuple[Path, object]] = []
        if isinstance(here, Mapping):
            inside = [((*path, key), value) for key, value in here.items()]
        elif isinstance(here, list):
            inside = [((*path, index), value) for index, value in enumerate(here)]
        waiting.extend(reversed(inside))
    return order


def _rank(path: Path, order: Mapping[Path, int]) -> int:
    """Where a problem stands among the others: at its place, or at the nearest place around it."""
    while path not in order:
        path = path[:-1]
    return order[path]


def suggestion(word: str, known: Iterable[str], otherwise: str) -> str:
    """A cure for a name that is not known: the nearest known one, else ``otherwise``."""
    near = get_close_matches(word, list(known), 1, 0.7)
    return f"did you mean {value_text(near[0])}?" if near else otherwise
