"""How large things are on the table: millimeters for what the file measures in its own unit."""

from __future__ import annotations

from dataclasses import dataclass
from statistics import median

from switchsolve.lengths import MM_PER_UNIT
from switchsolve.puzzle import Puzzle

__all__ = ["Sizes", "why_no_kit"]

_CENTERS = 0.33
"""Distance of the lanes in lengths of the middling vehicle, if the file gives none: about that of common
practice (no source)."""
_WIDTH = 0.55
"""Width of a cut-out, as a share of the distance of the lanes."""


def why_no_kit(puzzle: Puzzle) -> str | None:
    """``None`` if things have a size, else why not."""
    if puzzle.unit not in MM_PER_UNIT:
        return "this file measures in cars, and nothing tells how long a car is on the table"
    return None


@dataclass(frozen=True, slots=True)
class Sizes:
    """``mm``: millimeters in a grid unit.  ``centers``: distance of the lanes, ``width``: of a cut-out across
    the rail, both in millimeters.  ``is_told``: the file itself gives the track centers.
    """

    mm: float
    centers: float
    width: float
    is_told: bool

    @staticmethod
    def of(puzzle: Puzzle) -> Sizes:
        """The sizes for a file.  Raises ``ValueError`` where :func:`why_no_kit` gives a reason."""
        why = why_no_kit(puzzle)
        if why is not None:
            raise ValueError(why)
        mm = float(MM_PER_UNIT[puzzle.unit]) / puzzle.grid
        lengths = [vehicle.length for vehicle in puzzle.vehicles.values()] or [puzzle.grid]
        told = puzzle.track_centers
        centers = (told if told is not None else _CENTERS * median(lengths)) * mm
        return Sizes(mm, centers, _WIDTH * centers, told is not None)
