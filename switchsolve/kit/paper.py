"""Paper, and how a large drawing is shared out over sheets.  All measures in millimeters."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from math import ceil

from switchsolve.drawing import Box

__all__ = ["OVERLAP", "PAPERS", "Paper", "Tile", "tiles_of"]

_SIDE, _TOP, _BOTTOM = 13.0, 13.0, 26.0
"""White margins; printers leave some of them white in any case."""
OVERLAP = 8.0
"""What two neighboring sheets share."""


@dataclass(frozen=True, slots=True)
class Paper:
    """A sheet, lying on its long side."""

    name: str
    width: float
    height: float

    @property
    def window(self) -> Box:
        """What is printed on."""
        return Box(_SIDE, _TOP, self.width - _SIDE, self.height - _BOTTOM)


PAPERS = {
    "a4": Paper("A4", 297.0, 210.0),
    "letter": Paper("Letter", 279.4, 215.9),
}
"""By the name that a command takes: A4 is that of ISO 216, Letter 11 by 8 1/2 inches."""


@dataclass(frozen=True, slots=True)
class Tile:
    """One sheet of a large drawing: ``box`` is the part of it that it shows; rows from A, columns from 1."""

    row: int
    column: int
    box: Box

    @property
    def name(self) -> str:
        """What the sheet is called: A1, A2, ... AA1 after Z."""
        letters, left = "", self.row + 1
        while left:
            left, rest = divmod(left - 1, 26)
            letters = chr(65 + rest) + letters
        return f"{letters}{self.column + 1}"


def tiles_of(width: float, height: float, paper: Paper, things: Iterable[Box]) -> list[Tile]:
    """The sheets of a drawing of this size, row by row; those that show none of the ``things`` left out."""
    window, kept = paper.window, list(things)
    wide, high = window.right - window.left, window.bottom - window.top
    columns = max(1, ceil((width - OVERLAP) / (wide - OVERLAP)))
    rows = max(1, ceil((height - OVERLAP) / (high - OVERLAP)))
    tiles = []
    for row in range(rows):
        for column in range(columns):
            left, top = column * (wide - OVERLAP), row * (high - OVERLAP)
            box = Box(left, top, left + wide, top + high)
            if any(box.overlaps(thing) for thing in kept):
                tiles.append(Tile(row, column, box))
    return tiles
