"""Which lane each line lies in: an exact choice by CP-SAT, from a plain greedy start.

Fewest crossings, then legs of a ladder on one side, short slants, and little height.  Columns are taken from an
estimate; they are placed for good afterwards.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from itertools import pairwise

from switchsolve.district import End
from switchsolve.drawing.columns import Columns, Metrics, column_of, seen_by
from switchsolve.drawing.lines import Layout, Line, Riser

__all__ = ["Wishes", "choose_lanes", "crossings"]

_CROSSING, _WISH, _CHANGE, _SLANT, _HEIGHT = 5000, 12000, 50, 4, 3
_EFFORT = 0.25
"""Deterministic seconds for the choice; the best found counts."""


@dataclass(frozen=True, slots=True)
class Wishes:
    """Hints of the file: for a track its ``lanes`` (0 is that of the first track, -1 the next above), or
    the side (``sides``: -1 up, +1 down) to which it lies of what it comes from."""

    lanes: Mapping[str, int] = field(default_factory=dict)
    sides: Mapping[str, int] = field(default_factory=dict)


def choose_lanes(
    layout: Layout, columns: Columns, metrics: Metrics, wishes: Wishes | None = None
) -> dict[Line, int]:
    """A lane for each line; the topmost is 0."""
    lanes = _Choice(layout, columns, metrics, wishes or Wishes()).lanes()
    top = min(lanes.values(), default=0)
    return {line: lane - top for line, lane in lanes.items()}


def crossings(layout: Layout, columns: Columns, lanes: Mapping[Line, int]) -> int:
    """How many risers cross lines, by the columns given."""
    return sum(
        min(lanes[riser.one], lanes[riser.other]) < lanes[line] < max(lanes[riser.one], lanes[riser.other])
        for riser, line in _pairs(layout, columns)
    )


def _pairs(layout: Layout, columns: Columns) -> Iterator[tuple[Riser, Line]]:
    """Each riser with the lines that it would cross if they lay between its ends."""
    for riser in layout.risers:
        at = column_of(riser, columns)
        for line in layout.lines:
            left, right = seen_by(layout, columns, riser, line)
            if line not in (riser.one, riser.other) and left < at < right:
                yield riser, line


def _is_level(layout: Layout, riser: Riser) -> bool:
    """Whether the riser may lie in one lane: straight up to the middle of a turntable."""
    places = {riser.place, riser.far.place if riser.far else ""}
    return any(table.name in places for table in layout.network.district.tables)


def _ladders(layout: Layout, columns: Columns) -> list[tuple[Riser, Riser]]:
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


class _Choice:
    """The model of one layout."""

    def __init__(self, layout: Layout, columns: Columns, metrics: Metrics, wishes: Wishes) -> None:
        self._layout, self._columns, self._metrics, self._wishes = layout, columns, metrics, wishes
        self._start = _Greedy(layout, columns, metrics).lanes()
        asked = [abs(lane) for lane in self._wishes.lanes.values()]
        self._most = max([4, *(abs(lane) for lane in self._start.values())]) + 2 + max(asked, default=0)

    def lanes(self) -> dict[Line, int]:
        from ortools.sat.python import cp_model

        model = self._model = cp_model.CpModel()
        most = self._most
        self._lane = {line: model.new_int_var(-most, most, line) for line in self._layout.lines}
        self._cost: list[cp_model.LinearExprT] = []
        self._keep_apart()
        self._risers()
        self._forms()
        self._hints()
        self._height()
        model.minimize(sum(self._cost))
        for line, lane in self._start.items():
            model.add_hint(self._lane[line], lane)
        solver = cp_model.CpSolver()
        solver.parameters.num_workers = 1
        solver.parameters.random_seed = 0
        solver.parameters.max_deterministic_time = _EFFORT
        status = solver.solve(model)
        if status not in (cp_model.OPTIMAL, cp_model.FEASIBLE):
            return self._start
        return {line: solver.value(lane) for line, lane in self._lane.items()}

    def _keep_apart(self) -> None:
        """No two lines lie over each other, and nothing lies over a table."""
        model, across, along = self._model, [], []
        for line in self._layout.lines:
            left, right = self._columns.span[line]
            along.append(model.new_fixed_size_interval_var(left, right - left + self._metrics.gap, line))
            across.append(model.new_fixed_size_interval_var(self._lane[line], 1, line))
        for table in self._layout.network.district.tables:
            at, radius = self._columns.middle[table.name], self._metrics.radius
            if table.name in self._layout.middle:
                rows = self._metrics.rows
                lane = self._lane[self._layout.middle[table.name]]
                for shift in [*range(-rows, 0), *range(1, rows + 1)]:
                    along.append(model.new_fixed_size_interval_var(at - radius, 2 * radius, table.name))
                    across.append(model.new_fixed_size_interval_var(lane + shift, 1, table.name))
            else:
                self._pit(table.name, at, radius, along, across)
        model.add_no_overlap_2d(along, across)

    def _pit(self, name: str, at: int, radius: int, along: list, across: list) -> None:  # type: ignore[type-arg]
        """The pit of a transfer table covers all lanes between its tracks."""
        model, most = self._model, self._most
        lanes = [self._lane[line] for port, line in self._layout.line_of.items() if port.place == name]
        low, size, end = (model.new_int_var(-2 * most, 2 * most + 1, name) for _ in range(3))
        model.add_min_equality(low, lanes)
        model.add_max_equality(end, [lane + 1 for lane in lanes])
        along.append(model.new_fixed_size_interval_var(at - radius + 1, 2 * radius - 2, name))
        across.append(model.new_interval_var(low, size, end, name))

    def _risers(self) -> None:
        """What each riser costs: its climb, and the lines that it crosses."""
        model, lane = self._model, self._lane
        self._down = {}
        for riser in self._layout.risers:
            if riser.one == riser.other:
                continue
            climb = model.new_int_var(0, 2 * self._most, "climb")
            model.add_abs_equality(climb, lane[riser.one] - lane[riser.other])
            self._cost.append(_SLANT * climb)
            if not _is_level(self._layout, riser):
                down = self._down[riser] = model.new_bool_var("down")
                model.add(lane[riser.other] >= lane[riser.one] + 1).only_enforce_if(down)
                model.add(lane[riser.one] >= lane[riser.other] + 1).only_enforce_if(~down)
        for riser, line in _pairs(self._layout, self._columns):
            if riser.one == riser.other:
                continue
            low, high = model.new_bool_var("above both"), model.new_bool_var("below both")
            crosses = model.new_bool_var("crosses")
            model.add_bool_or([low, high, crosses])
            for end in (riser.one, riser.other):
                model.add(lane[line] <= lane[end] - 1).only_enforce_if(low)
                model.add(lane[line] >= lane[end] + 1).only_enforce_if(high)
            self._cost.append(_CROSSING * crosses)
        for one, two in _ladders(self._layout, self._columns):
            if one in self._down and two in self._down:
                changes = model.new_bool_var("changes")
                model.add(self._down[one] == self._down[two]).only_enforce_if(~changes)
                self._cost.append(_CHANGE * changes)

    def _forms(self) -> None:
        """What the form of a junction asks for."""
        model, lane = self._model, self._lane
        for one, other in self._layout.beside:
            if one != other:
                apart = model.new_bool_var("apart")
                model.add(lane[other] == lane[one] + 1).only_enforce_if(apart)
                model.add(lane[other] == lane[one] - 1).only_enforce_if(~apart)
        for one, other in self._layout.across:
            if one in self._down and other in self._down:
                same = one.place == other.place
                model.add(self._down[one] != self._down[other] if same else self._down[one] == self._down[other])
        for riser, away in self._layout.above:
            if riser in self._down:
                model.add(self._down[riser] == (1 if away > 0 else 0))

    def _hints(self) -> None:
        """Wishes of the file."""
        model, line_of = self._model, self._layout.line_of
        tracks = self._layout.network.district.tracks
        first = self._lane[line_of[End(tracks[0].name, "from")]]
        for name, wanted in self._wishes.lanes.items():
            off = model.new_int_var(0, 4 * self._most, "off")
            model.add_abs_equality(off, self._lane[line_of[End(name, "from")]] - first - wanted)
            self._cost.append(_WISH * off)
        for name, side in self._wishes.sides.items():
            line = line_of[End(name, "from")]
            for riser, down in self._down.items():
                if line == riser.other:
                    self._cost.append(_WISH * (~down if side > 0 else down))

    def _height(self) -> None:
        model, most = self._model, self._most
        low, high = model.new_int_var(-most, most, "top"), model.new_int_var(-most, most, "bottom")
        model.add_min_equality(low, list(self._lane.values()))
        model.add_max_equality(high, list(self._lane.values()))
        self._cost.append(_HEIGHT * (high - low))


class _Greedy:
    """Line after line, from what it hangs on, the inner ones first, to the lane in which it costs least."""

    def __init__(self, layout: Layout, columns: Columns, metrics: Metrics) -> None:
        self._layout, self._columns, self._metrics = layout, columns, metrics
        self._lane: dict[Line, int] = {}
        self._pairs: dict[Line, list[tuple[Riser, Line]]] = {line: [] for line in layout.lines}
        for riser, line in _pairs(layout, columns):
            for one in {riser.one, riser.other, line}:
                self._pairs[one].append((riser, line))
        self._risers: dict[Line, list[Riser]] = {line: [] for line in layout.lines}
        for riser in layout.risers:
            for one in {riser.one, riser.other}:
                self._risers[one].append(riser)
        self._ladders = _ladders(layout, columns)

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

    def _cost(self, line: Line, lane: int) -> int:
        lanes = self._lane
        lanes[line] = lane
        cost = 0
        for riser in self._risers[line]:
            if riser.one in lanes and riser.other in lanes:
                climb = abs(lanes[riser.one] - lanes[riser.other])
                cost += _SLANT * climb if climb or _is_level(self._layout, riser) else _CROSSING
        for riser, other in self._pairs[line]:
            if riser.one in lanes and riser.other in lanes and other in lanes:
                low, high = sorted((lanes[riser.one], lanes[riser.other]))
                cost += _CROSSING * (low < lanes[other] < high)
        for one, two in self._ladders:
            if line in (one.other, two.other) and one.other in lanes and two.other in lanes:
                down = [lanes[riser.other] > lanes[riser.one] for riser in (one, two)]
                cost += _CHANGE * (down[0] != down[1])
        del lanes[line]
        return cost
