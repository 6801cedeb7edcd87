"""Where a text goes so that it meets no other text, and as few lines as can be."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from math import hypot, inf

from switchsolve.sessionpage.marks import Box, Label

__all__ = ["Crowd", "Segment", "best_label", "raised"]

Segment = tuple[float, float, float, float]
_NEAR = 4.0
"""Pixels between the points by which a line is looked for, and the side of a square."""
_MEETS, _OUT = 1000.0, 5000.0


class Crowd:
    """Where lines are: how many points of them there are in each small square of the drawing."""

    def __init__(self, segments: Iterable[Segment]) -> None:
        self._points: Counter[tuple[int, int]] = Counter()
        for x1, y1, x2, y2 in segments:
            count = max(1, int(hypot(x2 - x1, y2 - y1) / _NEAR))
            for share in (index / count for index in range(count + 1)):
                self._points[_square(x1 + (x2 - x1) * share), _square(y1 + (y2 - y1) * share)] += 1

    def under(self, box: Box) -> int:
        """How many are in the squares that a box touches."""
        across = range(_square(box.left), _square(box.right) + 1)
        down = range(_square(box.top), _square(box.bottom) + 1)
        return sum(self._points.get((x, y), 0) for x in across for y in down)


def _square(at: float) -> int:
    return int(at // _NEAR)


def best_label(
    text: str,
    own: Sequence[Segment],
    taken: Sequence[Box],
    crowd: Crowd,
    inside: Box,
    rows: Sequence[float] = (),
) -> Label:
    """The label of one line, beside one of its ``own`` pieces: off other texts if there is such a place, and
    over as few points of lines, and as few level lines at ``rows``, as can be."""
    best, least = None, inf
    for label in _places(text, own):
        box = label.box
        out = box.left < inside.left or box.right > inside.right
        out = out or box.top < inside.top or box.bottom > inside.bottom
        texts = sum(box.meets(other) for other in taken)
        lines = crowd.under(box) + sum(box.top < y < box.bottom for y in rows)
        cost = texts * _MEETS + out * _OUT + lines
        if cost < least:
            best, least = label, cost
        if not cost:
            break
    assert best is not None  # there are places beside every piece
    return best


def _places(text: str, own: Sequence[Segment]) -> Iterator[Label]:
    """Beside the pieces: right of it, left of it, above and below, at several places of each."""
    for far in (6.0, 14.0, 26.0, 40.0):
        for x1, y1, x2, y2 in own:
            for share in (0.5, 0.25, 0.75, 0.0, 1.0):
                x, y = x1 + (x2 - x1) * share, y1 + (y2 - y1) * share
                yield Label(text, x + far, y + 4, anchor="start")
                yield Label(text, x - far, y + 4, anchor="end")
                yield Label(text, x, y - far, anchor="middle")
                yield Label(text, x, y + far + 7, anchor="middle")


def raised(starts: Sequence[tuple[float, float]]) -> list[int]:
    """How high each of some texts over one line must stand: ``starts`` has where each begins, from left to
    right, and how wide it is.  Each text hangs on an upright line at its beginning; a text stands above all
    whose beginnings are under it, so no text meets another text, or the line that another one hangs on."""
    lanes = [0] * len(starts)
    for number in reversed(range(len(starts))):
        begin, width = starts[number]
        under = [
            lanes[other] for other in range(number + 1, len(starts)) if starts[other][0] <= begin + width
        ]
        lanes[number] = max(under, default=-1) + 1
    return lanes
