"""How sure a difference is: intervals by the bootstrap.

The sessions of a season follow each other, so they are not drawn anew one by one: whole seasons are.
The interval is that of :func:`scipy.stats.bootstrap`, by its percentile method.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any, Literal

import numpy as np

__all__ = ["CONFIDENCE", "LEAST_SEASONS", "Interval", "interval_of"]

CONFIDENCE = 0.95
_RESAMPLES = 9_999
LEAST_SEASONS = 5
"""With fewer there is too little to draw anew, and the range would come out too narrow."""
_SEED = 1
_AT_ONCE = 500_000
"""Figures drawn at once, so that memory stays small."""
_Array = np.ndarray[Any, Any]


@dataclass(frozen=True, slots=True)
class Interval:
    """A figure of the sessions compared, and in which range it lies with a confidence of 95 in 100
    (``None``: fewer than :data:`LEAST_SEASONS` have a session to show).
    """

    figure: float
    low: float | None
    high: float | None


def interval_of(seasons: _Array, kind: Literal["mean", "median"]) -> Interval:
    """The mean or median of all differences; ``seasons`` has a row for each season and a column for each of
    its sessions, ``nan`` where there is nothing to compare.  Raises ``ValueError`` if there is nothing.
    """
    seasons = seasons[~np.isnan(seasons).all(axis=1)]
    if not len(seasons):
        raise ValueError("there is no session to compare")
    statistic: Callable[..., Any] = np.nanmean if kind == "mean" else np.nanmedian
    figure = float(statistic(seasons))
    if len(seasons) < LEAST_SEASONS:
        return Interval(figure, None, None)
    low, high = float(np.nanmin(seasons)), float(np.nanmax(seasons))
    if low == high:  # scipy has no interval for figures that are all the same
        return Interval(figure, low, high)
    from scipy.stats import bootstrap

    def of_resampled(chosen: _Array, axis: int = -1) -> Any:
        drawn = seasons[np.moveaxis(chosen.astype(np.intp), axis, -1)]
        return statistic(drawn.reshape(*drawn.shape[:-2], -1), axis=-1)

    found = bootstrap(
        (np.arange(len(seasons)),),
        of_resampled,
        vectorized=True,
        n_resamples=_RESAMPLES,
        batch=max(1, _AT_ONCE // seasons.size),
        confidence_level=CONFIDENCE,
        method="percentile",
        rng=np.random.default_rng(_SEED),
    ).confidence_interval
    return Interval(figure, float(found.low), float(found.high))
