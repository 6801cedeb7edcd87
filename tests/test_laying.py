"""Laying: what is left of a district when tracks are left out, moved, turned round or changed in length."""

from __future__ import annotations

import pytest

from switchsolve.design import Option
from switchsolve.designing.laying import CannotBeLaid, lay, rail_of, turnouts_of
from switchsolve.district import End
from switchsolve.puzzlefile import canonical, dumps, loads
from tests.design_files import GROUND
from tests.test_broken_files import SOUND

CENTIMETER = 1_000_000
DESIGN = """
[design]
most_rail = "30 cm"
most_turnouts = 3
standards = true
cost = { rail = 0.5, turnout = 20 }
flip = ["cider works"]
leave_out = ["run-around"]
[design.move]
"ice house" = ["West turnout diverging"]
[design.lengths]
"Lane tail" = { least_cars = 1, most_cars = 3, engine = true }
"cider works" = { least = 2, most = 2 }
[[design.one_of]]
name = "the street"
options = { short = { lengths = { street = 3 } }, long = {} }
[[design.wishes]]
about = "spots"
spots = ["cider works"]
task = "exchange"
cars = "ahead"
from = "Lane lead"
least_moves = 2
most_moves = 7
most_trips = 1
how_many = 1
[[design.wishes]]
about = "plain crew"
most_minutes = 40
"""


def test_a_run_around_left_out_is_plain_rail() -> None:
    """Without the run-around its two turnouts are straight rail, part of the tracks beside them.

    Counted by hand: the street has 4 + 1 + 1, or with the entrance before it, which has a length here, the
    west turnout lies in the lead; nothing else has changed.
    """
    laid = canonical(lay(loads(GROUND), [Option("", leave_out=("run-around",))]))
    by_hand = GROUND.replace(
        '"Lane lead" = { from = "entrance", to = "West turnout points", length = 6 }',
        '"Lane lead" = { from = "entrance", to = "street from", length = 7 }',
    )
    by_hand = by_hand.replace(
        '"street" = { from = "West turnout straight", to = "East turnout straight", length = 4 }',
        '"street" = { from = "Lane lead to", to = "Lane tail from", length = 5 }',
    )
    by_hand = by_hand.replace('from = "East turnout points"', 'from = "street to"')
    for line in GROUND.splitlines():
        if line.startswith(('"run-around" =', '"West turnout" =', '"East turnout" =')):
            by_hand = by_hand.replace(line + "\n", "")
    assert laid == loads(by_hand)
    before = loads(GROUND)
    assert turnouts_of(before) == 3 and turnouts_of(laid) == 1
    assert rail_of(before) - rail_of(laid) == 4 * CENTIMETER  # the run-around itself, and no more


def test_a_moved_spur_closes_the_turnout_it_has_left() -> None:
    """A spur leaves from its new turnout; the old one is plain rail of the track at its points."""
    spare = GROUND.replace(
        '"Lane tail" = { from = "East turnout points", to = "Cider turnout points", length = 2 }',
        '"Lane tail" = { from = "East turnout points", to = "Spare points", length = 2 }\n'
        '"end" = { from = "Spare straight", to = "Cider turnout points", length = 2 }',
    ).replace("[turnouts]", '[turnouts]\nSpare = { length = 1, meets = { diverging = "bumper" } }')
    puzzle = loads(spare)
    laid = lay(puzzle, [Option("", move={"cider works": End("Spare", "diverging")})])
    assert laid.district.mate(End("cider works", "from")) == End("Spare", "diverging")
    assert {junction.name for junction in laid.district.junctions} == {
        "West turnout",
        "East turnout",
        "Spare",
    }
    assert laid.district.mate(End("end", "to")) == End("ice house", "from")
    assert laid.district.track("end").length == 3 * CENTIMETER
    assert turnouts_of(laid) == 3 and rail_of(laid) == rail_of(puzzle) - CENTIMETER * 0


def test_spots_stay_where_they_are_when_rail_is_added_before_them() -> None:
    """Rail that a closed turnout leaves at the ``from`` end of a track moves its spots along with it."""
    text = SOUND.replace('"ice house" = ["QLV 3"]\n', "").replace('"QLV 3" = "40 ft box"\n', "")
    text = text.replace('pick_up = ["QLV 3"]\n', "").replace(
        '"street" = { from = "Lane turnout straight", to = "Ice turnout points", length = 24 }',
        '"street" = { from = "Lane turnout straight", to = "Ice turnout straight", length = 24 }',
    )
    text = text.replace(
        '"Lane tail" = { from = "Ice turnout straight", length = 12 }',
        '"Lane tail" = { from = "Ice turnout points", length = 12, spots = { here = 2 }, keep_clear = "no" }',
    ).replace('"street" = { ', '"street" = { keep_clear = "always", ')
    laid = lay(loads(text), [Option("", leave_out=("ice house",))])
    assert laid.district.track("Lane tail").length == 21 * CENTIMETER  # 12 and the straight leg of 9
    assert laid.district.track("Lane tail").spot("here").at == 11 * CENTIMETER
    assert laid.district.track("street").length == 24 * CENTIMETER


def test_a_turnout_with_marks_stays_a_track_of_its_own() -> None:
    """Where rail must be kept clear at the turnout, the plain rail in its place must be, too."""
    marked = GROUND.replace(
        '"West turnout" = { length = 1 }', '"West turnout" = { length = 1, keep_clear = "always" }'
    )
    laid = lay(loads(marked), [Option("", leave_out=("run-around",))])
    track = laid.district.track("West turnout")
    assert track.length == CENTIMETER and track.parts[0].marks.keep_clear == "always"
    assert loads(dumps(laid)) == canonical(laid)


def test_what_does_not_go_together_is_said() -> None:
    """Two tracks at one end, rail that leads nowhere, a track too short for its spots: each with a reason."""
    puzzle = loads(GROUND)
    with pytest.raises(CannotBeLaid, match="two tracks would leave from West turnout diverging"):
        lay(puzzle, [Option("", move={"ice house": End("West turnout", "diverging")})])
    with pytest.raises(CannotBeLaid, match="no rail leads to"):
        lay(puzzle, [Option("", leave_out=("Lane tail",))])
    with pytest.raises(CannotBeLaid, match="cannot be shorter"):
        lay(loads(SOUND), [Option("", lengths={"cider works": 5 * CENTIMETER})])


def test_a_turnout_for_a_spur_that_is_not_there_is_not_built() -> None:
    """A turnout drawn for a spur that may be moved to it is plain rail as long as the spur is not."""
    text = GROUND.replace(
        '"Lane tail" = { from = "East turnout points",', '"Lane tail" = { from = "Spare straight",'
    )
    text = text.replace(
        '"West turnout" = { length = 1 }',
        '"West turnout" = { length = 1 }\nSpare = { length = 1, meets'
        ' = { points = "East turnout points", diverging = "bumper" } }',
    )
    design = '[design.move]\n"ice house" = ["Spare diverging"]\n'
    puzzle = loads(text + design)
    as_drawn = lay(puzzle, [Option("")])
    assert "Spare" not in {junction.name for junction in as_drawn.district.junctions}
    assert as_drawn.district.track("Lane tail").length == 3 * CENTIMETER
    moved = lay(puzzle, [Option("", move={"ice house": End("Spare", "diverging")})])
    assert {junction.name for junction in moved.district.junctions} == {
        "West turnout",
        "East turnout",
        "Spare",
    }


def test_both_run_arounds_or_one() -> None:
    """Dropping and moving in one go: a spur can take the place of what is left out."""
    laid = lay(
        loads(GROUND),
        [
            Option("", leave_out=("run-around",)),
            Option("", move={"ice house": End("West turnout", "diverging")}),
        ],
    )
    assert {junction.name for junction in laid.district.junctions} == {"West turnout"}
    assert laid.district.mate(End("ice house", "from")) == End("West turnout", "diverging")


def test_a_design_reads_back_equal() -> None:
    """What is written of a design reads back as an equal puzzle: every kind of choice and of wish."""
    text = GROUND.replace('car = "box"\n', 'car = "box"\ntail_takes = 1\n') + DESIGN
    puzzle = loads(text)
    assert loads(dumps(puzzle)) == puzzle
    assert puzzle.design is not None and puzzle.design.arrangements == 2 * 2 * 2 * 2 * 3
    lengths = [option.lengths["Lane tail"] for option in puzzle.design.choices[-2].options]
    assert lengths == [2 * CENTIMETER, 3 * CENTIMETER, 4 * CENTIMETER]  # engine 1, cars of 1
