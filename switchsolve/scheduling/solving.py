"""The shortest schedule, then the most even one among those; or the demands that clash."""

from __future__ import annotations

import time
from collections.abc import Callable, Collection
from dataclasses import dataclass, field
from enum import StrEnum
from typing import TYPE_CHECKING

from switchsolve.scheduling.checking import faults
from switchsolve.scheduling.demands import Demand, demands_of
from switchsolve.scheduling.greedy import greedy_schedule
from switchsolve.scheduling.model import Model
from switchsolve.scheduling.problem import Problem, Schedule

if TYPE_CHECKING:
    from ortools.sat.python import cp_model

__all__ = ["Answer", "Clash", "Effort", "Outcome", "clash_of", "make_schedule"]

_SHARE, _GREEDY = 0.8, 0.1
"""Of the time allowed, for the length, the first schedule of the greedy way included, and for that alone; the
rest is for evenness."""

_QUESTION = 0.1
"""Of the time that is left, for one question whether demands clash."""


_SEARCHES = ("no_lp", "quick_restart_no_lp", "default_lp", "max_lp", "core", "reduced_costs")
"""Of CP-SAT, for the length, one a thread: the first two, by clauses alone, find nearly all that is found."""


class Outcome(StrEnum):
    """What may be said of the length."""

    PROVED = "proved"
    BEST_FOUND = "best found"
    IMPOSSIBLE = "impossible"
    GAVE_UP = "gave up"


@dataclass(frozen=True, slots=True)
class Clash:
    """Demands that cannot all be met.  ``is_minimal``: leave out any one, and the others can (proved)."""

    demands: tuple[Demand, ...]
    is_minimal: bool


@dataclass(frozen=True, slots=True)
class Answer:
    """``bound``: no schedule is shorter.  ``unevenness``: the squares of the crews' loads, added up, and what
    it cannot be under for a schedule of that length.  ``clash``: of the impossible."""

    outcome: Outcome
    schedule: Schedule | None = None
    bound: int | None = None
    unevenness: int | None = None
    unevenness_bound: int | None = None
    clash: Clash | None = None

    @property
    def gap(self) -> float | None:
        """By how much the length may exceed the shortest, as a share of the bound; ``None``: not known."""
        if self.schedule is None or self.bound is None:
            return None
        if self.schedule.length == self.bound:
            return 0.0
        return (self.schedule.length - self.bound) / self.bound if self.bound else None

    @property
    def is_evenness_proved(self) -> bool:
        """Whether no schedule of that length has more even loads."""
        return self.unevenness is not None and self.unevenness == self.unevenness_bound


@dataclass(slots=True)
class Effort:
    """What may be spent: ``seconds`` in all (``None``: no limit), ``workers`` threads.

    With one worker, the same ``seed`` and no limit met, the answer is the same every time.  ``tell`` receives
    lines of progress.
    """

    seconds: float | None = None
    workers: int = 1
    seed: int = 0
    tell: Callable[[str], None] | None = None
    began: float = field(default_factory=time.monotonic)

    def left(self, kept: float = 0) -> float | None:
        """Seconds that are left, but for a share ``kept`` of all."""
        if self.seconds is None:
            return None
        return max(0.0, self.seconds * (1 - kept) - (time.monotonic() - self.began))

    def has_spent(self, share: float) -> bool:
        """Whether such a share of the time is over."""
        return self.left(1 - share) == 0

    def solver(self, seconds: float | None) -> cp_model.CpSolver:
        """A solver that stops after ``seconds``."""
        from ortools.sat.python import cp_model

        solver = cp_model.CpSolver()
        solver.parameters.catch_sigint_signal = False  # Ctrl-C is for the caller
        solver.parameters.num_workers = self.workers
        solver.parameters.random_seed = self.seed
        if seconds is not None:
            solver.parameters.max_time_in_seconds = seconds
        return solver

    def say(self, text: str) -> None:
        """Tell, if anybody listens."""
        if self.tell is not None:
            self.tell(text)


def make_schedule(problem: Problem, effort: Effort | None = None) -> Answer:
    """The shortest schedule, and of those the one with the most even loads, each proved or with its bound.

    What cannot be scheduled is answered with demands that clash.  Raises ``AssertionError`` if the checker
    finds fault with a schedule (a defect in this package).
    """
    effort = effort or Effort()
    model = Model(problem)
    model.model.minimize(model.length)
    first = greedy_schedule(problem, model.end, effort.seed, lambda: effort.has_spent(_GREEDY))
    if first is not None:
        model.hint(first)
    shortest, bound = _best(model, effort, effort.left(1 - _SHARE), "length")
    if bound is None:
        return Answer(Outcome.IMPOSSIBLE, clash=clash_of(problem, effort))
    if first is not None and not faults(problem, first):
        shortest = first if shortest is None or first.length < shortest.length else shortest
    if shortest is None:
        return Answer(Outcome.GAVE_UP, bound=bound)
    outcome = Outcome.PROVED if shortest.length == bound else Outcome.BEST_FOUND
    even, least = _most_even(problem, shortest, effort)
    loads = even.loads(problem).values()
    return Answer(outcome, even, bound, sum(load**2 for load in loads), least)


def _most_even(problem: Problem, shortest: Schedule, effort: Effort) -> tuple[Schedule, int]:
    """A schedule no longer than ``shortest`` with loads as even as was found, and the bound of that."""
    if not problem.duties:
        return shortest, 0
    model = Model(problem)
    model.model.add(model.length <= shortest.length)
    model.model.minimize(model.unevenness())
    model.hint(shortest)
    even, least = _best(model, effort, effort.left(), "unevenness")
    assert least is not None, "a schedule of that length is known"
    return even or shortest, least


def _best(
    model: Model, effort: Effort, seconds: float | None, what: str
) -> tuple[Schedule | None, int | None]:
    """The best schedule found and its bound; no bound: there is no schedule (proved)."""
    from ortools.sat.python import cp_model

    solver = effort.solver(seconds)
    if what == "length":
        solver.parameters.subsolvers.extend(_SEARCHES[: effort.workers])
    status = solver.solve(model.model, _listener(effort, what))
    assert status != cp_model.MODEL_INVALID, model.model.validate()
    if status == cp_model.INFEASIBLE:
        return None, None
    # a solver that was stopped at once may know no bound at all
    bound = round(max(0.0, solver.best_objective_bound))
    if status == cp_model.UNKNOWN:
        return None, bound
    schedule = model.schedule(solver)
    found = faults(model.problem, schedule)
    assert not found, "; ".join(fault.what for fault in found)
    return schedule, bound


def _listener(effort: Effort, what: str) -> cp_model.CpSolverSolutionCallback:
    from ortools.sat.python import cp_model

    class Listener(cp_model.CpSolverSolutionCallback):
        """Tells each schedule that is better than those before."""

        def on_solution_callback(self) -> None:
            best, bound = round(self.objective_value), round(self.best_objective_bound)
            effort.say(f"{what}: {best:,} found, not under {bound:,}, {self.wall_time:.0f} s")

    return Listener()


def clash_of(problem: Problem, effort: Effort | None = None) -> Clash:
    """Demands that clash, as few as leaving out one after the other gives.

    First many are left out at a time, then single ones.  What cannot be decided in time stays, and then the
    set is not called minimal.  Raises ``ValueError`` if all demands can be met together, as far as is known.
    """
    effort = effort or Effort()
    kept, is_minimal = list(demands_of(problem)), True
    if _can_be(problem, kept, effort) is not False:
        raise ValueError("it is not known to be impossible: nothing clashes")
    size = max(1, len(kept) // 2)
    while kept:
        place = 0
        while place < len(kept):
            effort.say(f"what clashes: {len(kept)} demands left")
            others = kept[:place] + kept[place + size :]
            can_be = _can_be(problem, others, effort)
            if can_be is False:
                kept = others
            else:
                is_minimal = is_minimal and (can_be is True or size > 1)
                place += size
        if size == 1:
            break
        size //= 2
    return Clash(tuple(kept), is_minimal)


def _can_be(problem: Problem, demands: Collection[Demand], effort: Effort) -> bool | None:
    """Whether the demands can be met together; ``None``: not known."""
    from ortools.sat.python import cp_model

    left = effort.left()
    if left == 0:
        return None
    # one question must not take the time of all others
    status = effort.solver(None if left is None else left * _QUESTION).solve(Model(problem, demands).model)
    if status == cp_model.UNKNOWN:
        return None
    return bool(status != cp_model.INFEASIBLE)
