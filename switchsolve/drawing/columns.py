"""Where everything lies from left to right: a linear program of distances.

Once for an estimate, before there are lanes, and once for good, when it is known what stands beside what.
Every distance is a least one, and all rail together is as short as can be.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field

from switchsolve.district import End
from switchsolve.drawing.lines import Layout, Line, Riser
from switchsolve.drawing.network import Link

__all__ = ["Columns", "Metrics", "column_of", "place_columns", "seen_by"]


@dataclass(frozen=True, slots=True)
class Metrics:
    """Sizes that a picture asks for, in its own units (whole numbers).

    ``slant``: run of a leg for each lane it climbs.  ``stub``: rail of a junction on the side of its
    points.  ``leg``: least straight rail beyond them.  ``turn``: run of a bend.  ``gap``: room between
    neighbors in a lane.  ``radius``: of a turntable, half of a transfer table.  ``fan``: run of the rail
    from a turntable's rim to the lanes.  ``rows``: lanes that a turntable covers above and below its own.
    ``widths``: least width of each track, ``shortest`` where it says nothing.
    """

    slant: int
    stub: int
    leg: int
    turn: int
    gap: int
    radius: int
    fan: int
    rows: int
    widths: Mapping[str, int] = field(default_factory=dict)
    shortest: int = 1


@dataclass(frozen=True, slots=True)
class Columns:
    """``middle`` of each junction and table, ``port`` of each port, ``bend`` of each link that turns, and
    the ``span`` of each line, left and right."""

    middle: dict[str, int]
    port: dict[End, int]
    bend: dict[Link, int]
    span: dict[Line, tuple[int, int]]


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


Term = tuple[str, int]
"""A variable and what is added to it."""


def place_columns(
    layout: Layout,
    metrics: Metrics,
    lanes: Mapping[Line, int] | None = None,
    estimate: Columns | None = None,
) -> Columns:
    """Columns of everything; with ``lanes``, so that nothing in one lane overlaps (``estimate`` says what
    is left of what)."""
    return _Placing(layout, metrics, lanes, estimate).solved()


class _Placing:
    def __init__(
        self, layout: Layout, metrics: Metrics, lanes: Mapping[Line, int] | None, estimate: Columns | None
    ) -> None:
        self._layout, self._metrics = layout, metrics
        self._lanes, self._estimate = lanes, estimate
        self._least: list[tuple[Term, Term, int]] = []
        """The second is at least so much to the right of the first."""
        self._wishes: list[tuple[Term, Term]] = []
        """The second should be to the right of the first: broken only if all else fails."""
        self._cost: list[tuple[Term, Term, int]] = []
        self._mates = layout.network.mates()
        self._names: dict[str, None] = {}
        self._covered: dict[Line, list[Term]] = {}

    def solved(self) -> Columns:
        """All columns."""
        for group in self._layout.network.groups:
            for port, _ in group.sides:
                self._port(port)
        self._tracks()
        self._links()
        self._spans()
        if self._lanes is not None and self._estimate is not None:
            self._keep_apart(self._lanes, self._estimate)
        return self._read(self._solve())

    # ---- what must hold

    def _after(self, one: Term, other: Term, least: int, looks: int = 1, cost: int = 0) -> None:
        """``other`` lies at least so far from ``one``, on the side to which ``looks`` points."""
        left, right = (one, other) if looks > 0 else (other, one)
        for name, _ in (left, right):
            self._names.setdefault(name)
        self._least.append((left, right, least))
        if cost:
            self._cost.append((left, right, cost))

    def _climb(self, riser: Riser) -> int:
        """Lanes that a riser climbs."""
        return 1 if self._lanes is None else abs(self._lanes[riser.one] - self._lanes[riser.other])

    def _port(self, port: End) -> None:
        layout, metrics = self._layout, self._metrics
        riser = next((item for item in layout.risers if port in (item.port, item.far)), None)
        looks = layout.facing.looks[port]
        if _is_table(layout, port.place):
            far = metrics.radius + (metrics.fan if riser is not None else 0)
            self._after((_middle(port.place), 0), (_at(port), 0), far, looks, 2)
            self._after((_at(port), 0), (_middle(port.place), 0), -far, looks)
        elif port.place in layout.middle and riser is not None:
            self._after((_middle(port.place), 0), (_at(port), 0), self._run(riser), looks, 5)
        elif port.place in layout.middle:
            self._after((_middle(port.place), 0), (_at(port), 0), self._reach(port), looks, 5)

    def _reach(self, port: End) -> int:
        """Least straight rail from the middle: past the legs; shorter, if a junction follows at once."""
        if not self._has_legs(port):
            return self._metrics.stub
        mate = self._mates.get(port)
        follows = mate is not None and mate.place in self._layout.middle and self._layout.beside == ()
        return self._metrics.leg * 3 // 4 if follows else self._metrics.leg

    def _run(self, riser: Riser) -> int:
        """How far from the middle a riser's port lies; half way, if it leads to another middle."""
        run = self._climb(riser) * self._metrics.slant
        return run if riser.far is None else -(-run // 2)

    def _has_legs(self, port: End) -> bool:
        """Whether legs leave on this side of the middle, so that the straight rail must be as long."""
        looks = self._layout.facing.looks
        free = [
            free
            for riser in self._layout.risers
            for free in (riser.port, riser.far)
            if free is not None and free.place == port.place
        ]
        return not free or any(looks[leg] == looks[port] for leg in free)

    def _tracks(self) -> None:
        network = self._layout.network
        for name in [*(track.name for track in network.district.tracks), *network.fillers]:
            start, end = End(name, "from"), End(name, "to")
            width = self._metrics.widths.get(name, self._metrics.shortest)
            self._after((_at(start), 0), (_at(end), 0), width, self._layout.facing.looks[end], 1)

    def _links(self) -> None:
        layout, metrics = self._layout, self._metrics
        for index, link in enumerate(layout.network.links):
            one, other = (_at(link.one), 0), (_at(link.other), 0)
            looks = layout.facing.looks[link.one]
            if link in layout.facing.bends:
                for port, term in ((link.one, one), (link.other, other)):
                    cost = 2 if port.place in layout.middle else 3
                    self._after(term, (f"bend {index}", 0), metrics.turn, looks, cost)
                continue
            self._after(one, other, 0)
            self._after(other, one, 0)

    def _spans(self) -> None:
        """The left and right end of each line lie around all that is on it."""
        layout = self._layout
        for port, line in layout.line_of.items():
            self._cover(line, (_at(port), 0))
        for place, line in layout.middle.items():
            if not _is_table(layout, place):
                self._cover(line, (_middle(place), 0))
            else:
                self._cover(line, (_middle(place), -self._metrics.radius))
                self._cover(line, (_middle(place), self._metrics.radius))
        for riser in layout.risers:
            if riser.link is not None:
                index = layout.network.links.index(riser.link)
                self._cover(riser.one, (f"bend {index}", 0))
                self._cover(riser.other, (f"bend {index}", 0))
            elif riser.far is None and not _is_table(layout, riser.place):
                reach = riser.looks * self._climb(riser) * self._metrics.slant
                self._cover(riser.other, (_middle(riser.place), reach))

    def _cover(self, line: Line, term: Term) -> None:
        self._covered.setdefault(line, []).append(term)
        self._after((f"left {line}", 0), term, 0)
        self._after(term, (f"right {line}", 0), 0)

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
            if riser.link is not None:
                term = (f"bend {self._layout.network.links.index(riser.link)}", 0)
                yield riser, term, term
                continue
            near = far = riser.looks * abs(lane - lanes[riser.one]) * self._metrics.slant
            if _is_table(self._layout, riser.place):
                near, far = 0, riser.looks * (self._metrics.radius + self._metrics.fan)
            name = _middle(riser.place)
            yield riser, (name, min(near, far)), (name, max(near, far))

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
                yield table.name, (_middle(table.name), -radius), (_middle(table.name), radius)

    # ---- the program

    def _solve(self) -> dict[str, float]:
        from ortools.linear_solver.python import model_builder

        model = model_builder.Model()  # type: ignore[no-untyped-call]
        names = dict.fromkeys([*self._names, *(t[0] for pair in self._wishes for t in pair)])
        at = {name: model.new_num_var(0, 1_000_000, name) for name in names}
        for left, right, least in self._least:
            model.add(at[right[0]] + right[1] - at[left[0]] - left[1] >= least)
        # the sum of all costs of a distance, variable by variable
        weight = dict.fromkeys(names, 0.0)
        for left, right, cost in self._cost:
            weight[right[0]] += cost
            weight[left[0]] -= cost
        total = sum(
            (weight[name] * at[name] for name in names if weight[name]), start=0.001 * sum(at.values())
        )
        for left, right in self._wishes:
            short = model.new_num_var(0, 1_000_000, "short")
            model.add(at[right[0]] + right[1] - at[left[0]] - left[1] + short >= 0)
            total += 1000 * short
        model.minimize(total)
        solver = model_builder.Solver("GLOP")
        status = solver.solve(model)
        assert status == model_builder.SolveStatus.OPTIMAL, status
        return {name: solver.value(variable) for name, variable in at.items()}

    def _read(self, at: Mapping[str, float]) -> Columns:
        layout = self._layout
        first = min(at.values(), default=0.0)
        whole = {name: round(value - first) for name, value in at.items()}
        places = [*layout.middle, *(table.name for table in layout.network.district.tables)]
        links = layout.network.links
        return Columns(
            {place: whole[_middle(place)] for place in places if _middle(place) in whole},
            {
                port: whole[_at(port)]
                for g in layout.network.groups
                for port, _ in g.sides
                if _at(port) in whole
            },
            {link: whole[f"bend {index}"] for index, link in enumerate(links) if f"bend {index}" in whole},
            {line: self._span(whole, line) for line in layout.lines},
        )

    def _span(self, whole: Mapping[str, int], line: Line) -> tuple[int, int]:
        columns = [whole[name] + more for name, more in self._covered[line]]
        return min(columns), max(columns)


def _middle(place: str) -> str:
    return f"middle {place}"


def _at(port: End) -> str:
    return f"port {port.place}\t{port.end}"


def _is_table(layout: Layout, place: str) -> bool:
    return any(table.name == place for table in layout.network.district.tables)
