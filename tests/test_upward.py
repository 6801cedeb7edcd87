"""Drawings from left to right without a crossing: found just where there are any."""

from __future__ import annotations

from itertools import pairwise
from random import Random

import networkx as nx
import pytest

from switchsolve.district import End
from switchsolve.drawing.railgraph import Edge, Form, RailGraph
from switchsolve.drawing.upward import Upward, upward


def graph_of(pairs: list[tuple[int, int]], *forms: Form) -> RailGraph:
    """Edge ``n`` leads from port ``from`` of place ``n`` to its port ``to``."""
    edges = []
    for number, (left, right) in enumerate(pairs):
        ports = End(f"{number}", "from"), End(f"{number}", "to")
        edges.append(Edge(f"node {left}", ports[0], f"node {right}", ports[1], ports))
    return RailGraph(tuple(edges), forms, {f"{n}": f"node {left}" for n, (left, _) in enumerate(pairs)})


def crossed(found: Upward) -> list[tuple[Edge, object]]:
    """Edges that pass a node among its edges, or run from right to left."""
    at = {node: index for index, node in enumerate(found.nodes)}
    rank = {edge: index for index, edge in enumerate(found.edges)}
    wrong: list[tuple[Edge, object]] = [(e, e.left) for e in found.edges if at[e.left] >= at[e.right]]
    for node, here in at.items():
        ranks = [rank[edge] for edge in found.edges if node in (edge.left, edge.right)]
        for edge in found.edges:
            if at[edge.left] < here < at[edge.right] and min(ranks) < rank[edge] < max(ranks):
                wrong.append((edge, node))
    return wrong


def random_pairs(seed: int) -> list[tuple[int, int]]:
    """A graph with one source, 0, and one sink, the last, all edges from lower to higher numbers."""
    random = Random(f"upward {seed}")
    count = random.randint(5, 9)
    pairs = {(node, random.randint(node + 1, count - 1)) for node in range(count - 1)}
    pairs |= {(random.randint(0, node - 1), node) for node in range(1, count)}
    for _ in range(random.randint(0, 5)):
        one, other = sorted(random.sample(range(count), 2))
        pairs.add((one, other))
    return sorted(pairs)


def test_one_source_and_one_sink() -> None:
    """A graph with one source and one sink can be drawn from left to right without a crossing just if it is
    planar together with an edge from source to sink (D. Kelly, Fundamentals of planar ordered sets, Discrete
    Mathematics 63, 1987; G. Di Battista and R. Tamassia, Theoretical Computer Science 61, 1988).  Whether it
    is, is asked of networkx; and the orders found have no crossing."""
    said = {True: 0, False: 0}
    for seed in range(150):
        pairs = random_pairs(seed)
        whole = nx.Graph([*pairs, (0, max(node for _, node in pairs))])
        planar, _ = nx.check_planarity(whole)
        found = upward(graph_of(pairs))
        assert (found is not None) == planar, (seed, pairs)
        assert found is None or not crossed(found), seed
        said[planar] += 1
    assert min(said.values()) > 20, said


def test_planar_is_not_enough() -> None:
    """Two sources that both lead to two sinks can be drawn; not so with an edge back from a sink to a source.
    Three sources and three sinks in a ring can; not so with each joined to each (Kuratowski's second graph).
    """
    assert upward(graph_of([(0, 2), (0, 3), (1, 2), (1, 3)])) is not None
    assert upward(graph_of([(0, 2), (0, 3), (1, 2), (1, 3), (2, 0)])) is None
    ring = [(0, 3), (0, 4), (1, 4), (1, 5), (2, 5), (2, 3)]
    assert upward(graph_of(ring)) is not None
    assert upward(graph_of([*ring, (0, 5), (1, 3), (2, 4)])) is None


def test_a_form_is_kept() -> None:
    """Two edges side by side, then two more: as asked they lie the same way round, or the other."""
    pairs = [(0, 1), (0, 1), (1, 2), (1, 2)]
    ports = [End(f"{n}", "from") for n in range(4)]
    for differ in (False, True):
        found = upward(graph_of(pairs, Form((ports[0], ports[1]), (ports[2], ports[3]), differ)))
        assert found is not None
        rank = {edge.start: index for index, edge in enumerate(found.edges)}
        ways = [rank[ports[a]] < rank[ports[b]] for a, b in ((0, 1), (2, 3))]
        assert (ways[0] == ways[1]) != differ
    assert upward(graph_of(pairs, Form((ports[0], ports[1])), Form((ports[1], ports[0])))) is None


@pytest.mark.parametrize("is_first_above", [True, False])
def test_loose_ends_are_put_back_by_their_form(is_first_above: bool) -> None:
    """Rail that ends somewhere is left out of the question, and put back where its form asks for it."""
    pairs = [(0, 1), (1, 2), (1, 3), (1, 4)]
    ports = [End(f"{n}", "from") for n in range(4)]
    order = ports[1:] if is_first_above else ports[:0:-1]
    forms = [Form((upper, lower)) for upper, lower in pairwise(order)]
    found = upward(graph_of(pairs, *forms, Form((order[0], order[2]))))
    assert found is not None and not crossed(found)
    assert [edge.start for edge in found.edges if edge.start in order] == order
