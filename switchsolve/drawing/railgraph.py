"""A network as a graph that is drawn from left to right: nodes, the rail between them, and what the form of
each device asks of the order of its rail.

A **node** is a junction, a table, a bend or a loose end.  An **edge** is all rail from one node to the next,
from left to right.  Where legs of two junctions meet and are drawn as one slant, both are one node.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import combinations

from switchsolve.district import End, Junction
from switchsolve.drawing.lines import Layout
from switchsolve.drawing.network import Link, base_lines

__all__ = ["Edge", "Form", "Node", "RailGraph", "rail_graph"]

Node = str | Link | End
"""The name of a junction or table (of several in one column: the first), the link of a bend, a loose end."""


@dataclass(frozen=True, slots=True)
class Edge:
    """From the ``right`` side of node ``left`` to the left side of node ``right``.

    ``start`` and ``stop`` are the ports at its ends, ``ports`` all that it leads through, from the left.
    """

    left: Node
    start: End
    right: Node
    stop: End
    ports: tuple[End, ...]


@dataclass(frozen=True, slots=True)
class Form:
    """Two pairs of ports, each on one side of a node: if the first of one pair is above the second, so is
    that of the other pair, or (``differ``) so it is not.  Without ``other`` the first is above."""

    pair: tuple[End, End]
    other: tuple[End, End] | None = None
    differ: bool = False


@dataclass(frozen=True, slots=True)
class RailGraph:
    """``node_of`` gives for each junction and table the node that it is."""

    edges: tuple[Edge, ...]
    forms: tuple[Form, ...]
    node_of: dict[str, Node]


def rail_graph(layout: Layout) -> RailGraph:
    """The graph of a layout that has been faced; its jogs part nothing here."""
    return _Walking(layout).graph()


class _Walking:
    def __init__(self, layout: Layout) -> None:
        self._layout, self._network = layout, layout.network
        self._looks = layout.facing.looks
        self._mates = layout.network.mates()
        self._link_of = {port: link for link in self._network.links for port in (link.one, link.other)}
        self._through = {track.name for track in self._network.district.tracks} | set(self._network.fillers)
        self._far = {riser.port: riser.far for riser in layout.risers if riser.port and riser.far}
        self._beyond = {**self._far, **{far: port for port, far in self._far.items()}}
        self._node_of: dict[str, Node] = {
            group.place: group.place for group in self._network.groups if group.place not in self._through
        }
        for port, far in self._far.items():
            self._unite(port.place, far.place)

    def graph(self) -> RailGraph:
        forms = [form for junction in self._network.district.junctions for form in self._forms(junction)]
        forms += [self._one_slant(port, far) for port, far in self._far.items()]
        return RailGraph(tuple(self._edges()), tuple(forms), self._node_of)

    def _unite(self, one: str, other: str) -> None:
        kept, gone = self._node_of[one], self._node_of[other]
        for place, node in self._node_of.items():
            if node == gone:
                self._node_of[place] = kept

    # ---- edges

    def _edges(self) -> Iterator[Edge]:
        for group in self._network.groups:
            for port, _ in group.sides:
                if port in self._beyond:
                    continue
                if self._looks[port] > 0 and port.place not in self._through:
                    yield self._from(self._node_of[port.place], port, [port])
                elif self._looks[port] < 0 and (start := self._outer(port)) is not None:
                    if port.place in self._through:
                        yield self._from(start, port, [port, self._opposite(port)])
                    else:
                        yield Edge(start, port, self._node_of[port.place], port, (port,))

    def _outer(self, port: End) -> Node | None:
        """The loose end or bend that a port meets."""
        if port not in self._mates:
            return port
        link = self._link_of[port]
        return link if link in self._layout.facing.bends else None

    def _opposite(self, port: End) -> End:
        return End(port.place, "to" if port.end == "from" else "from")

    def _from(self, node: Node, start: End, ports: list[End]) -> Edge:
        """The edge that leaves a node by the last of ``ports``, to its end."""
        while True:
            outer = self._outer(ports[-1])
            if outer is not None:
                return Edge(node, start, outer, ports[-1], tuple(ports))
            mate = self._mates[ports[-1]]
            ports.append(mate)
            if mate.place not in self._through:
                return Edge(node, start, self._node_of[mate.place], mate, tuple(ports))
            ports.append(self._opposite(mate))

    # ---- forms

    def _forms(self, junction: Junction) -> Iterator[Form]:
        lines = [self._from_left(junction, pair) for pair in base_lines(junction)]
        if len(lines) == 2:
            (left, right), (other_left, other_right) = lines
            yield Form((left, other_left), (right, other_right))
        elif lines:
            base = {self._looks[port]: port for port in lines[0]}
            for route in junction.routes:
                one, other = End(junction.name, route.a), End(junction.name, route.b)
                if not {one, other} & set(lines[0]):
                    pairs = [(self._seen(port), base[self._looks[port]]) for port in (one, other)]
                    yield Form(pairs[0], pairs[1], differ=True)
        if {"points", "left", "right"} <= set(junction.ends):
            order = [end for end in ("left", "straight", "right") if end in junction.ends]
            if self._looks[End(junction.name, "left")] < 0:
                order.reverse()
            for upper, lower in combinations(order, 2):
                yield Form((End(junction.name, upper), End(junction.name, lower)))

    def _from_left(self, junction: Junction, pair: tuple[str, str]) -> tuple[End, End]:
        one, other = sorted((End(junction.name, end) for end in pair), key=lambda port: self._looks[port])
        return one, other

    def _seen(self, port: End) -> End:
        """A port, or where a slant to another junction leads, the straight rail there on the same side."""
        if port not in self._beyond:
            return port
        line = self._straight(self._beyond[port].place)
        return line[0] if self._looks[port] < 0 else line[1]

    def _straight(self, place: str) -> tuple[End, End]:
        """The ends of the straight rail of a junction, from the left."""
        junction = next(item for item in self._network.district.junctions if item.name == place)
        return self._from_left(junction, base_lines(junction)[0])

    def _one_slant(self, port: End, far: End) -> Form:
        """One of two junctions joined by a slant lies above the other, on both sides."""
        (left, right), (far_left, far_right) = self._straight(port.place), self._straight(far.place)
        return Form((left, far_left), (right, far_right))
