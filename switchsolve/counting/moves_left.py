"""A lower bound on the moves left, for every standing that plans of so many moves can come to.

Positions are left out of account: from a standing leads whatever leads from it in any of its positions..
 So the bound may be too low, never too high.
"""

from __future__ import annotations

from collections import deque

from switchsolve.counting.refusing import Meter
from switchsolve.goal import Goal
from switchsolve.rules import Rules, Standing

__all__ = ["moves_left"]

Key = tuple[object, ...]


def moves_left(rules: Rules, goal: Goal, most_moves: int, meter: Meter) -> dict[Key, int]:
    """By :attr:`~switchsolve.rules.Standing.key`: no fewer moves do the rest of the work.

    Standings from which it cannot be done, and those that take more than ``most_moves`` from the start, may
    be left out.  Raises :class:`~switchsolve.counting.Refused`.
    """
    before: dict[Key, set[tuple[Key, int]]] = {}
    done: list[Key] = []
    zones: dict[Key, list[tuple[int, ...]]] = {}
    layers: list[deque[Standing]] = [deque() for _ in range(most_moves + 1)]

    def offer(standing: Standing, moves: int) -> None:
        known = zones.setdefault(standing.key, [])
        if any(_is_within(standing.zone, zone) for zone in known):  # reached before, with no more moves
            return
        known[:] = [zone for zone in known if not _is_within(zone, standing.zone)]
        known.append(standing.zone)
        layers[moves].append(standing)

    for start in rules.starts():
        offer(start, 0)
    for moves, layer in enumerate(layers):
        while layer:
            standing = layer.popleft()
            if standing.zone not in zones[standing.key]:
                continue
            meter()
            if goal.met(standing) is not None:
                done.append(standing.key)
            for _, after, cost in rules.actions(standing):
                if moves + cost.moves <= most_moves:
                    before.setdefault(after.key, set()).add((standing.key, cost.moves))
                    offer(after, moves + cost.moves)
    return _backwards(before, done)


def _backwards(before: dict[Key, set[tuple[Key, int]]], done: list[Key]) -> dict[Key, int]:
    left: dict[Key, int] = {}
    layer, moves = done, 0
    while layer:
        following: list[Key] = []
        while layer:
            key = layer.pop()
            if key in left:
                continue
            left[key] = moves
            for earlier, cost in before.get(key, ()):
                (following if cost else layer).append(earlier)
        layer, moves = following, moves + 1
    return left


def _is_within(inner: tuple[int, ...], outer: tuple[int, ...]) -> bool:
    return all(a <= b for a, b in zip(inner, outer, strict=True))
