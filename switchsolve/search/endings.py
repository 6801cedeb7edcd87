"""All standings in which the work is done, for searches that start from the goal.

Strings in one cell count as one, so what is listed is: for every track the order of its cars and the cells
they lie over (:mod:`switchsolve.search.arranging`), and where the locomotive is.  Each is checked for room
and spots, position by position (:mod:`switchsolve.search.lying`).
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterable, Iterator
from dataclasses import replace
from itertools import chain, pairwise

from switchsolve.goal import Goal
from switchsolve.packing import PackedTrain
from switchsolve.rules import Rules, Standing, String, reverse_string
from switchsolve.search.arranging import TooManyEndings, arrangements, car_counts, orders
from switchsolve.search.lying import Group, Wanted, extent, fits
from switchsolve.search.runs import LongestRuns, RunState

__all__ = ["PlacesMatter", "TooManyEndings", "endings"]


class PlacesMatter(TooManyEndings):
    """The work can be done with cars coupled over the edge between two tracks, and room behind them: a run
    from there could not leave them wherever a state says it could.
    """


def endings(
    rules: Rules,
    runs: LongestRuns,
    most: int,
    kept: Counter[int] | None = None,
    look: Callable[[], None] = lambda: None,
    known: KnownRows | None = None,
    is_strict: bool = True,
) -> list[RunState]:
    """Every goal standing as the two states from which it can be undone.

    ``kept``: how many cars of each class there are (``None``: all; the others are left out of the work).
    ``look`` is called now and then, and may raise.  ``known``: what was worked out for other cars kept, under
    the same rules; more is added.  ``is_strict``: not where a state may mean more than the standing does,
    which would do for a bound only.  Raises :class:`TooManyEndings`, or its :class:`PlacesMatter`.
    """
    found: set[RunState] = set()
    start = next(rules.starts(), None)
    if start is None:
        return []
    counts = car_counts(rules.p) if kept is None else kept
    rows = _known_rows(rules, start, counts, {} if known is None else known)
    for groups in arrangements(rules, most, counts, look):
        standing = sorted(
            (runs.turned(String(group.ways, tuple(token for token, _ in group.cars))), number)
            for number, group in enumerate(groups)
        )
        everybody = tuple(string for string, _ in standing)
        for (mine, turned), joined in _with_locomotive(rules, groups, rows, is_strict):
            others = everybody
            if joined:
                others = tuple(string for string, number in standing if groups[number] not in joined)
            found.add((others, mine))
            found.add((others, turned))
            if len(found) > most:
                raise TooManyEndings
    return sorted(found)


# ---- the locomotive, with what leaves with it


Whole = tuple[String, String]
"""The locomotive's string with what it is coupled to, and the same listed from its other end."""
Key = tuple[tuple[int, ...], tuple[tuple[Wanted, ...], ...], int, bool]


class Row:
    """The locomotive's string, without cars that stay, where the work is done.

    ``cells``: those under it; ``near``: those and all in which cars could be coupled to it.  ``wholes``: by
    what is coupled behind and ahead, the whole string, ``None`` where it has no room.  The same cars stand
    beside it in many endings, so each is worked out once.
    """

    __slots__ = ("cells", "mine", "near", "wholes")

    def __init__(self, rules: Rules, tokens: tuple[int, ...], ways: tuple[int, ...]) -> None:
        self.mine = String(ways, tokens)
        self.cells = frozenset(way >> 1 for way in ways)
        back = tuple(way ^ 1 for way in reversed(ways))
        following = (*rules.p.beyond(back), *rules.p.beyond(ways))
        self.near = self.cells.union(way >> 1 for way in following)
        self.wholes: dict[tuple[Key, Key], Whole | None] = {}


KnownRows = dict[tuple[object, ...], list[Row]]
"""By the cars that leave, and whether a car that must be last is among those kept."""


def _known_rows(rules: Rules, start: Standing, counts: Counter[int], known: KnownRows) -> list[Row]:
    leaving = sorted(item for item in counts.items() if rules.p.classes[item[0]].train >= 0)
    key = (*leaving, any(rules.p.classes[number].is_last for number in counts))
    if key not in known:
        known[key] = [Row(rules, tokens, ways) for tokens, ways in _wanted_rows(rules, start, counts)]
    return known[key]


def _wanted_rows(
    rules: Rules, start: Standing, counts: Counter[int]
) -> Iterator[tuple[tuple[int, ...], tuple[int, ...]]]:
    """Tokens and ways of the locomotive's string, without cars that stay, in every order and place in which
    the work is done.
    """
    goal = Goal(rules)
    last_stays = not any(rules.p.classes[number].is_last for number in counts)
    trains = [replace(train, has_last=False) if last_stays else train for train in rules.p.trains]
    allowed = _allowed(rules, trains)
    own, heading = _own_of_start(rules, start)
    by_side: list[list[tuple[int, ...]]] = []
    seen: set[String] = set()
    for tokens in _trains(rules, start, counts):
        if not by_side:  # trains are as long in every order
            by_side = _by_side(rules, _paths(rules, rules.length(tokens), allowed))
        nose = own & 1 if own in tokens else own & 1 ^ 1
        for ways in chain(*by_side) if heading is None else by_side[nose ^ heading]:
            string = String(ways, tokens)
            if string not in seen and _is_wanted(rules, goal, trains, string):
                seen.add(reverse_string(string, rules.is_loco))  # the same, listed from its other end
                yield tokens, ways


def _with_locomotive(
    rules: Rules, groups: tuple[Group, ...], rows: list[Row], is_strict: bool
) -> Iterator[tuple[Whole, tuple[Group, ...]]]:
    """The locomotive's string in every place among these cars, and the groups that are part of it."""
    occupied = {way >> 1: group for group in groups for way in group.ways}
    blocked = {other for cell in occupied for other in rules.p.conflicts[cell]}
    for row in rows:
        if not row.cells.isdisjoint(blocked):
            continue
        if row.near.isdisjoint(occupied):
            whole = _whole_of(rules, row, _NOTHING, _NOTHING, is_strict)
            if whole is not None:
                yield whole, ()
        else:
            yield from _joined_up(rules, occupied, row, is_strict)


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
                ahead = rules.p.beyond(ways)
                stack.extend(((*ways, way), inner) for way in ahead if way >> 1 in allowed)


def _is_wanted(
    rules: Rules,
    goal: Goal,
    trains: list[PackedTrain],
    string: String,
) -> bool:
    """Whether the string is made up and placed as the work wants it."""
    p = rules.p
    ways, tokens = string
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


def _own_of_start(rules: Rules, start: Standing) -> tuple[int, int | None]:
    """The locomotive's token at the start, and which way it heads; ``None`` where something can turn it."""
    string, own = next((s, t) for s in start.strings for t in s.tokens if rules.is_loco[t])
    if rules.orientation is None:
        return own, None
    return own, own & 1 ^ _side(rules.orientation, string.ways)


def _by_side(rules: Rules, paths: Iterable[tuple[int, ...]]) -> list[list[tuple[int, ...]]]:
    """The paths that lead one way along the district, and the others (all together where there is no such
    thing).
    """
    sides: list[list[tuple[int, ...]]] = [[], []]
    for ways in paths:
        sides[0 if rules.orientation is None else _side(rules.orientation, ways)].append(ways)
    return sides


def _side(orientation: tuple[int, ...], ways: tuple[int, ...]) -> int:
    """Which way along the district a path leads: 0 or 1."""
    return ways[0] & 1 ^ orientation[ways[0] >> 1]


def _joined_up(
    rules: Rules, occupied: dict[int, Group], row: Row, is_strict: bool
) -> Iterator[tuple[Whole, tuple[Group, ...]]]:
    """The locomotive's string among the cars whose cells it shares, or that it is coupled to across the edge
    of a cell, and the groups that these are of.
    """
    ways = row.mine.ways
    if any(way >> 1 in occupied for way in ways[1:-1]):
        return
    behind = _along_end(rules, occupied, tuple(way ^ 1 for way in reversed(ways)))
    ahead = _along_end(rules, occupied, ways)
    for tail in behind:
        for head in ahead:
            whole = _whole_of(rules, row, tail, head, is_strict)
            if whole is not None:
                yield whole, tail.groups + head.groups


def _whole_of(rules: Rules, row: Row, tail: _Beside, head: _Beside, is_strict: bool) -> Whole | None:
    """As :func:`_whole`, listed from both ends, worked out once."""
    key = tail.key, head.key
    if key not in row.wholes:
        whole = _whole(rules, tail, head, row.mine, is_strict)
        row.wholes[key] = None if whole is None else (whole, reverse_string(whole, rules.is_loco))
    return row.wholes[key]


class _Beside:
    """Cars that the locomotive's string is coupled to at one end, outwards: those of ``groups``, one behind
    the other, but for some of the first.

    ``ways``: the groups' cells outwards.  ``is_shared``: the first lies in the very cell of that end (else
    across its edge).  No groups: nothing.
    """

    __slots__ = ("cars", "groups", "is_shared", "key", "ways")

    def __init__(
        self,
        groups: tuple[Group, ...],
        ways: tuple[int, ...],
        cars: tuple[tuple[Group, int], ...],
        is_shared: bool,
    ) -> None:
        self.groups = groups
        self.ways = ways
        self.cars = cars
        self.is_shared = is_shared
        self.key: Key = (ways, tuple(group.cars for group in groups), len(cars), is_shared)

    def of_first(self) -> list[int]:
        """Which cars of the first group these are."""
        return [i for group, i in self.cars if group is self.groups[0]]

    def touches(self) -> bool:
        """Whether the first car is coupled across the edge of a cell."""
        return bool(self.cars) and not (self.is_shared and self.cars[0][0] is self.groups[0])


_NOTHING = _Beside((), (), (), False)


def _along_end(rules: Rules, occupied: dict[int, Group], mine: tuple[int, ...]) -> list[_Beside]:
    """What may be coupled to the head of a string over the ways ``mine``."""
    own = occupied.get(mine[-1] >> 1)
    found = [_NOTHING]
    if own is not None:
        order, ways = _outwards(own, mine[-1])
        found = [
            _Beside((own,), ways, tuple((own, i) for i in order[n:]), True) for n in range(len(order) + 1)
        ]
    at = 0
    while at < len(found):  # and what stands across the edge of the last cell, coupled to that
        beside = found[at]
        at += 1
        row = _reaching(mine, beside.ways, beside.is_shared) if beside.groups else mine
        for following in rules.p.beyond(row):
            group = occupied.get(following >> 1)
            if group is None or group in beside.groups:
                continue
            order, ways = _outwards(group, following)
            if ways[0] == following:
                cars = (*beside.cars, *((group, i) for i in order))
                groups = (*beside.groups, group)
                found.append(_Beside(groups, beside.ways + ways, cars, beside.is_shared))
    return found


def _outwards(group: Group, way: int) -> tuple[tuple[int, ...], tuple[int, ...]]:
    """The numbers of the cars of a group, and its ways, listed along ``way``, one of its cells."""
    order = tuple(range(len(group.cars)))
    if way in group.ways:
        return order, group.ways
    return order[::-1], tuple(w ^ 1 for w in reversed(group.ways))


def _whole(rules: Rules, tail: _Beside, head: _Beside, mine: String, is_strict: bool) -> String | None:
    """The string made of the cars behind, the locomotive's string and the cars ahead, if it has room."""
    if tail.groups and head.groups and tail.groups[0] is head.groups[0]:
        if not (tail.is_shared and head.is_shared):
            return None
        behind, ahead = tail.of_first(), head.of_first()
        if set(behind) & set(ahead) or len(behind) + len(ahead) != len(tail.groups[0].cars):
            return None
        others = tail.groups[1:] + head.groups[1:]
    else:
        for beside in (tail, head):
            if beside.groups and len(beside.of_first()) != len(beside.groups[0].cars):
                return None
        others = tail.groups + head.groups
    if len(set(others)) != len(others):
        return None
    ways = mine.ways
    if head.groups:
        ways = _reaching(ways, head.ways, head.is_shared)
    if tail.groups:
        back = tuple(w ^ 1 for w in reversed(ways))
        ways = tuple(w ^ 1 for w in reversed(_reaching(back, tail.ways, tail.is_shared)))
    before, after = tail.cars[::-1], head.cars
    tokens = (
        *(group.cars[i][0] for group, i in before),
        *mine.tokens,
        *(group.cars[i][0] for group, i in after),
    )
    row: list[tuple[Group, int] | None] = [*before, None, *after]
    whole = String(ways, tokens)
    if not rules.p.table_cells.isdisjoint(way >> 1 for way in ways[1:-1]):
        return None  # a table meets one end at a time
    if not fits(rules, whole, row, mine, (tail.touches(), head.touches())):
        return None
    if is_strict:
        _refuse_room(rules, whole, row, mine, (tail.touches(), head.touches()))
    return whole


def _refuse_room(
    rules: Rules,
    whole: String,
    row: list[tuple[Group, int] | None],
    mine: String,
    touches: tuple[bool, bool],
) -> None:
    """Raises :class:`PlacesMatter` if the string is coupled over an edge, so that its place is given, and a
    run from there could leave cars behind only if it lay farther back.
    """
    own = row.index(None)
    before = next(
        (
            n + 1
            for n, (one, other) in enumerate(pairwise(row))
            if (one is None and touches[1])
            or (other is None and touches[0])
            or (one is not None and other is not None and one[0] is not other[0])
        ),
        None,
    )
    if before is None:
        return
    at = row[before]
    edge = extent(rules, whole.ways, mine.ways if at is None else at[0].ways)[0]
    # the locomotive's string is one entry of the row
    count = before if before <= own else before + len(mine.tokens) - 1
    place = edge - rules.length(whole.tokens[:count])
    back = reverse_string(whole, rules.is_loco)
    for string, begin in (
        (whole, place),
        (back, rules.path_length(whole.ways) - place - rules.length(whole.tokens)),
    ):
        if _would_lie_back(rules, string, begin):
            raise PlacesMatter


def _would_lie_back(rules: Rules, string: String, begin: int) -> bool:
    """Whether cars behind the locomotive, which begin at ``begin``, have room from the first cell on only if
    they begin before.
    """
    loco = next(n for n, token in enumerate(string.tokens) if rules.is_loco[token])
    for size in range(1, loco + 1):
        length = rules.length(string.tokens[:size])
        for cells in range(1, len(string.ways) + 1):
            ways = string.ways[:cells]
            low, high = 0, rules.path_length(ways) - length
            if cells > 1:
                low = max(0, high - rules.lengths[ways[-1] >> 1] + 1)
                high = min(high, rules.lengths[ways[0] >> 1] - 1)
            if low <= high < begin:
                return True
    return False


def _reaching(ways: tuple[int, ...], outwards: tuple[int, ...], is_shared: bool) -> tuple[int, ...]:
    """``ways`` carried on over a group's cells at its head (those already in it left out)."""
    if not is_shared:
        return ways + outwards
    at = outwards.index(ways[-1])
    rest = outwards[at + 1 :]
    lead = outwards[:at]
    return (*lead, *ways, *rest) if len(ways) == 1 else ways + rest
