"""Longest runs within limits on the moving string: held to the law, and to what a run undone must be."""

from __future__ import annotations

from collections.abc import Iterable

import numpy as np
import pytest

from switchsolve.goal import Goal
from switchsolve.packing import pack
from switchsolve.plan import Verdict
from switchsolve.planning import make_plan
from switchsolve.referee import replay
from switchsolve.rules import Rules
from switchsolve.search.beginning import first_states
from switchsolve.search.both_ends import search_both_ends
from switchsolve.search.carrying import Loads
from switchsolve.search.compilable import is_compilable, is_packable
from switchsolve.search.compiled import search_compiled
from switchsolve.search.endings import TooManyEndings, endings
from switchsolve.search.limited import RunsWithinLimits
from switchsolve.search.one_run import search_one_run
from switchsolve.search.reached import Budget, successors
from switchsolve.search.runs import LongestRuns, RunState
from switchsolve.search.space import Space
from switchsolve.solving import solve
from switchsolve.solving.along import plan_along
from switchsolve.solving.by_moves import row_of
from tests.random_limits import limited_puzzles
from tests.reference_district import within_limits


def _few(expanded: int) -> str | None:
    return "enough" if expanded > 60_000 else None


def _compare(seeds: Iterable[int]) -> dict[str, int]:
    """How many set-ups were compared with the law, had as many moves, were impossible, had a plan along."""
    found = {"compared": 0, "same": 0, "impossible": 0, "made": 0}
    for seed, puzzle, rules in limited_puzzles(seeds):
        if not is_compilable(rules):
            continue
        goal = Goal(rules)
        law = search_compiled(rules, goal, should_stop=_few)
        under_way = sum(1 for last in rules.p.start_last if last)
        if not law.is_exhausted or search_one_run(rules, goal, under_way).node is not None:
            continue
        runs = RunsWithinLimits(rules)
        try:
            goals = endings(rules, runs, 20_000)
        except TooManyEndings:
            continue
        sides = runs, runs.undone(goals)
        seen = search_both_ends(runs, first_states(rules, runs, under_way), goals, undone=sides[1])
        found["compared"] += 1
        if law.node is None:
            found["impossible"] += 1
            found["same"] += seen.chain is None
            continue
        least = law.node.cost.moves + under_way
        assert seen.chain is not None and seen.runs <= least, seed
        found["same"] += seen.runs == least
        if seen.runs == least:
            made = plan_along(rules, goal, seen.chain, under_way, should_stop=_few, sides=sides)
            if made is not None and made.node is not None and made.met is not None:
                counts = replay(puzzle, make_plan(rules, *row_of(made), made.met)).counts
                assert counts.moves == least, seed
                found["made"] += 1
    return found


def test_never_more_moves_than_by_the_law() -> None:
    """On random districts with limits that bind; mostly as many, mostly with a plan along the standings."""
    found = _compare(range(70))
    assert found["compared"] > 20 and found["impossible"] > 8
    assert found["same"] > 0.75 * found["compared"] and found["made"] > 5


@pytest.mark.slow
@pytest.mark.parametrize("first", range(200, 2200, 200))
def test_never_more_moves_on_many(first: int) -> None:
    """The same on 2,000 more."""
    found = _compare(range(first, first + 200))
    assert found["compared"] > 60 and found["same"] > 0.75 * found["compared"]


def test_a_run_undone_is_a_run() -> None:
    """From what a run comes to, the run undone comes back to where it set out: so both ends meet.

    Not where strings stand at the start as no run would leave them: over more cells than they need, or
    coupled where they are too many to be.
    """
    asked = 0
    for seed, _, rules in limited_puzzles(range(60)):
        loads = Loads(rules)
        strings = [string for standing in rules.starts() for string in standing.strings]
        if any(len(one.ways) > 1 or loads.are_too_many(one.ways, one.tokens) for one in strings):
            continue
        runs = RunsWithinLimits(rules)
        undone = runs.undone(())
        layer = first_states(rules, runs, sum(1 for last in rules.p.start_last if last))
        layer = [following for state in layer for following in runs.steps(state)]
        for _ in range(2):  # none of them is where the search began
            fresh = []
            for state in layer[:20]:
                for following in runs.steps(state):
                    assert state in set(undone.steps(following)), seed
                    fresh.append(following)
                    asked += 1
            layer = fresh
    assert asked > 1_000


def test_as_longest_runs_where_no_limit_binds() -> None:
    """With four cars at most, and four in all, the steps are those of longest runs."""
    rules = Rules(pack(within_limits(2, 4)))
    within, plain = RunsWithinLimits(rules), LongestRuns(rules)
    for state in first_states(rules, plain, 1):
        for following in plain.steps(state):
            assert set(within.steps(following)) == set(plain.steps(following))


def _compiled(space: Space, state: RunState, depth: int) -> set[RunState]:
    rows = np.array([space.encode(state)], np.int64)
    found = successors(space, Budget(None), rows, depth)[1]
    return {space.decode(row) for row in found}


def _steps_as_in_plain_python(seeds: Iterable[int]) -> int:
    """How many states were stepped from, by both: runs, and runs undone, first from the goals."""
    asked = 0
    for seed, _, rules in limited_puzzles(seeds):
        if not is_packable(rules):
            continue
        runs = RunsWithinLimits(rules)
        try:
            goals = endings(rules, runs, 2_000)[:30]
        except TooManyEndings:
            continue
        first = first_states(rules, runs, sum(1 for last in rules.p.start_last if last))
        first = [state for state in first if state not in runs.behind]
        space = Space(rules, states=[*first, *goals], loads=runs.loads)
        for layer, sign in ((first, 1), (goals, -1)):
            for depth in range(2, 5):
                generator = runs if sign > 0 else runs.undone(goals if depth == 2 else ())
                fresh = []
                for state in layer[:20]:
                    following = set(generator.steps(state))
                    assert following == _compiled(space, state, sign * depth), (seed, depth, sign)
                    fresh += sorted(following)
                    asked += 1
                layer = fresh[:: max(1, len(fresh) // 20)]
    return asked


def test_compiled_steps_as_in_plain_python() -> None:
    """The same states after one run, by the kernel and by the plain steps, both ways."""
    assert _steps_as_in_plain_python(range(60)) > 500


@pytest.mark.slow
@pytest.mark.parametrize("first", range(100, 2100, 500))
def test_compiled_steps_on_many(first: int) -> None:
    """The same on 2,000 more."""
    assert _steps_as_in_plain_python(range(first, first + 500)) > 4_000


@pytest.mark.parametrize(("most", "moves"), [(1, 9), (2, 7)])
def test_one_car_at_a_time_as_the_law_has_it(most: int, moves: int) -> None:
    """Work 1+1 of the reference district, as few moves as the search by the law alone proves."""
    puzzle = within_limits(1, most)
    by_law = solve(puzzle, search="compiled events", tie_standings=0)
    found = solve(puzzle, tie_standings=0)
    assert by_law.verdict is found.verdict is Verdict.PROVED
    assert by_law.lower_bound == found.lower_bound == moves


@pytest.mark.parametrize(("most", "moves", "expanded"), [(1, 18, 14_617), (2, 13, 8_119)])
def test_four_cars_within_limits_are_proved(most: int, moves: int, expanded: int) -> None:
    """Work 2+2 with so many cars in the moving string at most; by the law alone it is not proved in minutes.

    The minima are this project's own.  The count of standings guards the speed.
    """
    found = solve(within_limits(2, most), search="steady", tie_standings=0)
    assert found.verdict is Verdict.PROVED and found.lower_bound == moves
    assert found.plan is not None
    assert found.stats["expanded"] == expanded
