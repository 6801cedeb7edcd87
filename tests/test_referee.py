"""The referee says yes: plans written by hand on small districts, with counts counted by hand.

Where positions matter, the comments count along one line of rail from the west end of the first track.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import pytest

from switchsolve.district import District, KeepClear, Limits, Marks, Part
from switchsolve.plan import Advance, Counts, Placed, Plan, Step
from switchsolve.puzzle import Puzzle
from switchsolve.referee import occupied, replay
from switchsolve.work import AnyCars, EndsIn, Free, Hold, LocomotiveEnds, Place, Train
from tests.builders import (
    advance,
    balloon_district,
    build,
    couple,
    cut,
    line,
    oval_district,
    place,
    run,
    run_around_district,
    set_up,
    spur_district,
    switchback_district,
    table_district,
    track,
    turnout,
    ways,
    wye_district,
)

Case = tuple[Puzzle, Plan, Counts]


def counts(
    moves: int,
    reversals: int,
    distance: int,
    *,
    couplings: int = 0,
    cuts: int = 0,
    cars: int = 0,
    thrown: int = 0,
    tables: int = 0,
) -> Counts:
    """Counts by name; what is left out is none."""
    return Counts(moves, reversals, couplings, cuts, cars, thrown, tables, distance)


def to(car: str, *tracks: str) -> EndsIn:
    """The car ends in one of the tracks."""
    return EndsIn(car, tuple(Place(name) for name in tracks))


# -- the plans ------------------------------------------------------------------------------------


def spur() -> Case:
    """Lead 0-6, T 6-7, spur 7-10.  Shove c (1-2) to 7-8 and cut it off."""
    puzzle = set_up(spur_district(), {"lead": "L c"}, to("c", "spur"), heads={"L": "to"})
    plan = Plan(place(puzzle, 0), (run("L+", advance(6, "T/1 spur")),), (("L", "c"),))
    return puzzle, plan, counts(1, 0, 1 + 3, cuts=1, cars=1)


def run_around() -> Case:
    """West 0-6, A 6-7, main or side 7-11, B 11-12, east 12-18.  L passes c and stands east of it."""
    train = Train("L", "west", frozenset({"c"}), locomotive_at="to")
    puzzle = set_up(run_around_district(), {"west": "L c"}, train, heads={"L": "to"})
    plan = Plan(
        place(puzzle, 0),
        (
            run("L+", advance(6, "A/0 main")),  # c 7-8, L 6-7
            run("L-", cut("c"), advance(1, "-west")),  # L 5-6
            run("L+", advance(7, "A/1 side -B/1 east")),  # L 12-13
            run("L-", advance(4, "B/0 -main"), couple("c"), advance(3, "-A/0 -west")),  # c 4-5, L 5-6
        ),
    )
    distance = (1 + 4) + 6 + (1 + 4 + 1 + 6) + (1 + 4) + (1 + 6)
    return puzzle, plan, counts(4, 3, distance, couplings=1, cuts=1, cars=1, thrown=3)


def switchback() -> Case:
    """Lead 0-6, S 6-7, tail 7-10: L c pull into the tail, c is shoved back into the spur."""
    puzzle = set_up(switchback_district(), {"lead": "c L"}, to("c", "spur"), heads={"L": "to"})
    plan = Plan(
        place(puzzle, 0),
        (run("L+", advance(7, "-S/0 tail")), run("L-", advance(2, "S/1 spur"))),
        (("c", "L"),),
    )
    return puzzle, plan, counts(2, 1, (1 + 3) + (1 + 3), cuts=1, cars=1, thrown=1)


def two_locomotives() -> Case:
    """A at 0-1, B at 3-4 on one track of 10, B heading the other way.

    A couples to B and shoves it on: B begins its first move, backward by its own nose.  Then B runs forward,
    which is a reversal of both; A is left by a cut at the stop, and B runs back alone: a reversal of B only.
    """
    puzzle = set_up(
        build([track("lead", 10)]),
        {"lead": "A | B"},
        LocomotiveEnds("A", "lead", "to"),
        heads={"A": "to", "B": "from"},
    )
    plan = Plan(
        place(puzzle, 0, 3),
        (
            run("A+", advance(2), couple("B"), advance(2)),  # A 4-5, B 5-6
            run("B+", advance(1)),  # A 3-4, B 4-5
            run("B-", cut("A"), advance(3)),  # B 7-8
        ),
    )
    return puzzle, plan, counts(5, 3, 0, couplings=1, cuts=1)


def under_way() -> Case:
    """A, under way, goes the other way at once; B, under way, goes nowhere: 2 moves + 1 reversal."""
    puzzle = set_up(
        build([track("lead", 10)]),
        {"lead": "A | B"},
        heads={"A": "to", "B": "to"},
        under_way={"A": "to", "B": "from"},
    )
    plan = Plan(place(puzzle, 3, 6), (run("A-", advance(1)),))
    return puzzle, plan, counts(3, 1, 0)


def oval() -> Case:
    """North 0-5, T 5-6, south 6-11, north again 11-16: c is taken once around without a reversal."""
    puzzle = set_up(oval_district(), {"north": "L", "south": "c"}, to("c", "north"), heads={"L": "to"})
    plan = Plan(
        place(puzzle, 0, 2),
        (run("L+", advance(7, "T/0 south"), couple("c"), advance(3, "north")),),
        (("L", "c"),),
    )
    return puzzle, plan, counts(1, 0, 1 + 5 + 5, couplings=1, cuts=1, cars=1)


def laps() -> Case:
    """A string of 9 on an oval of 9 + 1 + 1 has both ends in one track; each lap counts every entry."""
    district = oval_district(north=9, south=1)
    puzzle = set_up(district, {"north": "L"}, heads={"L": "to"}, lengths={"L": 9})
    plan = Plan(place(puzzle, 0), (run("L+", advance(23, "T/0 south north T/0 south north T/0")),))
    return puzzle, plan, counts(1, 0, 2 * 11 + 1)


def balloon() -> Case:
    """Lead 0-5, T 5-6, loop 6-14, T 14-15, lead: L goes round and comes back heading the other way."""
    puzzle = set_up(
        balloon_district(), {"lead": "c L"}, Train("L", "lead", frozenset({"c"}), "from"), heads={"L": "to"}
    )
    plan = Plan(place(puzzle, 3), (run("L+", advance(12, "T/0 loop -T/1 -lead")),))  # c 15-16, L 16-17
    return puzzle, plan, counts(1, 0, 1 + 8 + 1 + 5, cars=1, thrown=1)


def wye() -> Case:
    """L (3-4 on the stem, 4 long) is turned by the wye: out to left, back to right, out to the stem."""
    puzzle = set_up(wye_district(), {"stem": "L"}, LocomotiveEnds("L", "stem", "from"), heads={"L": "to"})
    plan = Plan(
        place(puzzle, 3),
        (
            run("L+", advance(5, "X/0 xy -Y/1 -left")),  # on left, front to its from end
            run("L-", advance(5, "Y/0 yz -Z/1 -right")),
            run("L+", advance(5, "Z/0 zx -X/1 -stem")),
        ),
    )
    return puzzle, plan, counts(3, 2, 3 * (1 + 2 + 1 + 4), thrown=3)


def turntable() -> Case:
    """L runs onto the table W (3 long), is turned to stall two, comes back, and leaves it turned."""
    puzzle = set_up(table_district(), {"lead": "L"}, LocomotiveEnds("L", "lead", "from"), heads={"L": "to"})
    plan = Plan(
        place(puzzle, 4),
        (
            run("L+", advance(2, "W"), line("W", 5), advance(2, "two")),  # L 0-1 on two
            run("L-", advance(1, "-W")),  # L 2-3 on the table, front to its to end
            run("L+", line("W", 4), line("W", 3), advance(1, "-lead")),
        ),
    )
    return puzzle, plan, counts(3, 2, (3 + 3) + 3 + 5, tables=3)


def closed_pier() -> Case:
    """Lead 0-6, T 6-7, pier 7-10 closed to locomotives: the idler i reaches c at 8-9."""
    pier = track("pier", 3, marks=Marks(no_locomotives=True))
    district = build(
        [track("lead", 6), track("main", 4), pier], [turnout("T", "lead.to", "main.from", "pier.from")]
    )
    puzzle = set_up(district, {"lead": "L i", "pier": "c"}, to("c", "lead"), heads={"L": "to"})
    plan = Plan(
        place(puzzle, 0, 1),
        (run("L+", advance(6, "T/1 pier"), couple("c")), run("L-", advance(3, "-lead"))),
        (("L", "i"),),
    )
    return puzzle, plan, counts(2, 1, (1 + 3) + 6, couplings=1, cuts=1, cars=2)


def crossing_street() -> Case:
    """The part 3-5 of the lead is kept clear: c stands there until moved, and L may stop there with cars."""
    street = track("lead", 3, Part(2, Marks(keep_clear=KeepClear.ALWAYS)), 3)
    puzzle = set_up(spur_district(lead=street), {"lead": "L | c"}, to("c", "spur"), heads={"L": "to"})
    plan = Plan(
        place(puzzle, 2, 4),
        (
            run("L-", advance(1)),  # L 1-2
            run("L+", advance(2, "lead/1"), couple("c")),  # a reversal, c not moved yet; L 3-4, c 4-5
            run("L-", advance(1, "-lead/0")),  # both on or near the street, coupled; L 2-3, c 3-4
            run("L+", advance(6, "lead/2 T/1 spur")),  # L 8-9, c 9-10
        ),
        (("L", "c"),),
    )
    return puzzle, plan, counts(4, 3, 2 + 3 + (3 + 1 + 3), couplings=1, cuts=1, cars=1)


def rear_only() -> Case:
    """The front of R does not couple: it comes up to c, goes back, and takes d with its rear."""
    puzzle = set_up(
        build([track("lead", 10)]),
        {"lead": "d | R | c"},
        to("d", "lead"),
        heads={"R": "to"},
        rear_only="R",
    )
    plan = Plan(
        place(puzzle, 0, 3, 6),
        (run("R+", advance(2)), run("R-", advance(4), couple("d")), run("R+", advance(1))),
        (("R", "d"),),
    )
    return puzzle, plan, counts(3, 2, 0, couplings=1, cuts=1, cars=1)


def limited() -> Case:
    """Two cars at most: L takes c and d, leaves c, and goes on with d."""
    district = build([track("lead", 12)], limits=Limits(most_cars=2, longest=3, most_shoved=1))
    puzzle = set_up(district, {"lead": "c L | d"}, heads={"L": "to"}, lengths={"d": 2})
    plan = Plan(
        place(puzzle, 0, 5),
        (run("L+", advance(3), couple("d"), advance(2), cut("c"), advance(1)),),
        (("L", "d"),),
    )
    return puzzle, plan, counts(1, 0, 0, couplings=1, cuts=2, cars=2)


def do_not_touch() -> Case:
    """f stands fixed at 4-5 of main; L shoves c up to it and leaves c there."""
    puzzle = set_up(
        spur_district(main=8),
        {"lead": "L c", "main": "f"},
        to("c", "main"),
        heads={"L": "to"},
        fixed={"f": 4},
    )
    plan = Plan(place(puzzle, 4, 4), (run("L+", advance(5, "T/0 main")),), (("L", "c"),))
    return puzzle, plan, counts(1, 0, 1 + 8, cuts=1, cars=1)


def made_up() -> Case:
    """Lead 0-6, T 6-7: a and b are gathered from main and spur; the caboose k stays last."""
    train = Train("L", "lead", frozenset("abk"), "to", blocks=(frozenset("b"), frozenset("a")), last="k")
    district = build(
        [track("lead", 6), track("main", 6), track("spur", 3)],
        [turnout("T", "main.from", "lead.to", "spur.from")],
    )
    # From the lead T is trailing.  k a b L gathered: L at the east end, block b next to it, then a, then k.
    puzzle = set_up(district, {"lead": "k a", "main": "L", "spur": "b"}, train, heads={"L": "to"})
    plan = Plan(
        place(puzzle, 0, 0, 0),
        (
            run("L-", advance(1, "T/1"), couple("b")),  # west end of L at 6, b beyond it on the spur
            run("L+", advance(2, "main")),  # b 7-8, L 8-9
            run("L-", advance(5, "T/0 -lead"), couple("a k")),  # b 2-3, L 3-4
        ),
    )
    return puzzle, plan, counts(3, 2, 1 + 6 + (1 + 6), couplings=2, cars=1, thrown=1)


def spots() -> Case:
    """A door may be at the very end of a car; cars of a kind are chosen by the crew, the rest held."""
    district = spur_district(spur=track("spur", 4, spots={"door": 2}))
    puzzle = set_up(
        district,
        {"lead": "L p q", "main": "r"},
        AnyCars("box", 1, Place("spur", "door")),
        Free("q"),
        Hold("r"),
        heads={"L": "to"},
        kinds={"p": "box"},
        lengths={"q": 2},
    )
    # q 2-4 goes to 9-11, p 1-2 to 8-9 (1-2 on the spur): the door at 2 is at the end of p.
    plan = Plan(place(puzzle, 0, 0), (run("L+", advance(7, "T/1 spur")),), (("L", "p"),))
    return puzzle, plan, counts(1, 0, 1 + 4, cuts=1, cars=2)


def across_a_boundary() -> Case:
    """Lead 0-6, T 6-7, spur 7-10: L couples to c and d at the very end of the spur, and pulls them out."""
    puzzle = set_up(
        spur_district(), {"lead": "L", "spur": "c d"}, to("c", "lead"), Free("d"), heads={"L": "to"}
    )
    plan = Plan(
        place(puzzle, 4, 0),
        (run("L+", advance(2, "T/1"), couple("c d")), run("L-", advance(3, "-lead"))),  # L 3-4, c 4-5, d 5-6
        (("L", "c"),),
    )
    return puzzle, plan, counts(2, 1, 1 + 6, couplings=1, cuts=1, cars=2)


CASES: list[Callable[[], Case]] = [
    spur,
    run_around,
    switchback,
    two_locomotives,
    under_way,
    oval,
    laps,
    balloon,
    wye,
    turntable,
    closed_pier,
    crossing_street,
    rear_only,
    limited,
    do_not_touch,
    made_up,
    spots,
    across_a_boundary,
]
every_case = pytest.mark.parametrize("case", CASES, ids=lambda case: case.__name__)


@every_case
def test_good_plan_is_counted(case: Callable[[], Case]) -> None:
    """Each good plan is replayed without objection, and costs what was counted by hand."""
    puzzle, plan, expected = case()
    assert replay(puzzle, plan).counts == expected


@every_case
def test_size_of_the_grid_does_not_matter(case: Callable[[], Case]) -> None:
    """The same plan on a grid a million times finer costs the same, and a million times the distance."""
    puzzle, plan, expected = case()
    size = 1_000_000
    result = replay(_finer(puzzle, size), _finer_plan(plan, size))
    assert result.counts == replace(expected, distance=expected.distance * size)


def _finer(puzzle: Puzzle, size: int) -> Puzzle:
    district = puzzle.district
    tracks = tuple(
        replace(
            one,
            parts=tuple(replace(part, length=part.length * size) for part in one.parts),
            spots=tuple(replace(spot, at=spot.at * size) for spot in one.spots),
        )
        for one in district.tracks
    )
    junctions = tuple(
        replace(one, routes=tuple(replace(route, length=route.length * size) for route in one.routes))
        for one in district.junctions
    )
    tables = tuple(replace(one, length=one.length * size) for one in district.tables)
    limits = district.limits
    if limits.longest is not None:
        limits = replace(limits, longest=limits.longest * size)
    strings = tuple(
        replace(one, fixed_at=None if one.fixed_at is None else one.fixed_at * size)
        for one in puzzle.start.strings
    )
    return replace(
        puzzle,
        district=District(tracks, junctions, tables, district.links, limits),
        cars=tuple(replace(car, length=car.length * size) for car in puzzle.cars),
        locomotives=tuple(replace(one, length=one.length * size) for one in puzzle.locomotives),
        start=replace(puzzle.start, strings=strings),
    )


def _finer_plan(plan: Plan, size: int) -> Plan:
    start = tuple(replace(one, offset=one.offset * size) for one in plan.start)
    runs = tuple(
        replace(one, steps=tuple(_finer_step(step, size) for step in one.steps)) for one in plan.runs
    )
    return replace(plan, start=start, runs=runs)


def _finer_step(step: Step, size: int) -> Step:
    return replace(step, distance=step.distance * size) if isinstance(step, Advance) else step


def test_frames_hold_the_standing_after_each_stage() -> None:
    """One frame for the start, one for each run, one for the end, with what was done in each."""
    puzzle, plan, _ = run_around()
    frames = replay(puzzle, plan).frames
    assert [frame.label for frame in frames] == ["start", "run 1", "run 2", "run 3", "run 4", "end"]
    assert frames[0].standing == plan.start
    assert frames[1].standing == (Placed(("L", "c"), ways("A/0 main"), 0, {"L": 1}),)
    assert frames[2].cut == (("c",),)
    assert frames[2].reversing == ("L",)
    assert frames[3].entered == ways("A/1 side -B/1 east")
    assert frames[4].coupled == (("c",),)
    assert frames[4].moving == ("L", "c")
    assert frames[5].standing == (Placed(("L", "c"), ways("-west"), 0, {"L": -1}),)


def test_coupled_across_a_boundary_stands_on_both_cells() -> None:
    """After a coupling at a clearance point the one string stands on the rail of both."""
    puzzle, plan, _ = across_a_boundary()
    assert replay(puzzle, plan).frames[1].standing == (
        Placed(("L", "c", "d"), ways("T/1 spur"), 0, {"L": 1}),
    )


def test_final_cuts_part_the_last_frame() -> None:
    """After the final cuts the pieces stand as strings of their own, where they were."""
    puzzle, plan, _ = spur()
    last = replay(puzzle, plan).frames[-1]
    assert last.standing == (
        Placed(("L",), ways("T/1"), 0, {"L": 1}),
        Placed(("c",), ways("spur"), 0, {}),
    )


def test_occupied_lists_the_rail_under_each_vehicle() -> None:
    """Pieces are measured from the cell's own from end, also where the string runs against it."""
    puzzle, _, _ = spur()
    # The spur is 3 long, so an offset of 2 against it is 1 from its from end: c 1-0, then L on T 1-0.
    string = Placed(("c", "L"), ways("-spur -T/1"), 2, {"L": -1})
    found = {(piece.vehicle, piece.cell.place, piece.start, piece.end) for piece in occupied(puzzle, string)}
    assert found == {("c", "spur", 0, 1), ("L", "T", 0, 1)}


def test_start_may_be_listed_from_either_end() -> None:
    """A placement may list a string from the other end of its track."""
    puzzle, plan, expected = spur()
    start = (Placed(("c", "L"), ways("-lead"), 4, {"L": -1}),)
    assert replay(puzzle, replace(plan, start=start)).counts == expected
