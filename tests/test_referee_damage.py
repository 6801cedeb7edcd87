"""Good plans, damaged: whatever is dropped, swapped or altered in them, the referee notices."""

from __future__ import annotations

import random
from collections.abc import Callable
from dataclasses import replace

import pytest

from switchsolve.district import Way
from switchsolve.errors import PlanError
from switchsolve.plan import Advance, Placed, Plan, Run, Step
from switchsolve.puzzle import Puzzle
from switchsolve.referee import replay
from switchsolve.work import DoNotTouch, Item
from tests.builders import (
    ways,
)
from tests.test_referee import (
    Case,
    balloon,
    closed_pier,
    do_not_touch,
    laps,
    made_up,
    oval,
    rear_only,
    run_around,
    spur,
    switchback,
    wye,
)

# -- damaged plans --------------------------------------------------------------------------------

# In these plans every step is needed: none may be missing, none may change places with the next.
NEEDED: list[Callable[[], Case]] = [spur, run_around, switchback, oval, balloon, closed_pier, made_up]
every_needed = pytest.mark.parametrize("case", NEEDED, ids=lambda case: case.__name__)


def _steps(plan: Plan) -> list[tuple[int, int]]:
    return [(r, s) for r, one in enumerate(plan.runs) for s in range(len(one.steps))]


def _with_steps(plan: Plan, r: int, steps: tuple[Step, ...]) -> Plan:
    runs = (*plan.runs[:r], replace(plan.runs[r], steps=steps), *plan.runs[r + 1 :])
    return replace(plan, runs=runs)


@every_needed
def test_a_dropped_step_is_missed(case: Callable[[], Case]) -> None:
    """A plan without one of its steps is rejected, at that step or after it."""
    puzzle, plan, _ = case()
    for r, s in _steps(plan):
        steps = plan.runs[r].steps
        with pytest.raises(PlanError) as caught:
            replay(puzzle, _with_steps(plan, r, steps[:s] + steps[s + 1 :]))
        assert _stage(caught.value.where) >= r + 1


@every_needed
def test_swapped_steps_are_noticed(case: Callable[[], Case]) -> None:
    """A plan with two neighbouring steps of a run exchanged is rejected in that run."""
    puzzle, plan, _ = case()
    for r, s in _steps(plan):
        steps = list(plan.runs[r].steps)
        if s + 1 < len(steps):
            steps[s], steps[s + 1] = steps[s + 1], steps[s]
            with pytest.raises(PlanError) as caught:
                replay(puzzle, _with_steps(plan, r, tuple(steps)))
            assert _stage(caught.value.where) == r + 1


@every_needed
def test_swapped_and_dropped_runs_are_noticed(case: Callable[[], Case]) -> None:
    """A plan with a run left out, or two neighbouring runs exchanged, is rejected."""
    puzzle, plan, _ = case()
    for r in range(len(plan.runs)):
        with pytest.raises(PlanError):
            replay(puzzle, replace(plan, runs=plan.runs[:r] + plan.runs[r + 1 :]))
        if r + 1 < len(plan.runs):
            swapped = (*plan.runs[:r], plan.runs[r + 1], plan.runs[r], *plan.runs[r + 2 :])
            with pytest.raises(PlanError):
                replay(puzzle, replace(plan, runs=swapped))


@every_needed
def test_the_wrong_way_is_noticed(case: Callable[[], Case]) -> None:
    """A plan with one run made the other way is rejected in that run."""
    puzzle, plan, _ = case()
    for r, one in enumerate(plan.runs):
        runs = (*plan.runs[:r], replace(one, forward=not one.forward), *plan.runs[r + 1 :])
        with pytest.raises(PlanError) as caught:
            replay(puzzle, replace(plan, runs=runs))
        assert _stage(caught.value.where) == r + 1


@every_needed
def test_altered_steps_are_noticed(case: Callable[[], Case]) -> None:
    """Ways added, left out or run backwards, other cars, a distance too long: all rejected at that step."""
    puzzle, plan, _ = case()
    for r, s in _steps(plan):
        for step in _altered(plan.runs[r].steps[s]):
            steps = plan.runs[r].steps
            with pytest.raises(PlanError) as caught:
                replay(puzzle, _with_steps(plan, r, (*steps[:s], step, *steps[s + 1 :])))
            assert caught.value.where == f"run {r + 1}, step {s + 1}"


def _altered(step: Step) -> list[Step]:
    if not isinstance(step, Advance):
        return [replace(step, vehicles=("nobody",)), replace(step, vehicles=())]  # type: ignore[arg-type]
    found: list[Step] = [replace(step, distance=100), replace(step, distance=0), replace(step, distance=-1)]
    found.append(replace(step, enters=(*step.enters, *step.enters[-1:], *ways("lead")[:1])))
    for index, way in enumerate(step.enters):
        found.append(replace(step, enters=step.enters[:index] + step.enters[index + 1 :]))
        turned = (*step.enters[:index], way.reverse(), *step.enters[index + 1 :])
        found.append(replace(step, enters=turned))
    return found


def _stage(where: str) -> int:
    """The run that an error names; what comes after the runs counts as a very late one."""
    return int(where.split(",")[0].split()[1]) if where.startswith("run") else 99


# -- a twin: unit by unit -------------------------------------------------------------------------

PLACES: list[Callable[[], Case]] = [
    spur,
    run_around,
    oval,
    laps,
    balloon,
    wye,
    do_not_touch,
    closed_pier,
    rear_only,
]


@pytest.mark.parametrize("seed", range(150))
def test_one_long_advance_is_many_short_ones(seed: int) -> None:
    """A random run in one advance, and unit by unit (each unit judged by itself), get the same answer."""
    rng = random.Random(seed)
    puzzle, plan, _ = rng.choice(PLACES)()
    locomotive = rng.choice(puzzle.locomotives)
    forward = rng.random() < 0.5
    whole, units = _random_run(rng, puzzle, plan.start, locomotive.name, forward)
    answers = [
        _answer(puzzle, Plan(plan.start, (Run(locomotive.name, forward, steps),))) for steps in (whole, units)
    ]
    assert answers[0] == answers[1]


def _random_run(
    rng: random.Random, puzzle: Puzzle, start: tuple[Placed, ...], name: str, forward: bool
) -> tuple[tuple[Step, ...], tuple[Step, ...]]:
    """An advance along random ways over a random distance, and the same in single units."""
    district = puzzle.district
    string = next(string for string in start if name in string.vehicles)
    length = sum(puzzle.vehicles[vehicle].length for vehicle in string.vehicles)
    way, room = string.ways[-1], district.cell_length(string.ways[-1].cell) - string.offset - length
    if not forward:
        way, room = string.ways[0].reverse(), string.offset
    lined = {table.name: table.lined for table in district.tables}
    entered: list[Way] = []
    units: list[Step] = []
    for _ in range(rng.randint(1, 25)):
        newly: list[Way] = []
        if room == 0 and district.ahead(way, lined):
            way = rng.choice(district.ahead(way, lined))
            newly, room = [way], district.cell_length(way.cell)
        entered += newly
        units.append(Advance(1, tuple(newly)))
        room -= 1
        if room < 0:
            break
    return (Advance(len(units), tuple(entered)),), tuple(units)


def _answer(puzzle: Puzzle, plan: Plan) -> object:
    """Whether the run is legal and where it ends; whether the work is done is not asked."""
    free = replace(puzzle, work=replace(puzzle.work, items=tuple(_kept(puzzle))))
    try:
        return replay(free, plan).frames[1].standing
    except PlanError as error:
        return "end" if error.where == "end" else "no"


def _kept(puzzle: Puzzle) -> list[Item]:
    return [item for item in puzzle.work.items if isinstance(item, DoNotTouch)]
