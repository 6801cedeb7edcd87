"""The picture of the replay page: the schematic, how everything stands at the start, and what the script
needs to draw on."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from math import hypot
from xml.sax.saxutils import escape, quoteattr

from switchsolve.drawing import Box, Label, Schematic, make_scene, scenes_of
from switchsolve.drawing.labels import Placer
from switchsolve.drawing.schematic import Point, Rail
from switchsolve.drawing.svg import bridges_svg, path_data, plan_svg, standing_svg
from switchsolve.drawing.text import clean
from switchsolve.lengths import format_length
from switchsolve.page.lining import movable_routes, route_numbers
from switchsolve.plan import Placed, Solution
from switchsolve.puzzle import Puzzle

__all__ = ["frames_svg", "picture_svg"]

_OVER, _UNDER = 30.0, 16.0
"""What is shown above and below all rail, at the least: room for the flag and for vehicles."""
_NEAR = 60.0
"""How far from the middle of a track words are still seen to belong to it."""
_BRACKET, _LIP = 11.8, 6.0
"""Half the height of a bracket, and the length of its lips."""


def picture_svg(
    puzzle: Puzzle, ground: Schematic, placed: Iterable[Placed], solution: Solution, noun: str
) -> list[str]:
    """The lines of the SVG element.

    ``#static`` holds the start, for print and where no script runs; in ``#live`` the script draws;
    ``#ground`` is what does not move; ``.route`` are the routes of junctions in the order of
    :func:`~switchsolve.page.lining.route_numbers`.
    """
    scene = make_scene(ground, puzzle, placed)
    tight = _tightest_label(puzzle, ground, solution, noun)
    top, bottom = _edges(ground, tight)
    size = f'viewBox="0 {top:.1f} {ground.width:.1f} {bottom - top:.1f}"'
    title = escape(clean(puzzle.title) or "A switching district")
    return [
        f'<svg xmlns="http://www.w3.org/2000/svg" {size} role="img"'
        ' aria-labelledby="picture-title picture-words">',
        f'<title id="picture-title">Schematic: {title}</title>',
        f'<desc id="picture-words">{escape(clean(scene.words))}</desc>',
        '<path id="trail" class="trail" d=""/>',
        '<g id="ground">',
        *_ground(ground),
        "</g>",
        *_routes(ground),
        '<g id="tightest">',
        *_tightest(ground, solution, tight),
        "</g>",
        '<g id="static">',
        *bridges_svg(scene),
        *standing_svg(scene, prefix="start-"),
        "</g>",
        '<g id="live"></g>',
        "</svg>",
    ]


def frames_svg(puzzle: Puzzle, ground: Schematic, solution: Solution, noun: str) -> list[list[str]]:
    """For print: the lines of a small picture for each run, of how everything stands after it.

    They use the elements of the large one.  None without a plan.
    """
    if solution.plan is None:
        return []
    top, bottom = _edges(ground, _tightest_label(puzzle, ground, solution, noun))
    size = f'viewBox="0 {top:.1f} {ground.width:.1f} {bottom - top:.1f}"'
    begin = f'<svg class="frame" xmlns="http://www.w3.org/2000/svg" {size} aria-hidden="true">'
    found = []
    for number, scene in enumerate(scenes_of(ground, puzzle, solution.plan)[1:], 1):
        is_tightest = solution.tightest is not None and solution.tightest.move == number
        marked = '<use href="#tightest"/>' if is_tightest else ""
        lines = [f'{begin}<use href="#ground"/>{marked}', *bridges_svg(scene)]
        found.append([*lines, *standing_svg(scene, prefix=f"after-{number}-"), "</svg>"])
    return found


def _edges(ground: Schematic, tight: Label | None) -> tuple[float, float]:
    """Top and bottom of what is to be seen, without the title, which the page says itself."""
    boxes = [label.box for label in ground.labels if label.kind != "title"]
    boxes += [tight.box] if tight is not None else []
    boxes += [table.box for table in ground.tables.values()]
    heights = [y for rail in _rails(ground) for _, y in rail.points]
    top = min([box.top - 6 for box in boxes] + [min(heights) - _OVER])
    return top, max([box.bottom + 6 for box in boxes] + [max(heights) + _UNDER, top + 80])


def _rails(ground: Schematic) -> list[Rail]:
    return [*ground.tracks.values(), *ground.cells.values(), *ground.plain]


def _ground(ground: Schematic) -> Iterator[str]:
    """The schematic, with junctions that can be lined marked as such."""
    movable = {clean(cell.place) for cell in movable_routes(ground.district)}
    marks = [f"<g data-junction={quoteattr(name)}>" for name in movable]
    for line in plan_svg(ground, with_title=False):
        if any(line.startswith(mark) for mark in marks):
            line = line.replace("<g ", '<g class="movable" ', 1)
        yield line


def _routes(ground: Schematic) -> Iterator[str]:
    for cell in route_numbers(ground.district):
        yield f'<path class="route" d="{path_data(ground.cells[cell].points)}"/>'


# ---- the tightest place


def _tightest(ground: Schematic, solution: Solution, label: Label | None) -> Iterator[str]:
    """Brackets round the tightest track, and what there is to spare."""
    if solution.tightest is None:
        return
    rail = ground.tracks[solution.tightest.place]
    for end in (rail, rail.reversed()):
        yield f'<path class="tight" d="{path_data(_bracket(end))}"/>'
    if label is not None:
        at = f'x="{label.at[0]:.1f}" y="{label.at[1]:.1f}" font-size="{label.size:g}"'
        yield f'<text class="tight-name" {at}>{escape(label.text)}</text>'


def _bracket(rail: Rail) -> list[Point]:
    """A bracket at the beginning of a rail, open towards its end."""
    (x, y), (along, across) = rail.at(0.0)
    lip = min(_LIP, rail.length / 3)
    return [
        (x + along * far - across * side, y + across * far + along * side)
        for far, side in ((lip, -_BRACKET), (0.0, -_BRACKET), (0.0, _BRACKET), (lip, _BRACKET))
    ]


def _tightest_label(puzzle: Puzzle, ground: Schematic, solution: Solution, noun: str) -> Label | None:
    """The words near the middle of the tightest track, where nothing else is written; farther off with its
    name."""
    found = solution.tightest
    if found is None:
        return None
    placer = Placer(Box(4, 0, ground.width - 4, ground.height), _rails(ground))
    for label in ground.labels:
        placer.take(label.box)
    for table in ground.tables.values():
        placer.take(table.box)
    (x, y), _ = ground.tracks[found.place].at(0.5)
    spots = [(x + shift, y + down) for down in (24, 33, 42, -15, -24) for shift in range(-160, 161, 8)]
    spots.sort(key=lambda spot: hypot(spot[0] - x, spot[1] - y - 24))
    near = [spot for spot in spots if hypot(spot[0] - x, spot[1] - y) < _NEAR]
    spare = f"{format_length(found.spare, puzzle)} to spare, {noun.lower()} {found.move}"
    beside = placer.place("tight", f"tightest: {spare}", 8.5, near)
    return beside or placer.place("tight", f"tightest: {found.place}, {spare}", 8.5, spots)
