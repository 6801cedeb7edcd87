"""From a puzzle to its schematic: facing, lines, lanes, columns, rail, names."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from itertools import chain, combinations, islice, pairwise
from statistics import median
from typing import TYPE_CHECKING

from switchsolve.district import Cell, End, KeepClear, Track
from switchsolve.drawing.columns import Columns, place_columns
from switchsolve.drawing.distances import Metrics
from switchsolve.drawing.facing import facings
from switchsolve.drawing.labels import Placer, ground_labels, make_label, marks_in_words, note_of
from switchsolve.drawing.lanes import Wishes, choose_lanes
from switchsolve.drawing.lines import Layout, Line, lay_out
from switchsolve.drawing.network import Network
from switchsolve.drawing.schematic import Box, Label, Mark, Point, Rail, Schematic
from switchsolve.drawing.text import clean, shortened
from switchsolve.drawing.tracing import Traced, trace
from switchsolve.lengths import format_length
from switchsolve.puzzle import Puzzle

if TYPE_CHECKING:
    from switchsolve.drawing.untangling import Untangled

__all__ = ["ROW", "Plan", "arrange", "draw", "own_widths"]

ROW = 54
"""Distance of lanes, drawing units."""
_PICTURES = 4
"""How many pictures are tried that should have no crossing."""
_MARGIN, _TOP = 34.0, 78.0
_VEHICLE = 52
"""Length of the middling vehicle."""
_SMALLEST = 26
"""Length of the shortest vehicle, at the least."""
_SMALLEST_EVEN = 36
"""The same where tracks are drawn alike."""
_LEAST = 40
"""Length of the shortest track."""
_TITLE_SIZE = 15.0
_BOLD = 1.15
"""How much wider bold type is."""


@dataclass(frozen=True, slots=True)
class Plan:
    """Lines in their lanes and columns, before there is rail."""

    layout: Layout
    metrics: Metrics
    lanes: dict[Line, int]
    columns: Columns


def arrange(puzzle: Puzzle, metrics: Metrics) -> Plan:
    """The best lanes and columns for pictures of the given sizes."""
    network = Network.of(puzzle.district)
    faced = facings(network)
    layout = lay_out(network, next(faced))
    estimate = place_columns(layout, metrics)
    lanes = choose_lanes(layout, estimate, metrics, _wishes(puzzle))
    plan = Plan(layout, metrics, lanes, place_columns(layout, metrics, lanes, estimate))
    if not tangles_of(plan):
        return plan
    from switchsolve.drawing.untangling import untangled  # few plans need it, and it loads numpy

    others = untangled(network, chain([layout.facing], faced), _wishes(puzzle))
    return min(_without_crossing(plan, others), key=tangles_of)


def _without_crossing(plan: Plan, others: Iterator[Untangled]) -> Iterator[Plan]:
    """The plan, and others until one has no crossing."""
    yield plan
    for found in islice(others, _PICTURES):
        columns = place_columns(found.layout, plan.metrics, found.lanes, found.order, in_order=True)
        other = Plan(found.layout, plan.metrics, found.lanes, columns)
        yield other
        if not tangles_of(other):
            return


def tangles_of(plan: Plan) -> int:
    """How many pairs of rails cross in the picture, other than in one junction."""
    traced = trace(plan.layout, plan.metrics, plan.columns, plan.lanes, plan.metrics.slant)
    pieces = [(name, pair) for name, rail in traced.tracks.items() for pair in pairwise(rail.points)]
    pieces += [
        (each.name, pair) for each in traced.junctions for leg in each.legs for pair in pairwise(leg.points)
    ]
    pieces += [("", pair) for rail in traced.plain for pair in pairwise(rail.points)]
    return sum(one != other and _cross(a, b) for (one, a), (other, b) in combinations(pieces, 2))


def _cross(one: tuple[Point, Point], two: tuple[Point, Point]) -> bool:
    def side(a: Point, b: Point, c: Point) -> float:
        return (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0])

    return side(*one, two[0]) * side(*one, two[1]) < 0 and side(*two, one[0]) * side(*two, one[1]) < 0


def draw(puzzle: Puzzle, *, to_scale: bool = True) -> Schematic:
    """The schematic of a puzzle's district; the same for the same file.

    Tracks are drawn to scale, but for those that must be longer to join what they join, or to be seen at
    all; if not ``to_scale``, all are drawn alike.
    """
    scale = _scale(puzzle)
    widths = _scaled(puzzle, scale) if to_scale else _even(puzzle)
    table = max((table.length for table in puzzle.district.tables), default=0)
    metrics = Metrics(
        slant=ROW,
        stub=12,
        leg=ROW,
        turn=ROW // 2,
        gap=26,
        radius=min(max(round(table * scale / 2), 18), ROW - 12),
        fan=40,
        rows=1,
        widths=widths,
        shortest=24,
    )
    plan = arrange(puzzle, metrics)
    columns = plan.columns
    if to_scale:
        columns = own_widths(plan, widths)
    traced = trace(plan.layout, metrics, columns, plan.lanes, ROW, (_MARGIN, _TOP))
    return _finished(puzzle, plan, traced, scale if to_scale else None)


def _wishes(puzzle: Puzzle) -> Wishes:
    sides = {name: -1 if side == "up" else 1 for name, side in puzzle.drawing.sides.items()}
    return Wishes(puzzle.drawing.lanes, sides)


# ---- sizes


def _scale(puzzle: Puzzle) -> float:
    """Drawing units for one grid unit."""
    lengths = [vehicle.length for vehicle in puzzle.vehicles.values()] or [puzzle.grid]
    return max(_VEHICLE / median(lengths), _SMALLEST / min(lengths))


def _scaled(puzzle: Puzzle, scale: float) -> dict[str, int]:
    return {track.name: max(round(track.length * scale), _LEAST) for track in puzzle.district.tracks}


def _even(puzzle: Puzzle) -> dict[str, int]:
    """One width for all, in which every vehicle can be seen where it stands at the start."""
    width = 3.0 * _VEHICLE
    for string in puzzle.start.strings:
        place = puzzle.district.place(string.track)
        if isinstance(place, Track):
            shortest = min(puzzle.vehicles[name].length for name in string.vehicles)
            width = max(width, _SMALLEST_EVEN * place.length / shortest)
    return {track.name: round(width) for track in puzzle.district.tracks}


def own_widths(plan: Plan, widths: dict[str, int]) -> Columns:
    """The columns with each track that had to be stretched at its own width again.

    What is over is given to the legs of the junctions at its ends: there is no room to stand there.
    """
    mates = plan.layout.network.mates()
    turning = plan.layout.facing.bends | plan.layout.jogs
    bent = {port for link in turning for port in (link.one, link.other)}
    port = dict(plan.columns.port)
    for name, width in widths.items():
        ends = [End(name, "from"), End(name, "to")]
        over = abs(port[ends[0]] - port[ends[1]]) - width
        movable = [
            end
            for end in ends
            if end in mates
            and end not in bent
            and mates[end].place in plan.layout.middle
            and not _is_table(plan, mates[end].place)
        ]
        for number, end in enumerate(movable):
            share = over // 2 if len(movable) == 2 and number == 0 else over - over // 2 * (len(movable) - 1)
            moved = port[end] - plan.layout.facing.looks[end] * share
            port[end] = port[mates[end]] = moved
    return replace(plan.columns, port=port)


def _is_table(plan: Plan, place: str) -> bool:
    return any(table.name == place for table in plan.layout.network.district.tables)


# ---- page, marks, labels


def _finished(puzzle: Puzzle, plan: Plan, traced: Traced, scale: float | None) -> Schematic:
    rails = [*traced.tracks.values(), *traced.cells.values(), *traced.plain]
    right = max(
        [x for rail in rails for x, _ in rail.points] + [table.box.right for table in traced.tables.values()]
    )
    lanes = max(plan.lanes.values()) + 1
    page = Box(0, 0, max(right + _MARGIN, 420.0), _TOP + lanes * ROW - 8.0)
    labels = _title(puzzle, page)
    inner = Box(4, _TOP - 40, page.right - 4, page.bottom - 2)
    labels += ground_labels(puzzle.district, traced, Placer(inner, rails))
    return Schematic(
        puzzle.district,
        page.right,
        page.bottom,
        scale,
        traced.tracks,
        traced.cells,
        traced.junctions,
        traced.tables,
        traced.plain,
        tuple(_marks(puzzle, traced)),
        labels,
        {track.name: format_length(track.length, puzzle) for track in puzzle.district.tracks},
    )


def _title(puzzle: Puzzle, page: Box) -> tuple[Label, ...]:
    text = clean(puzzle.title)
    if not text:
        return ()
    short = shortened(text, (page.right - 2 * _MARGIN) / _BOLD, _TITLE_SIZE)
    return (make_label("title", short, text, (_MARGIN, 28.0), _TITLE_SIZE, starts=True),)


def _marks(puzzle: Puzzle, traced: Traced) -> Iterator[Mark]:
    """Everything that is marked at the rail."""
    entrances = {End(track.name, end) for track in puzzle.district.tracks for end in track.entrances}
    for end, point, looks in traced.stops:
        yield Mark("entrance" if end in entrances else "bumper", end.place, (point,), looks)
    for track in puzzle.district.tracks:
        for index, part in enumerate(track.parts):
            rail = traced.cells[Cell(track.name, index)]
            if part.marks.no_locomotives:
                yield Mark("closed", track.name, rail.points)
            if part.marks.keep_clear is not KeepClear.NO:
                always = part.marks.keep_clear is KeepClear.ALWAYS
                yield Mark("crossing" if always else "clear", track.name, rail.points)
            elif index:
                yield Mark("seam", track.name, Rail(rail.points).stretch(0, 0.01))
            if note_of(part) and not part.marks.no_locomotives and part.marks.keep_clear is KeepClear.NO:
                yield Mark("limit", track.name, rail.points)
        for spot in track.spots:
            (x, y), _ = traced.tracks[track.name].at(spot.at / track.length)
            yield Mark("spot", track.name, ((x, y + 11), (x, y + 14)))
    for junction in puzzle.district.junctions:
        if marks_in_words(junction.marks):
            kind = "closed leg" if junction.marks.no_locomotives else "limit"
            for index in range(len(junction.routes)):
                yield Mark(kind, junction.name, traced.cells[Cell(junction.name, index)].points)
