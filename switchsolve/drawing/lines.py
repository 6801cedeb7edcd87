"""Lines and risers: what lies along one lane, and what leads from one lane to another.

A **line** is a row of pieces that are drawn straight along one lane: tracks, and the straight ways through
junctions.  A **riser** is a slanting leg from a junction or turntable to the lane of what it leads to, the
round bend of a link that turns, or a **jog**, where rail that could go straight on slants to another lane.
Every port is either **in line** (it lies on the line of its piece) or **free** (a riser leads from it).
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from switchsolve.district import End, Junction, Table
from switchsolve.drawing.facing import Facing
from switchsolve.drawing.network import Link, Network, base_lines

__all__ = ["Layout", "Line", "Riser", "can_jog", "lay_out"]

Line = str
"""Name of a line: that of one of its members."""


@dataclass(frozen=True, slots=True)
class Riser:
    """From line ``one`` to line ``other``.

    A slanting one starts at the middle of ``place`` and ends at its free ``port`` (``far`` is the free port
    of another piece that it ends in, if it leads straight to one).  A bend has ``link`` instead; so has a
    jog (``is_jog``), which leads from what is left of it to what is right of it.
    """

    one: Line
    other: Line
    place: str = ""
    port: End | None = None
    far: End | None = None
    link: Link | None = None
    looks: int = 1
    is_jog: bool = False


@dataclass(frozen=True, slots=True)
class Layout:
    """All lines and risers, before they have lanes.

    ``line_of`` gives for each port in line, and each stub of a free one, its line.  ``middle`` gives for
    each junction and turntable the line of its middle.  ``beside``: pairs of lines that lie next to each
    other.  ``across``: pairs of risers on different sides of their middle (``True``: one
    goes up where the other goes down; ``False``: one comes to the middle and the other leaves it, so that
    both go the same way).  ``above``: risers that go up
    (-1) or down (+1) by the form of their junction.  ``jogs``: the links at which lines are parted so that
    they may change lane.
    """

    network: Network
    facing: Facing
    lines: tuple[Line, ...]
    line_of: dict[End, Line]
    middle: dict[str, Line]
    risers: tuple[Riser, ...]
    beside: tuple[tuple[Line, Line], ...]
    across: tuple[tuple[Riser, Riser, bool], ...]
    above: tuple[tuple[Riser, int], ...]
    jogs: frozenset[Link] = frozenset()

    def is_free(self, port: End) -> bool:
        """Whether a riser leads from this port."""
        return any(port in (riser.port, riser.far) for riser in self.risers)


def lay_out(
    network: Network, facing: Facing, jogs: frozenset[Link] = frozenset(), *, is_direct: bool = True
) -> Layout:
    """The lines and risers of a network that has been faced; lines are parted at ``jogs``.

    If not ``is_direct``, legs that meet have level rail in a lane of its own between them.
    """
    return _Laying(network, facing, jogs, is_direct).layout()


def can_jog(layout: Layout) -> frozenset[Link]:
    """The links at which a line may be parted: in line, with a junction at one end, whose leg the jog is."""
    names = {junction.name for junction in layout.network.district.junctions}
    return frozenset(
        link
        for link in layout.network.links
        if link not in layout.facing.bends
        and {link.one.place, link.other.place} & names
        and not (layout.is_free(link.one) or layout.is_free(link.other))
    )


class _Laying:
    """Joins what is in line, then finds the risers."""

    def __init__(self, network: Network, facing: Facing, jogs: frozenset[Link], is_direct: bool) -> None:
        self._network, self._facing, self._jogs = network, facing, jogs
        self._is_direct = is_direct
        self._mates = network.mates()
        self._root: dict[str, str] = {}
        self._in_line: dict[End, str] = {}
        self._middle: dict[str, str] = {}
        self._beside: list[tuple[str, str]] = []
        self._tables = {table.name: table for table in network.district.tables}
        self._members()
        for link in network.links:
            self._join(link)

    def layout(self) -> Layout:
        """Everything found."""
        risers = [*self._slanting(), *self._bends()]
        line_of = {port: self._find(member) for port, member in self._in_line.items()}
        middle = {place: self._find(member) for place, member in self._middle.items()}
        beside = tuple((self._find(one), self._find(other)) for one, other in self._beside)
        lines = tuple(dict.fromkeys(self._find(member) for member in self._root))
        across, above = _across(self._network, risers), _above(self._network, self._facing, risers)
        return Layout(
            self._network,
            self._facing,
            lines,
            line_of,
            middle,
            tuple(risers),
            beside,
            across,
            above,
            self._jogs,
        )

    # ---- what is in line

    def _members(self) -> None:
        for name in [*(track.name for track in self._network.district.tracks), *self._network.fillers]:
            self._add(f"track {name}", [End(name, "from"), End(name, "to")])
        for junction in self._network.district.junctions:
            self._junction(junction)
        for table in self._tables.values():
            self._table(table)

    def _add(self, member: str, ports: Iterable[End]) -> str:
        self._root[member] = member
        for port in ports:
            self._in_line[port] = member
        return member

    def _junction(self, junction: Junction) -> None:
        names = []
        for number, pair in enumerate(base_lines(junction) or ((),)):
            ports = [End(junction.name, end) for end in pair]
            names.append(self._add(f"junction {number} {junction.name}", ports))
        self._middle[junction.name] = names[0]
        if len(names) > 1:
            self._beside.append((names[0], names[1]))

    def _table(self, table: Table) -> None:
        if table.kind == "turntable":
            self._middle[table.name] = self._add(f"table {table.name}", [])
            return
        ports = [
            port for group in self._network.groups if group.place == table.name for port, _ in group.sides
        ]
        for port in ports:
            self._add(f"stub {port}", [port])

    def _join(self, link: Link) -> None:
        """Ports in line that meet are on one line; a free port that bends or ends gets a stub."""
        if link in self._facing.bends:
            for port in (link.one, link.other):
                if port not in self._in_line:
                    self._root.setdefault(f"stub {port}", f"stub {port}")
            return
        if link in self._jogs:
            return
        if link.one in self._in_line and link.other in self._in_line:
            one, other = self._find(self._in_line[link.one]), self._find(self._in_line[link.other])
            if one != other:
                self._root[other] = one

    def _find(self, member: str) -> str:
        while self._root[member] != member:
            member = self._root[member]
        return member

    # ---- risers

    def _slanting(self) -> list[Riser]:
        risers: list[Riser] = []
        bent = {port for link in self._facing.bends for port in (link.one, link.other)}
        done: set[End] = set()
        for group in self._network.groups:
            for port, _ in group.sides:
                if port in self._in_line or port in done:
                    continue
                mate = self._mates.get(port)
                far = mate if port not in bent and self._leads_across(port, mate) else None
                done |= {port} if far is None else {port, far}
                risers.append(
                    Riser(
                        self._find(self._middle[port.place]),
                        self._target(port, mate, port in bent, far),
                        port.place,
                        port,
                        far,
                        looks=self._facing.looks[port],
                    )
                )
        return risers

    def _leads_across(self, port: End, mate: End | None) -> bool:
        """Whether a free port meets a free port of another line: one slant joins their middles."""
        handed = {"left", "right"} & {port.end, mate.end if mate else ""}  # may ask for a way down and up
        if mate is None or mate in self._in_line or handed or not self._is_direct:
            return False
        return self._find(self._middle[port.place]) != self._find(self._middle[mate.place])

    def _target(self, port: End, mate: End | None, bends: bool, far: End | None) -> str:
        if far is not None:
            return self._find(self._middle[far.place])
        if mate is None or bends or mate not in self._in_line:
            stub = f"stub {port}"
            self._root.setdefault(stub, stub)
            self._in_line.setdefault(port, stub)
            return self._find(stub)
        return self._find(self._in_line[mate])

    def _bends(self) -> list[Riser]:
        risers = []
        for link in self._network.links:
            if link in self._facing.bends:
                one, other = (self._find(self._in_line[port]) for port in (link.one, link.other))
                risers.append(Riser(one, other, link=link, looks=self._facing.looks[link.one]))
            elif link in self._jogs:
                left, right = sorted((link.one, link.other), key=lambda port: -self._facing.looks[port])
                one, other = (self._find(self._in_line[port]) for port in (left, right))
                risers.append(Riser(one, other, link=link, is_jog=True))
        return risers


def _across(network: Network, risers: list[Riser]) -> tuple[tuple[Riser, Riser, bool], ...]:
    """Risers that are two ends of one route: the route crosses the line of its junction."""
    by_port = {port: riser for riser in risers for port in (riser.port, riser.far) if port is not None}
    found = []
    for junction in network.district.junctions:
        for route in junction.routes:
            one, other = by_port.get(End(junction.name, route.a)), by_port.get(End(junction.name, route.b))
            if one and other and one is not other:
                leave = [riser.place == junction.name for riser in (one, other)]
                found.append((one, other, leave[0] == leave[1]))
    return tuple(found)


def _above(network: Network, facing: Facing, risers: list[Riser]) -> tuple[tuple[Riser, int], ...]:
    """The left and the right leg of a three-way: left as seen from its points."""
    found = []
    for riser in risers:
        for port in (riser.port, riser.far):
            if port is None or port.end not in ("left", "right") or port.place in network.fillers:
                continue
            place = network.district.place(port.place)
            if isinstance(place, Junction) and "points" in place.ends:
                up = -1 if port.end == "left" else 1
                away = up * facing.looks[port]
                found.append((riser, away if riser.port == port else -away))
    return tuple(found)
