"""Why it takes so many moves: nuisances, the work without each of them, and tasks skipped."""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from switchsolve.cli import main
from switchsolve.cli import why as why_screen
from switchsolve.cli.codes import BAD_FILE, BEST_FOUND, IMPOSSIBLE, OK, USAGE
from switchsolve.district import District, KeepClear, Limits, Marks
from switchsolve.effort import trips_around
from switchsolve.flipping import flipped
from switchsolve.nuisances import Kind, Weighing, nuisances_of, weigh
from switchsolve.plan import Verdict
from switchsolve.puzzle import Puzzle
from switchsolve.puzzlefile import load
from switchsolve.referee import replay
from switchsolve.skipping import Task, absent, skipped, skipped_cars, tasks_of
from switchsolve.solving import solve
from switchsolve.work import AnyCars, EndsIn, Free, Hold, Place, Train, Work
from tests.brute_force import TooManyStates, brute_minimum
from tests.brute_search import Overflow
from tests.builders import build, set_up, spur_district, track, turnout
from tests.tiny_districts import tiny_puzzle

PUZZLES = Path(__file__).parent.parent / "puzzles"


def _to(car: str, name: str) -> EndsIn:
    return EndsIn(car, (Place(name),))


def _far_run_around(items: tuple[EndsIn, ...]) -> Puzzle:
    """West, a trailing spur a, a facing one f, a run-around at the far end; the train comes from west."""
    rails = {"west": 8, "one": 2, "two": 2, "a": 2, "f": 2, "main": 4, "side": 4, "east": 3}
    devices = [
        turnout("TA", "one.from", "west.to", "a.from"),
        turnout("TF", "one.to", "two.from", "f.from"),
        turnout("A", "two.to", "main.from", "side.from"),
        turnout("B", "east.from", "main.to", "side.to"),
    ]
    district = build([track(name, length) for name, length in rails.items()], devices)
    train = Train("L", "west", frozenset({"z"}))
    return set_up(district, {"west": "x y z L"}, *items, train, heads={"L": "to"})


# -- facts of the trade (common practice, no source) -------------------------------------------------------


def test_the_awkward_spur_costs_a_trip() -> None:
    """If the only run-around lies at the far end, a car for the one facing spur costs a trip there, the one
    for the trailing spur none; skipping it saves more than skipping the other. Its spur flipped saves, too.
    """
    both = _far_run_around((_to("x", "f"), _to("y", "a")))
    trips = {}
    for car, spur in (("x", "f"), ("y", "a")):
        alone = skipped_cars(both, {"x", "y"} - {car})
        plan = solve(alone).plan
        assert plan is not None
        trips[spur] = trips_around(alone, replay(alone, plan))
    assert trips["a"] == 0 < trips["f"]
    named = {one.name: one for one in nuisances_of(both) if one.kind in (Kind.FACING, Kind.SKIP)}
    assert named["f"].kind is Kind.FACING and "a" not in named
    left = {car: solve(named[car].without or both, tie_standings=0).lower_bound or 0 for car in "xy"}
    assert left["x"] < left["y"]
    alone = skipped_cars(both, {"y"})
    moves = [solve(one, tie_standings=0).lower_bound or 0 for one in (flipped(alone, "f"), alone)]
    assert moves[0] < moves[1] == solve(flipped(alone, "a"), tie_standings=0).lower_bound


def test_a_facing_spur_flipped_is_spotted_directly() -> None:
    """With its car behind, a locomotive runs around for a facing spur and not for the same one flipped."""
    facing = load(PUZZLES / "cask_lane_facing.toml")
    for puzzle, expected in ((facing, True), (flipped(facing, "cider works"), False)):
        plan = solve(puzzle).plan
        assert plan is not None and (trips_around(puzzle, replay(puzzle, plan)) > 0) is expected


# -- against brute force ---------------------------------------------------------------------------------


@pytest.mark.parametrize("seed", [0, 1, 4, 6, 10, 13])
def test_every_change_by_brute_force(seed: int) -> None:
    """On random districts: the moves as it is, and without each nuisance, are the true ones."""
    puzzle = tiny_puzzle(seed, 4_000)
    found = weigh(puzzle)
    asked = 0
    assert found.now.lower_bound == brute_minimum(puzzle)
    for one in found.weighed:
        if one.nuisance.without is not None:
            try:
                truth = brute_minimum(one.nuisance.without, most_states=60_000)
            except (Overflow, TooManyStates):
                continue
            asked += 1
            assert (one.moves, one.verdict is Verdict.IMPOSSIBLE) == (truth, truth is None), str(one.nuisance)
            if truth is not None and found.now.counts is not None:
                assert one.saved == found.now.counts.moves - truth
    assert asked


def test_longer_or_emptier_is_never_worse() -> None:
    """Where no rail is closed, a longer track or a car less costs no move (a law of the model)."""
    for name in ("millbrook_turn", "cask_lane_facing"):
        found = weigh(load(PUZZLES / f"{name}.toml"), seconds=60)
        harmless = set(Kind) - {Kind.FACING, Kind.TRAILING, Kind.SKIP}
        seen = [one.saved for one in found.weighed if one.nuisance.kind in harmless]
        assert seen and all(saved is None or saved >= 0 for saved in seen)


# -- which nuisances there are ---------------------------------------------------------------------------


def _marked_district() -> District:
    marks = Marks(True, frozenset({"hopper"}), KeepClear.AT_END, Limits(most_cars=2))
    return spur_district(8, 4, track("spur", 3, marks=marks), limits=Limits(longest=5))


def test_every_mark_and_limit_is_a_nuisance_of_its_own() -> None:
    """One track with four marks, and a limit on the district: five nuisances, each gone when removed."""
    puzzle = set_up(_marked_district(), {"lead": "L"}, heads={"L": "to"})
    found = {one.kind: one for one in nuisances_of(puzzle) if one.name in ("spur", "of the district")}
    marks = {}
    for kind in (Kind.KEEP_CLEAR, Kind.CLOSED, Kind.BARRED):
        without = found[kind].without
        assert without is not None
        marks[kind] = without.district.track("spur").parts[0].marks
    assert marks[Kind.KEEP_CLEAR].keep_clear is KeepClear.NO and marks[Kind.KEEP_CLEAR].no_locomotives
    assert not marks[Kind.CLOSED].no_locomotives and marks[Kind.CLOSED].barred == {"hopper"}
    assert not marks[Kind.BARRED].barred
    limited = [one.without.district for one in nuisances_of(puzzle) if one.without and one.kind is Kind.LIMIT]
    assert [bool(one.limits) for one in limited] == [True, False]
    assert [bool(one.track("spur").parts[0].marks.limits) for one in limited] == [False, True]


def test_a_track_is_named_once_by_what_it_is() -> None:
    """Tail, run-around and spur each under that name, and no second time as a track."""
    found = [one for one in nuisances_of(load(PUZZLES / "cask_lane_facing.toml")) if "short" in one.kind]
    assert [(one.kind, one.name) for one in found] == [
        (Kind.TAIL, "Lane tail"),
        (Kind.RUN_AROUND, "west street / east street / run-around"),
        (Kind.SPUR, "cider works"),
    ]


def test_what_may_be_no_help_is_left_out_with_the_reason() -> None:
    """Rail in the middle of a district with a closed track is not made longer."""
    found = {one.name: one for one in nuisances_of(load(PUZZLES / "glasshouse_switchback.toml"))}
    assert found["wharf track"].without is None and "closed" in found["wharf track"].left_out


def test_facing_is_as_the_locomotive_comes() -> None:
    """Of the two spurs of Millbrook one is facing and one trailing for a train from the west."""
    found = {one.name: one.kind for one in nuisances_of(load(PUZZLES / "millbrook_turn.toml"))
             if one.kind in (Kind.FACING, Kind.TRAILING)}  # fmt: skip
    assert found == {"box factory": Kind.FACING, "feed mill": Kind.TRAILING}


# -- skipping --------------------------------------------------------------------------------------------


def test_a_car_skipped_goes_home_or_stays() -> None:
    """One that came with the train departs with it; one to be picked up, and one that stood in the district
    when it was to be moved, stay on hold.
    """
    train = Train("L", "lead", frozenset({"p"}))
    items = (_to("c", "main"), _to("d", "spur"), train)
    puzzle = set_up(
        spur_district(8, 4, 3), {"lead": "c L", "main": "d", "spur": "p"}, *items, heads={"L": "to"}
    )
    assert [task.car for task in tasks_of(puzzle)] == ["c", "d", "p"]
    assert skipped_cars(puzzle, ["c"]).work == Work((items[1], replace(train, cars=frozenset("cp"))))
    assert skipped_cars(puzzle, ["d"]).work == Work((items[0], train))
    assert skipped_cars(puzzle, ["p"]).work == Work((*items[:2], replace(train, cars=frozenset())))
    assert skipped_cars(puzzle, []) is puzzle


def test_a_train_less_a_car_has_its_blocks_less_that_car() -> None:
    """Blocks and the last car follow; a block that is empty is gone."""
    train = Train("L", "lead", frozenset("pq"), blocks=(frozenset("p"), frozenset("q")), last="q")
    puzzle = set_up(spur_district(8, 4, 3), {"lead": "L", "main": "p q"}, train, heads={"L": "to"})
    less = Train("L", "lead", frozenset("p"), blocks=(frozenset("p"),))
    assert skipped_cars(puzzle, "q").work.items == (less,)
    assert absent(puzzle, "q").work.items == (less,)


def test_any_cars_are_skipped_one_by_one() -> None:
    """Two of a kind are two tasks; with both skipped the item is gone."""
    item = AnyCars("hopper", 2, Place("spur"))
    kinds = {"p": "hopper", "q": "hopper"}
    puzzle = set_up(spur_district(8), {"lead": "L", "main": "p q"}, item, heads={"L": "to"}, kinds=kinds)
    tasks = tasks_of(puzzle)
    assert tasks == (Task("1 hopper to spur", item, 1), Task("1 hopper to spur", item, 2))
    assert skipped(puzzle, tasks[:1]).work.items == (replace(item, count=1),)
    assert skipped(puzzle, tasks).work.items == ()


def test_an_absent_car_is_nowhere() -> None:
    """Off the rails, off the list of cars, off the work; a string that stood fixed by it keeps its place."""
    puzzle = set_up(
        spur_district(8), {"lead": "L", "main": "p q"}, Hold("p"), Free("q"), heads={"L": "to"},
        lengths={"p": 2}, fixed={},
    )  # fmt: skip
    string = replace(puzzle.start.strings[1], fixed_at=1)
    puzzle = replace(puzzle, start=replace(puzzle.start, strings=(puzzle.start.strings[0], string)))
    less = absent(puzzle, "p")
    assert [car.name for car in less.cars] == ["q"] and less.work.items == (Free("q"),)
    assert (less.start.strings[1].vehicles, less.start.strings[1].fixed_at) == (("q",), 3)
    assert len(absent(less, "q").start.strings) == 1


# -- time, and the command line --------------------------------------------------------------------------


def _stopped_at(count: int) -> Weighing:
    asked = iter(range(1_000_000))
    return weigh(
        load(PUZZLES / "millbrook_turn.toml"), stop=lambda: "Ctrl-C" if next(asked) > count else None
    )


def test_what_was_weighed_before_a_stop_is_kept() -> None:
    """Ctrl-C ends it: what is not tried is not told, and nothing is called proved of it."""
    found = _stopped_at(30)
    assert found.stopped == "Ctrl-C" and not found.is_proved
    assert len(found.weighed) < len(nuisances_of(load(PUZZLES / "millbrook_turn.toml")))


def test_why_on_the_screen(capsys: pytest.CaptureFixture[str]) -> None:
    """The sum in one line, the one car to skip, the figures of the plan; 80 columns at most."""
    assert main(["why", str(PUZZLES / "cask_lane_facing.toml")]) == OK
    out = capsys.readouterr().out
    assert "3 moves: car in the way (OXCC 7 at cider works door 1) 2, facing spur" in out
    assert "The one car to skip: THB 12: 3 moves fewer" in out
    assert "savings do not add up" in out and "This plan: 1 trip around" in out
    assert max(map(len, out.splitlines())) <= 80


def test_why_impossible_work_becomes_possible(capsys: pytest.CaptureFixture[str]) -> None:
    """A tail too short for the locomotive: longer it does, and so does the spur flipped."""
    assert main(["why", "--json", str(PUZZLES / "cask_lane_short_tail.toml")]) == IMPOSSIBLE
    answer = json.loads(capsys.readouterr().out)
    moves = {(row["kind"], row["name"]): row["moves"] for row in answer["changes"]}
    assert moves["short tail", "Lane tail"] == 3  # the moves of the same file with a tail that is long enough
    assert moves["facing spur", "cider works"] == 2
    assert moves["short spur", "cider works"] is None and answer["effort"] is None
    assert main(["why", str(PUZZLES / "cask_lane_short_tail.toml")]) == IMPOSSIBLE
    out = capsys.readouterr().out
    assert "short tail (Lane tail)" in out and "The one car to skip: THB 12" in out and "No help" in out


def test_why_says_what_time_did_not_decide(capsys: pytest.CaptureFixture[str]) -> None:
    """With hardly any time nothing is called proved that is not, and the exit code says so."""
    code = main(["why", str(PUZZLES / "marrow_point_front_street.toml"), "--limit-seconds", "0.2"])
    assert code in (BEST_FOUND, 12)
    told = " ".join(capsys.readouterr().out.split("The one car")[0].split())
    assert "saves" not in told.replace("No single car skipped saves a move (as far as proved).", "")


def test_nothing_is_said_of_skips_of_which_none_was_decided(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """That no single car skipped saves a move is said only if one at least was decided."""
    shown = "No single car skipped saves a move"
    path = str(PUZZLES / "marrow_point_yard.toml")
    main(["why", path])
    assert shown in capsys.readouterr().out
    monkeypatch.setattr(why_screen, "weigh", _undecided)
    main(["why", path])
    out = capsys.readouterr().out
    assert shown not in out and "Not decided" in out


def _undecided(*told: Any, **more: Any) -> Weighing:
    found = weigh(*told, **more)
    open_ones = tuple(replace(one, verdict=Verdict.GAVE_UP, moves=None, saved=None) for one in found.weighed)
    return replace(found, weighed=open_ones)


def test_wrong_arguments_and_files(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    """No time at all: code 2 with the cure; a file that is badly written: code 3."""
    assert main(["why", str(PUZZLES / "first_spur.toml"), "--limit-seconds", "0"]) == USAGE
    assert "--limit-seconds 0: give a time above zero" in capsys.readouterr().err
    (tmp_path / "bad.toml").write_text("unit = 3\n")
    assert main(["why", str(tmp_path / "bad.toml")]) == BAD_FILE
