"""Waits that no schedule needs: what follows can be done as soon as the task before it is over."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator

from switchsolve.scheduling.problem import After, Duty, Problem, Task

__all__ = ["needless_waits"]


def needless_waits(problem: Problem) -> frozenset[str]:
    """The tasks that need not last longer than their duration.

    Such a task has after it, to the end of its duty, only tasks that follow at a fixed distance, that no
    time, reservoir or other order holds on to, and that use what nobody else uses.  In any schedule in which
    it waits, let it end when its work is done, and what follows come earlier by as much: nothing forbids
    that, nothing ends later, and the crew is free sooner.
    """
    found: set[str] = set()
    asked = _Asked(problem)
    for duty in problem.duties:
        found.update(asked.of_duty(duty))
    return frozenset(found)


class _Asked:
    """What a problem asks of its tasks, by name."""

    def __init__(self, problem: Problem) -> None:
        self._tasks = {task.name: task for task in problem.tasks}
        self._glued = {(after.sooner, after.later) for after in problem.after if after.most == after.gap}
        self._links = Counter((after.sooner, after.later) for after in problem.every_after)
        self._held = _held(problem.every_after)
        users: dict[str, set[str]] = {}
        of = {task: duty.name for duty in problem.duties for task in duty.tasks}
        for task in problem.tasks:
            for use in task.uses:
                users.setdefault(use.resource, set()).add(of.get(task.name, ""))
        self._contested = {name for name, duties in users.items() if len(duties) > 1 or "" in duties}

    def of_duty(self, duty: Duty) -> Iterator[str]:
        """From the last task backwards, as long as what follows can come earlier."""
        following: str | None = None
        for name in reversed(duty.tasks):
            if following is not None and not self._is_glued(name, following):
                return
            task = self._tasks[name]
            held = self._held.get(name, set()) - {following}
            if not held and all(change.at_start for change in task.changes):
                yield name
            if not self._can_come_earlier(task, held):
                return
            following = name

    def _is_glued(self, sooner: str, later: str) -> bool:
        return (sooner, later) in self._glued and self._links[sooner, later] == 1

    def _can_come_earlier(self, task: Task, held: set[str]) -> bool:
        """But for what it is glued to: asked only of tasks that have one before them, in the end."""
        return (
            not held
            and not task.changes
            and not task.earliest
            and task.starts_at is None
            and not any(use.resource in self._contested for use in task.uses)
            and sum(count for (_, later), count in self._links.items() if later == task.name) <= 1
        )


def _held(afters: tuple[After, ...]) -> dict[str, set[str]]:
    """For each task those that must start within some time of its end."""
    held: dict[str, set[str]] = {}
    for after in afters:
        if after.most is not None:
            held.setdefault(after.sooner, set()).add(after.later)
    return held
