"""Schedules by brute force: every start, every end and every crew, looked at minute by minute.

Shares no code with :mod:`switchsolve.scheduling` but the plain data of a problem.
"""

from __future__ import annotations

from collections.abc import Iterator
from itertools import product

from switchsolve.scheduling import After, Problem

Times = dict[str, tuple[int, int]]


def best(problem: Problem, most: int) -> tuple[int, int] | None:
    """The least length and, for it, the least sum of squared loads; ``None``: none that ends by ``most``."""
    found = None
    for times in _all_times(problem, most):
        length = max(end for _, end in times.values())
        if (found is not None and length > found[0]) or not _is_kept(problem, times, most):
            continue
        for chosen in product(*(duty.crews for duty in problem.duties)):
            if _crews_can(problem, times, chosen):
                found = min(found or (length, 10**9), (length, _squares(problem, chosen)))
    return found


def _all_times(problem: Problem, most: int) -> Iterator[Times]:
    """All combinations of times of single tasks that keep to their own demands."""
    choices = []
    for task in problem.tasks:
        waits = range((most if task.wait is None else task.wait) + 1)
        last = most if task.latest is None else min(most, task.latest)
        last = last if problem.length is None else min(last, problem.length)
        starts = range(task.earliest, most) if task.starts_at is None else [task.starts_at]
        rows = [(start, start + task.duration + wait) for start in starts for wait in waits]
        choices.append([(start, end) for start, end in rows if end <= last and start >= task.earliest])
    for row in product(*choices):
        yield {task.name: times for task, times in zip(problem.tasks, row, strict=True)}


def _is_after(after: After, times: Times) -> bool:
    between = times[after.later][0] - times[after.sooner][1]
    return between >= after.gap and (after.most is None or between <= after.most)


def _is_kept(problem: Problem, times: Times, most: int) -> bool:
    if not all(_is_after(after, times) for after in problem.after):
        return False
    for choice in problem.choices:
        if not any(all(_is_after(after, times) for after in option) for option in choice.options):
            return False
    for minute in range(most + 1):
        at_work = [task for task in problem.tasks if times[task.name][0] <= minute < times[task.name][1]]
        for name, room in problem.resources.items():
            if sum(use.amount for task in at_work for use in task.uses if use.resource == name) > room:
                return False
        for reservoir in problem.reservoirs:
            level = reservoir.level + sum(
                change.amount
                for task in problem.tasks
                for change in task.changes
                if change.reservoir == reservoir.name and times[task.name][not change.at_start] <= minute
            )
            if not 0 <= level <= reservoir.capacity:
                return False
    return all(
        times[sooner][1] <= times[later][0]
        for duty in problem.duties
        for place, sooner in enumerate(duty.tasks)
        for later in duty.tasks[place + 1 :]
    )


def _crews_can(problem: Problem, times: Times, chosen: tuple[str, ...]) -> bool:
    """No crew has two duties in one minute."""
    taken = set()
    for duty, crew in zip(problem.duties, chosen, strict=True):
        for minute in range(times[duty.tasks[0]][0], times[duty.tasks[-1]][1]):
            if (crew, minute) in taken:
                return False
            taken.add((crew, minute))
    return True


def _squares(problem: Problem, chosen: tuple[str, ...]) -> int:
    durations = {task.name: task.duration for task in problem.tasks}
    loads = dict.fromkeys(problem.crews, 0)
    for duty, crew in zip(problem.duties, chosen, strict=True):
        loads[crew] += sum(durations[task] for task in duty.tasks)
    return sum(load**2 for load in loads.values())
