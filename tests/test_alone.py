"""One locomotive does all the work while the others stand: plans for several locomotives that come soon."""

from __future__ import annotations

from dataclasses import replace

from switchsolve.plan import Verdict
from switchsolve.referee import replay
from switchsolve.solving import solve
from switchsolve.solving.alone import alone, of_all
from switchsolve.work import EndsIn, Free, LocomotiveEnds, Place, Train, Work
from tests.builders import run_around_district, set_up
from tests.random_districts import random_puzzle
from tests.reference_district import reference, with_two_locomotives

_SEVERAL = (50, 97, 106, 140, 192)
"""Seeds of small districts with several locomotives."""


def test_it_is_a_plan_of_all_and_no_shorter_than_the_shortest() -> None:
    """The referee takes it for the set-up with all locomotives live; the proved minimum is no more."""
    replayed = 0
    for seed in _SEVERAL:
        puzzle = random_puzzle(seed)[0]
        least = solve(puzzle, tie_standings=0).lower_bound
        for lone in alone(puzzle):
            found = solve(lone, tie_standings=0)
            if found.plan is not None:
                assert least is not None
                assert replay(puzzle, of_all(puzzle, lone, found.plan)).counts.moves >= least, seed
                replayed += 1
    assert replayed >= 3


def test_a_second_locomotive_that_is_no_help_costs_nothing() -> None:
    """On the reference district: with the second one dead the first does its work as if it stood for a car,
    and the plan is one for both.
    """
    puzzle = with_two_locomotives(1)
    lone = next(one for one in alone(puzzle) if one.locomotives[0].name == "L")
    found = solve(lone, tie_standings=0)
    assert found.plan is not None
    moves = replay(puzzle, of_all(puzzle, lone, found.plan)).counts.moves
    fewest_without = solve(reference(1), tie_standings=0).lower_bound
    assert fewest_without is not None and moves >= fewest_without  # a car more is never less work


def test_what_ends_coupled_is_cut_off() -> None:
    """A locomotive that was shoved about as a car ends coupled to cars, and is cut off at the end."""
    district = run_around_district(west=8, main=4, side=4, east=8)
    puzzle = set_up(
        district,
        {"west": "a M", "side": "L"},
        LocomotiveEnds("M", "east"),
        Free("a"),
        heads={"L": "to", "M": "to"},
    )
    lone = next(one for one in alone(puzzle) if one.locomotives[0].name == "L")
    found = solve(lone, tie_standings=0)
    assert found.plan is not None
    plan = of_all(puzzle, lone, found.plan)
    assert set(found.plan.final_cuts) <= set(plan.final_cuts)
    assert replay(puzzle, plan).counts.moves >= 1


def test_where_it_is_not_tried() -> None:
    """A dead locomotive leaves with no train; a front that must not couple is none of a car's."""
    district = run_around_district()
    trains = [Train(name, "east", frozenset({car})) for name, car in (("L", "a"), ("M", "b"))]
    standing, heads = {"west": "a L", "side": "M b"}, {"L": "to", "M": "to"}
    both = set_up(district, standing, *trains, heads=heads)
    assert not list(alone(both))
    one = replace(both, work=Work((trains[0], Free("b"))))
    assert [lone.locomotives[0].name for lone in alone(one)] == ["L"]
    assert not list(alone(set_up(district, standing, trains[0], Free("b"), heads=heads, rear_only="M")))


def test_where_the_others_would_have_to_be_turned_it_is_none() -> None:
    """To the locomotive that works the other is a car, which heads nowhere: the referee says no, so that is
    no plan.
    """
    district = run_around_district(west=8, main=4, side=4, east=8)
    turned = LocomotiveEnds("M", "west", "from")
    wanted = EndsIn("a", (Place("east"),))
    heads = {"L": "to", "M": "to"}
    puzzle = set_up(district, {"west": "a M", "side": "L"}, turned, wanted, heads=heads)
    lone = next(one for one in alone(puzzle) if one.locomotives[0].name == "L")
    assert solve(lone, tie_standings=0).plan is not None
    found = solve(puzzle, search="coarse events from both ends", tie_standings=0)
    assert found.verdict is Verdict.IMPOSSIBLE


def test_stopped_it_shows_that_plan() -> None:
    """Stopped while it closes layers from both ends, ``solve`` has a plan to show, and a bound below it."""
    seen: list[str] = []
    found = solve(
        with_two_locomotives(2),
        search="coarse events from both ends",
        tie_standings=0,
        tell=seen.append,
        stop=lambda: "the user" if seen and "known within" in seen[-1] else None,
    )
    assert found.verdict is Verdict.BEST_FOUND and found.plan is not None and found.counts is not None
    assert found.lower_bound is not None and found.lower_bound < found.counts.moves
