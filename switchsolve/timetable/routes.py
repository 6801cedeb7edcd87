"""The way of a train: which links it runs over, and which places it passes."""

from __future__ import annotations

from itertools import pairwise

from switchsolve.layout import Layout, Link, TrainPlan
from switchsolve.quickest import quickest

__all__ = ["calls", "longest_train", "route"]


def route(layout: Layout, origin: str, to: str) -> list[tuple[Link, str]]:
    """The quickest way from one place to another: each link, with the place that it leads to.  Empty if they
    are one.  Raises ``ValueError`` if no way leads there."""
    between = tuple((link.ends, link.minutes) for link in layout.links)
    return [(layout.links[number], place) for number, place in quickest(between, origin, to)]


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
