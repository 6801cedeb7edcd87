"""The referee says no: every kind of item of the work, left undone."""

from __future__ import annotations

from dataclasses import replace

import pytest

from switchsolve.plan import Placed, Plan
from switchsolve.puzzle import Puzzle
from switchsolve.referee import replay
from switchsolve.work import AnyCars, EndsIn, Free, Hold, Item, LocomotiveEnds, Place, Train
from tests.builders import (
    advance,
    build,
    couple,
    place,
    run,
    set_up,
    spur_district,
    table_district,
    track,
)
from tests.test_referee_says_no import says_no

# -- the work -------------------------------------------------------------------------------------

# Most items are asked of a standing that nobody moves: the start is the end, so each item has a standing
# on which it is true and one that differs in a single thing.

DOORS = {"west": 1, "east": 5}


def _standing(text: str, *items: Item, at: int = 0, **more: str) -> tuple[Puzzle, tuple[Placed, ...]]:
    """Vehicles of length 1 on ``main`` (8 long, doors at 1 and 5), the first string ``at``, each next 3 on.

    ``kinds`` is a text of box cars, ``heads`` the end for which all of L and M head.
    """
    strings = [string.split() for string in text.split("|")]
    everyone = [vehicle for string in strings for vehicle in string]
    heads = {vehicle: more.get("heads", "to") for vehicle in everyone if vehicle in "LM"}
    kinds = dict.fromkeys(more.get("boxes", "").split(), "box")
    district = spur_district(main=track("main", 8, spots=DOORS))
    puzzle = set_up(district, {"main": text}, *items, heads=heads, kinds=kinds)
    return puzzle, place(puzzle, *range(at, at + 3 * len(strings), 3))


def _ends(car: str, *places: str) -> EndsIn:
    split = [place.partition(" ") for place in places]
    return EndsIn(car, tuple(Place(name, spot or None) for name, _, spot in split))


def _train(cars: str = "c d", **more: object) -> Train:
    return Train("L", "main", frozenset(cars.split()), **more)  # type: ignore[arg-type]


BLOCKS = (frozenset("c"), frozenset("de"))


@pytest.mark.parametrize(
    ("good", "bad", "what"),
    [
        pytest.param(
            _standing("c", _ends("c", "main")),
            _standing("c", _ends("c", "spur")),
            "c is not at spur",
            id="track",
        ),
        pytest.param(
            _standing("c", _ends("c", "spur", "main")),
            _standing("c", _ends("c", "spur", "lead")),
            "c is not at spur or lead",
            id="several tracks",
        ),
        pytest.param(
            _standing("c", _ends("c", "main west"), at=1),
            _standing("c", _ends("c", "main west"), at=2),
            "c is not at main west",
            id="spot, from its from end",
        ),
        pytest.param(
            _standing("c", _ends("c", "main east"), at=4),
            _standing("c", _ends("c", "main east"), at=3),
            "c is not at main east",
            id="spot, from its to end",
        ),
        pytest.param(
            _standing("b | c", AnyCars("box", 1, Place("main", "east")), boxes="b c", at=1),
            _standing("b | c", AnyCars("box", 1, Place("main", "east")), boxes="b", at=1),
            "1 box at main east",
            id="any car of a kind",
        ),
        pytest.param(
            _standing("b | c", AnyCars("box", 2, Place("main")), boxes="b c"),
            _standing("b | c", AnyCars("box", 3, Place("main")), boxes="b c"),
            "3 box at main",
            id="any cars: too few",
        ),
        pytest.param(
            _standing(
                "b | c", AnyCars("box", 1, Place("main")), AnyCars("box", 1, Place("main")), boxes="b c"
            ),
            _standing("b | c", AnyCars("box", 1, Place("main")), AnyCars("box", 1, Place("main")), boxes="b"),
            "not done",
            id="one car cannot serve two items",
        ),
        pytest.param(
            _standing("b | c", AnyCars("box", 1, Place("main")), _ends("b", "main"), boxes="b c"),
            _standing("b | c", AnyCars("box", 2, Place("main")), _ends("b", "main"), boxes="b c"),
            "2 box at main",
            id="a car with an item of its own is no candidate",
        ),
        pytest.param(
            _standing("b | c", AnyCars("box", 1, Place("main")), AnyCars("car", 1, Place("main")), boxes="b"),
            _standing(
                "b | c", AnyCars("box", 1, Place("main")), AnyCars("car", 1, Place("main")), boxes="b c"
            ),
            "1 car at main",
            id="each item has its own kind",
        ),
        pytest.param(
            _standing("c L d", _train(locomotive_at=None)),
            _standing("c L d", _train(last="c")),
            "L is in the middle of its train",
            id="locomotive in the middle",
        ),
        pytest.param(
            _standing("L", LocomotiveEnds("L", "main")),
            _standing("L", LocomotiveEnds("L", "lead")),
            "L is not on lead",
            id="locomotive's track",
        ),
        pytest.param(
            _standing("L", LocomotiveEnds("L", "main", "from"), heads="from"),
            _standing("L", LocomotiveEnds("L", "main", "from"), heads="to"),
            "L does not head for the 'from' end",
            id="locomotive's heading",
        ),
        pytest.param(
            _standing("L", LocomotiveEnds("L", None, "to"), heads="to"),
            _standing("L", LocomotiveEnds("L", None, "to"), heads="from"),
            "L does not head for the 'to' end",
            id="heading on any track",
        ),
        pytest.param(
            _standing("L c d", _train()),
            _standing("L c | d", _train()),
            "is L + c, not",
            id="train: one missing",
        ),
        pytest.param(
            _standing("L c d", _train()),
            _standing("L c d e", _train()),
            "is L + c + d + e, not",
            id="one too many",
        ),
        pytest.param(
            _standing("M | L c d", _train()),
            _standing("L c d M", _train()),
            "not L + c + d",
            id="second locomotive",
        ),
        pytest.param(
            _standing("L c d", _train()),
            _standing("L c d", Train("L", "spur", frozenset("cd"))),
            "is not wholly on spur",
            id="train: track",
        ),
        pytest.param(
            _standing("c d L", _train(locomotive_at="to")),
            _standing("c d L", _train(locomotive_at="from")),
            "L is not at the 'from' end",
            id="locomotive at from",
        ),
        pytest.param(
            _standing("L c d", _train(locomotive_at="from")),
            _standing("c L d", _train(locomotive_at="to")),
            "L is not at the 'to' end",
            id="locomotive at to",
        ),
        pytest.param(
            _standing("L c e d", _train("c d e", blocks=BLOCKS)),
            _standing("L d c e", _train("c d e", blocks=BLOCKS)),
            "block 1 of the train of L",
            id="first block",
        ),
        pytest.param(
            _standing("d e c L", _train("c d e", blocks=BLOCKS)),
            _standing("c d e L", _train("c d e", blocks=BLOCKS)),
            "block 1 of the train of L",
            id="blocks, locomotive at to",
        ),
        pytest.param(
            _standing("L c d e k", _train("c d e k", blocks=BLOCKS)),
            _standing("L c d k e", _train("c d e k", blocks=BLOCKS)),
            "block 2 of the train of L",
            id="a car of no block within a block",
        ),
        pytest.param(
            _standing("L c d", _train(blocks=(frozenset("c"),))),
            _standing("c L d", _train(blocks=(frozenset("c"),))),
            "L is in the middle of its train",
            id="blocks on both sides",
        ),
        pytest.param(
            _standing("L c d", _train(last="d")),
            _standing("L d c", _train(last="d")),
            "d is not last",
            id="last",
        ),
        pytest.param(
            _standing("d c L", _train(last="d")),
            _standing("c L d", _train(last="d")),
            "L is in the middle of its train",
            id="last, locomotive in the middle",
        ),
        pytest.param(
            _standing("L | c", Hold("c")),
            _standing("L c", Hold("c")),
            "c is still coupled",
            id="coupled at the end",
        ),
    ],
)
def test_item_left_undone(
    good: tuple[Puzzle, tuple[Placed, ...]], bad: tuple[Puzzle, tuple[Placed, ...]], what: str
) -> None:
    """An item is accepted on a standing where it is true, and rejected where one thing is otherwise."""
    puzzle, start = good
    assert replay(puzzle, Plan(start, ())).counts.moves == 0
    puzzle, start = bad
    says_no(puzzle, Plan(start, ()), "end", what)


def _shoved(
    items: list[Item], distance: int, enters: str = "T/0 main", **more: object
) -> tuple[Puzzle, Plan]:
    """Lead 0-6, T 6-7, main 7-15, doors at 8 and 12: L 3-4 and c 4-5 go on by ``distance``, c is cut off."""
    district = spur_district(lead=track("lead", 6, spots={"dock": 5}), main=track("main", 8, spots=DOORS))
    puzzle = set_up(district, {"lead": "L c"}, *items, heads={"L": "to"}, **more)  # type: ignore[arg-type]
    return puzzle, Plan(place(puzzle, 3), (run("L+", advance(distance, enters)),), (("L", "c"),))


@pytest.mark.parametrize(
    ("items", "distance", "enters", "what"),
    [
        pytest.param([_ends("c", "main")], 2, "T/0", "c is not at main", id="foul, not in the track"),
        pytest.param([Free("c")], 2, "T/0", "c is foul of T", id="free, but foul"),
        pytest.param([Hold("c")], 3, "T/0 main", "c is not back at lead", id="hold"),
        pytest.param([], 3, "T/0 main", "c is not back at lead", id="no item is a hold"),
        pytest.param(
            [LocomotiveEnds("L", "lead"), Free("c")], 3, "T/0 main", "L is not on lead", id="locomotive"
        ),
        pytest.param(
            [LocomotiveEnds("L", None, "to"), Free("c")],
            3,
            "T/0 main",
            "L does not head",
            id="heading, but foul",
        ),
        pytest.param(
            [AnyCars("car", 0, Place("main"))],
            3,
            "T/0 main",
            "0 car at main",
            id="candidate neither used nor held",
        ),
    ],
)
def test_item_left_undone_by_a_run(items: list[Item], distance: int, enters: str, what: str) -> None:
    """Items that a run leaves undone: a car foul of the turnout, or not brought back."""
    puzzle, plan = _shoved(items, distance, enters)
    says_no(puzzle, plan, "end", what)


def test_across_two_tracks() -> None:
    """A car half on each of two tracks that meet end to end is wholly on neither."""
    district = build([track("lead", 6), track("main", 6)], links=[("lead.to", "main.from")])
    puzzle = set_up(
        district, {"lead": "L c"}, _ends("c", "main", "lead"), heads={"L": "to"}, lengths={"c": 2}
    )
    for distance, is_whole in ((3, True), (4, False), (5, True)):  # c 1-3 goes to 4-6, 5-7, 6-8
        enters = "main" if distance > 3 else ""
        plan = Plan(place(puzzle, 0), (run("L+", advance(distance, enters)),), (("L", "c"),))
        if is_whole:
            assert replay(puzzle, plan).counts.moves == 1
        else:
            says_no(puzzle, plan, "end", "c is not at main or lead")


def test_hold_at_a_spot() -> None:
    """A car that started at a spot must be back at the spot, not only in its track."""
    puzzle, plan = _shoved(
        [], 1, "", spots={"c": "dock"}
    )  # c from 4-5 to 5-6: the dock at 5 is still at its end
    assert replay(puzzle, plan).counts.moves == 1
    back = replace(plan, runs=(run("L-", advance(1)),))  # c at 3-4
    says_no(puzzle, back, "end", "c is not back at lead dock")


def test_train_partly_outside_its_track() -> None:
    """Every vehicle of a departing train stands wholly on the track named."""
    puzzle, plan = _shoved([Train("L", "main", frozenset("c"))], 3)
    says_no(puzzle, replace(plan, final_cuts=()), "end", "L of the train of L is not wholly on main")
    further = (run("L+", advance(4, "T/0 main")),)
    assert replay(puzzle, replace(plan, runs=further, final_cuts=())).counts.moves == 1


def test_a_cut_too_few_at_the_end() -> None:
    """A car of no train may not stay coupled to a live locomotive."""
    puzzle, plan = _shoved([_ends("c", "main")], 3)
    says_no(puzzle, replace(plan, final_cuts=()), "end", "c is still coupled to a locomotive")


def test_holds_on_a_table() -> None:
    """A car that started on a table must be back on it."""
    district = table_district(lead=6)
    puzzle = set_up(district, {"lead": "L", "W": "c"}, heads={"L": "to"})
    start = place(puzzle, 4, 1)  # L 4-5; the table is 6-9, c 7-8
    runs = (run("L+", advance(2, "W"), couple("c")), run("L-", advance(2, "-lead")))
    says_no(puzzle, Plan(start, runs, (("L", "c"),)), "end", "c is not back at W")
    shorter = (runs[0], run("L-", advance(1, "-lead")))
    assert replay(puzzle, Plan(start, shorter, (("L", "c"),))).counts.couplings == 1
