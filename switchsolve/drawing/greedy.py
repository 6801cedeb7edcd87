"""Lanes by a plain greedy choice, and what lanes are judged by: a start for the exact choice."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise

from switchsolve.drawing.columns import Columns, column_of, seen_by
from switchsolve.drawing.distances import Metrics
from switchsolve.drawing.lines import Layout, Line, Riser

__all__ = ["CHANGE", "CROSSING", "FORM", "SLANT", "greedy_lanes", "is_level", "ladders", "pairs"]

CROSSING, CHANGE, SLANT = 5000, 50, 4
"""Cost of a riser that crosses a line; of a rung of a ladder on another side than the one before; of a lane
climbed."""
FORM = 100_000
"""Cost of lanes that are not what the form of a junction asks for."""


def pairs(layout: Layout, columns: Columns) -> Iterator[tuple[Riser, Line]]:
    """Each riser with the lines that it would cross if they lay between its ends."""
    for riser in layout.risers:
        at = column_of(riser, columns)
        for line in layout.lines:
            left, right = seen_by(layout, columns, riser, line)
            if line not in (riser.one, riser.other) and left < at < right:
                yield riser, line


def is_level(layout: Layout, riser: Riser) -> bool:
    """Whether the riser may lie in one lane: straight up to the middle of a turntable."""
    places = {riser.place, riser.far.place if riser.far else ""}
    return any(table.name in places for table in layout.network.district.tables)


def ladders(layout: Layout, columns: Columns) -> list[tuple[Riser, Riser]]:
    """Turnouts end to end on one line whose legs lean the same way: rungs of a ladder."""
    found: list[tuple[Riser, Riser]] = []
    met = {frozenset((link.one.place, link.other.place)) for link in layout.network.links}
    for line in layout.lines:
        for looks in (1, -1):
            rungs = [
                riser
                for riser in layout.risers
                if riser.one == line and riser.looks == looks and riser.link is None and riser.far is None
            ]
            rungs.sort(key=lambda riser: column_of(riser, columns))
            found += [(one, two) for one, two in pairwise(rungs) if {one.place, two.place} in met]
    return found


def greedy_lanes(layout: Layout, columns: Columns, metrics: Metrics) -> dict[Line, int]:
    """A lane for each line: soon found, and often good."""
    return _Greedy(layout, columns, metrics).lanes()


class _Greedy:
    """Line after line, from what it hangs on, the inner ones first, to the lane in which it costs least."""

    def __init__(self, layout: Layout, columns: Columns, metrics: Metrics) -> None:
        self._layout, self._columns, self._metrics = layout, columns, metrics
        self._lane: dict[Line, int] = {}
        self._pairs: dict[Line, list[tuple[Riser, Line]]] = {line: [] for line in layout.lines}
        for riser, line in pairs(layout, columns):
            for one in {riser.one, riser.other, line}:
                self._pairs[one].append((riser, line))
        self._risers: dict[Line, list[Riser]] = {line: [] for line in layout.lines}
        for riser in layout.risers:
            for one in {riser.one, riser.other}:
                self._risers[one].append(riser)
        self._ladders = ladders(layout, columns)

    def lanes(self) -> dict[Line, int]:
        for line in self._order():
            near = [
                self._lane[other]
                for riser in self._risers[line]
                for other in (riser.one, riser.other)
                if other in self._lane
            ]
            middle = near[0] if near else 0
            tried = [middle + way * step for step in range(len(self._lane) + 2) for way in (1, -1)]
            free = [lane for lane in tried if self._is_free(line, lane)]
            self._lane[line] = min(free, key=lambda lane: self._cost(line, lane))
        return self._lane

    def _order(self) -> list[Line]:
        """Lines from the longest on, each followed by what hangs on it."""
        span = self._columns.span
        order: dict[Line, None] = {}
        for first in sorted(self._layout.lines, key=lambda line: span[line][0] - span[line][1]):
            waiting = [first]
            while waiting:
                line = waiting.pop(0)
                if line not in order:
                    order[line] = None
                    waiting += self._hanging(line)
        return list(order)

    def _hanging(self, line: Line) -> list[Line]:
        """What hangs on a line, from the end to which its legs look inwards."""
        left, right = self._columns.span[line]
        found = []
        for riser in self._risers[line]:
            at = column_of(riser, self._columns)
            other = riser.other if riser.one == line else riser.one
            found.append((right - at if riser.looks > 0 else at - left, other))
        beside = [two for pair in self._layout.beside if line in pair for two in pair]
        return beside + [other for _, other in sorted(found)]

    def _is_free(self, line: Line, lane: int) -> bool:
        left, right = self._columns.span[line]
        gap = self._metrics.gap
        return all(
            self._lane[other] != lane
            or self._columns.span[other][0] >= right + gap
            or self._columns.span[other][1] + gap <= left
            for other in self._lane
        )

    def _broken_forms(self) -> int:
        """How often the lanes so far are not what the form of a junction asks for."""
        layout, lanes = self._layout, self._lane

        def is_down(riser: Riser) -> bool | None:
            known = riser.one in lanes and riser.other in lanes
            return lanes[riser.other] > lanes[riser.one] if known else None

        broken = 0
        for one, two, differ in layout.across:
            ways = is_down(one), is_down(two)
            broken += None not in ways and (ways[0] != ways[1]) != differ
        for riser, away in layout.above:
            broken += is_down(riser) not in (None, away > 0)
        for first, second in layout.beside:
            broken += first in lanes and second in lanes and abs(lanes[first] - lanes[second]) != 1
        return broken

    def _cost(self, line: Line, lane: int) -> int:
        lanes = self._lane
        lanes[line] = lane
        cost = 0
        for riser in self._risers[line]:
            if riser.one in lanes and riser.other in lanes:
                climb = abs(lanes[riser.one] - lanes[riser.other])
                cost += SLANT * climb if climb or is_level(self._layout, riser) else CROSSING
        for riser, other in self._pairs[line]:
            if riser.one in lanes and riser.other in lanes and other in lanes:
                low, high = sorted((lanes[riser.one], lanes[riser.other]))
                cost += CROSSING * (low < lanes[other] < high)
        cost += FORM * self._broken_forms()
        for one, two in self._ladders:
            if line in (one.other, two.other) and one.other in lanes and two.other in lanes:
                down = [lanes[riser.other] > lanes[riser.one] for riser in (one, two)]
                cost += CHANGE * (down[0] != down[1])
        del lanes[line]
        return cost
