"""Which way each piece faces: an exact choice, by CP-SAT where the network is not small.

Wanted: a link joins a port that looks right to one that looks left, and everything runs from left to
right.  Where that cannot be (a wye, a balloon loop, an oval), the rail bends round at a link; as few links
as possible bend, and rather at a long track.  Then tracks lie as the file reads them, ``from`` at the left.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING

from switchsolve.district import End, Track
from switchsolve.drawing.choosing import first_of_best
from switchsolve.drawing.circles import circle_chains
from switchsolve.drawing.network import Link, Network
from switchsolve.drawing.small_facing import Turned, first_turned

if TYPE_CHECKING:
    from ortools.sat.python import cp_model

__all__ = ["Facing", "face", "facings"]

_BEND = 1000
"""Cost of a bend; a track that lies from right to left costs 2, an entrance at the right 3."""
_EFFORT = 1.0
"""Deterministic seconds for a choice."""
_TRIES = 5
"""How many facings are tried for one that can be drawn without a crossing."""


@dataclass(frozen=True, slots=True)
class Facing:
    """``looks``: for each port +1 if its rail leaves the piece to the right, -1 to the left.

    ``bends``: the links at which the rail turns round.
    """

    looks: dict[End, int]
    bends: frozenset[Link]


def face(network: Network) -> Facing:
    """The best facing of every piece; the same for the same network."""
    return next(facings(network))


def facings(network: Network) -> Iterator[Facing]:
    """The best facing, then others that bend elsewhere on a circle, those with few bends first."""
    tries = _TRIES
    soon = _soon(network)
    if soon is not None:
        yield soon
        tries -= 1
    model = _Model(network)
    if soon is not None:
        model.refuse(soon)
    for _ in range(tries):
        found = model.solved()
        if found is None:
            return
        yield found
        model.refuse(found)


def _soon(network: Network) -> Facing | None:
    """The best facing without a model, which takes long to load; ``None`` if the network is too large."""
    bend_cost = {link: _bend_cost(network, link) for link in network.links}
    turn_cost = []
    for group in network.groups:
        rights = [side for port, side in group.sides if _is_entrance(network, port)]
        as_it_is, turned = (3 * sum(side == way for side in rights) for way in (1, -1))
        turn_cost.append((as_it_is, turned + _turn_cost(network, group.place)))
    turned_groups = first_turned(network, bend_cost, turn_cost)
    return None if turned_groups is None else _facing(network, turned_groups)


def _facing(network: Network, turned: Turned) -> Facing:
    """The facing in which these groups are turned over."""
    looks = {
        port: -side if is_turned else side
        for group, is_turned in zip(network.groups, turned, strict=True)
        for port, side in group.sides
    }
    return Facing(looks, frozenset(link for link in network.links if looks[link.one] == looks[link.other]))


class _Model:
    """Which groups are turned over, and which links bend."""

    def __init__(self, network: Network) -> None:
        from ortools.sat.python import cp_model

        self._network = network
        self._model = model = cp_model.CpModel()
        self._turned = [model.new_bool_var(f"turned {index}") for index in range(len(network.groups))]
        self._group_of = {port: (i, side) for i, g in enumerate(network.groups) for port, side in g.sides}
        self._bends = self._links()
        cost: list[cp_model.LinearExprT] = [_bend_cost(network, link) * b for link, b in self._bends.items()]
        for index, group in enumerate(network.groups):
            cost += [w * self._turned[index] for w in [_turn_cost(network, group.place)] if w]
            cost += [3 * self._looks_right(port) for port, _ in group.sides if _is_entrance(network, port)]
        self._cost = sum(cost)
        self._chains = circle_chains(network)

    def _looks_right(self, port: End) -> cp_model.LiteralT:
        index, side = self._group_of[port]
        return ~self._turned[index] if side > 0 else self._turned[index]

    def _links(self) -> dict[Link, cp_model.IntVar]:
        model, network = self._model, self._network
        places = list(dict.fromkeys(group.place for group in network.groups))
        column = {place: model.new_int_var(0, len(places), place) for place in places}
        bends = {}
        for link in network.links:
            one, other = self._looks_right(link.one), self._looks_right(link.other)
            bend = bends[link] = model.new_bool_var("bend")
            model.add_bool_xor([one, other, bend])  # an odd number holds: the same way means a bend
            left, right = column[link.one.place], column[link.other.place]
            model.add(right >= left + 1).only_enforce_if([one, ~bend])
            model.add(left >= right + 1).only_enforce_if([~one, ~bend])
        return bends

    def solved(self) -> Facing | None:
        """The best that is not refused; of several the one whose first links do not bend."""
        order = [(variable, 2) for variable in [*self._bends.values(), *self._turned]]
        solver = first_of_best(self._model.clone(), self._cost, order, _EFFORT)
        if solver is None:
            return None
        return _facing(self._network, tuple(solver.boolean_value(turned) for turned in self._turned))

    def refuse(self, found: Facing) -> None:
        """No other with as many bends on each chain: where on a chain it bends makes no difference."""
        counts = [len(found.bends & set(chain)) for chain in self._chains]
        totals = []
        for chain in self._chains:
            total = self._model.new_int_var(0, len(chain), "bends")
            self._model.add(total == sum(self._bends[link] for link in chain))
            totals.append(total)
        self._model.add_forbidden_assignments(totals, [counts])


def _turn_cost(network: Network, place: str) -> int:
    if place in network.fillers:
        return 0
    return 2 if isinstance(network.district.place(place), Track) else 0


def _is_entrance(network: Network, port: End) -> bool:
    if port.place in network.fillers:
        return False
    place = network.district.place(port.place)
    return isinstance(place, Track) and port.end in place.entrances


def _bend_cost(network: Network, link: Link) -> int:
    """Bends are dear between junctions, and a little cheaper at a long track."""
    tracks = [
        place
        for end in (link.one, link.other)
        if end.place not in network.fillers
        for place in [network.district.place(end.place)]
        if isinstance(place, Track)
    ]
    if not tracks:
        return _BEND + 200
    longest = max(track.length for track in network.district.tracks)
    return _BEND - max(50 * track.length // longest for track in tracks)
