"""Reverse questions: cars in so many minutes, the longest train with so many trips around."""

from __future__ import annotations

import json
from dataclasses import replace
from fractions import Fraction
from itertools import combinations
from pathlib import Path

import pytest

from switchsolve.cli import main
from switchsolve.cli.codes import BAD_FILE, BEST_FOUND, OK, USAGE
from switchsolve.crew import plain_crew
from switchsolve.district import Limits
from switchsolve.effort import trips_around
from switchsolve.facts import examine
from switchsolve.facts.probes import Entry, entries
from switchsolve.objectives import objective_of
from switchsolve.plan import Verdict
from switchsolve.puzzle import Puzzle, Times
from switchsolve.puzzlefile import load
from switchsolve.reaching import cars_in, long_trains
from switchsolve.reaching.trains import _in_cuts
from switchsolve.referee import replay
from switchsolve.skipping import skipped, tasks_of
from switchsolve.solving import solve
from switchsolve.work import EndsIn, Place
from tests.brute_force import brute_minimum
from tests.builders import run_around_district, set_up, spur_district

PUZZLES = Path(__file__).parent.parent / "puzzles"


def _three_cars(times: Times) -> Puzzle:
    """Three cars behind the locomotive on the lead of two spurs."""
    items = [EndsIn(car, (Place(name),)) for car, name in (("a", "main"), ("b", "spur"), ("c", "main"))]
    puzzle = set_up(spur_district(6, 3, 2), {"lead": "L a b c"}, *items, heads={"L": "to"})
    return replace(puzzle, times=times)


# -- minutes ---------------------------------------------------------------------------------------------


@pytest.mark.parametrize("minutes", [0, 1, 3, 4, 6])
def test_cars_in_so_many_minutes_by_brute_force(minutes: int) -> None:
    """With a minute for a move, and nothing for all else, minutes are moves: the most cars are those of the
    largest set whose true minimum is as small.
    """
    puzzle = _three_cars(Times(60_000, 0, 0, 0, 10**9))
    tasks = tasks_of(puzzle)
    fitting = [
        size
        for size in range(len(tasks) + 1)
        for left in combinations(tasks, len(tasks) - size)
        if (moves := brute_minimum(skipped(puzzle, left))) is not None and moves <= minutes
    ]
    found = cars_in(puzzle, Fraction(minutes) + Fraction(1, 2))
    assert (found.most, found.is_proved, found.tasks) == (max(fitting), True, 3)
    assert found.crew is not None and found.crew <= max(fitting) == found.at_most


def test_the_plan_told_takes_no_longer() -> None:
    """With the usual figures: as many cars as told can be done in the time told, proved by the least time;
    one more cannot.
    """
    puzzle = _three_cars(Times())
    for minutes in (2,):
        found = cars_in(puzzle, Fraction(minutes))
        assert found.is_proved and found.most is not None and (found.takes or 0) <= 60 * minutes
        left = [task for task in tasks_of(puzzle) if task not in found.done]
        least = solve(skipped(puzzle, left), objective="minutes")
        assert least.value is not None and least.value <= (found.takes or 0)
        for more in combinations(tasks_of(puzzle), found.most + 1):
            rest = skipped(puzzle, [task for task in tasks_of(puzzle) if task not in more])
            value = solve(rest, objective="minutes").value
            assert value is not None and value > 60 * minutes


def test_the_time_of_a_plain_crew_is_that_of_its_plan() -> None:
    """The figure of the whole list, when there is time enough for all; no plan takes less than the least."""
    puzzle = _three_cars(Times())
    found = cars_in(puzzle, Fraction(60))
    crew = plain_crew(puzzle).counts
    assert found.crew == found.most == 3 and crew is not None
    objective = objective_of(puzzle, "minutes")
    assert found.crew_takes == objective.shown(objective.rows[0].of(crew))
    assert found.crew_takes >= (solve(puzzle, objective="minutes").value or 0)


def test_a_stop_proves_nothing() -> None:
    """After Ctrl-C at once no number is told as proved."""
    found = cars_in(_three_cars(Times()), Fraction(1), stop=lambda: "Ctrl-C")
    assert found.stopped == "Ctrl-C" and found.most is None and found.crew is None
    assert found.at_most == 3 and not found.is_proved


# -- trains ----------------------------------------------------------------------------------------------


def _around(west: int = 9, main: int = 3, east: int = 2, limits: Limits | None = None) -> Puzzle:
    """A run-around with the train's track in the west; one car to go by."""
    puzzle = set_up(run_around_district(west, main, main, east), {"west": "c L"}, heads={"L": "to"})
    return replace(puzzle, district=replace(puzzle.district, limits=limits)) if limits else puzzle


@pytest.mark.parametrize(("main", "east"), [(2, 1), (3, 2), (4, 1), (3, 4)])
def test_the_longest_train_by_brute_force(main: int, east: int) -> None:
    """In one cut and in two: as many cars as told go around, one more does not, and the moves are the true
    ones, over every way to cut the train.
    """
    puzzle = _around(main=main, east=east)
    found = long_trains(puzzle)
    assert found.bench is not None
    for row in found.rows:
        sizes = [(row.cars,)] if row.cuts == 1 else [(one, row.cars - one) for one in range(1, row.cars)]
        (entry,) = _entries(puzzle)
        truths = [brute_minimum(_in_cuts(found.bench, entry, one)) for one in sizes]
        known = [truth for truth in truths if truth is not None]
        assert row.moves == min(known, default=None), row
        assert row.verdict is (Verdict.PROVED if known else Verdict.IMPOSSIBLE)
    one, two = found.longest(1), found.longest(2)
    assert one is not None and two is not None and one.cars <= two.cars
    assert found.is_proved(1) and found.is_proved(2)


def _entries(puzzle: Puzzle) -> tuple[Entry, ...]:
    return entries(puzzle, puzzle.locomotives[0].name)


@pytest.mark.parametrize("name", ["cask_lane_facing", "millbrook_turn", "quarry_hill_run_around"])
def test_one_trip_is_what_the_run_around_passes(name: str) -> None:
    """The longest train in one cut is the number that `check` proves in another way, with cars uncoupled as
    it likes, for the one run-around of the district; and its plan has one trip.
    """
    puzzle = load(PUZZLES / f"{name}.toml")
    (loop,) = [loop for loop in examine(puzzle).loops if loop.loop.kind == "run-around"]
    found = long_trains(puzzle, cuts=1)
    longest = found.longest(1)
    assert longest is not None and loop.passes is not None and loop.passes.is_proved
    assert (longest.cars, longest.moves) == (loop.passes.number, loop.moves)
    assert found.bench is not None
    for entry in _entries(puzzle):
        probe = _in_cuts(found.bench, entry, (longest.cars,))
        plan = solve(probe).plan
        if plan is not None:
            assert trips_around(probe, replay(probe, plan)) == 1


def test_limits_on_cars_bind_a_train_that_stays_together() -> None:
    """With two cars at most in the moving string a train of three does not even set off."""
    free, bound = (long_trains(_around(main=4, limits=one)) for one in (None, Limits(most_cars=2)))
    lengths = [longest.cars if (longest := found.longest(1)) else 0 for found in (free, bound)]
    assert lengths[0] > 2 == lengths[1]
    assert long_trains(_around(limits=Limits(most_shoved=1))).refused.startswith("it limits the cars ahead")


# -- the command line ------------------------------------------------------------------------------------


def test_capacity_on_the_screen(capsys: pytest.CaptureFixture[str]) -> None:
    """Both questions; 80 columns at most; the same in JSON."""
    file = str(PUZZLES / "cask_lane_facing.toml")
    assert main(["capacity", file, "--minutes", "5"]) == OK
    out = capsys.readouterr().out
    assert "1 of 1 car in 5 minutes." in out and "one trip around: 6 cars, 4 moves" in out
    assert max(map(len, out.splitlines())) <= 80
    assert main(["capacity", file, "--minutes", "5", "--json", "--trips", "1"]) == OK
    answer = json.loads(capsys.readouterr().out)
    assert answer["evening"]["most"] == answer["evening"]["at_most"] == 1
    assert answer["trains"] == [{"trips": 1, "cars": 6, "moves": 4, "cut_into": [6], "is_proved": True}]


def test_no_run_around_is_said(capsys: pytest.CaptureFixture[str]) -> None:
    """Where nothing can be run around, in one sentence."""
    assert main(["capacity", str(PUZZLES / "first_spur.toml")]) == OK
    assert "No train can be run around here, not even one car (proved)." in capsys.readouterr().out


def test_capacity_without_time(capsys: pytest.CaptureFixture[str]) -> None:
    """What time did not decide is not called proved, and the code says so."""
    file = str(PUZZLES / "quarry_hill_three.toml")
    assert main(["capacity", file, "--minutes", "3", "--limit-seconds", "0.01"]) == BEST_FOUND
    out = capsys.readouterr().out
    assert "Stopped by the limit of" in " ".join(out.split())


def test_wrong_arguments(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    """Every one of them with its cure; a bad file is code 3."""
    file = str(PUZZLES / "first_spur.toml")
    assert main(["capacity", file, "--minutes", "0", "--trips", "9", "--limit-seconds", "-1"]) == USAGE
    err = capsys.readouterr().err
    assert "--minutes 0: give a time above zero" in err and "--trips 9: give 1 to 4" in err
    assert "--limit-seconds -1: give a time above zero" in err
    (tmp_path / "bad.toml").write_text("unit = 3\n")
    assert main(["capacity", str(tmp_path / "bad.toml")]) == BAD_FILE
