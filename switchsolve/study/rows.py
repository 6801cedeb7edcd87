"""The rows of a study, one for each session, and the file that they go to as they come.

The file is JSON, one object in a line.  The first line says what was asked; a study with the same question
goes on where the file ends.  A line that was cut off in the middle (the program was killed) is taken off.
"""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping
from dataclasses import asdict, dataclass, fields
from pathlib import Path
from typing import Any

from switchsolve.errors import SwitchsolveError
from switchsolve.plan import Verdict
from switchsolve.study.answering import Outcome
from switchsolve.traffic import Session

__all__ = ["Row", "RowsError", "RowsFile", "row_of"]


class RowsError(SwitchsolveError):
    """A file of rows cannot be used; the message names the file and the cure."""


@dataclass(frozen=True, slots=True)
class Row:
    """One session: what was drawn (see :class:`~switchsolve.traffic.Session`) and what came out (see
    :class:`~switchsolve.study.Outcome`).
    """

    season: int
    session: int
    arrived: tuple[str, ...]
    picked_up: tuple[str, ...]
    rolled_over: tuple[str, ...]
    waiting: tuple[str, ...]
    turned_away: int
    verdict: Verdict
    moves: int | None
    bound: int | None
    couplings: int | None
    cuts: int | None
    left_over: tuple[str, ...]
    is_most: bool
    crew_moves: int | None
    least_seconds: int | None
    most_seconds: int | None

    @property
    def outcome(self) -> Outcome:
        """What came out."""
        return Outcome(**{field.name: getattr(self, field.name) for field in fields(Outcome)})


def row_of(session: Session, outcome: Outcome) -> Row:
    """The row of a session with its outcome; cars in both by the same names."""
    return Row(
        session.season,
        session.number,
        session.arrived,
        session.picked_up,
        session.rolled_over,
        session.waiting,
        session.turned_away,
        **{field.name: getattr(outcome, field.name) for field in fields(Outcome)},
    )


class RowsFile:
    """The file at ``path``, made if it is not there.  ``question``: what the rows depend on.

    Raises :class:`RowsError` if it cannot be read or written, or holds the rows of another study.
    """

    def __init__(self, path: str | Path, question: Mapping[str, object]) -> None:
        self._path = Path(path)
        head = (json.dumps(question, ensure_ascii=False) + "\n").encode()
        try:
            self._mend(head, json.loads(head))
            self._file = self._path.open("ab")
        except OSError as error:
            why = (error.strerror or str(error)).lower()
            raise RowsError(f"{path}: it cannot be read and written ({why}); name another file") from None

    def _mend(self, head: bytes, question: object) -> None:
        """Check the first line, and take off what is not a whole line."""
        data = self._path.read_bytes() if self._path.exists() else b""
        whole = data[: data.rfind(b"\n") + 1]
        if not whole and not head.startswith(data):
            raise RowsError(f"{self._path}: this is no file of rows; name another file")
        if whole and _parsed(self._path, 1, whole.split(b"\n", 1)[0]) != question:
            cure = "name another file, or ask the same again"
            raise RowsError(f"{self._path}: its rows are those of another study; {cure}")
        if not whole:
            self._path.write_bytes(head)
        elif whole != data:
            with self._path.open("r+b") as file:
                file.truncate(len(whole))

    def read(self) -> Iterator[Row]:
        """The rows that are there.  Raises :class:`RowsError` for a line that is none."""
        with self._path.open("rb") as file:
            for number, line in enumerate(file, 1):
                if number > 1:
                    yield _row(self._path, number, line)

    def write(self, row: Row) -> None:
        """Add a row; once this returns, it is not lost if the program is killed."""
        self._file.write((json.dumps(asdict(row), ensure_ascii=False) + "\n").encode())
        self._file.flush()

    def close(self) -> None:
        """Close the file."""
        self._file.close()


def _parsed(path: Path, number: int, line: bytes) -> Any:
    try:
        return json.loads(line)
    except ValueError:
        raise RowsError(f"{path}: line {number} is no row of a study; name another file") from None


def _row(path: Path, number: int, line: bytes) -> Row:
    """A line as a row."""
    found = _parsed(path, number, line)
    try:
        values = {field.name: found[field.name] for field in fields(Row)}
        values |= {key: tuple(value) for key, value in values.items() if isinstance(value, list)}
        return Row(**values | {"verdict": Verdict(values["verdict"])})
    except (KeyError, TypeError, ValueError):
        raise RowsError(f"{path}: line {number} is no row of a study; name another file") from None
