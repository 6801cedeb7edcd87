"""How far it is along the rail from one point to another, reversals left out of account.

A point is a cell and a distance from where the cell begins.  The rail is a graph: its nodes are the ends at
which cells meet, its edges the cells; a table meets all the ends that it can be lined to.
"""

from __future__ import annotations

from heapq import heappop, heappush
from typing import NamedTuple

from switchsolve.district import Cell, District, End, Junction, Table
from switchsolve.plan import Placed

__all__ = ["Point", "Rail", "point_of"]

_Node = tuple[str, str]


class Point(NamedTuple):
    """A place on the rail: ``at`` grid units from where ``cell`` begins (``from``, or the end ``a``)."""

    cell: Cell
    at: int


def point_of(district: District, string: Placed, along: int) -> Point:
    """The point ``along`` grid units from the outer end of the string's first vehicle.

    Raises ``ValueError`` if it lies beyond the cells that the string touches.
    """
    left = string.offset + along
    for way in string.ways:
        length = district.cell_length(way.cell)
        if left <= length:
            return Point(way.cell, left if way.sign > 0 else length - left)
        left -= length
    raise ValueError(f"{along} grid units along is beyond the string")


class Rail:
    """The graph of one district."""

    def __init__(self, district: District) -> None:
        self._ends = {cell: self._ends_of(district, cell) for cell in district.cells()}
        self._lengths = {cell: district.cell_length(cell) for cell in self._ends}
        self._edges: dict[_Node, list[tuple[_Node, int]]] = {}
        for cell, (one, other) in self._ends.items():
            self._join(one, other, self._lengths[cell])
        for table in district.tables:
            for side, outside in table.meets:
                self._join((table.name, side), _node(district, outside), 0)

    def distance(self, one: Point, other: Point) -> int | None:
        """The shortest way from one point to the other, grid units; ``None`` if no rail joins them."""
        best: dict[_Node, int] = {}
        begin, end = self._ends[one.cell]
        waiting = [(one.at, begin), (self._lengths[one.cell] - one.at, end)]
        while waiting:
            far, node = heappop(waiting)
            if node not in best:
                best[node] = far
                for following, length in self._edges[node]:
                    heappush(waiting, (far + length, following))
        begin, end = self._ends[other.cell]
        ways = [abs(one.at - other.at)] if one.cell == other.cell else []
        if begin in best:
            ways.append(best[begin] + other.at)
        if end in best:
            ways.append(best[end] + self._lengths[other.cell] - other.at)
        return min(ways, default=None)

    def _join(self, one: _Node, other: _Node, length: int) -> None:
        self._edges.setdefault(one, []).append((other, length))
        self._edges.setdefault(other, []).append((one, length))

    @staticmethod
    def _ends_of(district: District, cell: Cell) -> tuple[_Node, _Node]:
        place = district.place(cell.place)
        if isinstance(place, Junction):
            route = place.routes[cell.index]
            return _node(district, End(place.name, route.a)), _node(district, End(place.name, route.b))
        if isinstance(place, Table):
            return (place.name, "from"), (place.name, "to")
        last = len(place.parts) - 1
        begin = (place.name, f"seam {cell.index}") if cell.index else _node(district, End(place.name, "from"))
        end = (
            (place.name, f"seam {cell.index + 1}")
            if cell.index < last
            else _node(district, End(place.name, "to"))
        )
        return begin, end


def _node(district: District, end: End) -> _Node:
    """The meeting of ends to which ``end`` belongs."""
    mate = district.mate(end)
    first = end if mate is None else min(end, mate)
    return first.place, first.end
