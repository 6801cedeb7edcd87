"""Plots of figures, as SVG or PNG, of what they are given; the only room that knows matplotlib."""

from __future__ import annotations

from switchsolve.plotting.panels import Bars, Heights, Panel, Shares, Spans
from switchsolve.plotting.sheet import ENDINGS, check_plots, plot

__all__ = ["ENDINGS", "Bars", "Heights", "Panel", "Shares", "Spans", "check_plots", "plot"]
