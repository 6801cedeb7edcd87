"""Small districts with traffic, on which a session is solved in a moment."""

from __future__ import annotations

from switchsolve.puzzle import Puzzle
from switchsolve.puzzlefile import loads

__all__ = ["LANE", "lane"]

LANE = """\
title = "Cask Lane: two spurs"
unit = "in"

[tracks]
lead = { from = "entrance", to = "Cider turnout straight" }
tail = { from = "Cider turnout points", to = "Ice turnout points", length = 11 }
"cider works" = { from = "Cider turnout diverging", length = 13, spots = { "door 1" = 9, "door 2" = 3 } }
"ice house" = { from = "Ice turnout diverging", length = 7 }

[turnouts]
"Cider turnout" = { length = 6 }
"Ice turnout" = { length = 6, meets = { straight = "bumper" } }

[kinds]
box = 6
reefer = 5

[locomotives]
"S&I 5" = { length = 5, heads = "to" }

[cars]
"THB 12" = "box"
"OXCC 7" = "box"
"QLV 1" = "box"
"S&I 1" = "box"

[start]
lead = ["THB 12", "S&I 5"]
"cider works" = ["OXCC 7", "QLV 1"]
"ice house" = ["S&I 1"]

[traffic]
train = "lead"
locomotive_at = "to"
most_cars = 2
blocking = "as drawn"

[traffic.industries]
"cider works" = { kinds = { box = 0.8, reefer = 0.4 }, stay = 2.5, full = 0.75 }
"ice house" = { kinds = { reefer = 0.5 }, stay = 1.25, full = 0.25 }
"""
"""The cider works trail, the ice house faces the train, and there is no run-around: no car that comes behind
the locomotive can be set out at the ice house, though one that stands there can be fetched."""


def lane(*changes: tuple[str, str]) -> Puzzle:
    """The district with some of its text replaced."""
    text = LANE
    for old, new in changes:
        assert text.count(old) == 1, old
        text = text.replace(old, new)
    return loads(text)
