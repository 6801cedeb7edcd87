"""Layout files: the demo loads, and all that is wrong with a file is told at once, with its cure."""

from __future__ import annotations

import json
import tomllib
from pathlib import Path

import jsonschema
import pytest

from switchsolve.cli import main
from switchsolve.cli.codes import BAD_FILE
from switchsolve.errors import FileError
from switchsolve.layoutfile import load_layout
from tests.files import layout_files
from tests.tiny_layout import LAYOUT, write

PUZZLES = Path(__file__).parent.parent / "puzzles"


@pytest.mark.parametrize("path", layout_files(), ids=lambda path: path.stem)
def test_the_layouts_load(path: Path) -> None:
    """Each layout file of the folder is sound, and has the places and trains of the invented railroad."""
    layout = load_layout(path)
    places = {layout.yard.name, *(one.name for one in (*layout.districts, *layout.staging))}
    assert places == {
        *("Marrow Point", "Ferry Slip", "Cask Lane", "Glasshouse Wharf"),
        *("Millbrook", "Quarry Hill", "Upland", "Coast"),
    }
    assert {"Upland freight", "Coast freight", "Night Mail", "Point switcher"} <= {
        train.name for train in layout.trains
    }


def test_the_unbalanced_layout_differs_in_two_industries_only() -> None:
    """Beside titles, comments and changes to compare: two lines, and both send box cars to Coast."""
    even, uneven = (
        [line for line in path.read_text(encoding="utf-8").split("[what_if")[0].splitlines() if line]
        for path in layout_files()
    )
    changed = [line for line in uneven if line not in even and not line.startswith(("#", "title"))]
    assert len(changed) == 2 and all('to = "Coast"' in line for line in changed)


def test_times_and_lengths(tmp_path: Path) -> None:
    """A fixed time is put on the room's clock: 19:00 by a clock four times as fast is a quarter of an hour
    after 18:00; a length may have its own unit (254 mm are 10 in)."""
    text = LAYOUT.replace('"Coast", most_cars = 3', '"Coast", leaves = "19:00", most_cars = 3')
    text = text.replace('"Coast 1" = 40', '"Coast 1" = "254 mm"')
    layout = load_layout(write(tmp_path, text))
    assert {train.name: train.leaves for train in layout.trains}["Upland freight"] == 15
    assert layout.staging_place("Coast").tracks["Coast 1"] == 10_000_000
    assert layout.fast_time(15) == "19:00"


BROKEN = [
    ("minutes = 90", "minutes = 0", "session.minutes = 0: this is too small; write 1 or more"),
    ('begins = "18:00"', 'begins = "6 pm"', 'session.begins = "6 pm": this is not a time of day; write'),
    ("pace = 2", "", "session.pace: this is missing; add pace"),
    ('file = "dock.toml"', 'file = "duck.toml"', "duck.toml: file: there is no such file"),
    ('keep_empty = ["Upland 3"]', "", "staging.Upland: staging that trains also pass through keeps one"),
    ('lead = "lead"', 'lead = "led"', 'there is no such track in its file; did you mean "lead"?'),
    ('lead = "lead"', 'lead = "track 1"', "nothing comes in on this track"),
    ('["Upland", "Millbrook"]', '["Upland", "Milbrook"]', 'did you mean "Millbrook"?'),
    ('["Marrow Point", "Coast"]', '["Marrow Point", "Upland"]', "staging.Coast: no link leads there"),
    ('["Marrow Point", "Coast"]', '["Marrow Point", "Coast", "Upland"]', "these are too many; write 2"),
    ('works = ["Cask Lane"]', "works = []", "no train works it"),
    ('Ash = "all"', 'Ash = ["Lane jab"]', 'did you mean "Lane job"?'),
    ('kind = "yard switcher"', 'kind = "local"', "the yard is worked by a yard switcher"),
    ('from = "Upland", to = "Coast", m', 'from = "Millbrook", to = "Coast", m', "does not begin or end"),
    ('most_cars = 3, equipment = 9 }\n"Coast', 'equipment = 9 }\n"Coast', "it has room for no car"),
    ('mill = { comes = "loaded"', 'mull = { comes = "loaded"', "nothing is said of its industry"),
    ('from = "Coast", to = "Coast" }\n\n[what', 'from = "Moon", to = "Coast" }\n\n[what', "staging or float"),
    ('without_crews = ["Birch"]', 'without_crews = ["Birch", "Ash"]', "no crew is left"),
    ("room = 60", 'room = "2 cars"', "a layout has no standard car"),
    ("box = 6\n", "", "which is not under [kinds]"),
    ("people = 2", "people = 2, seats = 3", "this key is not known"),
    ('Birch = "all"', "Birch = []", "crews.Birch = []: it can take no train; name one, or write"),
    ("room = 60", "room = 5", 'yard."Marrow Point".room = 5: no "box" (6 in) has room there'),
    (
        'most_cars = 3, equipment = 9 }\n"Coast',
        'most_cars = 3, equipment = 36 }\n"Coast',
        "= 36: with one car it is 41 in long, which is too much for the longest track of Upland, Upland 1"
        " (40 in), the longest track of Coast, Coast 1 (40 in); make it shorter, or more room for it",
    ),
    (
        '"Marrow Point"], minutes = 2 }',
        '"Marrow Point"], minutes = 2, longest = 13 }',
        '"Millbrook turn".equipment = 9: with one car it is 14 in long, which is too much for harbor main',
    ),
]


@pytest.mark.parametrize(("old", "new", "says"), BROKEN, ids=[row[2][:40] for row in BROKEN])
def test_broken_files(old: str, new: str, says: str, tmp_path: Path) -> None:
    """What is wrong is named with its place, and with a cure."""
    assert old in LAYOUT
    with pytest.raises(FileError) as caught:
        load_layout(write(tmp_path, LAYOUT.replace(old, new, 1)))
    assert any(says in str(problem) for problem in caught.value.problems), str(caught.value)
    assert all(problem.cure for problem in caught.value.problems)


def test_all_problems_at_once(tmp_path: Path) -> None:
    """Problems of the layout and of two puzzle files come together."""
    path = write(tmp_path, LAYOUT.replace('keep_empty = ["Upland 3"]', ""))
    (tmp_path / "mill.toml").write_text("unit = 3", encoding="utf-8")
    (tmp_path / "dock.toml").write_text("[", encoding="utf-8")
    with pytest.raises(FileError) as caught:
        load_layout(path)
    files = {Path(problem.file).name for problem in caught.value.problems}
    assert files == {"small_layout.toml", "mill.toml", "dock.toml"}


def test_mistakes_of_shape_hide_no_others(tmp_path: Path) -> None:
    """A session of no minutes, a train of no known kind, an aisle with a strange key and one with too few
    people, beside a wrong place, a train that is too long, and a broken puzzle file: each is told, and
    nothing that comes of what could not be read (that no train works Millbrook)."""
    text = LAYOUT
    for old, new in (
        ("minutes = 90", "minutes = 0"),
        ('kind = "turn"', 'kind = "turnip"'),
        ("people = 2", "people = 0, seats = 3"),
        ('works = ["Cask Lane"]', 'works = ["Cask Lan"]'),
        ('most_cars = 3, equipment = 9 }\n"Coast', 'most_cars = 3, equipment = 36 }\n"Coast'),
    ):
        assert old in text
        text = text.replace(old, new, 1)
    path = write(tmp_path, text)
    (tmp_path / "dock.toml").write_text("[", encoding="utf-8")
    with pytest.raises(FileError) as caught:
        load_layout(path)
    assert [(problem.key, problem.value) for problem in caught.value.problems[:-1]] == [
        ("session.minutes", "0"),
        ("aisles.aisle.people", "0"),
        ("aisles.aisle.seats", "3"),
        ('trains."Lane job".works[1]', '"Cask Lan"'),
        ('trains."Upland freight".equipment', "36"),
        ('trains."Millbrook turn".kind', '"turnip"'),
    ]
    assert caught.value.problems[-1].file.endswith("dock.toml")


def test_the_schema_of_layout_files(capsys: pytest.CaptureFixture[str]) -> None:
    """``schema --layout`` prints a JSON Schema that takes the demo and refuses it without crews."""
    assert main(["schema", "--layout"]) == 0
    schema = json.loads(capsys.readouterr().out)
    jsonschema.Draft202012Validator.check_schema(schema)
    demo = tomllib.loads((PUZZLES / "saltmarsh_layout.toml").read_text(encoding="utf-8"))
    jsonschema.validate(demo, schema)
    del demo["crews"]
    with pytest.raises(jsonschema.ValidationError, match="crews"):
        jsonschema.validate(demo, schema)


@pytest.mark.parametrize(
    ("command", "name", "says"),
    [
        ("solve", "saltmarsh_layout", "this is a layout file, not a puzzle file; give it to"),
        ("session", "cask_lane", "this is a puzzle file, not a layout file; name a layout file"),
    ],
)
def test_one_kind_of_file_for_the_other(
    command: str, name: str, says: str, capsys: pytest.CaptureFixture[str]
) -> None:
    """A layout given as a puzzle, or a puzzle as a layout, is told in one line, with the cure."""
    assert main([command, str(PUZZLES / f"{name}.toml")]) == BAD_FILE
    (line,) = capsys.readouterr().err.splitlines()
    assert says in line
