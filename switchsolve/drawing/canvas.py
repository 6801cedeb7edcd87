"""A sheet of letters on which rail is drawn: each place knows to which sides rail leaves it."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from itertools import pairwise

from switchsolve.district import KeepClear, Marks
from switchsolve.drawing.schematic import Box, Point

__all__ = ["ASCII", "UNICODE", "Canvas", "Letters", "Spot", "steps"]

Spot = tuple[int, int]
"""Column and row."""

_EAST, _WEST, _NORTH, _SOUTH = (1, 0), (-1, 0), (0, -1), (0, 1)


@dataclass(frozen=True, slots=True)
class Letters:
    """What stands for what.  ``joints``: by whether rail leaves to the west, east, up and down."""

    track: str
    leg: str
    upright: str
    falling: str
    rising: str
    cross: str
    joints: dict[str, str]
    closed: str
    keep_clear: str
    spot: str
    bumper_left: str
    bumper_right: str
    entrance_left: str
    entrance_right: str
    pit_left: str
    pit_right: str
    more: str = field(default="…")


UNICODE = Letters(
    "━", "─", "│", "╲", "╱", "╳",
    {
        "wu": "╯", "wd": "╮", "eu": "╰", "ed": "╭", "weu": "┴", "wed": "┬", "weud": "┼",
        "wud": "┤", "eud": "├", "w": "─", "e": "─",
    },
    "┅", "╪", "┯", "├", "┤", "«", "»", "(", ")",
)  # fmt: skip
ASCII = Letters(
    "=", "-", "|", "\\", "/", "X",
    {
        "wu": "+", "wd": "+", "eu": "+", "ed": "+", "weu": "+", "wed": "+", "weud": "+",
        "wud": "+", "eud": "+", "w": "-", "e": "-",
    },
    ".", "#", ":", "|", "|", "<", ">", "(", ")", "~",
)  # fmt: skip


def steps(points: Iterable[Point]) -> list[Spot]:
    """Every place along a polyline, one column or row at a time (slanting steps take both)."""
    whole = [(round(x), round(y)) for x, y in points]
    path = [whole[0]]
    for (x, y), (to_x, to_y) in pairwise(whole):
        count = max(abs(to_x - x), abs(to_y - y))
        path += [
            (x + round((to_x - x) * step / count), y + round((to_y - y) * step / count))
            for step in range(1, count + 1)
        ]
    return [spot for index, spot in enumerate(path) if not index or spot != path[index - 1]]


class Canvas:
    """Rows of letters."""

    def __init__(self, width: int, height: int, letters: Letters) -> None:
        self._width, self._height, self._letters = width, height, letters
        self._leaves: dict[Spot, set[Spot]] = {}
        self._tracks: set[Spot] = set()
        self._over: dict[Spot, str] = {}
        self._written: set[Spot] = set()

    def rail(self, path: Sequence[Spot], *, is_track: bool) -> None:
        """Rail along a row of neighboring places."""
        for one, other in pairwise(path):
            way = (other[0] - one[0], other[1] - one[1])
            self._leaves.setdefault(one, set()).add(way)
            self._leaves.setdefault(other, set()).add((-way[0], -way[1]))
        if is_track:
            self._tracks |= set(path)

    def stop(self, point: Point, looks: int, *, is_entrance: bool) -> None:
        """A bumper or an entrance at the end of rail."""
        x, y = round(point[0]), round(point[1])
        letters = self._letters
        if is_entrance:
            mark = letters.entrance_right if looks > 0 else letters.entrance_left
            self._over[x + looks, y] = self._over[x + 2 * looks, y] = mark
        else:
            self._over[x + looks, y] = letters.bumper_right if looks > 0 else letters.bumper_left

    def mark(self, path: Iterable[Spot], marks: Marks) -> None:
        """Rail closed to locomotives, or to be kept clear."""
        letter = ""
        if marks.no_locomotives:
            letter = self._letters.closed
        elif marks.keep_clear is KeepClear.ALWAYS:
            letter = self._letters.keep_clear
        for spot in path:
            if letter and spot not in self._over:
                self._over[spot] = letter

    def spot(self, spot: Spot) -> None:
        """A spot for a car."""
        if spot not in self._over:
            self._over[spot] = self._letters.spot

    def pit(self, box: Box, *, round_one: bool) -> None:
        """The edges of a table."""
        left, right = round(box.left), round(box.right)
        middle = round((box.top + box.bottom) / 2)
        rows = [middle] if round_one else range(round(box.top), round(box.bottom) + 1)
        for row in rows:
            self._over[left, row] = self._letters.pit_left
            self._over[right, row] = self._letters.pit_right

    def write_level(self, start: Spot, text: str) -> None:
        """Write a text over rail; a little to the side, if another stands there."""
        x, y = start
        for shift in sorted(range(-self._width, self._width), key=lambda shift: (abs(shift), shift)):
            places = [(x + shift + index, y) for index in range(len(text))]
            if places[0][0] >= 0 and places[-1][0] < self._width and not self._written & set(places):
                break
        else:
            return
        self._written |= set(places)
        self._over.update(zip(places, text, strict=True))

    def name(self, text: str, left: int, right: int, row: int) -> None:
        """A name above the rail from ``left`` to ``right``, or below it: in the middle, if that is free."""
        for room in (len(text), max(right - left + 1, 3)):
            short = _cut(text, room, self._letters.more)
            middle = (left + right + 1 - len(short)) // 2
            shifts = sorted(range(left - len(short), right + 1), key=lambda at: (abs(at - middle), at))
            for above in (row - 1, row + 1):
                for at in shifts:
                    if self._is_free(at, above, len(short)):
                        for index, letter in enumerate(short):
                            self._over[at + index, above] = letter
                        return

    def _is_free(self, left: int, row: int, length: int) -> bool:
        if left < 0 or left + length > self._width or not 0 <= row < self._height:
            return False
        places = [(at, row) for at in range(left - 1, left + length + 1)]
        return not any(place in self._over or place in self._leaves for place in places)

    def rows(self, columns: int) -> list[str]:
        """All rows; if they are too long, in panels one below the other."""
        whole = [
            "".join(self._letter((x, y)) for x in range(self._width)).rstrip() for y in range(self._height)
        ]
        if max(map(len, whole), default=0) <= columns:
            return _trimmed(whole)
        panels: list[str] = []
        for start in range(0, self._width, columns):
            panel = _trimmed([row[start : start + columns].rstrip() for row in whole])
            panels += (["", f"-- columns {start + 1} to {start + columns} --"] if start else []) + panel
        return panels

    def _letter(self, spot: Spot) -> str:
        if spot in self._over:
            return self._over[spot]
        ways = self._leaves.get(spot)
        if not ways:
            return " "
        letters = self._letters
        level = ("w" if _WEST in ways else "") + ("e" if _EAST in ways else "")
        up = any(way[1] < 0 for way in ways)
        down = any(way[1] > 0 for way in ways)
        if level == "we" and not up and not down:
            return letters.track if spot in self._tracks else letters.leg
        if level:
            key = level + ("u" if up else "") + ("d" if down else "")
            if len(key) == 1 and spot in self._tracks:
                return letters.track
            return letters.joints[key]
        return self._slanting(ways)

    def _slanting(self, ways: set[Spot]) -> str:
        letters = self._letters
        if _NORTH in ways or _SOUTH in ways:
            return letters.upright
        falls = (1, 1) in ways or (-1, -1) in ways
        rises = (1, -1) in ways or (-1, 1) in ways
        if falls and rises:
            return letters.cross
        return letters.falling if falls else letters.rising


def _cut(text: str, room: int, more: str) -> str:
    """The text in so many letters, its middle left out."""
    if len(text) <= room:
        return text
    head = (room - 1) // 2
    return text[:head] + more + text[len(text) - (room - 1 - head) :]


def _trimmed(rows: list[str]) -> list[str]:
    """Without empty rows at the top and the bottom."""
    full = [index for index, row in enumerate(rows) if row]
    return rows[full[0] : full[-1] + 1] if full else []
