"""Questions put to the solver, by a process on each core; what is known is never asked again.

With a file of rows every proved answer is added to it as it comes.  Answers go by what is asked, not by who
asks: another design, or the same with other wishes, can go on from the same file.
"""

from __future__ import annotations

import time
from collections.abc import Callable, Sequence
from concurrent.futures import Executor, Future
from dataclasses import dataclass, field

from switchsolve.designing.answers import Answer
from switchsolve.designing.loosening import Ways
from switchsolve.designing.questions import Question, ask
from switchsolve.measuring.pieces import NO_PLAN, Minimum
from switchsolve.rowsfile import RowsFile

__all__ = ["QUESTION", "Asker", "TimeOver"]

QUESTION = {"rows": "answers of design", "version": 2}
"""The first line of a file of rows."""


class TimeOver(Exception):
    """The time for all questions together is over."""


@dataclass(slots=True)
class Asker:
    """``executor``: where questions are answered; ``end``: when there is no more time, by :func:`time.time`
    (``None``: never).  ``known``: what was put and answered.  What the file of rows holds becomes known only
    when it is put, so that a search which goes on takes the same way as before.
    """

    executor: Executor
    rows: RowsFile | None = None
    end: float | None = None
    tell: Callable[[str], None] | None = None
    asked: int = 0
    from_file: int = 0
    known: dict[str, Answer] = field(default_factory=dict)
    _kept: dict[str, Answer] = field(default_factory=dict)

    def read(self) -> None:
        """Take over what the file of rows holds.  Raises :class:`~switchsolve.rowsfile.RowsError`."""
        assert self.rows is not None
        for number, record in self.rows.records():
            try:
                key, answer = _answer_of(record)
            except (KeyError, TypeError):
                raise self.rows.refuse(number) from None
            self._kept[key] = answer

    def put(self, questions: Sequence[tuple[str, Question]], told: Callable[[], str]) -> None:
        """Have all ``questions`` answered, each with its key; ``told`` says how far it is.

        Raises :class:`TimeOver`.
        """
        self.check_time()
        waiting: dict[str, Future[Answer]] = {}
        for key, question in questions:
            if key in self._kept:
                self.known[key] = self._kept.pop(key)
                self.from_file += 1
            elif key not in self.known and key not in waiting:
                waiting[key] = self.executor.submit(ask, question, self.end)
        for key, future in waiting.items():
            answer = future.result()
            self.asked += 1
            self.known[key] = answer
            if self.rows is not None and answer.figure.is_proved:
                self.rows.add(_record_of(key, answer))
            if self.tell is not None:
                self.tell(told())
        self.check_time()

    def check_time(self) -> None:
        """Raise :class:`TimeOver` if there is no more time."""
        if self.end is not None and time.time() >= self.end:
            raise TimeOver


def _record_of(key: str, answer: Answer) -> dict[str, object]:
    figure = answer.figure.most
    record: dict[str, object] = {
        "key": key,
        "figure": None if figure == NO_PLAN else figure,
        "trips": answer.trips,
        "least_trips": answer.least_trips,
        "at_best": answer.at_best,
    }
    if answer.ways is not None:
        record["ways"] = [answer.ways.drawn, answer.ways.turned]
    return record


def _answer_of(record: dict[str, object]) -> tuple[str, Answer]:
    """A record as an answer.  Raises ``KeyError`` or ``TypeError`` if it is none."""
    names = ("key", "figure", "trips", "least_trips", "at_best")
    key, figure, trips, least_trips, at_best = (record[name] for name in names)
    numbers = [least_trips, *(number for number in (figure, trips, at_best) if number is not None)]
    if not isinstance(key, str) or not all(isinstance(number, int) for number in numbers):
        raise TypeError("this is no answer")
    value = NO_PLAN if figure is None else figure
    ways = _ways_of(record["ways"]) if "ways" in record else None
    return key, Answer(Minimum(value, value), trips, least_trips, at_best, ways)  # type: ignore[arg-type]


def _ways_of(record: object) -> Ways:
    """Raises ``TypeError`` if the record is none."""
    match record:
        case [list() as drawn, list() as turned] if all(isinstance(name, str) for name in drawn + turned):
            return Ways(tuple(drawn), tuple(turned))
    raise TypeError("this is no answer")
