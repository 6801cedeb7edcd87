"""The quick look that rules out plans of one run: it may say yes too often, and no never wrongly."""

from __future__ import annotations

from switchsolve.goal import Goal
from switchsolve.packing import pack
from switchsolve.puzzle import Puzzle
from switchsolve.rules import Rules
from switchsolve.search.one_run import may_do_in_one_run
from switchsolve.search.runs import bounds
from switchsolve.work import EndsIn, Place
from tests.brute_force import TooManyStates, brute_minimum
from tests.builders import run_around_district, set_up, spur_district, switchback_district
from tests.random_districts import random_puzzle


def _may(puzzle: Puzzle) -> bool:
    rules = Rules(pack(puzzle))
    return any(may_do_in_one_run(rules, Goal(rules), standing) for standing in rules.starts())


def _to(car: str, where: str) -> EndsIn:
    return EndsIn(car, (Place(where),))


def test_no_is_never_wrong() -> None:
    """Where the look says no, brute force over whole-number positions finds no plan of one move either, on
    random districts that it can search whole in few states; some of those with a yes have such a plan.
    """
    refused = short = 0
    for seed in range(160):
        puzzle, _ = random_puzzle(seed)
        if bounds(Rules(pack(puzzle))) is not None:
            continue
        may = _may(puzzle)
        try:
            least = brute_minimum(puzzle, most_states=15_000)
        except TooManyStates:
            continue
        assert may or least is None or least > 1, seed
        short += least is not None and least <= 1
        refused += not may
    assert short >= 2 and refused >= 10, (short, refused)


def test_what_each_rule_refuses() -> None:
    """By hand: a car to be left behind one that stays; a car that stands the wrong way; and what may be done."""
    lane = spur_district(8, 4, 3)
    rows = {"lead": "a b L"}
    assert not _may(set_up(lane, rows, _to("a", "spur"), _to("b", "lead"), heads={"L": "to"}))
    assert _may(set_up(lane, rows, _to("a", "lead"), _to("b", "spur"), heads={"L": "to"}))
    assert not _may(set_up(lane, {"main": "a", "lead": "L"}, _to("a", "lead"), heads={"L": "to"}))
    assert _may(set_up(lane, {"lead": "L a"}, _to("a", "spur"), heads={"L": "to"}))
    assert not _may(set_up(switchback_district(), {"lead": "L a"}, _to("a", "spur"), heads={"L": "to"}))
    assert _may(set_up(run_around_district(), {"west": "L", "main": "a"}, _to("a", "east"), heads={"L": "to"}))
