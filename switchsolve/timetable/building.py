"""From the work of a session to a scheduling problem.

Each train is a duty of one crew, each task of the yard a duty of its own.  The work in a district lasts from
arrival to departure and uses the district and the aisle; where trains pass, its pieces are tasks within it,
and a passing train comes before it, after it, or between two pieces, with the minutes to clear.
"""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise

from switchsolve.scheduling import After, Change, Choice, Duty, Problem, Reservoir, Task, Use
from switchsolve.timetable.names import make_up, piece, put_away
from switchsolve.timetable.sessionwork import SessionWork, Step, StepKind, TrainRun

__all__ = ["LEAD", "NobodyCan", "problem_of"]

LEAD = "lead"
MAIN = "main"


class NobodyCan(ValueError):
    """No crew can take what is to be run."""


def problem_of(work: SessionWork, length: int | None = None) -> Problem:
    """The scheduling problem of a session; ``length``: minutes in which all must be over.

    Raises :class:`NobodyCan`.
    """
    return _Builder(work).problem(length)


class _Builder:
    def __init__(self, work: SessionWork) -> None:
        self._work = work
        self._standing_room = f"{work.yard} arrival and departure tracks"
        self._resources = {**work.links, **work.aisles}

    def problem(self, length: int | None) -> Problem:
        work = self._work
        tasks = [task for train in work.trains for task in self._tasks(train)]
        tasks += list(self._yard_tasks())
        after = [one for train in work.trains for one in _in_a_row(train)]
        after += list(self._causes())
        reservoirs = [Reservoir(name, *room) for name, room in work.tracks.items()]
        if work.yard_steps:
            reservoirs.append(Reservoir(self._standing_room, *work.room))
        return Problem(
            tuple(tasks),
            tuple(after),
            self._resources,
            work.crews,
            tuple(self._duties()),
            tuple(reservoirs),
            length,
            tuple(self._choices()),
        )

    def _tasks(self, train: TrainRun) -> Iterator[Task]:
        """The tasks of a train, with what they use, fill and empty."""
        last = len(train.steps) - 1
        for number, step in enumerate(train.steps):
            changes = list(self._changes(train, step, number == 0, number == last))
            may_wait = train.leaves is None and step.kind in (StepKind.STOP, StepKind.WORK)
            yield Task(
                step.name,
                step.minutes,
                wait=None if may_wait else 0,
                starts_at=train.leaves if number == 0 else None,
                uses=tuple(self._uses(step)),
                changes=tuple(changes),
            )
            for index, part in enumerate(step.pieces):
                yield Task(piece(step.name, index), part.minutes)

    def _changes(self, train: TrainRun, step: Step, is_first: bool, is_last: bool) -> Iterator[Change]:
        if is_first and train.from_track is not None:
            yield Change(train.from_track[0], -train.from_track[1])
        if is_last and train.to_track is not None:
            # the track must be free for it when it sets out for it
            yield Change(*train.to_track)
        takes = step.kind is StepKind.STOP or (is_first and train.stop is None)
        brings = step.kind is StepKind.STOP or (is_last and train.stop is None)
        if takes and train.cut_out:
            yield Change(self._standing_room, -train.cut_out, at_start=train.stop is None)
        if brings and train.cut_in:
            yield Change(self._standing_room, train.cut_in, at_start=False)

    def _uses(self, step: Step) -> Iterator[Use]:
        if step.kind is StepKind.RUN:
            yield Use(step.where)
            return
        name = step.where if step.kind is StepKind.WORK else f"{step.where} {MAIN}"
        self._resources.setdefault(name, 1)
        yield Use(name)
        aisle = self._work.aisle_of.get(step.where)
        if aisle is not None and step.kind is not StepKind.PASSING:
            yield Use(aisle)

    def _yard_tasks(self) -> Iterator[Task]:
        lead = f"{self._work.yard} {LEAD}"
        aisle = self._work.aisle_of.get(self._work.yard)
        uses = (Use(lead),) if aisle is None else (Use(lead), Use(aisle))
        if self._work.yard_steps:
            self._resources[lead] = 1
        for step in self._work.yard_steps:
            # a cut stands on the arrival track until it is taken, on the departure track once it is made up
            amount = step.length if step.is_make_up else -step.length
            change = Change(self._standing_room, amount, at_start=not step.is_make_up)
            yield Task(step.name, step.minutes, uses=uses, changes=(change,) if amount else ())

    def _causes(self) -> Iterator[After]:
        """The yard works in its order; a cut is there before it is taken or put away."""
        for sooner, later in pairwise(self._work.yard_steps):
            yield After(sooner.name, later.name)
        named = {step.name for step in self._work.yard_steps}
        for train in self._work.trains:
            brings = train.stop or train.steps[-1]
            if make_up(train.name) in named:
                yield _once_made_up(train)
            if put_away(train.name) in named:
                yield After(brings.name, put_away(train.name))

    def _duties(self) -> Iterator[Duty]:
        for train in self._work.trains:
            if not train.crews:
                raise NobodyCan(f"no crew can take {train.name}")
            yield Duty(train.name, tuple(step.name for step in train.steps), train.crews)
        for step in self._work.yard_steps:
            if not self._work.yard_crews:
                raise NobodyCan(f"no crew can work {self._work.yard}")
            yield Duty(step.name, (step.name,), self._work.yard_crews)

    def _choices(self) -> Iterator[Choice]:
        """Each passing train before the work, after it, or between two pieces of it."""
        steps = [(train, step) for train in self._work.trains for step in train.steps]
        for _, passing in steps:
            for train, work in steps:
                if passing.kind is StepKind.PASSING and _is_work_at(work, passing.where):
                    name = f"{train.name} is clear of the main at {work.where} for {passing.name}"
                    yield Choice(name, tuple(_ways(work, passing.name)))


def _once_made_up(train: TrainRun) -> After:
    """A local sets out once its cut is made up; a through train may wait for it at its stop, which then lasts
    its minutes from there on."""
    if train.stop is None:
        return After(make_up(train.name), train.steps[0].name)
    beyond = train.steps[train.steps.index(train.stop) + 1]
    return After(make_up(train.name), beyond.name, train.stop.minutes)


def _is_work_at(step: Step, place: str) -> bool:
    return step.kind is StepKind.WORK and step.where == place


def _ways(work: Step, passing: str) -> Iterator[tuple[After, ...]]:
    yield (After(passing, work.name),)
    yield (After(work.name, passing),)
    for index, part in enumerate(work.pieces[:-1]):
        before, behind = piece(work.name, index), piece(work.name, index + 1)
        yield After(before, passing, part.clear), After(passing, behind, part.clear)


def _in_a_row(train: TrainRun) -> Iterator[After]:
    """Each step right after the one before; the pieces of work within it, in order."""
    for sooner, later in pairwise(train.steps):
        yield After(sooner.name, later.name, most=0)
    for number, step in enumerate(train.steps):
        names = [piece(step.name, index) for index in range(len(step.pieces))]
        for first, second in pairwise(names):
            yield After(first, second)
        if names:
            yield After(train.steps[number - 1].name, names[0])
            yield After(names[-1], train.steps[number + 1].name)
