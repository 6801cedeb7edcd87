"""The yard's fill through the session: the length on its tracks over time, and how many cars that is."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise

from switchsolve.drawing.text import text_width
from switchsolve.layout import Layout
from switchsolve.lengths import format_length, format_length_down
from switchsolve.operating import SessionResult
from switchsolve.operating.filling import yard_room
from switchsolve.operating.results import Level
from switchsolve.sessionpage.marks import RULER, Axis, Label, chart, line
from switchsolve.words import counted

__all__ = ["fill_lines", "fill_rows", "steps_of"]

_HEIGHT, _TOP = 96.0, RULER + 26


def steps_of(result: SessionResult, minutes: int) -> list[tuple[int, int, Level]]:
    """Start and end of each level; what lasts no time is left out."""
    levels = result.yard_fill
    ends = [*(level.minute for level in levels[1:]), minutes]
    return [(level.minute, end, level) for level, end in zip(levels, ends, strict=True) if end > level.minute]


def fill_rows(layout: Layout, result: SessionResult, minutes: int) -> Iterator[tuple[str, ...]]:
    """From, to, cars and their length, for a table."""
    for start, end, level in steps_of(result, minutes):
        yield str(start), str(end), str(level.cars), format_length(level.length, layout)


def fill_lines(layout: Layout, result: SessionResult, axis: Axis) -> Iterator[str]:
    """The chart; nothing if the fill is not known."""
    steps = steps_of(result, axis.minutes) if result.yard_fill else []
    if not steps:
        return
    room = yard_room(layout)
    scale = _HEIGHT / max(1, room, *(level.length for _, _, level in steps))
    foot = _TOP + _HEIGHT
    told = f"Its tracks hold {format_length_down(room, layout)}; the table below has every change."
    names = [
        Label(layout.yard.name, 0, RULER + 14, 12, "start", "place"),
        Label(f"full: {format_length_down(room, layout)}", 0, foot - room * scale + 10, 10),
        Label("empty", 0, foot, 10),
    ]
    body = [*_area(steps, axis, foot, scale), *_cars(steps, axis, foot, scale)]
    body.append(line("full", 0, foot - room * scale, axis.end, foot - room * scale))
    most = max(steps, key=lambda step: step[2].length)[2]
    told = f"At most {counted(most.cars, 'car')}, {format_length(most.length, layout)}. {told}"
    yield from chart("Fill of the yard", told, axis, foot + 6, 0.0, names, body)


def _area(steps: list[tuple[int, int, Level]], axis: Axis, foot: float, scale: float) -> Iterator[str]:
    corners = [(axis.x(steps[0][0]), foot)]
    for start, end, level in steps:
        y = foot - level.length * scale
        corners += [(axis.x(start), y), (axis.x(end), y)]
    corners.append((corners[-1][0], foot))
    yield f'<polygon class="fill" points="{" ".join(f"{x:.1f},{y:.1f}" for x, y in corners)}"/>'
    yield from (line("fill-edge", *one, *other) for one, other in pairwise(corners[1:-1]))


def _cars(steps: list[tuple[int, int, Level]], axis: Axis, foot: float, scale: float) -> Iterator[str]:
    """How many cars, over each step that has room for it."""
    for start, end, level in steps:
        text = str(level.cars)
        if text_width(text, 10) + 3 <= (end - start) * axis.per_minute:
            x = (axis.x(start) + axis.x(end)) / 2
            yield Label(text, x, foot - level.length * scale - 4, 10, "middle", "cars").svg()
