"""Which lane each line lies in, where there are few lines: the choice of :mod:`.lanes` without its solver.

Line after line is put in every lane in which it may lie, and left there while the cost so far, with what the
legs still to come cost at the least, is not above that of the best lanes known.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass

from switchsolve.drawing.columns import Columns
from switchsolve.drawing.distances import Metrics
from switchsolve.drawing.greedy import CHANGE, CROSSING, FORM, SLANT, is_level, ladders, pairs
from switchsolve.drawing.lines import Layout, Line, Riser

__all__ = ["HEIGHT", "first_lanes"]

HEIGHT = 3
"""Cost of a lane that a picture is high."""
_MOST = 20_000
"""Lanes that are looked at for one line or another."""

Lanes = Mapping[Line, int]


@dataclass(frozen=True, slots=True)
class _Term:
    """A part of the cost.  ``lines``: on whose lanes it hangs; ``least``: what it costs at the least;
    ``cost``: what it costs, ``None`` if it must not be so.
    """

    lines: frozenset[Line]
    cost: Callable[[Lanes], int | None]
    least: int = 0


def first_lanes(
    layout: Layout, columns: Columns, metrics: Metrics, start: Lanes, most: int
) -> dict[Line, int] | None:
    """The lanes that cost least, and of several those in which the first line lies highest, then the second,
    and so on; the topmost is 0.

    ``start``: lanes to begin with; ``most``: half of the greatest height.  ``None``: there is too much to
    look at, or there is a transfer table, whose pit is as high as its tracks lie apart, or a second table.
    """
    tables = layout.network.district.tables
    if len(tables) > 1 or any(table.name not in layout.middle for table in tables):
        return None
    return _Small(layout, list(_terms(layout, columns, metrics)), start, most).first()


# ---- what lanes cost


def _terms(layout: Layout, columns: Columns, metrics: Metrics) -> Iterator[_Term]:
    yield from _apart(layout, columns, metrics)
    leading = [riser for riser in layout.risers if riser.one != riser.other]
    for riser in leading:
        yield _climb(riser, is_level(layout, riser))
    for riser, line in pairs(layout, columns):
        if riser.one != riser.other:
            yield _crossing(riser, line)
    sided = {riser for riser in leading if not is_level(layout, riser)}
    for one, two in ladders(layout, columns):
        if {one, two} <= sided:
            yield _alike(one, two, CHANGE, differ=False)
    for one, two, differ in layout.across:
        if {one, two} <= sided:
            yield _alike(one, two, FORM, differ=differ)
    for riser, away in layout.above:
        if riser in sided:
            yield _above(riser, away)
    for first, second in layout.beside:
        if first != second:
            yield _beside(first, second)


def _apart(layout: Layout, columns: Columns, metrics: Metrics) -> Iterator[_Term]:
    """No two lines lie over each other, and nothing lies over a turntable."""
    spans = {line: (left, right + metrics.gap) for line, (left, right) in columns.span.items()}
    for number, one in enumerate(layout.lines):
        for two in layout.lines[:number]:
            if _meet(spans[one], spans[two]):
                yield _never_in(one, two, range(1))
    for table in layout.network.district.tables:
        at, middle = columns.middle[table.name], layout.middle[table.name]
        here = at - metrics.radius, at + metrics.radius
        for line in layout.lines:
            if _meet(spans[line], here):
                yield _never_in(line, middle, range(1, metrics.rows + 1))


def _meet(one: tuple[int, int], two: tuple[int, int]) -> bool:
    return one[0] < two[1] and two[0] < one[1]


def _never_in(one: Line, two: Line, distances: range) -> _Term:
    def cost(lanes: Lanes) -> int | None:
        return None if abs(lanes[one] - lanes[two]) in distances else 0

    return _Term(frozenset({one, two}), cost)


def _climb(riser: Riser, may_be_level: bool) -> _Term:
    def cost(lanes: Lanes) -> int | None:
        climb = abs(lanes[riser.one] - lanes[riser.other])
        return SLANT * climb if climb or may_be_level else None

    return _Term(frozenset({riser.one, riser.other}), cost, 0 if may_be_level else SLANT)


def _crossing(riser: Riser, line: Line) -> _Term:
    def cost(lanes: Lanes) -> int:
        low, high = sorted((lanes[riser.one], lanes[riser.other]))
        return CROSSING * (low <= lanes[line] <= high)

    return _Term(frozenset({riser.one, riser.other, line}), cost)


def _is_down(riser: Riser, lanes: Lanes) -> bool:
    return lanes[riser.other] > lanes[riser.one]


def _alike(one: Riser, two: Riser, weight: int, *, differ: bool) -> _Term:
    """Both lead down or both up; if ``differ``, one down and one up."""

    def cost(lanes: Lanes) -> int:
        return weight * ((_is_down(one, lanes) != _is_down(two, lanes)) != differ)

    return _Term(frozenset({one.one, one.other, two.one, two.other}), cost)


def _above(riser: Riser, away: int) -> _Term:
    def cost(lanes: Lanes) -> int:
        return FORM * (_is_down(riser, lanes) != (away > 0))

    return _Term(frozenset({riser.one, riser.other}), cost)


def _beside(first: Line, second: Line) -> _Term:
    def cost(lanes: Lanes) -> int:
        return FORM * (abs(lanes[first] - lanes[second]) != 1)

    return _Term(frozenset({first, second}), cost)


# ---- the search


class _TooMuchError(Exception):
    """There are too many lanes to look at."""


class _Small:
    """One search.  The first line put down is at 0; the others are where they are beside it."""

    def __init__(self, layout: Layout, terms: list[_Term], start: Lanes, most: int) -> None:
        self._lines, self._most = layout.lines, 2 * most
        self._order = list(_in_reach(layout, terms))
        rank = {line: place for place, line in enumerate(self._order)}
        self._closing: list[list[_Term]] = [[] for _ in self._order]
        for term in terms:
            self._closing[max(rank[line] for line in term.lines)].append(term)
        due = [sum(term.least for term in closing) for closing in self._closing]
        self._due = [sum(due[place + 1 :]) for place in range(len(due))]
        self._looked = 0
        self._best: dict[Line, int] | None = None
        self._least = self._whole_cost(start, terms)

    def first(self) -> dict[Line, int] | None:
        """The first of the cheapest; ``None`` if too many lanes are to be looked at."""
        try:
            self._put(0, {}, 0, 0, 0)
        except _TooMuchError:
            return None
        return self._best

    def _whole_cost(self, lanes: Lanes, terms: list[_Term]) -> int | None:
        costs = [term.cost(lanes) for term in terms]
        high = max(lanes.values(), default=0) - min(lanes.values(), default=0)
        if high > self._most or None in costs:
            return None
        return HEIGHT * high + sum(cost for cost in costs if cost is not None)

    def _put(self, place: int, lanes: dict[Line, int], cost: int, low: int, high: int) -> None:
        """Put down the lines from ``place`` on, where those before have cost so much."""
        if place == len(self._order):
            self._keep(lanes, cost + HEIGHT * (high - low), low)
            return
        line = self._order[place]
        tried = [0] if not place else range(high - self._most, low + self._most + 1)
        for lane in sorted(tried, key=lambda lane: abs(2 * lane - low - high)):
            self._looked += 1
            if self._looked > _MOST:
                raise _TooMuchError
            lanes[line] = lane
            more = self._added(place, lanes)
            if more is not None:
                ends = min(low, lane), max(high, lane)
                bound = cost + more + self._due[place] + HEIGHT * (ends[1] - ends[0])
                if self._least is None or bound <= self._least:
                    self._put(place + 1, lanes, cost + more, *ends)
            del lanes[line]

    def _added(self, place: int, lanes: Lanes) -> int | None:
        total = 0
        for term in self._closing[place]:
            cost = term.cost(lanes)
            if cost is None:
                return None
            total += cost
        return total

    def _keep(self, lanes: Lanes, cost: int, low: int) -> None:
        """Lanes that cost no more than the best so far."""
        found = {line: lanes[line] - low for line in self._lines}
        is_as_dear = self._best is not None and cost == self._least
        if not is_as_dear or list(found.values()) < list((self._best or {}).values()):
            self._best = found
        self._least = cost


def _in_reach(layout: Layout, terms: list[_Term]) -> Iterator[Line]:
    """The lines, each after one that it hangs together with, those that hang on most others first."""
    met: dict[Line, set[Line]] = {line: set() for line in layout.lines}
    for riser in layout.risers:
        met[riser.one].add(riser.other)
        met[riser.other].add(riser.one)
    weight = {line: sum(line in term.lines for term in terms) for line in layout.lines}
    left = dict.fromkeys(layout.lines)
    done: set[Line] = set()
    while left:
        line = max(left, key=lambda line: (len(met[line] & done), weight[line]))
        del left[line]
        done.add(line)
        yield line
