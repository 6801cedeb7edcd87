"""Lanes and columns chosen together, with rail that may change lane on its way: for districts in which lanes
on estimated columns leave a crossing.

One model by CP-SAT.  Columns are whole numbers that say only what is left of what; a leg stands upright in
its column, and how far it slants is left to the linear program of the columns, which finds room for it.  At
every place where a line may be parted (see ``can_jog``) the rail may jog to another lane, at a price.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import combinations
from typing import TYPE_CHECKING

import numpy as np

from switchsolve.drawing.choosing import solved
from switchsolve.drawing.columns import Columns, place_columns
from switchsolve.drawing.distances import Distances, Metrics, Term, bend_name, is_table, middle_name
from switchsolve.drawing.facing import Facing
from switchsolve.drawing.lanes import LaneChoice, Wishes, rather_down
from switchsolve.drawing.lines import Layout, Line, Riser, can_jog, lay_out
from switchsolve.drawing.network import Network
from switchsolve.drawing.realizing import realized

if TYPE_CHECKING:
    from ortools.sat.python import cp_model

__all__ = ["Untangled", "untangled"]

_JOG, _WIDTH = 400, 1
"""Cost of a jog, and of a line for each column that it is long."""
_EFFORT = 0.1
"""Deterministic seconds for a better picture than the first."""
_NEVER = -(10**6)
"""A distance of which nothing is known."""
_UPRIGHT = Metrics(slant=0, stub=1, leg=2, turn=1, gap=1, radius=1, fan=1, rows=1, jog=1)
"""Sizes that keep the order of things, and no more."""


@dataclass(frozen=True, slots=True)
class Untangled:
    """A layout with the jogs that it needs, its lanes, and columns that say what is left of what."""

    layout: Layout
    lanes: dict[Line, int]
    order: Columns


def untangled(network: Network, faced: Iterable[Facing], wishes: Wishes) -> Iterator[Untangled]:
    """Layouts without a crossing, each with the best lanes found: for each facing first with legs that meet
    drawn as one slant, then otherwise.  Nothing comes if no facing has any."""
    for facing in faced:
        for is_direct in (True, False):
            whole = lay_out(network, facing, is_direct=is_direct)
            parted = lay_out(network, facing, can_jog(whole), is_direct=is_direct)
            found = _first(parted)
            if found is not None:
                better = _Together(parted, found.lanes, found.order, wishes).found() or found
                yield _without_idle_jogs(parted, better, wishes, is_direct)
            if all(riser.far is None for riser in parted.risers):
                break


def _first(parted: Layout) -> Untangled | None:
    """Any lanes and columns without a crossing; ``None`` if there are none."""
    start = realized(parted)
    if start is None:
        return None
    lanes, estimate = start
    return Untangled(parted, lanes, place_columns(parted, _UPRIGHT, lanes, estimate, in_order=True))


def _without_idle_jogs(parted: Layout, found: Untangled, wishes: Wishes, is_direct: bool) -> Untangled:
    """The same with lines joined again where they stay in their lane."""
    jogs = frozenset(
        riser.link
        for riser in parted.risers
        if riser.is_jog and riser.link is not None and found.lanes[riser.one] != found.lanes[riser.other]
    )
    made = lay_out(parted.network, parted.facing, jogs, is_direct=is_direct)
    chosen = _lanes_of(made, parted, found.lanes)
    if not (made.above or wishes.lanes or wishes.sides):
        chosen = rather_down(made, chosen)
    top = min(chosen.values(), default=0)
    spans = {line: _span(made, parted, found.order, line) for line in made.lines}
    return Untangled(
        made, {line: lane - top for line, lane in chosen.items()}, replace(found.order, span=spans)
    )


def _members(layout: Layout) -> Iterator[tuple[object, Line]]:
    """What says which line is which in two layouts of one network."""
    yield from layout.line_of.items()
    yield from layout.middle.items()


def _lanes_of(layout: Layout, known: Layout, lanes: Mapping[Line, int]) -> dict[Line, int]:
    """The lanes of one layout, from those of another of the same network; 0 for a line that only one has."""
    there = dict(_members(known))
    return {line: lanes[there[member]] if member in there else 0 for member, line in _members(layout)}


def _span(layout: Layout, parted: Layout, order: Columns, line: Line) -> tuple[int, int]:
    there = dict(_members(parted))
    spans = [order.span[there[member]] for member, here in _members(layout) if here == line]
    return min(left for left, _ in spans), max(right for _, right in spans)


class _Together(LaneChoice):
    """The model of lanes and columns, without any crossing, from lanes and columns that have none: fewer
    jogs, shorter slants, less height and width."""

    def __init__(self, layout: Layout, lanes: Mapping[Line, int], first: Columns, wishes: Wishes) -> None:
        super().__init__(layout, first, _UPRIGHT, wishes, lanes)
        self._must = Distances(layout, _UPRIGHT)
        self._sure = _Sure(self._must.least, self._must.names)
        self._horizon = 2 * max((right for _, right in first.span.values()), default=1) + 20

    def found(self) -> Untangled | None:
        """The best lanes and columns found."""
        solver = self._solved()
        if solver is None:
            return None
        at = {name: solver.value(variable) for name, variable in self._at.items()}
        return Untangled(
            self._layout,
            {line: solver.value(lane) for line, lane in self._lane.items()},
            Columns.read(self._layout, at, self._must.covered),
        )

    # ---- the model

    def _chosen(self) -> cp_model.CpSolver | None:
        """The cheapest found; without linear programming better ones are found two to three times sooner."""
        self._model.minimize(sum(self._cost))
        return solved(self._model, _EFFORT, linearization=0)

    def _wanted(self, cost: int) -> cp_model.IntVar:
        """Forms are asked for whatever they cost: a start that breaks one would be kept."""
        del cost
        return self._model.new_constant(1)

    def _keep_apart(self) -> None:
        self._place()
        super()._keep_apart()

    def _place(self) -> None:
        """Columns as variables, with all that must hold between them."""
        model = self._model
        names = dict.fromkeys([*self._must.names, *(n for line in self._layout.lines for n in _ends(line))])
        self._at = {name: model.new_int_var(0, self._horizon, name) for name in names}
        for left, right, least in self._must.least:
            model.add(self._column(right) - self._column(left) >= least)
        for name, column in self._columns.named(self._layout).items():
            model.add_hint(self._at[name], column)
        for line in self._layout.lines:
            left_end, right_end = (self._at[name] for name in _ends(line))
            for end, column in zip((left_end, right_end), self._columns.span[line], strict=True):
                model.add_hint(end, column)
            self._cost.append(_WIDTH * (right_end - left_end))

    def _column(self, term: Term) -> cp_model.LinearExpr:
        return self._at[term[0]] + term[1]

    def _along(self, line: Line) -> cp_model.IntervalVar:
        left, right = (self._at[name] for name in _ends(line))
        size = self._model.new_int_var(1, self._horizon + 1, "size")
        return self._model.new_interval_var(left, size, right + 1, line)

    def _over_table(self, name: str, start: int, end: int) -> cp_model.IntervalVar:
        del start, end
        at = self._at[middle_name(name)]
        return self._model.new_fixed_size_interval_var(at, 1, name)

    def _crossings(self) -> None:
        for riser in self._layout.risers:
            if riser.is_jog:
                self._jog(riser)
            if riser.far is not None:  # drawn straight: what lies between would be crossed
                names = middle_name(riser.place), middle_name(riser.far.place)
                self._model.add(self._at[names[0]] == self._at[names[1]])
            term = self._riser_term(riser)
            for line in self._layout.lines:
                if line not in (riser.one, riser.other):
                    self._pass(riser, term, line)
        self._keep_risers_apart()

    def _keep_risers_apart(self) -> None:
        """No two of them stand in one column and pass the same lanes; those of one place are one."""
        together: dict[object, list[Riser]] = {}
        for riser in self._layout.risers:
            together.setdefault(riser.place or riser, []).append(riser)
        stretches = [self._stretch(risers) for risers in together.values()]
        for one, other in combinations(stretches, 2):
            self._keep_two_apart(one, other)

    def _stretch(self, risers: Sequence[Riser]) -> tuple[Term, cp_model.IntVar, cp_model.IntVar]:
        """The column of these, and from which lane to which they go together."""
        model, most = self._model, self._most
        ends = [self._lane[line] for riser in risers for line in (riser.one, riser.other)]
        low, high = model.new_int_var(-most, most, "low"), model.new_int_var(-most, most, "high")
        model.add_min_equality(low, ends)
        model.add_max_equality(high, ends)
        return self._riser_term(risers[0]), low, high

    def _keep_two_apart(
        self,
        one: tuple[Term, cp_model.IntVar, cp_model.IntVar],
        other: tuple[Term, cp_model.IntVar, cp_model.IntVar],
    ) -> None:
        model = self._model
        (here, low, high), (there, other_low, other_high) = one, other
        if self._sure.all_after([there], here, 1) or self._sure.all_before([there], here, 1):
            return
        left, right, above, below = (model.new_bool_var("apart") for _ in range(4))
        model.add_bool_or([left, right, above, below])
        model.add(self._column(here) + 1 <= self._column(there)).only_enforce_if(left)
        model.add(self._column(there) + 1 <= self._column(here)).only_enforce_if(right)
        model.add(high <= other_low).only_enforce_if(above)
        model.add(other_high <= low).only_enforce_if(below)

    def _riser_term(self, riser: Riser) -> Term:
        """The column in which a riser stands."""
        if riser.link is not None:
            return bend_name(self._layout, riser.link), 0
        return middle_name(riser.place), riser.looks * is_table(self._layout, riser.place)

    def _pass(self, riser: Riser, term: Term, line: Line) -> None:
        """The riser and the line keep clear of each other; nothing is asked where that is sure."""
        near = 0 if riser.place and self._is_met(riser.place, line) else 1
        met = self._must.covered[line]
        if self._sure.all_after(met, term, near) or self._sure.all_before(met, term, near):
            return
        left, right = (self._at[name] for name in _ends(line))
        at = self._column(term)
        beside: list[cp_model.IntVar] = []
        if not self._sure.any_before(met, term, near):
            beyond = self._model.new_bool_var("beyond")
            self._model.add(left >= at + near).only_enforce_if(beyond)
            beside.append(beyond)
        if not self._sure.any_after(met, term, near):
            before = self._model.new_bool_var("before")
            self._model.add(right <= at - near).only_enforce_if(before)
            beside.append(before)
        self._keep_clear(riser, line, beside)

    def _is_met(self, place: str, line: Line) -> bool:
        return any(riser.place == place and riser.other == line for riser in self._layout.risers)

    def _jog(self, riser: Riser) -> None:
        straight = self._model.new_bool_var("straight")
        lane = self._lane
        self._model.add(lane[riser.one] == lane[riser.other]).only_enforce_if(straight)
        self._cost.append(_JOG * ~straight)


class _Sure:
    """What the least distances say of any two names, by the longest way from one to the other."""

    def __init__(self, least: Sequence[tuple[Term, Term, int]], names: Iterable[str]) -> None:
        self._index = {name: index for index, name in enumerate(names)}
        far = np.full((len(self._index), len(self._index)), _NEVER, dtype=np.int64)
        np.fill_diagonal(far, 0)
        for left, right, distance in least:
            one, other = self._index[left[0]], self._index[right[0]]
            far[one, other] = max(far[one, other], distance + left[1] - right[1])
        for middle in range(len(far)):
            far = np.maximum(far, far[:, middle, None] + far[None, middle, :])
        self._far = far

    def _apart(self, one: Term, other: Term) -> int:
        """How far ``other`` is to the right of ``one`` at the least."""
        return int(self._far[self._index[one[0]], self._index[other[0]]]) + other[1] - one[1]

    def all_after(self, terms: Sequence[Term], at: Term, least: int) -> bool:
        """Whether all of them are so much to the right of ``at``."""
        return all(self._apart(at, term) >= least for term in terms)

    def all_before(self, terms: Sequence[Term], at: Term, least: int) -> bool:
        """Whether all of them are so much to the left of ``at``."""
        return all(self._apart(term, at) >= least for term in terms)

    def any_before(self, terms: Sequence[Term], at: Term, least: int) -> bool:
        """Whether any of them cannot be so much to the right of ``at``."""
        return any(self._apart(term, at) > -least for term in terms)

    def any_after(self, terms: Sequence[Term], at: Term, least: int) -> bool:
        """Whether any of them cannot be so much to the left of ``at``."""
        return any(self._apart(at, term) > -least for term in terms)


def _ends(line: Line) -> tuple[str, str]:
    return f"left {line}", f"right {line}"
