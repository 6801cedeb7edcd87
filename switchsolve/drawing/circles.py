"""The links that lie on circles of a network, or between circles, in chains.

Wherever on a chain the rail bends round, the picture is the same but for where it bends.
"""

from __future__ import annotations

from switchsolve.district import End
from switchsolve.drawing.network import Link, Network

__all__ = ["circle_chains"]


def circle_chains(network: Network) -> tuple[tuple[Link, ...], ...]:
    """All links but those of rail that ends somewhere; links in a row, with nothing between, together."""
    links = _on_circles(network)
    met: dict[str, list[tuple[Link, End]]] = {}
    for link in links:
        for port in (link.one, link.other):
            met.setdefault(port.place, []).append((link, port))
    side = {port: (index, way) for index, g in enumerate(network.groups) for port, way in g.sides}
    chain_of = {link: number for number, link in enumerate(links)}
    for found in met.values():
        if len(found) != 2:
            continue
        (one, port), (other, beyond) = found
        if side[port][0] == side[beyond][0] and side[port][1] != side[beyond][1]:
            kept, gone = chain_of[one], chain_of[other]
            chain_of = {link: kept if number == gone else number for link, number in chain_of.items()}
    chains: dict[int, list[Link]] = {}
    for link, number in chain_of.items():
        chains.setdefault(number, []).append(link)
    return tuple(tuple(chain) for chain in chains.values())


def _on_circles(network: Network) -> list[Link]:
    links = list(network.links)
    while True:
        count: dict[str, int] = {}
        for link in links:
            for port in (link.one, link.other):
                count[port.place] = count.get(port.place, 0) + 1
        kept = [link for link in links if count[link.one.place] > 1 and count[link.other.place] > 1]
        if len(kept) == len(links):
            return links
        links = kept
