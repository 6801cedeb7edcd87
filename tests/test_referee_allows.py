"""The referee says yes: what is allowed although it looks much like something that is not."""

from __future__ import annotations

from dataclasses import replace

import pytest

from switchsolve.district import End, KeepClear, Limits, Marks, Part
from switchsolve.errors import PlanError
from switchsolve.plan import Plan
from switchsolve.puzzle import Puzzle
from switchsolve.referee import replay
from switchsolve.work import EndsIn, Place
from tests.builders import (
    advance,
    build,
    couple,
    crossing,
    cut,
    line,
    place,
    run,
    set_up,
    spur_district,
    table_district,
    track,
)


def to(car: str, *tracks: str) -> EndsIn:
    """The car ends in one of the tracks."""
    return EndsIn(car, tuple(Place(name) for name in tracks))


def test_routes_that_do_not_exclude_each_other_are_used_at_once() -> None:
    """On a crossing at two levels one string may stand while another runs over the other route."""
    puzzle, plan = _crossed(compatible=True)
    assert replay(puzzle, plan).counts.moves == 2


def test_a_crossing_on_the_level_is_blocked() -> None:
    """The same plan on a crossing on the level: the second string may not enter."""
    with pytest.raises(PlanError, match="blocked by A") as caught:
        replay(*_crossed(compatible=False))
    assert caught.value.where == "run 2, step 1"


def _crossed(*, compatible: bool) -> tuple[Puzzle, Plan]:
    tracks = [track(name, 3) for name in ("w", "e", "n", "s")]
    district = build(tracks, [crossing("X", "w.to", "e.from", "n.to", "s.from", compatible=compatible)])
    puzzle = set_up(district, {"w": "A", "n": "B"}, heads={"A": "to", "B": "to"})
    runs = (run("A+", advance(1, "X/0")), run("B+", advance(2, "X/1 s")))
    return puzzle, Plan(place(puzzle, 2, 2), runs)


def test_strings_at_two_legs_do_not_touch() -> None:
    """Two strings at the very ends of the legs of a turnout stand apart: no route joins them."""
    puzzle = set_up(spur_district(), {"main": "L", "spur": "c"}, heads={"L": "to"})
    assert replay(puzzle, Plan(place(puzzle, 0, 0), ())).counts.moves == 0


def test_front_of_rear_only_may_be_come_up_to() -> None:
    """Another string may come up to the front of a rear-only locomotive; nothing is coupled."""
    puzzle = set_up(
        build([track("lead", 9)]), {"lead": "L | R"}, heads={"L": "to", "R": "from"}, rear_only="R"
    )
    result = replay(puzzle, Plan(place(puzzle, 0, 5), (run("L+", advance(4)),)))
    assert (result.counts.moves, result.counts.couplings) == (1, 0)


def test_any_locomotive_may_be_the_one_that_runs() -> None:
    """With a locomotive at each end of the string nothing counts as shoved."""
    district = build([track("lead", 9)], limits=Limits(most_shoved=0))
    puzzle = set_up(district, {"lead": "A c B"}, heads={"A": "to", "B": "to"})
    plan = Plan(place(puzzle, 0), (run("A+", advance(4)),), (("A", "c"), ("c", "B")))
    assert replay(puzzle, plan).counts.moves == 2


def test_cars_never_moved_may_block_a_street_for_ever() -> None:
    """What stands on rail to be kept clear at the start is exempt until first moved, also at the end."""
    street = track("main", 4, marks=Marks(keep_clear=KeepClear.ALWAYS))
    puzzle = set_up(spur_district(main=street), {"lead": "L", "main": "c"}, heads={"L": "to"})
    plan = Plan(place(puzzle, 2, 1), (run("L+", advance(1)), run("L-", advance(1))))
    assert replay(puzzle, plan).counts.reversals == 1


def test_only_a_reversal_asks_for_a_clear_street() -> None:
    """A car left on a street is in order while nothing reverses: another locomotive may begin to move."""
    lead = track("lead", 2, Part(2, Marks(keep_clear=KeepClear.ALWAYS)), 6)
    puzzle = set_up(build([lead]), {"lead": "c A | B"}, heads={"A": "to", "B": "to"})
    runs = (
        run("A+", advance(1), cut("c"), advance(1, "lead/2")),  # c 2-3 on the street, A 4-5
        run("B+", advance(1)),  # a first move, no reversal
        run("A+", advance(1)),  # the same direction again
    )
    with pytest.raises(PlanError, match="c is left on lead") as caught:
        replay(puzzle, Plan(place(puzzle, 1, 8), runs))
    assert caught.value.where == "end"


def test_a_table_is_lined_while_others_stand_foul() -> None:
    """What stands across two tracks elsewhere does not keep a table from being lined."""
    district = table_district()
    joined = replace(
        district,
        tracks=(*district.tracks, track("back", 3), track("yard", 3)),
        links=((End("back", "to"), End("yard", "from")),),
    )
    puzzle = set_up(joined, {"lead": "L", "back": "M"}, heads={"L": "to", "M": "to"}, lengths={"M": 2})
    runs = (run("M+", advance(1, "yard")), run("L+", line("W", 3), advance(2, "-W")))  # M 2-4 across the seam
    assert replay(puzzle, Plan(place(puzzle, 4, 1), runs)).counts.tables_turned == 1


def test_at_the_end_only_leaves_reversals_alone() -> None:
    """Rail to be kept clear at the end may be blocked while the work goes on."""
    street = track("main", 4, marks=Marks(keep_clear=KeepClear.AT_END))
    puzzle = set_up(spur_district(main=street), {"lead": "L c"}, to("c", "lead"), heads={"L": "to"})
    runs = (
        run("L+", advance(2, "T/0 main")),
        run("L-", cut("c"), advance(1, "-lead")),
        run("L+", advance(1, "T/0"), couple("c")),
        run("L-", advance(2, "-lead")),
    )
    assert replay(puzzle, Plan(place(puzzle, 4), runs, (("L", "c"),))).counts.moves == 4


def test_turnouts_are_thrown_only_when_a_route_changes() -> None:
    """The first use of a turnout is free, the same route again too."""
    puzzle = set_up(spur_district(), {"lead": "L"}, heads={"L": "to"})
    onto, back = advance(2, "T/1 spur"), advance(2, "-T/1 -lead")
    runs = (run("L+", onto), run("L-", back), run("L+", onto), run("L-", back), run("L+", advance(1, "T/0")))
    assert replay(puzzle, Plan(place(puzzle, 5), runs)).counts.turnouts_thrown == 1
