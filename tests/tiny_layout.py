"""A small layout of the invented railroad, quick to play: a yard, a siding on the main, a spur, staging."""

from __future__ import annotations

from pathlib import Path

__all__ = ["LAYOUT", "write"]

_KINDS = """
[kinds]
box = 6
hopper = 5
"""
_YARD = f"""
title = "Marrow Point yard"
unit = "in"
[tracks]
lead = {{ from = "entrance", to = "First points", length = 40 }}
"track 1" = {{ from = "First diverging", length = 32 }}
"track 2" = {{ from = "First straight", length = 20 }}
[turnouts]
First = {{ straight = 4, diverging = 4 }}
{_KINDS}
[locomotives]
"S&I 7" = {{ length = 5, heads = "to" }}
[start]
lead = ["S&I 7"]
"""
_MILL = f"""
title = "Millbrook"
unit = "in"
[tracks]
"east main" = {{ from = "entrance", to = "East points", length = 40 }}
main = {{ from = "East straight", to = "West straight", length = 20 }}
siding = {{ from = "East diverging", to = "Mill points", length = 20 }}
"west main" = {{ from = "West points", to = "entrance", length = 40 }}
mill = {{ from = "Mill diverging", length = 12 }}
[turnouts]
East = {{ straight = 4, diverging = 4 }}
West = {{ straight = 4, diverging = 4, meets = {{ diverging = "Mill straight" }} }}
Mill = {{ straight = 4, diverging = 4 }}
{_KINDS}
[locomotives]
"S&I 9" = {{ length = 5, heads = "to" }}
[start]
"east main" = ["S&I 9"]
[traffic]
train = "east main"
locomotive_at = "from"
most_cars = 2
[traffic.industries]
mill = {{ kinds = {{ box = 0.8 }}, stay = 1, full = 0.5 }}
"""
_DOCK = f"""
title = "Cask Lane"
unit = "in"
[tracks]
lane = {{ from = "entrance", to = "Dock points", length = 40 }}
tail = {{ from = "Dock straight", length = 12 }}
dock = {{ from = "Dock diverging", length = 12 }}
[turnouts]
Dock = {{ straight = 4, diverging = 4 }}
{_KINDS}
[locomotives]
"S&I 5" = {{ length = 5, heads = "to" }}
[start]
lane = ["S&I 5"]
[traffic]
train = "lane"
locomotive_at = "from"
most_cars = 2
[traffic.industries]
dock = {{ kinds = {{ hopper = 0.8 }}, stay = 1, full = 0.5 }}
"""

LAYOUT = """
title = "A small evening"
unit = "in"

[session]
minutes = 90
fast_clock = 4
begins = "18:00"
pace = 2

[kinds]
box = 6
hopper = 5

[yard."Marrow Point"]
file = "yard.toml"
lead = "lead"
tracks = ["track 1", "track 2"]
room = 60
stop = 3

[districts]
Millbrook = { file = "mill.toml", main = ["east main", "main", "west main"] }
"Cask Lane" = { file = "dock.toml" }

[staging.Upland]
through = true
tracks = { "Upland 1" = 40, "Upland 2" = 40, "Upland 3" = 40 }
keep_empty = ["Upland 3"]
cars = { box = { loaded = 1, empty = 1 } }

[staging.Coast]
through = false
tracks = { "Coast 1" = 40, "Coast 2" = 40 }
cars = { hopper = { empty = 3 } }

[links]
"Upland main" = { between = ["Upland", "Millbrook"], minutes = 2 }
"harbor main" = { between = ["Millbrook", "Marrow Point"], minutes = 2 }
"coast main" = { between = ["Marrow Point", "Coast"], minutes = 2 }
"Lane track" = { between = ["Marrow Point", "Cask Lane"], minutes = 1 }

[aisles]
aisle = { places = ["Marrow Point", "Cask Lane"], people = 2 }

[trains."Lane job"]
kind = "local"
from = "Marrow Point"
to = "Marrow Point"
works = ["Cask Lane"]
most_cars = 2
equipment = 9

[trains]
"Upland freight" = { kind = "through freight", from = "Upland", to = "Coast", most_cars = 3, equipment = 9 }
"Coast freight" = { kind = "through freight", from = "Coast", to = "Upland", most_cars = 3, equipment = 9 }

[trains."Millbrook turn"]
kind = "turn"
from = "Marrow Point"
to = "Marrow Point"
works = ["Millbrook"]
most_cars = 2
equipment = 9

[trains."Point switcher"]
kind = "yard switcher"
from = "Marrow Point"
to = "Marrow Point"
equipment = 5

[crews]
Ash = "all"
Birch = "all"

[industries.Millbrook]
mill = { comes = "loaded", from = "Upland", to = "Upland" }
[industries."Cask Lane"]
dock = { comes = "empty", from = "Coast", to = "Coast" }

[what_if."one crew fewer"]
without_crews = ["Birch"]
"""


def write(folder: Path, layout: str = LAYOUT) -> Path:
    """Write the files of the layout to ``folder``; returns that of the layout."""
    for name, text in (("yard", _YARD), ("mill", _MILL), ("dock", _DOCK)):
        (folder / f"{name}.toml").write_text(text, encoding="utf-8")
    path = folder / "small_layout.toml"
    path.write_text(layout, encoding="utf-8")
    return path
