"""Vehicles on a schematic: their outlines along the rail, and their couplings."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from itertools import pairwise
from math import hypot

from switchsolve.drawing.schematic import Point, Rail, Schematic
from switchsolve.plan import Placed
from switchsolve.puzzle import Puzzle
from switchsolve.vehicles import Car, Vehicle
from switchsolve.work import DoNotTouch

__all__ = ["HALF_WIDTH", "Body", "Coupling", "bodies_of", "spine_of"]

HALF_WIDTH = 10.0
"""Half the width of a vehicle, drawing units."""
_SHY = 1.5
"""What a vehicle is drawn short by at each end, so that couplings can be seen."""
_NOSE = 9.0


@dataclass(frozen=True, slots=True)
class Body:
    """A vehicle: ``kind`` is ``car``, ``dead`` (a dead locomotive) or ``locomotive``.

    ``spine`` is its middle line along the rail, end to end; ``nose`` is +1 if a locomotive heads along it,
    -1 if against it, 0 for cars.  ``fixed``: not to be touched.
    """

    name: str
    kind: str
    spine: Rail
    outline: tuple[Point, ...]
    nose: int = 0
    fixed: bool = False


@dataclass(frozen=True, slots=True)
class Coupling:
    """Two coupled vehicles, and the short piece of rail at which they are."""

    one: str
    other: str
    rail: Rail


def bodies_of(
    schematic: Schematic, puzzle: Puzzle, standing: Iterable[Placed], lined: Mapping[str, int] | None = None
) -> tuple[tuple[Body, ...], tuple[Coupling, ...]]:
    """Every vehicle of a standing, and every coupling.

    ``lined`` gives for each table the pair that holds (left out: as at the start).
    """
    fixed = {item.car for item in puzzle.work.items if isinstance(item, DoNotTouch)}
    bodies: list[Body] = []
    couplings: list[Coupling] = []
    for string in standing:
        start = string.offset
        row = []
        for name in string.vehicles:
            vehicle = puzzle.vehicles[name]
            spine = spine_of(schematic, string, start, start + vehicle.length, lined)
            row.append(_body(vehicle, spine, string.noses.get(name, 0), name in fixed))
            start += vehicle.length
        bodies += row
        couplings += [_coupling(one, other) for one, other in pairwise(row)]
    return tuple(bodies), tuple(couplings)


def spine_of(
    schematic: Schematic, string: Placed, start: int, end: int, lined: Mapping[str, int] | None = None
) -> Rail:
    """The rail from ``start`` to ``end``, grid units from the beginning of a string's first way."""
    points: list[Point] = []
    gone = 0
    for way in string.ways:
        length = schematic.district.cell_length(way.cell)
        low, high = max(start - gone, 0), min(end - gone, length)
        if low < high:
            found = schematic.rail(way, lined).stretch(low / length, high / length)
            points += found
        gone += length
    return Rail.through(points)


def _body(vehicle: Vehicle, spine: Rail, nose: int, fixed: bool) -> Body:
    kind = "locomotive"
    if isinstance(vehicle, Car):
        kind = "dead" if vehicle.is_dead_locomotive else "car"
    shy = min(_SHY / max(spine.length, 1e-6), 0.3)
    inner = Rail(spine.stretch(shy, 1 - shy))
    return Body(vehicle.name, kind, spine, _outline(inner, nose), nose, fixed)


def _coupling(one: Body, other: Body) -> Coupling:
    def piece(body: Body, share: float) -> Point:
        return body.spine.at(share)[0]

    shy = 2 * _SHY
    first = piece(one, 1 - min(shy / max(one.spine.length, 1e-6), 0.4))
    second = piece(other, min(shy / max(other.spine.length, 1e-6), 0.4))
    return Coupling(one.name, other.name, Rail((first, second)))


def _outline(spine: Rail, nose: int) -> tuple[Point, ...]:
    """A band along the line; the end to which a nose points is pointed."""
    tip = min(_NOSE, spine.length * 0.4) / max(spine.length, 1e-6)
    if nose > 0:
        left, right = _sides(Rail(spine.stretch(0, 1 - tip)))
        return (*left, spine.points[-1], *reversed(right))
    if nose < 0:
        left, right = _sides(Rail(spine.stretch(tip, 1)))
        return (spine.points[0], *left, *reversed(right))
    left, right = _sides(spine)
    return (*left, *reversed(right))


def _sides(spine: Rail) -> tuple[list[Point], list[Point]]:
    left, right = [], []
    for index, (x, y) in enumerate(spine.points):
        across = _across(spine.points, index)
        left.append((x + across[0] * HALF_WIDTH, y + across[1] * HALF_WIDTH))
        right.append((x - across[0] * HALF_WIDTH, y - across[1] * HALF_WIDTH))
    return left, right


def _across(points: tuple[Point, ...], index: int) -> Point:
    """The direction across the line at a point of it, long enough to keep the band's width at a bend."""
    normals = []
    for a, b in (
        (points[max(index - 1, 0)], points[index]),
        (points[index], points[min(index + 1, len(points) - 1)]),
    ):
        step = hypot(b[0] - a[0], b[1] - a[1])
        if step > 1e-9:
            normals.append((-(b[1] - a[1]) / step, (b[0] - a[0]) / step))
    if len(normals) < 2:
        return normals[0] if normals else (0.0, 1.0)
    (ax, ay), (bx, by) = normals
    inner = 1 + ax * bx + ay * by
    if inner < 0.3:
        return ax, ay
    return (ax + bx) / inner, (ay + by) / inner
