"""The referee says no: marks and limits, what does not couple, tables, what is to be kept clear."""

from __future__ import annotations

from dataclasses import replace

import pytest

from switchsolve.district import End, KeepClear, Limits, Marks, Part, Table
from switchsolve.errors import PlanError
from switchsolve.plan import Plan, Run
from switchsolve.puzzle import Puzzle
from switchsolve.referee import replay
from switchsolve.work import Free
from tests.builders import (
    advance,
    build,
    couple,
    cut,
    line,
    place,
    run,
    set_up,
    spur_district,
    table_district,
    track,
    turnout,
)
from tests.test_referee_says_no import says_no

STREET = Marks(keep_clear=KeepClear.ALWAYS)


# -- marks, limits, what does not couple ----------------------------------------------------------


def _pier(marks: Marks, **more: object) -> Puzzle:
    """Lead 0-6, T 6-7, pier 7-10 with marks; L and i on the lead."""
    pier = track("pier", 3, marks=marks)
    device = turnout("T", "lead.to", "main.from", "pier.from")
    district = build([track("lead", 6), track("main", 4), pier], [device])
    return set_up(district, {"lead": "L i"}, heads={"L": "to"}, **more)  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("puzzle", "distance", "what"),
    [
        pytest.param(
            _pier(Marks(no_locomotives=True)), 4, "L may not touch pier: closed to locomotives", id="live"
        ),
        pytest.param(
            _pier(Marks(no_locomotives=True), dead="i"), 3, "i may not touch pier: closed", id="dead"
        ),
        pytest.param(
            _pier(Marks(barred=frozenset({"tank"})), kinds={"i": "tank"}), 3, "i may not touch", id="kind"
        ),
        pytest.param(
            _pier(Marks(barred=frozenset({"locomotive"}))), 4, "L may not touch pier: barred", id="kind of L"
        ),
    ],
)
def test_closed_rail(puzzle: Puzzle, distance: int, what: str) -> None:
    """A vehicle may not touch rail closed to it, wherever in the string it is; one unit less is allowed."""
    start = place(puzzle, 3)  # L 3-4, i 4-5: i is on the pier after 3, L after 4
    says_no(puzzle, Plan(start, (run("L+", advance(distance, "T/1 pier")),)), "run 1, step 1", what)
    enters = "T/1 pier" if distance > 3 else "T/1"
    plan = Plan(start, (run("L+", advance(distance - 1, enters)),), (("L", "i"),))
    anywhere = replace(puzzle, work=replace(puzzle.work, items=(Free("i"),)))
    # The car ends foul, or wholly on the pier: what matters here is that the run itself is not refused.
    with pytest.raises(PlanError) as caught:
        replay(anywhere, replace(plan, final_cuts=()))
    assert caught.value.where == "end"


def test_closed_rail_in_the_middle_of_an_advance() -> None:
    """A closed part is noticed even if the locomotive would be beyond it at the end of the step."""
    lead = track("lead", 4, Part(1, Marks(no_locomotives=True)), 5)
    puzzle = set_up(build([lead]), {"lead": "L"}, heads={"L": "to"})
    plan = Plan(place(puzzle, 0), (run("L+", advance(8, "lead/1 lead/2")),))
    says_no(puzzle, plan, "run 1, step 1", "L may not touch lead (part 2): closed to locomotives")


def _limited(limits: Limits, *, where: str, text: str) -> Puzzle:
    """A lead of 10 + 10; the limits hold in the district or on the second part only."""
    everywhere = limits if where == "district" else Limits()
    there = Marks(limits=limits if where == "part" else Limits())
    lead = track("lead", 10, Part(10, there))
    return set_up(
        build([lead], limits=everywhere),
        {"lead": text},
        heads={"L": "to"},
        lengths={"c": 2, "d": 2},
        dead="x",
    )


LIMITS = [
    pytest.param(Limits(most_cars=1), "2 cars are moved, at most 1", id="cars"),
    pytest.param(Limits(longest=3), "cars of length 4 are moved, at most 3", id="length"),
    pytest.param(Limits(most_shoved=1), "2 cars are shoved ahead, at most 1", id="shoved"),
]


@pytest.mark.parametrize(("limits", "what"), LIMITS)
def test_limit_of_the_district(limits: Limits, what: str) -> None:
    """A string over a limit may not move; a run may not take up what would be too much."""
    says = f"{what} may be (limit of the district)"
    over = _limited(limits, where="district", text="L c d")
    says_no(over, Plan(place(over, 0), (run("L+", advance(1)),)), "run 1, step 1", says)
    puzzle = _limited(limits, where="district", text="L c | d")
    plan = Plan(place(puzzle, 0, 4), (run("L+", advance(1), couple("d")),))
    says_no(puzzle, plan, "run 1, step 2", says)


@pytest.mark.parametrize(("limits", "what"), LIMITS)
def test_limit_of_a_part(limits: Limits, what: str) -> None:
    """The limit of a part holds as soon as the string touches it, and while it does."""
    says = f"{what} may be (limit of lead (part 2))"
    over = _limited(limits, where="part", text="L c d")
    says_no(over, Plan(place(over, 4), (run("L+", advance(2, "lead/1")),)), "run 1, step 1", says)
    assert _stops_at_end(over, Plan(place(over, 4), (run("L+", advance(1)),)))
    puzzle = _limited(limits, where="part", text="L c | d")
    plan = Plan(place(puzzle, 5, 9), (run("L+", advance(1), couple("d")),))
    says_no(puzzle, plan, "run 1, step 2", says)
    short = Plan(place(puzzle, 4, 8), (run("L+", advance(1), couple("d")),))
    assert _stops_at_end(puzzle, short)


def _stops_at_end(puzzle: Puzzle, plan: Plan) -> bool:
    """Whether the runs are legal, and only the work is not done (the cars are still coupled)."""
    with pytest.raises(PlanError) as caught:
        replay(puzzle, plan)
    return caught.value.where == "end"


def test_dead_locomotives_count_as_cars() -> None:
    """For a limit a dead locomotive is a car."""
    puzzle = _limited(Limits(most_cars=1), where="district", text="L x c")
    plan = Plan(place(puzzle, 0), (run("L+", advance(1)),))
    says_no(puzzle, plan, "run 1, step 1", "2 cars are moved, at most 1 may be")


def test_do_not_touch() -> None:
    """A do-not-touch car is neither coupled to nor run into, and the run ends there."""
    puzzle = set_up(build([track("lead", 9)]), {"lead": "L | f"}, heads={"L": "to"}, fixed={"f": 4})
    start = place(puzzle, 0, 4)
    assert replay(puzzle, Plan(start, (run("L+", advance(3)),))).counts.moves == 1
    what = "nothing that couples is touched"
    says_no(puzzle, Plan(start, (run("L+", advance(3), couple("f")),)), "run 1, step 2", what)
    says_no(puzzle, Plan(start, (run("L+", advance(4)),)), "run 1, step 1", "runs into f")
    says_no(puzzle, Plan(start, (run("L+", advance(3), advance(1)),)), "run 1, step 2", "runs into f")


def test_coupled_at_the_start_where_nothing_couples() -> None:
    """A set-up in error: coupled to a do-not-touch car, or at the front of a rear-only locomotive."""
    lead = build([track("lead", 9)])
    fixed = set_up(lead, {"lead": "f L"}, heads={"L": "to"}, fixed={"f": 0})
    says_no(fixed, Plan(place(fixed, 0), ()), "start", "f + L cannot be coupled")
    front = set_up(lead, {"lead": "c R"}, heads={"R": "from"}, rear_only="R")
    says_no(front, Plan(place(front, 0), ()), "start", "c + R cannot be coupled")
    rear = set_up(lead, {"lead": "c R"}, heads={"R": "to"}, rear_only="R")
    assert replay(rear, Plan(place(rear, 0), (), (("c", "R"),))).counts.cuts == 1


def test_front_of_a_rear_only_locomotive() -> None:
    """The front of a rear-only locomotive couples to nothing, whichever of the two comes up."""
    lead = build([track("lead", 9)])
    leads = set_up(lead, {"lead": "R | c"}, heads={"R": "to"}, rear_only="R")
    what = "nothing that couples is touched"
    plan = Plan(place(leads, 0, 4), (run("R+", advance(3), couple("c")),))
    says_no(leads, plan, "run 1, step 2", what)
    says_no(leads, Plan(place(leads, 0, 4), (run("R+", advance(4)),)), "run 1, step 1", "runs into c")
    stands = set_up(lead, {"lead": "L | R"}, heads={"L": "to", "R": "from"}, rear_only="R")
    plan = Plan(place(stands, 0, 4), (run("L+", advance(3), couple("R")),))
    says_no(stands, plan, "run 1, step 2", what)


def test_rear_of_a_rear_only_locomotive_must_couple() -> None:
    """Its rear couples like any other; a contact there without coupling is rejected."""
    puzzle = set_up(build([track("lead", 9)]), {"lead": "L | R"}, heads={"L": "to", "R": "to"}, rear_only="R")
    plan = Plan(place(puzzle, 0, 4), (run("L+", advance(3)),))
    says_no(puzzle, plan, "run 1, step 1", "comes to touch R and does not couple")


# -- tables ---------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("steps", "number", "what"),
    [
        pytest.param((line("X", 1), advance(1)), 1, "X has no pair 1", id="no table"),
        pytest.param((line("W", 6), advance(1)), 1, "W has no pair 6", id="no pair"),
        pytest.param((line("W", -1), advance(1)), 1, "W has no pair -1", id="negative"),
        pytest.param((line("W", 0), advance(1)), 1, "lined so already", id="the same"),
        pytest.param((advance(2, "W"), line("W", 5)), 2, "L stands partly on W", id="partly on it"),
        pytest.param((line("W", 5), advance(2, "W")), 2, "no rail follows", id="lined away"),
        pytest.param((advance(5, "W one")), 1, "no rail follows", id="other end of the table"),
        pytest.param(
            (advance(3, "W"), line("W", 4), advance(2, "two")), 3, "does not follow W", id="wrong stall"
        ),
        pytest.param(
            (advance(4, "W"), line("W", 4), advance(2, "one")), 2, "would touch", id="touching after"
        ),
    ],
)
def test_tables(steps: object, number: int, what: str) -> None:
    """A table is lined at rest, to another pair, with nothing partly on it and nothing touching after it."""
    puzzle = set_up(table_district(), {"lead": "L", "one": "c"}, heads={"L": "to"}, lengths={"L": 2})
    made = steps if isinstance(steps, tuple) else (steps,)
    says_no(puzzle, Plan(place(puzzle, 2, 0), (Run("L", True, made),)), f"run 1, step {number}", what)


def test_table_at_the_start_is_lined_as_the_file_says() -> None:
    """A table that is not lined to the lead at the start is as good as a bumper."""
    meets = (("from", End("lead", "to")), ("to", End("lead", "to")))
    for lined, sign in ((0, "W"), (1, "-W")):
        district = build([track("lead", 4)], tables=[Table("W", "turntable", 3, meets, lined)])
        puzzle = set_up(district, {"lead": "L"}, heads={"L": "to"})
        wrong = "-W" if sign == "W" else "W"
        plan = Plan(place(puzzle, 0), (run("L+", advance(4, wrong)),))
        says_no(puzzle, plan, "run 1, step 1", "does not follow lead")
        assert replay(puzzle, Plan(place(puzzle, 0), (run("L+", advance(4, sign)),))).counts.distance == 3


# -- keep clear -----------------------------------------------------------------------------------


def _street() -> Puzzle:
    """Lead 0-6 whose part 2-4 is kept clear; c must come back to the lead."""
    lead = track("lead", 2, Part(2, STREET, "street"), 2)
    return set_up(spur_district(lead=lead), {"lead": "c L"}, heads={"L": "to"})


def test_car_left_on_a_street_at_a_reversal() -> None:
    """A car left where it must be kept clear is rejected at the next reversal of any locomotive."""
    puzzle = _street()
    runs = (
        run("L+", advance(1), cut("c"), advance(3, "lead/2 T/0")),  # c at 2-3, foul of the street
        run("L-", advance(3, "-lead/2 -lead/1"), couple("c")),
    )
    what = "at the reversal of L, c is left on lead (street), which is to be kept clear"
    says_no(puzzle, Plan(place(puzzle, 1), runs), "run 2, step 1", what)


def test_clearance_is_judged_before_the_cut() -> None:
    """At a reversal the string still stands coupled: a cut made there is judged at the next reversal."""
    puzzle = set_up(
        spur_district(lead=track("lead", 2, Part(2, STREET, "street"), 2)), {"lead": "L c"}, heads={"L": "to"}
    )
    runs = (
        run("L+", advance(1, "lead/1")),  # L 1-2, c 2-3, on the street
        run("L-", cut("c"), advance(1)),  # not yet wrong
        run("L+", advance(1), couple("c")),  # wrong: c was left
    )
    what = "at the reversal of L, c is left on lead (street)"
    says_no(puzzle, Plan(place(puzzle, 0), runs), "run 3, step 1", what)


def test_reversal_of_a_passive_locomotive() -> None:
    """A locomotive that is taken up and shoved back reverses within a run: the street must be clear then."""
    lead = track("lead", 2, Part(2, STREET, "street"), 16)
    puzzle = set_up(build([lead]), {"lead": "c A | B"}, heads={"A": "to", "B": "to"}, under_way={"B": "from"})
    runs = (run("A+", advance(1), cut("c"), advance(3, "lead/2"), couple("B"), advance(1)),)
    # c 2-3 is left on the street; A 3-4 goes to 6-7 and meets B at 7.
    says_no(puzzle, Plan(place(puzzle, 1, 7), runs), "run 1, step 5", "at the reversal of B, c is left on")


def test_street_at_the_end() -> None:
    """At the end the street must be clear in both forms, after the final cuts."""
    for form in (KeepClear.ALWAYS, KeepClear.AT_END):
        lead = track("lead", 2, Part(2, Marks(keep_clear=form), "street"), 2)
        puzzle = set_up(build([lead]), {"lead": "c L"}, heads={"L": "to"})
        plan = Plan(place(puzzle, 0), (run("L+", advance(1, "lead/1")),), (("c", "L"),))
        assert replay(puzzle, plan).counts.moves == 1
        plan = Plan(place(puzzle, 0), (run("L+", advance(2, "lead/1")),), (("c", "L"),))
        says_no(puzzle, plan, "end", "c is left on lead (street), which is to be kept clear")
