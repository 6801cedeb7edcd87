"""A scheduling problem as a model of CP-SAT, with those of its demands that are asked for."""

from __future__ import annotations

from collections.abc import Collection
from typing import TYPE_CHECKING

from switchsolve.scheduling.demands import Demand, demands_of
from switchsolve.scheduling.needless import needless_waits
from switchsolve.scheduling.problem import Duty, Problem, Schedule, Task

if TYPE_CHECKING:
    from ortools.sat.python import cp_model

__all__ = ["Model"]


class Model:
    """Variables and constraints; ``demands`` left out means all of them.

    No time is above ``end``, the latest fixed time plus all durations and gaps in a row.  That cuts off no
    answer: put everything as early as its order allows, and each time is the sum of one fixed time and of
    durations and gaps, each counted once.  Waits that no schedule needs are left out, and what follows at a
    fixed distance has no variable of its own.
    """

    def __init__(self, problem: Problem, demands: Collection[Demand] | None = None) -> None:
        from ortools.sat.python import cp_model

        self.problem, self.model = problem, cp_model.CpModel()
        chosen = demands_of(problem) if demands is None else demands
        self._asked = {(demand.kind, demand.name, demand.index) for demand in chosen}
        self.end = _end(problem)
        self.starts: dict[str, cp_model.LinearExpr] = {}
        self.ends: dict[str, cp_model.LinearExpr] = {}
        self._begins: dict[str, cp_model.IntVar] = {}
        self._waits: dict[str, tuple[cp_model.IntVar, cp_model.IntVar]] = {}  # how long it lasts, its end
        self._fixed_ends: dict[str, int] = {}  # after the last task before it, or itself, that begins freely
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
        tasks = {task.name: task for task in self.problem.tasks}
        needless = needless_waits(self.problem)
        glued = self._glued(tasks, needless)
        for duty in self.problem.duties:
            for name in duty.tasks:
                self._task(tasks.pop(name), name in needless, glued.get(name))
        for task in tasks.values():
            self._task(task, False, None)

    def _glued(self, tasks: dict[str, Task], needless: frozenset[str]) -> dict[str, tuple[str, int]]:
        """Tasks that start just so long after the end of the task before them in their duty, which ends at a
        fixed time after its start.
        """
        before = {
            later: sooner
            for duty in self.problem.duties
            for sooner, later in zip(duty.tasks, duty.tasks[1:], strict=False)
            if tasks[sooner].wait == 0 or sooner in needless
        }
        return {
            after.later: (after.sooner, after.gap)
            for index, after in enumerate(self.problem.after)
            if after.most == after.gap
            and before.get(after.later) == after.sooner
            and self._is_asked("after", after.later, index)
        }

    def _task(self, task: Task, is_needless: bool, glued: tuple[str, int] | None) -> None:
        model, name = self.model, task.name
        apart = 0
        if glued is None:
            self.starts[name] = self._begins[name] = model.new_int_var(0, self.end, f"{name} starts")
        else:
            self.starts[name] = self.ends[glued[0]] + glued[1]
            apart = self._fixed_ends[glued[0]] + glued[1]
        start = self.starts[name]
        if task.wait == 0 or is_needless:
            self.ends[name] = start + task.duration
            self._fixed_ends[name] = apart + task.duration
            self._intervals[name] = model.new_fixed_size_interval_var(start, task.duration, name)
        else:
            longest = self.end if task.wait is None else min(self.end, task.duration + task.wait)
            self.ends[name] = end = model.new_int_var(0, self.end, f"{name} ends")
            lasts = model.new_int_var(task.duration, longest, f"{name} lasts")
            self._waits[name] = lasts, end
            self._intervals[name] = model.new_interval_var(start, lasts, end, name)
        model.add(self.length >= self.ends[name])
        if self._is_asked("earliest", name):
            model.add(start >= task.earliest)
        if task.starts_at is not None and self._is_asked("start", name):
            model.add(start == task.starts_at)
        if task.latest is not None and self._is_asked("latest", name):
            model.add(self.ends[name] <= task.latest)

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
            no_less = self._is_asked("stock", reservoir.name)
            no_more = self._is_asked("level", reservoir.name)
            if no_less or no_more:
                # what stands there at the beginning came before time 0
                times = [time for time, _ in changes]
                amounts = [reservoir.level, *(amount for _, amount in changes)]
                all_of_it = sum(abs(amount) for amount in amounts)
                least, most = 0 if no_less else -all_of_it, reservoir.capacity if no_more else all_of_it
                self.model.add_reservoir_constraint([-1, *times], amounts, least, most)

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
        model, lasts = self.model, self._duty_length(duty)
        start, end = self.starts[duty.tasks[0]], self.ends[duty.tasks[-1]]
        for crew in duty.crews:
            takes = self.takes[duty.name, crew] = model.new_bool_var(f"{crew} takes {duty.name}")
            name = f"{crew} at {duty.name}"
            if isinstance(lasts, int):
                work = model.new_optional_fixed_size_interval_var(start, lasts, takes, name)
            else:
                work = model.new_optional_interval_var(start, lasts, end, takes, name)
            busy[crew].append(work)
        model.add_exactly_one(self.takes[duty.name, crew] for crew in duty.crews)

    def _duty_length(self, duty: Duty) -> int | cp_model.IntVar:
        """How long a crew is busy with it: a number where nothing can wait."""
        fixed = self._fixed_ends.get(duty.tasks[-1])
        if fixed is not None and not any(name in self._begins for name in duty.tasks[1:]):
            return fixed
        lasts = self._duty_lasts[duty.name] = self.model.new_int_var(1, self.end, f"{duty.name} lasts")
        return lasts

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
        for name, begins in self._begins.items():
            hint(begins, starts[name])
        for name, (lasts, end) in self._waits.items():
            hint(end, ends[name])
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
