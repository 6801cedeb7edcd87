"""The order of the arriving train: which orders there are, what each takes, and what it costs the yard."""

from __future__ import annotations

import json
from dataclasses import replace
from fractions import Fraction
from itertools import permutations, product
from pathlib import Path
from random import Random

import pytest

from switchsolve.cli import main
from switchsolve.cli.codes import BAD_FILE, IMPOSSIBLE, OK, USAGE
from switchsolve.ordering import (
    MOST_ORDERS,
    CannotReorder,
    in_every_order,
    in_order,
    list_orders,
    train_cars,
    with_train,
    yard_cost,
    yard_moves,
)
from switchsolve.plan import Verdict
from switchsolve.puzzle import Puzzle
from switchsolve.puzzlefile import load
from switchsolve.work import EndsIn, Place, Train
from switchsolve.yard import CannotClassify
from tests.brute_force import brute_minimum
from tests.builders import run_around_district, set_up, spur_district

PUZZLES = Path(__file__).parent.parent / "puzzles"
CUT = PUZZLES / "marrow_point_cut.toml"


def _fan(cars: dict[str, str], *, at: str = "L {}", lead: int = 9) -> Puzzle:
    """A train on the lead of a fan with two spurs; for each car where it is wanted."""
    items = [EndsIn(car, (Place(name),)) for car, name in cars.items()]
    row = at.format(" ".join(cars))
    return set_up(spur_district(lead, 5, 5), {"lead": row}, *items, heads={"L": "to"})


# -- which orders ----------------------------------------------------------------------------------------


@pytest.mark.parametrize("wanted", ["mmm", "mms", "msm", "mmss", "msmsm", "mmsss"])
def test_like_cars_are_counted_once(wanted: str) -> None:
    """As many orders as different rows of the wishes (itertools counts them), none twice."""
    names = {"m": "main", "s": "spur"}
    puzzle = _fan({f"c{at}": names[one] for at, one in enumerate(wanted)})
    train = train_cars(puzzle)
    listed = list_orders(train)
    of = dict(zip(train.cars, wanted, strict=True))
    rows = {"".join(of[car] for car in order) for order in listed.orders}
    assert rows == {"".join(row) for row in permutations(wanted)}
    assert len(listed.orders) == len(rows) == listed.of and listed.how == "all"
    assert listed.orders[0] == train.cars  # that of the file first


def test_the_locomotive_keeps_its_place() -> None:
    """Cars on both sides of it, read from it outwards; put into the order they have, nothing changes."""
    puzzle = set_up(spur_district(9), {"lead": "a b L c"}, heads={"L": "to"})
    train = train_cars(puzzle)
    assert train.cars == ("b", "a", "c")
    assert in_order(puzzle, train, train.cars) == puzzle
    assert in_order(puzzle, train, ("c", "b", "a")).start.strings[0].vehicles == ("b", "c", "L", "a")


def test_longer_trains_go_by_blocks_and_then_by_lot() -> None:
    """Six cars of different lengths for two tracks: two orders of blocks.  Six blocks: drawn, the same for
    the same seed, none twice, and that of the file among them.
    """
    lengths = {f"c{at}": at + 1 for at in range(6)}
    items = [EndsIn(car, (Place("main" if length % 2 else "spur"),)) for car, length in lengths.items()]
    two = set_up(
        spur_district(30, 20, 20),
        {"lead": " ".join(["L", *lengths])},
        *items,
        heads={"L": "to"},
        lengths=lengths,
    )
    listed = list_orders(train_cars(two))
    assert (listed.how, listed.of) == ("blocks", 2)
    assert listed.orders[1] == ("c1", "c3", "c5", "c0", "c2", "c4")
    train = Train("L", "lead", frozenset(lengths), blocks=tuple(frozenset({car}) for car in lengths))
    six = set_up(
        spur_district(30), {"lead": " ".join(["L", *lengths])}, train, heads={"L": "to"}, lengths=lengths
    )
    drawn = list_orders(train_cars(six), seed=3)
    assert (drawn.how, drawn.of) == ("drawn", 720)
    assert len(set(drawn.orders)) == len(drawn.orders) == MOST_ORDERS and drawn.orders[0] == tuple(lengths)
    assert drawn == list_orders(train_cars(six), seed=3) != list_orders(train_cars(six), seed=4)


@pytest.mark.parametrize(
    ("standing", "heads", "what"),
    [
        ({"lead": "L"}, "L", "no car stands at a locomotive"),
        ({"lead": "L a", "main": "M b"}, "LM", "cars stand coupled to more than one locomotive"),
        ({"lead": "L a M"}, "LM", "two locomotives are in the train"),
    ],
)
def test_no_one_train_is_refused(standing: dict[str, str], heads: str, what: str) -> None:
    """With the key, what is wrong and the cure."""
    puzzle = set_up(spur_district(), standing, heads=dict.fromkeys(heads, "to"))
    with pytest.raises(CannotReorder, match=what):
        train_cars(puzzle)


# -- what they take --------------------------------------------------------------------------------------


@pytest.mark.parametrize("wanted", ["msm", "smm", "sms"])
def test_every_order_by_brute_force(wanted: str) -> None:
    """Best, worst and average over all permutations of three cars, like cars not told apart, are those of
    brute force over every permutation.
    """
    names = {"m": "main", "s": "side"}
    cars = {f"c{at}": names[one] for at, one in enumerate(wanted)}
    items = [EndsIn(car, (Place(name),)) for car, name in cars.items()]
    puzzle = set_up(run_around_district(6, 3, 3, 2), {"west": "c0 c1 c2 L"}, *items, heads={"L": "to"})
    train = train_cars(puzzle)
    truth = [brute_minimum(in_order(puzzle, train, order)) for order in permutations(train.cars)]
    moves = [one for one in truth if one is not None]
    found = in_every_order(puzzle)
    assert found.is_proved and found.best_is_proved == bool(moves)
    assert (found.workable[0].moves, found.workable[-1].moves) == (min(moves), max(moves))
    assert found.average == Fraction(sum(moves), len(moves))  # each order stands for as many permutations
    assert found.impossible * len(truth) == truth.count(None) * len(found.asked)


def test_a_stop_keeps_what_there_is_and_proves_nothing() -> None:
    """After a stop the best is no proved one; with no time for any there is none."""
    puzzle = _fan({"a": "main", "b": "spur", "c": "main"}, at="{} L")
    asked = iter([None] * 2)
    found = in_every_order(puzzle, stop=lambda: next(asked, "Ctrl-C"))
    assert found.stopped == "Ctrl-C" and not found.is_proved and not found.best_is_proved
    none = in_every_order(puzzle, stop=lambda: "Ctrl-C")
    assert not none.asked and none.average is None and not none.workable


# -- the yard --------------------------------------------------------------------------------------------


def _one_pass(given: str, order: str, tracks: int) -> bool:
    """Whether ``given`` becomes ``order`` by setting each car on one of the tracks, which are then pulled
    whole: every way to set them is tried.
    """
    for on in product(range(tracks), repeat=len(given)):
        pairs = list(zip(given, on, strict=True))
        if "".join(car for one in range(tracks) for car, track in pairs if track == one) == order:
            return True
    return False


@pytest.mark.parametrize("seed", range(25))
def test_tracks_for_one_pass_by_trying_all(seed: int) -> None:
    """Like cars may stand for each other: the fewest tracks are those found by trying all."""
    random = Random(seed)
    given = random.choices("ms", k=random.randint(2, 5))
    order = given[:]
    random.shuffle(order)
    train = train_cars(_fan({f"c{at}": {"m": "main", "s": "spur"}[one] for at, one in enumerate(given)}))
    waiting = {one: [car for car, own in zip(train.cars, given, strict=True) if own == one] for one in "ms"}
    cost = yard_cost(train, [waiting[one].pop() for one in order])
    expected = next(count for count in range(1, 6) if _one_pass("".join(given), "".join(order), count))
    assert cost.tracks == expected and cost.is_least
    assert cost.passes[4] <= cost.passes[3] <= cost.passes[2]


def test_an_order_of_other_cars_is_nonsense() -> None:
    """For callers."""
    with pytest.raises(ValueError, match="the train has the cars a, b"):
        yard_cost(train_cars(_fan({"a": "main", "b": "spur"})), ["a"])


def test_moves_in_a_yard_are_those_of_brute_force() -> None:
    """Two cars turned about on a lead with two spurs: as many moves as brute force finds with a train made up
    in that order; as they stand, none.
    """
    puzzle = _fan({"a": "main", "b": "spur"})
    yard = set_up(spur_district(5, 3, 3), {"lead": "L p q"}, heads={"L": "to"})
    train = train_cars(puzzle)
    by_hand = set_up(
        spur_district(5, 3, 3),
        {"lead": "L a b"},
        Train("L", "lead", frozenset("ab"), blocks=(frozenset("b"), frozenset("a"))),
        heads={"L": "to"},
    )
    found = yard_moves(yard, puzzle, train, ("b", "a"))
    assert (found.verdict, found.moves) == (Verdict.PROVED, brute_minimum(by_hand))
    assert yard_moves(yard, puzzle, train, ("a", "b")).moves == 0


def test_a_yard_in_another_unit() -> None:
    """Lengths are carried over, rounded up; a unit without a length in millimeters cannot be."""
    puzzle = load(PUZZLES / "millbrook_turn.toml")
    train, yard = train_cars(puzzle), load(CUT)
    in_mm = with_train(replace(yard, unit="mm"), puzzle, train)
    lengths = [puzzle.vehicles[car].length * 254 // 10 for car in train.cars]
    mine = [car.length for car in in_mm.cars if car.name.startswith("#")]
    assert all(0 <= one - other <= 1 for one, other in zip(mine, lengths, strict=True))
    assert [car.length for car in with_train(yard, puzzle, train).cars if car.name.startswith("#")] == [
        puzzle.vehicles[car].length for car in train.cars
    ]
    with pytest.raises(CannotClassify):
        with_train(load(PUZZLES / "marrow_point_make_up.toml"), puzzle, train)
    with pytest.raises(CannotReorder, match="write both files in one unit"):
        with_train(replace(yard, unit="car"), puzzle, train)


# -- the command line ------------------------------------------------------------------------------------


def test_blocking_on_the_screen(capsys: pytest.CaptureFixture[str]) -> None:
    """Best, worst and average, and the moves in a yard; 80 columns at most."""
    file = str(PUZZLES / "millbrook_turn.toml")
    assert main(["blocking", file, "--yard", str(CUT)]) == OK
    out = capsys.readouterr().out
    assert "OXCC 120, S&I 02: 7 moves, not 8." in out and "7.5 moves on the" in out
    assert "moves in\n" in out and max(map(len, out.splitlines())) <= 80
    assert main(["blocking", file, "--json"]) == OK
    answer = json.loads(capsys.readouterr().out)
    assert [row["moves"] for row in answer["asked"]] == [7, 8] and answer["average"] == 7.5
    assert answer["shown"]["worst"]["tracks_for_one_pass"] == 2
    assert answer["shown"]["worst"]["yard_moves"] is None


def test_blocking_of_impossible_work(capsys: pytest.CaptureFixture[str]) -> None:
    """Impossible in every order: code 11; one order only is said to be one."""
    assert main(["blocking", str(PUZZLES / "cask_lane_short_tail.toml")]) == IMPOSSIBLE
    assert "Impossible in every order asked (proved)." in capsys.readouterr().out
    assert main(["blocking", str(PUZZLES / "cask_lane_facing.toml")]) == OK
    assert "The train has one order only: 3 moves." in capsys.readouterr().out


def test_wrong_files_and_arguments(capsys: pytest.CaptureFixture[str]) -> None:
    """No train in the file, no cut in the yard: code 3, told before anything is solved; wrong numbers: 2."""
    assert main(["blocking", str(PUZZLES / "marrow_point_front_street.toml")]) == BAD_FILE
    assert "start: no car stands at a locomotive; let the cars" in capsys.readouterr().err
    file = str(PUZZLES / "cask_lane.toml")
    assert main(["blocking", file, "--yard", str(PUZZLES / "marrow_point_make_up.toml")]) == BAD_FILE
    assert "marrow_point_make_up.toml: start.Point lead" in capsys.readouterr().err
    assert main(["blocking", file, "--seed", "-1", "--limit-seconds", "0"]) == USAGE
    err = capsys.readouterr().err
    assert "--seed -1: give 0 or more" in err and "--limit-seconds 0: give a time above zero" in err
