"""Variants of a puzzle file: what each change makes of the district, held to files written by hand."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from switchsolve.cli import main
from switchsolve.district import End
from switchsolve.errors import FileError
from switchsolve.flipping import flippable, flipped_district
from switchsolve.puzzle import Puzzle
from switchsolve.puzzlefile import dumps, load, loads
from tests.files import puzzle_files

PUZZLES = Path(__file__).parent.parent / "puzzles"
FACING = (PUZZLES / "cask_lane_facing.toml").read_text(encoding="utf-8")
SPUR = (PUZZLES / "cask_lane_spur.toml").read_text(encoding="utf-8")


def _varied(change: str, text: str = FACING) -> Puzzle:
    """The one variant of a file."""
    puzzle = loads(f"{text}\n[[variants]]\nname = 'other'\n{change}")
    return puzzle.variants[-1].puzzle


def test_flip_is_the_file_written_the_other_way() -> None:
    """The facing spur flipped is, rail for rail, the file of the trailing one, which is written by hand."""
    flipped = _varied("flip = ['cider works']")
    trailing = load(PUZZLES / "cask_lane_trailing.toml")
    assert set(flipped.district.links) == set(trailing.district.links)
    assert (flipped.district.tracks, flipped.district.junctions) == (
        trailing.district.tracks,
        trailing.district.junctions,
    )
    assert (flipped.start, flipped.work, flipped.cars) == (trailing.start, trailing.work, trailing.cars)


def test_a_flip_is_the_same_in_a_file_and_of_a_district() -> None:
    """In every file, for every spur that can be flipped: the variant, made of the file's text, is the set-up
    turned round in place (which `design` and `why` do).
    """
    compared = 0
    for path in puzzle_files():
        puzzle = load(path)
        for spur in flippable(puzzle.district):
            if puzzle.variants or puzzle.design is not None:
                continue
            text = f"{dumps(puzzle)}\n[[variants]]\nname = 'other'\nflip = [{json.dumps(spur)}]"
            (variant,) = loads(text).variants
            turned = flipped_district(puzzle.district, spur)
            both = ({frozenset(pair) for pair in one.links} for one in (variant.puzzle.district, turned))
            assert next(both) == next(both), (path.stem, spur)
            assert variant.puzzle.district.tracks == turned.tracks
            assert variant.puzzle.district.junctions == turned.junctions
            compared += 1
    assert compared > 20


def test_flipped_twice_is_as_before() -> None:
    """Flipping turns a turnout round, so twice is not at all."""
    assert _varied("flip = ['cider works', 'cider works']").district == loads(FACING).district


def test_a_variant_of_the_file_is_the_file_written_so() -> None:
    """With the two meetings written the other way round by hand, the file is its variant *trailing*."""
    text = SPUR.replace('to = "Cider turnout points"', 'to = "Cider turnout straight"').replace(
        'from = "Cider turnout straight"', 'from = "Cider turnout points"'
    )
    assert loads(text).district == next(
        variant.puzzle.district for variant in loads(SPUR).variants if variant.name == "trailing"
    )


def test_lengths_are_those_of_the_file_with_a_short_tail() -> None:
    """The facing file with a tail of five inches is the file of the short tail."""
    assert _varied("lengths = { 'Lane tail' = 5 }").district == load(
        PUZZLES / "cask_lane_short_tail.toml"
    ).district


def test_what_is_dropped_takes_its_cars_and_its_work_along() -> None:
    """Without the cider works the turnout ends at a bumper there, and neither the car that stands there nor
    the one that was to come is left; the traffic of the others stays.
    """
    puzzle = _varied("drop = ['cider works']", SPUR)
    assert "cider works" not in {track.name for track in puzzle.district.tracks}
    assert puzzle.district.mate(End("Cider turnout", "diverging")) is None
    assert {car.name for car in puzzle.cars} == {"QLV 214", "OXCC 40"}
    assert [string.vehicles for string in puzzle.start.strings] == [("QLV 214", "S&I 5"), ("OXCC 40",)]
    assert puzzle.traffic is not None
    assert [one.track for one in puzzle.traffic.industries] == [
        "cooperage", "print works", "ice house", "team track",
    ]  # fmt: skip


def test_tracks_are_added_and_changed() -> None:
    """A track in the way of a new turnout is changed by the keys that are given, and keeps the others."""
    puzzle = _varied(
        """
[variants.tracks]
"east street" = { to = "New turnout points", length = 6 }
"net loft" = { from = "New turnout diverging", length = 9 }
"far street" = { from = "New turnout straight", to = "East turnout straight", length = 5 }
[variants.turnouts]
"New turnout" = { number = 4 }
"""
    )
    track = puzzle.district.track("east street")
    assert track.length == 6 * puzzle.grid
    assert puzzle.district.mate(End("east street", "from")) == End("Cider turnout", "straight")
    assert puzzle.district.mate(End("net loft", "from")) == End("New turnout", "diverging")


def test_another_fleet() -> None:
    """A kind of another length: HO, 3.5 mm to the foot, of a railroad's published 55 ft 5 in box car (665 in)
    is 7.636 in; the allowance of 0.1 in is added.
    """
    puzzle = next(one.puzzle for one in loads(SPUR).variants if one.name == "50-foot cars")
    assert round(puzzle.kinds["40 ft box"] / puzzle.grid - 0.1, 2) == round(665 * 3.5 / 304.8, 2)
    assert all(car.length == puzzle.kinds["40 ft box"] for car in puzzle.cars if car.kind == "40 ft box")


@pytest.mark.parametrize(
    "change",
    [
        "flip = ['cider works']",
        "lengths = { 'Lane tail' = '15 cm', 'west street' = 20 }",
        "drop = ['print works', 'ice house']",
        "kinds = { reefer = { prototype = '50 ft' } }",
        "turnouts = { 'Cider turnout' = { number = 6 } }",
        "tracks = { 'Lane tail' = { parts = [{ length = 5 }, { length = 6, keep_clear = 'always' }] } }",
    ],
)
def test_what_is_written_reads_back_equal(change: str) -> None:
    """A puzzle with variants, written and read again, is the same."""
    puzzle = loads(f"{SPUR}\n[[variants]]\nname = 'other'\n{change}")
    assert len(puzzle.variants) == 3
    assert loads(dumps(puzzle)) == puzzle


def test_a_problem_names_its_variant_and_is_told_once() -> None:
    """What is wrong with the file is told of the file alone, what a change makes wrong of its variant, all at
    once.
    """
    text = SPUR.replace('kinds = { reefer = 0.4 }', 'kinds = { refer = 0.4 }')
    with pytest.raises(FileError) as caught:
        loads(f"{text}\n[[variants]]\nname = 'short'\nlengths = {{ 'cider works' = 12 }}\ndrop = ['barn']")
    told = [str(problem) for problem in caught.value.problems]
    assert [line for line in told if "refer" in line] == [
        '<text>: traffic.industries."ice house".kinds.refer = 0.4: there is no such kind of car; '
        'did you mean "reefer"?'
    ]
    assert (
        '<text>: variants[3].drop[1] = "barn": there is no such track or junction; '
        "name a track or junction of the file"
    ) in told
    assert any(line.startswith('<text>: variant "short": tracks."cider works".spots') for line in told)


def test_a_command_takes_a_variant(capsys: pytest.CaptureFixture[str]) -> None:
    """``--variant`` asks about the variant; one that is not there is told with those that are."""
    file = str(PUZZLES / "cask_lane_spur.toml")
    assert main(["solve", file, "--variant", "trailing", "--no-explanation"]) == 0
    assert capsys.readouterr().out.startswith("Cask Lane: the cider works spur (trailing)\n")
    assert main(["solve", file, "--variant", "trailling"]) == 3
    assert capsys.readouterr().err == (
        f'{file}: --variant = trailling: the file has no such variant; did you mean "trailing"?\n'
    )
