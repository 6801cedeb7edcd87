"""Whether a row of cars, the locomotive's string among them perhaps, has room over the cells to lie in."""

from __future__ import annotations

from switchsolve.rules import Rules, String
from switchsolve.search.runs import closed_spans

__all__ = ["Group", "Wanted", "extent", "fits"]

Wanted = tuple[int, str | None]
"""A token and the spot it must be at (or ``None``)."""


class Group:
    """Cars in order over a row of cells of one track."""

    __slots__ = ("cars", "ways")

    def __init__(self, ways: tuple[int, ...], cars: tuple[Wanted, ...]) -> None:
        self.ways = ways
        self.cars = cars


def fits(
    rules: Rules,
    whole: String,
    row: list[tuple[Group, int] | None],
    mine: String | None,
    touches: tuple[bool, bool] = (False, False),
) -> bool:
    """Whether each car can lie over its own cells (at its spot) in this order, the locomotive's string
    (``None``) among them.

    ``touches``: whether the string is coupled to the car before and to the car after it across the edge of
    its end cells.  Cars of two groups are coupled across the edge between them.
    """
    at = 0
    is_flush = False
    for number, entry in enumerate(row):
        if entry is None:
            assert mine is not None
            low, high, length = _room_of_mine(rules, whole, mine)
            if touches[0]:
                high = min(high, extent(rules, whole.ways, mine.ways)[0])
            if touches[1]:
                low = max(low, extent(rules, whole.ways, mine.ways)[1] - length)
        else:
            found = _room_of_car(rules, whole, entry)
            if found is None:
                return False
            low, high, length = found
            if is_flush:
                high = min(high, at)
            before = row[number - 1] if number else None
            if before is not None and before[0] is not entry[0]:
                high = min(high, extent(rules, whole.ways, entry[0].ways)[0])
            after = row[number + 1] if number + 1 < len(row) else None
            if after is not None and after[0] is not entry[0]:
                low = max(low, extent(rules, whole.ways, entry[0].ways)[1] - length)
            if touches[0] and number + 1 < len(row) and row[number + 1] is None:
                assert mine is not None
                low = max(low, extent(rules, whole.ways, mine.ways)[0] - length)
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
    begin, end = extent(rules, whole.ways, mine.ways)
    length = rules.length(mine.tokens)
    low, high = begin, end - length
    if len(mine.ways) > 1:
        low = max(low, end - rules.lengths[mine.ways[-1] >> 1] + 1 - length)
        high = min(high, begin + rules.lengths[mine.ways[0] >> 1] - 1)
    return low, high, length


def _room_of_car(rules: Rules, whole: String, entry: tuple[Group, int]) -> tuple[int, int, int] | None:
    """Least and greatest place of a car along the whole path, and its length."""
    group, i = entry
    begin, end = extent(rules, whole.ways, group.ways)
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


def extent(rules: Rules, ways: tuple[int, ...], part: tuple[int, ...]) -> tuple[int, int]:
    """From where to where along ``ways`` the cells of ``part`` lie."""
    lengths = rules.lengths
    if ways == part:
        return 0, rules.path_length(ways)
    cells = {way >> 1 for way in part}
    at, begin, end = 0, -1, -1
    for way in ways:
        cell = way >> 1
        after = at + lengths[cell]
        if cell in cells:
            if begin < 0:
                begin = at
            end = after
        at = after
    return begin, end


def _point(rules: Rules, ways: tuple[int, ...], group: Group, spot: str) -> int | None:
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
