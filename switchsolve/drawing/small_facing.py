"""Which way each piece faces, where the network is small: the choice of :mod:`.facing` without its solver.

Pieces are turned one after the other, each met by one before it, and what has cost least so far goes on
first.  So the first complete choice that comes up costs least; those that cost as much are listed too.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from graphlib import CycleError, TopologicalSorter
from heapq import heappop, heappush

from switchsolve.district import End
from switchsolve.drawing.network import Link, Network

__all__ = ["Turned", "first_turned"]

Turned = tuple[bool, ...]
"""For each group of a network whether it is turned over."""

_MOST = 4_000
"""Beginnings of a choice that are looked at."""


def first_turned(
    network: Network, bend_cost: Mapping[Link, int], turn_cost: Sequence[tuple[int, int]]
) -> Turned | None:
    """The choice that costs least, and of several the first: in the order of the links the first that does
    not bend, then in the order of the groups the first that is not turned over.

    ``bend_cost``: of each link; ``turn_cost``: of each group, as it is and turned over.  ``None``: too large.
    """
    small = _Small(network, bend_cost, turn_cost)
    return small.first()


class _Small:
    """One search."""

    def __init__(
        self, network: Network, bend_cost: Mapping[Link, int], turn_cost: Sequence[tuple[int, int]]
    ) -> None:
        self._network, self._bend_cost, self._turn_cost = network, bend_cost, turn_cost
        self._group_of = {port: (i, side) for i, g in enumerate(network.groups) for port, side in g.sides}
        self._order = list(_in_reach(network, self._group_of))
        rank = {group: place for place, group in enumerate(self._order)}
        self._closing: list[list[Link]] = [[] for _ in self._order]
        for link in network.links:
            ends = self._group_of[link.one][0], self._group_of[link.other][0]
            self._closing[max(rank[end] for end in ends)].append(link)

    def first(self) -> Turned | None:
        """The first of the cheapest; ``None`` if too many beginnings are to be looked at."""
        waiting: list[tuple[int, int, Turned]] = [(0, 0, ())]
        best: list[Turned] = []
        least = looked = 0
        while waiting:
            cost, _, begun = heappop(waiting)
            if best and cost > least:
                break
            looked += 1
            if looked > _MOST:
                return None
            if len(begun) < len(self._order):
                for turned in (False, True):
                    longer = (*begun, turned)
                    heappush(waiting, (cost + self._added(longer), -len(longer), longer))
            elif self._runs_one_way(whole := self._by_group(begun)):
                best.append(whole)
                least = cost
        return min(best, key=self._rank, default=None)

    def _added(self, begun: Turned) -> int:
        """What the last group of a beginning costs, with the links to those before it."""
        last = len(begun) - 1
        turned = dict(zip(self._order, begun, strict=False))
        bent = sum(self._bend_cost[link] for link in self._closing[last] if self._bends(turned, link))
        return self._turn_cost[self._order[last]][begun[last]] + bent

    def _looks(self, turned: Mapping[int, bool], port: End) -> int:
        group, side = self._group_of[port]
        return -side if turned[group] else side

    def _bends(self, turned: Mapping[int, bool], link: Link) -> bool:
        return self._looks(turned, link.one) == self._looks(turned, link.other)

    def _by_group(self, begun: Turned) -> Turned:
        turned = dict(zip(self._order, begun, strict=True))
        return tuple(turned[group] for group in range(len(self._order)))

    def _runs_one_way(self, whole: Turned) -> bool:
        """Whether everything can lie from left to right, but for what bends."""
        turned = dict(enumerate(whole))
        before: TopologicalSorter[str] = TopologicalSorter()
        for link in self._network.links:
            if not self._bends(turned, link):
                places = link.one.place, link.other.place
                before.add(*(places[::-1] if self._looks(turned, link.one) > 0 else places))
        try:
            before.prepare()
        except CycleError:
            return False
        return True

    def _rank(self, whole: Turned) -> tuple[list[bool], Turned]:
        turned = dict(enumerate(whole))
        return [self._bends(turned, link) for link in self._network.links], whole


def _in_reach(network: Network, group_of: Mapping[End, tuple[int, int]]) -> Iterator[int]:
    """The groups, each after one that it is linked to, as far as that can be."""
    linked: list[list[int]] = [[] for _ in network.groups]
    for link in network.links:
        one, other = group_of[link.one][0], group_of[link.other][0]
        linked[one].append(other)
        linked[other].append(one)
    seen: set[int] = set()
    for first in range(len(network.groups)):
        waiting = [first]
        while waiting:
            group = waiting.pop(0)
            if group not in seen:
                seen.add(group)
                yield group
                waiting += linked[group]
