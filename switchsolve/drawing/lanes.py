"""Which lane each line lies in: an exact choice (by CP-SAT if lines are many) from a plain greedy start.

Fewest crossings, then legs of a ladder on one side, short slants, and little height.  Columns are taken from
an estimate; they are placed for good afterwards.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from switchsolve.district import End
from switchsolve.drawing.choosing import first_of_best
from switchsolve.drawing.columns import Columns
from switchsolve.drawing.distances import Metrics
from switchsolve.drawing.greedy import (
    CHANGE,
    CROSSING,
    FORM,
    SLANT,
    greedy_lanes,
    is_level,
    ladders,
    pairs,
)
from switchsolve.drawing.lines import Layout, Line, Riser
from switchsolve.drawing.small_lanes import HEIGHT, first_lanes

if TYPE_CHECKING:
    from ortools.sat.python import cp_model

__all__ = ["LaneChoice", "Wishes", "choose_lanes", "rather_down"]

_WISH = 12_000


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
    wishes = wishes or Wishes()
    lanes = LaneChoice(layout, columns, metrics, wishes).lanes()
    if not (layout.above or wishes.lanes or wishes.sides):
        lanes = rather_down(layout, lanes)
    top = min(lanes.values(), default=0)
    return {line: lane - top for line, lane in lanes.items()}


def rather_down(layout: Layout, lanes: dict[Line, int]) -> dict[Line, int]:
    """Of two mirror images the one in which more risers, or else the first, lead downwards."""
    climbs = [lanes[riser.other] - lanes[riser.one] for riser in layout.risers if riser.link is None]
    ways = [(climb > 0) - (climb < 0) for climb in climbs]
    is_up = sum(ways) < 0 or (sum(ways) == 0 and next((way for way in ways if way), 1) < 0)
    return {line: -lane for line, lane in lanes.items()} if is_up else lanes


class LaneChoice:
    """The model of one layout, with columns that stand.

    ``start``: lanes to begin with, if they are not to be greedy ones.
    """

    effort = 0.2
    """Deterministic seconds for the choice; the best found counts."""

    def __init__(
        self,
        layout: Layout,
        columns: Columns,
        metrics: Metrics,
        wishes: Wishes,
        start: Mapping[Line, int] | None = None,
    ) -> None:
        self._layout, self._columns, self._metrics, self._wishes = layout, columns, metrics, wishes
        self._start = start or greedy_lanes(layout, columns, metrics)
        asked = [abs(lane) for lane in self._wishes.lanes.values()]
        self._most = max([4, *(abs(lane) for lane in self._start.values())]) + 2 + max(asked, default=0)

    def lanes(self) -> dict[Line, int]:
        """The best lanes found, the start if nothing is better."""
        if not (self._wishes.lanes or self._wishes.sides):  # few files have any
            soon = first_lanes(self._layout, self._columns, self._metrics, self._start, self._most)
            if soon is not None:
                return soon
        solver = self._solved()
        if solver is None:
            return dict(self._start)
        return {line: solver.value(lane) for line, lane in self._lane.items()}

    def _solved(self) -> cp_model.CpSolver | None:
        """The model built and solved; ``None`` if the effort did not come to anything."""
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
        for line, lane in self._start.items():
            model.add_hint(self._lane[line], lane)
        return self._chosen()

    def _chosen(self) -> cp_model.CpSolver | None:
        """The cheapest; of several the one whose first lines, in the order of the file, lie highest."""
        order = [(lane, 2 * self._most + 1) for lane in self._lane.values()]
        return first_of_best(self._model, sum(self._cost), order, self.effort)

    def _keep_apart(self) -> None:
        """No two lines lie over each other, and nothing lies over a table."""
        model = self._model
        across: list[cp_model.IntervalVar] = []
        along: list[cp_model.IntervalVar] = []
        for line in self._layout.lines:
            along.append(self._along(line))
            across.append(model.new_fixed_size_interval_var(self._lane[line], 1, line))
        for table in self._layout.network.district.tables:
            at, radius = self._columns.middle[table.name], self._metrics.radius
            if table.name in self._layout.middle:
                rows = self._metrics.rows
                lane = self._lane[self._layout.middle[table.name]]
                for shift in [*range(-rows, 0), *range(1, rows + 1)]:
                    along.append(self._over_table(table.name, at - radius, at + radius))
                    across.append(model.new_fixed_size_interval_var(lane + shift, 1, table.name))
            else:
                # lines that end at the pit keep their gap over it
                along.append(self._over_table(table.name, at - radius + self._metrics.gap, at + radius))
                across.append(self._pit(table.name))
        model.add_no_overlap_2d(along, across)

    def _along(self, line: Line) -> cp_model.IntervalVar:
        """The columns that a line fills."""
        left, right = self._columns.span[line]
        return self._model.new_fixed_size_interval_var(left, right - left + self._metrics.gap, line)

    def _over_table(self, name: str, start: int, end: int) -> cp_model.IntervalVar:
        """The columns that a table fills."""
        return self._model.new_fixed_size_interval_var(start, end - start, name)

    def _pit(self, name: str) -> cp_model.IntervalVar:
        """The lanes that the pit of a transfer table covers: all between its tracks."""
        model, most = self._model, self._most
        lanes = [self._lane[line] for port, line in self._layout.line_of.items() if port.place == name]
        low, end = (model.new_int_var(-most, most + 1, name) for _ in range(2))
        size = model.new_int_var(1, 2 * most + 1, name)
        model.add_min_equality(low, lanes)
        model.add_max_equality(end, [lane + 1 for lane in lanes])
        return model.new_interval_var(low, size, end, name)

    def _risers(self) -> None:
        """What each riser costs: its climb, and the lines that it crosses."""
        model, lane = self._model, self._lane
        self._down: dict[Riser, cp_model.IntVar] = {}
        for riser in self._layout.risers:
            if riser.one == riser.other:
                continue
            climb = model.new_int_var(0, 2 * self._most, "climb")
            model.add_abs_equality(climb, lane[riser.one] - lane[riser.other])
            self._cost.append(SLANT * climb)
            if not riser.is_jog and not is_level(self._layout, riser):
                down = self._down[riser] = model.new_bool_var("down")
                model.add(lane[riser.other] >= lane[riser.one] + 1).only_enforce_if(down)
                model.add(lane[riser.one] >= lane[riser.other] + 1).only_enforce_if(~down)
        self._crossings()
        for one, two in ladders(self._layout, self._columns):
            if one in self._down and two in self._down:
                changes = model.new_bool_var("changes")
                model.add(self._down[one] == self._down[two]).only_enforce_if(~changes)
                self._cost.append(CHANGE * changes)

    def _crossings(self) -> None:
        for riser, line in pairs(self._layout, self._columns):
            if riser.one != riser.other:
                self._may_cross(riser, line)

    def _may_cross(self, riser: Riser, line: Line) -> None:
        """The riser keeps clear of the line, or pays for it."""
        crosses = self._model.new_bool_var("crosses")
        self._keep_clear(riser, line, [crosses])
        self._cost.append(CROSSING * crosses)

    def _keep_clear(self, riser: Riser, line: Line, unless: Sequence[cp_model.IntVar]) -> None:
        """The line lies above both ends of the riser, or below both, unless one of these holds."""
        model, lane = self._model, self._lane
        low, high = model.new_bool_var("above both"), model.new_bool_var("below both")
        model.add_bool_or([low, high, *unless])
        for end in (riser.one, riser.other):
            model.add(lane[line] <= lane[end] - 1).only_enforce_if(low)
            model.add(lane[line] >= lane[end] + 1).only_enforce_if(high)

    def _forms(self) -> None:
        """What the form of a junction asks for, if it can be."""
        model, lane = self._model, self._lane
        for one, other in self._layout.beside:
            if one != other:
                apart, kept = model.new_bool_var("apart"), self._wanted(FORM)
                model.add(lane[other] == lane[one] + 1).only_enforce_if([apart, kept])
                model.add(lane[other] == lane[one] - 1).only_enforce_if([~apart, kept])
        for riser, second, differ in self._layout.across:
            if riser in self._down and second in self._down:
                one_down, other_down = self._down[riser], self._down[second]
                form = one_down != other_down if differ else one_down == other_down
                model.add(form).only_enforce_if(self._wanted(FORM))
        for riser, away in self._layout.above:
            if riser in self._down:
                model.add(self._down[riser] == (1 if away > 0 else 0)).only_enforce_if(self._wanted(FORM))

    def _wanted(self, cost: int) -> cp_model.IntVar:
        """Something that holds, or else costs so much."""
        kept = self._model.new_bool_var("kept")
        self._cost.append(cost * ~kept)
        return kept

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
        self._cost.append(HEIGHT * (high - low))
