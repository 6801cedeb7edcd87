"""Distances by the law itself, plain.

Two ways.  **Backwards** is one search for all: time turned round, a run is a run of the same kind and as many
moves long, a coupling is a cut and a cut a coupling.  First everything is found that can be reached from any
clear standing (directions of motion left out of account); in it all positions in which the work is done; from
these one search spreads as if the work were to be undone.  **Forwards** is one search for each standing.

Backwards is not exact with limits on the moving string, which bind a run and its reverse in different ways,
nor with cars that are exempt from keeping a part clear until they first move
(:func:`~switchsolve.search.exact.why_one_way_only`).

Zones that hold a larger one are dropped, as in :mod:`switchsolve.search.events`, which also says why a
standing may be dropped that differs in the directions of ``k`` last motions only and costs ``k`` moves more.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Iterable, Iterator

from switchsolve.counting.refusing import Meter
from switchsolve.counting.standings import ClearStanding, CoupledRows, Distances, Standings, rows_joined
from switchsolve.goal import Goal
from switchsolve.rules import Rules, Standing
from switchsolve.search.events import EventNode, search_events

__all__ = ["backwards", "forwards", "from_its_start", "moves_from"]

_Zones = dict[tuple[object, ...], list[tuple[Standing, int]]]


def backwards(standings: Standings, every: list[ClearStanding], meter: Meter) -> Distances:
    """Distances of ``every`` clear standing.  Raises :class:`~switchsolve.counting.Refused`."""
    rules = standings.rules
    meter.doing = "what can be reached"
    reached = _reachable(rules, (one for clear in every for one in standings.placed(clear)), meter)
    goal = Goal(rules)
    done = [
        _stopped(rules, standing)._replace(zone=zone)
        for standing in reached
        for zone in goal.zones_met(standing)
    ]
    meter.doing = "distances"
    found: Distances = {}
    for standing, moves in _spread(rules, done, meter):
        rows = standings.of(standing)
        if rows is not None and rules.at_rest(standing) is not None:
            found.setdefault(rows_joined(rows), (moves, rows))
    return found


def forwards(standings: Standings, every: list[ClearStanding], meter: Meter) -> Distances:
    """The same, by one search from each clear standing, coupled in every way at once."""
    meter.doing = "distances"
    goal = Goal(standings.rules)
    nearest = {clear: moves_from(standings, goal, clear, None, meter) for clear in every}
    return {clear: found for clear, found in nearest.items() if found is not None}


def moves_from(
    standings: Standings, goal: Goal, clear: ClearStanding, most_moves: int | None, meter: Meter
) -> tuple[int, CoupledRows] | None:
    """The fewest moves from a clear standing, and a way of coupling it that needs no more.

    ``None``: it takes more than ``most_moves``, or cannot be done.
    """

    def count(expanded: int) -> str | None:
        meter()
        return None

    starts = standings.placed(clear)
    result = search_events(standings.rules, goal, starts=starts, most_moves=most_moves, should_stop=count)
    return None if result.node is None else from_its_start(standings, result.node)


def from_its_start(standings: Standings, node: EventNode) -> tuple[int, CoupledRows]:
    """The moves up to ``node``, and how the clear standing was coupled from which it was reached."""
    root = node
    while root.parent is not None:
        root = root.parent
    rows = standings.of(root.standing)
    assert rows is not None
    return node.cost.moves, rows


# ---- the two sweeps


def _stopped(rules: Rules, standing: Standing) -> Standing:
    return standing._replace(last=(0,) * len(rules.p.loco_names), moving=(-1, -1))


def _is_within(inner: tuple[int, ...], outer: tuple[int, ...]) -> bool:
    return all(a <= b for a, b in zip(inner, outer, strict=True))


def _reachable(rules: Rules, starts: Iterable[Standing], meter: Meter) -> list[Standing]:
    """Standings whose zones together are all that can be reached from ``starts``, in any number of moves."""
    zones: _Zones = {}
    waiting: deque[Standing] = deque()

    def offer(standing: Standing) -> None:
        known = zones.setdefault(standing.place, [])
        if not any(_is_within(standing.zone, one.zone) for one, _ in known):
            known[:] = [entry for entry in known if not _is_within(entry[0].zone, standing.zone)]
            known.append((standing, 0))
            waiting.append(standing)

    for start in starts:
        offer(start)
    while waiting:
        standing = waiting.popleft()
        if not any(one is standing for one, _ in zones[standing.place]):
            continue
        meter()
        for _, following, _ in rules.actions(standing):
            offer(following._replace(last=standing.last))
    return [standing for known in zones.values() for standing, _ in known]


def _spread(rules: Rules, starts: list[Standing], meter: Meter) -> Iterator[tuple[Standing, int]]:
    """Every standing that can be reached from ``starts``, with its least moves, the nearest first."""
    zones: _Zones = {}
    layers: dict[int, deque[Standing]] = {0: deque()}

    def offer(standing: Standing, moves: int) -> None:
        known = zones.setdefault(standing.place, [])
        if any(_does_no_worse(one, cost, standing, moves) for one, cost in known):
            return
        known[:] = [entry for entry in known if not _does_no_worse(standing, moves, *entry)]
        known.append((standing, moves))
        layers.setdefault(moves, deque()).append(standing)

    for start in starts:
        offer(start, 0)
    while layers:
        moves = min(layers)
        layer = layers[moves]
        while layer:
            standing = layer.popleft()
            if not any(one is standing for one, _ in zones[standing.place]):
                continue
            meter()
            yield standing, moves
            for _, following, cost in rules.actions(standing):
                offer(following, moves + cost.moves)
        del layers[moves]


def _does_no_worse(one: Standing, moves: int, other: Standing, others: int) -> bool:
    """Whether ``one``, equal but for zone and directions, can do all that ``other`` can, as cheaply."""
    turned = sum(a != b and b != 0 for a, b in zip(one.last, other.last, strict=True))
    return moves + turned <= others and _is_within(other.zone, one.zone)
