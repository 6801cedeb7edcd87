"""Districts to be drawn, with one of every kind of junction, and the golden pictures of a dozen of them; for
tests only.

``python -m tests.drawn`` writes the golden pictures anew.
"""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

from switchsolve.drawing import draw, make_scene, placed_at_start, scene_svg
from switchsolve.puzzle import Puzzle
from switchsolve.puzzlefile import load, loads
from tests.builders import balloon_district, oval_district, set_up, table_district, wye_district

__all__ = ["DISTRICTS", "FOLDER", "GOLDEN", "picture", "yard"]

ROOT = Path(__file__).parent.parent
FOLDER = Path(__file__).parent / "drawings"

_ROLLING = """
[locomotives]
"S&I 5" = { length = 1.25, heads = "to" }
[cars]
"QLV 12" = 1
"THB 7" = 1
[start]
lead = ["QLV 12", "S&I 5"]
"far b" = ["THB 7"]
"""

_TWO_TRACKS = """
[tracks]
lead = { from = "entrance", to = "T points", length = 6 }
"near a" = { from = "T straight", to = "X a from", length = 2 }
"near b" = { from = "T diverging", to = "X b from", length = 2 }
"far a" = { from = "X a to", length = 4 }
"far b" = { from = "X b to", length = 4 }
[turnouts]
T = { length = 1 }
"""


def _file(*sections: str) -> Puzzle:
    return loads('unit = "car"\n' + "".join(sections) + _ROLLING)


def _at_tables(section: str, lead: str, stall: str) -> Puzzle:
    stalls = "".join(f'"stall {n}" = {{ from = "{stall}", length = 3 }}\n' for n in range(1, 4))
    tracks = f'[tracks]\nlead = {{ from = "entrance", to = "{lead}", length = 6 }}\n{stalls}'
    far = f'"far b" = {{ from = "{stall}", length = 4 }}\n'
    return _file(tracks, far, f'[{section}]\nPit = {{ length = 2, lined = "lead to" }}\n')


def yard(count: int) -> Puzzle:
    """A yard of ``count`` tracks between two ladders, with a track at each end."""
    tracks = ['lead = { from = "entrance", to = "W1 points", length = 6 }']
    tracks.append('out = { from = "E1 points", to = "entrance", length = 6 }')
    turnouts = []
    for n in range(1, count - 2):
        length = 6 + n % 4
        tracks.append(f'"yard {n}" = {{ from = "W{n} diverging", to = "E{n} diverging", length = {length} }}')
        for side in "WE":
            meets = f', meets = {{ straight = "{side}{n + 1} points" }}' if n < count - 3 else ""
            turnouts.append(f"{side}{n} = {{ length = 1{meets} }}")
    last = count - 3
    tracks.append(f'"far b" = {{ from = "W{last} straight", to = "E{last} straight", length = 6 }}')
    return _file("[tracks]\n" + "\n".join(tracks), "\n[turnouts]\n" + "\n".join(turnouts))


DISTRICTS: dict[str, Callable[[], Puzzle]] = {
    "oval": lambda: set_up(oval_district(12, 12, 5), {"north": "L a b"}, heads={"L": "to"}),
    "balloon": lambda: set_up(balloon_district(8, 14), {"lead": "L a b", "loop": "c"}, heads={"L": "to"}),
    "wye": lambda: set_up(wye_district(6, 5, 5, 4), {"stem": "L a b"}, heads={"L": "from"}),
    "table": lambda: set_up(table_district(8, 3, 4), {"lead": "L a b", "one": "c"}, heads={"L": "to"}),
    "roundhouse": lambda: _at_tables("turntables", "Pit", "Pit"),
    "transfer table": lambda: _at_tables("transfer_tables", "Pit from", "Pit to"),
    "crossing": lambda: _file(_TWO_TRACKS, "[crossings]\nX = { length = 1.5 }\n"),
    "single slip": lambda: _file(_TWO_TRACKS, "[single_slips]\nX = { length = 1.5 }\n"),
    "double slip": lambda: _file(_TWO_TRACKS, "[double_slips]\nX = { length = 1.5 }\n"),
    "double crossover": lambda: _file(_TWO_TRACKS, "[double_crossovers]\nX = { length = 1.5 }\n"),
    "three-way": lambda: _file(
        '[tracks]\nlead = { from = "entrance", to = "T points", length = 6 }\n'
        '"left b" = { from = "T left", length = 3 }\n"far b" = { from = "T straight", length = 4 }\n'
        '"right b" = { from = "T right", length = 3 }\n[three_ways]\nT = { length = 1 }\n'
    ),
    "crossover": lambda: _file(
        '[tracks]\nlead = { from = "entrance", to = "A points", length = 4 }\n'
        'main = { from = "entrance", to = "B straight", length = 5 }\n'
        'beyond = { from = "A straight", length = 4 }\n"far b" = { from = "B points", length = 4 }\n'
        '[turnouts]\nA = { length = 1, meets = { diverging = "B diverging" } }\nB = { length = 1 }\n'
    ),
    "circle": lambda: _file(
        '[tracks]\nlead = { from = "entrance", length = 6 }\n'
        'half = { from = "far b to", length = 4, to = "far b from" }\n'
        '"far b" = { from = "half to", length = 6 }\n'
    ),
    "yard of 6": lambda: yard(6),
}
"""Set-ups by name."""

GOLDEN = {
    **{
        name: lambda name=name: load(ROOT / "puzzles" / f"{name}.toml")  # type: ignore[misc]
        for name in (
            "first_spur",
            "cask_lane_crossing",
            "ferry_slip_float",
            "glasshouse_switchback",
            "marrow_point_front_street",
            "marrow_point_turntable",
            "millbrook_turn",
            "millbrook_wye",
        )
    },
    **{
        name: DISTRICTS[name]
        for name in ("oval", "balloon", "double slip", "double crossover", "three-way", "transfer table")
    },
}
"""Those whose picture is kept, text for text, in ``tests/drawings/``."""


def picture(puzzle: Puzzle) -> str:
    """The SVG of a puzzle at its start."""
    return scene_svg(make_scene(draw(puzzle), puzzle, placed_at_start(puzzle)))


if __name__ == "__main__":
    for each, make in GOLDEN.items():
        (FOLDER / f"{each.replace(' ', '_')}.svg").write_text(picture(make()), encoding="utf-8")
