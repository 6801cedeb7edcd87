"""All standings in which the work is done, for searches that start from the goal.

Strings in one cell count as one, so what is listed is: for every track the order of its cars and the cells they lie over, and
where the locomotive is.  Each is checked for room and spots, position by position.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from itertools import combinations_with_replacement

from switchsolve.packing import CarClass, PackedPuzzle
from switchsolve.rules import Rules, String, reverse_string
from switchsolve.search.runs import LongestRuns, RunState
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


def endings(rules: Rules, runs: LongestRuns, most: int) -> list[RunState]:
    """Every goal standing as the two states from which it can be undone.  Raises :class:`TooManyEndings`."""
    found: set[RunState] = set()
    for groups in _arrangements(rules, most):
        for strings in _with_locomotive(rules, groups):
            mine = next(s for s in strings if any(rules.is_loco[token] for token in s.tokens))
            others = tuple(sorted(runs.turned(s) for s in strings if s is not mine))
            found.add((others, mine))
            found.add((others, reverse_string(mine, rules.is_loco)))
            if len(found) > most:
                raise TooManyEndings
    return sorted(found)


# ---- cars on tracks


def _arrangements(rules: Rules, most: int) -> Iterator[tuple[_Group, ...]]:
    """All ways to have every car that does not leave with the train where it is wanted."""
    seen = 0
    for by_track in _shares(rules.p):
        per_track = [list(_on_track(rules, track, cars)) for track, cars in sorted(by_track.items())]
        for groups in _product(per_track):
            seen += 1
            if seen > most:
                raise TooManyEndings
            yield groups


def _product(options: list[list[tuple[_Group, ...]]]) -> Iterator[tuple[_Group, ...]]:
    if not options:
        yield ()
        return
    for first in options[0]:
        for rest in _product(options[1:]):
            yield (*first, *rest)


def _shares(p: PackedPuzzle) -> Iterator[dict[str, Counter[Wanted]]]:
    """Which cars end on which track, class by class."""
    counts = _car_counts(p)
    rails = sorted({*(t.name for t in p.puzzle.district.tracks), *(t.name for t in p.puzzle.district.tables)})

    def choose(classes: list[int], left: list[int]) -> Iterator[list[tuple[int, Place]]]:
        if not classes:
            if not any(left):
                yield []
            return
        number, rest = classes[0], classes[1:]
        what, count = p.classes[number], counts[classes[0]]
        for places, taken in _places(p, what, count, rails):
            if taken:
                left[what.any_of] -= taken
            if what.any_of < 0 or left[what.any_of] >= 0:
                for more in choose(rest, left):
                    yield [(number, place) for place in places] + more
            if taken:
                left[what.any_of] += taken

    for chosen in choose(sorted(counts), [wanted.count for wanted in p.any_cars]):
        by_track: dict[str, Counter[Wanted]] = {}
        for number, place in chosen:
            by_track.setdefault(place.track, Counter())[(2 * number, place.spot)] += 1
        yield by_track


def _car_counts(p: PackedPuzzle) -> dict[int, int]:
    counts: Counter[int] = Counter()
    for string in p.puzzle.start.strings:
        for name in string.vehicles:
            if name in p.class_of:
                what = p.classes[p.class_of[name]]
                if not what.is_locomotive and what.train < 0:
                    counts[p.class_of[name]] += 1
    return counts


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


def _on_track(rules: Rules, track: str, cars: Counter[Wanted]) -> Iterator[tuple[_Group, ...]]:
    """Every order of the cars, over every choice of the track's cells."""
    cells = sorted(rules.p.cells_of_track.get(track, ()))
    clear = set(rules.p.keep_clear_at_end)
    for order in _orders(cars):
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
                if _fits(rules, String(group.ways, ()), [(group, 0)], None):
                    for more in _over_cells(rules, cells, clear, order[size:], j + 1):
                        yield (group, *more)


def _joined(rules: Rules, one: int, other: int) -> bool:
    return 2 * other in rules.p.ahead(2 * one, rules.p.start_lined)


# ---- the locomotive, with what leaves with it


def _with_locomotive(rules: Rules, groups: tuple[_Group, ...]) -> Iterator[list[String]]:
    occupied = {way >> 1: group for group in groups for way in group.ways}
    blocked = {other for cell in occupied for other in rules.p.conflicts[cell]}
    for tokens in _trains(rules):
        for ways in _paths(rules, rules.length(tokens), blocked):
            if not _is_wanted(rules, ways, tokens):
                continue
            yield from _joined_up(rules, groups, occupied, String(ways, tokens))


def _trains(rules: Rules) -> Iterator[tuple[int, ...]]:
    """The locomotive with its train, in every order (how it is made up is tested with the place)."""
    p = rules.p
    start = next(token for token in _all_start_tokens(rules) if rules.is_loco[token])
    counts: Counter[Wanted] = Counter()
    for string in p.puzzle.start.strings:
        for name in string.vehicles:
            if name in p.class_of and p.classes[p.class_of[name]].train >= 0:
                counts[(2 * p.class_of[name], None)] += 1
    noses = (start, start ^ 1)
    for order in _orders(counts):
        row = tuple(token for token, _ in order)
        for at in range(len(row) + 1):
            for nose in noses:
                yield (*row[:at], nose, *row[at:])


def _all_start_tokens(rules: Rules) -> list[int]:
    return [token for string in next(rules.starts()).strings for token in string.tokens]


def _paths(rules: Rules, length: int, blocked: set[int]) -> Iterator[tuple[int, ...]]:
    """Every row of cells over which a string of that length can stand, in both directions."""
    for first in range(2 * len(rules.lengths)):
        stack = [((first,), 0)]
        while stack:
            ways, between = stack.pop()
            if ways[-1] >> 1 in blocked:
                continue
            if between < length <= rules.path_length(ways) or (len(ways) == 1 and length <= rules.path_length(ways)):
                yield ways
            inner = between + (rules.lengths[ways[-1] >> 1] if len(ways) > 1 else 0)
            if inner < length:
                stack.extend(((*ways, way), inner) for way in rules.p.ahead(ways[-1], ()))


def _is_wanted(rules: Rules, ways: tuple[int, ...], tokens: tuple[int, ...]) -> bool:
    """Whether the string is made up and placed as the work wants it."""
    p = rules.p
    from switchsolve.goal import Goal

    goal = Goal(rules)
    string = String(ways, tokens)
    if rules.orientation is not None:
        canonical = (ways[0] & 1) == rules.orientation[ways[0] >> 1]
        start: tuple[String, int] = next(
            (s, t) for s in next(rules.starts()).strings for t in s.tokens if rules.is_loco[t]
        )
        own = next(token for token in tokens if rules.is_loco[token])
        start_canonical = (start[0].ways[0] & 1) == rules.orientation[start[0].ways[0] >> 1]
        if ((own & 1) != (start[1] & 1)) != (canonical != start_canonical):
            return False
    for train in p.trains:
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


def _joined_up(
    rules: Rules, groups: tuple[_Group, ...], occupied: dict[int, _Group], mine: String
) -> Iterator[list[String]]:
    """The locomotive's string among the cars whose cells it shares: every order that has room."""
    if any(way >> 1 in occupied for way in mine.ways[1:-1]):
        return
    shared = []
    for way in dict.fromkeys((mine.ways[0], mine.ways[-1])):
        group = occupied.get(way >> 1)
        if group is not None and group not in shared:
            shared.append(group)
    others = [String(group.ways, tuple(t for t, _ in group.cars)) for group in groups if group not in shared]
    if not shared:
        if runs_fit(rules, mine):
            yield [*others, mine]
        return
    for split in _splits([len(group.cars) for group in shared]):
        whole = _whole(rules, shared, split, mine)
        if whole is not None:
            yield [*others, whole]


def runs_fit(rules: Rules, string: String) -> bool:
    """Whether a string by itself can stand over these cells off all that is closed to its vehicles."""
    return LongestRuns(rules).fits(string.ways, string.tokens)


def _splits(sizes: list[int]) -> Iterator[tuple[int, ...]]:
    if not sizes:
        yield ()
        return
    for first in range(sizes[0] + 1):
        for rest in _splits(sizes[1:]):
            yield (first, *rest)


def _whole(rules: Rules, shared: list[_Group], split: tuple[int, ...], mine: String) -> String | None:
    """The cars before the split behind the locomotive's string, the others ahead of it, along ``mine``'s direction."""
    before: list[tuple[_Group, int]] = []
    after: list[tuple[_Group, int]] = []
    ways = mine.ways
    for group, at in zip(shared, split, strict=True):
        along = group.ways if any(way in mine.ways for way in group.ways) else tuple(w ^ 1 for w in reversed(group.ways))
        flipped = along != group.ways
        indexes = list(range(len(group.cars)))
        if flipped:
            indexes.reverse()
        before += [(group, i) for i in indexes[:at]]
        after += [(group, i) for i in indexes[at:]]
        joined = _union(ways, along)
        if joined is None:
            return None
        ways = joined
    if len(shared) == 2 and (split[0] != len(shared[0].cars) or split[1] != 0):
        return None
    tokens = (
        *(group.cars[i][0] for group, i in before),
        *mine.tokens,
        *(group.cars[i][0] for group, i in after),
    )
    whole = String(ways, tokens)
    cars: list[tuple[_Group, int] | None] = [*before, *[None] * 1, *after]
    return whole if _fits(rules, whole, cars, mine) else None


def _union(one: tuple[int, ...], other: tuple[int, ...]) -> tuple[int, ...] | None:
    """One path that covers two overlapping paths run in the same direction."""
    for first, second in ((one, other), (other, one)):
        for k, way in enumerate(first):
            if way == second[0]:
                n = min(len(first) - k, len(second))
                if first[k : k + n] == second[:n]:
                    return first + second[n:]
    return None


def _fits(
    rules: Rules, whole: String, cars: list[tuple[_Group, int] | None] | list[tuple[_Group, int]], mine: String | None
) -> bool:
    """Whether each car can lie over its own cells (at its spot) in this order, the locomotive's string among them.

    With ``mine`` None the row is all cars of the one group named in ``cars``.
    """
    row: list[tuple[_Group, int] | None]
    row = [(cars[0][0], i) for i in range(len(cars[0][0].cars))] if mine is None and cars[0] else list(cars)
    at = 0
    for entry in row:
        if entry is None:
            assert mine is not None
            span = _extent(rules, whole.ways, mine.ways)
            length = rules.length(mine.tokens)
            low, high = span[0], span[1] - length
            if len(mine.ways) > 1:
                low = max(low, span[1] - rules.lengths[mine.ways[-1] >> 1] + 1 - length)
                high = min(high, span[0] + rules.lengths[mine.ways[0] >> 1] - 1)
        else:
            group, i = entry
            span = _extent(rules, whole.ways, group.ways)
            token, spot = group.cars[i]
            length = rules.token_lengths[token]
            low, high = span[0], span[1] - length
            if spot is not None:
                point = _point(rules, whole.ways, group, spot)
                if point is None:
                    return False
                low, high = max(low, point - length), min(high, point)
            if not all(rules.p.may_touch[way >> 1][token] for way in group.ways):
                return False
        at = max(at, low)
        if at > high:
            return False
        at += length
    return True


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
