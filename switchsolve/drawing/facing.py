"""Which way each piece faces: an exact choice by CP-SAT.

Wanted: a link joins a port that looks right to one that looks left, and everything runs from left to
right.  Where that cannot be (a wye, a balloon loop, an oval), the rail bends round at a link; as few links
as possible bend, and rather at a long track.  Then tracks lie as the file reads them, ``from`` at the left.
"""

from __future__ import annotations

from dataclasses import dataclass

from switchsolve.district import End, Track
from switchsolve.drawing.network import Link, Network

__all__ = ["Facing", "face"]

_BEND = 1000
"""Cost of a bend; a track that lies from right to left costs 2, an entrance at the right 3."""
_EFFORT = 1.0
"""Deterministic seconds for the choice."""


@dataclass(frozen=True, slots=True)
class Facing:
    """``looks``: for each port +1 if its rail leaves the piece to the right, -1 to the left.

    ``bends``: the links at which the rail turns round.
    """

    looks: dict[End, int]
    bends: frozenset[Link]


def face(network: Network) -> Facing:
    """The best facing of every piece; the same for the same network."""
    from ortools.sat.python import cp_model

    model = cp_model.CpModel()
    turned = [model.new_bool_var(f"turned {index}") for index in range(len(network.groups))]
    group_of = {port: (index, side) for index, g in enumerate(network.groups) for port, side in g.sides}
    places = list(dict.fromkeys(group.place for group in network.groups))
    column = {place: model.new_int_var(0, len(places), place) for place in places}

    def looks_right(port: End) -> cp_model.LiteralT:
        index, side = group_of[port]
        return ~turned[index] if side > 0 else turned[index]

    bends = {}
    for link in network.links:
        one, other = looks_right(link.one), looks_right(link.other)
        bend = bends[link] = model.new_bool_var("bend")
        model.add_bool_xor([one, other, bend])  # an odd number holds: the same way means a bend
        left, right = column[link.one.place], column[link.other.place]
        model.add(right >= left + 1).only_enforce_if([one, ~bend])
        model.add(left >= right + 1).only_enforce_if([~one, ~bend])
    cost: list[cp_model.LinearExprT] = [_bend_cost(network, link) * bend for link, bend in bends.items()]
    for index, group in enumerate(network.groups):
        cost += [weight * turned[index] for weight in [_turn_cost(network, group.place)] if weight]
        cost += [3 * looks_right(port) for port, _ in group.sides if _is_entrance(network, port)]
    model.minimize(sum(cost))
    solver = cp_model.CpSolver()
    solver.parameters.catch_sigint_signal = False  # Ctrl-C is for the caller
    solver.parameters.num_workers = 1
    solver.parameters.random_seed = 0
    solver.parameters.max_deterministic_time = _EFFORT
    status = solver.solve(model)
    assert status in (cp_model.OPTIMAL, cp_model.FEASIBLE), "every network can be faced: any link may bend"
    looks = {
        port: side * (-1 if solver.boolean_value(turned[index]) else 1)
        for port, (index, side) in group_of.items()
    }
    return Facing(looks, frozenset(link for link in network.links if looks[link.one] == looks[link.other]))


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
