"""The schematic on a sheet: in one piece, or cut into strips if it is too wide to be read so.

Each strip is an image with its own data, so that nothing of its style sheet or ids reaches the page.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from math import ceil

from switchsolve.drawing import Box, Scene, Schematic, data_url, draw, make_scene, placed_at_start, scene_svg
from switchsolve.drawing.svg import STYLE
from switchsolve.puzzle import Puzzle

__all__ = ["MOST_WIDE", "OVERLAP", "Strip", "ground_of", "picture_of", "strips_of"]

MOST_WIDE = 940.0
"""Width of a strip at the most, drawing units: on a sheet seven and a half inches wide a car number is then
written in type of five points and a half."""
OVERLAP = 110.0
"""What two neighboring strips share: more than a car and the name beside it."""
_ABOVE, _BELOW, _AIR = 18.0, 18.0, 8.0
"""What is shown above and below all rail, and above and below names, at the least."""
_TINT, _WHITE = "#fdfcf9", "#ffffff"


@dataclass(frozen=True, slots=True)
class Strip:
    """``source``: the picture as a data URL.  ``width``: in drawing units.  ``words``: the whole standing."""

    source: str
    width: float
    name: str
    words: str


def ground_of(puzzle: Puzzle) -> Schematic:
    """The schematic to scale, unless with all tracks alike it takes fewer strips."""
    to_scale = draw(puzzle)
    if _count(to_scale) == 1:
        return to_scale
    even = draw(puzzle, to_scale=False)
    return even if _count(even) < _count(to_scale) else to_scale


def _count(ground: Schematic) -> int:
    """How many strips it takes."""
    if ground.width <= MOST_WIDE:
        return 1
    return ceil((ground.width - OVERLAP) / (MOST_WIDE - OVERLAP))


def picture_of(puzzle: Puzzle) -> Strip:
    """The starting standing to scale, in one piece however wide it is."""
    ground = draw(puzzle)
    scene = make_scene(ground, puzzle, placed_at_start(puzzle))
    box = Box(0.0, _edges(ground)[0], ground.width, _edges(ground)[1])
    return Strip(_source(scene_svg(_seen_in(scene, box), box)), ground.width, "", scene.words)


def strips_of(puzzle: Puzzle, ground: Schematic) -> list[Strip]:
    """The starting standing, from left to right."""
    scene = make_scene(ground, puzzle, placed_at_start(puzzle))
    boxes = _boxes(ground)
    return [
        Strip(_source(scene_svg(_seen_in(scene, box), box)), box.right - box.left, name, scene.words)
        for box, name in zip(boxes, _strip_names(len(boxes)), strict=True)
    ]


def _seen_in(scene: Scene, box: Box) -> Scene:
    """The scene without the texts that the edge of a strip would cut: its neighbor has them whole."""
    ground = scene.schematic
    labels = tuple(label for label in ground.labels if label.box.within(box))
    numbers = tuple(label for label in scene.numbers if label.box.within(box))
    return replace(scene, schematic=replace(ground, labels=labels), numbers=numbers)


def _boxes(ground: Schematic) -> list[Box]:
    """Strips of equal width, no wider than may be."""
    top, bottom = _edges(ground)
    count = _count(ground)
    width = (ground.width + (count - 1) * OVERLAP) / count
    lefts = [index * (width - OVERLAP) for index in range(count)]
    return [Box(left, top, left + width, bottom) for left in lefts]


def _edges(ground: Schematic) -> tuple[float, float]:
    """Top and bottom of what is to be seen, without the title, which the sheet says itself."""
    boxes = [label.box for label in ground.labels if label.kind != "title"]
    boxes += [table.box for table in ground.tables.values()]
    rails = [*ground.tracks.values(), *ground.cells.values(), *ground.plain]
    heights = [y for rail in rails for _, y in rail.points]
    top = min([box.top - _AIR for box in boxes] + [min(heights) - _ABOVE])
    return top, max([box.bottom + _AIR for box in boxes] + [max(heights) + _BELOW])


def _strip_names(count: int) -> Sequence[str]:
    if count == 1:
        return [""]
    inner = ["Middle part"] if count == 3 else [f"Part {index} of {count}" for index in range(2, count)]
    return ["Left part", *inner, "Right part"]


def _source(svg: str) -> str:
    """As a data URL, on white: a tint would be printed as a haze of dots.

    Only the style sheet is changed; no name in the file can look like it, for names are in one line.
    """
    return data_url(svg.replace(STYLE, STYLE.replace(_TINT, _WHITE), 1))
