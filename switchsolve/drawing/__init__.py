"""Pictures of a district: a schematic drawn by itself, who stands on it, and a plan move by move.

::

    from switchsolve.drawing import draw, make_scene, placed_at_start, scene_svg

    ground = draw(puzzle)
    svg = scene_svg(make_scene(ground, puzzle, placed_at_start(puzzle)))

Everything is data before it is a picture: a :class:`Schematic` knows where each way lies
(:meth:`Schematic.point`), a :class:`Scene` which vehicle stands where.  Nothing here computes an answer; it
draws what it is given.
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from switchsolve.drawing.arrange import draw
    from switchsolve.drawing.film import Still, scenes_of, stills_of
    from switchsolve.drawing.png import png_bytes
    from switchsolve.drawing.scene import Scene, lined_after, make_scene
    from switchsolve.drawing.schematic import Box, Label, Mark, Rail, Schematic
    from switchsolve.drawing.standing import placed_at_start, standing_in_words
    from switchsolve.drawing.svg import data_url, film_svg, scene_svg
    from switchsolve.drawing.terminal import terminal_picture, terminal_pictures
    from switchsolve.drawing.vehicles import Body, Coupling, bodies_of

__all__ = [
    "Body",
    "Box",
    "Coupling",
    "Label",
    "Mark",
    "Rail",
    "Scene",
    "Schematic",
    "Still",
    "bodies_of",
    "data_url",
    "draw",
    "film_svg",
    "lined_after",
    "make_scene",
    "placed_at_start",
    "png_bytes",
    "scene_svg",
    "scenes_of",
    "standing_in_words",
    "stills_of",
    "terminal_picture",
    "terminal_pictures",
]

_MODULE = {
    "Body": "vehicles",
    "Box": "schematic",
    "Coupling": "vehicles",
    "Label": "schematic",
    "Mark": "schematic",
    "Rail": "schematic",
    "Scene": "scene",
    "Schematic": "schematic",
    "Still": "film",
    "bodies_of": "vehicles",
    "data_url": "svg",
    "draw": "arrange",
    "film_svg": "svg",
    "lined_after": "scene",
    "make_scene": "scene",
    "placed_at_start": "standing",
    "png_bytes": "png",
    "scene_svg": "svg",
    "scenes_of": "film",
    "standing_in_words": "standing",
    "stills_of": "film",
    "terminal_picture": "terminal",
    "terminal_pictures": "terminal",
}
"""Where each name is at home, imported when the name is first asked for: letters on a screen need nothing of
what is written as SVG or PNG."""

# hidden from type checkers: with it they would let every misspelled name pass
if not TYPE_CHECKING:

    def __getattr__(name: str) -> object:
        if name not in _MODULE:
            raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
        found = getattr(import_module(f"{__name__}.{_MODULE[name]}"), name)
        globals()[name] = found
        return found


def __dir__() -> list[str]:
    return sorted({*globals(), *__all__})
