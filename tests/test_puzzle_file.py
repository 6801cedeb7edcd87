"""Puzzle files: what each line means, and that what is written reads back."""

from __future__ import annotations

import subprocess
import sys
import tomllib
from collections.abc import Callable
from dataclasses import replace
from fractions import Fraction
from pathlib import Path
from typing import Any

import jsonschema
import pytest

from switchsolve.district import Cell, End, KeepClear, Limits, Route, Spot, Table
from switchsolve.errors import FileError
from switchsolve.lengths import on_grid_down
from switchsolve.puzzle import Puzzle, Standards, StartString, Times
from switchsolve.puzzlefile import canonical, dumps, json_schema, load, loads
from switchsolve.scales import turnout_legs
from switchsolve.work import (
    AnyCars,
    DoNotTouch,
    EndsIn,
    Free,
    Hold,
    LocomotiveEnds,
    Place,
    Train,
)
from tests.files import puzzle_files

PUZZLES = puzzle_files()

HEAD = """\
unit = "in"
[tracks]
"Wharf lead" = { from = "entrance", to = "Wharf turnout points", length = 40 }
"glass works" = { from = "Wharf turnout straight", length = 30, spots = 4 }
"boat yard" = { from = "Wharf turnout diverging", length = 16 }
"""
TURNOUT = """\
[turnouts]
"Wharf turnout" = { straight = 9, diverging = 9.5 }
"""
ROLLING = """\
[kinds]
box = 6
gondola = { length = "15.24 cm" }
[locomotives]
"S&I 5" = { length = 5.5, heads = "from" }
[cars]
"QLV 1" = "box"
"THB 2" = "gondola"
"THB 3" = { length = 7, kind = "tank" }
"""
START = """\
[start]
"Wharf lead" = ["QLV 1", "S&I 5", "THB 2"]
"boat yard" = ["THB 3"]
"""
WHARF = HEAD + TURNOUT + ROLLING + START

MILLION = 1_000_000


def wharf(**changes: str) -> Puzzle:
    """The wharf with the text of whole sections replaced."""
    sections = {"head": HEAD, "turnout": TURNOUT, "rolling": ROLLING, "start": START, "more": ""} | changes
    return loads("".join(sections.values()))


FEATURES: dict[str, Callable[[], Puzzle]] = {
    "plain": wharf,
    "title and allowance": lambda: wharf(head='title = "The \\"wharf\\"\\n"\nallowance = 0.1\n' + HEAD),
    "parts and marks": lambda: wharf(
        head=HEAD
        + 'street = { from = "bumper", barred = ["box"], parts = [{ length = 12, limits = { longest = 9 } }, '
        '{ length = 3, keep_clear = "always", name = "Front Street crossing" }, '
        '{ length = 9, no_locomotives = true, keep_clear = "at the end" }] }\n'
    ),
    "a part with a name": lambda: wharf(
        head=HEAD + 'street = { from = "bumper", parts = [{ length = 12, name = "street" }] }\n'
    ),
    "marks on a turnout": lambda: wharf(
        turnout=TURNOUT.replace(
            " }", ', keep_clear = "always", limits = { most_cars = 3, most_shoved = 1 }, barred = ["tank"] }'
        )
    ),
    "back to back": lambda: wharf(
        turnout=TURNOUT + '"Pier turnout" = { length = 9, meets = { points = "stub turnout straight", '
        'straight = "bumper", diverging = "pier from" } }\n'
        '"stub turnout" = { length = 2, meets = { points = "bumper", diverging = "bumper" } }\n',
        head=HEAD + 'pier = { from = "Pier turnout diverging", length = 9 }\n',
    ),
    "crossings and slips": lambda: wharf(
        turnout=TURNOUT
        + '[crossings]\nX = { a = 2, b = 3, meets = { "a from" = "bumper", "a to" = "Y b from" } }\n'
        "[single_slips]\nY = { length = 3, a_to_b = 3.5 }\n"
        '[double_slips]\nZ = { length = 3, a_to_b = 3.5, b_to_a = 3.25, meets = { "a from" = "W a to", '
        '"a to" = "W a from", "b from" = "W b to", "b to" = "W b from" } }\n'
        "[double_crossovers]\nW = { length = 8 }\n"
        '[three_ways]\nT = { left = 5, straight = 4, right = 5, '
        'meets = { left = "bumper", right = "bumper" } }\n'
        '[junctions]\nM = { routes = [{ from = "x", to = "y", length = 4 }, '
        '{ from = "u", to = "v", length = 3 }], '
        'compatible = [[2, 1]], kind = "grade", meets = { y = "bumper", u = "bumper", v = "bumper" } }\n',
        head=HEAD + 't1 = { from = "X b from", to = "X b to", length = 9 }\n'
        't2 = { from = "Y a from", to = "Y a to", length = 9 }\n'
        't3 = { from = "Y b to", to = "T points", length = 9 }\n'
        't4 = { from = "T straight", to = "M x", length = 9 }\n',
    ),
    "tables": lambda: wharf(
        head=HEAD.replace("spots = 4", 'to = "Table"')
        + 'stall = { from = "Table", length = 9 }\nfar = { from = "Table to", length = 9 }\n'
        'pit = { from = "Bridge from", to = "Bridge to", length = 20 }\n',
        turnout=TURNOUT
        + '[turntables]\nTable = { length = 11, lined = "stall from", lined_by = "to", '
        'no_locomotives = true }\n'
        '[transfer_tables]\nBridge = { length = 11, lined = "pit from" }\n',
        start=START + 'Table = ["THB 4"]\n',
        rolling=ROLLING + '"THB 4" = { length = 7 }\n',
    ),
    "spots, gaps and fixed places": lambda: wharf(
        start='[start]\n"Wharf lead" = ["S&I 5", "|", "QLV 1"]\n"glass works" = ["THB 2 @ 2", "THB 3 @3"]\n'
        '[fixed]\n"QLV 1" = "20 in"\n',
    ),
    "locomotives": lambda: wharf(
        rolling=ROLLING.replace(
            'heads = "from"', 'heads = "from", under_way = "to", kind = "switcher", rear_only = true'
        ).replace('kind = "tank"', 'kind = "tank", dead_locomotive = true'),
        start=START.replace('"QLV 1", "S&I', '"QLV 1", "|", "S&I'),
    ),
    "all items": lambda: wharf(
        rolling=ROLLING + "".join(f'"OXCC {number}" = "box"\n' for number in range(9)),
        head=HEAD.replace("length = 16", "length = 90"),
        start=START.replace('["THB 3"]', '["THB 3", "|", "OXCC 0", "OXCC 1", "OXCC 2", "OXCC 3", "OXCC 4"]')
        .replace("[start]\n", '[start]\n"glass works" = ["OXCC 5", "|", "OXCC 6", "OXCC 7", "|", "OXCC 8"]\n')
        .replace("4 ]", "4]"),
        more='[work]\nspot = { "QLV 1" = "glass works 2", "OXCC 8" = "boat yard" }\nhold = ["THB 2"]\n'
        'set_to_any_of = { "OXCC 0" = ["boat yard", "glass works 1"], "OXCC 1" = ["boat yard"] }\n'
        'any = [{ kind = "box", count = 1, to = "glass works 3" }]\nfree = ["OXCC 2"]\n'
        'do_not_touch = ["OXCC 4"]\n[work.locomotive]\n"S&I 5" = { ends_in = "Wharf lead", heads = "to" }\n'
        '[[work.train]]\ndeparts_on = "Wharf lead"\npick_up = ["THB 3", "OXCC 3", "OXCC 5"]\n'
        'locomotive_at = "to"\nblocks = [["THB 3"], ["OXCC 5"]]\nlast = "OXCC 3"\n',
    ),
    "limits, standards, promises, notes": lambda: wharf(
        more="[limits]\nmost_cars = 6\nlongest = 40\nmost_shoved = 0\n"
        '[standards]\ncar = "box"\nlocomotive = "S&I 5"\nrun_around_passes = 4\ntail_takes = 2\n'
        'spur_holds = { "boat yard" = 2 }\nclear_at_end = ["Wharf lead"]\n'
        '[stated]\nverdict = "proved minimum"\nmoves = 0\n[notes]\n"boat yard" = "measured twice"\n'
    ),
    "times": lambda: wharf(
        more='[times]\nnew_move = 12.5\ncoupling = 8\ncut = 0\ntable = 40\nspeed = "5 cm"\n'
        "turnout = 6\nreading = 90\nfailed_uncoupling = 12\nfailed_share = 0.25\ncrew_ratio = [1.1, 1.625]\n"
    ),
    "wishes for the drawing": lambda: wharf(
        more='[drawing]\nlanes = { "glass works" = -1 }\nsides = { "boat yard" = "up" }\n'
    ),
    "impossible": lambda: wharf(more='[stated]\nverdict = "impossible"\n'),
    "cars as the unit": lambda: loads(WHARF.replace('"in"', '"car"').replace('"15.24 cm"', "2")),
    "scale": lambda: loads('scale = "N"\n' + WHARF.replace("6\ng", '{ prototype = "40 ft" }\ng')),
}
"""A puzzle for each thing that a file can say."""


@pytest.mark.parametrize("name", FEATURES)
def test_what_is_written_reads_back(name: str) -> None:
    """Writing a puzzle and reading it again gives an equal puzzle, and the same text once more."""
    puzzle = FEATURES[name]()
    text = dumps(puzzle)
    assert loads(text) == puzzle
    assert dumps(loads(text)) == text


@pytest.mark.parametrize("path", PUZZLES, ids=lambda path: path.stem)
def test_the_puzzles_of_the_project_read_and_write(path: Path) -> None:
    """Every puzzle file is sound, reads back as it is written, and does what its JSON Schema says."""
    puzzle = load(path)
    assert loads(dumps(puzzle)) == puzzle
    checker = jsonschema.Draft202012Validator(json_schema())
    checker.validate(tomllib.loads(path.read_text(encoding="utf-8")))
    checker.validate(tomllib.loads(dumps(puzzle)))


def test_there_are_puzzles() -> None:
    """The tests over all puzzle files are not empty."""
    assert len(PUZZLES) >= 3


def test_tracks_and_links() -> None:
    """A spur takes one line; ends are linked as the file says, a track without `to` ends at a bumper."""
    district = wharf().district
    assert district.mate(End("boat yard", "from")) == End("Wharf turnout", "diverging")
    assert district.mate(End("Wharf turnout", "points")) == End("Wharf lead", "to")
    assert district.mate(End("boat yard", "to")) is None
    assert district.track("Wharf lead").entrances == {"from"}
    assert district.track("boat yard").entrances == frozenset()
    assert district.cell_length(Cell("boat yard")) == 16 * MILLION


def test_a_count_of_spots_makes_equal_slots() -> None:
    """Four spots in 30 in stand in the middle of four slots of 7.5 in."""
    spots = wharf().district.track("glass works").spots
    assert spots == tuple(
        Spot(str(n + 1), at) for n, at in enumerate((3_750_000, 11_250_000, 18_750_000, 26_250_000))
    )


def test_turnouts() -> None:
    """A turnout's routes lead from the points to both legs, and exclude each other."""
    junction = wharf().district.junctions[0]
    assert (junction.kind, junction.ends) == ("turnout", ("points", "straight", "diverging"))
    assert junction.routes == (
        Route("points", "straight", 9 * MILLION),
        Route("points", "diverging", 9_500_000),
    )
    assert junction.excludes(0, 1)


def test_turnouts_by_number_are_computed_and_noted() -> None:
    """A no. 6 in HO on 2 in centers follows the textbook, rounded down; a leg that is given stays as
    given.
    """
    head = 'scale = "HO"\n[district]\ntrack_centers = 2\n' + HEAD.replace('unit = "in"\n', "")
    text = (
        'unit = "in"\n'
        + head
        + TURNOUT.replace("straight = 9, diverging = 9.5", "number = 6, diverging = 16")
    )
    puzzle = loads(text + ROLLING + START)
    straight, _ = turnout_legs(Fraction(6), Fraction(165, 254), Fraction(2))
    lengths = [route.length for route in puzzle.district.junctions[0].routes]
    assert lengths == [on_grid_down(straight), 16 * MILLION]
    says = "15.841 in from points to clearance point (no. 6, 2 in centers)"
    assert puzzle.notes == {"Wharf turnout, straight leg": says}


def test_the_gauge_may_be_given() -> None:
    """With a ratio for a scale, a turnout by number needs the gauge: in the unit of the file or its own."""
    head = 'scale = 87.1\ngauge = "16.5 mm"\n' + HEAD
    turnout = TURNOUT.replace("straight = 9, diverging = 9.5", "number = 6, track_centers = 2")
    by_ratio = wharf(head=head, turnout=turnout).district
    by_name = wharf(head='scale = "HO"\n' + HEAD, turnout=turnout).district
    assert by_ratio.junctions == by_name.junctions


def test_an_entrance_without_a_length_takes_every_vehicle() -> None:
    """Such a track is as long as all vehicles with a gap for each, and says so."""
    puzzle = wharf(head=HEAD.replace(", length = 40", ""))
    total = sum(vehicle.length for vehicle in puzzle.vehicles.values())
    assert puzzle.district.track("Wharf lead").length == total + len(puzzle.vehicles)
    assert puzzle.notes == {"Wharf lead": "24.5 in, long enough for every vehicle"}


def test_marks_of_a_track_hold_for_all_its_parts() -> None:
    """Each part has its own marks and those of the whole track, the stricter of each."""
    track = wharf(
        head=HEAD + 'street = { from = "bumper", barred = ["box"], keep_clear = "at the end", '
        "limits = { most_cars = 2 }, parts = [{ length = 5, limits = { most_cars = 3, longest = 4 } }, "
        '{ length = 1, barred = ["tank"], keep_clear = "always", no_locomotives = true, '
        'limits = { most_cars = 1 } }] }\n'
    ).district.track("street")
    one, other = (part.marks for part in track.parts)
    assert (one.barred, one.keep_clear, one.no_locomotives) == (frozenset({"box"}), KeepClear.AT_END, False)
    assert one.limits == Limits(2, 4 * MILLION, None)
    assert (other.barred, other.keep_clear, other.no_locomotives) == (
        frozenset({"box", "tank"}),
        KeepClear.ALWAYS,
        True,
    )
    assert other.limits == Limits(1, None, None)


def test_slips_and_crossovers() -> None:
    """Their ends and routes are those of their kind; only the straights of a crossover go together."""
    district = FEATURES["crossings and slips"]().district
    places = {junction.name: junction for junction in district.junctions}
    roads = {name: [(route.a, route.b) for route in places[name].routes] for name in "XYZWTM"}
    straights = [("a from", "a to"), ("b from", "b to")]
    assert roads["X"] == straights
    assert roads["Y"] == [*straights, ("a from", "b to")]
    assert roads["Z"] == roads["W"] == [*straights, ("a from", "b to"), ("b from", "a to")]
    assert roads["T"] == [("points", leg) for leg in ("left", "straight", "right")]
    assert [places[name].excludes(0, 1) for name in "XYZWTM"] == [True, True, True, False, True, False]
    assert places["W"].excludes(0, 2) and places["W"].excludes(2, 3)
    assert [route.length for route in places["Y"].routes] == [3 * MILLION, 3 * MILLION, 3_500_000]
    assert places["M"].kind == "grade"
    assert district.mate(End("X", "a to")) == End("Y", "b from")


def test_tables() -> None:
    """A table meets the tracks that name it, with both ends or the one they name; `lined` says which
    holds.
    """
    district = FEATURES["tables"]().district
    turntable, bridge = district.tables
    assert turntable.kind == "turntable" and bridge.kind == "transfer table"
    assert turntable.meets == (
        ("from", End("glass works", "to")),
        ("to", End("glass works", "to")),
        ("from", End("stall", "from")),
        ("to", End("stall", "from")),
        ("to", End("far", "from")),
    )
    assert turntable.meets[turntable.lined] == ("to", End("stall", "from"))
    assert turntable.marks.no_locomotives
    assert bridge.meets == (("from", End("pit", "from")), ("to", End("pit", "to")))


def test_vehicles() -> None:
    """Lengths come from the kind or the line itself, in any unit, with the allowance on top of each."""
    puzzle = wharf(head="allowance = 0.1\n" + HEAD)
    lengths = {name: vehicle.length for name, vehicle in puzzle.vehicles.items()}
    assert lengths == {"QLV 1": 6_100_000, "THB 2": 6_100_000, "THB 3": 7_100_000, "S&I 5": 5_600_000}
    assert [car.kind for car in puzzle.cars] == ["box", "gondola", "tank"]
    assert puzzle.kinds == {"box": 6_100_000, "gondola": 6_100_000}
    assert puzzle.allowance == 100_000


def test_what_does_not_fit_the_grid_is_rounded_to_the_safe_side() -> None:
    """A third of an inch in centimeters of track is rounded down, a vehicle of the same length up."""
    text = WHARF.replace('unit = "in"', 'unit = "cm"').replace("length = 16", 'length = "7 1/3 in"')
    text = text.replace("length = 7", 'length = "7 1/3 in"').replace('"boat yard" = [', '"glass works" = [')
    puzzle = loads(text)
    exact = Fraction(22, 3) * Fraction(254, 100) * MILLION
    assert puzzle.district.track("boat yard").length == exact.__floor__()
    assert puzzle.vehicles["THB 3"].length == exact.__ceil__() == exact.__floor__() + 1


def test_lengths_in_standard_cars() -> None:
    """A length in cars is so many standard cars with their allowance."""
    more = '[standards]\ncar = "box"\n'
    puzzle = wharf(head="allowance = 0.1\n" + HEAD.replace("length = 16", 'length = "2.5 cars"'), more=more)
    assert puzzle.district.track("boat yard").length == 15_250_000


def test_cars_as_the_unit_compare_prototypes() -> None:
    """In a file of cars the standard car is 1, and other kinds are as long as they compare with it."""
    rolling = ROLLING.replace("box = 6", 'box = { prototype = "44 ft 2 1/2 in" }').replace(
        'length = "15.24 cm"', 'prototype = "53 ft 1 in"'
    )
    head = HEAD.replace('"in"', '"car"')
    puzzle = wharf(head=head, rolling=rolling, more='[standards]\ncar = "box"\n')
    assert puzzle.kinds["box"] == MILLION
    assert puzzle.kinds["gondola"] == (Fraction(637, 1) / Fraction(1061, 2) * MILLION).__ceil__()
    assert puzzle.notes["gondola"] == "1.201 cars (53 ft 1 in, compared with the box)"
    assert loads(dumps(puzzle)) == puzzle


def test_cars_as_the_unit_know_real_lengths_by_the_scale() -> None:
    """With a scale, and a standard car with a prototype, a file of cars takes inches and turnouts by
    number.
    """
    rolling = ROLLING.replace("box = 6", 'box = { prototype = "40 ft" }').replace("15.24 cm", "140 mm")
    head = 'scale = "HO"\n' + HEAD.replace('"in"', '"car"')
    turnout = TURNOUT.replace("straight = 9, diverging = 9.5", 'number = 6, track_centers = "70 mm"')
    puzzle = wharf(head=head, rolling=rolling, turnout=turnout, more='[standards]\ncar = "box"\n')
    assert puzzle.kinds["gondola"] == MILLION  # 40 feet of 3.5 mm
    legs = turnout_legs(Fraction(6), Fraction(33, 280), Fraction(1, 2))
    assert [route.length for route in puzzle.district.junctions[0].routes] == [
        on_grid_down(leg) for leg in legs
    ]
    assert puzzle.notes["Wharf turnout, straight leg"].endswith("(no. 6, 0.5 car centers)")


def test_start() -> None:
    """Vehicles listed together stand coupled; a bar is a gap; a spot and an exact place may be given."""
    puzzle = FEATURES["spots, gaps and fixed places"]()
    assert puzzle.start.strings == (
        StartString("Wharf lead", ("S&I 5",)),
        StartString("Wharf lead", ("QLV 1",), fixed_at=20 * MILLION),
        StartString("glass works", ("THB 2", "THB 3"), {"THB 2": "2", "THB 3": "3"}),
    )
    assert puzzle.start.heads == {"S&I 5": "from"}
    assert puzzle.start.under_way == {}


def test_a_fixed_car_fixes_its_string() -> None:
    """The place of one vehicle gives that of the whole string."""
    start = '[start]\n"Wharf lead" = ["QLV 1", "S&I 5", "THB 2", "THB 3"]\n[fixed]\n"S&I 5" = 8\n'
    assert wharf(start=start).start.strings[0].fixed_at == 2 * MILLION


def test_cars_not_to_be_touched_are_fixed() -> None:
    """Such a car stands by itself: as told, over its spot as far as the track allows, or against the
    bumper.
    """
    start = (
        '[start]\n"Wharf lead" = ["S&I 5", "QLV 1"]\n'
        '"glass works" = ["OXCC 1 @ 1", "|", "OXCC 2", "OXCC 3"]\n'
        '"boat yard" = ["THB 3", "THB 2"]\n[fixed]\n"THB 3" = 1\n'
    )
    rolling = ROLLING + "".join(f'"OXCC {number}" = 8\n' for number in (1, 2, 3))
    more = '[work]\ndo_not_touch = ["OXCC 1", "OXCC 2", "OXCC 3", "THB 2", "THB 3"]\n'
    strings = wharf(rolling=rolling, start=start, more=more).start.strings
    assert {string.vehicles: string.fixed_at for string in strings} == {
        ("S&I 5", "QLV 1"): None,
        ("OXCC 1",): 0,
        ("OXCC 2",): 14 * MILLION,
        ("OXCC 3",): 22 * MILLION,
        ("THB 3",): MILLION,
        ("THB 2",): 10 * MILLION,
    }


def test_cars_not_to_be_touched_at_a_bumper_at_the_near_end() -> None:
    """Against a bumper at `from` they stand one after the other from there."""
    head = HEAD + 'shed = { from = "bumper", to = "entrance", length = 20 }\n'
    start = '[start]\n"Wharf lead" = ["S&I 5"]\nshed = ["QLV 1", "THB 2", "|", "THB 3"]\n'
    more = '[work]\ndo_not_touch = ["QLV 1", "THB 2"]\n'
    strings = wharf(head=head, start=start, more=more).start.strings
    assert [string.fixed_at for string in strings] == [None, 0, 6 * MILLION, None]


def test_what_does_not_couple_may_touch() -> None:
    """A full track is sound if its cars may touch: against a do-not-touch car or a rear-only front, not
    else.
    """
    head = HEAD.replace("length = 16", "length = 13")
    start = '[start]\n"Wharf lead" = ["S&I 5", "THB 2"]\n"boat yard" = ["QLV 1", "|", "THB 3"]\n'
    more = '[work]\ndo_not_touch = ["THB 3"]\n'
    assert wharf(head=head, start=start, more=more).start.strings[2].fixed_at == 6 * MILLION
    with pytest.raises(FileError, match="no room for gaps"):
        wharf(head=head, start=start)
    head = HEAD.replace("length = 16", "length = 12.5")
    start = '[start]\n"Wharf lead" = ["QLV 1", "THB 2"]\n"boat yard" = ["S&I 5", "|", "THB 3"]\n'
    rolling = ROLLING.replace('heads = "from"', 'heads = "to", rear_only = true')
    assert len(wharf(head=head, start=start, rolling=rolling).start.strings) == 3
    with pytest.raises(FileError, match="no room for gaps"):
        wharf(head=head, start=start, rolling=rolling.replace('"to"', '"from"'))


def test_a_car_may_start_beside_a_part_closed_to_it() -> None:
    """Only what finds no room off the closed part is refused; what stands beyond it is looked at as well."""
    head = HEAD.replace(
        "length = 16 }", 'parts = [{ length = 9 }, { length = 2, barred = ["tank"] }, { length = 7 }] }'
    )
    assert wharf(head=head).start.strings[1].vehicles == ("THB 3",)
    both = START.replace(', "THB 2"]', "]").replace('["THB 3"]', '["THB 3", "|", "THB 2"]')
    assert len(wharf(head=head, start=both).start.strings) == 3
    coupled = both.replace('"THB 3", "|"', '"THB 3"').replace('["THB 3", "THB 2"]', '["THB 2", "THB 3"]')
    with pytest.raises(FileError, match='"THB 3" has no room off the part that is closed to it'):
        wharf(head=head.replace("{ length = 7 }", "{ length = 6 }"), start=coupled)
    shifted = both.replace('["THB 3", "|", "THB 2"]', '["THB 3", "|", "THB 2", "QLV 1"]').replace(
        '"QLV 1", "S', '"S'
    )
    first = head.replace("{ length = 9 }, { length = 2", "{ length = 2").replace(
        "length = 7 }]", "length = 19 }]"
    )
    with pytest.raises(FileError, match='"THB 3" has no room off the part that is closed to it'):
        wharf(head=first, start=shifted)


def test_items() -> None:
    """Each kind of work is read as what it means."""
    items = FEATURES["all items"]().work.items
    assert items == (
        EndsIn("QLV 1", (Place("glass works", "2"),)),
        EndsIn("OXCC 8", (Place("boat yard"),)),
        EndsIn("OXCC 1", (Place("boat yard"),)),
        EndsIn("OXCC 0", (Place("boat yard"), Place("glass works", "1"))),
        DoNotTouch("OXCC 4"),
        Hold("THB 2"),
        Free("OXCC 2"),
        Train(
            "S&I 5",
            "Wharf lead",
            frozenset({"THB 3", "OXCC 3", "OXCC 5"}),
            "to",
            (frozenset({"THB 3"}), frozenset({"OXCC 5"}), frozenset({"OXCC 3"})),
            "OXCC 3",
        ),
        AnyCars("box", 1, Place("glass works", "3")),
        LocomotiveEnds("S&I 5", "Wharf lead", "to"),
    )


def test_locomotives() -> None:
    """Rear only, heading and direction under way stand in the line of the locomotive."""
    puzzle = FEATURES["locomotives"]()
    (locomotive,) = puzzle.locomotives
    assert locomotive.rear_only and locomotive.kind == "switcher"
    assert puzzle.start.heads == {"S&I 5": "from"} and puzzle.start.under_way == {"S&I 5": "to"}
    assert [car.is_dead_locomotive for car in puzzle.cars] == [False, False, True]


def test_times() -> None:
    """Seconds are kept in thousandths, the speed on the grid; what is left out is nobody's figure yet."""
    own = (6_000, 90_000, 12_000, 250, (1_100, 1_625))
    assert FEATURES["times"]().times == Times(12_500, 8_000, 0, 40_000, 1_968_503, *own)
    assert wharf(more="[times]\ncut = 9\n").times == Times(cut=9_000)
    assert wharf().times == Times()


def test_limits_standards_and_promises() -> None:
    """What holds for the whole district, the client's rules, and what the author promises."""
    puzzle = FEATURES["limits, standards, promises, notes"]()
    assert puzzle.district.limits == Limits(6, 40 * MILLION, 0)
    assert puzzle.standards == Standards("box", "S&I 5", 4, 2, {"boat yard": 2}, ("Wharf lead",))
    assert (puzzle.stated_verdict, puzzle.stated_minimum) == ("proved minimum", 0)
    assert puzzle.notes == {"boat yard": "measured twice"}


NAMES = [
    "a b",
    "a.b",
    'say "no"',
    "back\\slash",
    "Straße ⇄ 車",
    "a\nb\t\x7f",
    "[x]",
    "from",
    "car @ 2",
    "a|b",
    "'",
    "#",
    "=" * 200,
]


@pytest.mark.parametrize("name", NAMES)
def test_names_may_be_any_text(name: str) -> None:
    """Odd names of tracks, turnouts, spots, cars, kinds and parts read back as they are."""
    puzzle = wharf()
    text = dumps(puzzle)
    for old in ("boat yard", "Wharf turnout", "THB 3", "gondola", "THB 2"):
        escaped = "".join(
            f"\\u{ord(c):04x}" if ord(c) < 32 or ord(c) == 127 or c in '"\\' else c for c in f"{name} {old}"
        )
        text = text.replace(f'"{old}"', f'"{escaped}"').replace(f'"{old} ', f'"{escaped} ')
        text = text.replace(f"\n{old} =", f'\n"{escaped}" =')
    odd = loads(text)
    assert [car.name for car in odd.cars] == ["QLV 1", f"{name} THB 2", f"{name} THB 3"]
    assert odd.district.mate(End(f"{name} boat yard", "from")) == End(f"{name} Wharf turnout", "diverging")
    assert loads(dumps(odd)) == odd


def test_the_longest_name_that_makes_sense_is_meant() -> None:
    """Names that begin alike do not disturb each other."""
    head = HEAD.replace('"boat yard"', '"glass works annex"') + 'glass = { from = "bumper", length = 3 }\n'
    start = START.replace("boat yard", "glass works annex")
    puzzle = wharf(
        head=head,
        start=start,
        more='[work]\nspot = { "QLV 1" = "glass works annex", "THB 2" = "glass works 1" }\n',
    )
    assert [item.places for item in puzzle.work.items if isinstance(item, EndsIn)] == [
        (Place("glass works annex"),),
        (Place("glass works", "1"),),
    ]


def test_an_exact_vehicle_name_wins_over_a_spot() -> None:
    """A car whose name looks like a car at a spot is that car."""
    start = '[start]\n"Wharf lead" = ["S&I 5", "THB 2", "THB 3"]\n'
    start += '"glass works" = ["QLV 1 @ 2", "QLV 1 @ 2 @ 3"]\n'
    rolling = ROLLING + '"QLV 1 @ 2" = 6\n'
    with pytest.raises(FileError, match=r'cars\."QLV 1": this stands nowhere'):
        wharf(start=start.replace(', "QLV 1 @ 2 @ 3"', ""), rolling=rolling)
    with pytest.raises(FileError, match='"QLV 1 @ 2" stands on "glass works" already'):
        wharf(start=start, rolling=rolling)
    alone = start.replace('"QLV 1 @ 2", ', "").replace('"THB 3"]', '"THB 3", "QLV 1"]')
    assert wharf(start=alone, rolling=rolling).start.strings[-1].spots == {"QLV 1 @ 2": "3"}


def test_a_link_may_be_told_from_both_sides() -> None:
    """Two tracks that name each other's ends are linked once."""
    head = HEAD + 'a = { from = "bumper", to = "b from", length = 3 }\nb = { from = "a to", length = 3 }\n'
    links = wharf(head=head).district.links
    assert [link for link in links if link[0].place == "a"] == [(End("a", "to"), End("b", "from"))]


def test_an_order_of_lines_does_not_matter_for_links() -> None:
    """The same links told from the other side give an equal district."""
    one = HEAD + 'a = { from = "bumper", to = "b from", length = 3 }\nb = { from = "a to", length = 3 }\n'
    other = HEAD + 'a = { from = "bumper", length = 3 }\nb = { from = "a to", length = 3 }\n'
    assert wharf(head=one) == wharf(head=other)


def test_puzzles_made_in_code_are_written_too() -> None:
    """A puzzle on a coarse grid, in another order, is written in the canonical form, which reads back."""
    puzzle = FEATURES["tables"]()
    district = puzzle.district
    turntable = district.tables[0]
    shuffled = replace(
        puzzle,
        district=replace(
            district,
            links=tuple((there, here) for here, there in reversed(district.links)),
            tables=(district.tables[1], replace(turntable, meets=turntable.meets[::-1], lined=1)),
        ),
    )
    assert shuffled != puzzle
    assert canonical(shuffled) == puzzle == loads(dumps(shuffled))


def test_a_coarse_grid_is_made_fine() -> None:
    """A puzzle on whole units is the same puzzle on the grid of files."""
    fine = loads(WHARF.replace("5.5", "5").replace("9.5", "10").replace("spots = 4", "spots = { door = 3 }"))
    coarse = replace(_shrunk(fine), grid=1)
    assert canonical(coarse) == fine == loads(dumps(coarse))
    with pytest.raises(ValueError, match="does not divide"):
        dumps(replace(coarse, grid=3))


def _shrunk(puzzle: Puzzle) -> Puzzle:
    """The plain wharf in whole inches."""
    district = puzzle.district
    tracks = tuple(
        replace(
            track,
            parts=tuple(replace(part, length=part.length // MILLION) for part in track.parts),
            spots=(),
        )
        for track in district.tracks
    )
    return replace(
        puzzle,
        district=replace(
            district,
            tracks=tuple(
                replace(track, spots=_spots(old.spots))
                for track, old in zip(tracks, district.tracks, strict=True)
            ),
            junctions=tuple(
                replace(item, routes=tuple(replace(r, length=r.length // MILLION) for r in item.routes))
                for item in district.junctions
            ),
        ),
        cars=tuple(replace(car, length=car.length // MILLION) for car in puzzle.cars),
        locomotives=tuple(replace(item, length=item.length // MILLION) for item in puzzle.locomotives),
        kinds={kind: length // MILLION for kind, length in puzzle.kinds.items()},
    )


def _spots(spots: tuple[Spot, ...]) -> tuple[Spot, ...]:
    """Spots in whole inches."""
    return tuple(replace(spot, at=spot.at // MILLION) for spot in spots)


def test_what_no_file_can_say_is_not_written() -> None:
    """A strange unit, a vehicle within the allowance, or an unknown kind of table raises: no wrong file."""
    puzzle = wharf()
    with pytest.raises(ValueError, match="cannot measure in 'furlong'"):
        dumps(replace(puzzle, unit="furlong"))
    with pytest.raises(ValueError, match="not longer than the allowance"):
        dumps(replace(puzzle, allowance=6 * MILLION))
    table = Table("T", "lift", MILLION, (("from", End("boat yard", "to")),))
    with pytest.raises(ValueError, match="no tables of the kind"):
        dumps(replace(puzzle, district=replace(puzzle.district, tables=(table,))))


def test_json_schema_is_sound() -> None:
    """The schema satisfies its own metaschema, and tells editors what every key is for."""
    schema = json_schema()
    jsonschema.Draft202012Validator.check_schema(schema)
    lines = [schema, *schema["$defs"].values()]
    assert all("description" in line for line in lines)
    bare = [key for line in lines for key, form in line["properties"].items() if "description" not in form]
    assert bare == []


def _with(path: list[Any], value: object) -> dict[str, Any]:
    """The wharf's file with one value set."""
    document = tomllib.loads(WHARF)
    here = document
    for step in path[:-1]:
        here = here.setdefault(step, {})
    here[path[-1]] = value
    return document


@pytest.mark.parametrize("name", FEATURES)
def test_json_schema_accepts_what_is_written(name: str) -> None:
    """Whatever a file can say is allowed by the schema."""
    jsonschema.Draft202012Validator(json_schema()).validate(tomllib.loads(dumps(FEATURES[name]())))


@pytest.mark.parametrize(
    ("path", "value"),
    [
        (["titel"], "x"),
        (["unit"], "inch"),
        (["tracks", "boat yard", "lenght"], 3),
        (["tracks", "boat yard", "length"], -3),
        (["tracks", "boat yard", "spots"], 1.5),
        (["turnouts", "Wharf turnout", "left"], 3),
        (["cars", "QLV 1"], ["box"]),
        (["kinds", "box"], "6 in"),
        (["locomotives"], {}),
        (["start"], {"boat yard": "THB 3"}),
        (["work", "spots"], {}),
        (["work", "train"], [{"pick_up": []}]),
        (["minutes"], {}),
    ],
)
def test_json_schema_rejects_typos(path: list[Any], value: object) -> None:
    """A misspelled key or a wrong form is refused by the schema, as it is by the reader."""
    document = _with(path, value)
    assert not jsonschema.Draft202012Validator(json_schema()).is_valid(document)


def test_reading_needs_no_heavy_library() -> None:
    """Importing the reader loads neither the JIT nor any graph library."""
    code = (
        "import sys, switchsolve.puzzlefile; "
        "print(sorted({'numba', 'networkx', 'numpy', 'scipy', 'ortools'} & set(sys.modules)))"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"
