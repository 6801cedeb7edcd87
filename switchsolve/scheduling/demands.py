"""The demands of a problem, each of which can be left out: so that one can say which of them clash.

What is left when all are left out can always be scheduled: tasks that last, and duties done in order.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from switchsolve.scheduling.problem import After, Problem, Task

__all__ = ["Demand", "demands_of"]


@dataclass(frozen=True, slots=True)
class Demand:
    """One demand.  ``kind``, and ``name`` of what makes it, with its number where names are not unique.

    ======== ========================================================
    kind     what is demanded
    ======== ========================================================
    earliest the task starts not before its time
    start    the task starts at its time
    latest   the task has ended by its time
    after    one task comes after another (``index`` in ``after``)
    choice   one of several ways holds as a whole
    resource no more is used at once than there is room
    crew     the crew takes one duty at a time
    duty     the duty is taken by one of its crews
    stock    the reservoir is never less than empty: what leaves has come before
    level    the reservoir is never overfull
    length   all has ended by the length of the problem
    ======== ========================================================

    ``text`` says it in words.
    """

    kind: str
    name: str
    text: str
    index: int = 0

    def __str__(self) -> str:
        return self.text


def demands_of(problem: Problem) -> tuple[Demand, ...]:
    """Every demand, in a fixed order.  What often follows from the others comes first, for what comes first
    is left out first."""
    found = [
        Demand("stock", one.name, f"{one.name} holds no less than nothing") for one in problem.reservoirs
    ]
    found += [demand for task in problem.tasks for demand in _of_task(task)]
    for index, after in enumerate(problem.after):
        found.append(Demand("after", after.later, _after_text(after), index))
    found += [Demand("choice", choice.name, choice.name) for choice in problem.choices]
    for name, room in problem.resources.items():
        found.append(Demand("resource", name, f"{name} has room for {room} at once"))
    for crew in problem.crews:
        found.append(Demand("crew", crew, f"{crew} takes one duty at a time"))
    for duty in problem.duties:
        found.append(Demand("duty", duty.name, f"{duty.name} is taken by {' or '.join(duty.crews)}"))
    for reservoir in problem.reservoirs:
        text = f"{reservoir.name} holds {reservoir.capacity} at the most"
        found.append(Demand("level", reservoir.name, text))
    if problem.length is not None:
        found.append(Demand("length", "", f"all has ended by {problem.length}"))
    return tuple(found)


def _of_task(task: Task) -> Iterator[Demand]:
    if task.earliest:
        yield Demand("earliest", task.name, f"{task.name} starts at {task.earliest} or later")
    if task.starts_at is not None:
        yield Demand("start", task.name, f"{task.name} starts at {task.starts_at}")
    if task.latest is not None:
        yield Demand("latest", task.name, f"{task.name} has ended by {task.latest}")


def _after_text(after: After) -> str:
    if after.most is None and not after.gap:
        return f"{after.later} starts after {after.sooner} has ended"
    most = "" if after.most is None else f" and {after.most} or less"
    return f"{after.later} starts {after.gap} or more{most} after {after.sooner} has ended"
