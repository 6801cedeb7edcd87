"""A standing as longest runs see it: strings in one cell are one."""

from __future__ import annotations

from itertools import pairwise

from switchsolve.rules import Rules, Standing, String, reverse_string

__all__ = ["merged"]


def merged(rules: Rules, standing: Standing) -> list[String]:
    """The strings of a standing, those that share a cell joined in their order along the rail."""
    joins = _joins(standing)
    left = set(range(len(standing.strings)))
    found = []
    while left:
        slot = min(left)
        side = 0
        seen = {slot}
        while (slot, side) in joins and joins[slot, side][0] not in seen:
            slot, entered = joins[slot, side]
            seen.add(slot)
            side = 1 - entered
        found.append(_walk(rules, standing, joins, slot, 1 - side, left))
    return found


def _joins(standing: Standing) -> dict[tuple[int, int], tuple[int, int]]:
    """Which string end (slot, side) is followed by which, within one cell."""
    inside = dict(standing.inside)
    by_cell: dict[int, list[tuple[int, int]]] = {}
    for slot, string in enumerate(standing.strings):
        for k, way in enumerate(string.ways):
            by_cell.setdefault(way >> 1, []).append((slot, k))
    joins: dict[tuple[int, int], tuple[int, int]] = {}
    for cell, entries in by_cell.items():
        row: list[tuple[int, int, int]] = []  # slot, its side at the `from` end, its side at the `to` end
        ends: dict[bool, list[tuple[int, int, int]]] = {True: [], False: []}
        singles = []
        for slot, k in entries:
            ways = standing.strings[slot].ways
            up = not ways[k] & 1
            if len(ways) == 1:
                singles.append((slot, 0 if up else 1, 1 if up else 0))
            else:
                reaches_low = k > 0 if up else k < len(ways) - 1
                ends[reaches_low].append((slot, 0 if up else 1, 1 if up else 0))
        order = {slot: at for at, slot in enumerate(inside.get(cell, ()))}
        singles.sort(key=lambda one: order.get(one[0], 0))
        row = [*ends[True], *singles, *ends[False]]
        for low, high in pairwise(row):
            joins[low[0], low[2]] = (high[0], high[1])
            joins[high[0], high[1]] = (low[0], low[2])
    return joins


def _walk(
    rules: Rules,
    standing: Standing,
    joins: dict[tuple[int, int], tuple[int, int]],
    slot: int,
    towards: int,
    left: set[int],
) -> String:
    """Everything joined from string ``slot`` on, as one string listed towards its ``towards`` end."""
    ways: tuple[int, ...] = ()
    tokens: tuple[int, ...] = ()
    while slot in left:
        left.discard(slot)
        string = standing.strings[slot]
        if not towards:
            string = reverse_string(string, rules.is_loco)
        shared = 1 if ways and ways[-1] == string.ways[0] else 0
        ways += string.ways[shared:]
        tokens += string.tokens
        following = joins.get((slot, towards))
        if following is None:
            break
        slot, entered = following
        towards = 1 - entered
    return String(ways, tokens)
