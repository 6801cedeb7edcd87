"""Everything that can be wrong with a puzzle file, and exactly what is then said about it.

Each row changes one sound file in one way and gives the whole list of problems that must come back.
"""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from switchsolve.errors import FileError
from switchsolve.puzzlefile import load, loads

SOUND = """\
title = "Cask Lane"
unit = "in"
scale = "HO"
allowance = 0.1

[district]
track_centers = 2

[tracks]
"Lane lead" = { from = "entrance", to = "Lane turnout points", length = 40 }
"street" = { from = "Lane turnout straight", to = "Ice turnout points", length = 24 }
"cider works" = { from = "Lane turnout diverging", length = 18, spots = { "door 1" = 4, "door 2" = 12 } }
"Lane tail" = { from = "Ice turnout straight", length = 12 }
"ice house" = { from = "Ice turnout diverging", length = 8 }

[turnouts]
"Lane turnout" = { number = 6 }
"Ice turnout" = { straight = 9, diverging = 9.5 }

[kinds]
"40 ft box" = { prototype = "44 ft 2 1/2 in" }
"50 ft box" = 7.6

[locomotives]
"S&I 5" = { length = 5.5, heads = "to" }

[cars]
"THB 12" = "40 ft box"
"QLV 214" = "40 ft box"
"OXCC 7" = "50 ft box"
"QLV 3" = "40 ft box"

[start]
"Lane lead" = ["THB 12", "QLV 214", "S&I 5"]
"cider works" = ["OXCC 7"]
"ice house" = ["QLV 3"]

[work]
spot = { "THB 12" = "cider works door 1" }
hold = ["OXCC 7"]

[[work.train]]
departs_on = "Lane lead"
pick_up = ["QLV 3"]
"""
"""A file with nothing wrong in it."""


def broken(changes: list[tuple[str, str]]) -> str:
    """The sound file with some of its text replaced."""
    text = SOUND
    for old, new in changes:
        assert text.count(old) == 1, old
        text = text.replace(old, new)
    return text


Row = tuple[list[tuple[str, str]], list[str]]
"""What is changed in the sound file, and all that is said about it."""


def rows() -> dict[str, Row]:
    """The table of broken files, by the name of the entry."""
    table = (Path(__file__).parent / "broken_files.txt").read_text(encoding="utf-8")
    entries = re.findall(r"^# (.*)\n((?:[-+>].*\n)+)", table.partition("\n\n")[2], re.MULTILINE)
    return {name: (changes(body), re.findall(r"^> (.*)$", body, re.MULTILINE)) for name, body in entries}


def changes(body: str) -> list[tuple[str, str]]:
    """The changes of an entry: each takes some lines out and may put others in their place."""
    found = re.findall(r"((?:^-.*\n)+)((?:^\+.*\n)+)", body, re.MULTILINE)
    return [(unmarked(old), unmarked(new)) for old, new in found]


def unmarked(lines: str) -> str:
    """Lines of the table without their marks."""
    return "\n".join(line[2:] for line in lines.splitlines())


ROWS = rows()


def test_the_table_is_whole() -> None:
    """No entry of the table is lost on the way: each says what is changed and what is wrong."""
    table = (Path(__file__).parent / "broken_files.txt").read_text(encoding="utf-8")
    assert len(ROWS) == table.count("\n# ") - 1
    assert all(changed and says for changed, says in ROWS.values())


@pytest.mark.parametrize("name", ROWS)
def test_a_broken_file_says_all_that_is_wrong(name: str) -> None:
    """Each broken file is refused with exactly these problems: place, value, what is wrong, and the cure."""
    changed, says = ROWS[name]
    with pytest.raises(FileError) as caught:
        loads(broken(changed), "lane.toml")
    assert [str(problem) for problem in caught.value.problems] == [f"lane.toml: {line}" for line in says]


def test_the_sound_file_is_sound() -> None:
    """What the table breaks is whole before: it is read without a problem."""
    assert loads(SOUND).title == "Cask Lane"


def test_all_problems_come_at_once_in_the_order_of_the_file() -> None:
    """Problems of plan, vehicles, start and work come together, from top to bottom of the file."""
    changed = {
        'from = "Ice turnout diverging"': 'from = "Ice turnot diverging"',
        '"QLV 3" = "40 ft box"': '"QLV 3" = "40 ft bx"',
        '"S&I 5"]': '"S&I 6"]',
        'hold = ["OXCC 7"]': 'hold = ["OXCC 8"]',
        'pick_up = ["QLV 3"]': 'pick_up = ["QLV 3"]\nlast = "caboose"',
    }
    with pytest.raises(FileError) as caught:
        loads(broken(list(changed.items())), "lane.toml")
    assert [problem.key for problem in caught.value.problems] == [
        'tracks."ice house".from',
        'locomotives."S&I 5"',
        'cars."QLV 3"',
        'start."Lane lead"[3]',
        "work.hold[1]",
        "work.train[1].last",
    ]


NOT_TOML: dict[str, tuple[str, str]] = {
    "a value without quotes": (
        'unit = "in"\ntitle = Lane\n',
        "lane.toml: line 2, column 9 = title = Lane: this is not TOML (invalid value); mend this line",
    ),
    "a key without a value": (
        'unit = "in"\r\ntitle\r\n',
        "lane.toml: line 2, column 6 = title: this is not TOML "
        "(expected '=' after a key in a key/value pair); mend this line",
    ),
    "a list without an end": (
        "a = [1, 2",
        "lane.toml: end of the file: this is not TOML (unclosed array); mend or finish the last line",
    ),
    "a key twice": (
        "a = 1\na = 2\n",
        "lane.toml: line 2, column 6 = a = 2: this is not TOML (cannot overwrite a value); mend this line",
    ),
    "a number of too many digits": (
        "a = " + "9" * 5000,
        "lane.toml: file: this is not TOML (a number has far too many digits); write a shorter number",
    ),
    "brackets without end": (
        "a = " + "[" * 100_000,
        "lane.toml: file: lists or tables are nested too deeply; write it more plainly",
    ),
}


@pytest.mark.parametrize("name", NOT_TOML)
def test_what_is_not_toml_is_refused_with_its_place(name: str) -> None:
    """A text that is not TOML is refused with line and column."""
    text, says = NOT_TOML[name]
    with pytest.raises(FileError) as caught:
        loads(text, "lane.toml")
    assert str(caught.value) == says


def test_a_file_that_is_not_there(tmp_path: Path) -> None:
    """A missing file is a problem of the file, not a crash."""
    with pytest.raises(FileError) as caught:
        load(tmp_path / "lane.toml")
    assert str(caught.value) == f"{tmp_path / 'lane.toml'}: file: there is no such file; check the name"


def test_a_folder_is_not_a_file(tmp_path: Path) -> None:
    """A folder is refused as such."""
    with pytest.raises(FileError) as caught:
        load(tmp_path)
    assert str(caught.value) == f"{tmp_path}: file: this is a folder; name a file in it"


def test_a_name_that_no_file_can_have() -> None:
    """A name with a zero byte is refused."""
    with pytest.raises(FileError) as caught:
        load("a\0b")
    assert caught.value.problems[0].what == "it cannot be read (embedded null byte)"


def test_a_file_that_is_not_utf8(tmp_path: Path) -> None:
    """A file in another encoding is refused with line and byte."""
    path = tmp_path / "lane.toml"
    path.write_bytes(b'unit = "in"\ntitle = "caf\xe9"\n')
    with pytest.raises(FileError) as caught:
        load(path)
    says = f"{path}: line 2 = byte 25: this is not UTF-8 text; save the file as UTF-8"
    assert str(caught.value) == says


def test_a_byte_order_mark_does_no_harm(tmp_path: Path) -> None:
    """A file saved with a byte order mark and carriage returns reads as the same puzzle."""
    path = tmp_path / "lane.toml"
    path.write_bytes(b"\xef\xbb\xbf" + SOUND.replace("\n", "\r\n").encode())
    assert load(path) == loads(SOUND)


def test_problems_of_shape_and_of_sense_are_told_together() -> None:
    """A mistyped key, a wrong word and a wrong type do not hide a track and a car that do not exist."""
    text = """
unit = "in"
[tracks]
"lead" = { from = "entrance", to = "Ice turnout points" }
"tail" = { from = "Ice turnout straight", length = 18, lenght = 3 }
"ice house" = { from = "Ice turnout diverging", length = -9 }
[turnouts]
"Ice turnout" = { straight = 9, diverging = 9 }
[locomotives]
"S&I 5" = { length = 5.5, heads = "up" }
[cars]
"QLV 214" = 6
[start]
lead = ["S&I 5", "QLV 214", "QLV 9"]
[work]
spot = { "QLV 214" = "ice hose", "THB 3" = 4 }
"""
    with pytest.raises(FileError) as caught:
        loads(text, "two.toml")
    assert [problem.key for problem in caught.value.problems] == [
        "tracks.tail.lenght",
        'tracks."ice house".length',
        'locomotives."S&I 5".heads',
        "start.lead[3]",
        'work.spot."QLV 214"',
        'work.spot."THB 3"',
    ]
