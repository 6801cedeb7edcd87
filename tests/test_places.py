"""Where in its track a vehicle stands, where that matters: longest runs say that they do not know it."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from itertools import permutations
from random import Random

import pytest

from switchsolve.district import Marks
from switchsolve.facts.deciding import decide
from switchsolve.packing import pack
from switchsolve.plan import Verdict
from switchsolve.puzzle import Puzzle
from switchsolve.puzzlefile import loads
from switchsolve.rules import Rules
from switchsolve.search.events import EventResult
from switchsolve.search.exact import applies, bounds
from switchsolve.solving import solve
from switchsolve.solving.by_events import EventSearches
from switchsolve.solving.by_moves import MovesCase
from switchsolve.work import EndsIn, Place
from tests.brute_force import brute_minimum, can_start
from tests.brute_graph import Graph
from tests.builders import build, set_up, spur_district, track, turnout
from tests.random_districts import random_puzzle

FILE = """
unit = "in"
[tracks]
lead = {{ from = "entrance", to = "T points", length = 40 }}
main = {{ from = "T straight", length = 20 }}
spur = {{ from = "T diverging", length = 20, no_locomotives = {closed}, spots = {{ near = 3, far = 19 }} }}
[turnouts]
T = {{ length = 2 }}
[cars]
x = 6
[locomotives]
L = {{ length = 6, heads = "to" }}
[start]
lead = [{lead}]
{spur}
[fixed]
{fixed}
[work]
spot = {{ x = "spur {spot}" }}
[work.locomotive]
L = {{ ends_in = "lead" }}
"""


def _puzzle(lead: str, spur: str, spot: str, closed: str = "false", fixed: str = "") -> Puzzle:
    return loads(FILE.format(lead=lead, spur=spur, spot=spot, closed=closed, fixed=fixed))


CASES = {
    "from one spot to another of the same track": (_puzzle('"L"', 'spur = ["x @ near"]', "far"), 2),
    "from an exact place off the spot": (_puzzle('"L"', 'spur = ["x"]', "far", fixed="x = 5"), 2),
    "to a spot out of reach": (_puzzle('"L", "x"', "", "far", "true"), None),
    "from a spot out of reach": (_puzzle('"L"', 'spur = ["x @ far"]', "near", "true"), None),
}
"""Each with its fewest moves, counted by hand: there and back; a locomotive that may not enter the spur, 20
long, reaches 6 in with a car of 6, and cannot leave it at 19 nor fetch it from there.
"""


@pytest.mark.parametrize("name", CASES)
def test_places_that_matter(name: str) -> None:
    """The answer is right by every search that is exact here, and ``check`` puts the same question right."""
    puzzle, moves = CASES[name]
    for search in ("auto", "events", "compiled events"):
        solution = solve(puzzle, search=search, tie_standings=0)
        assert (solution.verdict is Verdict.IMPOSSIBLE) is (moves is None), search
        assert solution.lower_bound == moves, search
    for search in ("longest runs", "compiled longest runs"):
        with pytest.raises(ValueError, match="longest runs are not exact here"):
            solve(puzzle, search=search)
    assert decide(puzzle).moves == moves


def test_a_car_that_stays_at_its_spot_changes_nothing() -> None:
    """A car said to be at the spot that it is wanted at, or at an exact place over it, leaves them exact."""
    at_spot = _puzzle('"L"', 'spur = ["x @ far"]', "far")
    at_place = _puzzle('"L"', 'spur = ["x"]', "far", fixed="x = 13.5")
    for puzzle in (at_spot, at_place):
        assert solve(puzzle, search="longest runs", tie_standings=0).lower_bound == 0


SLOTS = {"1": 1, "2": 3, "3": 5, "4": 7}
"""The middles of four slots, each as long as a car."""


def _rows() -> Iterator[tuple[int, str, Puzzle]]:
    """Two cars to any two slots of a spur, from the lead, or one of them already there and held; with how far
    the slots are from each other.
    """
    district = spur_district(6, 6, track("spur", 8, spots=SLOTS))
    long = {"x": 2, "y": 2}
    for one, other in permutations(SLOTS, 2):
        x, y = EndsIn("x", (Place("spur", one),)), EndsIn("y", (Place("spur", other),))
        apart = abs(SLOTS[one] - SLOTS[other])
        for train in ("x y A", "A x y", "x A y"):
            yield apart, train, set_up(district, {"lead": train}, x, y, heads={"A": "to"}, lengths=long)
        for train in ("x A", "A x"):
            standing = {"lead": train, "spur": "y"}
            yield (
                apart,
                train,
                set_up(district, standing, x, heads={"A": "to"}, lengths=long, spots={"y": other}),
            )


def test_cars_at_spots_with_room_between_them() -> None:
    """Against brute force, which shares no code with the search: two cars to any two slots of a row.  Where
    cars coupled to each other cannot be at both, longest runs say that they are not exact, and only there;
    where they are, they find the minimum.  ``check`` puts the same question right.
    """
    possible = {True: 0, False: 0}
    for apart, train, puzzle in _rows():
        least = brute_minimum(puzzle)
        possible[apart <= 4] += least is not None
        assert solve(puzzle, tie_standings=0).lower_bound == least, (apart, train)
        assert decide(puzzle).moves == least, (apart, train)
        reason = applies(Rules(pack(puzzle)))
        assert (reason is None) is (apart <= 4), reason
        if reason is None:
            assert solve(puzzle, search="longest runs", tie_standings=0).lower_bound == least, (apart, train)
    assert min(possible.values()) >= 5


def _over_an_edge(at: int | None) -> Puzzle:
    """A car of two on a track of two parts of two, ``at`` from its end; the locomotive comes out of a spur
    before it pushes it on to the next track.
    """
    district = build(
        [track("west", 4), track("middle", 2, 2), track("east", 4), track("spur", 3)],
        [turnout("T", "west.to", "middle.from", "spur.from")],
        links=[("middle.to", "east.from")],
    )
    puzzle = set_up(
        district,
        {"spur": "A", "middle": "x"},
        EndsIn("x", (Place("east"),)),
        heads={"A": "to"},
        lengths={"x": 2},
    )
    strings = [replace(one, fixed_at=at) if "x" in one.vehicles else one for one in puzzle.start.strings]
    return replace(puzzle, start=replace(puzzle.start, strings=tuple(strings)))


def test_what_longest_runs_have_found_is_a_bound_still(monkeypatch: pytest.MonkeyPatch) -> None:
    """Where no plan goes along their standings, and time is over before the law has looked at one: their
    number of runs is told, and it is never above the minimum.
    """
    nothing = EventResult(None, None, 0, False)
    monkeypatch.setattr(EventSearches, "in_turn", lambda searches, at_once: nothing)
    monkeypatch.setattr(MovesCase, "_hunted", lambda case: nothing)
    bounds_told = []
    for apart, train, puzzle in _rows():
        least = brute_minimum(puzzle) if apart > 4 else None
        if least is not None:
            solution = solve(puzzle, search="steady", tie_standings=0)
            if solution.verdict is Verdict.GAVE_UP:
                assert solution.lower_bound is not None and solution.lower_bound <= least, (apart, train)
                bounds_told.append(solution.lower_bound)
    assert len(bounds_told) >= 2 and max(bounds_told) >= 2


@pytest.mark.parametrize("at", [0, 1, 2, None])
@pytest.mark.parametrize("search", ["auto", "steady", "events", "longest runs"])
def test_an_exact_place_over_the_edge_of_a_part(at: int | None, search: str) -> None:
    """Against brute force: no run would leave the car over both parts, where it fits in either, so the search
    from the goal has to be told.
    """
    puzzle = _over_an_edge(at)
    least = brute_minimum(puzzle)
    assert least == 2
    assert solve(puzzle, search=search, tie_standings=0).lower_bound == least
    assert solve(puzzle, many=True, tie_standings=0).lower_bound == least
    assert decide(puzzle).moves == least


def test_exact_places_over_both_ends_of_a_part() -> None:
    """Two strings apart over both ends of a long part: longest runs say that they are not exact."""
    district = spur_district(4, track("main", 1, 5, 1), 3)
    work = EndsIn("d", (Place("spur"),))
    puzzle = set_up(district, {"lead": "A", "main": "d | c"}, work, heads={"A": "to"})
    long = replace(
        puzzle,
        cars=tuple(replace(car, length=2) for car in puzzle.cars),
        start=replace(
            puzzle.start,
            strings=tuple(
                replace(one, fixed_at={"d": 0, "c": 5}.get(one.vehicles[0])) for one in puzzle.start.strings
            ),
        ),
    )
    reason = applies(Rules(pack(long)))
    assert reason == "strings apart from each other at exact places over both ends of a part"
    assert solve(long, tie_standings=0).lower_bound == brute_minimum(long) is not None


def _with_seams_and_places(seed: int) -> Puzzle | None:
    """A random small district with seams in its tracks, and strings at exact places; ``None`` if longest runs
    bound nothing there.
    """
    random, (puzzle, _) = Random(seed), random_puzzle(seed)
    tracks = []
    for one in puzzle.district.tracks:
        parts = list(one.parts)
        while len(parts) < 4 and max(part.length for part in parts) > 1 and random.random() < 0.7:
            at = max(range(len(parts)), key=lambda i: parts[i].length)
            cut = random.randint(1, parts[at].length - 1)
            rest = parts[at].length - cut
            parts[at : at + 1] = [replace(parts[at], length=cut), replace(parts[at], length=rest)]
        tracks.append(replace(one, parts=tuple(parts)))
    puzzle = replace(puzzle, district=replace(puzzle.district, tracks=tuple(tracks)))
    graph = Graph(puzzle)
    standing = random.choice(list(graph.starts()))
    offsets = {
        graph.work.sort_of[name]: graph.rail.offset[min(unit >> 1 for unit in graph.strings[number].path)]
        for number in standing[1:]
        for name in puzzle.vehicles
        if graph.strings[number].vehicles[0] >> 4 == graph.work.sort_of[name]
    }
    strings = [
        one
        if one.spots or random.random() < 0.3 or _sort_is_shared(graph, one.vehicles)
        else replace(one, fixed_at=offsets[graph.work.sort_of[one.vehicles[0]]])
        for one in puzzle.start.strings
    ]
    placed = replace(puzzle, start=replace(puzzle.start, strings=tuple(strings)))
    return placed if can_start(placed) and bounds(Rules(pack(placed))) is None else None


def _sort_is_shared(graph: Graph, vehicles: tuple[str, ...]) -> bool:
    """Whether brute force does not tell one of these from another vehicle, so that its place is not known."""
    sorts = list(graph.work.sort_of.values())
    return any(sorts.count(graph.work.sort_of[name]) > 1 for name in vehicles)


def _compare_places(seeds: range) -> int:
    """How many were compared: what the solver proves is the truth of brute force."""
    compared = 0
    for seed in seeds:
        puzzle = _with_seams_and_places(seed)
        if puzzle is None:
            continue
        solution = solve(puzzle, tie_standings=0, seconds=20)
        if solution.verdict in (Verdict.PROVED, Verdict.IMPOSSIBLE):
            compared += 1
            assert solution.lower_bound == brute_minimum(puzzle), seed
    return compared


def test_seams_and_exact_places_as_brute_force() -> None:
    """Random small districts with seams and exact places: the minimum is that of brute force."""
    assert _compare_places(range(20)) >= 4


@pytest.mark.slow
def test_more_seams_and_exact_places_as_brute_force() -> None:
    """The same on six hundred seeds more."""
    assert _compare_places(range(1_000, 1_600)) >= 120


# -- strings apart on a track that is closed --------------------------------------------------------------


def _apart_on_closed_rail(seed: int) -> Puzzle:
    """Two cars apart from each other on a spur closed to locomotives, others on the lead and the main."""
    chance = Random(seed)
    closed = track("spur", chance.randint(3, 5), marks=Marks(no_locomotives=True))
    standing = {"lead": chance.choice(["L", "c L", "L c"]), "spur": "a | b"}
    district = spur_district(chance.randint(4, 6), chance.randint(2, 4), closed)
    if chance.random() < 0.7:
        standing["main"] = "i"
    cars = [name for text in standing.values() for name in text.split() if name not in "L|"]
    items = [
        EndsIn(car, (Place(chance.choice(["lead", "main", "spur"])),))
        for car in cars
        if chance.random() < 0.6
    ]
    return set_up(district, standing, *items, heads={"L": "to"})


def test_strings_apart_on_closed_rail_as_brute_force() -> None:
    """A locomotive that may not follow them in cannot bring two strings together: whoever takes them for one
    finds too few moves, or work possible that is not.  Both verdicts come, and the bound alone would not do.
    """
    minima = []
    for seed in range(40):
        puzzle = _apart_on_closed_rail(seed)
        truth = brute_minimum(puzzle)
        solution = solve(puzzle, tie_standings=0)
        found = None if solution.counts is None else solution.counts.moves
        assert (found, solution.verdict is Verdict.IMPOSSIBLE) == (truth, truth is None), seed
        rules = Rules(pack(puzzle))
        assert applies(rules) == "strings apart from each other in a track with a closed part"
        assert bounds(rules) is None
        minima.append(truth)
    assert None in minima and max(moves for moves in minima if moves is not None) > 9


def test_a_car_not_to_be_touched_keeps_nothing_apart() -> None:
    """Beside it there is one string only that may move: nothing has to be brought together."""
    closed = track("spur", 4, marks=Marks(no_locomotives=True))
    puzzle = set_up(
        spur_district(4, 2, closed), {"lead": "L", "spur": "a | b"}, heads={"L": "to"}, fixed={"b": 3}
    )
    assert applies(Rules(pack(puzzle))) is None
