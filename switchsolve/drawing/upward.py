"""Whether a graph can be drawn from left to right without a crossing, and how: what is left of what, and what
lies above what.

A drawing in which everything runs from left to right has no crossing just if there is an order of its nodes
from left to right and an order of its edges from top to bottom, such that all edges at a node lie on one side
of every edge that passes it.  (What lies above what has no circle among curves that run from left to right
and do not cross, so one order holds for all.)  CP-SAT finds both orders, or proves that there are none.

Only what lies on a circle decides: rail that ends somewhere can always be drawn short.  So loose ends are
taken away one after the other, and put back into the orders that are found.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import combinations
from typing import TYPE_CHECKING

from switchsolve.district import End
from switchsolve.drawing.choosing import solved
from switchsolve.drawing.railgraph import Edge, Form, Node, RailGraph

if TYPE_CHECKING:
    from ortools.sat.python import cp_model

__all__ = ["Upward", "upward"]

_EFFORT = 2.0
"""Deterministic seconds for the orders; a district of thirty tracks takes a hundredth of it."""


@dataclass(frozen=True, slots=True)
class Upward:
    """``nodes`` from left to right, ``edges`` from top to bottom."""

    nodes: tuple[Node, ...]
    edges: tuple[Edge, ...]


def upward(graph: RailGraph) -> Upward | None:
    """Orders without a crossing; ``None`` if there are none (or, in a very large district, none is found)."""
    if any(edge.left == edge.right for edge in graph.edges):
        return None  # from one slant round to the same
    core, loose = _core(graph)
    orders = _Orders(core, graph.forms).found()
    if orders is None:
        return None
    nodes, edges = orders
    for edge in reversed(loose):
        _put_back(edge, nodes, edges, graph.forms)
    return Upward(tuple(nodes), tuple(edges))


def _core(graph: RailGraph) -> tuple[list[Edge], list[Edge]]:
    """The edges on circles or between them, and the others as they are taken away, loose ends first.

    Where several forms ask for something at one node, its edges are kept: put back one by one they might
    not find an order that is right for all.
    """
    kept, loose = list(graph.edges), list[Edge]()
    asked = [graph.node_of[form.pair[0].place] for form in graph.forms if form.other]
    tied = {node for node in asked if asked.count(node) > 1}
    while True:
        met: dict[Node, int] = {}
        for edge in kept:
            for node in (edge.left, edge.right):
                met[node] = met.get(node, 0) + 1
        ends = [edge for edge in kept if 1 in (met[edge.left], met[edge.right])]
        gone = next((edge for edge in ends if not {edge.left, edge.right} & tied), None)
        if gone is None:
            return kept, loose
        kept.remove(gone)
        loose.append(gone)


class _Orders:
    """The model: for each two nodes which is left, for each two edges which is above."""

    def __init__(self, edges: Sequence[Edge], forms: Iterable[Form]) -> None:
        self._edges, self._forms = edges, forms
        self._nodes = list(dict.fromkeys(node for edge in edges for node in (edge.left, edge.right)))

    def found(self) -> tuple[list[Node], list[Edge]] | None:
        """Both orders; ``None`` if there are none."""
        from ortools.sat.python import cp_model

        self._model = cp_model.CpModel()
        self._left = self._order(len(self._nodes))
        self._above = self._order(len(self._edges))
        self._pass()
        self._keep_forms()
        solver = solved(self._model, _EFFORT)
        if solver is None:
            return None
        return (
            [self._nodes[index] for index in _sorted(solver, self._left, len(self._nodes))],
            [self._edges[index] for index in _sorted(solver, self._above, len(self._edges))],
        )

    def _order(self, count: int) -> dict[tuple[int, int], cp_model.LiteralT]:
        """A literal for each two of so many things: the first comes first."""
        model = self._model
        before: dict[tuple[int, int], cp_model.LiteralT] = {}
        for one, other in combinations(range(count), 2):
            before[one, other] = model.new_bool_var("before")
            before[other, one] = ~before[one, other]
        for a, b, c in combinations(range(count), 3):
            model.add_bool_or([before[b, a], before[c, b], before[a, c]])
            model.add_bool_or([before[a, b], before[b, c], before[c, a]])
        return before

    def _pass(self) -> None:
        """Every edge leads from left to right; what meets at a node passes other edges on one side."""
        model = self._model
        met: dict[Node, list[int]] = {}
        for index, edge in enumerate(self._edges):
            met.setdefault(edge.left, []).append(index)
            met.setdefault(edge.right, []).append(index)
        at = {node: index for index, node in enumerate(self._nodes)}
        for index, edge in enumerate(self._edges):
            left, right = at[edge.left], at[edge.right]
            model.add_bool_or([self._left[left, right]])
            for node, number in at.items():
                if node in (edge.left, edge.right):
                    continue
                outside = [~self._left[left, number], ~self._left[number, right]]
                is_below = model.new_bool_var("below")
                for other in met[node]:
                    model.add_bool_or([*outside, ~is_below, self._above[index, other]])
                    model.add_bool_or([*outside, is_below, self._above[other, index]])

    def _keep_forms(self) -> None:
        at = _by_port(self._edges)
        for form in self._forms:
            first = self._compared(form.pair, at)
            second = self._compared(form.other, at) if form.other else None
            if first is not None and form.other is None:
                self._model.add_bool_or([first])
            elif first is not None and second is not None:
                self._model.add_bool_xor([first, second, not form.differ])

    def _compared(self, pair: tuple[End, End], at: dict[End, Edge]) -> cp_model.LiteralT | None:
        if not all(port in at for port in pair):
            return None
        one, other = (self._edges.index(at[port]) for port in pair)
        return self._above[one, other]


def _by_port(edges: Iterable[Edge]) -> dict[End, Edge]:
    return {port: edge for edge in edges for port in (edge.start, edge.stop)}


def _sorted(
    solver: cp_model.CpSolver, before: dict[tuple[int, int], cp_model.LiteralT], count: int
) -> list[int]:
    ranks = [
        sum(solver.boolean_value(before[other, one]) for other in range(count) if other != one)
        for one in range(count)
    ]
    return sorted(range(count), key=ranks.__getitem__)


# ---- loose ends


def _put_back(edge: Edge, nodes: list[Node], edges: list[Edge], forms: Iterable[Form]) -> None:
    """Draws a loose end, short, where the form of what it comes from lets it lie."""
    if edge.left in nodes:
        nodes.insert(nodes.index(edge.left) + 1, edge.right)
        _lay(edge, edge.start, edge.left, edges, forms)
    elif edge.right in nodes:
        nodes.insert(nodes.index(edge.right), edge.left)
        _lay(edge, edge.stop, edge.right, edges, forms)
    else:
        nodes += [edge.left, edge.right]
        edges.append(edge)


def _lay(edge: Edge, port: End, node: Node, edges: list[Edge], forms: Iterable[Form]) -> None:
    """Next to a neighbor at its node, above or below it as the forms ask."""
    beside = [other for other in edges if (other.left if node == edge.left else other.right) == node]
    around = beside or [other for other in edges if node in (other.left, other.right)]
    at = _by_port(edges)
    above, below = list[Edge](), list[Edge]()
    for form in forms:
        for pair, other in ((form.pair, form.other), (form.other, form.pair)):
            if pair is None or port not in pair:
                continue
            mate = pair[1] if port == pair[0] else pair[0]
            is_first = _is_first(other, at, edges, form) if form.other else True
            if mate not in at or is_first is None:
                continue
            (below if is_first == (port == pair[0]) else above).append(at[mate])
    if above:
        edges.insert(max(edges.index(other) for other in above) + 1, edge)
    elif below:
        edges.insert(min(edges.index(other) for other in below), edge)
    else:
        edges.insert(max(edges.index(other) for other in around) + 1, edge)


def _is_first(
    pair: tuple[End, End] | None, at: dict[End, Edge], edges: list[Edge], form: Form
) -> bool | None:
    """Whether the first of the other pair of a form must be above, by what this pair does."""
    if pair is None or not all(port in at for port in pair):
        return None
    one, other = (edges.index(at[port]) for port in pair)
    return (one < other) != form.differ
