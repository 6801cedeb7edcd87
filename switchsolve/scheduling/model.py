"""A scheduling problem as a model of CP-SAT, with those of its demands that are asked for."""

from __future__ import annotations

from collections.abc import Collection
from typing import TYPE_CHECKING

from switchsolve.scheduling.demands import Demand, demands_of
from switchsolve.scheduling.problem import Duty, Problem, Schedule

if TYPE_CHECKING:
    from ortools.sat.python import cp_model

__all__ = ["Model"]


class Model:
    """Variables and constraints; ``demands`` left out means all of them.

    No time is above ``end``, the latest fixed time plus all durations and gaps in a row.  That cuts off no
    answer: put everything as early as its order allows, and each time is the sum of one fixed time and of
    durations and gaps, each counted once.
    """

    def __init__(self, problem: Problem, demands: Collection[Demand] | None = None) -> None:
        from ortools.sat.python import cp_model

        self.problem, self.model = problem, cp_model.CpModel()
        chosen = demands_of(problem) if demands is None else demands
        self._asked = {(demand.kind, demand.name, demand.index) for demand in chosen}
        self.end = _end(problem)
        self.starts: dict[str, cp_model.IntVar] = {}
        self.ends: dict[str, cp_model.IntVar] = {}
        self._lasts: dict[str, cp_model.IntVar] = {}
        self._intervals: dict[str, cp_model.IntervalVar] = {}
        self._duty_lasts: dict[str, cp_model.IntVar] = {}
        self.takes: dict[tuple[str, str], cp_model.IntVar] = {}
        self.length = self.model.new_int_var(0, self.end, "length")
        self._tasks()
        self._after()
        self._choices()
        self._resources()
        self._reservoirs()
        self._duties()
        if problem.length is not None and self._is_asked("length", ""):
            self.model.add(self.length <= problem.length)

    def _is_asked(self, kind: str, name: str, index: int = 0) -> bool:
        return (kind, name, index) in self._asked

    def _tasks(self) -> None:
        model = self.model
        for task in self.problem.tasks:
            name = task.name
            longest = self.end if task.wait is None else min(self.end, task.duration + task.wait)
            start = self.starts[name] = model.new_int_var(0, self.end, f"{name} starts")
            end = self.ends[name] = model.new_int_var(0, self.end, f"{name} ends")
            lasts = self._lasts[name] = model.new_int_var(task.duration, longest, f"{name} lasts")
            self._intervals[name] = model.new_interval_var(start, lasts, end, name)
            model.add(self.length >= end)
            if self._is_asked("earliest", name):
                model.add(start >= task.earliest)
            if task.starts_at is not None and self._is_asked("start", name):
                model.add(start == task.starts_at)
            if task.latest is not None and self._is_asked("latest", name):
                model.add(end <= task.latest)

    def _after(self) -> None:
        for index, after in enumerate(self.problem.after):
            if self._is_asked("after", after.later, index):
                apart = self.starts[after.later] - self.ends[after.sooner]
                self.model.add(apart >= after.gap)
                if after.most is not None:
                    self.model.add(apart <= after.most)

    def _choices(self) -> None:
        for choice in self.problem.choices:
            if not self._is_asked("choice", choice.name):
                continue
            chosen = []
            for number, option in enumerate(choice.options):
                holds = self.model.new_bool_var(f"{choice.name}, way {number + 1}")
                chosen.append(holds)
                for after in option:
                    apart = self.starts[after.later] - self.ends[after.sooner]
                    self.model.add(apart >= after.gap).only_enforce_if(holds)
                    if after.most is not None:
                        self.model.add(apart <= after.most).only_enforce_if(holds)
            self.model.add_bool_or(chosen)

    def _resources(self) -> None:
        for name, room in self.problem.resources.items():
            users = [
                (self._intervals[task.name], use.amount)
                for task in self.problem.tasks
                for use in task.uses
                if use.resource == name
            ]
            if not users or not self._is_asked("resource", name):
                continue
            if room == 1 and all(amount == 1 for _, amount in users):
                self.model.add_no_overlap([interval for interval, _ in users])
            else:
                self.model.add_cumulative(
                    [interval for interval, _ in users], [amount for _, amount in users], room
                )

    def _reservoirs(self) -> None:
        for reservoir in self.problem.reservoirs:
            changes = [
                ((self.starts if change.at_start else self.ends)[task.name], change.amount)
                for task in self.problem.tasks
                for change in task.changes
                if change.reservoir == reservoir.name
            ]
            if self._is_asked("level", reservoir.name):
                # what stands there at the beginning came before time 0
                times, amounts = [time for time, _ in changes], [amount for _, amount in changes]
                self.model.add_reservoir_constraint(
                    [-1, *times], [reservoir.level, *amounts], 0, reservoir.capacity
                )

    def _duties(self) -> None:
        busy: dict[str, list[cp_model.IntervalVar]] = {crew: [] for crew in self.problem.crews}
        for duty in self.problem.duties:
            for sooner, later in zip(duty.tasks, duty.tasks[1:], strict=False):
                self.model.add(self.starts[later] >= self.ends[sooner])
            if self._is_asked("duty", duty.name):
                self._crews_of(duty, busy)
        work, crews = self.problem.work, [crew for crew in busy if self._is_asked("crew", crew)]
        for crew in crews:
            self.model.add_no_overlap(busy[crew])
            # this and the next follow from the rest, and bound the length where crews are what binds
            own = [(duty, takes) for (duty, who), takes in self.takes.items() if who == crew]
            self.model.add(sum(work[duty] * takes for duty, takes in own) <= self.length)
        if len(crews) == len(busy):
            all_work = sum(work[duty] for duty in {duty for duty, _ in self.takes})
            self.model.add(len(crews) * self.length >= all_work)

    def _crews_of(self, duty: Duty, busy: dict[str, list[cp_model.IntervalVar]]) -> None:
        """One crew takes it, and is busy from its first start to its last end."""
        start, end = self.starts[duty.tasks[0]], self.ends[duty.tasks[-1]]
        lasts = self._duty_lasts[duty.name] = self.model.new_int_var(1, self.end, f"{duty.name} lasts")
        for crew in duty.crews:
            takes = self.takes[duty.name, crew] = self.model.new_bool_var(f"{crew} takes {duty.name}")
            name = f"{crew} at {duty.name}"
            busy[crew].append(self.model.new_optional_interval_var(start, lasts, end, takes, name))
        self.model.add_exactly_one(self.takes[duty.name, crew] for crew in duty.crews)

    def unevenness(self) -> cp_model.IntVar:
        """The squares of the crews' loads, added up, as a new variable: the less, the more even."""
        work = self.problem.work
        most = sum(work.values())
        squares = []
        for crew in self.problem.crews:
            load = self.model.new_int_var(0, most, f"{crew} works")
            own = [(duty.name, crew) for duty in self.problem.duties if crew in duty.crews]
            self.model.add(load == sum(work[duty] * self.takes[duty, who] for duty, who in own))
            square = self.model.new_int_var(0, most**2, f"{crew} works, squared")
            self.model.add_multiplication_equality(square, [load, load])
            squares.append(square)
        total = self.model.new_int_var(0, most**2, "unevenness")
        self.model.add(total == sum(squares))
        if len(self.takes) and len({duty for duty, _ in self.takes}) == len(self.problem.duties):
            # follows: no squares are less, together, than those of equal loads
            self.model.add(len(self.problem.crews) * total >= most**2)
        return total

    def hint(self, schedule: Schedule) -> None:
        """Begin the search at ``schedule``."""
        starts, ends, hint = schedule.starts, schedule.ends, self.model.add_hint
        hint(self.length, schedule.length)
        for name, lasts in self._lasts.items():
            hint(self.starts[name], starts[name])
            hint(self.ends[name], ends[name])
            hint(lasts, ends[name] - starts[name])
        for duty in self.problem.duties:
            if duty.name in self._duty_lasts:
                hint(self._duty_lasts[duty.name], ends[duty.tasks[-1]] - starts[duty.tasks[0]])
        for (name, crew), takes in self.takes.items():
            hint(takes, schedule.crews[name] == crew)

    def schedule(self, solver: cp_model.CpSolver) -> Schedule:
        """What the solver found."""
        return Schedule(
            {name: solver.value(time) for name, time in self.starts.items()},
            {name: solver.value(time) for name, time in self.ends.items()},
            {duty: crew for (duty, crew), takes in self.takes.items() if solver.value(takes)},
        )


def _end(problem: Problem) -> int:
    """No task need end later than this."""
    fixed = [0, *(max(task.earliest, task.starts_at or 0) for task in problem.tasks)]
    durations = sum(task.duration for task in problem.tasks)
    return max(fixed) + durations + sum(after.gap for after in problem.every_after)
