"""Rail at the size of the model: every track as long as it is, lanes the distance of the tracks apart."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import reduce
from math import ceil, dist, sqrt

from switchsolve.district import Cell, End, Junction
from switchsolve.drawing.arrange import arrange, own_widths
from switchsolve.drawing.distances import Metrics
from switchsolve.drawing.schematic import Point, Rail
from switchsolve.drawing.tracing import Traced, trace
from switchsolve.puzzle import Puzzle

__all__ = ["TrueScale", "rail_at_true_scale"]


@dataclass(frozen=True, slots=True)
class TrueScale:
    """``traced``: all that is drawn.  ``routes``: of each route of a junction the part of its rail that is as
    long as the route; what is drawn beyond it only joins.
    """

    traced: Traced
    routes: dict[Cell, tuple[Point, ...]]


def rail_at_true_scale(puzzle: Puzzle, per_grid: float, centers: int) -> TrueScale:
    """All rail of the district in units of which there are ``per_grid`` to a grid unit; lanes are ``centers``
    units apart.

    The level part of each track (:attr:`~switchsolve.drawing.tracing.Traced.runs`) is as long as the track,
    to half a unit, or longer where it must be to join what it joins between two bends.  A leg of a turnout is
    as long as its route from the points on, along its slant; of other junctions each way through, on both
    sides of the middle.  The commonest leg comes to the next lane just where it ends.
    """
    widths = {track.name: max(1, round(track.length * per_grid)) for track in puzzle.district.tracks}
    metrics = _metrics(puzzle, per_grid, centers, widths)
    plan = arrange(puzzle, metrics)
    traced = trace(plan.layout, metrics, own_widths(plan, widths), plan.lanes, centers)
    return TrueScale(traced, dict(_true_routes(puzzle, traced, per_grid, metrics.stub)))


def _metrics(puzzle: Puzzle, per_grid: float, centers: int, widths: dict[str, int]) -> Metrics:
    longest = max((table.length for table in puzzle.district.tables), default=0)
    radius = max(ceil(longest * per_grid / 2), centers // 3)
    stub = centers // 4
    slant = _slant(puzzle, per_grid, centers, stub)
    return Metrics(
        slant=slant,
        stub=stub,
        leg=2 * centers,
        turn=centers // 2,
        gap=centers // 2,
        radius=radius,
        fan=centers,
        rows=max(1, ceil(radius / centers)),
        widths=widths,
        shortest=centers // 2,
        legs=_legs(puzzle, per_grid, stub, slant),
        rise=centers,
    )


def _common_end(junction: Junction) -> str | None:
    """The end at which all routes begin, if there is one: the points of a turnout or a three-way."""
    ends = reduce(set.intersection, ({route.a, route.b} for route in junction.routes))
    return min(ends) if len(ends) == 1 else None


def _slant(puzzle: Puzzle, per_grid: float, centers: int, stub: int) -> int:
    """Run of a leg to the next lane: that of the shortest diverging route, which ends there."""
    routes = [
        route.length * per_grid - stub
        for junction in puzzle.district.junctions
        if _common_end(junction) is not None
        for route in junction.routes
        if "straight" not in (route.a, route.b)
    ]
    runs = [sqrt(max(0.0, leg**2 - centers**2)) for leg in routes]
    return max(centers, int(min(runs, default=2 * centers)))


def _legs(puzzle: Puzzle, per_grid: float, stub: int, slant: int) -> dict[End, int]:
    """Least rail from the middle of each junction to its ends, so that every route has room.

    Where not all routes begin at one end each has half of its rail on either side, and as much more as the
    corner may take that a slip road cuts off.
    """
    legs: dict[End, int] = {}
    for junction in puzzle.district.junctions:
        common = _common_end(junction)
        for route in junction.routes:
            length = ceil(route.length * per_grid)
            for name in (route.a, route.b):
                need = stub if name == common else length - stub if common else length // 2 + 1 + slant // 2
                end = End(junction.name, name)
                legs[end] = max(legs.get(end, 1), need)
    return legs


def _true_routes(
    puzzle: Puzzle, traced: Traced, per_grid: float, stub: int
) -> Iterator[tuple[Cell, tuple[Point, ...]]]:
    middles = {junction.name: junction.middle for junction in traced.junctions}
    for junction in puzzle.district.junctions:
        common = _common_end(junction)
        for index, route in enumerate(junction.routes):
            cell = Cell(junction.name, index)
            rail, length = traced.cells[cell], route.length * per_grid
            rail = rail.reversed() if route.b == common else rail
            before = stub if common else length / 2
            start = max(0.0, min(_along(rail, middles[junction.name]) - before, rail.length - length))
            yield cell, rail.stretch(start / rail.length, min(1.0, (start + length) / rail.length))


def _along(rail: Rail, point: Point) -> float:
    """How far along the rail its corner lies that is nearest to ``point``."""
    index = min(range(len(rail.points)), key=lambda at: dist(rail.points[at], point))
    return Rail(rail.points[: index + 1]).length if index else 0.0
