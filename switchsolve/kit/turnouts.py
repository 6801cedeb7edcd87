"""Junctions to cut out: every leg as long on the paper as on the table, from clearance point to points.

A turnout is drawn as it lies: the straight leg level, the diverging one curved over its first half and
straight beyond (about so in common practice; no source), turned away until its end is the distance of the
lanes from the other, as at a clearance point.  Of every other junction each way through is a strip by itself.
"""

from __future__ import annotations

from collections.abc import Iterator
from html import escape
from math import ceil, cos, pi, sin

from switchsolve.district import Junction, Route
from switchsolve.drawing.text import clean, shortened
from switchsolve.kit.cutouts import Piece
from switchsolve.kit.sizes import Sizes
from switchsolve.lengths import format_length
from switchsolve.puzzle import Puzzle

__all__ = ["diverging_leg", "turnout_pieces"]

_CURVED = 0.5
"""Share of the diverging leg that is curved."""
_MOST = pi / 6
"""A leg that would have to turn away by more than this ends nearer to the other one."""
_STEPS = 60
_EDGE = 3.0
"""Paper around the rail, and for the words."""

Point = tuple[float, float]


def turnout_pieces(puzzle: Puzzle, sizes: Sizes, widest: float) -> list[Piece]:
    """All junctions of the district, those that are alike as one piece with all their names; what is longer
    than ``widest`` in parts, to be joined end to end.
    """
    alike: dict[tuple[int, ...], list[str]] = {}
    for junction in puzzle.district.junctions:
        legs = _turnout(junction)
        if legs is not None:
            alike.setdefault(tuple(leg.length for leg in legs), []).append(junction.name)
        else:
            for route in junction.routes:
                alike.setdefault((route.length,), []).append(f"{junction.name} {route.a} to {route.b}")
    return [
        piece
        for lengths, names in alike.items()
        for piece in _drawn(puzzle, sizes, widest, ", ".join(names), lengths)
    ]


def _turnout(junction: Junction) -> tuple[Route, Route] | None:
    """The straight and the diverging leg, if the junction has two ways that begin at one end."""
    if len(junction.routes) != 2:
        return None
    one, other = sorted(junction.routes, key=lambda route: "diverging" in (route.a, route.b))
    return (one, other) if {one.a, one.b} & {other.a, other.b} else None


def diverging_leg(length: float, apart: float) -> tuple[Point, ...]:
    """Points of a leg so long, from (0, 0) on along x, whose end lies ``apart`` in y: all millimeters."""
    low, high = 0.0, _MOST
    for _ in range(_STEPS):
        middle = (low + high) / 2
        low, high = (middle, high) if _leg(length, middle)[-1][1] < apart else (low, middle)
    return _leg(length, high)


def _leg(length: float, angle: float) -> tuple[Point, ...]:
    curved = _CURVED * length
    radius = curved / angle
    turns = [angle * step / _STEPS for step in range(_STEPS + 1)]
    points = [(radius * sin(turn), radius * (1 - cos(turn))) for turn in turns]
    x, y = points[-1]
    beyond = length - curved
    return (*points, (x + beyond * cos(angle), y + beyond * sin(angle)))


def _drawn(
    puzzle: Puzzle, sizes: Sizes, widest: float, name: str, lengths: tuple[int, ...]
) -> Iterator[Piece]:
    """One way, or two from the same points, in as many parts as it takes."""
    lines: list[tuple[Point, ...]] = [((0.0, 0.0), (lengths[0] * sizes.mm, 0.0))]
    if len(lengths) > 1:
        lines.append(diverging_leg(lengths[1] * sizes.mm, sizes.centers))
    wide = max(x for line in lines for x, _ in line)
    high = max(y for line in lines for _, y in line) + sizes.width + 2 * _EDGE + 6
    told = " and ".join(format_length(length, puzzle) for length in lengths)
    svg = "".join(_rail(sizes, line) for line in lines)
    parts = ceil(wide / widest)
    for number in range(parts):
        part = f" ({number + 1} of {parts})" if parts > 1 else ""
        width = wide / parts
        text = escape(shortened(f"{told}{part}:", width - 2, 2.6))
        names = escape(shortened(clean(name), width - 2, 2.6))
        view = f'viewBox="{number * width:.3f} {-sizes.width / 2 - _EDGE:.3f} {width:.3f} {high:.3f}"'
        yield Piece(
            f'<svg width="{width:.3f}" height="{high:.3f}" {view}>{svg}</svg>'
            f'<rect class="edge" x="0" y="0" width="{width:.3f}" height="{high:.3f}"/>'
            f'<text class="told" x="1" y="{high - 4:.2f}">{text}</text>'
            f'<text class="told" x="1" y="{high - 1:.2f}">{names}</text>',
            width,
            high,
        )


def _rail(sizes: Sizes, points: tuple[Point, ...]) -> str:
    """A leg, with a tick across its end and across the points."""
    half = sizes.width / 2
    (x0, y0), (x1, y1), (x2, y2) = points[0], points[-1], points[-2]
    size = ((x1 - x2) ** 2 + (y1 - y2) ** 2) ** 0.5
    across, down = half * (y1 - y2) / size, half * (x1 - x2) / size
    line = " ".join(f"{x:.3f},{y:.3f}" for x, y in points)
    return (
        f'<polyline class="track" data-leg="" points="{line}"/>'
        f'<path class="tick" d="M{x0:.2f} {y0 - half:.2f}V{y0 + half:.2f}"/>'
        f'<path class="tick" d="M{x1 + across:.2f} {y1 - down:.2f}L{x1 - across:.2f} {y1 + down:.2f}"/>'
    )
