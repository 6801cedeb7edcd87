"""From orders without a crossing to lanes and columns: a start for the choice of both together.

Every node has a column of its own, in the order found; then what lies above what is known wherever two lines
pass each other, and the fewest jogs and lanes are a small model of differences.
"""

from __future__ import annotations

from itertools import combinations
from typing import TYPE_CHECKING

from switchsolve.drawing.choosing import solved
from switchsolve.drawing.columns import Columns
from switchsolve.drawing.greedy import is_level
from switchsolve.drawing.lines import Layout, Line, Riser
from switchsolve.drawing.network import Link
from switchsolve.drawing.railgraph import Edge, Node, RailGraph, rail_graph
from switchsolve.drawing.upward import Upward, upward

if TYPE_CHECKING:
    from ortools.sat.python import cp_model

__all__ = ["realized"]

_STEP = 8
"""Columns from node to node."""
_JOG, _CLIMB, _HEIGHT = 400, 4, 3
_EFFORT = 0.1
"""Deterministic seconds for the lanes; the best found counts."""


def realized(layout: Layout) -> tuple[dict[Line, int], Columns] | None:
    """Lanes, and columns that say what is left of what, without any crossing, for a layout that is parted
    wherever it may jog; ``None`` if there are none."""
    graph = rail_graph(layout)
    found = upward(graph)
    return None if found is None else _Realizing(layout, graph, found).found()


class _Realizing:
    def __init__(self, layout: Layout, graph: RailGraph, found: Upward) -> None:
        self._layout, self._graph, self._found = layout, graph, found
        self._at = {node: _STEP * index for index, node in enumerate(found.nodes)}
        self._rank = {edge: index for index, edge in enumerate(found.edges)}
        self._edge_of = {port: edge for edge in found.edges for port in edge.ports}
        self._edges_at: dict[Node, list[Edge]] = {node: [] for node in found.nodes}
        for edge in found.edges:
            self._edges_at[edge.left].append(edge)
            self._edges_at[edge.right].append(edge)
        pieces = set(layout.middle.values())
        self._own: dict[Edge, Line] = {}
        for edge in found.edges:
            lines = [layout.line_of[port] for port in edge.ports if port in layout.line_of]
            own = [line for line in lines if line not in pieces and line not in self._beside_lines()]
            self._own[edge] = (own or [""])[0]

    def _beside_lines(self) -> set[Line]:
        return {line for pair in self._layout.beside for line in pair}

    def found(self) -> tuple[dict[Line, int], Columns] | None:
        """The lanes and columns, if the model has any."""
        from ortools.sat.python import cp_model

        model = self._model = cp_model.CpModel()
        self._most = 3 * len(self._found.edges) + 3
        self._lane = {line: model.new_int_var(0, self._most, line) for line in self._layout.lines}
        self._late: dict[Link, cp_model.IntVar] = {}
        self._of = {edge: self._lane_of(edge) for edge in self._found.edges}
        self._beside()
        self._passing()
        self._at_nodes()
        self._minimize()
        solver = solved(model, _EFFORT)
        if solver is None:
            return None
        self._is_late = {link: solver.boolean_value(late) for link, late in self._late.items()}
        lanes = {line: solver.value(lane) for line, lane in self._lane.items()}
        return lanes, self._columns()

    # ---- lanes

    def _lane_of(self, edge: Edge) -> cp_model.IntVar:
        """The lane in which an edge passes other nodes."""
        if self._own[edge]:
            return self._lane[self._own[edge]]
        ends = [self._layout.line_of.get(port) for port in (edge.start, edge.stop)]
        known = [line for line in dict.fromkeys(ends) if line is not None]
        if len(known) == 1:
            return self._lane[known[0]]
        lane = self._model.new_int_var(0, self._most, "between")
        link = next(link for link in self._layout.jogs if edge.start in (link.one, link.other))
        late = self._late[link] = self._model.new_bool_var("late")
        self._model.add(lane == self._lane[known[0]]).only_enforce_if(late)
        self._model.add(lane == self._lane[known[1]]).only_enforce_if(~late)
        return lane

    def _beside(self) -> None:
        for one, other in self._layout.beside:
            apart = self._model.new_bool_var("apart")
            self._model.add(self._lane[other] == self._lane[one] + 1).only_enforce_if(apart)
            self._model.add(self._lane[other] == self._lane[one] - 1).only_enforce_if(~apart)

    def _lanes_at(self, node: Node) -> list[cp_model.IntVar]:
        """All lanes that rail at a node has there."""
        lanes = [self._of[edge] for edge in self._edges_at[node]]
        for place in (place for place, item in self._graph.node_of.items() if item == node):
            lanes += [self._lane[line] for line in self._pieces(place)]
        return lanes

    def _pieces(self, place: str) -> list[Line]:
        """The lines on which a junction or turntable lies."""
        layout = self._layout
        lines = [layout.line_of[port] for port in layout.line_of if port.place == place]
        middle = [layout.middle[place]] if place in layout.middle else []
        return list(dict.fromkeys([*middle, *(line for line in lines if self._is_piece(line))]))

    def _is_piece(self, line: Line) -> bool:
        return line in self._layout.middle.values() or line in self._beside_lines()

    def _passing(self) -> None:
        """Every edge passes a node above or below all that is there."""
        tables = {table.name for table in self._layout.network.district.tables}
        for node, at in self._at.items():
            apart = 2 if node in tables and node in self._layout.middle else 1
            for edge in self._found.edges:
                if self._at[edge.left] < at < self._at[edge.right]:
                    is_above = self._rank[edge] < self._rank[self._edges_at[node][0]]
                    for lane in self._lanes_at(node):
                        upper, lower = (self._of[edge], lane) if is_above else (lane, self._of[edge])
                        gap = apart if lane is self._lane.get(self._layout.middle.get(str(node), "")) else 1
                        self._model.add(lower - upper >= gap)

    def _at_nodes(self) -> None:
        """Edges on one side of a node lie in their order, and legs to their side of the straight rail."""
        for node, edges in self._edges_at.items():
            for side in ("left", "right"):
                here = [edge for edge in edges if getattr(edge, side) == node]
                here.sort(key=self._rank.__getitem__)
                for upper, lower in combinations(here, 2):
                    self._model.add(self._of[lower] - self._of[upper] >= 1)
        for riser in self._layout.risers:
            if riser.place and riser.port and riser.far is None and not is_level(self._layout, riser):
                self._lean(riser)
            elif riser.far is not None:
                self._lean_across(riser)

    def _base(self, place: str, looks: int) -> Edge | None:
        layout = self._layout
        for port, line in layout.line_of.items():
            if port.place == place and layout.facing.looks[port] == looks and line == layout.middle[place]:
                return self._edge_of[port]
        return None

    def _lean(self, riser: Riser) -> None:
        assert riser.port is not None
        base, leg = self._base(riser.place, riser.looks), self._edge_of[riser.port]
        if base is None:
            return
        sign = 1 if self._rank[leg] > self._rank[base] else -1
        self._model.add(sign * (self._lane[riser.other] - self._lane[riser.one]) >= 1)

    def _lean_across(self, riser: Riser) -> None:
        assert riser.far is not None
        one, other = (self._base(place, 1) for place in (riser.place, riser.far.place))
        if one is not None and other is not None:
            sign = 1 if self._rank[other] > self._rank[one] else -1
            self._model.add(sign * (self._lane[riser.other] - self._lane[riser.one]) >= 1)

    def _minimize(self) -> None:
        model = self._model
        cost: list[cp_model.LinearExprT] = []
        for riser in self._layout.risers:
            if riser.one == riser.other:
                continue
            climb = model.new_int_var(0, self._most, "climb")
            model.add_abs_equality(climb, self._lane[riser.one] - self._lane[riser.other])
            cost.append(_CLIMB * climb)
            if riser.is_jog:
                straight = model.new_bool_var("straight")
                model.add(climb == 0).only_enforce_if(straight)
                cost.append(_JOG * ~straight)
        height = model.new_int_var(0, self._most, "height")
        model.add_max_equality(height, list(self._lane.values()))
        cost.append(_HEIGHT * height)
        model.minimize(sum(cost))

    # ---- columns

    def _columns(self) -> Columns:
        """Numbers that say only what is left of what."""
        layout = self._layout
        middle = {place: self._at[node] for place, node in self._graph.node_of.items()}
        bend = {link: self._at[link] for link in layout.facing.bends}
        bend |= {link: self._jog_column(link) for link in layout.jogs}
        spans: dict[Line, tuple[int, int]] = {}
        for edge, line in self._own.items():
            if line:
                spans[line] = self._span(edge)
        for place, node in self._graph.node_of.items():
            for line in self._pieces(place):
                known = spans.get(line, (self._at[node], self._at[node]))
                spans[line] = min(known[0], self._at[node] - 1), max(known[1], self._at[node] + 1)
        for riser in layout.risers:
            if riser.is_jog and riser.link is not None:
                for line in (riser.one, riser.other):
                    spans[line] = _with(spans[line], bend[riser.link])
        return Columns(middle, {}, bend, spans)

    def _span(self, edge: Edge) -> tuple[int, int]:
        return self._at[edge.left] + 2, self._at[edge.right] - 2

    def _jog_column(self, link: Link) -> int:
        """Right beside the junction that a jog lies at."""
        edge = self._edge_of[link.one]
        ends = {edge.start: self._at[edge.left] + 2, edge.stop: self._at[edge.right] - 2}
        if link in self._is_late:
            return ends[edge.start] if not self._is_late[link] else ends[edge.stop]
        return next(column for port, column in ends.items() if port in (link.one, link.other))


def _with(span: tuple[int, int], column: int) -> tuple[int, int]:
    return min(span[0], column), max(span[1], column)
