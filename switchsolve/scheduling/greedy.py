"""A schedule made in one go, row by row, as a start for the search.  Nothing is claimed of it.

A row is a duty, or a task that no duty has.  Rows with a fixed time come first, then those with the most
work, each as early as what is placed already lets it.  Times by which things must have ended are not looked
at, and no task waits.  The same is done again some times with the order of rows shaken, and the shortest is
kept.
"""

from __future__ import annotations

import random
from collections import defaultdict
from collections.abc import Callable
from dataclasses import dataclass, field

from switchsolve.scheduling.problem import After, Problem, Schedule, Task

__all__ = ["greedy_schedule"]

_MOST_TRIES = 20_000
"""A schedule that takes more looks at a row than this is left to the search."""
_SHAKEN = 60
_SHAKE = 0.4
"""By how much a row may seem to have more or less work than it has."""

_Times = dict[str, tuple[int, int]]


@dataclass(frozen=True, slots=True)
class _Row:
    name: str
    tasks: tuple[Task, ...]
    crews: tuple[str, ...]

    def rank(self, chance: random.Random, shake: float) -> tuple[int, int, float]:
        """What comes first, low to high."""
        fixed = min((task.starts_at for task in self.tasks if task.starts_at is not None), default=None)
        work = sum(task.duration for task in self.tasks) * (1 + shake * (chance.random() - 0.5))
        return fixed is None, fixed or 0, -work


def greedy_schedule(
    problem: Problem, end: int, seed: int = 0, is_over: Callable[[], bool] = lambda: False
) -> Schedule | None:
    """A schedule in which nothing starts after ``end``; ``None``: this simple way finds none.

    ``is_over`` is asked after each trial whether that is enough.
    """
    chance, best = random.Random(seed), None
    for trial in range(_SHAKEN):
        shake = _SHAKE if trial else 0.0
        ranks = {row: row.rank(chance, shake) for row in _rows(problem)}
        made = _made(problem, end, sorted(ranks, key=ranks.__getitem__))
        if made is not None and (best is None or made.length < best.length):
            best = made
        if is_over() or (best is None and trial > 1):
            break
    return best


def _made(problem: Problem, end: int, rows: list[_Row]) -> Schedule | None:
    """The schedule when rows are placed in this order, as far as what must come before allows it."""
    board = _Board(problem, end)
    while rows:
        row = next((row for row in rows if board.is_ready(row)), None)
        if row is None or not board.place(row):
            return None
        rows.remove(row)
    starts = {name: start for name, (start, _) in board.times.items()}
    return Schedule(starts, {name: last for name, (_, last) in board.times.items()}, board.crews)


def _rows(problem: Problem) -> list[_Row]:
    tasks = {task.name: task for task in problem.tasks}
    rows = []
    for duty in problem.duties:
        rows.append(_Row(duty.name, tuple(tasks.pop(name) for name in duty.tasks), duty.crews))
    return rows + [_Row("", (task,), ()) for task in tasks.values()]


@dataclass(slots=True)
class _Board:
    """What is placed so far."""

    problem: Problem
    end: int
    times: _Times = field(default_factory=dict)
    crews: dict[str, str] = field(default_factory=dict)
    busy: dict[str, list[tuple[int, int]]] = field(default_factory=lambda: defaultdict(list))
    used: dict[str, list[tuple[int, int, int]]] = field(default_factory=lambda: defaultdict(list))
    tries: int = 0

    def is_ready(self, row: _Row) -> bool:
        """Whether all that other rows must have done before is placed."""
        own = {task.name for task in row.tasks}
        return all(
            after.sooner in own or after.sooner in self.times
            for after in self.problem.after
            if after.later in own
        )

    def place(self, row: _Row) -> bool:
        """Place the row as early as it goes."""
        start, first, last = 0, row.tasks[0].name, row.tasks[-1].name
        while start <= self.end and self.tries < _MOST_TRIES:
            self.tries += 1
            start = self._first_crew(row, start)
            times = self._from(row, start)
            if times is not None and times[first][0] > start:
                start = times[first][0]
                continue
            # as late as it still ends then: a crew that need not wait can do something before
            while times is not None and row.crews:
                later = self._from(row, start + 1)
                if later is None or later[last] != times[last]:
                    break
                start, times = later[first][0], later
            if times is not None and self._take(row, times):
                return True
            start += 1
        return False

    def _take(self, row: _Row, times: _Times) -> bool:
        """Place the row so, if a crew is free and the reservoirs have room."""
        span = times[row.tasks[0].name][0], times[row.tasks[-1].name][1]
        crew = next((crew for crew in row.crews if self._is_free(crew, span)), None)
        if (crew is None and row.crews) or not self._has_room(times):
            return False
        self.times |= times
        for task in row.tasks:
            for use in task.uses:
                self.used[use.resource].append((*times[task.name], use.amount))
        if crew is not None:
            self.crews[row.name] = crew
            self.busy[crew].append(span)
        return True

    def _first_crew(self, row: _Row, start: int) -> int:
        """The first time from ``start`` on at which some crew has time for the work of the row."""
        work, firsts = sum(task.duration for task in row.tasks), []
        for crew in row.crews:
            first = start
            for begins, ends in sorted(self.busy[crew]):
                if begins < first + work and first < ends:
                    first = ends
            firsts.append(first)
        return min(firsts, default=start)

    def _is_free(self, crew: str, span: tuple[int, int]) -> bool:
        return all(span[1] <= start or end <= span[0] for start, end in self.busy[crew])

    def _from(self, row: _Row, start: int) -> _Times | None:
        """The times of the row's tasks from ``start`` on, each as early as it goes; ``None``: not so."""
        times: _Times = {}
        for task in row.tasks:
            befores = [after for after in self.problem.after if after.later == task.name]
            start = max(start, task.earliest, *(self._end_of(one, times) + one.gap for one in befores), 0)
            if task.starts_at is not None:
                if start > task.starts_at:
                    return None
                start = task.starts_at
            start = self._first_room(task, start)
            for after in befores:
                if after.most is not None and start > self._end_of(after, times) + after.most:
                    return None
            times[task.name] = start, start + task.duration
            start += task.duration
        return times

    def _end_of(self, after: After, times: _Times) -> int:
        return (times.get(after.sooner) or self.times[after.sooner])[1]

    def _first_room(self, task: Task, start: int) -> int:
        """The first time from ``start`` on at which all that the task uses has room for it."""
        moved = True
        while moved:
            moved = False
            for use in task.uses:
                clash = self._full(use.resource, use.amount, start, start + task.duration)
                if clash is not None:
                    start, moved = clash, True
        return start

    def _full(self, resource: str, amount: int, start: int, end: int) -> int | None:
        """When something on the resource ends that leaves no room before; ``None``: there is room."""
        there = [row for row in self.used[resource] if row[0] < end and start < row[1]]
        for moment in sorted({start, *(row[0] for row in there if row[0] > start)}):
            now = [row for row in there if row[0] <= moment < row[1]]
            if sum(row[2] for row in now) + amount > self.problem.resources[resource] and now:
                return min(row[1] for row in now)
        return None

    def _has_room(self, times: _Times) -> bool:
        """Whether the reservoirs stay within their bounds, with the row placed so."""
        together = self.times | times
        for reservoir in self.problem.reservoirs:
            gained: dict[int, int] = defaultdict(int)
            for task in self.problem.tasks:
                for change in task.changes:
                    if change.reservoir == reservoir.name and task.name in together:
                        gained[together[task.name][not change.at_start]] += change.amount
            level = reservoir.level
            for moment in sorted(gained):
                level += gained[moment]
                if not 0 <= level <= reservoir.capacity:
                    return False
        return True
