"""Where everything lies from left to right: a linear program of distances.

Once for an estimate, before there are lanes, and once for good, when it is known what stands beside what.
Every distance is a least one, and all rail together is as short as can be.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import combinations
from typing import TYPE_CHECKING

from switchsolve.district import End
from switchsolve.drawing.distances import (
    Distances,
    Metrics,
    Term,
    bend_name,
    is_table,
    middle_name,
    port_name,
)
from switchsolve.drawing.lines import Layout, Line, Riser
from switchsolve.drawing.network import Link

if TYPE_CHECKING:
    from ortools.linear_solver import pywraplp

__all__ = ["Columns", "column_of", "place_columns", "seen_by"]

_WIDEST = 1_000_000
"""More than any picture is wide."""
_LEFTMOST, _BROKEN = 0.001, 1000.0
"""Cost of each unit from the left, so that there is one optimum; and of each unit that a wish falls short."""


@dataclass(frozen=True, slots=True)
class Columns:
    """``middle`` of each junction and table, ``port`` of each port, ``bend`` of each link that turns, and
    the ``span`` of each line, left and right."""

    middle: dict[str, int]
    port: dict[End, int]
    bend: dict[Link, int]
    span: dict[Line, tuple[int, int]]

    @classmethod
    def read(cls, layout: Layout, at: Mapping[str, float], covered: Mapping[Line, Sequence[Term]]) -> Columns:
        """The columns from the place of each name, the leftmost at 0."""
        first = min(at.values(), default=0.0)
        whole = {name: round(value - first) for name, value in at.items()}
        tables = [table.name for table in layout.network.district.tables]
        middles = {place: middle_name(place) for place in [*layout.middle, *tables]}
        ports = {port: port_name(port) for g in layout.network.groups for port, _ in g.sides}
        bends = {link: bend_name(layout, link) for link in layout.network.links}
        lines = {line: [whole[name] + more for name, more in covered[line]] for line in layout.lines}
        return cls(
            {place: whole[name] for place, name in middles.items() if name in whole},
            {port: whole[name] for port, name in ports.items() if name in whole},
            {link: whole[name] for link, name in bends.items() if name in whole},
            {line: (min(found), max(found)) for line, found in lines.items()},
        )

    def named(self, layout: Layout) -> dict[str, int]:
        """The column of each middle, port and bend by its name."""
        found = {middle_name(place): column for place, column in self.middle.items()}
        found |= {port_name(port): column for port, column in self.port.items()}
        return found | {bend_name(layout, link): column for link, column in self.bend.items()}


def column_of(riser: Riser, columns: Columns) -> int:
    """The estimated column at which a riser leaves its line."""
    if riser.link is not None:
        return columns.bend[riser.link]
    if riser.far is not None:
        return (columns.middle[riser.place] + columns.middle[riser.far.place]) // 2
    return columns.middle[riser.place]


def seen_by(layout: Layout, columns: Columns, riser: Riser, line: Line) -> tuple[int, int]:
    """From where to where a line stands in the way of a riser, by the estimate.

    Legs that lean the same way never meet, so between them counts where they start, not where the line
    begins; and a bend meets the leg of a line as it would meet the line.
    """
    left, right = columns.span[line]
    for other in layout.risers:
        if other.other != line or other.link is not None or other.far is not None or other == riser:
            continue
        at = columns.middle[other.place]
        if at < left and (riser.link is not None or riser.looks == 1):
            left = at
        elif at > right and (riser.link is not None or riser.looks == -1):
            right = at
    return left, right


def place_columns(
    layout: Layout,
    metrics: Metrics,
    lanes: Mapping[Line, int] | None = None,
    estimate: Columns | None = None,
    *,
    in_order: bool = False,
) -> Columns:
    """Columns of everything; with ``lanes``, so that nothing in one lane overlaps (``estimate`` says what
    is left of what; ``in_order``: of risers, too, for then it is no mere estimate)."""
    return _Placing(layout, metrics, lanes, estimate, in_order=in_order).solved()


class _Placing:
    def __init__(
        self,
        layout: Layout,
        metrics: Metrics,
        lanes: Mapping[Line, int] | None,
        estimate: Columns | None,
        *,
        in_order: bool,
    ) -> None:
        self._layout, self._metrics = layout, metrics
        self._lanes, self._estimate = lanes, estimate
        self._in_order = in_order
        self._must = Distances(layout, metrics, lanes)
        self._wishes: list[tuple[Term, Term]] = []
        """The second should be to the right of the first: broken only if all else fails."""

    def solved(self) -> Columns:
        """All columns."""
        if self._lanes is not None and self._estimate is not None:
            self._keep_apart(self._lanes, self._estimate)
            if self._in_order:
                self._keep_risers_apart(self._lanes, self._estimate)
        return Columns.read(self._layout, self._solve(), self._must.covered)

    # ---- what lies beside what

    def _keep_apart(self, lanes: Mapping[Line, int], estimate: Columns) -> None:
        for line in self._layout.lines:
            span = estimate.span[line]
            for other in self._layout.lines:
                if other != line and lanes[other] == lanes[line] and estimate.span[other] > span:
                    self._wish((f"right {line}", 0), (f"left {other}", 0))
            for riser, left, right in self._passing(lanes, lanes[line], line):
                seen, at = seen_by(self._layout, estimate, riser, line), column_of(riser, estimate)
                if at <= seen[0]:
                    self._wish(right, (f"left {line}", 0))
                elif at >= seen[1]:
                    self._wish((f"right {line}", 0), left)
            for table, left, right in self._tables_over(lanes, lanes[line], line):
                if estimate.middle[table] <= span[0]:
                    self._wish(right, (f"left {line}", 0))
                else:
                    self._wish((f"right {line}", 0), left)

    def _keep_risers_apart(self, lanes: Mapping[Line, int], estimate: Columns) -> None:
        """Two risers that pass the same lanes pass all of them in the order of the estimate."""
        for one, other in combinations(self._layout.risers, 2):
            columns = column_of(one, estimate), column_of(other, estimate)
            if columns[0] == columns[1] or (one.place and one.place == other.place):
                continue
            left, right = (one, other) if columns[0] < columns[1] else (other, one)
            top = max(min(lanes[riser.one], lanes[riser.other]) for riser in (one, other))
            bottom = min(max(lanes[riser.one], lanes[riser.other]) for riser in (one, other))
            if top < bottom:
                for lane in (top, bottom):
                    self._wish(self._in_lane(left, lanes, lane)[1], self._in_lane(right, lanes, lane)[0])

    def _wish(self, one: Term, other: Term) -> None:
        self._wishes.append((one, (other[0], other[1] - self._metrics.gap)))

    def _passing(
        self, lanes: Mapping[Line, int], lane: int, line: Line
    ) -> Iterator[tuple[Riser, Term, Term]]:
        """The risers that pass through a lane without ending there, each with its left and right there."""
        for riser in self._layout.risers:
            low, high = sorted((lanes[riser.one], lanes[riser.other]))
            if not low < lane < high or line in (riser.one, riser.other):
                continue
            yield riser, *self._in_lane(riser, lanes, lane)

    def _in_lane(self, riser: Riser, lanes: Mapping[Line, int], lane: int) -> tuple[Term, Term]:
        """The left and the right of a riser where it passes a lane."""
        if riser.link is not None:
            name = bend_name(self._layout, riser.link)
            run = abs(lane - lanes[riser.one]) * self._metrics.slant if riser.is_jog else 0
            return (name, run), (name, run)
        near = far = riser.looks * abs(lane - lanes[riser.one]) * self._metrics.slant
        if is_table(self._layout, riser.place):
            near, far = 0, riser.looks * (self._metrics.radius + self._metrics.fan)
        name = middle_name(riser.place)
        return (name, min(near, far)), (name, max(near, far))

    def _tables_over(
        self, lanes: Mapping[Line, int], lane: int, line: Line
    ) -> Iterator[tuple[str, Term, Term]]:
        """The tables that lie over a lane and are not met by the line."""
        layout, radius = self._layout, self._metrics.radius
        for table in layout.network.district.tables:
            if table.name in layout.middle:
                middle = lanes[layout.middle[table.name]]
                covered = [middle - self._metrics.rows, middle + self._metrics.rows]
                met = {item.other for item in layout.risers if item.place == table.name}
                met.add(layout.middle[table.name])
            else:
                met = {layout.line_of[port] for port in layout.line_of if port.place == table.name}
                covered = [lanes[item] for item in met]
            if line not in met and min(covered) <= lane <= max(covered):
                yield table.name, (middle_name(table.name), -radius), (middle_name(table.name), radius)

    # ---- the program

    def _solve(self) -> dict[str, float]:
        # of the library's solvers the one that is soonest loaded
        from ortools.linear_solver import pywraplp

        model = pywraplp.Solver.CreateSolver("GLOP")
        names = dict.fromkeys([*self._must.names, *(t[0] for pair in self._wishes for t in pair)])
        at = {name: model.NumVar(0, _WIDEST, "") for name in names}
        for left, right, least in self._must.least:
            _keep_after(model, at, left, right, least)
        # the sum of all costs of a distance, variable by variable
        weight = dict.fromkeys(names, 0.0)
        for left, right, cost in self._must.cost:
            weight[right[0]] += cost
            weight[left[0]] -= cost
        total = model.Objective()
        for name in names:
            total.SetCoefficient(at[name], weight[name] + _LEFTMOST)
        for left, right in self._wishes:
            short = model.NumVar(0, _WIDEST, "")
            _keep_after(model, at, left, right, 0).SetCoefficient(short, 1)
            total.SetCoefficient(short, _BROKEN)
        total.SetMinimization()
        status = model.Solve()
        assert status == pywraplp.Solver.OPTIMAL, status
        return {name: variable.solution_value() for name, variable in at.items()}


def _keep_after(
    model: pywraplp.Solver, at: Mapping[str, pywraplp.Variable], left: Term, right: Term, least: int
) -> pywraplp.Constraint:
    """``right`` is at least so far to the right of ``left``."""
    row = model.Constraint(least + left[1] - right[1], model.infinity())
    if left[0] != right[0]:
        row.SetCoefficient(at[right[0]], 1)
        row.SetCoefficient(at[left[0]], -1)
    return row
