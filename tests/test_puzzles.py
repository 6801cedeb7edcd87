"""The puzzle files: each loads, comes back from its own text, and has the minimum that it states.

The stated minima are this project's own proofs: the search proves each again, the referee replays the plan.
What the comments claim beyond that (what a crossing, an idler or a limit costs) is tested here too.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from dataclasses import replace
from pathlib import Path

import pytest

from switchsolve.district import District, KeepClear, Marks, Track, Way
from switchsolve.explaining import explain
from switchsolve.lengthening import lengthened
from switchsolve.plan import Solution, Verdict
from switchsolve.puzzle import Puzzle, Start
from switchsolve.puzzlefile import dumps, load, loads
from switchsolve.referee import replay
from switchsolve.solving import solve
from switchsolve.work import AnyCars, DoNotTouch, EndsIn, Hold, LocomotiveEnds, Train, Work
from tests.files import puzzle_files

FOLDER = Path(__file__).parent.parent / "puzzles"
FILES = [path.stem for path in puzzle_files()]
PUZZLES = {name: load(FOLDER / f"{name}.toml") for name in FILES}
PLACES = (
    "Cask Lane",
    "Coast",
    "Ferry Slip",
    "Glasshouse Wharf",
    "Marrow Point",
    "Millbrook",
    "Quarry Hill",
    "Upland",
)


def _solved(puzzle: Puzzle) -> Solution:
    return solve(puzzle, seconds=300, tie_standings=0)


def _moves(puzzle: Puzzle) -> int:
    solution = _solved(puzzle)
    assert solution.verdict == Verdict.PROVED and solution.counts is not None
    return solution.counts.moves


# -- every file ------------------------------------------------------------------------------------------


def test_there_are_enough_files() -> None:
    """At least fourteen files, and a file for each place of the railroad."""
    assert len(FILES) >= 14
    for place in PLACES:
        assert any(puzzle.title.startswith(place) for puzzle in PUZZLES.values()), place


@pytest.mark.parametrize("name", FILES)
def test_round_trip(name: str) -> None:
    """What is written from a loaded file loads back as the same set-up."""
    assert loads(dumps(PUZZLES[name])) == PUZZLES[name]


@pytest.mark.parametrize("name", FILES)
def test_tells_what_it_shows(name: str) -> None:
    """A file begins with a comment for the designer, has a title, and states its verdict."""
    assert (FOLDER / f"{name}.toml").read_text(encoding="utf-8").startswith("# ")
    assert PUZZLES[name].title
    assert PUZZLES[name].stated_verdict in (Verdict.PROVED, Verdict.IMPOSSIBLE)


@pytest.mark.parametrize("name", FILES)
def test_vehicles_are_lettered_for_the_roads(name: str) -> None:
    """Every vehicle is of the Saltmarsh & Inland or of a road that it meets; the locomotives are its own."""
    for vehicle in PUZZLES[name].vehicles:
        assert re.fullmatch(r"(S&I|QLV|THB|OXCC) \d+", vehicle)
    assert all(locomotive.name.startswith("S&I ") for locomotive in PUZZLES[name].locomotives)


@pytest.mark.parametrize("name", FILES)
def test_stated_minimum(name: str) -> None:
    """The solver proves exactly what the file states, and the referee counts as many moves in its plan."""
    puzzle = PUZZLES[name]
    solution = _solved(puzzle)
    assert (solution.verdict, solution.lower_bound) == (puzzle.stated_verdict, puzzle.stated_minimum)
    if solution.verdict == Verdict.PROVED:
        assert solution.plan is not None
        assert replay(puzzle, solution.plan).counts.moves == puzzle.stated_minimum


# -- the set as a whole ----------------------------------------------------------------------------------


def _entering(puzzle: Puzzle) -> Iterator[Way]:
    """The ways in from each entrance."""
    for track in puzzle.district.tracks:
        out = _outwards(track)
        yield from (out[end].reverse() for end in track.entrances)


def _outwards(track: Track) -> dict[str, Way]:
    cells = list(District((track,)).cells())
    return {"from": Way(cells[0], -1), "to": Way(cells[-1], 1)}


def _reached(puzzle: Puzzle, no_reversal_on: str | None) -> set[Way]:
    """All ways that can be run from the entrances, with reversals but on one track (``None``: with none)."""
    lined = {table.name: table.lined for table in puzzle.district.tables}
    found = set(_entering(puzzle))
    left = list(found)
    while left:
        way = left.pop()
        following = set(puzzle.district.ahead(way, lined))
        if no_reversal_on is not None and way.cell.place != no_reversal_on:
            following.add(way.reverse())
        left += following - found
        found |= following
    return found


def _has_switchback(puzzle: Puzzle) -> bool:
    """Some track is reached only by reversing in a spur."""
    reached = {way.cell.place for way in _reached(puzzle, "")}
    return any(
        reached - {way.cell.place for way in _reached(puzzle, track.name)}
        for track in puzzle.district.tracks
        if _is_spur(puzzle, track)
    )


def _is_spur(puzzle: Puzzle, track: Track) -> bool:
    lined = {table.name: table.lined for table in puzzle.district.tables}
    ends = _outwards(track).values()
    return not track.entrances and any(not puzzle.district.ahead(way, lined) for way in ends)


def _turns_without_table(puzzle: Puzzle) -> bool:
    """The locomotive must come back to its track the other way around; no table, and no loop that turns it
    without a reversal: a wye.
    """
    where = {vehicle: string.track for string in puzzle.start.strings for vehicle in string.vehicles}
    is_turned = any(
        isinstance(item, LocomotiveEnds)
        and item.track == where[item.locomotive]
        and item.heads not in (None, puzzle.start.heads[item.locomotive])
        for item in puzzle.work.items
    )
    straight_on = _reached(puzzle, None)
    comes_back = any(way.reverse() in straight_on for way in _entering(puzzle))
    return is_turned and not puzzle.district.tables and not comes_back


def _has(kind: type) -> Callable[[Puzzle], bool]:
    return lambda puzzle: any(isinstance(item, kind) for item in puzzle.work.items)


def _marks(puzzle: Puzzle) -> Iterator[Marks]:
    yield from (part.marks for track in puzzle.district.tracks for part in track.parts)
    yield from (junction.marks for junction in puzzle.district.junctions)


def _is_caboose_last(puzzle: Puzzle) -> bool:
    kinds = {car.name: car.kind for car in puzzle.cars}
    return any(
        isinstance(item, Train) and item.last is not None and kinds[item.last] == "caboose"
        for item in puzzle.work.items
    )


def _occupied(puzzle: Puzzle) -> bool:
    """Six to eight cars, most tracks with cars on them."""
    tracks = {string.track for string in puzzle.start.strings if string.vehicles}
    return 6 <= len(puzzle.cars) <= 8 and 2 * len(tracks) > len(puzzle.district.tracks)


FEATURES: dict[str, Callable[[Puzzle], bool]] = {
    "one spur and one car": lambda p: len(p.cars) == 1 and len(p.district.junctions) == 1,
    "six to eight cars, most tracks occupied": _occupied,
    "a switchback": _has_switchback,
    "a float closed to locomotives, with an idler": lambda p: (
        any(marks.no_locomotives for marks in _marks(p)) and any(car.kind == "idler flat" for car in p.cars)
    ),
    "a table": lambda p: bool(p.district.tables),
    "a wye": _turns_without_table,
    "impossible": lambda p: p.stated_verdict == Verdict.IMPOSSIBLE,
    "two locomotives": lambda p: len(p.locomotives) == 2,
    "a caboose last": _is_caboose_last,
    "a hold": _has(Hold),
    "do not touch": _has(DoNotTouch),
    "any of a kind": _has(AnyCars),
    "set to any of": lambda p: any(isinstance(i, EndsIn) and len(i.places) > 1 for i in p.work.items),
    "a pick-up": lambda p: any(isinstance(item, Train) and bool(item.cars) for item in p.work.items),
    "kept clear always": lambda p: any(marks.keep_clear == KeepClear.ALWAYS for marks in _marks(p)),
    "kept clear at the end": lambda p: any(marks.keep_clear == KeepClear.AT_END for marks in _marks(p)),
    "a limit": lambda p: any(bool(marks.limits) for marks in _marks(p)),
    "under way": lambda p: bool(p.start.under_way),
    "millimeters": lambda p: p.unit == "mm",
}


@pytest.mark.parametrize("feature", FEATURES)
def test_set_covers(feature: str) -> None:
    """Some file of the set has the feature, and not all have it (so that the check can fail)."""
    having = [name for name, puzzle in PUZZLES.items() if FEATURES[feature](puzzle)]
    assert 0 < len(having) < len(FILES)


def test_which_files_have_a_switchback_or_a_wye() -> None:
    """The two features that are found by looking at the rail are found in just the files meant for them."""
    switchbacks = {"glasshouse_switchback", "quarry_hill_run_around", "quarry_hill_three"}
    switchbacks |= {"glasshouse_wharf", "quarry_hill_branch", "design_boat_yard"}
    assert {name for name, puzzle in PUZZLES.items() if _has_switchback(puzzle)} == switchbacks
    assert {name for name, puzzle in PUZZLES.items() if _turns_without_table(puzzle)} == {"millbrook_wye"}


def test_standards_are_shown() -> None:
    """At least two files show the client's own standards."""
    assert sum(puzzle.standards.car is not None for puzzle in PUZZLES.values()) >= 2


# -- what the comments claim -----------------------------------------------------------------------------


def test_facing_costs_more_than_trailing() -> None:
    """The same vehicles, start and work: the facing spur takes more moves than the trailing one."""
    facing, trailing = PUZZLES["cask_lane_facing"], PUZZLES["cask_lane_trailing"]
    assert (facing.cars, facing.locomotives) == (trailing.cars, trailing.locomotives)
    assert (facing.start, facing.work) == (trailing.start, trailing.work)
    assert facing.stated_minimum is not None and trailing.stated_minimum is not None
    assert facing.stated_minimum > trailing.stated_minimum


def test_impossible_is_explained() -> None:
    """The explanation names the tail and the locomotive's missing length: 5.5 + 0.1 in less 5 in of rail.

    With that lengthening the work can be done, with one grid unit less it cannot.
    """
    puzzle = PUZZLES["cask_lane_short_tail"]
    explanation = explain(puzzle)
    assert "Lane tail is 0.6 in short" in explanation.text
    found = explanation.lengthening
    assert found is not None
    locomotive = puzzle.locomotives[0]
    assert found.track == "Lane tail"
    assert found.extra == locomotive.length - puzzle.district.track("Lane tail").length
    assert _solved(lengthened(puzzle, found.track, found.extra)).verdict == Verdict.PROVED
    assert _solved(lengthened(puzzle, found.track, found.extra - 1)).verdict == Verdict.IMPOSSIBLE


def _unmarked(puzzle: Puzzle) -> Puzzle:
    tracks = tuple(
        replace(track, parts=tuple(replace(part, marks=Marks()) for part in track.parts))
        for track in puzzle.district.tracks
    )
    return replace(puzzle, district=replace(puzzle.district, tracks=tracks))


def test_crossing_costs_moves() -> None:
    """If Front Street might be blocked, the two cars would take 3 moves (pull by, run around, shove)."""
    puzzle = PUZZLES["cask_lane_crossing"]
    assert puzzle.stated_minimum == 5
    assert _moves(_unmarked(puzzle)) == 3


def test_street_in_the_yard_costs_nothing() -> None:
    """The yard's work takes as many moves if cars might be left on Front Street."""
    puzzle = PUZZLES["marrow_point_front_street"]
    assert _moves(_unmarked(puzzle)) == puzzle.stated_minimum


def test_grade_limit_triples_the_moves() -> None:
    """Without the limit the three cars go up in one train, in 2 moves; with it the moves are threefold."""
    puzzle = PUZZLES["quarry_hill_three"]
    assert puzzle.stated_minimum == 3 * _moves(_unmarked(puzzle)) == 6


def test_idler_saves_five_moves() -> None:
    """Without the idler flat the float can be worked too, but in five moves more."""
    puzzle = PUZZLES["ferry_slip_float"]
    assert puzzle.stated_minimum is not None
    assert _moves(_without(puzzle, "S&I 61")) == puzzle.stated_minimum + 5 == 13


def _without(puzzle: Puzzle, name: str) -> Puzzle:
    """The same set-up with one vehicle less."""
    strings = tuple(
        replace(string, vehicles=tuple(vehicle for vehicle in string.vehicles if vehicle != name))
        for string in puzzle.start.strings
        if string.vehicles != (name,)
    )
    heads = {vehicle: end for vehicle, end in puzzle.start.heads.items() if vehicle != name}
    items = (item for item in puzzle.work.items if not (isinstance(item, Hold) and item.car == name))
    return replace(
        puzzle,
        cars=tuple(car for car in puzzle.cars if car.name != name),
        locomotives=tuple(one for one in puzzle.locomotives if one.name != name),
        start=Start(strings, heads, puzzle.start.under_way),
        work=Work(tuple(items)),
    )


def test_both_locomotives_work() -> None:
    """Each of the two locomotives runs in the plan; the road engine by itself cannot do the work."""
    puzzle = PUZZLES["coast_two_engines"]
    plan = _solved(puzzle).plan
    assert plan is not None
    assert {run.locomotive for run in plan.runs} == {"S&I 21", "S&I 3"}
    alone = _without(puzzle, "S&I 3")
    assert [locomotive.name for locomotive in alone.locomotives] == ["S&I 21"]
    assert _solved(alone).verdict == Verdict.IMPOSSIBLE


def test_table_turns_the_locomotive() -> None:
    """The plan lines the table to another track."""
    counts = _solved(PUZZLES["marrow_point_turntable"]).counts
    assert counts is not None and counts.tables_turned >= 1


def test_wye_turns_the_locomotive_at_no_cost() -> None:
    """The exchange takes as many moves if the locomotive may head either way; without the far leg of the wye
    it cannot be turned.
    """
    puzzle = PUZZLES["millbrook_wye"]
    assert _moves(_any_heading(puzzle)) == puzzle.stated_minimum
    old = puzzle.district
    links = tuple(link for link in old.links if "far leg" not in {end.place for end in link})
    assert len(links) == len(old.links) - 2
    assert _solved(replace(puzzle, district=replace(old, links=links))).verdict == Verdict.IMPOSSIBLE


def _any_heading(puzzle: Puzzle) -> Puzzle:
    items = (
        replace(item, heads=None) if isinstance(item, LocomotiveEnds) else item for item in puzzle.work.items
    )
    return replace(puzzle, work=Work(tuple(items)))
