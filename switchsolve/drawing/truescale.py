"""Rail at the size of the model: every track as long as it is, lanes the distance of the tracks apart."""

from __future__ import annotations

from math import ceil

from switchsolve.drawing.arrange import arrange, own_widths
from switchsolve.drawing.distances import Metrics
from switchsolve.drawing.tracing import Traced, trace
from switchsolve.puzzle import Puzzle

__all__ = ["rail_at_true_scale"]


def rail_at_true_scale(puzzle: Puzzle, per_grid: float, centers: int) -> Traced:
    """All rail of the district in units of which there are ``per_grid`` to a grid unit; lanes are ``centers``
    units apart.

    The level part of each track (:attr:`~switchsolve.drawing.tracing.Traced.runs`) is as long as the track,
    to half a unit, or longer where it must be to join what it joins between two bends.  Legs of junctions
    join the tracks wherever these come to lie, bends come on top of tracks, and so neither is to scale.
    """
    widths = {track.name: max(1, round(track.length * per_grid)) for track in puzzle.district.tracks}
    longest = max((table.length for table in puzzle.district.tables), default=0)
    radius = max(ceil(longest * per_grid / 2), centers // 3)
    metrics = Metrics(
        slant=2 * centers,
        stub=centers // 2,
        leg=2 * centers,
        turn=centers // 2,
        gap=centers // 2,
        radius=radius,
        fan=centers,
        rows=max(1, ceil(radius / centers)),
        widths=widths,
        shortest=centers // 2,
    )
    plan = arrange(puzzle, metrics)
    return trace(plan.layout, metrics, own_widths(plan, widths), plan.lanes, centers)
