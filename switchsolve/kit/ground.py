"""The district at the size of the model, as SVG in millimeters."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from html import escape
from math import dist

from switchsolve.district import End, KeepClear, Track
from switchsolve.drawing import Box
from switchsolve.drawing.text import clean, shortened
from switchsolve.drawing.truescale import TrueScale, rail_at_true_scale
from switchsolve.kit.sizes import Sizes
from switchsolve.lengths import format_length
from switchsolve.puzzle import Puzzle

__all__ = ["Ground", "ground_of"]

_FINE = 10
"""Drawing units in a millimeter."""
_AROUND = 14.0
"""Air around all rail, beyond the lanes."""
_NAME, _SMALL = 3.4, 2.6
"""Sizes of type."""
_AGAIN = 230.0
"""A long track has its name again after so much."""

Point = tuple[float, float]


@dataclass(frozen=True, slots=True)
class Ground:
    """``svg``: all that is drawn, for a box from (0, 0) to (``width``, ``height``).  ``things``: boxes that
    together cover all rail.
    """

    svg: str
    width: float
    height: float
    things: tuple[Box, ...]


def ground_of(puzzle: Puzzle, sizes: Sizes) -> Ground:
    """The whole district.  The level part of each track, from tick to tick, has its true length; so has each
    leg of a turnout from its points on.
    """
    rail = rail_at_true_scale(puzzle, sizes.mm * _FINE, round(sizes.centers * _FINE))
    return _Ground(puzzle, sizes, rail).drawn()


class _Ground:
    """Draws one district."""

    def __init__(self, puzzle: Puzzle, sizes: Sizes, rail: TrueScale) -> None:
        traced = rail.traced
        self._puzzle, self._sizes, self._traced, self._routes = puzzle, sizes, traced, rail.routes
        rails = [*traced.tracks.values(), *traced.cells.values(), *traced.plain]
        points = [point for rail in rails for point in rail.points]
        boxes = [table.box for table in traced.tables.values()]
        self._left = min([x for x, _ in points] + [box.left for box in boxes]) / _FINE - _AROUND
        self._top = min([y for _, y in points] + [box.top for box in boxes]) / _FINE - self._reach - 2
        self._right = max([x for x, _ in points] + [box.right for box in boxes]) / _FINE + _AROUND
        self._bottom = max([y for _, y in points] + [box.bottom for box in boxes]) / _FINE + self._reach + 2

    @property
    def _reach(self) -> float:
        """How far ticks and names go from the rail."""
        return self._sizes.width / 2 + 2 * _NAME

    def _at(self, point: Point) -> Point:
        return point[0] / _FINE - self._left, point[1] / _FINE - self._top

    def drawn(self) -> Ground:
        """All of it, lowest layer first."""
        lines = [*self._joins(), *self._legs(), *self._tables()]
        for track in self._puzzle.district.tracks:
            lines += [*self._track(track), *self._spots(track), *self._names(track)]
        lines += [*self._stops(), *self._junction_names()]
        return Ground(
            "\n".join(lines),
            self._right - self._left,
            self._bottom - self._top,
            tuple(self._things()),
        )

    def _things(self) -> Iterator[Box]:
        rails = [*self._traced.tracks.values(), *self._traced.cells.values(), *self._traced.plain]
        half = self._sizes.width / 2
        for rail in rails:
            for one, other in zip(rail.points, rail.points[1:], strict=False):
                (ax, ay), (bx, by) = self._at(one), self._at(other)
                yield Box(min(ax, bx) - half, min(ay, by) - half, max(ax, bx) + half, max(ay, by) + half)

    # ---- rail

    def _line(self, points: list[Point], kind: str) -> str:
        told = " ".join(f"{x:.2f},{y:.2f}" for x, y in (self._at(point) for point in points))
        return f'<polyline class="{kind}" points="{told}"/>'

    def _joins(self) -> Iterator[str]:
        """All rail, dotted: where it is not to scale nothing lies over it."""
        for rail in [*self._traced.plain, *self._traced.tracks.values()]:
            yield self._line(list(rail.points), "join")
        for junction in self._traced.junctions:
            for leg in junction.legs:
                yield self._line(list(leg.points), "join")

    def _legs(self) -> Iterator[str]:
        """The ways through junctions, each as long as it is, with a tick at either end."""
        for points in self._routes.values():
            yield self._line(list(points), "leg")
            yield from (self._end_tick(*pair) for pair in (points[:2], points[:-3:-1]))

    def _end_tick(self, end: Point, inside: Point) -> str:
        """A small tick across the rail at ``end``."""
        (x, y), (ax, ay) = self._at(end), self._at(inside)
        share = _NAME / 2 / (dist((x, y), (ax, ay)) or 1.0)
        across, down = (ay - y) * share, (x - ax) * share
        return f'<path class="leg" d="M{x - across:.2f} {y - down:.2f}L{x + across:.2f} {y + down:.2f}"/>'

    def _tables(self) -> Iterator[str]:
        for table in self._traced.tables.values():
            (x, y), (right, bottom) = (
                self._at((table.box.left, table.box.top)),
                self._at((table.box.right, table.box.bottom)),
            )
            size = f'width="{right - x:.2f}" height="{bottom - y:.2f}"'
            yield f'<rect class="table" x="{x:.2f}" y="{y:.2f}" {size}/>'
            for bridge in table.bridges:
                yield self._line(list(bridge.points), "leg")
            yield self._text((x + right) / 2, y - 1, table.name, "small")

    def _run(self, track: Track) -> tuple[Point, Point]:
        """The level part of a track as long as the track is, its ``from`` end first.

        Where the rail had to be drawn longer, what is over is left at both ends.
        """
        left, right = self._traced.runs[track.name]
        over = (right[0] - left[0] - track.length * self._sizes.mm * _FINE) / 2
        over = over if over > 1 else 0.0  # columns are whole units
        ends = (left[0] + over, left[1]), (right[0] - over, right[1])
        points = self._traced.tracks[track.name].points
        at_left, at_right = (
            min(range(len(points)), key=lambda index: dist(points[index], end)) for end in (left, right)
        )
        return ends if at_left < at_right else ends[::-1]

    def _along(self, track: Track, at: int) -> Point:
        """The point so many grid units from the ``from`` end."""
        (ax, ay), (bx, _) = self._run(track)
        return ax + (bx - ax) * at / track.length, ay

    def _track(self, track: Track) -> Iterator[str]:
        gone = 0
        for index, part in enumerate(track.parts):
            ends = [self._along(track, gone), self._along(track, gone + part.length)]
            if part.marks.no_locomotives:
                yield self._line(ends, "bare")  # no dot between the dashes
            yield self._line(ends, "closed" if part.marks.no_locomotives else "track")
            told = _mark(part.marks.no_locomotives, part.marks.keep_clear)
            if told:
                x, y = self._at(((ends[0][0] + ends[1][0]) / 2, ends[0][1]))
                yield self._text(x, y + self._sizes.width / 2 + 2 * _SMALL, told, "small")
            if index:
                yield self._tick(ends[0], "seam")
            gone += part.length
        yield from (self._tick(point, "tick") for point in self._run(track))

    def _tick(self, point: Point, kind: str) -> str:
        x, y = self._at(point)
        half = self._sizes.width / 2
        return f'<path class="{kind}" d="M{x:.2f} {y - half:.2f}V{y + half:.2f}"/>'

    def _spots(self, track: Track) -> Iterator[str]:
        for spot in track.spots:
            x, y = self._at(self._along(track, spot.at))
            low = y + self._sizes.width / 2
            yield f'<path class="spot" d="M{x:.2f} {y + 1:.2f}V{low:.2f}"/>'
            yield self._text(x, low + _SMALL, spot.name, "small")

    def _stops(self) -> Iterator[str]:
        entrances = {End(one.name, end) for one in self._puzzle.district.tracks for end in one.entrances}
        for end, point, looks in self._traced.stops:
            x, y = self._at(point)
            if end in entrances:
                tip = x + 7 * looks
                yield f'<path class="tick" d="M{x:.2f} {y - 4:.2f}L{tip:.2f} {y:.2f}L{x:.2f} {y + 4:.2f}"/>'
            else:
                half = self._sizes.width / 2
                yield f'<path class="bumper" d="M{x:.2f} {y - half:.2f}V{y + half:.2f}"/>'

    # ---- words

    def _text(self, x: float, y: float, text: str, kind: str) -> str:
        return f'<text class="{kind}" x="{x:.2f}" y="{y:.2f}">{escape(clean(text))}</text>'

    def _names(self, track: Track) -> Iterator[str]:
        """Name and length above the rail, again and again on a long track."""
        (ax, ay), (bx, _) = (self._at(point) for point in sorted(self._run(track)))
        length = format_length(track.length, self._puzzle)
        text = shortened(f"{clean(track.name)}, {length}", max(bx - ax, 12.0), _NAME)
        times = max(1, round((bx - ax) / _AGAIN))
        for number in range(times):
            x = ax + (bx - ax) * (2 * number + 1) / (2 * times)
            yield self._text(x, ay - self._sizes.width / 2 - 1.2, text, "name")

    def _junction_names(self) -> Iterator[str]:
        for junction in self._traced.junctions:
            x, y = self._at(junction.middle)
            yield f'<circle class="points" cx="{x:.2f}" cy="{y:.2f}" r="1.3"/>'
            yield self._text(x, y + self._sizes.width / 2 - 0.6, junction.name, "small")


def _mark(is_closed: bool, keep_clear: KeepClear) -> str:
    """What is marked at a part, in words."""
    told = ["closed to locomotives"] if is_closed else []
    if keep_clear is not KeepClear.NO:
        told.append("keep clear" if keep_clear is KeepClear.ALWAYS else "clear at the end")
    return ", ".join(told)
