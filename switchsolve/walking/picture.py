"""The picture of a walk: the schematic once, and what stands on it as often as it moves."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from xml.sax.saxutils import escape, quoteattr

from switchsolve.district import Way
from switchsolve.drawing import Schematic, make_scene
from switchsolve.drawing.svg import bridges_svg, path_data, plan_svg, standing_svg
from switchsolve.drawing.text import clean
from switchsolve.plan import Advance, Couple, Cut, Placed
from switchsolve.puzzle import Puzzle
from switchsolve.referee.rail import Ground, moved, split, turned
from switchsolve.walking.session import Step

__all__ = ["ground_svg", "layer", "layers_of"]

_LEAST, _MOST = 6, 24
"""Pictures of a run on its way, at the least and at the most."""
_UNITS = 30.0
"""Drawing units between two of them, where there are neither too few nor too many."""
_OVER, _UNDER = 30.0, 16.0
"""What is shown above and below all rail, at the least."""


def ground_svg(puzzle: Puzzle, ground: Schematic) -> str:
    """The SVG element: the schematic, a broad invisible path for each place to point at, and an empty group
    ``#live`` for what stands there.
    """
    top, bottom = _edges(ground)
    title = escape(clean(puzzle.title) or "A switching district")
    lines = [
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 {top:.1f} {ground.width:.1f} {bottom - top:.1f}"'
        ' role="img" aria-labelledby="picture-title picture-words">',
        f'<title id="picture-title">Schematic: {title}</title>',
        '<desc id="picture-words"></desc>',
        *_marks(puzzle, ground),
        *plan_svg(ground, with_title=False),
        '<g id="live"></g>',
        *_places(ground),
        "</svg>",
    ]
    return "\n".join(lines)


def _edges(ground: Schematic) -> tuple[float, float]:
    boxes = [label.box for label in ground.labels if label.kind != "title"]
    boxes += [table.box for table in ground.tables.values()]
    rails = [*ground.tracks.values(), *ground.cells.values(), *ground.plain]
    heights = [y for rail in rails for _, y in rail.points]
    top = min([box.top - 6 for box in boxes] + [min(heights) - _OVER])
    return top, max([box.bottom + 6 for box in boxes] + [max(heights) + _UNDER])


def _marks(puzzle: Puzzle, ground: Schematic) -> Iterator[str]:
    """What is lit under a place that can be gone to."""
    for place, data in _paths(ground):
        yield f'<path class="lit" data-lit={quoteattr(place)} d="{data}"/>'


def _places(ground: Schematic) -> Iterator[str]:
    """What a pointer meets."""
    for place, data in _paths(ground):
        name = escape(clean(place))
        yield f'<path class="place" data-place={quoteattr(place)} d="{data}"><title>{name}</title></path>'


def _paths(ground: Schematic) -> Iterator[tuple[str, str]]:
    """By place the path data of its rail: tracks first, so that junctions lie above them."""
    for name, rail in ground.tracks.items():
        yield name, path_data(rail.points)
    for junction in ground.junctions:
        yield junction.name, "".join(path_data(leg.points) for leg in junction.legs)
    for name, table in ground.tables.items():
        yield name, "".join(path_data(bridge.points) for bridge in table.bridges)


def layer(
    puzzle: Puzzle, ground: Schematic, standing: Iterable[Placed], lined: Sequence[int]
) -> tuple[str, str]:
    """What stands there as SVG, and in words."""
    lies = {table.name: index for table, index in zip(puzzle.district.tables, lined, strict=True)}
    scene = make_scene(ground, puzzle, standing, lies)
    return "".join((*bridges_svg(scene), *standing_svg(scene))), clean(scene.words)


def layers_of(puzzle: Puzzle, ground: Schematic, step: Step) -> list[str]:
    """What stands there while a step is made, picture by picture, the end left out."""
    if step.run is None:
        return []
    lined = step.before.standing.lined
    return [layer(puzzle, ground, standing, lined)[0] for standing in _on_the_way(puzzle, ground, step)]


def _on_the_way(puzzle: Puzzle, schematic: Schematic, step: Step) -> Iterator[list[Placed]]:
    ground, run = Ground.of(puzzle), step.run
    assert run is not None
    string = next(one for one in step.set_off if run.locomotive in one.vehicles)
    still = [one for one in step.set_off if one is not string]
    if (string.noses[run.locomotive] > 0) != run.forward:
        string = turned(ground, string)
    for action in run.steps:
        if isinstance(action, Cut):
            left, string = split(ground, string, len(action.vehicles))
            still.append(left)
        elif isinstance(action, Advance):
            count = _pictures(schematic, string.ways, action)
            for number in range(count):
                share = number / count
                far = round(action.distance * share * share * (3 - 2 * share))
                yield [*still, moved(ground, string, far, action.enters)]
            string = moved(ground, string, action.distance, action.enters)
        else:
            assert isinstance(action, Couple)


def _pictures(schematic: Schematic, ways: Sequence[Way], advance: Advance) -> int:
    """How many pictures an advance gets, by the length of the rail drawn."""
    drawn = sum(schematic.cells[way.cell].length for way in advance.enters if way.cell in schematic.cells)
    return min(max(round(drawn / _UNITS), _LEAST), _MOST)
