"""From lanes and columns to rail: the polyline of every track, route and bridge."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from math import hypot

from switchsolve.district import Cell, End, Junction, Route, Table
from switchsolve.drawing.columns import Columns
from switchsolve.drawing.curves import arc, parts_of
from switchsolve.drawing.distances import Metrics
from switchsolve.drawing.lines import Layout, Line
from switchsolve.drawing.network import Link, base_lines, table_port
from switchsolve.drawing.schematic import Box, JunctionDrawing, Point, Rail, TableDrawing

__all__ = ["Traced", "trace"]

_CHORD = 0.45
"""How much of a lane's slant a slip road cuts off."""
_WEDGE = 0.36
"""Size of the wedge at points, as a share of the distance of lanes."""


@dataclass(frozen=True, slots=True)
class Traced:
    """All rail of a schematic, and the lane of each track.

    ``runs``: the level part of each track, from left to right.
    """

    tracks: dict[str, Rail]
    runs: dict[str, tuple[Point, Point]]
    cells: dict[Cell, Rail]
    junctions: tuple[JunctionDrawing, ...]
    tables: dict[str, TableDrawing]
    plain: tuple[Rail, ...]
    stops: tuple[tuple[End, Point, int], ...]


def trace(
    layout: Layout,
    metrics: Metrics,
    columns: Columns,
    lanes: Mapping[Line, int],
    row: float,
    origin: Point = (0.0, 0.0),
    *,
    square: bool = False,
) -> Traced:
    """All rail, for lanes that are ``row`` apart; ``origin`` is column 0 of lane 0.

    ``square``: bends have corners, for a picture made of letters.
    """
    return _Tracing(layout, metrics, columns, lanes, row, origin, square).traced()


class _Tracing:
    def __init__(
        self,
        layout: Layout,
        metrics: Metrics,
        columns: Columns,
        lanes: Mapping[Line, int],
        row: float,
        origin: Point,
        square: bool,
    ) -> None:
        self._layout, self._metrics, self._columns, self._lanes = layout, metrics, columns, lanes
        self._row, self._origin, self._square = row, origin, square
        self._looks = layout.facing.looks
        self._mates = layout.network.mates()
        self._riser = {
            port: riser for riser in layout.risers for port in (riser.port, riser.far) if port is not None
        }
        self._tables = {table.name: table for table in layout.network.district.tables}
        self._tails: dict[End, list[Point]] = {}
        for link in layout.network.links:
            if link in layout.facing.bends:
                self._bend(link)
            elif link in layout.jogs:
                self._jog(link)
        for name in self._tables:
            self._approaches(name)

    def traced(self) -> Traced:
        district = self._layout.network.district
        tracks = {track.name: self._track(track.name) for track in district.tracks}
        cells: dict[Cell, Rail] = {}
        for track in district.tracks:
            cells |= parts_of(track, tracks[track.name])
        junctions = []
        for junction in district.junctions:
            for index, route in enumerate(junction.routes):
                cells[Cell(junction.name, index)] = self._route(junction, route)
            junctions.append(self._junction(junction))
        plain = [self._track(name) for name in self._layout.network.fillers]
        return Traced(
            tracks,
            {track.name: self._run(track.name) for track in district.tracks},
            cells,
            tuple(junctions),
            {table.name: self._table(table) for table in district.tables},
            tuple(plain),
            tuple(self._stops()),
        )

    # ---- ports

    def _y(self, line: Line) -> float:
        return self._origin[1] + self._lanes[line] * self._row

    def _x(self, column: int) -> float:
        return self._origin[0] + column

    def _middle(self, place: str) -> Point:
        return self._x(self._columns.middle[place]), self._y(self._layout.middle[place])

    def _port(self, port: End) -> Point:
        """Where a port is."""
        riser = self._riser.get(port)
        if riser is None:
            return self._x(self._columns.port[port]), self._y(self._layout.line_of[port])
        if riser.far is not None:
            one, other = self._middle(riser.place), self._middle(riser.far.place)
            return (one[0] + other[0]) / 2, (one[1] + other[1]) / 2
        return self._x(self._columns.port[port]), self._y(riser.other)

    def _end_of(self, port: End) -> list[Point]:
        """The port and what is drawn beyond it for the same piece."""
        return [self._port(port), *self._tails.get(port, [])]

    def _bend(self, link: Link) -> None:
        """The round bend of a link belongs to the track that meets it, or else to the junction."""
        fillers = self._layout.network.fillers
        names = {track.name for track in self._layout.network.district.tracks}
        owner = next((port for port in (link.one, link.other) if port.place in names), link.one)
        owner = owner if owner.place not in fillers else link.one
        other = link.other if owner == link.one else link.one
        start, end = self._port(owner), self._port(other)
        turn = self._x(self._columns.bend[link])
        radius = 0.0 if self._square else min(abs(end[1] - start[1]), self._row) / 2
        self._tails[owner] = [*arc(start, end, turn, radius), end]

    def _jog(self, link: Link) -> None:
        """A jog is a leg of the junction that it lies at: nothing may stand there in the clear."""
        owner, other = link.one, link.other
        if owner.place not in self._layout.middle:
            owner, other = other, owner
        left, right = sorted((owner, other), key=lambda port: -self._looks[port])
        turn = self._x(self._columns.bend[link])
        (_, up), (_, down) = self._port(left), self._port(right)
        run = abs(down - up) / self._row * self._metrics.slant
        slant = [(turn, up), (turn + run, down)]
        self._tails[owner] = [*(slant if owner == left else reversed(slant)), self._port(other)]

    def _approaches(self, name: str) -> None:
        """The rail from a turntable's ports to its rim belongs to what meets it there."""
        if name not in self._layout.middle:
            return
        for port, mate in self._mates.items():
            if port.place == name and mate not in self._tails:
                self._tails[mate] = [self._rim(name, port)]

    def _rim(self, name: str, port: End) -> Point:
        middle, there = self._middle(name), self._port(port)
        far = hypot(there[0] - middle[0], there[1] - middle[1])
        share = self._metrics.radius / far
        return middle[0] + (there[0] - middle[0]) * share, middle[1] + (there[1] - middle[1]) * share

    # ---- tracks

    def _track(self, name: str) -> Rail:
        start, end = self._end_of(End(name, "from")), self._end_of(End(name, "to"))
        return Rail.through((*reversed(start), *end))

    def _run(self, name: str) -> tuple[Point, Point]:
        ends = sorted((self._port(End(name, "from")), self._port(End(name, "to"))))
        return ends[0], ends[1]

    # ---- junctions

    def _leg(self, port: End) -> list[Point]:
        """From the middle of a junction (left out) out to a port."""
        riser = self._riser.get(port)
        if riser is None or riser.far is not None:
            return self._end_of(port)
        middle, there = self._middle(port.place), self._port(port)
        climb = abs(there[1] - middle[1]) / self._row
        turn = (middle[0] + self._looks[port] * climb * self._metrics.slant, there[1])
        return [turn, *self._end_of(port)]

    def _lines(self, junction: Junction) -> list[tuple[float, set[str]]]:
        """The heights of the straight rail, and the ends on it."""
        return [(self._port(End(junction.name, pair[0]))[1], set(pair)) for pair in base_lines(junction)]

    def _route(self, junction: Junction, route: Route) -> Rail:
        a, b = End(junction.name, route.a), End(junction.name, route.b)
        return Rail.through((*reversed(self._leg(a)), *self._between(junction, a, b), *self._leg(b)))

    def _between(self, junction: Junction, a: End, b: End) -> list[Point]:
        """The points of a route between its legs."""
        middle = self._middle(junction.name)
        heights = [y for port in (a, b) for y, ends in self._lines(junction) if port.end in ends]
        half = self._metrics.slant / 2
        if len(heights) == 2 and heights[0] != heights[1]:
            return [
                (middle[0] + self._looks[port] * half, y) for port, y in zip((a, b), heights, strict=True)
            ]
        if len(heights) == 2:
            return [(middle[0], heights[0])]
        if self._is_slip(junction) and len(heights) == 1:
            return [self._off_middle(a), self._off_middle(b)]
        return [middle]

    def _is_slip(self, junction: Junction) -> bool:
        """Whether a route crosses the straight rail, so that other routes are slips."""
        free = [port for port in self._riser if port.place == junction.name]
        names = {port.end for port in free}
        return any({route.a, route.b} <= names for route in junction.routes)

    def _off_middle(self, port: End) -> Point:
        """The point on a leg at which a slip road leaves it."""
        middle, leg = self._middle(port.place), self._leg(port)
        reach = _CHORD * self._metrics.slant
        toward = leg[0]
        far = hypot(toward[0] - middle[0], toward[1] - middle[1]) or 1.0
        share = min(reach / far, 0.8)
        return middle[0] + (toward[0] - middle[0]) * share, middle[1] + (toward[1] - middle[1]) * share

    def _junction(self, junction: Junction) -> JunctionDrawing:
        routes = tuple(self._route(junction, route) for route in junction.routes)
        wedges = []
        for line_end, leg_end in self._points(junction):
            middle = self._middle(junction.name)
            ends = [
                self._toward(middle, self._leg(End(junction.name, end))[0]) for end in (line_end, leg_end)
            ]
            wedges.append((middle, ends[0], ends[1]))
        return JunctionDrawing(
            junction.name, junction.kind, self._middle(junction.name), routes, tuple(wedges)
        )

    def _points(self, junction: Junction) -> Iterator[tuple[str, str]]:
        """Pairs of ends, on the straight rail and on a leg, that part at points in the middle."""
        if self._is_slip(junction) or len(self._lines(junction)) != 1:
            return
        straight = self._lines(junction)[0][1]
        for port in self._riser:
            if port.place == junction.name:
                for end in straight:
                    if self._looks[End(junction.name, end)] == self._looks[port]:
                        yield end, port.end

    def _toward(self, here: Point, there: Point) -> Point:
        """A point a little way from ``here``."""
        far = hypot(there[0] - here[0], there[1] - here[1]) or 1.0
        share = min(_WEDGE * self._row / far, 1.0)
        return here[0] + (there[0] - here[0]) * share, here[1] + (there[1] - here[1]) * share

    # ---- tables

    def _table(self, table: Table) -> TableDrawing:
        radius = float(self._metrics.radius)
        if table.name in self._layout.middle:
            x, y = self._middle(table.name)
            bridges = [self._bridge(table, side, outside) for side, outside in table.meets]
            box = Box(x - radius, y - radius, x + radius, y + radius)
            return TableDrawing(table.name, table.kind, box, tuple(bridges))
        x = self._x(self._columns.middle[table.name])
        ports = [table_port(table, side, outside) for side, outside in table.meets]
        heights = [self._port(port)[1] for port in ports]
        bridges = []
        for (side, _), port, y in zip(table.meets, ports, heights, strict=True):
            looks = self._looks[port] * (-1 if side == "from" else 1)
            bridges.append(Rail(((x - looks * radius, y), (x + looks * radius, y))))
        edge = 0.4 * self._row
        box = Box(x - radius, min(heights) - edge, x + radius, max(heights) + edge)
        return TableDrawing(table.name, table.kind, box, tuple(bridges))

    def _bridge(self, table: Table, side: str, outside: End) -> Rail:
        here = self._rim(table.name, table_port(table, side, outside))
        x, y = self._middle(table.name)
        there = (2 * x - here[0], 2 * y - here[1])
        return Rail((here, there) if side == "from" else (there, here))

    # ---- where rail ends

    def _stops(self) -> Iterator[tuple[End, Point, int]]:
        """Every end of a track or junction beyond which there is nothing, and the way it looks."""
        for group in self._layout.network.groups:
            for port, _ in group.sides:
                if port not in self._mates and port.place not in self._tables:
                    yield port, self._end_of(port)[-1], self._looks[port]
