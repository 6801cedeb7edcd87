"""The referee says no: for every kind of violation a plan that commits it, rejected at the step that does."""

from __future__ import annotations

from dataclasses import replace

import pytest

from switchsolve.district import Cell, End, Junction, Marks, Part, Route, Way
from switchsolve.errors import PlanError
from switchsolve.plan import Advance, Placed, Plan, Run, Step
from switchsolve.puzzle import Puzzle
from switchsolve.referee import replay
from switchsolve.referee.sweep import Sweep
from tests.builders import (
    advance,
    balloon_district,
    build,
    couple,
    crossing,
    cut,
    place,
    run,
    set_up,
    spur_district,
    track,
    ways,
)


def says_no(puzzle: Puzzle, plan: Plan, where: str, what: str) -> None:
    """The plan is rejected at ``where`` with a message that holds ``what``."""
    with pytest.raises(PlanError) as caught:
        replay(puzzle, plan)
    assert caught.value.where == where
    assert what in caught.value.what


def plain(length: int = 10, text: str = "L", **more: str) -> Puzzle:
    """One track ``lead`` with the strings of ``text``; L heads to."""
    return set_up(build([track("lead", length)]), {"lead": text}, heads={"L": "to", **more})


# -- the start ------------------------------------------------------------------------------------

AT_SEAM = set_up(
    build([track("lead", 4, 6, spots={"door": 5}), track("main", 4)], links=[("lead.to", "main.from")]),
    {"lead": "c L | d", "main": "e"},
    heads={"L": "to"},
    spots={"d": "door"},
    lengths={"L": 2},
)
GOOD = place(AT_SEAM, 0, 5, 0)


def test_the_good_start_is_good() -> None:
    """What the next test damages is accepted as it is."""
    assert replay(AT_SEAM, Plan(GOOD, (), (("c", "L"),))).counts.moves == 0


@pytest.mark.parametrize(
    ("string", "instead", "what"),
    [
        pytest.param(0, None, "2 strings are placed", id="a string is missing"),
        pytest.param(0, GOOD[1], "not placed as one string", id="a string twice"),
        pytest.param(0, Placed(("c", "x"), ways("lead"), 0), "no vehicle", id="unknown vehicle"),
        pytest.param(0, Placed((), ways("lead"), 0), "without vehicles", id="no vehicles"),
        pytest.param(0, Placed(("c", "L"), (), 0, {"L": 1}), "without rail", id="no rail"),
        pytest.param(0, Placed(("L", "c"), ways("lead"), 0, {"L": 1}), "in the order", id="order"),
        pytest.param(0, Placed(("c",), ways("lead"), 0), "not placed as one string", id="part of it"),
        pytest.param(0, Placed(("c", "L"), ways("lead"), 0, {"L": -1}), "must head for", id="heads"),
        pytest.param(0, Placed(("c", "L"), ways("lead"), 0), "noses must be given", id="no nose"),
        pytest.param(0, Placed(("c", "L"), ways("lead"), -1, {"L": 1}), "offset -1", id="offset below"),
        pytest.param(0, Placed(("c", "L"), ways("lead"), 4, {"L": 1}), "offset 4", id="offset beyond"),
        pytest.param(0, Placed(("c", "L"), ways("lead"), 2, {"L": 1}), "does not end", id="ways too few"),
        pytest.param(
            0, Placed(("c", "L"), ways("lead lead/1"), 1, {"L": 1}), "does not end", id="ways too many"
        ),
        pytest.param(0, Placed(("c", "L"), ways("shed"), 0, {"L": 1}), "no rail", id="unknown rail"),
        pytest.param(
            0, Placed(("c", "L"), (Way(Cell("lead"), 2),), 0, {"L": 1}), "no rail", id="unknown direction"
        ),
        pytest.param(
            0, Placed(("c", "L"), ways("lead -lead/1"), 2, {"L": 1}), "wholly on lead", id="broken rail"
        ),
        pytest.param(2, Placed(("e",), ways("lead/1"), 2), "wholly on main", id="another track"),
        pytest.param(1, Placed(("d",), ways("lead/1"), 2), "at lead door", id="off spot"),
        pytest.param(1, Placed(("d",), ways("lead"), 0), "at lead door", id="off spot, other part"),
        pytest.param(
            0, Placed(("c", "L"), ways("lead lead/1"), 2, {"L": 1}), "touches d", id="touching, in one track"
        ),
        pytest.param(0, Placed(("c", "L"), ways("lead lead/1"), 3, {"L": 1}), "the same rail", id="overlap"),
        pytest.param(
            0, Placed(("c", "L"), ways("lead/1"), 2, {"L": 1}), "must stand before", id="order on the track"
        ),
    ],
)
def test_start(string: int, instead: Placed | None, what: str) -> None:
    """A starting placement that differs from the set-up in one thing is rejected."""
    placed = list(GOOD)
    placed[string : string + 1] = [] if instead is None else [instead]
    says_no(AT_SEAM, Plan(tuple(placed), ()), "start", what)


def test_start_touching_across_a_boundary() -> None:
    """Strings of two tracks that meet end to end may not touch at the start."""
    puzzle = set_up(
        build([track("lead", 4), track("main", 4)], links=[("lead.to", "main.from")]),
        {"lead": "L", "main": "c"},
        heads={"L": "to"},
    )
    says_no(puzzle, Plan(place(puzzle, 3, 0), ()), "start", "L touches c")


def test_start_on_closed_rail() -> None:
    """Nothing stands at the start where it may not go: locomotives, dead ones, barred kinds."""
    pier = track("pier", 4, Part(4, Marks(no_locomotives=True, barred=frozenset({"tank"}))))
    for text, kinds, heads in (("L", {}, {"L": "to"}), ("dead", {}, {}), ("t", {"t": "tank"}, {})):
        puzzle = set_up(build([pier]), {"pier": text}, heads=heads, kinds=kinds, dead="dead")
        assert replay(puzzle, Plan(place(puzzle, 3), ())).counts.moves == 0
        says_no(puzzle, Plan(place(puzzle, 4), ()), "start", "may not stand on pier (part 2)")


def test_start_of_a_fixed_car() -> None:
    """A do-not-touch car stands where the file fixes it and nowhere else."""
    puzzle = set_up(build([track("lead", 9)]), {"lead": "f"}, heads={}, fixed={"f": 4})
    assert replay(puzzle, Plan(place(puzzle, 4), ())).counts.moves == 0
    says_no(puzzle, Plan(place(puzzle, 5), ()), "start", "fixed at 4, not at 5")


def test_start_touching_itself() -> None:
    """A string as long as an oval without junctions touches itself; one unit shorter does not."""
    ring = build([track("ring", 5)], links=[("ring.to", "ring.from")])
    puzzle = set_up(ring, {"ring": "L"}, heads={"L": "to"}, lengths={"L": 5})
    says_no(puzzle, Plan(place(puzzle, 0), ()), "start", "L touches L")
    shy = replace(puzzle, locomotives=(replace(puzzle.locomotives[0], rear_only=True),))
    says_no(shy, Plan(place(shy, 0), ()), "start", "L touches L")
    shorter = replace(puzzle, locomotives=(replace(puzzle.locomotives[0], length=4),))
    laps = (run("L+", advance(11, "ring ring")),)
    assert replay(shorter, Plan(place(shorter, 0), laps)).counts.distance == 10


# -- runs -----------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("one", "where", "what"),
    [
        pytest.param(run("x+", advance(1)), "run 1", "x is no live locomotive", id="unknown locomotive"),
        pytest.param(run("c+", advance(1)), "run 1", "c is no live locomotive", id="a car"),
        pytest.param(run("L+"), "run 1", "goes nowhere", id="no step"),
        pytest.param(run("L-", cut("c")), "run 1", "goes nowhere", id="only a cut"),
        pytest.param(run("L+", advance(0)), "run 1, step 1", "not above zero", id="no distance"),
        pytest.param(run("L+", advance(-1)), "run 1, step 1", "not above zero", id="backwards"),
    ],
)
def test_runs(one: Run, where: str, what: str) -> None:
    """A run is made by a live locomotive, and goes some way."""
    puzzle = plain(10, "L c")
    says_no(puzzle, Plan(place(puzzle, 0), (one,)), where, what)


@pytest.mark.parametrize(
    ("step", "what"),
    [
        pytest.param(advance(5), "without saying where", id="fewer"),
        pytest.param(advance(1, "T/1"), "does not come as far as T (points - diverging)", id="more"),
        pytest.param(advance(3, "T/1"), "without saying where", id="last one missing"),
        pytest.param(advance(3, "T/1 spur spur"), "does not come as far as spur", id="one too many"),
        pytest.param(advance(3, "main"), "does not follow lead", id="rail left out"),
        pytest.param(advance(3, "T/1 main"), "does not follow T (points - diverging)", id="wrong leg"),
        pytest.param(advance(3, "-T/1 spur"), "does not follow lead", id="wrong direction"),
        pytest.param(advance(3, "T/7 spur"), "does not follow lead", id="no such route"),
        pytest.param(advance(3, "shed spur"), "does not follow lead", id="no such place"),
        pytest.param(advance(6, "T/1 spur"), "runs 1 beyond the end of spur, where no rail", id="bumper"),
        pytest.param(advance(6, "T/1 spur T/1"), "runs 1 beyond the end of spur", id="beyond a bumper"),
    ],
)
def test_way_of_the_leading_end(step: Step, what: str) -> None:
    """An advance enters exactly those ways that its leading end newly touches, on rail that is joined."""
    puzzle = set_up(spur_district(), {"lead": "L"}, heads={"L": "to"})
    plan = Plan(place(puzzle, 4), (Run("L", True, (step,)),))
    says_no(puzzle, plan, "run 1, step 1", what)


def test_entrance_is_a_bumper() -> None:
    """Nothing runs beyond an entrance."""
    puzzle = set_up(build([track("lead", 6, entrance="to")]), {"lead": "L"}, heads={"L": "to"})
    says_no(puzzle, Plan(place(puzzle, 4), (run("L+", advance(2)),)), "run 1, step 1", "runs 1 beyond")


# -- contacts, overlaps and blocked junctions -----------------------------------------------------


def test_passing_through_a_car() -> None:
    """A car is not run through: neither into it nor far beyond it."""
    puzzle = plain(10, "L | c")
    for distance in (3, 4, 6):
        plan = Plan(place(puzzle, 0, 3), (run("L+", advance(distance)),))
        says_no(puzzle, plan, "run 1, step 1", "runs into c on lead")


def test_contact_without_coupling() -> None:
    """A string that comes to touch another must couple, at the end of a run as well as within it."""
    puzzle = plain(10, "L | c")
    start = place(puzzle, 0, 3)
    no_couple = "comes to touch c and does not couple"
    says_no(puzzle, Plan(start, (run("L+", advance(2)),)), "run 1, step 1", no_couple)
    says_no(puzzle, Plan(start, (run("L+", advance(2), advance(1)),)), "run 1, step 1", no_couple)
    away = (run("L+", advance(2)), run("L-", advance(2)))
    says_no(puzzle, Plan(start, away), "run 1, step 1", no_couple)


def test_contact_across_a_boundary() -> None:
    """Two strings touch also where two cells meet: at the clearance point of a turnout."""
    puzzle = set_up(spur_district(), {"lead": "L", "spur": "c"}, heads={"L": "to"})
    start = place(puzzle, 4, 0)
    says_no(puzzle, Plan(start, (run("L+", advance(2, "T/1")),)), "run 1, step 1", "comes to touch c")
    says_no(puzzle, Plan(start, (run("L+", advance(3, "T/1 spur")),)), "run 1, step 1", "runs into c on spur")


def test_coupling_to_what_is_not_touched() -> None:
    """Nothing is coupled at a distance, nor with no advance before."""
    puzzle = plain(10, "L | c")
    start = place(puzzle, 0, 3)
    what = "nothing that couples is touched"
    says_no(puzzle, Plan(start, (run("L+", advance(1), couple("c")),)), "run 1, step 2", what)
    says_no(puzzle, Plan(start, (run("L+", couple("c"), advance(1)),)), "run 1, step 1", what)


def test_coupling_to_another_string_than_the_one_touched() -> None:
    """A coupling names just the vehicles that are taken, in order outwards."""
    puzzle = plain(10, "L | c d | e")
    for wrong in ("d c", "c", "e", "c d e", ""):
        plan = Plan(place(puzzle, 0, 3, 7), (run("L+", advance(2), couple(wrong)),))
        says_no(puzzle, plan, "run 1, step 2", "touches c + d, not")


def test_coupling_twice() -> None:
    """One contact is one coupling."""
    puzzle = plain(10, "L | c")
    plan = Plan(place(puzzle, 0, 3), (run("L+", advance(2), couple("c"), couple("c")),))
    says_no(puzzle, plan, "run 1, step 3", "nothing that couples is touched")


def test_blocked_junction() -> None:
    """A route may not be entered while a vehicle stands on one that it excludes, be it by one unit."""
    puzzle = set_up(
        spur_district(turnout_length=2), {"main": "A", "spur": "B"}, heads={"A": "from", "B": "from"}
    )
    runs = (run("A+", advance(1, "-T/0")), run("B+", advance(1, "-T/1")))
    what = "T (points - diverging) is blocked by A on T (points - straight)"
    says_no(puzzle, Plan(place(puzzle, 0, 0), runs), "run 2, step 1", what)


def test_routes_that_share_an_end_exclude_each_other() -> None:
    """Two routes from one end exclude each other even if the junction says that they do not."""
    links = tuple(
        (End("T", one), End(*two.split(".")))
        for one, two in (("a", "l.to"), ("b", "m.from"), ("c", "n.from"))
    )
    lying = Junction(
        "T",
        "junction",
        ("a", "b", "c"),
        (Route("a", "b", 1), Route("a", "c", 1)),
        frozenset({frozenset({0, 1})}),
    )
    district = build([track("l", 3), track("m", 3), track("n", 3)], [(lying, links)])
    puzzle = set_up(district, {"m": "A", "n": "B"}, heads={"A": "from", "B": "from"})
    runs = (run("A+", advance(1, "-T/0")), run("B+", advance(1, "-T/1")))
    says_no(puzzle, Plan(place(puzzle, 0, 0), runs), "run 2, step 1", "blocked by A")


def test_blocked_by_itself() -> None:
    """A string whose rear end still stands on one leg of a balloon's turnout may not enter the other leg."""
    puzzle = set_up(balloon_district(lead=9, loop=6), {"lead": "L"}, heads={"L": "to"}, lengths={"L": 7})
    plan = Plan(place(puzzle, 2), (run("L+", advance(8, "T/0 loop -T/1")),))
    says_no(puzzle, plan, "run 1, step 1", "T (points - diverging) is blocked by L on T (points - straight)")
    shorter = replace(puzzle, locomotives=(replace(puzzle.locomotives[0], length=6),))
    plan = Plan(place(shorter, 3), (run("L+", advance(9, "T/0 loop -T/1 -lead")),))
    assert replay(shorter, plan).counts.turnouts_thrown == 1


def test_blocked_by_itself_on_a_crossing() -> None:
    """A string may not cross itself on the level."""
    # A figure of one loop: w - X(a) - e, bent round to n - X(b) - s.
    tracks = [track("w", 5), track("e", 2), track("n", 2), track("s", 5)]
    device = crossing("X", "w.to", "e.from", "n.to", "s.from")
    district = build(tracks, [device], links=[("e.to", "n.from")])
    puzzle = set_up(district, {"w": "L"}, heads={"L": "to"}, lengths={"L": 5})
    plan = Plan(place(puzzle, 0), (run("L+", advance(6, "X/0 e n X/1")),))
    says_no(puzzle, plan, "run 1, step 1", "X (b_from - b_to) is blocked by L on X (a_from - a_to)")


def test_blocked_by_a_car_left_foul() -> None:
    """A car left on one leg of a turnout blocks the other leg."""
    puzzle = set_up(spur_district(turnout_length=2), {"lead": "L c"}, heads={"L": "to"})
    runs = (
        run("L+", advance(2, "T/0")),  # lead 0-6, T 6-8: L 6-7, c 7-8
        run("L-", cut("c"), advance(1, "-lead")),
        run("L+", advance(1, "T/1")),
    )
    what = "T (points - diverging) is blocked by c on T (points - straight)"
    says_no(puzzle, Plan(place(puzzle, 4), runs), "run 3, step 1", what)


NETS = [
    pytest.param(Placed(("L",), ways("lead"), 2, {"L": 1}), "d and L stand on the same rail", id="overlap"),
    pytest.param(Placed(("L",), ways("T/1"), 0, {"L": 1}), "exclude each other", id="excluded routes"),
    pytest.param(Placed(("L",), ways("lead"), 3, {"L": 1}), "touches", id="touching with its rear end"),
]


@pytest.mark.parametrize(("ends", "what"), NETS)
def test_net_under_the_sweep(ends: Placed, what: str, monkeypatch: pytest.MonkeyPatch) -> None:
    """If the sweep by mistake let a string stop where it may not stand, the standing would be refused."""
    puzzle = set_up(spur_district(lead=8), {"lead": "d | L", "main": "M"}, heads={"L": "to", "M": "from"})
    plan = Plan(place(puzzle, 2, 5, 0), (run("M+", advance(1, "-T/0")), run("L+", advance(1))))
    assert replay(puzzle, plan).counts.moves == 2
    genuine = Sweep.advance

    def broken(self: Sweep, string: Placed, step: Advance) -> Placed:
        return ends if string.vehicles == ("L",) else genuine(self, string, step)

    monkeypatch.setattr(Sweep, "advance", broken)
    says_no(puzzle, plan, "run 2, step 1", what)


# -- cuts -----------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("one", "where", "what"),
    [
        pytest.param(run("L+", cut("d"), advance(1)), "run 1, step 1", "do not trail", id="leading side"),
        pytest.param(
            run("L+", cut("b"), advance(1)), "run 1, step 1", "do not trail", id="out of the middle"
        ),
        pytest.param(run("L+", cut("a b"), advance(1)), "run 1, step 1", "do not trail", id="order"),
        pytest.param(run("L-", cut("b a"), advance(1)), "run 1, step 1", "do not trail", id="old direction"),
        pytest.param(run("L+", cut(""), advance(1)), "run 1, step 1", "do not trail", id="nothing"),
        pytest.param(run("L+", cut("x"), advance(1)), "run 1, step 1", "do not trail", id="stranger"),
        pytest.param(
            run("L+", cut("L b a"), advance(1)), "run 1, step 1", "L, which runs, would be left", id="itself"
        ),
        pytest.param(run("L+", advance(1), cut("b a")), "run 1, step 2", "must be followed", id="at the end"),
        pytest.param(
            run("L+", cut("a"), cut("b"), advance(1)), "run 1, step 1", "must be followed", id="two at once"
        ),
    ],
)
def test_cuts(one: Run, where: str, what: str) -> None:
    """Cut off is the trailing block of the moving string, never the running locomotive; the rest goes on."""
    puzzle = plain(20, "a b L c d")
    says_no(puzzle, Plan(place(puzzle, 5), (one,)), where, what)


@pytest.mark.parametrize(
    ("pair", "what"),
    [
        pytest.param(("c", "e"), "not coupled", id="apart"),
        pytest.param(("L", "d"), "not coupled", id="not neighbours"),
        pytest.param(("L", "x"), "not coupled", id="stranger"),
    ],
)
def test_final_cuts(pair: tuple[str, str], what: str) -> None:
    """A final cut parts two neighbours that are coupled, and each pair once."""
    puzzle = plain(20, "L c d | e")
    says_no(puzzle, Plan(place(puzzle, 0, 9), (), (("L", "c"), pair)), "final cut 2", what)
    twice = (("L", "c"), ("L", "c"))
    says_no(puzzle, Plan(place(puzzle, 0, 9), (), twice), "final cut 2", "not coupled")
