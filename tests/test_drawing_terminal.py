"""The schematic in letters: how wide, which letters, every vehicle once."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from switchsolve.drawing import placed_at_start, stills_of, terminal_picture, terminal_pictures
from switchsolve.puzzle import Puzzle
from switchsolve.puzzlefile import load
from switchsolve.solving import solve
from tests.builders import build, set_up, track
from tests.drawn import DISTRICTS, yard
from tests.files import puzzle_files
from tests.random_plans import random_plan
from tests.test_drawing import hostile_puzzle

ROOT = Path(__file__).parent.parent
FILES = puzzle_files()


def puzzle_of(name: str) -> Puzzle:
    return DISTRICTS[name]() if name in DISTRICTS else load(ROOT / "puzzles" / f"{name}.toml")


def written(picture: str) -> list[str]:
    """The vehicles in a picture, from left to right and row by row, without the legend."""
    rows = picture.split("\n\n")[0].splitlines()
    return [found for row in rows for found in re.findall(r"[\[<]([^\[\]<>\u00ab\u00bb=]+)[\]>]", row)]


def check(puzzle: Puzzle, picture: str, *, ascii_only: bool = False) -> None:
    assert max(map(len, picture.splitlines())) <= 80
    assert picture.isascii() or not ascii_only
    _, _, legend = picture.rpartition("\n\n")  # last, after the panels of a picture that is too wide
    told = {} if legend.startswith("-- columns") else dict(re.findall(r"(\S+) (\S+(?: \S+)*)", legend))
    names = [told.get(name, name) for name in written(picture)]
    assert sorted(names) == sorted(puzzle.vehicles)


@pytest.mark.parametrize("ascii_only", [False, True])
@pytest.mark.parametrize("name", [*(path.stem for path in FILES), *DISTRICTS])
def test_districts(name: str, ascii_only: bool) -> None:
    """At most 80 columns; plain ASCII if asked for; every vehicle stands there once, by name or by a letter
    of the legend."""
    puzzle = puzzle_of(name)
    check(puzzle, terminal_picture(puzzle, ascii_only=ascii_only), ascii_only=ascii_only)


@pytest.mark.parametrize("seed", range(0, 200, 20))
def test_random_districts(seed: int) -> None:
    """None of up to thirty tracks is wider than 80 columns."""
    picture = terminal_picture(random_plan(seed))
    assert max(map(len, picture.splitlines())) <= 80


def test_the_picture_of_the_first_spur() -> None:
    """Letter for letter: entrance, vehicles with the nose of the locomotive, points, spur, bumpers."""
    assert terminal_picture(puzzle_of("first_spur"), ascii_only=True).splitlines() == [
        "        Lane lead                 Lane tail",
        " <<==[S&I 5>[QLV 214]=+--===========================|",
        "                       \\  ice house",
        "                        +=============|",
    ]


def test_noses() -> None:
    """The locomotive's pointed end is the end that it heads for, on a track drawn either way."""
    for heads, told in (("to", "[L>"), ("from", "<L]")):
        assert told in terminal_picture(set_up(build([track("lead", 9)]), {"lead": "L"}, heads={"L": heads}))


def test_what_is_too_wide_is_cut_into_panels() -> None:
    """A yard of forty tracks is wider than 80 columns even with letters for names: it is cut."""
    picture = terminal_picture(yard(40))
    assert "-- columns 81 to" in picture
    assert max(map(len, picture.splitlines())) <= 80


def test_names_that_a_terminal_cannot_show() -> None:
    """Control letters, letters that take two columns or none, and endless names do no harm."""
    for ascii_only in (False, True):
        picture = terminal_picture(hostile_puzzle(), ascii_only=ascii_only)
        assert max(map(len, picture.splitlines())) <= 80
        assert not re.search(r"[\x00-\x09\x0b-\x1f\u202e\u0301\u7164]", picture)


@pytest.mark.parametrize("name", ["cask_lane_facing", "marrow_point_turntable", "millbrook_wye"])
def test_every_vehicle_is_in_every_picture_of_a_plan(name: str) -> None:
    """Also where strings stand across turnouts, round a bend, or on a table."""
    puzzle = puzzle_of(name)
    plan = solve(puzzle).plan
    assert plan is not None
    stills = stills_of(puzzle, plan)
    for picture in terminal_pictures(puzzle, [(still.standing, still.lined) for still in stills]):
        check(puzzle, picture)


def test_marks_have_letters_of_their_own() -> None:
    """Closed rail, rail to be kept clear, spots and entrances can be told from plain rail."""
    pier = terminal_picture(puzzle_of("glasshouse_switchback"))
    assert all(letter in pier for letter in "\u2505\u252f\u00ab\u2524")
    assert "\u256a" in terminal_picture(puzzle_of("cask_lane_crossing"))
    assert placed_at_start(puzzle_of("first_spur"))
