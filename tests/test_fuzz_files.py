"""Whatever is done to a puzzle file, it reads as a puzzle or is refused with its problems: nothing else."""

from __future__ import annotations

from pathlib import Path

from hypothesis import example, given, settings
from hypothesis import strategies as st

from switchsolve.errors import FileError
from switchsolve.puzzlefile import dumps, load, loads
from tests.files import puzzle_files

PUZZLES = [
    path.read_text(encoding="utf-8")
    for path in puzzle_files()
]
EVERYTHING = """\
title = "everything"
unit = "in"
scale = "HO"
gauge = 0.65
allowance = 0.1
[district]
track_centers = 2
[tracks]
lead = { from = "entrance", to = "A points", spots = 2 }
one = { from = "A straight", to = "B points", length = 30, spots = { door = 4, "door 2" = 11 } }
two = { from = "A diverging", to = "Table", parts = [{ length = 20 }, { length = 3, keep_clear = "always" }] }
three = { from = "Table", length = 20, no_locomotives = true, barred = ["box"], limits = { most_cars = 2 } }
four = { from = "X a from", to = "X a to", length = 20 }
[turnouts]
A = { number = 6 }
B = { length = 9, meets = { straight = "M x", diverging = "M y" } }
[crossings]
X = { length = 3, meets = { "b from" = "bumper", "b to" = "bumper" } }
[junctions]
M = { routes = [{ from = "x", to = "y", length = 4 }, { from = "u", to = "v", length = 3 }], \
compatible = [[1, 2]], meets = { u = "bumper", v = "bumper" } }
[turntables]
Table = { length = 11, lined = "two to" }
[kinds]
box = { prototype = "44 ft 2 1/2 in" }
[locomotives]
L = { length = 5.5, heads = "to", under_way = "from", rear_only = true }
K = { length = 5, heads = "to" }
[cars]
a = "box"
b = { length = 7, kind = "tank", dead_locomotive = true }
c = "box"
d = 6
e = "box"
[start]
lead = ["a", "L", "|", "K"]
one = ["b @ door", "|", "c @ door 2"]
two = ["d", "e"]
[fixed]
d = 2
[work]
spot = { a = "one door" }
set_to_any_of = { b = ["two", "one"] }
any = [{ kind = "box", count = 1, to = "one" }]
hold = ["d"]
[work.locomotive]
K = { ends_in = "lead", heads = "from" }
[[work.train]]
departs_on = "lead"
locomotive = "L"
pick_up = ["c"]
blocks = [["c"]]
last = "c"
[limits]
longest = 40
[standards]
car = "box"
spur_holds = { one = 2 }
[drawing]
lanes = { one = -1 }
sides = { two = "up" }
[stated]
verdict = "best found"
moves = 9
"""
TEXTS = [*PUZZLES, EVERYTHING]
VALUES = [
    "0", "-1", "1e400", "nan", "inf", "true", '""', '"|"', '"entrance"', '"bumper"', "[]", "{}", "[[]]",
    "1958-05-01",
    '"7 1/2 in"', '"3 cars"', '"@"', '" "', '"one door"', '"A points"', '"Table"', '"a"', '["a", "a"]',
    "99999999999999999999",
    '"\\u0000"', "0.0000001", '"X"', "{ a = 1 }", '{ length = 3, from = "A points" }',
]  # fmt: skip
"""Values that may stand where others are expected."""


def reads_or_is_refused(text: str) -> None:
    """The text is a puzzle, which is then also written and read again, or it has problems."""
    try:
        puzzle = loads(text)
    except FileError as error:
        assert error.problems
        assert all(problem.key and problem.what and problem.cure for problem in error.problems)
        return
    assert loads(dumps(puzzle)) == puzzle


def test_the_texts_are_sound() -> None:
    """What is mangled below is whole before."""
    for text in TEXTS:
        loads(text)


@st.composite
def mangled_lines(draw: st.DrawFn) -> str:
    """A sound text with lines left out, doubled, swapped or taken from another text."""
    lines = draw(st.sampled_from(TEXTS)).splitlines()
    for _ in range(draw(st.integers(1, 4))):
        place = draw(st.integers(0, len(lines) - 1))
        other = draw(st.sampled_from(draw(st.sampled_from(TEXTS)).splitlines()))
        change = draw(st.sampled_from(["drop", "double", "insert", "replace"]))
        if change == "drop" and len(lines) > 1:
            del lines[place]
        elif change == "double":
            lines.insert(draw(st.integers(0, len(lines))), lines[place])
        elif change == "insert":
            lines.insert(place, other)
        else:
            lines[place] = other
    return "\n".join(lines)


@st.composite
def mangled_values(draw: st.DrawFn) -> str:
    """A sound text in which some values are replaced by others, of the text itself or strange ones."""
    text = draw(st.sampled_from(TEXTS))
    for _ in range(draw(st.integers(1, 3))):
        words = text.replace("{", "{ ").replace(",", " ,").split(" ")
        old = draw(st.sampled_from([word for word in words if word.strip()]))
        new = draw(st.one_of(st.sampled_from(VALUES), st.sampled_from(words), st.text(max_size=5)))
        text = text.replace(old, new, draw(st.integers(1, 2)))
    return text


@given(mangled_lines())
@settings(max_examples=300, deadline=None)
def test_mangled_lines(text: str) -> None:
    """Lines lost, doubled or misplaced never crash the reader."""
    reads_or_is_refused(text)


@given(mangled_values())
@settings(max_examples=300, deadline=None)
def test_mangled_values(text: str) -> None:
    """Values of any kind in any place never crash the reader."""
    reads_or_is_refused(text)


@given(st.sampled_from(TEXTS), st.data())
@settings(max_examples=150, deadline=None)
def test_mangled_letters(text: str, data: st.DataObject) -> None:
    """Letters put in or cut out anywhere never crash the reader."""
    start = data.draw(st.integers(0, len(text)))
    end = data.draw(st.integers(start, min(len(text), start + 20)))
    reads_or_is_refused(text[:start] + data.draw(st.text(max_size=10)) + text[end:])


@given(st.text(max_size=200))
@settings(max_examples=100, deadline=None)
@example("[tracks]\n[tracks]")
@example("a = " + "9" * 5000)
@example("a = " + "[" * 10_000)
def test_any_text(text: str) -> None:
    """Any text at all is a puzzle or refused."""
    reads_or_is_refused(text)


def test_spliced_bytes(tmp_path: Path) -> None:
    """Bytes of every value, put into a file, are read or refused."""
    path = tmp_path / "puzzle.toml"
    whole = EVERYTHING.encode()
    for value in range(256):
        place = (value * 37) % len(whole)
        path.write_bytes(whole[:place] + bytes([value]) + whole[place:])
        try:
            load(path)
        except FileError as error:
            assert error.problems
