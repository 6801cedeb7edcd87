"""Marks of a drawing: a scale of time, lines, boxes and texts as SVG.  Lengths are pixels at full size.

Whatever a layout file holds is cleaned (no control letters) and escaped.  Only attributes and classes are
used: the policy of the page lets no mark bring a style of its own.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from html import escape

from switchsolve.drawing.text import clean, shortened, text_width
from switchsolve.layout import Layout

__all__ = ["NAMES", "RULER", "Axis", "Box", "Label", "axis_of", "chart", "line", "rect", "words_of"]

NAMES = 148.0
"""Width of the column with the names beside a chart."""
RULER = 34.0
"""Height of the times above a chart."""
_WIDE, _LEAST, _MOST = 750.0, 4.5, 9.0
_MARGIN, _HALF_TIME = 8.0, 12.0
"""Left and right of a chart; and for what is over the end of the last time."""
_BETWEEN = 44.0
"""Least distance between two times."""
_STEPS = (5, 10, 15, 20, 30, 60, 120, 240)


def words_of(text: str) -> str:
    """A text of the file as HTML: cleaned and escaped."""
    return escape(clean(text))


@dataclass(frozen=True, slots=True)
class Box:
    """Where a text is: its left, top, right and bottom."""

    left: float
    top: float
    right: float
    bottom: float

    def meets(self, other: Box) -> bool:
        """Whether they have a point in common."""
        across = self.left < other.right and other.left < self.right
        return across and self.top < other.bottom and other.top < self.bottom

    def holds(self, x: float, y: float) -> bool:
        """Whether a point is inside."""
        return self.left <= x <= self.right and self.top <= y <= self.bottom


@dataclass(frozen=True, slots=True)
class Label:
    """A text whose base line begins at ``x``, ``y`` (``anchor`` start), ends or has its middle there."""

    text: str
    x: float
    y: float
    size: float = 11.0
    anchor: str = "start"
    kind: str = "label"

    @property
    def box(self) -> Box:
        """Where it is; never less than it will be."""
        width = text_width(self.text, self.size)
        left = self.x - {"start": 0.0, "middle": width / 2, "end": width}[self.anchor]
        return Box(left, self.y - 0.8 * self.size, left + width, self.y + 0.25 * self.size)

    def svg(self) -> str:
        """The element."""
        where = f'x="{self.x:.1f}" y="{self.y:.1f}" font-size="{self.size:g}" text-anchor="{self.anchor}"'
        return f'<text class="{self.kind}" {where}>{words_of(self.text)}</text>'


def line(kind: str, x1: float, y1: float, x2: float, y2: float) -> str:
    """A straight line."""
    return f'<line class="{kind}" x1="{x1:.1f}" y1="{y1:.1f}" x2="{x2:.1f}" y2="{y2:.1f}"/>'


def rect(kind: str, x: float, y: float, width: float, height: float) -> str:
    """A box."""
    return f'<rect class="{kind}" x="{x:.1f}" y="{y:.1f}" width="{width:.1f}" height="{height:.1f}"/>'


@dataclass(frozen=True, slots=True)
class Axis:
    """Time from left to right, the same in all charts: ``minutes`` of the session, ``step`` between ticks.
    ``least``: how far each chart goes at least, so that all shrink alike on paper."""

    layout: Layout
    minutes: int
    per_minute: float
    step: int
    least: float = 0.0

    def x(self, minute: float) -> float:
        """Where a minute is."""
        return _MARGIN + minute * self.per_minute

    @property
    def end(self) -> float:
        """Where the session ends."""
        return self.x(self.minutes)

    def grid(self, height: float) -> Iterator[str]:
        """The times above, by the room's clock and the fast one, and a line down from each."""
        for minute in range(0, self.minutes + 1, self.step):
            x = self.x(minute)
            yield line("grid", x, RULER - 4, x, height)
            # the first one begins at the edge, so that nothing of it is cut off
            anchor, at = ("start", 0.0) if minute == 0 else ("middle", x)
            yield Label(str(minute), at, 12, 11, anchor, "time").svg()
            yield Label(self.layout.fast_time(minute), at, 25, 10, anchor, "clock").svg()


def axis_of(layout: Layout, minutes: int) -> Axis:
    """The scale for a session of so many minutes."""
    per = min(_MOST, max(_LEAST, _WIDE / max(1, minutes)))
    step = next((step for step in _STEPS if step * per >= _BETWEEN), _STEPS[-1])
    return Axis(layout, minutes, per, step)


def chart(
    name: str, told: str, axis: Axis, height: float, right: float, names: Iterable[Label], body: Iterable[str]
) -> Iterator[str]:
    """A chart with a column of names that stays when the rest is moved sideways.

    ``told`` says in a sentence what there is to see; ``right`` is how far the drawing goes.
    """
    head = [Label("minute", 0, 12, 11, "start", "time"), Label("fast clock", 0, 25, 10, "start", "clock")]
    width = max(right, axis.least, axis.end + _HALF_TIME) + _MARGIN
    yield f'<div class="chart" tabindex="0" role="region" aria-label="{words_of(name)}">'
    yield _open(NAMES, height, 'class="names" aria-hidden="true"')
    for label in (*head, *names):
        short = shortened(clean(label.text), NAMES - 6 - label.x, label.size)
        yield Label(short, label.x, label.y, label.size, label.anchor, label.kind).svg()
    yield "</svg>"
    yield _open(width, height, 'class="body" role="img"')
    yield f"<title>{words_of(name)}</title><desc>{words_of(told)}</desc>"
    yield from axis.grid(height)
    yield from body
    yield "</svg></div>"


def _open(width: float, height: float, more: str) -> str:
    return f'<svg {more} width="{width:.0f}" height="{height:.0f}" viewBox="0 0 {width:.0f} {height:.0f}">'
