"""Which places stand under each other in the train graph: chains of links, so that each run is a line."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from switchsolve.layout import Layout, Link
from switchsolve.timetable.routes import route

__all__ = ["Panel", "panels_of"]

_LEAST, _MOST, _PER_MINUTE = 38.0, 74.0, 9.0
"""Pixels between two places, at the least and at the most, and for each minute of the link."""


@dataclass(frozen=True, slots=True)
class Panel:
    """A chain: its ``places`` from the top down, and the links between them.  A place can come twice."""

    places: tuple[str, ...]
    links: tuple[Link, ...]

    def heights(self) -> list[float]:
        """How far below the first place each of them is."""
        found = [0.0]
        for link in self.links:
            found.append(found[-1] + min(_MOST, max(_LEAST, 20 + _PER_MINUTE * link.minutes)))
        return found


def panels_of(layout: Layout, used: Iterable[str]) -> list[Panel]:
    """The way of the through trains first, then branches in the order of the file; each link is in one of
    them, and branches end with the last link that is ``used``."""
    chains = [_main(layout)]
    left = [link for link in layout.links if link not in chains[0].links]
    drawn = set(chains[0].places)
    while left:
        chain = _branch(left, drawn)
        left = [link for link in left if link not in chain.links]
        drawn |= set(chain.places)
        chains.append(chain)
    names = set(used)
    shorter = [chains[0], *(_shortened(chain, names) for chain in chains[1:])]
    return [chain for chain in shorter if names & {link.name for link in chain.links}]


def _shortened(chain: Panel, used: set[str]) -> Panel:
    """Without the links after the last one that is used."""
    count = max((row for row, link in enumerate(chain.links, 1) if link.name in used), default=0)
    return Panel(chain.places[: count + 1], chain.links[:count])


def _main(layout: Layout) -> Panel:
    """The longest way that a train goes from one staging place to another; with none, the first link."""
    staging = {place.name for place in layout.staging}
    ends = [train.ends(1) for train in layout.trains if {train.origin, train.to} <= staging]
    ways = [_chain(origin, route(layout, origin, to)) for origin, to in ends if origin != to]
    first = layout.links[0]
    return max(ways, key=lambda way: len(way.links), default=Panel(first.ends, (first,)))


def _chain(origin: str, way: Sequence[tuple[Link, str]]) -> Panel:
    return Panel((origin, *(there for _, there in way)), tuple(link for link, _ in way))


def _branch(left: Sequence[Link], drawn: set[str]) -> Panel:
    """A chain that begins at a place already drawn (if any link does), and ends where it meets one."""
    first = next((link for link in left if drawn & set(link.ends)), left[0])
    start = next((end for end in first.ends if end in drawn), first.ends[0])
    places, links = [start], []
    following: Link | None = first
    while following is not None:
        links.append(following)
        one, other = following.ends
        places.append(other if places[-1] == one else one)
        more = (link for link in left if link not in links and places[-1] in link.ends)
        following = None if places[-1] in drawn | {start} else next(more, None)
    return Panel(tuple(places), tuple(links))
