"""The reference district: one fixed yardstick for speed; for tests only.

Ten tracks, five turnouts, one run-around, two facing ends and two trailing ones.  Every track runs west
(``from``) to east (``to``).  Lengths are in cars of one length; a locomotive is a car and a quarter, a
turnout three quarters. Work n+n: from the west end of the entrance track n set-outs, then the locomotive,
under way towards the east; n cars to be pulled stand on the spurs.  The set-outs go to the spurs, in
turn, the pulls to the entrance track.

``python -m tests.reference_district`` writes the files anew.
"""

from __future__ import annotations

from itertools import cycle, islice
from pathlib import Path

from switchsolve.puzzle import Puzzle
from switchsolve.puzzlefile import load

__all__ = ["FOLDER", "reference", "reference_text"]

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
f1       = { from = "C diverging", length = 3 }
t1       = { from = "bumper", to = "D diverging", length = 2 }
f2       = { from = "F diverging", length = 2 }

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
    title = f'title = "Reference district, {count}+{count}"\n'
    parts = [("cars", cars), ("start", rows), ("work", spots)]
    return title + _TRACKS + "".join(f"\n[{name}]\n" + "\n".join(lines) + "\n" for name, lines in parts)


def reference(count: int) -> Puzzle:
    """Work ``count`` + ``count``, read from its file."""
    return load(FOLDER / f"{count}.toml")


if __name__ == "__main__":
    for each in range(1, 7):
        (FOLDER / f"{each}.toml").write_text(reference_text(each), encoding="utf-8")
