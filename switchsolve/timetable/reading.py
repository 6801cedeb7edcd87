"""From a schedule back to who does what when."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from switchsolve.scheduling import Schedule
from switchsolve.timetable.names import piece
from switchsolve.timetable.sessionwork import SessionWork, Step, StepKind, TrainRun

__all__ = ["YARD", "Cleared", "Entry", "Timetable", "read"]

YARD = "yard"
"""The kind of an entry that is a task of the yard."""


@dataclass(frozen=True, slots=True)
class Entry:
    """Something that ``crew`` does from ``start`` to ``end`` (minutes).  ``kind``: of the step, or
    :data:`YARD`.  ``waits``: minutes of it in which it only waits."""

    task: str
    train: str
    kind: str
    where: str
    start: int
    end: int
    crew: str
    waits: int = 0


@dataclass(frozen=True, slots=True)
class Cleared:
    """The crew of ``train``, at work at ``place``, cleared the main for ``passing``: from ``start``,
    ``after`` so many moves of its plan, it made ``moves`` more, waited until the main was free at
    ``until``, and had come back by as many moves by ``end``."""

    train: str
    place: str
    passing: str
    moves: int
    start: int
    until: int
    end: int
    after: int = 0


@dataclass(frozen=True, slots=True)
class Timetable:
    """All entries in order of time.  ``parts``: start and end of each part of the work where trains pass."""

    entries: tuple[Entry, ...]
    cleared: tuple[Cleared, ...] = ()

    @property
    def minutes(self) -> int:
        """When all is over."""
        return max((entry.end for entry in self.entries), default=0)

    @property
    def clearing_moves(self) -> int:
        """Moves to clear the main and to come back; one clearing may serve several trains."""
        once = {(one.train, one.place, one.start): one.moves for one in self.cleared}
        return 2 * sum(once.values())

    def of_crew(self, crew: str) -> tuple[Entry, ...]:
        """What one crew does."""
        return tuple(entry for entry in self.entries if entry.crew == crew)

    def times(self) -> dict[str, tuple[int, int]]:
        """Start and end of each task by its name."""
        return {entry.task: (entry.start, entry.end) for entry in self.entries}


def read(work: SessionWork, schedule: Schedule) -> Timetable:
    """The timetable that a schedule of ``work`` says."""
    entries = [entry for train in work.trains for entry in _entries(train, schedule)]
    for step in work.yard_steps:
        start, end = schedule.starts[step.name], schedule.ends[step.name]
        crew = schedule.crews[step.name]
        entries.append(Entry(step.name, step.train, YARD, work.yard, start, end, crew))
    entries.sort(key=lambda entry: (entry.start, entry.end, entry.task))
    return Timetable(tuple(entries), tuple(_cleared(work, schedule)))


def _entries(train: TrainRun, schedule: Schedule) -> Iterator[Entry]:
    crew = schedule.crews[train.name]
    for step in train.steps:
        start, end = schedule.starts[step.name], schedule.ends[step.name]
        waits = end - start - step.minutes
        yield Entry(step.name, train.name, str(step.kind), step.where, start, end, crew, waits)


def _cleared(work: SessionWork, schedule: Schedule) -> Iterator[Cleared]:
    """Every train that passed between two parts of some work."""
    for train in work.trains:
        for step in train.steps:
            for other in work.trains:
                for passing in other.steps:
                    if step.pieces and passing.kind is StepKind.PASSING and passing.where == step.where:
                        yield from _between(train, step, other, passing, schedule)


def _between(
    train: TrainRun, step: Step, other: TrainRun, passing: Step, schedule: Schedule
) -> Iterator[Cleared]:
    start, end = schedule.starts[passing.name], schedule.ends[passing.name]
    for index, part in enumerate(step.pieces[:-1]):
        stops = schedule.ends[piece(step.name, index)]
        goes_on = schedule.starts[piece(step.name, index + 1)]
        if stops + part.clear <= start and end + part.clear <= goes_on:
            yield Cleared(train.name, step.where, other.name, part.moves, stops, end, goes_on, part.after)
            return
