"""The census and the number of minimum plans: by hand, against brute force, and at the command line."""

from __future__ import annotations

import json
import re
from argparse import Namespace
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from switchsolve.cli import census as census_screen
from switchsolve.cli import main
from switchsolve.cli.codes import BAD_FILE, GAVE_UP, IMPOSSIBLE, INTERRUPTED, OK, USAGE
from switchsolve.counting import Refused, by_ends, count_plans, take_census
from switchsolve.counting.census import METHODS
from switchsolve.counting.standings import Standings
from switchsolve.district import Limits, Marks, Part
from switchsolve.packing import pack
from switchsolve.plan import Verdict
from switchsolve.puzzle import Puzzle
from switchsolve.puzzlefile import dumps, load, loads
from switchsolve.rules import Rules
from switchsolve.search.readying import make_ready
from switchsolve.solving import solve
from switchsolve.work import AnyCars, EndsIn, LocomotiveEnds, Place, Train
from tests.brute_counting import brute_census, brute_plans, histogram, tiny
from tests.brute_force import TooManyStates
from tests.builders import (
    balloon_district,
    build,
    oval_district,
    run_around_district,
    set_up,
    spur_district,
    table_district,
    track,
)
from tests.changes import mirrored, renamed

ROOT = Path(__file__).parent.parent
SPUR = str(ROOT / "puzzles" / "first_spur.toml")
FACING = str(ROOT / "puzzles" / "cask_lane_facing.toml")
TWO_ENGINES = str(ROOT / "puzzles" / "coast_two_engines.toml")


def _spotted(car: str, place: str) -> EndsIn:
    return EndsIn(car, (Place(place),))


def _light(**where: str) -> Puzzle:
    """A locomotive alone on lead, turnout, main and spur, wanted on the spur."""
    return set_up(spur_district(), {"main": "A"}, LocomotiveEnds("A", "spur", **where), heads={"A": "to"})


# -- by hand -----------------------------------------------------------------------------------------


@pytest.mark.parametrize("method", METHODS)
def test_a_locomotive_alone(method: str) -> None:
    """On three tracks, heading either way: 0 moves on the spur, 1 from the lead, 2 from the other leg."""
    census = take_census(_light(), method=method)
    assert (census.at, census.never, census.farthest, census.standings) == ((2, 2, 2), 0, 2, 6)


@pytest.mark.parametrize("method", METHODS)
def test_it_cannot_turn(method: str) -> None:
    """Wanted heading to the bumper, the three standings in which it heads the other way never get there."""
    census = take_census(_light(heads="to"), method=method)
    assert (census.at, census.never) == ((1, 1, 1), 3)


def test_a_balloon_loop_turns_it() -> None:
    """With a balloon loop every standing gets there; round the loop and out again is one move."""
    wanted = LocomotiveEnds("A", "lead", "to")
    census = take_census(set_up(balloon_district(), {"lead": "A"}, wanted, heads={"A": "to"}))
    # on the lead: heads to `to` 0, else 1 (round the loop); in the loop, ahead out of either end: 1
    assert census.never == 0
    assert census.standings == 4
    assert census.at[0] == 1


def test_like_cars_are_one_sort() -> None:
    """A locomotive and two like cars stand in 3 orders; if one car is a dead locomotive, in 6."""
    district = build([track("yard", 3)])
    items = (_spotted("c", "yard"), _spotted("d", "yard"))
    alike = set_up(district, {"yard": "A c d"}, *items, heads={"A": "to"})
    assert take_census(alike).standings == 2 * 3
    unlike = set_up(district, {"yard": "A c d"}, *items, heads={"A": "to"}, dead="d")
    assert take_census(unlike).standings == 2 * 6


def test_what_does_not_fit_is_no_standing() -> None:
    """A locomotive of 3 and a car of 2 on tracks of 4 and 3, not joined: each has a track to itself."""
    district = build([track("one", 4), track("two", 3)])
    puzzle = set_up(
        district, {"one": "A", "two": "c"}, _spotted("c", "two"), heads={"A": "to"}, lengths={"A": 3, "c": 2}
    )
    # A on one and c on two, or A on two and c on one; A heads either way
    census = take_census(puzzle)
    assert (census.standings, census.at, census.never) == (4, (2,), 2)


def test_a_closed_track_takes_cars_only() -> None:
    """Lead and closed pier: the locomotive is on the lead only, the car ahead of it, behind it, or on the
    pier.
    """
    tracks = [track("lead", 6), track("pier", 2, marks=Marks(no_locomotives=True))]
    district = build(tracks, [], links=[("lead.to", "pier.from")])
    puzzle = set_up(district, {"lead": "A c"}, _spotted("c", "pier"), heads={"A": "to"})
    # A on the lead with c ahead or behind, or c on the pier; A heads either way
    census = take_census(puzzle)
    assert census.standings == 2 * 3
    assert census.at == (2, 2)
    assert census.never == 2  # c behind: A cannot go round it


def test_a_string_stands_on_either_side_of_a_closed_part() -> None:
    """The locomotive between two long cars may be on this side of a closed part, or beyond it."""
    closed = Part(1, Marks(no_locomotives=True))
    district = build([track("yard", Part(5), closed, Part(5))])
    puzzle = set_up(district, {"yard": "c A d"}, heads={"A": "to"}, lengths={"c": 4, "d": 4})
    rules = Rules(pack(puzzle, starts_anywhere=True))
    cells = Standings(rules).lanes[0].cells
    row = [2 * rules.p.class_of[name] for name in "cAd"]
    whole = [one for one in rules.laid([(cells, [tuple(row)])]) if len(one.strings[0].ways) == 3]
    assert len(whole) == 2


# -- plans, by hand ----------------------------------------------------------------------------------


def test_one_way_to_go() -> None:
    """From the main out to the lead and back to the spur: one plan of 2 moves, already under way or not."""
    counted = count_plans(_light())
    assert (counted.moves, counted.plans) == (2, 1)
    puzzle = _light()
    towards = replace(puzzle, start=replace(puzzle.start, under_way={"A": "from"}))
    assert (count_plans(towards).moves, count_plans(towards).plans) == (2, 1)


def test_two_ways_round() -> None:
    """Along the main or the side of a run-around: two plans of one move."""
    puzzle = set_up(run_around_district(), {"west": "A"}, LocomotiveEnds("A", "east"), heads={"A": "to"})
    counted = count_plans(puzzle)
    assert (counted.moves, counted.plans) == (1, 2)


def test_a_longer_run_is_another_plan() -> None:
    """Shove out to the lead, pull in to the main.  On the lead the car stays on the near part, or goes on
    to the far one by itself, or with the locomotive, which then enters the near one again: three plans.
    """
    district = spur_district(lead=track("lead", Part(3), Part(3)), main=2, spur=2)
    puzzle = set_up(district, {"spur": "c A"}, _spotted("c", "main"), heads={"A": "from"})
    counted = count_plans(puzzle)
    assert (counted.moves, counted.plans) == (2, 3)
    assert brute_plans(puzzle) == (2, 3)


def test_no_plan_is_no_plan() -> None:
    """The locomotive stays beyond the car, and a main of one unit does not hold both."""
    puzzle = set_up(spur_district(main=1), {"spur": "c A"}, _spotted("c", "main"), heads={"A": "to"})
    assert brute_plans(puzzle) is None
    assert (count_plans(puzzle).moves, count_plans(puzzle).plans) == (None, 0)


# -- against brute force -----------------------------------------------------------------------------

SEEDS = (2, 6, 23, 31, 39, 63, 101, 102, 104, 108, 109, 110, 111, 113, 116, 121, 125, 128, 130)


@pytest.mark.parametrize("seed", SEEDS)
def test_census_against_brute_force(seed: int) -> None:
    """On small random districts: every distance as often as by brute force, in all features dealt."""
    puzzle, features = tiny(seed, 1_500)
    census = take_census(puzzle)
    assert (census.at, census.never) == histogram(brute_census(puzzle)), sorted(features)


@pytest.mark.parametrize("seed", (23, 102, 116))
def test_all_methods_agree(seed: int) -> None:
    """Every method that is exact for a district gives the same census; two at least are."""
    puzzle, _ = tiny(seed, 1_500)
    found = []
    for method in METHODS:
        try:
            found.append(take_census(puzzle, method=method))
        except ValueError:
            continue
    assert len(found) >= 2
    assert len({(census.at, census.never) for census in found}) == 1


@pytest.mark.parametrize("method", ("compiled events backwards", "compiled events forwards"))
def test_compiled_census_against_brute_force(method: str) -> None:
    """Compiled, each way where it is exact: every distance as often as by brute force."""
    counted = 0
    for seed in SEEDS:
        puzzle, features = tiny(seed, 1_500)
        try:
            census = take_census(puzzle, method=method)
        except ValueError:
            continue
        assert (census.at, census.never) == histogram(brute_census(puzzle)), (seed, sorted(features))
        counted += 1
    assert counted > 8


def test_no_train_is_coupled_to_a_front_that_does_not_couple() -> None:
    """The car ahead of a rear-only locomotive that cannot get round it never leaves with it: 2 of 4 standings
    are done, from the others it cannot be.
    """
    district = build([track("yard", 4)], [])
    leaves = Train("A", "yard", frozenset({"c"}))
    puzzle = set_up(district, {"yard": "c A"}, leaves, heads={"A": "to"}, rear_only="A")
    for method in ("compiled events backwards", "compiled events forwards", "events backwards"):
        census = take_census(puzzle, method=method)
        assert (census.at, census.never) == ((2,), 2), method


def test_what_gets_long_is_compiled() -> None:
    """Two locomotives on three tracks: the compiled search takes over, solve says the same of the farthest
    standing, and what does not fit in memory is refused.
    """
    puzzle = load(TWO_ENGINES)
    make_ready(None)
    census = take_census(puzzle)
    assert census.method == "compiled events backwards"
    assert census.example is not None
    assert solve(census.example).lower_bound == census.farthest
    with pytest.raises(Refused, match=r"distances: stopped by the limit of memory \(\d+ MiB\)"):
        take_census(puzzle, most_bytes=1 << 20)


def test_too_many_ends_to_go_back_from(monkeypatch: pytest.MonkeyPatch) -> None:
    """What is counted does not hang on how soon the compiled search was ready: the plain one goes on."""
    puzzle = load(str(ROOT / "puzzles" / "marrow_point_turntable.toml"))
    make_ready(None)
    compiled = take_census(puzzle)
    assert compiled.method == "compiled events backwards"
    monkeypatch.setattr(by_ends, "_MOST_ENDS", 1)
    with pytest.raises(Refused, match="more than 1 standings in which the work is done"):
        take_census(puzzle, method="compiled events backwards")
    plain = take_census(puzzle)
    assert plain.method == "events backwards"
    assert (plain.at, plain.never) == (compiled.at, compiled.never)


def test_asked_a_few_at_a_time(monkeypatch: pytest.MonkeyPatch) -> None:
    """How many clear standings are asked about at a time makes no difference."""
    puzzle = load(str(ROOT / "puzzles" / "marrow_point_turntable.toml"))
    whole = take_census(puzzle, method="compiled events backwards")
    monkeypatch.setattr(by_ends, "_AT_A_TIME", 7)
    assert take_census(puzzle, method="compiled events backwards") == whole


def test_distances_are_what_solve_says() -> None:
    """The example of a farthest standing takes as many moves as the census says: proved by solve."""
    for seed in (23, 104, 108):
        census = take_census(tiny(seed, 1_500)[0])
        assert census.example is not None
        solution = solve(census.example)
        assert (solution.verdict, solution.lower_bound) == (Verdict.PROVED, census.farthest)


@pytest.mark.parametrize("seed", (2, 6, 13, 23, 24, 25, 31, 32, 36, 41, 52, 57))
def test_plans_against_brute_force(seed: int) -> None:
    """On small random districts: as many different plans as brute force reads, unit by unit."""
    puzzle, features = tiny(seed, 5_000)
    counted = count_plans(puzzle)
    assert (counted.moves, counted.plans) == (brute_plans(puzzle) or (None, 0)), sorted(features)


@pytest.mark.parametrize("seed", (6, 23))
def test_told_otherwise_it_counts_the_same(seed: int) -> None:
    """The mirror image, and other names for the vehicles, change no number."""
    puzzle, _ = tiny(seed, 1_500)
    census, plans = take_census(puzzle), count_plans(puzzle)
    for other in (mirrored(puzzle), renamed(puzzle)):
        assert (take_census(other).at, take_census(other).never) == (census.at, census.never)
        assert count_plans(other) == plans


def test_brute_force_gives_up_aloud() -> None:
    """More placements than allowed are not counted in part."""
    with pytest.raises(TooManyStates):
        brute_census(_light(), 3)


# -- refused -----------------------------------------------------------------------------------------


@pytest.mark.parametrize("method", METHODS)
def test_too_many_standings_are_refused(method: str) -> None:
    """Six standings are counted where six are allowed; where five are, none is."""
    assert take_census(_light(), most=6, method=method).standings == 6
    with pytest.raises(Refused, match="more than 5 clear standings"):
        take_census(_light(), most=5, method=method)


def test_too_long_a_search_is_refused() -> None:
    """The standings of the search are counted too, and so are those of the count of plans."""
    puzzle = replace(load(FACING), title="")
    with pytest.raises(Refused, match="the fewest moves: more than 20 standings"):
        count_plans(puzzle, most=20)
    with pytest.raises(Refused, match="plans of 3 moves can come to: more than 2,000 standings"):
        count_plans(puzzle, most=2_000)
    with pytest.raises(Refused, match="what can be reached: more than 6 standings"):
        take_census(_light(), most=6, method="events backwards", looks=1)


@pytest.mark.parametrize(
    ("more", "where"),
    [
        ((), r"clear standings: .* \(256 listed"),
        (("--plans",), r"the fewest moves: .* \(64 standings looked at"),
    ],
    ids=["census", "plans"],
)
def test_a_limit_of_seconds(more: tuple[str, ...], where: str, capsys: pytest.CaptureFixture[str]) -> None:
    """Time for nothing: refused, with what was being done; no number."""
    path = str(ROOT / "puzzles" / ("millbrook_wye.toml" if more else "coast_two_engines.toml"))
    assert main(["census", path, *more, "--limit-seconds", "0.000001"]) == GAVE_UP
    out = capsys.readouterr().out
    assert out.startswith("Refused: ") and re.search(where, out) and "the limit of 1e-06 seconds" in out


@pytest.mark.parametrize(
    ("puzzle", "why"),
    [
        (
            set_up(spur_district(), {"main": "A", "lead": "B"}, heads={"A": "to", "B": "to"}),
            "several locomotives can take turns",
        ),
        (set_up(table_district(), {"lead": "A"}, heads={"A": "to"}), "a table can be lined to and fro"),
        (set_up(oval_district(), {"north": "A"}, heads={"A": "to"}), "a run can go round and round"),
    ],
)
def test_no_end_of_plans_is_refused(puzzle: Puzzle, why: str) -> None:
    """Where plans have no number, that is said, and why."""
    with pytest.raises(Refused, match=why):
        count_plans(puzzle)


def test_a_method_that_is_not_exact_is_refused() -> None:
    """With limits neither longest runs nor a search backwards; an unknown method never."""
    puzzle = set_up(spur_district(limits=Limits(most_cars=1)), {"lead": "A c d"}, heads={"A": "to"})
    for method in ("longest runs", "events backwards", "compiled events backwards"):
        with pytest.raises(ValueError, match="not exact here: limits"):
            take_census(puzzle, method=method)
    with pytest.raises(ValueError, match="no method is called"):
        take_census(puzzle, method="guess")
    assert take_census(puzzle).method.removeprefix("compiled ") == "events forwards"


def test_no_example_where_the_crew_chooses() -> None:
    """Cars left over by an any-car item go back to where the file starts them: no other start says that."""
    puzzle = set_up(spur_district(), {"lead": "A c d"}, AnyCars("car", 1, Place("spur")), heads={"A": "to"})
    census = take_census(puzzle)
    assert census.farthest and census.example is None


# -- the command line --------------------------------------------------------------------------------


def _json(capsys: pytest.CaptureFixture[str], *arguments: str) -> tuple[int, dict[str, Any]]:
    code = main(["census", "--json", *arguments])
    return code, json.loads(capsys.readouterr().out)


def test_the_screen(capsys: pytest.CaptureFixture[str]) -> None:
    """A row for each distance, the last one for never; all within 80 columns, nothing on stderr."""
    assert main(["census", SPUR]) == OK
    told = capsys.readouterr()
    lines = [line.split() for line in told.out.splitlines()]
    rows = lines[lines.index(["moves", "away", "standings", "share"]) + 1 :]
    # locomotive and car: on the lead and tail in either order, and apart; heading either way
    assert rows[0][0] == "0" and ["never", "8", "40.0%"] in rows
    assert ["20", "clear", "standings."] in lines
    assert max(map(len, told.out.splitlines())) <= 80 and not told.err


def test_the_json_answer(capsys: pytest.CaptureFixture[str]) -> None:
    """The documented keys, and no other; the numbers add up; without --plans no plans."""
    code, answer = _json(capsys, SPUR)
    assert code == OK
    assert sum(answer["at_distance"]) + answer["never"] == answer["clear_standings"] == 20
    assert answer["farthest"] == len(answer["at_distance"]) - 1
    assert (answer["refused"], answer["moves"], answer["plans"]) == (None, None, None)
    assert loads(answer["example"]).stated_minimum == answer["farthest"]
    developers = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
    table = developers.split("| key of the census | type | meaning |")[1].split("\n\n")[0]
    told = {word.strip("` ") for row in table.splitlines()[2:] for word in row.split("|")[1].split(",")}
    assert told == set(answer)


def test_the_plans(capsys: pytest.CaptureFixture[str]) -> None:
    """The one plan of the smallest district; as JSON too."""
    assert main(["census", SPUR, "--plans"]) == OK
    assert "1 minimum plan of 1 move." in capsys.readouterr().out
    code, answer = _json(capsys, SPUR, "--plans")
    assert (code, answer["moves"], answer["plans"], answer["clear_standings"]) == (OK, 1, 1, None)


def _too_short(folder: Path) -> str:
    """The smallest district with its spur cut to less than its car."""
    puzzle = load(SPUR)
    tracks = tuple(
        replace(one, parts=(Part(5 * puzzle.grid),)) if one.name == "ice house" else one
        for one in puzzle.district.tracks
    )
    path = folder / "short.toml"
    path.write_text(dumps(replace(puzzle, district=replace(puzzle.district, tracks=tracks))), "utf-8")
    return str(path)


def test_plans_of_what_is_impossible(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """No plan: said as such, with the code of impossible."""
    path = _too_short(tmp_path)
    assert main(["census", path, "--plans"]) == IMPOSSIBLE
    assert "Impossible: no plan exists (proved)." in capsys.readouterr().out
    code, answer = _json(capsys, path, "--plans")
    assert (code, answer["moves"], answer["plans"]) == (IMPOSSIBLE, None, 0)


def test_the_example_is_a_file_to_solve(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """What --example prints is a puzzle file, and solving it takes the moves that it states."""
    assert main(["census", SPUR, "--example"]) == OK
    text = capsys.readouterr().out
    path = tmp_path / "farthest.toml"
    path.write_text(text, encoding="utf-8")
    puzzle = load(str(path))
    assert dumps(puzzle) == text
    assert solve(puzzle).lower_bound == puzzle.stated_minimum == 4


def test_refused_at_the_command_line(capsys: pytest.CaptureFixture[str]) -> None:
    """More than --most, or no end of plans: the reason, and the code of giving up; no number."""
    assert main(["census", SPUR, "--most", "19"]) == GAVE_UP
    assert capsys.readouterr().out == "Refused: there are more than 19 clear standings.\n"
    code, answer = _json(capsys, TWO_ENGINES, "--plans")
    assert code == GAVE_UP and answer["refused"].startswith("there is no end of different plans")
    assert {value for key, value in answer.items() if key not in ("refused", "title")} == {None}


@pytest.mark.parametrize(
    "arguments",
    [["--most", "0"], ["--limit-seconds", "0"], ["--plans", "--example"], ["--json", "--example"]],
)
def test_wrong_arguments(arguments: list[str], capsys: pytest.CaptureFixture[str]) -> None:
    """Nothing to count, or two answers at once: wrong arguments."""
    try:
        code = main(["census", SPUR, *arguments])
    except SystemExit as stopped:
        code = int(str(stopped.code))
    assert code == USAGE
    told = capsys.readouterr()
    assert told.err and not told.out


def test_a_broken_file(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """A file that is badly written has its problems told, with the code for it."""
    path = tmp_path / "broken.toml"
    path.write_text('unit = "inch"\n', encoding="utf-8")
    assert main(["census", str(path)]) == BAD_FILE
    assert "inch" in capsys.readouterr().err


def test_interrupted(monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> None:
    """Ctrl-C: there is no part of a number to show."""

    def interrupted(puzzle: Puzzle, **_: object) -> Namespace:
        raise KeyboardInterrupt

    monkeypatch.setattr(census_screen, "take_census", interrupted)
    assert main(["census", SPUR]) == INTERRUPTED
    told = capsys.readouterr()
    assert told.err == "interrupted\n" and not told.out


def test_no_farthest_standing_to_print(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """From no standing can the work be done: the screen says so, and --example refuses."""
    path = _too_short(tmp_path)
    assert main(["census", path]) == OK
    assert "From no standing can the work be done." in capsys.readouterr().out
    assert main(["census", path, "--example"]) == GAVE_UP
    assert "from no standing can the work be done" in capsys.readouterr().err


def test_progress_is_told() -> None:
    """A count that takes long says what it looks at, and how many."""
    lines: list[str] = []
    take_census(load(FACING), tell=lines.append)
    assert any(line.startswith("distances: ") and line.endswith("standings looked at") for line in lines)
