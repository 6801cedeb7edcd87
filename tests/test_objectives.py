"""Other objectives than moves: against brute force on tiny districts, and plain against compiled."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace
from fractions import Fraction

import pytest

from switchsolve.goal import Goal
from switchsolve.objectives import COMMON_PRACTICE, Weights, common_speed, objective_of
from switchsolve.packing import pack
from switchsolve.plan import Solution, Verdict
from switchsolve.puzzle import Puzzle, Times
from switchsolve.puzzlefile import load
from switchsolve.referee import replay
from switchsolve.rules import MeasuredRules, Rules
from switchsolve.search.compiled import search_compiled
from switchsolve.search.events import search_events
from switchsolve.search.tariffs import Tariff, charges_of
from switchsolve.solving import choices, solve
from switchsolve.solving.by_figures import solve_by_figures
from tests.brute_figures import Prices, brute_figures
from tests.brute_force import TooManyStates
from tests.tiny_districts import tiny_puzzle

SEEDS = range(40)
TIMES = Times(new_move=3_000, coupling=2_000, cut=5_000, table=7_000, speed=1)
"""Whole seconds, one for each unit of rail: the brute force knows whole numbers."""
ROWS = {
    "couplings and cuts": (Prices(coupling=1, cut=1), Prices(move=1)),
    "minutes": (Prices(move=3, coupling=2, cut=5, table=7, distance=1), Prices(move=1)),
    "distance": (Prices(distance=1), Prices(move=1)),
}


def _solved(puzzle: Puzzle, objective: str) -> Solution:
    return solve_by_figures(replace(puzzle, times=TIMES), objective, tie_standings=0)


def _compare(objective: str, seeds: range) -> Counter[str]:
    """What was said; raises where solver and brute force differ."""
    said: Counter[str] = Counter()
    for seed in seeds:
        try:
            least = brute_figures(tiny_puzzle(seed), *ROWS[objective], most_states=60_000)
        except TooManyStates:
            said["too many"] += 1
            continue
        solution = _solved(tiny_puzzle(seed), objective)
        said[solution.verdict.value] += 1
        if least is None:
            assert solution.verdict is Verdict.IMPOSSIBLE, seed
            continue
        assert solution.verdict is Verdict.PROVED, seed
        assert (solution.value, solution.value_bound) == (least[0], least[0]), seed
        if solution.moves_proved:
            said["moves proved"] += 1
            assert solution.counts is not None and solution.counts.moves == least[1], seed
    return said


@pytest.mark.parametrize("objective", ROWS)
def test_the_least_is_that_of_brute_force(objective: str) -> None:
    """On tiny districts the least figure is that of a search over whole-number positions, and so is the
    second where it is called proved; nothing is impossible for one that the other can do.
    """
    said = _compare(objective, range(24))
    assert said["too many"] <= 4, said
    assert said["proved minimum"] >= 8 and said["impossible"] >= 2 and said["moves proved"] >= 6, said


@pytest.mark.slow
@pytest.mark.parametrize("objective", ROWS)
@pytest.mark.parametrize("first", range(24, 324, 50))
def test_the_least_is_that_of_brute_force_on_more(objective: str, first: int) -> None:
    """The same on three hundred more."""
    assert _compare(objective, range(first, first + 50))["proved minimum"] >= 15


def test_the_compiled_search_finds_the_same() -> None:
    """With couplings, cuts and moves the compiled search has the plain one's figures; with distance it is
    never above them.
    """
    compared = 0
    for seed in SEEDS:
        puzzle = replace(tiny_puzzle(seed), times=TIMES)
        rules = Rules(pack(puzzle))
        for name in ROWS:
            rows = objective_of(puzzle, name).rows
            charged = charges_of(rules, rows)
            assert charged is not None
            charges, one = charged
            fast = search_compiled(rules, Goal(rules), charges=charges)
            law = MeasuredRules(pack(puzzle)) if rows[0].distance else rules
            plain = search_events(law, Goal(law), tariff=Tariff(law, rows), should_stop=_enough)
            if not plain.is_exhausted:
                continue
            assert (fast.node is None) == (plain.node is None), (seed, name)
            if fast.node is None:
                continue
            compared += 1
            if rows[0].distance:
                assert fast.figures[0] <= plain.figures[0], (seed, name)
            else:
                assert divmod(fast.figures[0], one) == plain.figures, (seed, name)
    assert compared > 20


def _enough(expanded: int) -> str | None:
    return "enough" if expanded > 2_000 else None


class _After:
    """Says to stop after so many looks: the same on every machine, however busy it is."""

    def __init__(self, looks: int) -> None:
        self.left = looks

    def __call__(self) -> str | None:
        self.left -= 1
        return None if self.left > 0 else "enough"


def test_cars_in_hand_are_those_of_the_referee() -> None:
    """What the search charges for cars in hand is what the referee counts (else it raises), and the plan with
    the fewest moves never has fewer.
    """
    done = 0
    for seed in SEEDS:
        puzzle = tiny_puzzle(seed)
        if len(puzzle.locomotives) > 1:
            continue
        mine = solve_by_figures(puzzle, "cars in hand", tie_standings=0, stop=_After(150))
        if mine.verdict is not Verdict.PROVED:
            continue
        by_moves = solve(puzzle, tie_standings=0)
        assert mine.plan is not None and by_moves.plan is not None
        assert replay(puzzle, by_moves.plan).cars_in_hand >= replay(puzzle, mine.plan).cars_in_hand
        done += 1
    assert done >= 8


def test_a_table_of_choices_trades() -> None:
    """Three hoppers up a grade: fewer cars in hand with more distance, or the other way round; no row is at
    least as bad as another in everything.
    """
    puzzle = load("puzzles/quarry_hill_three.toml")
    answer, table = choices(puzzle, seconds=60)
    assert answer.verdict is Verdict.PROVED and len(table) >= 2
    figures = [
        (
            row.replayed.counts.moves,
            row.replayed.counts.couplings + row.replayed.counts.cuts,
            row.seconds,
            row.replayed.cars_in_hand,
            row.replayed.counts.distance,
        )
        for row in table
    ]
    for one in figures:
        assert not any(
            other != one and all(a <= b for a, b in zip(other, one, strict=True)) for other in figures
        )
    assert figures[0][0] == answer.lower_bound and "moves" in table[0].proved
    assert {name for row in table for name in row.best_in} == {
        "moves", "couplings and cuts", "minutes", "cars in hand", "distance",
    }  # fmt: skip


def test_no_plan_no_choices() -> None:
    """Impossible work: the answer says so, and the table is empty."""
    answer, table = choices(load("puzzles/cask_lane_short_tail.toml"))
    assert answer.verdict is Verdict.IMPOSSIBLE and table == ()


def test_what_is_not_proved_has_a_plan_and_a_bound() -> None:
    """Stopped early, it still shows the plan with the fewest moves, and what cannot be beaten."""
    puzzle = load("puzzles/marrow_point_front_street.toml")
    solution = solve(puzzle, objective="couplings and cuts", seconds=8)
    assert solution.verdict is Verdict.BEST_FOUND and solution.limit == "the limit of 8 seconds"
    assert solution.value is not None and solution.value_bound is not None
    assert 0 < solution.value_bound < solution.value and solution.counts is not None
    assert solution.value == solution.counts.couplings + solution.counts.cuts


def test_it_can_be_stopped() -> None:
    """A stop of the caller is obeyed, and named."""
    puzzle = load("puzzles/glasshouse_switchback.toml")
    solution = solve(puzzle, objective="minutes", stop=lambda: "Ctrl-C")
    assert solution.verdict in (Verdict.BEST_FOUND, Verdict.GAVE_UP) and solution.limit == "Ctrl-C"


def test_what_cannot_be_asked_for() -> None:
    """An unknown objective, a search named for another than moves, a weight below zero."""
    puzzle = load("puzzles/first_spur.toml")
    with pytest.raises(ValueError, match="no objective is called 'speed'"):
        solve(puzzle, objective="speed")
    with pytest.raises(ValueError, match="a search is named for moves only"):
        solve(puzzle, objective="minutes", search="events")
    with pytest.raises(ValueError, match="below zero"):
        Tariff(Rules(pack(puzzle)), [Weights(move=-1)])


def test_the_figures_of_the_file_hold() -> None:
    """A spur of one move and one cut, 24 in run at 12 in a second: what the file says, else common practice
    (no source), else three seconds for the length of a car.
    """
    puzzle = load("puzzles/first_spur.toml")
    usual = solve(puzzle, objective="minutes", tie_standings=0)
    assert usual.counts is not None and usual.value is not None
    counts = usual.counts
    assert (counts.moves, counts.couplings, counts.cuts) == (1, 0, 1)
    assert COMMON_PRACTICE.new_move == 10_000 and COMMON_PRACTICE.cut == 15_000
    assert usual.value == 25 + Fraction(counts.distance) / common_speed(puzzle)
    own = replace(puzzle, times=Times(new_move=60_000, cut=30_000, speed=12 * puzzle.grid))
    slower = solve(own, objective="minutes", tie_standings=0)
    assert slower.value == 90 + Fraction(counts.distance, 12 * puzzle.grid)
