"""Is a schedule one?  Asked without any of the code that makes schedules.

Everything that is wrong is told, each with its kind, so that a caller, and a test, can tell what was found.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import pairwise

from switchsolve.scheduling.problem import Problem, Schedule

__all__ = ["Fault", "faults"]


@dataclass(frozen=True, slots=True)
class Fault:
    """One thing that is wrong.

    ``kind`` is one of ``missing``, ``unknown``, ``time``, ``duration``, ``window``, ``after``, ``choice``,
    ``resource``, ``crew``, ``order``, ``reservoir``, ``length``.
    """

    kind: str
    what: str


def faults(problem: Problem, schedule: Schedule) -> tuple[Fault, ...]:
    """Everything that is wrong with ``schedule``; nothing: it is one for ``problem``."""
    incomplete = tuple(_incomplete(problem, schedule))
    if incomplete:
        return incomplete  # what is not there cannot be looked at
    return (
        *_times(problem, schedule),
        *_after(problem, schedule),
        *_choices(problem, schedule),
        *_resources(problem, schedule),
        *_reservoirs(problem, schedule),
        *_duties(problem, schedule),
    )


def _incomplete(problem: Problem, schedule: Schedule) -> Iterator[Fault]:
    for what, wanted, there in (
        ("start", {task.name for task in problem.tasks}, set(schedule.starts)),
        ("end", {task.name for task in problem.tasks}, set(schedule.ends)),
        ("crew", {duty.name for duty in problem.duties}, set(schedule.crews)),
    ):
        for name in sorted(wanted - there):
            yield Fault("missing", f"{name} has no {what}")
        for name in sorted(there - wanted):
            yield Fault("unknown", f"{name}, with a {what}, is not to be scheduled")


def _times(problem: Problem, schedule: Schedule) -> Iterator[Fault]:
    for task in problem.tasks:
        start, end = schedule.starts[task.name], schedule.ends[task.name]
        told = f"{task.name}, from {start} to {end},"
        if start < 0:
            yield Fault("time", f"{told} starts before the beginning")
        if end - start < task.duration:
            yield Fault("duration", f"{told} lasts less than {task.duration}")
        if task.wait is not None and end - start > task.duration + task.wait:
            yield Fault("duration", f"{told} lasts more than {task.duration + task.wait}")
        if start < task.earliest:
            yield Fault("window", f"{told} starts before {task.earliest}")
        if task.starts_at is not None and start != task.starts_at:
            yield Fault("window", f"{told} does not start at {task.starts_at}")
        if task.latest is not None and end > task.latest:
            yield Fault("window", f"{told} has not ended by {task.latest}")
        if problem.length is not None and end > problem.length:
            yield Fault("length", f"{told} ends after {problem.length}")


def _after(problem: Problem, schedule: Schedule) -> Iterator[Fault]:
    for after in problem.after:
        between = schedule.starts[after.later] - schedule.ends[after.sooner]
        if between < after.gap or (after.most is not None and between > after.most):
            yield Fault("after", f"{after.later} starts {between} after the end of {after.sooner}")


def _choices(problem: Problem, schedule: Schedule) -> Iterator[Fault]:
    for choice in problem.choices:
        for option in choice.options:
            between = [(one, schedule.starts[one.later] - schedule.ends[one.sooner]) for one in option]
            if all(one.gap <= apart and (one.most is None or apart <= one.most) for one, apart in between):
                break
        else:
            yield Fault("choice", f"none of the ways holds of: {choice.name}")


def _resources(problem: Problem, schedule: Schedule) -> Iterator[Fault]:
    for name, room in problem.resources.items():
        uses = [(task.name, use) for task in problem.tasks for use in task.uses]
        users = [(task, use.amount) for task, use in uses if use.resource == name]
        # the most is in use when some task has just started
        for moment in sorted({schedule.starts[task] for task, _ in users}):
            now = [
                (task, amount)
                for task, amount in users
                if schedule.starts[task] <= moment < schedule.ends[task]
            ]
            used = sum(amount for _, amount in now)
            if used > room:
                names = ", ".join(task for task, _ in now)
                yield Fault("resource", f"{name} has room for {room}; at {moment} {names} use {used}")


def _reservoirs(problem: Problem, schedule: Schedule) -> Iterator[Fault]:
    for reservoir in problem.reservoirs:
        gained: dict[int, int] = defaultdict(int)
        for task in problem.tasks:
            for change in task.changes:
                if change.reservoir == reservoir.name:
                    times = schedule.starts if change.at_start else schedule.ends
                    gained[times[task.name]] += change.amount
        level = reservoir.level
        if level > reservoir.capacity:
            yield Fault("reservoir", f"{reservoir.name} holds {level} at the beginning")
        for moment in sorted(gained):
            level += gained[moment]
            if not 0 <= level <= reservoir.capacity:
                yield Fault("reservoir", f"{reservoir.name} holds {level} at {moment}")


def _duties(problem: Problem, schedule: Schedule) -> Iterator[Fault]:
    busy: dict[str, list[tuple[int, int, str]]] = defaultdict(list)
    for duty in problem.duties:
        crew = schedule.crews[duty.name]
        if crew not in duty.crews:
            yield Fault("crew", f"{duty.name} may not be taken by {crew}")
        for sooner, later in pairwise(duty.tasks):
            if schedule.starts[later] < schedule.ends[sooner]:
                yield Fault("order", f"{duty.name}: {later} starts before {sooner} has ended")
        first, last = duty.tasks[0], duty.tasks[-1]
        busy[crew].append((schedule.starts[first], schedule.ends[last], duty.name))
    for crew, rows in busy.items():
        for place, (start, end, name) in enumerate(rows):
            for other_start, other_end, other in rows[place + 1 :]:
                if start < other_end and other_start < end:
                    yield Fault("crew", f"{crew} takes {name} and {other} at once")
