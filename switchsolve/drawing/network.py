"""A district as a drawing sees it: pieces with ports, each port on one of two sides, and links between them.

A **port** is an end of a track or junction, or one place at a table where an outside end can meet it.  The
ports of a piece fall into **groups**; within a group each port has a fixed side, ``-1`` or ``+1``, so that
rail runs through the piece from side to side.  A group can be turned over as a whole, and no more: points
are on one side of a turnout and both legs on the other.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from switchsolve.district import District, End, Junction, Route, Table

__all__ = ["Group", "Link", "Network", "base_lines", "table_port"]

FILLER = "\0filler"
"""Prefix of rail that is drawn only: it parts an end from another end of the same piece."""

_SLIPS = {"crossing", "single slip", "double slip", "slip"}


@dataclass(frozen=True, slots=True)
class Link:
    """A meeting of two ports."""

    one: End
    other: End


@dataclass(frozen=True, slots=True)
class Group:
    """Ports of ``place`` that are turned over together, each with its side."""

    place: str
    sides: tuple[tuple[End, int], ...]


@dataclass(frozen=True, slots=True)
class Network:
    """All groups and links.  ``fillers`` are the names of rail that is in no file."""

    district: District
    groups: tuple[Group, ...]
    links: tuple[Link, ...]
    fillers: tuple[str, ...]

    @classmethod
    def of(cls, district: District) -> Network:
        """The network of a district."""
        links: list[Link] = []
        fillers: list[str] = []
        for one, other in [*district.links, *_table_links(district)]:
            if one.place != other.place:
                links.append(Link(one, other))
                continue
            name = f"{FILLER}{len(fillers)}"
            fillers.append(name)
            links += [Link(one, End(name, "from")), Link(other, End(name, "to"))]
        groups = [_track_group(track.name) for track in district.tracks]
        groups += [_track_group(name) for name in fillers]
        for junction in district.junctions:
            groups += _junction_groups(junction)
        for table in district.tables:
            groups += _table_groups(table)
        return cls(district, tuple(groups), tuple(links), tuple(fillers))

    def mates(self) -> dict[End, End]:
        """For each linked port the port that it meets."""
        found = {}
        for link in self.links:
            found[link.one], found[link.other] = link.other, link.one
        return found


def table_port(table: Table, side: str, outside: End) -> End:
    """The port at which ``outside`` meets a table by the table's end ``side``.

    A turntable has one for each outside end; a transfer table has two sides.
    """
    return End(table.name, str(outside) if table.kind == "turntable" else f"{side}: {outside}")


def _table_links(district: District) -> list[tuple[End, End]]:
    found: dict[End, End] = {}
    for table in district.tables:
        for side, outside in table.meets:
            found.setdefault(outside, table_port(table, side, outside))
    return list(found.items())


def _track_group(name: str) -> Group:
    return Group(name, ((End(name, "from"), -1), (End(name, "to"), 1)))


def _table_groups(table: Table) -> list[Group]:
    """A turntable lets each end lie where it likes; a transfer table keeps its sides."""
    ports = {table_port(table, side, outside): side for side, outside in table.meets}
    if table.kind == "turntable":
        return [Group(table.name, ((port, -1),)) for port in ports]
    sides = tuple((port, -1 if side == "from" else 1) for port, side in ports.items())
    return [Group(table.name, sides)]


def _junction_groups(junction: Junction) -> list[Group]:
    """Ends that routes join are on different sides, as far as that is possible."""
    side: dict[str, int] = {}
    groups = []
    for end in junction.ends:
        if end in side:
            continue
        side[end] = -1
        waiting, members = [end], [end]
        while waiting:
            here = waiting.pop()
            for other in _across(junction, here):
                if other not in side:
                    side[other] = -side[here]
                    waiting.append(other)
                    members.append(other)
        groups.append(Group(junction.name, tuple((End(junction.name, name), side[name]) for name in members)))
    return groups


def _across(junction: Junction, end: str) -> list[str]:
    routes = junction.routes
    return [r.b for r in routes if r.a == end] + [r.a for r in routes if r.b == end]


def base_lines(junction: Junction) -> tuple[tuple[str, str], ...]:
    """The routes that are drawn level, as pairs of ends: one, or two of a double crossover."""
    whole = [route for route in junction.routes if _opposite(junction, route)]
    if not whole:
        return ()
    first = next((route for route in whole if {"straight", "middle"} & {route.a, route.b}), whole[0])
    lines = [(first.a, first.b)]
    if junction.kind not in _SLIPS:
        lines += _beside(junction, first, whole)
    return tuple(lines)


def _beside(junction: Junction, first: Route, whole: Sequence[Route]) -> list[tuple[str, str]]:
    """The second straight track of a double crossover: free of the first, and joined to it."""
    ends = {first.a, first.b}
    for route in whole:
        pair = {route.a, route.b}
        free = not junction.excludes(junction.routes.index(first), junction.routes.index(route))
        joined = any(len({other.a, other.b} & ends) == 1 == len({other.a, other.b} & pair) for other in whole)
        if not pair & ends and free and joined:
            return [(route.a, route.b)]
    return []


def _opposite(junction: Junction, route: Route) -> bool:
    sides = {end.end: side for group in _junction_groups(junction) for end, side in group.sides}
    return sides[route.a] != sides[route.b]
