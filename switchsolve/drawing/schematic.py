"""A finished schematic, as data: where all rail lies, in drawing units (x to the right, y downwards).

Nothing here knows what it is drawn with.  :class:`Schematic` answers the one question that a moving picture
asks: where is the point so far along a way?
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from itertools import pairwise
from math import hypot

from switchsolve.district import Cell, District, Way

__all__ = ["Box", "JunctionDrawing", "Label", "Mark", "Point", "Rail", "Schematic", "TableDrawing"]

Point = tuple[float, float]
_SAME = 1e-6
"""Points that are nearer to each other are one."""


@dataclass(frozen=True, slots=True)
class Box:
    """A rectangle."""

    left: float
    top: float
    right: float
    bottom: float

    def overlaps(self, other: Box) -> bool:
        """Whether the two share an area."""
        return (
            self.left < other.right
            and other.left < self.right
            and self.top < other.bottom
            and other.top < self.bottom
        )

    def within(self, other: Box) -> bool:
        """Whether all of this lies in the other."""
        return (
            self.left >= other.left
            and self.right <= other.right
            and self.top >= other.top
            and self.bottom <= other.bottom
        )


@dataclass(frozen=True, slots=True)
class Rail:
    """A polyline of at least two points."""

    points: tuple[Point, ...]

    @classmethod
    def through(cls, points: Iterable[Point]) -> Rail:
        """The line through points, each of which is said once where it comes twice in a row.

        A point said twice would have no direction, and a vehicle bent round it no shape.
        """
        kept: list[Point] = []
        for point in points:
            if not kept or hypot(point[0] - kept[-1][0], point[1] - kept[-1][1]) > _SAME:
                kept.append(point)
        return cls(tuple(kept) if len(kept) > 1 else (kept[0], kept[0]))

    @property
    def length(self) -> float:
        """Length along the line."""
        return sum(hypot(b[0] - a[0], b[1] - a[1]) for a, b in pairwise(self.points))

    def reversed(self) -> Rail:
        """The same line from its other end."""
        return Rail(self.points[::-1])

    def at(self, share: float) -> tuple[Point, Point]:
        """The point at ``share`` (0 to 1) of the length, and the direction there, of length one."""
        left = min(max(share, 0.0), 1.0) * self.length
        found = self.points[0], (1.0, 0.0)
        for a, b in pairwise(self.points):
            step = hypot(b[0] - a[0], b[1] - a[1])
            if step == 0:
                continue
            way = ((b[0] - a[0]) / step, (b[1] - a[1]) / step)
            if left <= step:
                return (a[0] + way[0] * left, a[1] + way[1] * left), way
            left -= step
            found = b, way
        return found

    def stretch(self, start: float, end: float) -> tuple[Point, ...]:
        """The part of the line from one share of its length to another (``start`` < ``end``)."""
        whole = self.length
        points = [self.at(start)[0]]
        gone = 0.0
        for a, b in pairwise(self.points):
            gone += hypot(b[0] - a[0], b[1] - a[1])
            if start * whole + 1e-6 < gone < end * whole - 1e-6:
                points.append(b)
        return Rail.through((*points, self.at(end)[0])).points


@dataclass(frozen=True, slots=True)
class JunctionDrawing:
    """A junction: its kind, its middle (where legs leave the straight rail), and what is drawn of it.

    ``legs`` are pieces of rail that together cover all routes.  ``wedges``: at points, the corner between
    two legs, with the points first.
    """

    name: str
    kind: str
    middle: Point
    legs: tuple[Rail, ...]
    wedges: tuple[tuple[Point, Point, Point], ...] = ()


@dataclass(frozen=True, slots=True)
class TableDrawing:
    """A table: the box around it, and the bridge for each pair that it can be lined to."""

    name: str
    kind: str
    box: Box
    bridges: tuple[Rail, ...]


@dataclass(frozen=True, slots=True)
class Label:
    """A text that is centered at ``at`` (its baseline), and the box that it fills.

    ``kind`` is ``track``, ``junction``, ``table``, ``spot``, ``note``, ``vehicle``, ``title`` or
    ``caption``; the last two start at ``at``.  ``full`` is the whole text, of which ``text`` may be a part.
    """

    kind: str
    text: str
    full: str
    at: Point
    size: float
    box: Box


@dataclass(frozen=True, slots=True)
class Mark:
    """Something at a piece of rail.

    ``kind`` is ``crossing`` (always to be kept clear), ``clear`` (clear at the end), ``closed`` (to
    locomotives; ``closed leg`` of a junction), ``limit`` (any other limit), ``spot``, ``seam``, ``bumper`` or
    ``entrance``.  ``points`` lie along the rail; ``looks`` is the side to which a stop or entrance looks.
    """

    kind: str
    place: str
    points: tuple[Point, ...]
    looks: int = 1


@dataclass(frozen=True, slots=True)
class Schematic:
    """Everything that does not move.  ``scale``: drawing units for one grid unit, or ``None`` if tracks are
    not to scale.  ``tracks`` holds the whole rail of each track, ``cells`` that of each cell but tables,
    ``plain`` rail that is in no cell.  ``lengths``: the usable length of each track, in words."""

    district: District
    width: float
    height: float
    scale: float | None
    tracks: dict[str, Rail]
    cells: dict[Cell, Rail]
    junctions: tuple[JunctionDrawing, ...]
    tables: dict[str, TableDrawing]
    plain: tuple[Rail, ...]
    marks: tuple[Mark, ...]
    labels: tuple[Label, ...]
    lengths: dict[str, str]

    def rail(self, way: Way, lined: Mapping[str, int] | None = None) -> Rail:
        """The rail of a way in its direction.

        ``lined`` gives for each table the pair that holds (left out: as at the start).  Raises ``KeyError``
        for what is no rail of the district.
        """
        rail = self.cells.get(way.cell)
        if rail is None:
            index = (lined or {}).get(way.cell.place)
            table = next(table for table in self.district.tables if table.name == way.cell.place)
            rail = self.tables[way.cell.place].bridges[table.lined if index is None else index]
        return rail if way.sign > 0 else rail.reversed()

    def point(self, way: Way, distance: int, lined: Mapping[str, int] | None = None) -> tuple[Point, Point]:
        """Point and direction at ``distance`` grid units along a way (0 to its length)."""
        return self.rail(way, lined).at(distance / self.district.cell_length(way.cell))
