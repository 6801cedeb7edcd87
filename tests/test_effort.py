"""Chore or puzzle: the figures of a plan, on plans made by hand; and forced moves, by another's graphs."""

from __future__ import annotations

from dataclasses import fields
from itertools import combinations
from pathlib import Path
from random import Random

import networkx as nx
import pytest

from switchsolve.counting import count_plans
from switchsolve.district import Way
from switchsolve.effort import Effort, Forced, Shuttle, effort_of, forced_moves, runs_around, trips_of
from switchsolve.effort import forced as forced_room
from switchsolve.effort.rail import Point, Rail
from switchsolve.packing import pack
from switchsolve.plan import Plan
from switchsolve.puzzle import Puzzle
from switchsolve.puzzlefile import load
from switchsolve.referee import replay
from switchsolve.rules import Rules
from switchsolve.search import shortest
from switchsolve.search.beginning import first_states
from switchsolve.search.endings import endings
from switchsolve.search.exact import applies
from switchsolve.search.runs import LongestRuns, RunState
from switchsolve.solving import solve
from switchsolve.study import Outcome, Row, Tally, answer
from switchsolve.work import EndsIn, Place, Train
from tests.builders import (
    advance,
    couple,
    cut,
    place,
    run,
    run_around_district,
    set_up,
    spur_district,
    switchback_district,
)
from tests.reference_district import reference
from tests.tiny_districts import tiny_puzzle

_AROUND = (
    run("L+", advance(5, "A/0 main"), cut("d c"), advance(2, "-B/0 east")),
    run("L-", advance(7, "B/1 -side -A/1 -west")),
    run("L+", advance(2, "A/0 main"), couple("c d"), advance(1)),
)
"""The cars are left on main, the locomotive goes around by side and shoves them on."""
_AND_BACK = (
    run("L-", cut("c d"), advance(4, "-A/0 -west")),
    run("L+", advance(8, "A/1 side -B/1 east")),
    run("L-", advance(1, "B/0"), couple("d c")),
)
"""And around again, to the end at which it was."""


def _with_cars() -> Puzzle:
    """West 6, turnout A, main and side 4, turnout B, east 6; all vehicles and turnouts are 1 unit long."""
    items = [EndsIn(car, (Place("main"),)) for car in "cd"]
    return set_up(run_around_district(), {"west": "c d L"}, *items, heads={"L": "to"})


def _effort(puzzle: Puzzle, plan: Plan) -> Effort:
    return effort_of(puzzle, plan, replay(puzzle, plan))


def test_once_around() -> None:
    """Counted by hand: 1 + 4 units with the cars; light 1 + 6, then 1 + 4 + 1 + 6, then 1 + 4; the cars are
    brought to their place by the third run.
    """
    puzzle = _with_cars()
    plan = Plan(place(puzzle, 3), _AROUND, (("L", "c"),))
    found = _effort(puzzle, plan)
    assert found == Effort(
        runs=3,
        trips_around=1,
        shuttles=0,
        busiest=Shuttle(("east", "west"), 2),
        light_runs=1,
        light_distance=7 + 12 + 5,
        distance=5 + 7 + 12 + 5,
        longest_spell=2,
        spell_begins=1,
    )
    assert found.light_share == 24 / 29


def test_around_and_back_are_two_trips() -> None:
    """The locomotive ends where it began, on the other side of its cars twice: each is a trip.  It runs from
    west to east, back and to east again: the third time is a repeated shuttle.  The last three runs finish
    nothing: the cars stood in their place before.
    """
    puzzle = _with_cars()
    plan = Plan(place(puzzle, 3), (*_AROUND, *_AND_BACK), (("L", "d"),))
    found = _effort(puzzle, plan)
    assert trips_of(puzzle, replay(puzzle, plan)) == (("L", 2), ("L", 5))
    assert (found.trips_around, found.shuttles, found.light_runs) == (2, 1, 4)
    assert found.busiest == Shuttle(("east", "west"), 3)
    assert (found.light_distance, found.distance) == (24 + 7 + 12 + 1, 29 + 7 + 12 + 1)
    assert (found.longest_spell, found.spell_begins) == (3, 4)


def test_a_car_that_is_picked_up_is_finished_when_it_is_coupled_to() -> None:
    """The first run is light and ends by coupling to the car; the second one only brings it home."""
    train = Train("L", "lead", frozenset({"x"}))
    puzzle = set_up(spur_district(), {"lead": "L", "main": "x"}, train, heads={"L": "to"})
    runs = (run("L+", advance(1, "T/0"), couple("x")), run("L-", advance(2, "-lead")))
    plan = Plan(place(puzzle, 5, 0), runs)
    found = _effort(puzzle, plan)
    assert (found.trips_around, found.light_runs, found.light_distance, found.distance) == (0, 1, 1, 7)
    assert (found.longest_spell, found.spell_begins) == (1, 2)


def test_nothing_done_is_no_effort() -> None:
    """A plan without runs."""
    puzzle = set_up(spur_district(), {"lead": "L"}, heads={"L": "to"})
    found = _effort(puzzle, Plan(place(puzzle, 0), ()))
    assert found == Effort(0, 0, 0, None, 0, 0, 0, 0, None) and found.light_share == 0


@pytest.mark.parametrize("seed", range(10))
def test_the_way_along_the_rail_by_networkx(seed: int) -> None:
    """Distances on random districts are those of networkx on a graph made apart from it: rail laid out in
    single units, each unit an edge of length 1.
    """
    district = tiny_puzzle(seed).district
    graph: nx.Graph[object] = nx.Graph()
    for cell in district.cells():
        length = district.cell_length(cell)
        nx.add_path(graph, [(cell, at) for at in range(length + 1)], weight=1)
    ends = {(cell, 0): Way(cell, -1) for cell in district.cells()}
    ends |= {(cell, district.cell_length(cell)): Way(cell, 1) for cell in district.cells()}
    liners = [{table.name: index for table in district.tables for index in [0]}]
    liners += [{table.name: index} for table in district.tables for index in range(len(table.meets))]
    for (cell, at), way in ends.items():
        for lined in liners:
            for other in district.ahead(way, lined):
                begin = 0 if other.sign > 0 else district.cell_length(other.cell)
                graph.add_edge((cell, at), (other.cell, begin), weight=0)
    rail, random = Rail(district), Random(seed)
    points = [Point(cell, random.randint(0, district.cell_length(cell))) for cell in district.cells()]
    for one, other in combinations(points, 2):
        there = nx.has_path(graph, tuple(one), tuple(other))
        expected = (
            nx.shortest_path_length(graph, tuple(one), tuple(other), weight="weight") if there else None
        )
        assert rail.distance(one, other) == expected, (one, other)


@pytest.mark.parametrize("seed", range(6))
def test_a_plan_runs_around_if_it_has_a_trip(seed: int) -> None:
    """On random districts: some trip, or no running around; and the other figures within what there is."""
    puzzle = tiny_puzzle(seed)
    solution = solve(puzzle, tie_standings=0)
    if solution.plan is not None:
        replayed = replay(puzzle, solution.plan)
        found = _effort(puzzle, solution.plan)
        assert (found.trips_around > 0) is runs_around(puzzle, replayed)
        assert found.trips_around == len(trips_of(puzzle, replayed)) <= found.runs
        assert found.distance == replayed.counts.distance >= found.light_distance
        assert found.longest_spell <= found.runs


# -- forced moves ----------------------------------------------------------------------------------------


def test_a_switchback_leaves_no_choice() -> None:
    """One car from lead to spur by way of the tail: pull in, shove back, and there is no other way."""
    assert forced_moves(_over_the_switchback()) == Forced((1, 2), 2)


def _over_the_switchback() -> Puzzle:
    item = EndsIn("c", (Place("spur"),))
    return set_up(switchback_district(), {"lead": "c L"}, item, heads={"L": "to"})


def _by_networkx(puzzle: Puzzle, most: int) -> tuple[tuple[int, ...], int] | None:
    """Forced moves from the graph of all standings; ``None`` if there are more than ``most``, or no plan."""
    rules = Rules(pack(puzzle))
    runs = LongestRuns(rules)
    first = first_states(rules, runs, len(puzzle.start.under_way))
    graph: nx.DiGraph[tuple[str, RunState]] = nx.DiGraph()
    waiting, seen = list(first), set(first)
    while waiting:
        state = waiting.pop()
        for after in runs.steps(state):
            graph.add_edge(("rest", state), ("rest", after))
            if after not in seen:
                seen.add(after)
                waiting.append(after)
        if len(seen) > most:
            return None
    goals = endings(rules, runs, most)
    graph.add_edges_from((("rest", before), ("done", goal)) for goal in goals for before in runs.steps(goal))
    away = nx.multi_source_dijkstra_path_length(
        graph, {("rest", one) for one in first if ("rest", one) in graph}
    )
    left = nx.multi_source_dijkstra_path_length(
        graph.reverse(), {("done", goal) for goal in goals if ("done", goal) in graph}
    )
    moves = min((away[node] for node in away if node[0] == "done" and away[node] > 1), default=None)
    if moves is None:
        return None
    numbers = []
    for number in range(1, moves + 1):
        outcomes: dict[object, set[object]] = {}
        for one, other in graph.edges:
            if away.get(one) == number - 1 and left.get(other) == moves - number:
                told: object = other[1]
                if number == moves:
                    told = (other[1][0], frozenset((other[1][1].tokens, other[1][1].tokens[::-1])))
                outcomes.setdefault(one if number > 1 else None, set()).add(told)
        if all(len(found) == 1 for found in outcomes.values()):
            numbers.append(number)
    return tuple(numbers), moves


_SEEDS = [seed for seed in range(150) if applies(Rules(pack(tiny_puzzle(seed)))) is None]


@pytest.mark.parametrize("first", range(0, 30, 10))
def test_forced_moves_by_all_shortest_ways(first: int) -> None:
    """The same moves are forced as networkx finds with the graph of all standings and its shortest paths."""
    for seed in _SEEDS[first : first + 10]:
        puzzle = tiny_puzzle(seed)
        found = forced_moves(puzzle)
        if found.refused is None:
            assert (found.numbers, found.moves) == _by_networkx(puzzle, 20_000), seed
            assert found.moves == solve(puzzle, tie_standings=0).lower_bound, seed


def test_one_plan_only_is_forced_all_the_way() -> None:
    """Where the count of plans, which reads the law event by event, finds one plan, every move is forced."""
    for puzzle in (tiny_puzzle(64), tiny_puzzle(66)):
        found = forced_moves(puzzle)
        counted = count_plans(puzzle)
        assert (counted.plans, counted.moves) == (1, found.moves)
        assert found.numbers == tuple(range(1, found.moves + 1))


def test_forced_moves_are_refused_with_a_reason() -> None:
    """A loop, one move, no plan, too much to look at, a stop: no number, and why."""
    item = EndsIn("c", (Place("main"),))
    one = set_up(spur_district(), {"lead": "L c"}, item, heads={"L": "to"})
    none = set_up(
        spur_district(), {"lead": "L c"}, EndsIn("c", (Place("spur"),)), heads={"L": "to"}, lengths={"c": 5}
    )
    assert forced_moves(one).refused == "one move does the work"
    assert forced_moves(none).refused == "there is no plan"
    assert forced_moves(_over_the_switchback(), most=1).refused == "more than 1 standings to look at"


@pytest.mark.parametrize("first", range(0, 60, 15))
def test_the_compiled_search_finds_the_same_forced_moves(
    first: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    """On random districts, and with what is left of its bounds: the plain count of the same moves."""
    compared = 0
    monkeypatch.setattr(shortest, "_WITHOUT", first)  # tables at once, or a little later
    for seed in _SEEDS[first : first + 15]:
        plain = forced_moves(tiny_puzzle(seed))
        if plain.refused is None and plain.moves > 2:
            monkeypatch.setattr(forced_room, "_PLAIN", 0)
            assert forced_moves(tiny_puzzle(seed), moves=plain.moves) == plain, seed
            monkeypatch.undo()
            monkeypatch.setattr(shortest, "_WITHOUT", first)
            compared += 1
    assert compared >= 2


@pytest.mark.parametrize("same_district", [False, True])
def test_forced_moves_of_real_work(same_district: bool, monkeypatch: pytest.MonkeyPatch) -> None:
    """Two cars in and two out of the reference district: plain, and compiled with bounds and without."""
    plain = forced_moves(reference(2), most=100_000)
    assert plain.refused is None and plain.moves == 11
    assert forced_moves(reference(2), moves=11, most=100_000, same_district=same_district) == plain
    monkeypatch.setattr(shortest, "_WITHOUT", 0)
    assert forced_moves(reference(2), moves=11, most=100_000, same_district=same_district) == plain
    few = forced_moves(reference(2), moves=11, most=500)
    assert few.refused == "more than 500 standings to look at" and not few.numbers
    stopped = forced_moves(reference(2), moves=11, stop=lambda: "Ctrl-C")
    assert stopped.refused == "Ctrl-C"


def test_no_ways_of_fewer_runs_than_there_must_be() -> None:
    """The work takes 7: of 6 runs there is no plan, and two are for others to ask about."""
    rules = Rules(pack(reference(1)))
    runs = LongestRuns(rules)
    first, goals = first_states(rules, runs, 1), endings(rules, runs, 1_000)
    with pytest.raises(ValueError, match="three or more"):
        shortest.shortest_ways(runs, first, goals, 2, most=1_000)
    found = shortest.shortest_ways(runs, first, goals, 6, most=10_000)
    assert not isinstance(found, str) and found.steps == []


# -- in a study ------------------------------------------------------------------------------------------


def test_a_session_of_a_study_has_the_figures_of_its_plan() -> None:
    """A facing spur with the car behind: one trip around, as by hand; a study adds them up."""
    puzzle = load(Path(__file__).parent.parent / "puzzles" / "cask_lane_facing.toml")
    found = answer(puzzle)
    plan = solve(puzzle, tie_standings=0).plan
    assert plan is not None
    expected = _effort(puzzle, plan)
    assert (found.trips, found.shuttles, found.longest_spell) == (1, 0, expected.longest_spell)
    assert found.light_share == round(expected.light_share, 3)
    assert found.forced == len(forced_moves(puzzle).numbers) > 0
    tally, row = Tally(), {field.name: getattr(found, field.name) for field in fields(Outcome)}
    for trips in (1, 1, 3):
        tally.add(Row(1, 1, (), (), (), (), 0, **row | {"trips": trips}))
    assert tally.forced == {found.forced: 3} and tally.forced_among == 9
    assert tally.trips == {1: 2, 3: 1} and tally.spells == {found.longest_spell: 3}
    assert tally.light_share == found.light_share
