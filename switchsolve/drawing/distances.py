"""What must hold from left to right: the least distances between all that a picture shows.

A **term** is a name (of a middle, a port, a bend, the left or right end of a line) and what is added to it.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from math import ceil, hypot, sqrt

from switchsolve.district import End
from switchsolve.drawing.lines import Layout, Line, Riser
from switchsolve.drawing.network import Link

__all__ = ["Distances", "Metrics", "Term", "bend_name", "is_table", "middle_name", "port_name"]


@dataclass(frozen=True, slots=True)
class Metrics:
    """Sizes that a picture asks for, in its own units (whole numbers).

    ``slant``: run of a leg for each lane it climbs.  ``stub``: rail of a junction on the side of its
    points.  ``leg``: least straight rail beyond them.  ``turn``: run of a bend.  ``gap``: room between
    neighbors in a lane.  ``radius``: of a turntable, half of a transfer table.  ``fan``: run of the rail
    from a turntable's rim to the lanes.  ``rows``: lanes that a turntable covers above and below its own.
    ``jog``: run of a jog beside its slant.  ``widths``: least width of each track, ``shortest`` where it says
    nothing.  ``legs``: least rail from the middle of a junction to each port named, along the slant, where
    lanes are ``rise`` apart.
    """

    slant: int
    stub: int
    leg: int
    turn: int
    gap: int
    radius: int
    fan: int
    rows: int
    jog: int = 0
    widths: Mapping[str, int] = field(default_factory=dict)
    shortest: int = 1
    legs: Mapping[End, int] = field(default_factory=dict)
    rise: int = 0


Term = tuple[str, int]
"""A variable and what is added to it."""


class Distances:
    """All that must hold for a layout; with ``lanes``, legs are as long as they climb.

    ``least``: the second term is at least so much to the right of the first.  ``cost``: what each unit
    between two terms costs.  ``covered``: the terms that lie on each line.  ``names``: all of them.
    """

    def __init__(self, layout: Layout, metrics: Metrics, lanes: Mapping[Line, int] | None = None) -> None:
        self._layout, self._metrics, self._lanes = layout, metrics, lanes
        self.least: list[tuple[Term, Term, int]] = []
        self.cost: list[tuple[Term, Term, int]] = []
        self.covered: dict[Line, list[Term]] = {}
        self.names: dict[str, None] = {}
        self._mates = layout.network.mates()
        for group in self._layout.network.groups:
            for port, _ in group.sides:
                self._port(port)
        self._tracks()
        self._links()
        self._spans()

    def _after(self, one: Term, other: Term, least: int, looks: int = 1, cost: int = 0) -> None:
        """``other`` lies at least so far from ``one``, on the side to which ``looks`` points."""
        left, right = (one, other) if looks > 0 else (other, one)
        for name, _ in (left, right):
            self.names.setdefault(name)
        self.least.append((left, right, least))
        if cost:
            self.cost.append((left, right, cost))

    def _climb(self, riser: Riser) -> int:
        """Lanes that a riser climbs."""
        return 1 if self._lanes is None else abs(self._lanes[riser.one] - self._lanes[riser.other])

    def _port(self, port: End) -> None:
        layout, metrics = self._layout, self._metrics
        riser = next((item for item in layout.risers if port in (item.port, item.far)), None)
        looks = layout.facing.looks[port]
        if is_table(layout, port.place):
            far = metrics.radius + (metrics.fan if riser is not None else 0)
            self._after((middle_name(port.place), 0), (port_name(port), 0), far, looks, 2)
            self._after((port_name(port), 0), (middle_name(port.place), 0), -far, looks)
        elif port.place in layout.middle and riser is not None:
            cost = 5 if riser.far is None else 25  # a slant drawn straight had better be steep
            self._after(
                (middle_name(port.place), 0), (port_name(port), 0), self._run(riser, port), looks, cost
            )
        elif port.place in layout.middle:
            self._after((middle_name(port.place), 0), (port_name(port), 0), self._reach(port), looks, 5)

    def _reach(self, port: End) -> int:
        """Least straight rail from the middle: past the legs; shorter, if a junction follows at once."""
        if port in self._metrics.legs:
            return self._metrics.legs[port]
        if not self._has_legs(port):
            return self._metrics.stub
        mate = self._mates.get(port)
        follows = mate is not None and mate.place in self._layout.middle and self._layout.beside == ()
        return self._metrics.leg * 3 // 4 if follows else self._metrics.leg

    def _run(self, riser: Riser, port: End) -> int:
        """How far from the middle a riser's port lies; half way, if it leads to another middle."""
        climb, legs = self._climb(riser), self._metrics.legs
        run, rise = climb * self._metrics.slant, climb * self._metrics.rise
        if riser.far is None:
            return run + max(0, ceil(legs.get(port, 0) - hypot(run, rise)))
        leg = max(legs.get(end, 0) for end in (riser.port, riser.far) if end is not None)
        return max(-(-run // 2), ceil(sqrt(max(0.0, leg**2 - (rise / 2) ** 2))))

    def _has_legs(self, port: End) -> bool:
        """Whether legs leave on this side of the middle, so that the straight rail must be as long."""
        looks = self._layout.facing.looks
        free = [
            free
            for riser in self._layout.risers
            for free in (riser.port, riser.far)
            if free is not None and free.place == port.place
        ]
        return not free or any(looks[leg] == looks[port] for leg in free)

    def _tracks(self) -> None:
        network = self._layout.network
        for name in [*(track.name for track in network.district.tracks), *network.fillers]:
            start, end = End(name, "from"), End(name, "to")
            width = self._metrics.widths.get(name, self._metrics.shortest)
            self._after((port_name(start), 0), (port_name(end), 0), width, self._layout.facing.looks[end], 1)

    def _links(self) -> None:
        layout, metrics = self._layout, self._metrics
        for index, link in enumerate(layout.network.links):
            one, other = (port_name(link.one), 0), (port_name(link.other), 0)
            looks = layout.facing.looks[link.one]
            if link in layout.facing.bends:
                for port, term in ((link.one, one), (link.other, other)):
                    cost = 2 if port.place in layout.middle else 3
                    self._after(term, (f"bend {index}", 0), metrics.turn, looks, cost)
                continue
            if link in layout.jogs:
                self._jog(link, index)
                continue
            self._after(one, other, 0)
            self._after(other, one, 0)

    def _jog(self, link: Link, index: int) -> None:
        """Between the ports the rail slants to the other lane."""
        riser = next(item for item in self._layout.risers if item.link == link)
        left, right = sorted((link.one, link.other), key=lambda port: -self._layout.facing.looks[port])
        run = self._climb(riser) * self._metrics.slant + self._metrics.jog
        self._after((port_name(left), 0), (f"bend {index}", 0), 0, cost=2)
        self._after((f"bend {index}", 0), (port_name(right), 0), run, cost=2)

    def _spans(self) -> None:
        """The left and right end of each line lie around all that is on it."""
        layout, metrics = self._layout, self._metrics
        for port, line in layout.line_of.items():
            self._cover(line, (port_name(port), 0))
        for place, line in layout.middle.items():
            if not is_table(layout, place):
                self._cover(line, (middle_name(place), 0))
            else:
                self._cover(line, (middle_name(place), -self._metrics.radius))
                self._cover(line, (middle_name(place), self._metrics.radius))
        for riser in layout.risers:
            if riser.link is not None:
                index = layout.network.links.index(riser.link)
                run = self._climb(riser) * metrics.slant + metrics.jog if riser.is_jog else 0
                self._cover(riser.one, (f"bend {index}", 0))
                self._cover(riser.other, (f"bend {index}", run))
            elif riser.far is None and not is_table(layout, riser.place):
                reach = riser.looks * self._climb(riser) * self._metrics.slant
                self._cover(riser.other, (middle_name(riser.place), reach))

    def _cover(self, line: Line, term: Term) -> None:
        self.covered.setdefault(line, []).append(term)
        self._after((f"left {line}", 0), term, 0)
        self._after(term, (f"right {line}", 0), 0)


def middle_name(place: str) -> str:
    """The name of the middle of a junction or table."""
    return f"middle {place}"


def port_name(port: End) -> str:
    """The name of a port."""
    return f"port {port.place}\t{port.end}"


def bend_name(layout: Layout, link: Link) -> str:
    """The name of the bend or jog at a link."""
    return f"bend {layout.network.links.index(link)}"


def is_table(layout: Layout, place: str) -> bool:
    """Whether this is the name of a table."""
    return any(table.name == place for table in layout.network.district.tables)
