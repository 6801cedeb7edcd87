"""The quickest way from place to place, over links that take minutes; knows no other room."""

from __future__ import annotations

from functools import lru_cache
from itertools import pairwise

import networkx as nx

__all__ = ["Between", "quickest"]

Between = tuple[tuple[str, str], int]
"""The two places that a link joins, and the minutes from one to the other, either way."""


@lru_cache(maxsize=10_000)
def quickest(links: tuple[Between, ...], origin: str, to: str) -> tuple[tuple[int, str], ...]:
    """The number of each link on the way, with the place that it leads to.  Empty if the places are one.

    Raises ``ValueError`` if no way leads there.
    """
    graph: nx.Graph[str] = nx.Graph()
    for number, ((one, other), minutes) in enumerate(links):
        if not graph.has_edge(one, other) or graph[one][other]["minutes"] > minutes:
            graph.add_edge(one, other, minutes=minutes, number=number)
    try:
        path = nx.shortest_path(graph, origin, to, weight="minutes")
    except (nx.NetworkXNoPath, nx.NodeNotFound):
        raise ValueError(f"no way leads from {origin} to {to}") from None
    return tuple((graph[here][there]["number"], there) for here, there in pairwise(path))
