"""The plain crew: one plan for the whole work, by the policy that is stated, never under the minimum."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from random import Random

import pytest

from switchsolve.crew import CrewResult, plain_crew, runs_around
from switchsolve.district import District, Marks, Part
from switchsolve.packing import pack
from switchsolve.plan import Verdict
from switchsolve.puzzle import Puzzle
from switchsolve.puzzlefile import load
from switchsolve.referee import replay
from switchsolve.rules import Rules
from switchsolve.search.exact import applies
from switchsolve.solving import solve
from switchsolve.work import AnyCars, EndsIn, LocomotiveEnds, Place, Train
from tests.builders import (
    build,
    run_around_district,
    set_up,
    spur_district,
    switchback_district,
    track,
    turnout,
)
from tests.files import puzzle_files

FOLDER = Path(__file__).parent.parent / "puzzles"
SLOW = {"quarry_hill_three"}
"""Files that take the crew more than some seconds; the slow test below has them."""
QUICK = sorted(path.stem for path in puzzle_files() if path.stem not in SLOW)


def _to(car: str, where: str, spot: str | None = None) -> EndsIn:
    return EndsIn(car, (Place(where, spot),))


def _check(puzzle: Puzzle, result: CrewResult) -> None:
    """The plan is replayed as a whole, its moves are those of the steps, and not fewer than are proved."""
    if result.plan is None:
        assert result.counts is None and result.told
        return
    counts = replay(puzzle, result.plan).counts
    assert counts == result.counts
    assert counts.moves == sum(step.moves for step in result.steps)
    assert not result.left and not result.told
    least = solve(puzzle, tie_standings=0, seconds=60)
    assert least.verdict is not Verdict.IMPOSSIBLE
    if least.verdict is Verdict.PROVED:
        assert least.lower_bound is not None and counts.moves >= least.lower_bound


@pytest.mark.parametrize("name", QUICK)
def test_never_below_the_minimum(name: str) -> None:
    """On each file the crew ends with a plan not under the proved minimum; impossible work it gives up."""
    puzzle = load(FOLDER / f"{name}.toml")
    result = plain_crew(puzzle)
    _check(puzzle, result)
    assert (result.plan is None) == (puzzle.stated_verdict == Verdict.IMPOSSIBLE)


@pytest.mark.slow
@pytest.mark.parametrize("name", sorted(SLOW))
def test_never_below_the_minimum_on_slow_files(name: str) -> None:
    """The same on the files that take minutes; there the crew may run out of time, and then says so."""
    puzzle = load(FOLDER / f"{name}.toml")
    result = plain_crew(puzzle, seconds_each=20)
    _check(puzzle, result)
    assert result.plan is not None or not result.is_decided


def _drawn(seed: int) -> Puzzle | None:
    """A small set-up drawn at random: a locomotive and three cars of one or two units on one of four
    districts; ``None`` if they do not fit.
    """
    random = Random(seed)
    make = random.choice((spur_district, switchback_district, run_around_district, _two_spurs))
    district = make()
    names = [one.name for one in district.tracks]
    lengths = {car: random.choice((1, 1, 2)) for car in "abc"}
    rows = {names[0]: random.choice(("L", "a L", "L a"))}
    for car in "abc":
        if all(car not in row for row in rows.values()):
            where = random.choice(names[1:])
            rows[where] = f"{rows[where]} | {car}" if where in rows else car
    items = [_to(car, random.choice(names)) for car in "abc" if random.random() < 0.7]
    puzzle = set_up(district, rows, *items, heads={"L": "to"}, lengths=lengths)
    return None if next(Rules(pack(puzzle)).starts(), None) is None else puzzle


def test_never_below_the_minimum_on_random_set_ups() -> None:
    """The same on random small set-ups; on some the crew ends, on some it takes more than the minimum."""
    ended = more = 0
    for seed in range(60):
        puzzle = _drawn(seed)
        if puzzle is None:
            continue
        result = plain_crew(puzzle)
        _check(puzzle, result)
        if result.counts is not None:
            least = solve(puzzle, tie_standings=0).lower_bound
            ended += 1
            more += least is not None and result.counts.moves > least
    assert ended >= 15 and more >= 5


def test_the_plan_is_always_the_same() -> None:
    """The same file gives the same plan."""
    puzzle = load(FOLDER / "millbrook_wye.toml")
    assert plain_crew(puzzle) == plain_crew(puzzle)


def _two_spurs() -> District:
    """West, run-around, a facing spur ``f`` near, a trailing spur ``t`` far, east; trains come from west."""
    tracks = [track(n, size) for n, size in (("west", 6), ("main", 4), ("side", 4), ("mid", 3), ("far", 3))]
    tracks += [track("east", 5), track("f", 1), track("t", 1)]
    return build(
        tracks,
        [
            turnout("A", "west.to", "main.from", "side.from"),
            turnout("B", "mid.from", "main.to", "side.to"),
            turnout("F", "mid.to", "far.from", "f.from"),
            turnout("T", "east.from", "far.to", "t.to"),
        ],
    )


def test_what_trails_comes_first() -> None:
    """The facing spur stands first in the file, but its car needs the run-around: the trailing one is done
    first.  With the run-around away, the car for the facing spur cannot be spotted: it is left.
    """
    items = (_to("x", "f"), _to("y", "t"))
    puzzle = set_up(_two_spurs(), {"west": "x y L"}, *items, heads={"L": "to"})
    result = plain_crew(puzzle)
    assert [step.errands for step in result.steps] == [("y to t",), ("x to f",)]
    assert [step.runs_around for step in result.steps] == [False, True]
    _check(puzzle, result)
    district = puzzle.district
    tracks = tuple(one if one.name != "side" else track("side", 4) for one in district.tracks)
    links = tuple(link for link in district.links if "side" not in {end.place for end in link})
    cut = replace(puzzle, district=District(tracks, district.junctions, (), links))
    alone = plain_crew(cut)
    assert alone.plan is None and alone.left == ("x to f",)


def test_the_nearest_comes_first_among_equals() -> None:
    """Of two items without a run-around the one with fewer moves is first, whatever the order of the file;
    with as few moves the order of the file decides.
    """
    district = spur_district(8, 3, 3)
    puzzle = set_up(
        district, {"lead": "L p", "main": "q"}, _to("q", "spur"), _to("p", "spur"), heads={"L": "to"}
    )
    first = plain_crew(puzzle).steps[0]
    assert first.errands == ("p to spur",)
    swapped = set_up(
        district, {"lead": "L p r"}, _to("r", "main"), _to("p", "spur"), heads={"L": "to"}
    )
    assert plain_crew(swapped).steps[0].errands == ("r to main",)


def test_two_at_once_if_none_can_be_done_alone() -> None:
    """Two cars that change places in spurs of one car each: neither can be done alone, both together can."""
    district = build(
        [track("lead", 5), track("mid", 1), track("end", 3), track("a", 1), track("b", 1)],
        [
            turnout("A", "lead.to", "mid.from", "a.from"),
            turnout("B", "mid.to", "end.from", "b.from"),
        ],
    )
    items = (_to("x", "b"), _to("y", "a"), _to("z", "end"))
    puzzle = set_up(district, {"lead": "L z", "a": "x", "b": "y"}, *items, heads={"L": "to"})
    result = plain_crew(puzzle)
    assert ("x to b", "y to a") in [step.errands for step in result.steps]
    _check(puzzle, result)


def test_cars_on_a_closed_dead_end_stand_near_the_way_in() -> None:
    """A spur closed to locomotives is much longer than its car.  The car that comes first is shoved against
    the one there, which stands at the way in, so that no idler is needed to have it out again.
    """
    pier = track("spur", Part(9, Marks(no_locomotives=True)))
    puzzle = set_up(
        spur_district(8, 4, pier),
        {"lead": "L x", "spur": "y"},
        _to("x", "spur"),
        _to("y", "main"),
        heads={"L": "to"},
    )
    result = plain_crew(puzzle)
    assert result.plan is not None
    (there,) = (placed for placed in result.plan.start if "y" in placed.vehicles)
    assert there.offset == 0
    _check(puzzle, result)


def test_what_cannot_be_done_is_named() -> None:
    """A spur too short for its car: the other item is done, this one is left and named."""
    district = spur_district(8, 4, 1)
    items = (_to("x", "spur"), _to("y", "main"))
    puzzle = set_up(district, {"lead": "L y x"}, *items, heads={"L": "to"}, lengths={"x": 2})
    result = plain_crew(puzzle)
    assert result.plan is None and result.left == ("x to spur",)
    assert [step.errands for step in result.steps] == [("y to main",)]


def test_a_train_is_made_up_last() -> None:
    """Cars to be picked up are brought one by one, then the train is made up; the last step has no errand."""
    train = Train("L", "lead", frozenset({"x", "y"}), locomotive_at="from")
    puzzle = set_up(
        spur_district(8, 4, 3), {"lead": "L", "main": "x", "spur": "y"}, train, heads={"L": "to"}
    )
    result = plain_crew(puzzle)
    assert [step.errands for step in result.steps] == [("x to lead",), ("y to lead",), ()]
    _check(puzzle, result)


def test_any_car_of_a_kind_is_an_errand_each() -> None:
    """Two of three hoppers are fetched one by one, and only two."""
    puzzle = set_up(
        spur_district(8, 4, 3),
        {"lead": "L p", "main": "q r"},
        AnyCars("hopper", 2, Place("spur")),
        heads={"L": "to"},
        kinds={"p": "hopper", "q": "hopper", "r": "hopper"},
    )
    result = plain_crew(puzzle)
    assert [step.errands for step in result.steps] == [("1 hopper to spur",)] * 2
    _check(puzzle, result)


def test_running_around_is_seen_in_the_replay() -> None:
    """The locomotive that comes to the other end of its car has run around; one that shoves it has not."""
    district = run_around_district()
    around = Train("L", "west", frozenset({"c"}), locomotive_at="from")
    for item, expected in ((around, True), (_to("c", "main"), False)):
        puzzle = set_up(district, {"west": "c L"}, item, heads={"L": "to"})
        solution = solve(puzzle, tie_standings=0)
        assert solution.plan is not None
        assert runs_around(puzzle, replay(puzzle, solution.plan)) is expected


def _why_not_runs(puzzle: Puzzle) -> str | None:
    return applies(Rules(pack(puzzle)))


def _fixed(puzzle: Puzzle) -> Puzzle | None:
    """The set-up with every string at the place where a plan found it."""
    solution = solve(puzzle, search="longest runs", tie_standings=0, seconds=5)
    if solution.plan is None:
        return None
    at = {string.vehicles[0]: string for string in solution.plan.start}
    starts = []
    for string in puzzle.start.strings:
        placed = at.get(string.vehicles[0])
        if placed is None or placed.ways[0].sign < 0 or placed.ways[0].cell.index:
            return None
        starts.append(replace(string, fixed_at=placed.offset))
    return replace(puzzle, start=replace(puzzle.start, strings=tuple(starts)))


def test_exact_places_at_the_start_change_nothing_that_longest_runs_see() -> None:
    """With every string at an exact place, longest runs and the law itself have the same minimum, where the
    crew asks longest runs (its places do not matter).
    """
    compared = 0
    for seed in range(100, 150):
        puzzle = _drawn(seed)
        fixed = None if puzzle is None else _fixed(puzzle)
        if fixed is None or _why_not_runs(fixed) is not None:
            continue
        by_runs = solve(fixed, search="longest runs", tie_standings=0)
        law = solve(fixed, search="compiled events", tie_standings=0, seconds=3)
        if law.verdict is Verdict.PROVED:
            assert by_runs.lower_bound == law.lower_bound, seed
            compared += 1
    assert compared >= 8


def test_where_places_matter() -> None:
    """A car off its spot on the very track of it, and a car at an exact place on a track closed in part."""
    spotted = spur_district(8, 4, track("spur", 4, spots={"a": 1, "b": 3}))
    for spot, matters in (("a", False), ("b", True)):
        puzzle = set_up(
            spotted, {"lead": "L", "spur": "c"}, _to("c", "spur", spot), heads={"L": "to"}, spots={"c": "a"}
        )
        assert (_why_not_runs(puzzle) is not None) is matters
    closed = spur_district(8, 4, track("spur", Part(2), Part(2, Marks(no_locomotives=True))))
    puzzle = set_up(closed, {"lead": "L", "spur": "c"}, LocomotiveEnds("L", "lead"), heads={"L": "to"})
    assert _why_not_runs(puzzle) is None
    at_place = replace(puzzle.start.strings[1], fixed_at=3)
    fixed = replace(puzzle.start, strings=(puzzle.start.strings[0], at_place))
    assert _why_not_runs(replace(puzzle, start=fixed)) is not None
