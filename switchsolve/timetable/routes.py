"""The way of a train: which links it runs over, and which places it passes."""

from __future__ import annotations

from functools import lru_cache
from itertools import pairwise

import networkx as nx

from switchsolve.layout import Layout, Link, TrainPlan

__all__ = ["calls", "longest_train", "route"]


def route(layout: Layout, origin: str, to: str) -> list[tuple[Link, str]]:
    """The quickest way from one place to another: each link, with the place that it leads to.  Empty if they
    are one.  Raises ``ValueError`` if no way leads there."""
    ends = tuple((link.ends, link.minutes) for link in layout.links)
    try:
        path = _path(ends, origin, to)
    except (nx.NetworkXNoPath, nx.NodeNotFound):
        raise ValueError(f"no way leads from {origin} to {to}") from None
    found = []
    for here, there in pairwise(path):
        links = [link for link in layout.links if set(link.ends) == {here, there}]
        found.append((min(links, key=lambda link: link.minutes), there))
    return found


@lru_cache(maxsize=10_000)
def _path(links: tuple[tuple[tuple[str, str], int], ...], origin: str, to: str) -> tuple[str, ...]:
    graph: nx.Graph[str] = nx.Graph()
    for (one, other), minutes in links:
        if not graph.has_edge(one, other) or graph[one][other]["minutes"] > minutes:
            graph.add_edge(one, other, minutes=minutes)
    return tuple(nx.shortest_path(graph, origin, to, weight="minutes"))


def calls(layout: Layout, train: TrainPlan, session: int, works: tuple[str, ...]) -> tuple[str, ...]:
    """Where a train stops, first and last place included: through trains at the yard, others at ``works``."""
    origin, to = train.ends(session)
    between = works if train.works else (layout.yard.name,)
    return (origin, *between, to)


def longest_train(layout: Layout, train: TrainPlan) -> int | None:
    """The longest that it may be on all links that it uses; ``None``: any length."""
    stops = calls(layout, train, 1, train.works)
    links = [link for here, there in pairwise(stops) for link, _ in route(layout, here, there)]
    return min((link.longest for link in links if link.longest is not None), default=None)
