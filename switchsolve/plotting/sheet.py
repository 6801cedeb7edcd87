"""Panels on a sheet, by matplotlib.

The same figures give the same bytes, with one release of matplotlib: no date, and names by a fixed salt.
Every series differs from the others in more than its color (hatching, dashes, shape of the mark), so
that a sheet can be read when it is printed in black and white.
"""

from __future__ import annotations

from collections.abc import Sequence
from importlib.util import find_spec
from io import BytesIO
from pathlib import Path
from typing import TYPE_CHECKING, Any

from switchsolve.errors import DrawingError
from switchsolve.plotting.panels import Bars, Heights, Panel, Shares, Spans

if TYPE_CHECKING:
    from matplotlib.axes import Axes

__all__ = ["ENDINGS", "check_plots", "plot"]

ENDINGS = (".svg", ".png")
_INK, _GREY, _PALE, _PAPER = "#2b3640", "#75828f", "#d5d0c4", "#fdfcf9"
_DEEP, _SAND = "#1f4e66", "#f6dfa6"
_WIDTH, _HEIGHT = 8.0, 3.2
"""Inches: of the sheet, and of each panel on it."""
_NO_DATE: dict[str, dict[str, str | None]] = {
    "svg": {"Date": None, "Creator": None},
    "png": {"Software": None},
}
_SETTINGS: dict[Any, Any] = {
    "svg.hashsalt": "switchsolve",
    "svg.fonttype": "none",
    "text.parse_math": False,
    "font.size": 10.0,
    "text.color": _INK,
    "axes.edgecolor": _GREY,
    "axes.labelcolor": _INK,
    "axes.facecolor": _PAPER,
    "axes.spines.top": False,
    "axes.spines.right": False,
    "axes.axisbelow": True,
    "figure.facecolor": _PAPER,
    "hatch.color": _GREY,
    "xtick.color": _INK,
    "ytick.color": _INK,
}


def check_plots() -> None:
    """Raise :class:`DrawingError` with the cure if matplotlib is not installed; it is not imported."""
    if find_spec("matplotlib") is None:
        raise DrawingError("plots need another package; pip install 'switchsolve[plots]'")


def plot(title: str, panels: Sequence[Panel], path: str | Path) -> None:
    """Write the panels, one under the other, to ``path``, which ends in one of :data:`ENDINGS`.

    Raises :class:`DrawingError` if matplotlib is not installed, ``OSError`` if the file cannot be written.
    """
    check_plots()
    from matplotlib import rc_context
    from matplotlib.figure import Figure

    kind = Path(path).suffix.lower().removeprefix(".")
    with rc_context(_SETTINGS):
        figure = Figure(figsize=(_WIDTH, _HEIGHT * len(panels) + 0.5), layout="constrained")
        figure.suptitle(title, x=0.02, ha="left", weight="bold", size=12, wrap=True)
        axes = figure.subplots(len(panels), squeeze=False)
        for panel, (axis,) in zip(panels, axes, strict=True):
            _draw(axis, panel)
        data = BytesIO()
        figure.savefig(data, format=kind, dpi=150, metadata=_NO_DATE[kind])
    Path(path).write_bytes(data.getvalue())


def _draw(axis: Axes, panel: Panel) -> None:
    """One panel with its words."""
    axis.set_title(panel.head, loc="left", size=11)
    axis.set_xlabel(panel.across)
    axis.set_ylabel(panel.up)
    shown = panel.shown
    if shown is None:
        axis.set_axis_off()
        axis.text(0, 0.8, panel.note, wrap=True)
        return
    axis.grid(axis="y", color=_PALE, linewidth=0.7)
    if isinstance(shown, Bars):
        _bars(axis, shown)
    elif isinstance(shown, Shares):
        _shares(axis, shown)
    else:
        _spans(axis, shown)


def _whole(axis: Axes, across: bool, up: bool) -> None:
    """Only whole numbers on these axes."""
    from matplotlib.ticker import MaxNLocator

    for wanted, one in ((across, axis.xaxis), (up, axis.yaxis)):
        if wanted:
            one.set_major_locator(MaxNLocator(integer=True, min_n_ticks=1, steps=[1, 2, 5, 10]))


def _bars(axis: Axes, shown: Bars) -> None:
    """Bars beside each other: the first series dark, the second light and hatched; marked ones grey."""
    width = 0.8 / len(shown.series)
    for place, series in enumerate(shown.series):
        at = [number + width * (place - (len(shown.series) - 1) / 2) for number in series.counts]
        fill = _SAND if place else _DEEP
        axis.bar(
            at,
            list(series.counts.values()),
            width,
            color=[_PALE if number in shown.marked else fill for number in series.counts],
            edgecolor=_INK,
            linewidth=0.7,
            hatch="////" if place else None,
            label=series.name,
        )
    numbers = {number for series in shown.series for number in series.counts} | shown.across
    axis.set_xlim(min(numbers) - 1, max(numbers) + 1)
    _whole(axis, True, True)
    if len(shown.series) > 1:
        axis.legend(frameon=False)


def _curve(series: Heights, unit: int) -> tuple[list[float], list[float]]:
    """The steps of a share that grows from 0 to 100 in a hundred."""
    total, so_far = sum(series.counts.values()), 0
    across, up = [min(series.counts) / unit], [0.0]
    for figure in sorted(series.counts):
        so_far += series.counts[figure]
        across.append(figure / unit)
        up.append(100 * so_far / total)
    return across, up


def _shares(axis: Axes, shown: Shares) -> None:
    """Two rising steps, one full and one dashed, and what lies between them."""
    low, high = _curve(shown.low, shown.unit), _curve(shown.high, shown.unit)
    end = high[0][-1]
    for across, up in (low, high):
        across.append(end)
        up.append(up[-1])
    _between(axis, low, high)
    axis.step(*low, where="post", color=_DEEP, linewidth=2, label=shown.low.name)
    axis.step(*high, where="post", color=_INK, linewidth=1.6, linestyle=(0, (4, 2)), label=shown.high.name)
    for share, words in shown.lines.items():
        axis.axhline(100 * share, color=_GREY, linewidth=0.9, linestyle=":")
        axis.annotate(words, (0.01, 100 * share), xycoords=("axes fraction", "data"), va="bottom")
    axis.set_ylim(0, 103)
    axis.set_xlim(left=0)
    axis.legend(frameon=False, loc="lower right")


def _between(axis: Axes, low: tuple[list[float], list[float]], high: tuple[list[float], list[float]]) -> None:
    """The ground between two rising steps."""
    places = sorted({*low[0], *high[0]})
    first, second = ([_up_to(place, *curve) for place in places] for curve in (low, high))
    axis.fill_between(places, first, second, step="post", color=_SAND, linewidth=0)


def _up_to(place: float, across: list[float], up: list[float]) -> float:
    """How high a rising step is there."""
    return max((height for at, height in zip(across, up, strict=True) if at <= place), default=0.0)


def _spans(axis: Axes, shown: Spans) -> None:
    """Strokes with two marks: a full dot and an open square."""
    numbers = sorted(shown.values)
    least, lower, upper, most = zip(*(shown.values[number] for number in numbers), strict=True)
    stroke, first, second = shown.names
    axis.vlines(numbers, least, most, color=_GREY, linewidth=4, alpha=0.45, label=stroke)
    axis.plot(numbers, upper, "s", mfc=_SAND, mec=_INK, ms=8, label=second)
    axis.plot(numbers, lower, "o", color=_DEEP, ms=6, label=first)
    axis.set_xticks(numbers)
    axis.set_ylim(-0.03 * max(most), 1.3 * max(most) + 1)
    _whole(axis, False, True)
    axis.legend(frameon=False, ncols=3, loc="upper center")
