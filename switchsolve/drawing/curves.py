"""Pieces of rail: the round bend, and the parts of a track."""

from __future__ import annotations

from math import cos, pi, sin

from switchsolve.district import Cell, Track
from switchsolve.drawing.schematic import Point, Rail

__all__ = ["arc", "parts_of"]


def parts_of(track: Track, rail: Rail) -> dict[Cell, Rail]:
    """The rail of each part of a track, by its share of the length."""
    found, gone = {}, 0
    for index, part in enumerate(track.parts):
        start, end = gone / track.length, (gone + part.length) / track.length
        found[Cell(track.name, index)] = Rail(rail.stretch(start, end))
        gone += part.length
    return found


def arc(start: Point, end: Point, turn: float, radius: float) -> list[Point]:
    """The points of a bend from ``start`` out to the column ``turn`` and back to ``end``, corners rounded."""
    looks = 1.0 if turn >= start[0] else -1.0
    down = 1.0 if end[1] >= start[1] else -1.0
    if radius <= 0:
        return [(turn, start[1]), (turn, end[1])]
    points = []
    for y, is_first in ((start[1] + down * radius, True), (end[1] - down * radius, False)):
        for step in range(9):
            angle = step / 8 * pi / 2
            across, along = (sin(angle), -cos(angle)) if is_first else (cos(angle), sin(angle))
            points.append((turn - looks * radius * (1 - across), y + down * radius * along))
    return points
