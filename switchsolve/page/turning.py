"""How the bridge of a table goes from one pair of ends to another, as a row of frames."""

from __future__ import annotations

from math import atan2, ceil, cos, hypot, pi, sin

from switchsolve.drawing.schematic import Point, TableDrawing

__all__ = ["turn_frames"]

_STEP = pi / 18
"""Greatest turn from frame to frame; between frames the ends go straight."""


def turn_frames(table: TableDrawing, before: int, after: int) -> list[tuple[Point, Point]]:
    """The two ends of the bridge, from pair ``before`` to pair ``after``; at least two frames.

    A turntable turns the shorter way round, a transfer table goes straight.
    """
    one, other = _ends(table, before), _ends(table, after)
    if table.kind != "turntable":
        return [one, other]
    x, y = (table.box.left + table.box.right) / 2, (table.box.top + table.box.bottom) / 2
    start, end = (atan2(ends[1][1] - ends[0][1], ends[1][0] - ends[0][0]) for ends in (one, other))
    turn = (end - start + pi) % (2 * pi) - pi
    half = hypot(one[1][0] - one[0][0], one[1][1] - one[0][1]) / 2
    count = max(1, ceil(abs(turn) / _STEP))
    angles = [start + turn * index / count for index in range(1, count)]
    between = [
        ((x - half * cos(angle), y - half * sin(angle)), (x + half * cos(angle), y + half * sin(angle)))
        for angle in angles
    ]
    return [one, *between, other]


def _ends(table: TableDrawing, index: int) -> tuple[Point, Point]:
    points = table.bridges[index].points
    return points[0], points[-1]
