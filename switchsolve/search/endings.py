"""All standings in which the work is done, for searches that start from the goal.

Strings in one cell count as one, so what is listed is: for every track the order of its cars and the cells
they lie over, and where the locomotive is.  Each is checked for room and spots, position by position.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterator
from dataclasses import replace
from itertools import combinations_with_replacement
from math import prod

from switchsolve.goal import Goal
from switchsolve.packing import CarClass, PackedPuzzle, PackedTrain
from switchsolve.rules import Rules, Standing, String, reverse_string
from switchsolve.search.runs import LongestRuns, RunState, closed_spans
from switchsolve.work import Place

__all__ = ["TooManyEndings", "endings"]

Wanted = tuple[int, str | None]
"""A token and the spot it must be at (or ``None``)."""


class TooManyEndings(Exception):
    """There are more goal standings than the caller wants to see."""


class _Group:
    """Cars in order over a row of cells of one track."""

    __slots__ = ("cars", "ways")

    def __init__(self, ways: tuple[int, ...], cars: tuple[Wanted, ...]) -> None:
        self.ways = ways
        self.cars = cars


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
    counts = _car_counts(rules.p) if kept is None else kept
    rows = list(_wanted_rows(rules, start, counts))
    for groups in _arrangements(rules, most, counts, look):
        for strings in _with_locomotive(rules, groups, rows):
            mine = next(s for s in strings if any(rules.is_loco[token] for token in s.tokens))
            others = tuple(sorted(runs.turned(s) for s in strings if s is not mine))
            found.add((others, mine))
            found.add((others, reverse_string(mine, rules.is_loco)))
            if len(found) > most:
                raise TooManyEndings
    return sorted(found)


# ---- cars on tracks


def _arrangements(
    rules: Rules, most: int, counts: Counter[int], look: Callable[[], None]
) -> Iterator[tuple[_Group, ...]]:
    """All ways to have every car that does not leave with the train where it is wanted."""
    seen = 0
    for by_track in _shares(rules, counts):
        look()
        per_track: list[list[tuple[_Group, ...]]] = []
        for track, cars in sorted(by_track.items()):
            ways = []
            for way in _on_track(rules, track, cars, look):
                ways.append(way)
                if len(ways) > most:
                    break  # too many, unless another track has none
            per_track.append(ways)
            if not ways:
                break
        if all(per_track):
            if prod(map(len, per_track)) + seen > most:
                raise TooManyEndings
            for groups in _product(per_track):
                seen += 1
                yield groups


def _product(options: list[list[tuple[_Group, ...]]]) -> Iterator[tuple[_Group, ...]]:
    if not options:
        yield ()
        return
    for first in options[0]:
        for rest in _product(options[1:]):
            yield (*first, *rest)


def _shares(rules: Rules, counts: Counter[int]) -> Iterator[dict[str, Counter[Wanted]]]:
    """Which cars end on which track, class by class; no track has more than it has room for."""
    p = rules.p
    room = {name: sum(rules.lengths[cell] for cell in cells) for name, cells in p.cells_of_track.items()}
    rails = sorted({*(t.name for t in p.puzzle.district.tracks), *(t.name for t in p.puzzle.district.tables)})

    all_there = _car_counts(p)
    spare = [0] * len(p.any_cars)
    for number, what in enumerate(p.classes):
        if what.any_of >= 0:
            spare[what.any_of] += all_there[number] - counts[number]

    def choose(classes: list[int], left: list[int]) -> Iterator[list[tuple[int, Place]]]:
        if not classes:
            # a car left out may be one of those that would have been chosen
            if all(few <= most for few, most in zip(left, spare, strict=True)):
                yield []
            return
        number, rest = classes[0], classes[1:]
        what, count = p.classes[number], counts[classes[0]]
        for places, taken in _places(p, what, count, rails):
            taking = {place.track: 0 for place in places}
            for place in places:
                taking[place.track] += p.token_lengths[2 * number]
            if any(room.get(track, 0) < length for track, length in taking.items()):
                continue
            for track, length in taking.items():
                room[track] -= length
            if taken:
                left[what.any_of] -= taken
            if what.any_of < 0 or left[what.any_of] >= 0:
                for more in choose(rest, left):
                    yield [(number, place) for place in places] + more
            if taken:
                left[what.any_of] += taken
            for track, length in taking.items():
                room[track] += length

    standing = sorted(number for number in counts if p.classes[number].train < 0)
    for chosen in choose(standing, [wanted.count for wanted in p.any_cars]):
        by_track: dict[str, Counter[Wanted]] = {}
        for number, place in chosen:
            by_track.setdefault(place.track, Counter())[(2 * number, place.spot)] += 1
        yield by_track


def _car_counts(p: PackedPuzzle) -> Counter[int]:
    """How many cars of each class there are."""
    return Counter(number for number in p.class_of.values() if not p.classes[number].is_locomotive)


def _places(
    p: PackedPuzzle, what: CarClass, count: int, rails: list[str]
) -> Iterator[tuple[tuple[Place, ...], int]]:
    """Where ``count`` cars of one class may be, and how many of them fill an any-car item."""
    if what.any_of >= 0:
        there = p.any_cars[what.any_of].place
        for taken in range(min(count, p.any_cars[what.any_of].count) + 1):
            for places in combinations_with_replacement(what.places, count - taken):
                yield (there,) * taken + places, taken
        return
    homes = [Place(rail) for rail in rails] if what.free else list(what.places)
    for where in combinations_with_replacement(homes, count):
        yield where, 0


def _on_track(
    rules: Rules, track: str, cars: Counter[Wanted], look: Callable[[], None]
) -> Iterator[tuple[_Group, ...]]:
    """Every order of the cars, over every choice of the track's cells."""
    cells = sorted(rules.p.cells_of_track.get(track, ()))
    clear = set(rules.p.keep_clear_at_end)
    for order in _orders(cars):
        look()
        yield from _over_cells(rules, cells, clear, order, 0)


def _orders(cars: Counter[Wanted]) -> Iterator[tuple[Wanted, ...]]:
    if not cars:
        yield ()
        return
    for car in sorted(cars, key=lambda one: (one[0], one[1] or "")):
        rest = cars.copy()
        rest[car] -= 1
        rest += Counter()
        for more in _orders(rest):
            yield (car, *more)


def _over_cells(
    rules: Rules, cells: list[int], clear: set[int], order: tuple[Wanted, ...], first: int
) -> Iterator[tuple[_Group, ...]]:
    if not order:
        yield ()
        return
    for size in range(1, len(order) + 1):
        for i in range(first, len(cells)):
            for j in range(i, len(cells)):
                if cells[j] in clear or (j > i and not _joined(rules, cells[j - 1], cells[j])):
                    break
                group = _Group(tuple(2 * cell for cell in cells[i : j + 1]), order[:size])
                if _fits(rules, String(group.ways, ()), [(group, n) for n in range(size)], None):
                    for more in _over_cells(rules, cells, clear, order[size:], j + 1):
                        yield (group, *more)


def _joined(rules: Rules, one: int, other: int) -> bool:
    return 2 * other in rules.p.ahead(2 * one, rules.p.start_lined)


# ---- the locomotive, with what leaves with it


Row = tuple[tuple[int, ...], tuple[int, ...]]
"""Tokens of the locomotive's string, and the ways over which it stands."""


def _wanted_rows(rules: Rules, start: Standing, counts: Counter[int]) -> Iterator[Row]:
    """The locomotive's string, without cars that stay, in every order and place in which the work is done."""
    goal = Goal(rules)
    last_stays = not any(rules.p.classes[number].is_last for number in counts)
    trains = [replace(train, has_last=False) if last_stays else train for train in rules.p.trains]
    for tokens in _trains(rules, start, counts):
        for ways in _paths(rules, rules.length(tokens)):
            if _is_wanted(rules, goal, trains, start, ways, tokens):
                yield tokens, ways


def _with_locomotive(rules: Rules, groups: tuple[_Group, ...], rows: list[Row]) -> Iterator[list[String]]:
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
    for order in _orders(leaving):
        row = tuple(token for token, _ in order)
        for at in range(len(row) + 1):
            for nose in (own, own ^ 1):
                yield (*row[:at], nose, *row[at:])


def _paths(rules: Rules, length: int) -> Iterator[tuple[int, ...]]:
    """Every row of cells over which a string of that length can stand, in both directions."""
    for first in range(2 * len(rules.lengths)):
        stack: list[tuple[tuple[int, ...], int]] = [((first,), 0)]
        while stack:
            ways, between = stack.pop()
            if length <= rules.path_length(ways) and (len(ways) == 1 or between + 2 <= length):
                yield ways
            inner = between + (rules.lengths[ways[-1] >> 1] if len(ways) > 1 else 0)
            if inner + 2 <= length:  # it touches both end cells, one grid unit at least
                stack.extend(((*ways, way), inner) for way in rules.p.ahead(ways[-1], ()))


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
    rules: Rules, groups: tuple[_Group, ...], occupied: dict[int, _Group], mine: String
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
        self, group: _Group | None, ways: tuple[int, ...], cars: tuple[int, ...], is_shared: bool
    ) -> None:
        self.group = group
        self.ways = ways
        self.cars = cars
        self.is_shared = is_shared


def _along_end(rules: Rules, occupied: dict[int, _Group], way: int) -> list[_Beside]:
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
    row: list[tuple[_Group, int] | None] = [*before, None, *after]
    whole = String(ways, tokens)
    touches = (bool(before) and not tail.is_shared, bool(after) and not head.is_shared)
    return whole if _fits(rules, whole, row, mine, touches) else None


def _reaching(ways: tuple[int, ...], outwards: tuple[int, ...], is_shared: bool) -> tuple[int, ...]:
    """``ways`` carried on over a group's cells at its head (those already in it left out)."""
    if not is_shared:
        return ways + outwards
    at = outwards.index(ways[-1])
    rest = outwards[at + 1 :]
    lead = outwards[:at]
    return (*lead, *ways, *rest) if len(ways) == 1 else ways + rest


def _fits(
    rules: Rules,
    whole: String,
    row: list[tuple[_Group, int] | None],
    mine: String | None,
    touches: tuple[bool, bool] = (False, False),
) -> bool:
    """Whether each car can lie over its own cells (at its spot) in this order, the locomotive's string
    (``None``) among them.

    ``touches``: whether the string is coupled to the car before and to the car after it across the edge of
    its end cells.
    """
    at = 0
    is_flush = False
    for number, entry in enumerate(row):
        if entry is None:
            assert mine is not None
            low, high, length = _room_of_mine(rules, whole, mine)
            if touches[0]:
                high = min(high, _extent(rules, whole.ways, mine.ways)[0])
            if touches[1]:
                low = max(low, _extent(rules, whole.ways, mine.ways)[1] - length)
        else:
            found = _room_of_car(rules, whole, entry)
            if found is None:
                return False
            low, high, length = found
            if is_flush:
                high = min(high, at)
            if touches[0] and number + 1 < len(row) and row[number + 1] is None:
                assert mine is not None
                low = max(low, _extent(rules, whole.ways, mine.ways)[0] - length)
        at = max(at, low)
        if entry is None and mine is not None:
            at = _clear_of_closed(rules, whole.ways, mine.tokens, at)
        if at > high:
            return False
        at += length
        is_flush = entry is None and touches[1]
    return True


def _clear_of_closed(rules: Rules, ways: tuple[int, ...], tokens: tuple[int, ...], at: int) -> int:
    """The first place from ``at`` on where no vehicle of the row touches a cell closed to it."""
    for low, high in sorted(closed_spans(rules, ways, tokens)):
        if low < at < high:
            at = high
    return at


def _room_of_mine(rules: Rules, whole: String, mine: String) -> tuple[int, int, int]:
    """Least and greatest place of the locomotive's string along the whole path, and its length."""
    begin, end = _extent(rules, whole.ways, mine.ways)
    length = rules.length(mine.tokens)
    low, high = begin, end - length
    if len(mine.ways) > 1:
        low = max(low, end - rules.lengths[mine.ways[-1] >> 1] + 1 - length)
        high = min(high, begin + rules.lengths[mine.ways[0] >> 1] - 1)
    return low, high, length


def _room_of_car(rules: Rules, whole: String, entry: tuple[_Group, int]) -> tuple[int, int, int] | None:
    """Least and greatest place of a car along the whole path, and its length."""
    group, i = entry
    begin, end = _extent(rules, whole.ways, group.ways)
    token, spot = group.cars[i]
    length = rules.token_lengths[token]
    low, high = begin, end - length
    if spot is not None:
        point = _point(rules, whole.ways, group, spot)
        if point is None:
            return None
        low, high = max(low, point - length), min(high, point)
    if not all(rules.p.may_touch[way >> 1][token] for way in group.ways):
        return None
    return low, high, length


def _extent(rules: Rules, ways: tuple[int, ...], part: tuple[int, ...]) -> tuple[int, int]:
    """From where to where along ``ways`` the cells of ``part`` lie."""
    cells = {way >> 1 for way in part}
    begin, found = 0, []
    for way in ways:
        end = begin + rules.lengths[way >> 1]
        if way >> 1 in cells:
            found += [begin, end]
        begin = end
    return min(found), max(found)


def _point(rules: Rules, ways: tuple[int, ...], group: _Group, spot: str) -> int | None:
    """Where along ``ways`` a spot of the group's track lies."""
    p = rules.p
    first = p.cells[group.ways[0] >> 1]
    at = p.puzzle.district.track(first.cell.place).spot(spot).at
    begin = 0
    for way in ways:
        cell, length = way >> 1, rules.lengths[way >> 1]
        if p.cells[cell].cell.place == first.cell.place:
            inside = at - p.track_start[cell]
            if 0 <= inside <= length:
                return begin + (length - inside if way & 1 else inside)
        begin += length
    return None
