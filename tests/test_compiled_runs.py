"""The compiled search by longest runs, held to the plain one."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from functools import lru_cache
from itertools import pairwise
from pathlib import Path
from random import Random
from typing import Any

import numpy as np
import pytest

from switchsolve.kernel import run_kernel as kernel
from switchsolve.packing import pack
from switchsolve.plan import Verdict
from switchsolve.puzzle import Puzzle
from switchsolve.puzzlefile import load
from switchsolve.rules import Rules
from switchsolve.search import bounded, compiled_runs, course
from switchsolve.search import reached as reached_room
from switchsolve.search.beam import beam
from switchsolve.search.both_ends import search_both_ends
from switchsolve.search.compilable import is_packable
from switchsolve.search.compiled_runs import search_runs
from switchsolve.search.endings import TooManyEndings, endings
from switchsolve.search.exact import applies
from switchsolve.search.hands import Hands
from switchsolve.search.patterns import Patterns
from switchsolve.search.reached import Budget, Reached
from switchsolve.search.runs import LongestRuns, RunState
from switchsolve.search.space import Space
from switchsolve.solving import first_states, solve
from switchsolve.solving.by_events import EVENT_SEARCHES
from switchsolve.work import EndsIn, Place
from tests.brute_force import brute_minimum
from tests.builders import set_up, spur_district, track
from tests.files import puzzle_files
from tests.random_districts import random_puzzle
from tests.reference_district import evening, reference, with_oval, with_table

_PUZZLES = puzzle_files()
_SEEDS = range(180)

GOLDEN = {
    "reference 2": 4933,
    "reference 3": 7337,
    "evening 0": 11,
    "evening 1": 633,
    "evening 2": 4764,
    "table 2": 9143,
    "oval 2": 10989,
    "glasshouse_switchback": 1130,
    "marrow_point_front_street": 4872,
    "marrow_point_make_up": 591,
    "millbrook_turn": 455,
    "millbrook_wye": 55,
    "cask_lane_short_tail": 310,
    "cask_lane_crossing": 83,
}
"""Standings expanded, the same on every machine: this project's own figures, to guard the speed.

Change them together with the search, and say why.
"""


def _named(name: str) -> Puzzle:
    family, _, count = name.partition(" ")
    if count:
        families = {"reference": reference, "evening": evening, "table": with_table, "oval": with_oval}
        return families[family](int(count))
    return load(Path(__file__).parent.parent / "puzzles" / f"{name}.toml")


def _case(puzzle: Puzzle) -> tuple[LongestRuns, list[RunState], list[RunState]] | None:
    """Steps, first states and goals, where longest runs are exact."""
    rules = Rules(pack(puzzle))
    if applies(rules, with_halts=True) is not None or not is_packable(rules):
        return None
    runs = LongestRuns(rules)
    first = first_states(rules, runs, len(puzzle.start.under_way))
    try:
        return runs, first, endings(rules, runs, 2_000)
    except TooManyEndings:
        return None


@lru_cache
def _cases(seeds: range) -> list[tuple[int, LongestRuns, list[RunState], list[RunState]]]:
    drawn = ((seed, _case(random_puzzle(seed)[0])) for seed in seeds)
    return [(seed, *case) for seed, case in drawn if case is not None and case[1] and case[2]]


def _walked(runs: LongestRuns, state: RunState, random: Random, steps: int) -> Iterator[RunState]:
    """States of a random walk, farthest ones only."""
    for _ in range(steps):
        following = sorted(set(runs.steps(state)))
        if not following:
            return
        state = random.choice(following)
        yield state


def _successors(space: Space, state: RunState) -> set[RunState]:
    reached = Reached(space, Budget(None))
    reached.begin([state], 1)
    reached.expand(np.arange(1), 2)
    return {space.decode(row) for row in reached.keys[1 : reached.count]}


@pytest.mark.parametrize("path", _PUZZLES, ids=lambda path: path.stem)
def test_the_same_successors_on_the_puzzle_files(path: Path) -> None:
    """On random walks the kernel lists exactly the states that the plain steps list."""
    case = _case(load(path))
    if case is None:
        search = str(solve(load(path), tie_standings=0).stats["search"])
        assert search in EVENT_SEARCHES or "within limits" in search
        return
    runs, first, goals = case
    space = Space(runs.rules)
    seen = 0
    for start in (first[0], goals[0]):
        for state in _walked(runs, start, Random(path.stem), 12):
            assert _successors(space, state) == set(runs.steps(state))
            seen += 1
    assert seen


def test_the_same_successors_on_random_districts() -> None:
    """The same on random districts; and a state written in words reads back as it was."""
    seen = 0
    for seed, runs, first, goals in _cases(_SEEDS):
        space = Space(runs.rules)
        for start in (first[0], goals[0]):
            for state in _walked(runs, start, Random(seed), 4):
                assert space.decode(space.encode(state)) == state
                assert _successors(space, state) == set(runs.steps(state)), f"seed {seed}"
                seen += 1
    assert seen > 200


@pytest.mark.parametrize(
    "batches", [(), ((1, 99), (3, 1000), (4, 1000)), ((1, 9), (2, 9), (3, 2), (4, 1))], ids=str
)
def test_as_many_runs_as_the_plain_search(
    batches: tuple[tuple[int, int], ...], monkeypatch: pytest.MonkeyPatch
) -> None:
    """On random districts both searches agree, whether there is a plan and of how many runs: without bounds,
    and with the bounds of every table from the start.
    """
    if batches:
        monkeypatch.setattr(compiled_runs, "_PLAIN", 0)
        monkeypatch.setattr(bounded, "_TABLES_PAY", 1e9)
        monkeypatch.setattr(bounded, "_BATCHES", batches)
    seen, with_tables = 0, 0
    for seed, runs, first, goals in _cases(_SEEDS):
        plain = search_both_ends(runs, first, goals)
        found = search_runs(runs, first, goals)
        wanted = None if plain.chain is None else len(plain.chain) - 1
        assert found.is_proved and (None if found.chain is None else found.least) == wanted, f"seed {seed}"
        assert found.chain is None or len(found.chain) - 1 == found.least
        seen += 1
        with_tables += bool(found.stats.get("tables"))
    assert seen > 30 and (not batches or with_tables > 20)


@pytest.mark.parametrize("rows", [1, 1 << 12], ids=["little room", "much room"])
def test_two_threads_do_as_one(rows: int, monkeypatch: pytest.MonkeyPatch) -> None:
    """The same states in the same order, reached from the same ones, and the same counts; also where what
    comes of some states has to be done anew because there was no room for it.
    """
    monkeypatch.setattr(reached_room, "_ROWS", rows)
    monkeypatch.setattr(reached_room, "_TWO_HANDS", 4)
    case = _case(reference(3))
    assert case is not None
    runs, _, goals = case
    hands = Hands()
    both = [Reached(Space(runs.rules), Budget(None), own) for own in (None, hands)]
    for reached in both:
        reached.begin(goals, 1)
        begin, depth = 0, 1
        while begin < reached.count < 30_000:
            layer = np.arange(begin, reached.count)
            begin, depth = reached.count, depth + 1
            assert not reached.expand(layer, depth)
    hands.close()
    one, two = both
    assert one.count == two.count > 30_000
    assert (one.expanded, one.generated) == (two.expanded, two.generated)
    for name in ("keys", "parents", "depths"):
        assert (getattr(one, name)[: one.count] == getattr(two, name)[: one.count]).all(), name


def test_no_bound_is_above_what_is_left() -> None:
    """For every state from which the work can be done, in small districts: no choice of cars to keep says
    more runs than are really left; and some say as many.
    """
    exact, seen = 0, 0
    for seed, runs, _, goals in _cases(_SEEDS):
        rules = runs.rules
        if len(rules.p.class_of) < 3:
            continue
        patterns = Patterns(rules, Space(rules), Budget(None))
        for size in (1, 2, 3):
            if size < len(patterns.cars):
                patterns.add(patterns.all_of(size))
        reached = Reached(Space(rules), Budget(None))
        reached.begin(goals, 1)
        begin, depth = 0, 1
        while begin < reached.count < 20_000:
            layer = np.arange(begin, reached.count)
            begin, depth = reached.count, depth + 1
            reached.expand(layer, depth)
        chosen = np.arange(len(goals), reached.count)
        left = reached.depths[chosen] - 1
        bounds = patterns.bounds(reached, chosen, patterns.rows, kernel.UNREACHABLE)
        assert (bounds <= left).all(), f"seed {seed}"
        exact += int((bounds == left).sum())
        seen += len(chosen)
    assert seen > 10_000 and exact > seen / 10


_LONG_PARTS = {
    "apart at the start": set_up(
        spur_district(track("lead", 4), track("main", 1, 5, 1), track("spur", 2)),
        {"lead": "A", "main": "d | c"},
        EndsIn("c", (Place("spur"),)),
        heads={"A": "to"},
    ),
    "apart at the end": set_up(
        spur_district(track("lead", 4), track("main", 5, 1), track("spur", 2)),
        {"lead": "A c", "spur": "d"},
        EndsIn("c", (Place("main"),)),
        EndsIn("d", (Place("lead"),)),
        heads={"A": "to"},
    ),
}
"""A part longer than all vehicles together, with strings over both of its ends: they count as one, over more
cells than one string could lie over.
"""


@pytest.mark.parametrize("name", _LONG_PARTS)
@pytest.mark.parametrize("plain", [0, 8_000])
def test_strings_apart_in_a_long_part(name: str, plain: int, monkeypatch: pytest.MonkeyPatch) -> None:
    """The true minimum, by brute force, with patterns and without."""
    monkeypatch.setattr(compiled_runs, "_PLAIN", plain)
    puzzle = _LONG_PARTS[name]
    solution = solve(puzzle, search="compiled longest runs", tie_standings=0)
    assert solution.lower_bound == brute_minimum(puzzle) is not None
    assert solve(puzzle, many=True, tie_standings=0).lower_bound == solution.lower_bound


@pytest.mark.parametrize("name", GOLDEN)
def test_golden_counts(name: str) -> None:
    """As many standings expanded as before."""
    case = _case(_named(name))
    assert case is not None
    assert search_runs(*case).stats.get("expanded", 0) == GOLDEN[name]


def test_a_limit_of_memory_gives_a_bound() -> None:
    """With too little memory the search ends with a bound that is not above the minimum, and says why; with
    enough it proves it.
    """
    case = _case(reference(3))
    assert case is not None
    bounds = [search_runs(*case, most_bytes=most) for most in (400_000, 2_000_000, 5_000_000, 100_000_000)]
    assert [found.is_proved for found in bounds] == [False, False, False, True]
    assert {found.reason for found in bounds[:-1]} == {"the limit of memory"}
    assert sorted(found.least for found in bounds) == [found.least for found in bounds]
    assert bounds[-1].least == 12


def test_solve_names_the_limit_of_memory() -> None:
    """A solution that memory stopped is no proof, and names its limit."""
    solution = solve(reference(4), seconds=5, most_bytes=2_000_000, search="compiled longest runs")
    assert solution.verdict in (Verdict.GAVE_UP, Verdict.BEST_FOUND)
    assert solution.limit == "the limit of memory"
    assert solution.lower_bound is not None and 2 <= solution.lower_bound <= 13


def _stopped(after: int) -> Callable[[int], str | None]:
    return lambda expanded: "so many" if expanded > after else None


def _at_look(last: int) -> Callable[[int], str | None]:
    looks = iter(range(last))
    return lambda expanded: "so many" if next(looks, None) is None else None


def _assert_leads_to_the_end(
    runs: LongestRuns, first: list[RunState], goals: list[RunState], chain: list[RunState]
) -> None:
    """Every two standings that follow each other are one run apart, by the plain steps."""
    assert chain[0] in first and chain[-1] in goals
    steps = {state: set(runs.steps(state)) for state in chain}
    assert all(after in steps[before] or before in steps[after] for before, after in pairwise(chain))


@pytest.mark.parametrize("name", ["reference 4", "reference 5", "evening 3"])
def test_a_plan_soon(name: str) -> None:
    """Stopped long before the proof, the search has a plan that is one, and a bound that is not above it."""
    case = _case(_named(name))
    assert case is not None
    found = search_runs(*case, should_stop=_stopped(10_000), hunting=_stopped(60_000))
    assert not found.is_proved and found.chain is not None
    _assert_leads_to_the_end(*case, found.chain)
    assert found.least <= len(found.chain) - 1


def test_plans_soon_on_random_districts(monkeypatch: pytest.MonkeyPatch) -> None:
    """Stopped early, the search finds plans that are plans, none shorter than the minimum, and none where
    there is none.
    """
    monkeypatch.setattr(compiled_runs, "_PLAIN", 0)
    found_some = 0
    for seed, runs, first, goals in _cases(_SEEDS):
        if len(runs.rules.p.class_of) <= 3:
            continue  # no choice of two cars
        whole = search_runs(runs, first, goals)
        found = search_runs(runs, first, goals, should_stop=_at_look(14), hunting=_stopped(20_000))
        assert whole.chain is None or found.least <= whole.least, f"seed {seed}"
        if found.chain is not None:
            _assert_leads_to_the_end(runs, first, goals, found.chain)
            assert whole.chain is not None and len(found.chain) >= len(whole.chain), f"seed {seed}"
            found_some += not found.is_proved
    assert found_some >= 10


def test_beams_find_the_minimum_and_no_less(monkeypatch: pytest.MonkeyPatch) -> None:
    """With a narrow beam tried all the time the answers are those of layers alone, and what it finds is a
    plan; it finds some.
    """
    cases = [case for case in _cases(_SEEDS) if len(case[1].rules.p.class_of) > 3]
    monkeypatch.setattr(compiled_runs, "_PLAIN", 0)
    monkeypatch.setattr(compiled_runs, "_BEAM", 10**9)
    without = [search_runs(runs, first, goals) for _, runs, first, goals in cases]
    monkeypatch.setattr(compiled_runs, "_BEAM", 2)
    monkeypatch.setattr(compiled_runs, "_BEAM_PAYS", 0)
    met: list[object] = []
    plain = beam

    def noted(*given: Any) -> list[RunState] | None:
        met.append(plain(*given))
        return met[-1]  # type: ignore[return-value]

    monkeypatch.setattr(course, "beam", noted)
    for (seed, runs, first, goals), other in zip(cases, without, strict=True):
        found = search_runs(runs, first, goals)
        assert (found.least, found.is_proved) == (other.least, True), f"seed {seed}"
        assert (found.chain is None) == (other.chain is None), f"seed {seed}"
        if found.chain is not None:
            assert len(found.chain) - 1 == found.least
            _assert_leads_to_the_end(runs, first, goals, found.chain)
    assert sum(1 for chain in met if chain is not None) > 5 and None in met
