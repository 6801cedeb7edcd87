"""What is to be scheduled, in names and whole numbers.

A **task** takes time and, while it lasts, some of the room of resources; when it starts or ends it may fill
or empty a reservoir.  A **duty** is a row of tasks done one after the other by one crew, which is busy from
the first start to the last end.  Times are whole, in one unit of the caller's (minutes), and begin at 0.  A
task that ends at a time is out of the way of one that starts then; what a reservoir gains and loses at one
time counts together.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field

__all__ = ["After", "Change", "Choice", "Duty", "Problem", "Reservoir", "Schedule", "Task", "Use"]


@dataclass(frozen=True, slots=True)
class Use:
    """So much of the room of ``resource``, as long as the task lasts."""

    resource: str
    amount: int = 1


@dataclass(frozen=True, slots=True)
class Change:
    """What a task does to ``reservoir`` when it starts (``at_start``) or ends: fills it (above 0), empties it
    (below)."""

    reservoir: str
    amount: int
    at_start: bool = True


@dataclass(frozen=True, slots=True)
class Task:
    """A piece of work that is not interrupted.

    ``duration``: at the least; it may last ``wait`` longer, with all that it uses (``None``: as long as need
    be).  ``earliest``: starts then or later; ``starts_at``: starts just then; ``latest``: has ended by then.
    """

    name: str
    duration: int
    wait: int | None = 0
    earliest: int = 0
    starts_at: int | None = None
    latest: int | None = None
    uses: tuple[Use, ...] = ()
    changes: tuple[Change, ...] = ()


@dataclass(frozen=True, slots=True)
class After:
    """The task ``later`` starts ``gap`` or more, and no more than ``most`` (``None``: any), after the end of
    ``sooner``."""

    sooner: str
    later: str
    gap: int = 0
    most: int | None = None


@dataclass(frozen=True, slots=True)
class Choice:
    """Of ``options`` one at least holds as a whole: all of its *afters*."""

    name: str
    options: tuple[tuple[After, ...], ...]


@dataclass(frozen=True, slots=True)
class Duty:
    """Tasks done in this order by one of ``crews``, which does nothing else from the first to the last."""

    name: str
    tasks: tuple[str, ...]
    crews: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Reservoir:
    """Something that fills and empties, such as a track with the lengths that stand on it.

    It holds ``level`` at the beginning, and never more than ``capacity`` nor less than 0.
    """

    name: str
    capacity: int
    level: int = 0


@dataclass(frozen=True, slots=True)
class Problem:
    """All of it.  ``resources``: the room of each; ``length``: all must have ended by then.

    Raises ``ValueError`` for what makes no sense: a name that is not known or not unique, a time or an amount
    below what it can be, a task in two duties.
    """

    tasks: tuple[Task, ...]
    after: tuple[After, ...] = ()
    resources: Mapping[str, int] = field(default_factory=dict)
    crews: tuple[str, ...] = ()
    duties: tuple[Duty, ...] = ()
    reservoirs: tuple[Reservoir, ...] = ()
    length: int | None = None
    choices: tuple[Choice, ...] = ()

    def __post_init__(self) -> None:
        _once("task", (task.name for task in self.tasks))
        _once("crew", self.crews)
        _once("duty", (duty.name for duty in self.duties))
        _once("choice", (choice.name for choice in self.choices))
        _once("reservoir", (reservoir.name for reservoir in self.reservoirs))
        _once("task in all duties together", (task for duty in self.duties for task in duty.tasks))
        self._check_names()
        self._check_numbers()

    def _check_names(self) -> None:
        tasks = {task.name for task in self.tasks}
        for after in self.every_after:
            _known(f"after {after.sooner}", (after.sooner, after.later), tasks)
        for choice in self.choices:
            if not choice.options:
                raise ValueError(f"choice {choice.name}: it needs an option at least")
        for duty in self.duties:
            _once(f"crew of duty {duty.name}", duty.crews)
            _known(f"duty {duty.name}", duty.tasks, tasks)
            _known(f"duty {duty.name}", duty.crews, set(self.crews))
            if not duty.tasks or not duty.crews:
                raise ValueError(f"duty {duty.name}: it needs a task and a crew at least")
        reservoirs = {reservoir.name for reservoir in self.reservoirs}
        for task in self.tasks:
            _known(f"task {task.name}", (use.resource for use in task.uses), set(self.resources))
            _known(f"task {task.name}", (change.reservoir for change in task.changes), reservoirs)

    def _check_numbers(self) -> None:
        for task in self.tasks:
            what = f"task {task.name}"
            _least(what, "duration", task.duration, 1)
            for key, value in (("wait", task.wait), ("earliest", task.earliest), ("latest", task.latest)):
                _least(what, key, value, 0)
            _least(what, "starts_at", task.starts_at, 0)
            for use in task.uses:
                _least(what, f"amount of {use.resource}", use.amount, 1)
        for after in self.every_after:
            _least(f"after {after.sooner}: {after.later}", "gap", after.gap, 0)
            _least(f"after {after.sooner}: {after.later}", "most", after.most, 0)
        for name, room in self.resources.items():
            _least(f"resource {name}", "room", room, 0)
        for reservoir in self.reservoirs:
            _least(f"reservoir {reservoir.name}", "capacity", reservoir.capacity, 0)
            _least(f"reservoir {reservoir.name}", "level", reservoir.level, 0)
        _least("the problem", "length", self.length, 0)

    @property
    def every_after(self) -> tuple[After, ...]:
        """Those that hold in any case, and those of choices."""
        chosen = (after for choice in self.choices for option in choice.options for after in option)
        return (*self.after, *chosen)

    @property
    def work(self) -> dict[str, int]:
        """For each duty the durations of its tasks, added up, waiting apart."""
        durations = {task.name: task.duration for task in self.tasks}
        return {duty.name: sum(durations[task] for task in duty.tasks) for duty in self.duties}


def _once(what: str, names: Iterable[str]) -> None:
    seen: set[str] = set()
    for name in names:
        if name in seen:
            raise ValueError(f"{name}: each {what} must be named once")
        seen.add(name)


def _known(what: str, names: Iterable[str], there: set[str]) -> None:
    for name in names:
        if name not in there:
            raise ValueError(f"{what}: there is no {name}")


def _least(what: str, key: str, value: int | None, least: int) -> None:
    if value is not None and value < least:
        raise ValueError(f"{what}: {key} is {value}; it must be {least} at least")


@dataclass(frozen=True, slots=True)
class Schedule:
    """When each task starts and ends, and which crew takes each duty."""

    starts: Mapping[str, int]
    ends: Mapping[str, int]
    crews: Mapping[str, str]

    @property
    def length(self) -> int:
        """When all has ended."""
        return max(self.ends.values(), default=0)

    def loads(self, problem: Problem) -> dict[str, int]:
        """For each crew the work of its duties."""
        work = problem.work
        return {
            crew: sum(work[duty] for duty, who in self.crews.items() if who == crew) for crew in problem.crews
        }
