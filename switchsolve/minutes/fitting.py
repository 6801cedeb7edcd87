"""A club's own figures, fitted to its timed runs.

The time of a run is a sum: a constant (reading the list) and, for all that is counted, its number times its
figure.  The figures that come nearest to all runs (least squares) and are none of them below zero are found
by :func:`scipy.optimize.nnls`.  What no run has is left out, and its time is then inside the other figures.

**What cannot be told apart**: columns of the log that go up and down together.  With every column scaled to
length one, a singular value under a thirtieth of the greatest one means such a dependence, and the columns
with a part in it are named (D. A. Belsley, E. Kuh, R. E. Welsch, Regression Diagnostics, 1980: condition
indexes over 30).

**How well each figure is known**: runs are drawn anew from the log, as many as there are, and fitted again;
the range is that of :func:`scipy.stats.bootstrap`, by its percentile method.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from switchsolve.minutes.runs import TimedRun

if TYPE_CHECKING:
    from numpy.typing import NDArray

__all__ = ["FIGURES", "Fit", "Ratio", "fit"]

FIGURES = {
    "reading": None,
    "new_move": "moves",
    "coupling": "couplings",
    "cut": "cuts",
    "turnout": "turnouts",
    "table": "tables",
    "running": "distance",
    "failed_uncoupling": "failed",
}
"""Each figure (seconds; ``running``: seconds for a unit of length) and the head that it goes with."""
_WEAK = 1 / 30
_PART = 0.05
"""How much two columns must share of the weak directions to be named together (of a projection: 0 to 1)."""
_SHARES = (0.1, 0.5, 0.9)
_CONFIDENCE = 0.95
_RESAMPLES = 1_999
_SEED = 1
_LEAST_SPARE = 4
"""Runs that there must be beyond the number of figures: with fewer the fit goes through nearly all of them,
and the range would come out too narrow."""


@dataclass(frozen=True, slots=True)
class Ratio:
    """The crew's moves over the minimum: what one run in ten does not pass, half of them, nine in ten."""

    low: float
    middle: float
    high: float
    runs: int


@dataclass(frozen=True, slots=True)
class Fit:
    """What the log tells.

    ``seconds``: each figure of :data:`FIGURES` that the log has; ``ranges``: between which two it lies with a
    confidence of 95 in 100 (empty: too few runs).  ``missing``: the others.  ``fitted``: what
    the figures make of each run, ``timed``: what the watch said, both in seconds.  ``mixed``: groups of
    figures that the log cannot tell apart.  ``explained``: R squared, the part of the spread of times that
    the figures explain (``None``: all runs took as long).  ``failed_share``: of the cuts.
    """

    seconds: dict[str, float]
    missing: tuple[str, ...]
    timed: tuple[float, ...]
    fitted: tuple[float, ...]
    mixed: tuple[tuple[str, ...], ...]
    explained: float | None
    failed_share: float | None
    ratio: Ratio | None
    ranges: dict[str, tuple[float, float]]

    @property
    def misses(self) -> tuple[float, ...]:
        """Seconds by which each run took longer than fitted."""
        return tuple(one - other for one, other in zip(self.timed, self.fitted, strict=True))


def fit(runs: Sequence[TimedRun]) -> Fit:
    """Fit the figures to ``runs``, one or more.

    Raises ``ValueError`` for none.
    """
    if not runs:
        raise ValueError("there are no runs")
    from scipy.optimize import nnls

    table = {name: [_count(run, head) for run in runs] for name, head in FIGURES.items()}
    names = [name for name, column in table.items() if any(column)]
    columns = np.array([table[name] for name in names], dtype=float).T
    lengths = np.linalg.norm(columns, axis=0)
    timed = np.array([float(run.seconds) for run in runs])
    scaled, _ = nnls(columns / lengths, timed)
    found = scaled / lengths
    fitted = columns @ found
    return Fit(
        dict(zip(names, map(float, found), strict=True)),
        tuple(name for name in FIGURES if name not in names),
        tuple(map(float, timed)),
        tuple(map(float, fitted)),
        _mixed(names, columns / lengths),
        _explained(timed, fitted),
        _failed_share(runs),
        _ratio(runs),
        dict(zip(names, _ranges(columns / lengths, lengths, timed), strict=False)),
    )


def _ranges(
    scaled: NDArray[np.float64], lengths: NDArray[np.float64], timed: NDArray[np.float64]
) -> list[tuple[float, float]]:
    """The range of each figure, in the order of the columns (each of length one, once of ``lengths``); none
    with too few runs."""
    if len(timed) < len(lengths) + _LEAST_SPARE:
        return []
    from scipy.optimize import nnls
    from scipy.stats import bootstrap

    def of_drawn(drawn: NDArray[np.float64], axis: int = -1) -> NDArray[np.float64]:
        rows = np.moveaxis(drawn.astype(np.intp), axis, -1)
        fits = [nnls(scaled[some], timed[some])[0] / lengths for some in rows.reshape(-1, rows.shape[-1])]
        return np.array(fits).T.reshape(len(lengths), *rows.shape[:-1])

    found = bootstrap(
        (np.arange(len(timed)),),
        of_drawn,
        vectorized=True,
        n_resamples=_RESAMPLES,
        confidence_level=_CONFIDENCE,
        method="percentile",
        rng=np.random.default_rng(_SEED),
    ).confidence_interval
    return [(float(low), float(high)) for low, high in zip(found.low, found.high, strict=True)]


def _count(run: TimedRun, head: str | None) -> float:
    """How many there are in a run; the list is read once."""
    return 1.0 if head is None else float(run.counts.get(head, 0))


def _mixed(names: Sequence[str], columns: NDArray[np.float64]) -> tuple[tuple[str, ...], ...]:
    """Groups of names whose columns (each of length one) nearly depend on each other."""
    from scipy.sparse.csgraph import connected_components

    _, values, directions = np.linalg.svd(columns, full_matrices=True)
    strengths = np.zeros(len(names))
    strengths[: len(values)] = values
    weak = directions[strengths < _WEAK * strengths.max()]
    shared = np.abs(weak.T @ weak) > _PART
    _, groups = connected_components(shared, directed=False)
    rows = [[name for name, of in zip(names, groups, strict=True) if of == group] for group in set(groups)]
    return tuple(sorted(tuple(row) for row in rows if len(row) > 1))


def _explained(timed: NDArray[np.float64], fitted: NDArray[np.float64]) -> float | None:
    """R squared."""
    spread = float(((timed - timed.mean()) ** 2).sum())
    return None if not spread else 1 - float(((timed - fitted) ** 2).sum()) / spread


def _failed_share(runs: Sequence[TimedRun]) -> float | None:
    """Failed cuts of all cuts, over the runs in which they were counted."""
    counted = [run for run in runs if "failed" in run.counts]
    cuts = sum(run.counts.get("cuts", 0) for run in counted)
    return float(sum(run.counts["failed"] for run in counted) / cuts) if cuts else None


def _ratio(runs: Sequence[TimedRun]) -> Ratio | None:
    """Percentiles of the ratio: figures that come, never one between two of them."""
    ratios = [float(run.ratio) for run in runs if run.ratio is not None]
    if not ratios:
        return None
    low, middle, high = np.quantile(ratios, _SHARES, method="inverted_cdf")
    return Ratio(float(low), float(middle), float(high), len(ratios))
