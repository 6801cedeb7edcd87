"""Cars and locomotives to cut out, and rulers marked in cars, as pieces of SVG in millimeters."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from html import escape
from math import ceil

from switchsolve.drawing.text import clean, shortened
from switchsolve.kit.sizes import Sizes
from switchsolve.lengths import MM_PER_UNIT, format_length
from switchsolve.puzzle import Puzzle
from switchsolve.vehicles import Car, Vehicle

__all__ = ["Piece", "rows_of", "rulers", "vehicle_pieces"]

_GAP = 4.0
_RULER = 16.0
"""Height of a ruler."""


@dataclass(frozen=True, slots=True)
class Piece:
    """Something to cut out: ``svg`` fills a box from (0, 0) to (``width``, ``height``)."""

    svg: str
    width: float
    height: float


def vehicle_pieces(puzzle: Puzzle, sizes: Sizes, widest: float) -> list[Piece]:
    """Every vehicle at its true length, the file's allowance included; one that is longer than ``widest``
    in equal parts, to be joined end to end.
    """
    pieces = []
    for vehicle in puzzle.vehicles.values():
        length = vehicle.length * sizes.mm
        parts = ceil(length / widest)
        for number in range(1, parts + 1):
            part = f" ({number} of {parts})" if parts > 1 else ""
            is_last = number == parts
            pieces.append(_vehicle(puzzle, sizes, vehicle, length / parts, part, is_last))
    return pieces


def _vehicle(
    puzzle: Puzzle, sizes: Sizes, vehicle: Vehicle, length: float, part: str, is_last: bool
) -> Piece:
    high = max(sizes.width, 9.0)
    is_car = isinstance(vehicle, Car)
    kind = vehicle.kind if is_car else "front this way" if is_last else "locomotive"
    told = f"{kind}, {format_length(vehicle.length, puzzle)}"
    size = min(4.0, high / 3)
    name = shortened(clean(vehicle.name) + part, length - 8, size)
    below = shortened(clean(told), length - 8, size * 0.7)
    lines = [
        f'<rect class="{"car" if is_car else "engine"}" data-vehicle="{escape(clean(vehicle.name))}"'
        f' x="0" y="0" width="{length:.3f}" height="{high:.2f}"/>',
        f'<text class="on" x="{length / 2:.2f}" y="{high * 0.48:.2f}" font-size="{size:.2f}">'
        f"{escape(name)}</text>",
        f'<text class="on" x="{length / 2:.2f}" y="{high * 0.82:.2f}" font-size="{size * 0.7:.2f}">'
        f"{escape(below)}</text>",
    ]
    if not is_car and is_last:
        lines.append(
            f'<path class="nose" d="M{length - 4:.2f} {high / 2 - 3:.2f}L{length - 0.8:.2f} {high / 2:.2f}'
            f'L{length - 4:.2f} {high / 2 + 3:.2f}Z"/>'
        )
    return Piece("".join(lines), length, high)


# ---- rulers


def rulers(puzzle: Puzzle, sizes: Sizes, widest: float) -> list[Piece]:
    """For each kind of car of the file a ruler, in strips to be joined end to end, as long as the longest
    track that is no entrance: the file's unit along its upper edge, cars of the kind along the lower one.
    """
    tracks = [track.length for track in puzzle.district.tracks if not track.entrances]
    longest = max([*tracks, *(car.length for car in puzzle.cars)], default=0) * sizes.mm
    kinds = {car.kind: car.length for car in puzzle.cars}
    step = float(MM_PER_UNIT[puzzle.unit]) * {"mm": 10, "ft": 1 / 12}.get(puzzle.unit, 1)
    strips = []
    for kind, length in kinds.items():
        for number in range(max(1, ceil(longest / widest))):
            strips.append(_strip(puzzle, kind, length * sizes.mm, step, number * widest, widest))
    return strips


def _strip(puzzle: Puzzle, kind: str, car: float, step: float, start: float, width: float) -> Piece:
    """A strip that begins ``start`` from the ruler's end."""
    lines = [f'<rect class="car" x="0" y="0" width="{width:.2f}" height="{_RULER}"/>']
    unit = {"mm": "cm", "ft": "in"}.get(puzzle.unit, puzzle.unit)
    for number, x in _ticks(step, start, width):
        deep = 5.0 if number % 5 == 0 else 3.0
        lines.append(f'<path class="mark" d="M{x:.3f} 0v{deep}"/>')
        if number % 5 == 0 or step > 12:
            lines.append(f'<text class="scale" x="{x:.2f}" y="7.4">{number}</text>')
    for number, x in _ticks(car, start, width):
        lines.append(f'<path class="mark" d="M{x:.3f} {_RULER}v-5"/>')
        lines.append(f'<text class="scale" x="{x:.2f}" y="10.4">{number}</text>')
    told = escape(shortened(f"{unit} above; below, cars: {clean(kind)}", width / 2, 2.4))
    lines.append(f'<text class="told" x="4" y="{_RULER - 1.2:.2f}">{told}</text>')
    return Piece("".join(lines), width, _RULER)


def _ticks(step: float, start: float, width: float) -> Iterator[tuple[int, float]]:
    """Number and place of each mark from the second millimeter of the strip to its end."""
    number = ceil((start + 1) / step)
    while number * step <= start + width:
        yield number, number * step - start
        number += 1


# ---- sheets


def rows_of(pieces: Sequence[Piece], width: float, height: float) -> list[list[tuple[float, float, Piece]]]:
    """The pieces on as few sheets of this size as they take in their order: for each its left and top."""
    sheets: list[list[tuple[float, float, Piece]]] = [[]]
    x = y = deep = 0.0
    for piece in pieces:
        if x and x + piece.width > width + 1e-6:
            x, y, deep = 0.0, y + deep + _GAP, 0.0
        if sheets[-1] and y + piece.height > height:
            sheets.append([])
            x = y = deep = 0.0
        sheets[-1].append((x, y, piece))
        x, deep = x + piece.width + _GAP, max(deep, piece.height)
    return [sheet for sheet in sheets if sheet]
