"""A standing on a schematic: all that a picture shows, as data."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from switchsolve.drawing.labels import Placer, make_label
from switchsolve.drawing.schematic import Box, Label, Point, Schematic
from switchsolve.drawing.standing import standing_in_words
from switchsolve.drawing.text import clean, shortened, text_width
from switchsolve.drawing.vehicles import Body, Coupling, bodies_of
from switchsolve.plan import Line, Placed, Plan
from switchsolve.puzzle import Puzzle

__all__ = ["Scene", "lined_after", "make_scene", "ways_to_write"]

_SIZE, _SMALL = 9.5, 8.0
_LEVEL = 24.0
"""Least length of a level piece on which a number is written."""
_STEEP, _SLANTED = 18.5, 22.0
"""Width of a number on upright and on slanting rail: what the outline leaves."""


@dataclass(frozen=True, slots=True)
class Scene:
    """``bodies`` and ``couplings`` on the ``schematic``; ``numbers`` are the vehicles' labels; ``lined`` says
    how each table lies; ``words`` tell it all in one paragraph."""

    schematic: Schematic
    bodies: tuple[Body, ...]
    couplings: tuple[Coupling, ...]
    numbers: tuple[Label, ...]
    lined: Mapping[str, int]
    title: str
    words: str


def make_scene(
    schematic: Schematic,
    puzzle: Puzzle,
    standing: Iterable[Placed],
    lined: Mapping[str, int] | None = None,
) -> Scene:
    """The scene of one standing (``lined``: how tables lie, if not as at the start)."""
    standing = tuple(standing)
    lies = {table.name: table.lined for table in puzzle.district.tables} | dict(lined or {})
    bodies, couplings = bodies_of(schematic, puzzle, standing, lies)
    words = standing_in_words(puzzle, standing)
    return Scene(schematic, bodies, couplings, _numbers(schematic, bodies), lies, puzzle.title, words)


def lined_after(puzzle: Puzzle, plan: Plan) -> list[dict[str, int]]:
    """How the tables lie at the start, after each run, and at the end."""
    lies = {table.name: table.lined for table in puzzle.district.tables}
    found = [dict(lies)]
    for run in plan.runs:
        lies |= {step.table: step.index for step in run.steps if isinstance(step, Line)}
        found.append(dict(lies))
    return [*found, dict(lies)]


def _numbers(schematic: Schematic, bodies: Iterable[Body]) -> tuple[Label, ...]:
    """The numbers of vehicles, inside their outlines, in one line or in two."""
    placer = Placer(Box(0, 0, schematic.width, schematic.height))
    for label in schematic.labels:
        placer.take(label.box)
    found: list[Label] = []
    for body in bodies:
        found += _number(body, placer)
    return tuple(found)


def _number(body: Body, placer: Placer) -> list[Label]:
    """One vehicle's number; nothing, if there is no room at all."""
    (x, y), room = _middle_of(body)
    full = clean(body.name)
    for size, lines in ways_to_write(full, room):
        top = y + 0.33 * size - (len(lines) - 1) * 0.46 * size
        labels = [
            make_label("vehicle", line, full, (x, top + index * size * 1.09), size)
            for index, line in enumerate(lines)
        ]
        if all(placer.fits(label.box, clear_of_rails=False) for label in labels):
            for label in labels:
                placer.take(label.box)
            return labels
    return []


def _middle_of(body: Body) -> tuple[Point, float]:
    """Where the number of a vehicle stands, and how wide it may be: on its longest level piece."""
    one, other = max(_level_runs(body.spine.points), key=lambda run: abs(run[1][0] - run[0][0]))
    length = abs(other[0] - one[0])
    if length >= _LEVEL:
        ahead = body.nose if other[0] > one[0] else -body.nose
        return ((one[0] + other[0]) / 2 - 3.0 * ahead, one[1]), length - (15 if ahead else 7)
    point, (along, _) = body.spine.at(0.5)
    return point, _STEEP if abs(along) < 0.4 else _SLANTED


def _level_runs(points: Sequence[Point]) -> list[tuple[Point, Point]]:
    """The first and last point of every piece that is level all along (a single point, if need be)."""
    runs = [(points[0], points[0])]
    for point in points[1:]:
        start, end = runs[-1]
        level = abs(point[1] - end[1]) < 0.01 and (point[0] - end[0]) * (end[0] - start[0]) >= 0
        runs = [*runs[:-1], (start, point)] if level else [*runs, (point, point)]
    return runs


def ways_to_write(full: str, room: float) -> list[tuple[float, list[str]]]:
    """Sizes and lines in which a number fits into so much room, the best first."""
    ways = []
    if text_width(full, _SIZE) <= room:
        ways.append((_SIZE, [full]))
    head, _, tail = full.rpartition(" ")
    if head and max(text_width(head, _SMALL), text_width(tail, _SMALL)) <= room:
        ways.append((_SMALL, [head, tail]))
    if text_width(full, _SMALL) <= room:
        ways.append((_SMALL, [full]))
    if head and text_width(tail, _SMALL) <= room:
        ways.append((_SMALL, [shortened(head, room, _SMALL), tail]))
    return [*ways, (_SMALL, [shortened(full, room, _SMALL)]), (_SMALL, ["…"])]
