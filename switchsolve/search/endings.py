"""All standings in which the work is done, for searches that start from the goal.

Strings in one cell count as one, so what is listed is: for every track the order of its cars and the cells
they lie over (:mod:`switchsolve.search.arranging`), and where the locomotive is.  Each is checked for room
and spots, position by position (:mod:`switchsolve.search.lying`).
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterator
from dataclasses import replace

from switchsolve.goal import Goal
from switchsolve.packing import PackedTrain
from switchsolve.rules import Rules, Standing, String, reverse_string
from switchsolve.search.arranging import TooManyEndings, arrangements, car_counts, orders
from switchsolve.search.lying import Group, Wanted, fits
from switchsolve.search.runs import LongestRuns, RunState

__all__ = ["TooManyEndings", "endings"]


def endings(
    rules: Rules,
    runs: LongestRuns,
    most: int,
    kept: Counter[int] | None = None,
    look: Callable[[], None] = lambda: None,
) -> list[RunState]:
    """Every goal standing as the two states from which it can be undone.

    ``kept``: how many cars of each class there are (``None``: all; the others are left out of the work).
    ``look`` is called now and then, and may raise.  Raises :class:`TooManyEndings`.
    """
    found: set[RunState] = set()
    start = next(rules.starts(), None)
    if start is None:
        return []
    counts = car_counts(rules.p) if kept is None else kept
    rows = list(_wanted_rows(rules, start, counts))
    for groups in arrangements(rules, most, counts, look):
        for strings in _with_locomotive(rules, groups, rows):
            mine = next(s for s in strings if any(rules.is_loco[token] for token in s.tokens))
            others = tuple(sorted(runs.turned(s) for s in strings if s is not mine))
            found.add((others, mine))
            found.add((others, reverse_string(mine, rules.is_loco)))
            if len(found) > most:
                raise TooManyEndings
    return sorted(found)


# ---- the locomotive, with what leaves with it


Row = tuple[tuple[int, ...], tuple[int, ...]]
"""Tokens of the locomotive's string, and the ways over which it stands."""


def _wanted_rows(rules: Rules, start: Standing, counts: Counter[int]) -> Iterator[Row]:
    """The locomotive's string, without cars that stay, in every order and place in which the work is done."""
    goal = Goal(rules)
    last_stays = not any(rules.p.classes[number].is_last for number in counts)
    trains = [replace(train, has_last=False) if last_stays else train for train in rules.p.trains]
    allowed = _allowed(rules, trains)
    for tokens in _trains(rules, start, counts):
        for ways in _paths(rules, rules.length(tokens), allowed):
            if _is_wanted(rules, goal, trains, start, ways, tokens):
                yield tokens, ways


def _with_locomotive(rules: Rules, groups: tuple[Group, ...], rows: list[Row]) -> Iterator[list[String]]:
    occupied = {way >> 1: group for group in groups for way in group.ways}
    blocked = {other for cell in occupied for other in rules.p.conflicts[cell]}
    for tokens, ways in rows:
        if not any(way >> 1 in blocked for way in ways):
            yield from _joined_up(rules, groups, occupied, String(ways, tokens))


def _trains(rules: Rules, start: Standing, counts: Counter[int]) -> Iterator[tuple[int, ...]]:
    """The locomotive with its train, in every order (how it is made up is tested with the place)."""
    own = next(token for string in start.strings for token in string.tokens if rules.is_loco[token])
    leaving: Counter[Wanted] = Counter()
    for number, count in counts.items():
        if rules.p.classes[number].train >= 0:
            leaving[(2 * number, None)] += count
    for order in orders(leaving):
        row = tuple(token for token, _ in order)
        for at in range(len(row) + 1):
            for nose in (own, own ^ 1):
                yield (*row[:at], nose, *row[at:])


def _allowed(rules: Rules, trains: list[PackedTrain]) -> frozenset[int]:
    """The cells in which the work lets the locomotive's string end."""
    tracks = [train.track for train in trains]
    tracks += [item.track for item in rules.p.locomotive_ends if item.track is not None]
    allowed = frozenset(range(len(rules.lengths)))
    for track in tracks:
        allowed &= rules.p.cells_of_track.get(track, frozenset())
    return allowed


def _paths(rules: Rules, length: int, allowed: frozenset[int]) -> Iterator[tuple[int, ...]]:
    """Every row of ``allowed`` cells over which a string of that length can stand, in both directions."""
    for first in range(2 * len(rules.lengths)):
        if first >> 1 not in allowed:
            continue
        stack: list[tuple[tuple[int, ...], int]] = [((first,), 0)]
        while stack:
            ways, between = stack.pop()
            if length <= rules.path_length(ways) and (len(ways) == 1 or between + 2 <= length):
                yield ways
            inner = between + (rules.lengths[ways[-1] >> 1] if len(ways) > 1 else 0)
            if inner + 2 <= length:  # it touches both end cells, one grid unit at least
                ahead = rules.p.ahead(ways[-1], ())
                stack.extend(((*ways, way), inner) for way in ahead if way >> 1 in allowed)


def _is_wanted(
    rules: Rules,
    goal: Goal,
    trains: list[PackedTrain],
    start: Standing,
    ways: tuple[int, ...],
    tokens: tuple[int, ...],
) -> bool:
    """Whether the string is made up and placed as the work wants it."""
    p = rules.p
    string = String(ways, tokens)
    if rules.orientation is not None and _has_turned(rules, rules.orientation, start, string):
        return False
    for train in trains:
        if not goal._is_made_up(train, string, 0, len(tokens)):
            return False
        cells = p.cells_of_track.get(train.track, frozenset())
        if not all(way >> 1 in cells for way in ways):
            return False
    for item in p.locomotive_ends:
        if item.track is None:
            continue
        cells = p.cells_of_track.get(item.track, frozenset())
        if not all(way >> 1 in cells for way in ways):
            return False
        own = next(token for token in tokens if rules.is_loco[token])
        points_to = bool(own & 1) == bool(ways[0] & 1)
        if item.heads is not None and points_to != (item.heads == "to"):
            return False
    return True


def _has_turned(rules: Rules, orientation: tuple[int, ...], start: Standing, string: String) -> bool:
    """Whether the locomotive heads the other way than at the start, where nothing can turn it."""
    own = next(token for token in string.tokens if rules.is_loco[token])
    first, token = next((s, t) for s in start.strings for t in s.tokens if rules.is_loco[t])
    is_along = (string.ways[0] & 1) == orientation[string.ways[0] >> 1]
    was_along = (first.ways[0] & 1) == orientation[first.ways[0] >> 1]
    return ((own & 1) != (token & 1)) != (is_along != was_along)


def _joined_up(
    rules: Rules, groups: tuple[Group, ...], occupied: dict[int, Group], mine: String
) -> Iterator[list[String]]:
    """The locomotive's string among the cars whose cells it shares, or that it is coupled to across the edge
    of a cell.
    """
    if any(way >> 1 in occupied for way in mine.ways[1:-1]):
        return
    behind = _along_end(rules, occupied, mine.ways[0] ^ 1)
    ahead = _along_end(rules, occupied, mine.ways[-1])
    for tail in behind:
        for head in ahead:
            whole = _whole(rules, tail, head, mine)
            if whole is not None:
                joined = {id(group) for group in (tail.group, head.group) if group is not None}
                others = [
                    String(group.ways, tuple(token for token, _ in group.cars))
                    for group in groups
                    if id(group) not in joined
                ]
                yield [*others, whole]


class _Beside:
    """Cars that the locomotive's string is coupled to at one end: the cars ``first``, ``first + 1``... of
    ``group`` outwards.

    ``ways``: the group's cells outwards.  ``is_shared``: in the very cell of that end (else across its
    edge).  ``group`` None: nothing.
    """

    __slots__ = ("cars", "group", "is_shared", "ways")

    def __init__(
        self, group: Group | None, ways: tuple[int, ...], cars: tuple[int, ...], is_shared: bool
    ) -> None:
        self.group = group
        self.ways = ways
        self.cars = cars
        self.is_shared = is_shared


def _along_end(rules: Rules, occupied: dict[int, Group], way: int) -> list[_Beside]:
    """What may be coupled at the end of a string that faces along ``way``."""
    own = occupied.get(way >> 1)
    if own is not None:
        order = tuple(range(len(own.cars)))
        is_along = way in own.ways
        order = order if is_along else order[::-1]
        ways = own.ways if is_along else tuple(w ^ 1 for w in reversed(own.ways))
        return [_Beside(own, ways, order[n:], True) for n in range(len(order) + 1)]
    found = [_Beside(None, (), (), False)]
    for following in rules.p.ahead(way, rules.p.start_lined):
        group = occupied.get(following >> 1)
        if group is None:
            continue
        ways = group.ways if following in group.ways else tuple(w ^ 1 for w in reversed(group.ways))
        order = tuple(range(len(group.cars)))
        if ways[0] == following:
            found.append(_Beside(group, ways, order if following in group.ways else order[::-1], False))
    return found


def _whole(rules: Rules, tail: _Beside, head: _Beside, mine: String) -> String | None:
    """The string made of the cars behind, the locomotive's string and the cars ahead, if it has room."""
    if tail.group is not None and tail.group is head.group:
        if not (tail.is_shared and head.is_shared) or set(tail.cars) & set(head.cars):
            return None
        if len(tail.cars) + len(head.cars) != len(tail.group.cars):
            return None
    else:
        for beside in (tail, head):
            if beside.group is not None and len(beside.cars) != len(beside.group.cars):
                return None
    ways = mine.ways
    if head.group is not None:
        ways = _reaching(ways, head.ways, head.is_shared)
    if tail.group is not None:
        back = tuple(w ^ 1 for w in reversed(ways))
        ways = tuple(w ^ 1 for w in reversed(_reaching(back, tail.ways, tail.is_shared)))
    before = [(tail.group, i) for i in reversed(tail.cars)] if tail.group is not None else []
    after = [(head.group, i) for i in head.cars] if head.group is not None else []
    tokens = (
        *(group.cars[i][0] for group, i in before),
        *mine.tokens,
        *(group.cars[i][0] for group, i in after),
    )
    row: list[tuple[Group, int] | None] = [*before, None, *after]
    whole = String(ways, tokens)
    touches = (bool(before) and not tail.is_shared, bool(after) and not head.is_shared)
    return whole if fits(rules, whole, row, mine, touches) else None


def _reaching(ways: tuple[int, ...], outwards: tuple[int, ...], is_shared: bool) -> tuple[int, ...]:
    """``ways`` carried on over a group's cells at its head (those already in it left out)."""
    if not is_shared:
        return ways + outwards
    at = outwards.index(ways[-1])
    rest = outwards[at + 1 :]
    lead = outwards[:at]
    return (*lead, *ways, *rest) if len(ways) == 1 else ways + rest
