"""Six small districts of the invented railroad, for set-ups that are ranked.

Two of them served to choose the weights of a difficulty, the others show what it is worth; the last two were
drawn when the weights had long been fixed, and ranked once.
None has spots or closed rail, so that longest runs are exact for every set-up drawn on them.
"""

from __future__ import annotations

from switchsolve.puzzle import Puzzle
from switchsolve.puzzlefile import loads

__all__ = ["BLIND", "CHOSEN_ON", "SHOWN_ON", "district"]

_HO = """\
unit = "in"
scale = "HO"
allowance = 0.1
[district]
track_centers = 2
[kinds]
"40 ft box" = { prototype = "44 ft 2 1/2 in" }
[locomotives]
"S&I 5" = { length = 5.5, heads = "to" }
[cars]
"THB 12" = "40 ft box"
"QLV 214" = "40 ft box"
"OXCC 7" = "40 ft box"
"OXCC 31" = "40 ft box"
"""

_LANE = f"""\
title = "Cask Lane, three spurs"
{_HO}
[tracks]
"Lane lead" = {{ from = "entrance", to = "West turnout points" }}
street = {{ from = "West turnout straight", to = "East turnout straight", length = 13 }}
"run-around" = {{ from = "West turnout diverging", to = "Team turnout straight", length = 13 }}
"Lane tail" = {{ from = "Cider turnout straight", length = 13 }}
"cider works" = {{ from = "Cider turnout diverging", length = 13 }}
"team track" = {{ from = "Team turnout diverging", length = 13 }}
[turnouts]
"West turnout" = {{ number = 4 }}
"East turnout" = {{ number = 4, meets = {{ points = "Cider turnout points" }} }}
"Cider turnout" = {{ number = 4 }}
"Team turnout" = {{ number = 4, meets = {{ points = "East turnout diverging" }} }}
[start]
"Lane lead" = ["QLV 214", "THB 12", "S&I 5"]
"cider works" = ["OXCC 7"]
"team track" = ["OXCC 31"]
[work]
spot = {{ "THB 12" = "team track", "QLV 214" = "cider works" }}
[[work.train]]
departs_on = "Lane lead"
pick_up = ["OXCC 31"]
"""

_MILL = f"""\
title = "Millbrook, both sides of the siding"
{_HO}
[tracks]
"west main" = {{ from = "entrance", to = "West turnout points" }}
main = {{ from = "Factory turnout straight", to = "East turnout straight", length = 26 }}
siding = {{ from = "West turnout diverging", to = "Mill turnout straight", length = 26 }}
"east main" = {{ from = "East turnout points", length = 26 }}
"box factory" = {{ from = "Factory turnout diverging", length = 14 }}
"feed mill" = {{ from = "Mill turnout diverging", length = 14 }}
[turnouts]
"West turnout" = {{ number = 6, meets = {{ straight = "Factory turnout points" }} }}
"East turnout" = {{ number = 6 }}
"Factory turnout" = {{ number = 4 }}
"Mill turnout" = {{ number = 4, meets = {{ points = "East turnout diverging" }} }}
[start]
"west main" = ["QLV 214", "THB 12", "S&I 5"]
"box factory" = ["OXCC 7"]
"feed mill" = ["OXCC 31"]
[work]
spot = {{ "THB 12" = "feed mill", "QLV 214" = "box factory" }}
[[work.train]]
departs_on = "west main"
pick_up = ["OXCC 31"]
"""

_HILL = """\
title = "Quarry Hill, half way and above"
unit = "mm"
scale = "N"
allowance = 1
[district]
track_centers = 32
[kinds]
hopper = { prototype = "36 ft" }
[locomotives]
"S&I 12" = { length = 85, heads = "to" }
[cars]
"S&I 701" = "hopper"
"S&I 702" = "hopper"
"S&I 703" = "hopper"
"S&I 704" = "hopper"
[tracks]
grade = { from = "entrance", to = "Lower turnout points" }
"kiln track" = { from = "Lower turnout straight", to = "Upper turnout straight", length = 160 }
"run-around" = { from = "Lower turnout diverging", to = "Upper turnout diverging", length = 160 }
"hill top" = { from = "Upper turnout points", to = "Powder turnout straight", length = 100 }
"top tail" = { from = "Powder turnout points", length = 160 }
"powder house" = { from = "Powder turnout diverging", to = "Kiln turnout points", length = 40 }
"lime kiln" = { from = "Kiln turnout straight", length = 150 }
"stone tipple" = { from = "Kiln turnout diverging", length = 160 }
[turnouts]
"Lower turnout" = { number = 4 }
"Upper turnout" = { number = 4 }
"Powder turnout" = { number = 4 }
"Kiln turnout" = { number = 4 }
[start]
grade = ["S&I 12", "S&I 701", "S&I 702"]
"lime kiln" = ["S&I 703"]
"stone tipple" = ["S&I 704"]
[work]
spot = { "S&I 701" = "lime kiln", "S&I 702" = "stone tipple" }
[[work.train]]
departs_on = "grade"
pick_up = ["S&I 703"]
"""

_WHARF = f"""\
title = "Glasshouse Wharf, one spur each way"
{_HO}
[tracks]
"Wharf lead" = {{ from = "entrance", to = "Switchback turnout straight", length = 40 }}
"switchback tail" = {{ from = "Switchback turnout points", length = 18.5 }}
"wharf track" = {{ from = "Switchback turnout diverging", to = "Pier turnout points", length = 13 }}
"glass works" = {{ from = "Pier turnout straight", length = 13 }}
"net loft" = {{ from = "Pier turnout diverging", length = 13 }}
[turnouts]
"Switchback turnout" = {{ number = 4 }}
"Pier turnout" = {{ number = 4 }}
[start]
"Wharf lead" = ["QLV 214", "THB 12", "S&I 5"]
"glass works" = ["OXCC 7"]
"net loft" = ["OXCC 31"]
[work]
spot = {{ "THB 12" = "glass works", "QLV 214" = "net loft" }}
[[work.train]]
departs_on = "Wharf lead"
pick_up = ["OXCC 7"]
"""

_YARD = f"""\
title = "Marrow Point, three stub tracks and a short run-around"
{_HO}
[tracks]
"yard lead" = {{ from = "entrance", to = "Lead turnout points" }}
"yard main" = {{ from = "Lead turnout straight", to = "Yard turnout straight", length = 22 }}
"escape track" = {{ from = "Lead turnout diverging", to = "Yard turnout diverging", length = 22 }}
"track 1" = {{ from = "First turnout straight", length = 20 }}
"track 2" = {{ from = "Second turnout straight", length = 14 }}
"track 3" = {{ from = "Second turnout diverging", length = 14 }}
[turnouts]
"Lead turnout" = {{ number = 4 }}
"Yard turnout" = {{ number = 4, meets = {{ points = "First turnout points" }} }}
"First turnout" = {{ number = 4, meets = {{ diverging = "Second turnout points" }} }}
"Second turnout" = {{ number = 4 }}
[start]
"yard lead" = ["QLV 214", "THB 12", "S&I 5"]
"track 2" = ["OXCC 7"]
"track 3" = ["OXCC 31"]
[work]
spot = {{ "THB 12" = "track 1", "QLV 214" = "track 2" }}
[[work.train]]
departs_on = "yard lead"
pick_up = ["OXCC 31"]
"""

_CREAMERY = f"""\
title = "Millbrook, the creamery behind the siding"
{_HO}
[tracks]
"west main" = {{ from = "entrance", to = "West turnout points" }}
main = {{ from = "West turnout straight", to = "East turnout straight", length = 30 }}
siding = {{ from = "West turnout diverging", to = "Creamery turnout straight", length = 14 }}
"short siding" = {{ from = "Creamery turnout points", to = "East turnout diverging", length = 4 }}
"east main" = {{ from = "East turnout points", to = "Box turnout points", length = 14 }}
"box factory" = {{ from = "Box turnout diverging", length = 14 }}
"end of the line" = {{ from = "Box turnout straight", length = 14 }}
creamery = {{ from = "Creamery turnout diverging", length = 14 }}
[turnouts]
"West turnout" = {{ number = 4 }}
"East turnout" = {{ number = 4 }}
"Creamery turnout" = {{ number = 4 }}
"Box turnout" = {{ number = 4 }}
[start]
"west main" = ["QLV 214", "THB 12", "S&I 5"]
creamery = ["OXCC 7"]
"box factory" = ["OXCC 31"]
[work]
spot = {{ "THB 12" = "creamery", "QLV 214" = "end of the line" }}
[[work.train]]
departs_on = "west main"
pick_up = ["OXCC 31"]
"""

CHOSEN_ON = {"lane": _LANE, "wharf": _WHARF}
"""The weights were chosen on set-ups of these."""
SHOWN_ON = {"mill": _MILL, "hill": _HILL}
"""These were not looked at for that."""
BLIND = {"yard": _YARD, "creamery": _CREAMERY}
"""These were not there then."""


def district(name: str) -> Puzzle:
    """One of the six, by its name."""
    return loads((CHOSEN_ON | SHOWN_ON | BLIND)[name])
