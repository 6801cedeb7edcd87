"""The rows of a study, one for each session, and the file that they go to as they come."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import asdict, dataclass, fields
from pathlib import Path
from typing import Any

from switchsolve.plan import Verdict
from switchsolve.rowsfile import RowsError, RowsFile
from switchsolve.study.answering import Outcome
from switchsolve.traffic import Session

__all__ = ["Row", "RowsError", "StudyRows", "row_of"]


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
    trips: int | None = None
    shuttles: int | None = None
    light_share: float | None = None
    longest_spell: int | None = None
    forced: int | None = None

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


class StudyRows(RowsFile):
    """A file of the rows of a study."""

    def __init__(self, path: str | Path, question: Mapping[str, object]) -> None:
        super().__init__(path, question, "study")

    def read(self) -> Iterator[Row]:
        """The rows that are there.  Raises :class:`RowsError` for a line that is none."""
        for number, record in self.records():
            row = _row(record)
            if row is None:
                raise self.refuse(number)
            yield row

    def write(self, row: Row) -> None:
        """Add a row; once this returns, it is not lost if the program is killed."""
        self.add(asdict(row))


def _row(found: Any) -> Row | None:
    """A record as a row; ``None`` if it is none."""
    try:
        # a file of an earlier release has no forced moves: they are then not told
        values = {field.name: found[field.name] for field in fields(Row) if field.name != "forced"}
        values["forced"] = found.get("forced")
        values |= {key: tuple(value) for key, value in values.items() if isinstance(value, list)}
        return Row(**values | {"verdict": Verdict(values["verdict"])})
    except (KeyError, TypeError, ValueError):
        return None
