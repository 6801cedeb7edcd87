"""Where strings are to be shown, as far as the law leaves it open: where they were, and not far on."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence

from switchsolve.plan import Placed
from switchsolve.rules import Rules, Standing, String
from switchsolve.walking.stops import Stop
from switchsolve.zone import Zone

__all__ = ["wish_after", "wish_at_start"]


def wish_at_start(
    rules: Rules, standing: Standing, names: Sequence[tuple[str, ...]], placed: Iterable[Placed]
) -> dict[int, int]:
    """By string of a starting standing where ``placed`` has it; strings there are listed ``from`` first."""
    at = {frozenset(string.vehicles): string for string in placed}
    wish = {}
    for slot, (string, who) in enumerate(zip(standing.strings, names, strict=True)):
        there = at[frozenset(who)]
        is_turned = bool(string.ways[0] & 1)
        first = string.ways[-1] if is_turned else string.ways[0]
        place = rules.p.puzzle.district.place(there.ways[0].cell.place)
        parts = getattr(place, "parts", ())
        begin = there.offset + sum(part.length for part in parts[: there.ways[0].cell.index])
        x = begin - rules.p.track_start[first >> 1]
        wish[slot] = rules.path_length(string.ways) - rules.length(string.tokens) - x if is_turned else x
    return wish


def wish_after(rules: Rules, before: Standing, points: Sequence[int], stop: Stop) -> Mapping[int, int]:
    """By string of the last standing of ``stop``: those that stand stay where they are shown, what moves does
    not go farther than it must, by much.
    """
    wish = {}
    for slot, origin in enumerate(stop.origin):
        if slot == stop.mover[0]:
            continue
        wish[slot] = _left_at(rules, before, points, stop) if origin == len(points) else points[origin]
    slot = stop.mover[0]
    if slot >= 0 and 0 <= stop.met < len(points):
        wish[slot] = _coupled_at(rules, before, points[stop.met], stop)
    elif slot >= 0 and stop.met < 0:
        is_within = len(stop.actions) == 1 and stop.first.event == "go"
        wish[slot] = _a_little(rules, before, points, stop) if is_within else _not_far(rules, stop)
    return wish


def _a_little(rules: Rules, before: Standing, points: Sequence[int], stop: Stop) -> int:
    """A little beyond where the string, or what went on of it, was shown; within the same cells."""
    first = stop.first
    string, x = before.strings[first.string], points[first.string]
    if first.cut and first.side:
        left = string.tokens[: len(string.tokens) - first.cut]
        x += rules.length(left) - rules.path_length(string.ways[: first.joint])
    more = rules.length(stop.end.strings[stop.mover[0]].tokens) // 2
    return x + more if stop.mover[1] else x - more


def _left_at(rules: Rules, before: Standing, points: Sequence[int], stop: Stop) -> int:
    """Where what a cut leaves stands, if the string stood where it was shown."""
    first = stop.first
    string, x = before.strings[first.string], points[first.string]
    if first.side:
        return x
    return x + rules.length(string.tokens[: first.cut]) - rules.path_length(string.ways[: first.joint])


def _coupled_at(rules: Rules, before: Standing, x: int, stop: Stop) -> int:
    """Where the string stands that has coupled to one that was shown at ``x``."""
    met, whole = before.strings[stop.met], stop.end.strings[stop.mover[0]]
    if stop.mover[1]:
        begin = rules.path_length(whole.ways) - rules.path_length(met.ways)
        x = x if whole.ways[-len(met.ways) :] == met.ways else _turned(rules, met, x)
        return begin + x + rules.length(met.tokens) - rules.length(whole.tokens)
    return x if whole.ways[: len(met.ways)] == met.ways else _turned(rules, met, x)


def _turned(rules: Rules, string: String, x: int) -> int:
    return rules.path_length(string.ways) - rules.length(string.tokens) - x


def _not_far(rules: Rules, stop: Stop) -> int:
    """A little beyond the nearest place at which this stop is made."""
    slot, side = stop.mover
    standing = stop.end
    nodes = 1 + len(standing.strings) * (2 if rules.mirrored else 1)
    zone = Zone(list(standing.zone), nodes, rules.mirrored)
    low, high = -zone.most(slot, -1), zone.most(slot, 1)
    more = min((high - low) // 2, rules.length(standing.strings[slot].tokens[:1]) // 3)
    return low + more if side else high - more
