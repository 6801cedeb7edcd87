"""The reference district: one fixed yardstick for speed; for tests only.

Ten tracks, five turnouts, one run-around, two facing ends and two trailing ones.  Every track runs west
(``from``) to east (``to``).  Lengths are in cars of one length; a locomotive is a car and a quarter, a
turnout three quarters. Work n+n: from the west end of the entrance track n set-outs, then the locomotive,
under way towards the east; n cars to be pulled stand on the spurs.  The set-outs go to the spurs, in
turn, the pulls to the entrance track.

An evening's work n+n, nearer to what a crew meets: four spots, three of them taken by cars on hold (room is
left for two cars on f1 and one each on t1 and f2); a caboose behind the set-outs; and the pulls leave with it
in a train on the entrance track, locomotive to the west, caboose last.

With a table: work n+n; the two tracks of the run-around end at a transfer table, and f2 and the tail lie
behind it.

With an oval: work n+n; from the tail a track leads back to the entrance track.

With two locomotives: work n+n, and a second locomotive that stands on the side; who does what is left open.

``python -m tests.reference_district`` writes the files anew.
"""

from __future__ import annotations

from dataclasses import replace
from itertools import cycle, islice
from pathlib import Path

from switchsolve.district import Limits
from switchsolve.puzzle import Puzzle, StartString
from switchsolve.puzzlefile import load, loads

__all__ = [
    "FOLDER",
    "evening",
    "evening_text",
    "reference",
    "reference_text",
    "with_oval",
    "with_table",
    "with_two_locomotives",
]

FOLDER = Path(__file__).parent / "reference"
_SPURS = ("f1", "t1", "f2")
_TRACKS = """\
unit = "car"

[tracks]
west     = { from = "entrance", to = "C points", length = 10 }
w2       = { from = "C straight", to = "A points", length = 1 }
"main a" = { from = "A straight", to = "D straight", length = 2 }
"main b" = { from = "D points", to = "B straight", length = 3 }
side     = { from = "A diverging", to = "B diverging", length = 6.5 }
e2       = { from = "B points", to = "F points", length = 0.5 }
tail     = { from = "F straight", length = 3 }
f1       = { from = "C diverging", length = 3__F1__ }
t1       = { from = "bumper", to = "D diverging", length = 2__T1__ }
f2       = { from = "F diverging", length = 2__F2__ }

[turnouts]
C = { length = 0.75 }
A = { length = 0.75 }
D = { length = 0.75 }
B = { length = 0.75 }
F = { length = 0.75 }

[kinds]
car = 1

[locomotives]
L = { length = 1.25, heads = "to", under_way = "to" }
"""


_SPOTS = {
    "__F1__": ', spots = { "middle" = 1.5, "end" = 2.5 }',
    "__T1__": ', spots = { "end" = 0.5 }',
    "__F2__": ', spots = { "end" = 1.5 }',
}
"""The bumpers are at the east end of f1 and f2, and at the west end of t1."""


def _tracks(spots: dict[str, str]) -> str:
    text = _TRACKS
    for mark in _SPOTS:
        text = text.replace(mark, spots.get(mark, ""))
    return text


def _file(title: str, tracks: str, parts: list[tuple[str, list[str]]]) -> str:
    return f'title = "{title}"\n{tracks}' + "".join(
        f"\n[{name}]\n" + "\n".join(lines) + "\n" for name, lines in parts
    )


def evening_text(count: int) -> str:
    """The file of an evening's work with ``count`` set-outs and as many pulls, four at most."""
    turns = list(islice(cycle(_SPURS), count))
    numbers = range(1, count + 1)
    pulls = {spur: [f'"pull {n}"' for n in numbers if turns[n - 1] == spur] for spur in _SPURS}
    rows = ["west = [" + ", ".join(['"caboose"', *(f'"set-out {n}"' for n in numbers), '"L"']) + "]"]
    rows += [
        "f1 = [" + ", ".join([*pulls["f1"], '"hold 1 @ end"']) + "]",
        "t1 = [" + ", ".join(['"hold 2 @ end"', *pulls["t1"]]) + "]",
        "f2 = [" + ", ".join([*pulls["f2"], '"hold 3 @ end"']) + "]",
    ]
    cars = [f'"{what} {n}" = "car"' for what in ("set-out", "pull") for n in numbers]
    cars += [f'"hold {n}" = "car"' for n in (1, 2, 3)] + ['caboose = "car"']
    spots = [f'spot."set-out {n}" = "{turns[n - 1]}"' for n in numbers]
    leaving = ", ".join([*(f'"pull {n}"' for n in numbers), '"caboose"'])
    train = [
        'departs_on = "west"', 'locomotive = "L"', f"pick_up = [{leaving}]", 'locomotive_at = "from"',
        'last = "caboose"',
    ]  # fmt: skip
    parts = [("cars", cars), ("start", rows), ("work", spots), ("[work.train]", train)]
    return _file(f"Reference district, an evening, {count}+{count}", _tracks(_SPOTS), parts)


def reference_text(count: int) -> str:
    """The file with ``count`` set-outs and as many pulls, six at most."""
    turns = list(islice(cycle(_SPURS), count))
    numbers = range(1, count + 1)
    standing = {spur: [f'"pull {n}"' for n in numbers if turns[n - 1] == spur] for spur in _SPURS}
    rows = ["west = [" + ", ".join([*(f'"set-out {n}"' for n in numbers), '"L"']) + "]"]
    rows += [f"{spur} = [{', '.join(cars)}]" for spur, cars in standing.items() if cars]
    cars = [f'"{what} {n}" = "car"' for what in ("set-out", "pull") for n in numbers]
    spots = [f'spot."set-out {n}" = "{turns[n - 1]}"' for n in numbers]
    spots += [f'spot."pull {n}" = "west"' for n in numbers]
    parts = [("cars", cars), ("start", rows), ("work", spots)]
    return _file(f"Reference district, {count}+{count}", _tracks({}), parts)


def reference(count: int) -> Puzzle:
    """Work ``count`` + ``count``, read from its file."""
    return load(FOLDER / f"{count}.toml")


def with_table(count: int) -> Puzzle:
    """Work ``count`` + ``count`` with a transfer table, a little longer than locomotive and car, for the
    turnouts B and F.
    """
    table = '[transfer_tables]\n"the table" = { length = 2.5, lined = "main b to" }\n'
    return _changed(
        count,
        ('to = "B straight"', 'to = "the table from"'),
        ('to = "B diverging"', 'to = "the table from"'),
        ('e2       = { from = "B points", to = "F points", length = 0.5 }\n', ""),
        ('from = "F straight"', 'from = "the table to"'),
        ('from = "F diverging"', 'from = "the table to"'),
        ("B = { length = 0.75 }\n", ""),
        ("F = { length = 0.75 }\n", table),
    )


def with_oval(count: int) -> Puzzle:
    """Work ``count`` + ``count`` with twenty cars' length of rail from the end of the tail back to the
    entrance track.
    """
    lap = 'lap      = { from = "tail to", length = 20 }\nf1       = '
    west = 'west     = { from = "entrance"', 'west     = { from = "lap to"'
    return _changed(count, west, ("f1       = ", lap))


def _changed(count: int, *changes: tuple[str, str]) -> Puzzle:
    """Work ``count`` + ``count`` with changes in the text of its file."""
    text = reference_text(count)
    for old, new in changes:
        assert text.count(old) == 1, old
        text = text.replace(old, new)
    return loads(text)


def with_two_locomotives(count: int) -> Puzzle:
    """Work ``count`` + ``count`` with a second locomotive, which stands on the side and heads west."""
    puzzle = reference(count)
    start = puzzle.start
    return replace(
        puzzle,
        title=f"{puzzle.title}, two locomotives",
        locomotives=(*puzzle.locomotives, replace(puzzle.locomotives[0], name="M")),
        start=replace(
            start,
            strings=(*start.strings, StartString("side", ("M",))),
            heads={**start.heads, "M": "from"},
        ),
    )


def within_limits(count: int, cars: int) -> Puzzle:
    """Work ``count`` + ``count`` with so many cars in the moving string at most."""
    puzzle = reference(count)
    return replace(puzzle, district=replace(puzzle.district, limits=Limits(most_cars=cars)))


def evening(count: int) -> Puzzle:
    """An evening's work ``count`` + ``count``, read from its file."""
    return load(FOLDER / f"evening_{count}.toml")


if __name__ == "__main__":
    for each in range(5):
        (FOLDER / f"evening_{each}.toml").write_text(evening_text(each), encoding="utf-8")
    for each in range(1, 7):
        (FOLDER / f"{each}.toml").write_text(reference_text(each), encoding="utf-8")
