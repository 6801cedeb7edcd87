"""Names on a schematic, placed so that no two overlap and none leaves the page."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from itertools import pairwise
from math import ceil, hypot

from switchsolve.district import Cell, District, Junction, KeepClear, Limits, Marks, Part, Track
from switchsolve.drawing.schematic import Box, Label, Point, Rail
from switchsolve.drawing.text import clean, shortened, text_width
from switchsolve.drawing.tracing import Traced

__all__ = ["Placer", "ground_labels", "note_of"]

TRACK_SIZE, SMALL_SIZE = 11.0, 8.0
_ABOVE, _BELOW = -15.0, 24.0
"""Baselines of names, from the rail."""
_UNDER = 20.5
"""Baseline of small print under the rail."""
_STEP = 8.0
_SQUARE = 48.0


class _Boxes:
    """Boxes, found again by the square that they lie in."""

    def __init__(self) -> None:
        self._in_square: dict[tuple[int, int], list[Box]] = {}

    def add(self, box: Box) -> None:
        for square in self._squares(box):
            self._in_square.setdefault(square, []).append(box)

    def any_over(self, box: Box) -> bool:
        """Whether any of them overlaps ``box``."""
        return any(box.overlaps(other) for at in self._squares(box) for other in self._in_square.get(at, ()))

    def _squares(self, box: Box) -> Iterator[tuple[int, int]]:
        for column in range(int(box.left // _SQUARE), int(box.right // _SQUARE) + 1):
            for row in range(int(box.top // _SQUARE), int(box.bottom // _SQUARE) + 1):
                yield column, row


class Placer:
    """Keeps the boxes that are taken, and the rail that names had better not lie on."""

    def __init__(self, page: Box, rails: Iterable[Rail] = ()) -> None:
        self._page = page
        self._taken, self._rails = _Boxes(), _Boxes()
        for rail in rails:
            for box in _boxes(rail):
                self._rails.add(box)

    def take(self, box: Box) -> None:
        """Nothing may overlap this box."""
        self._taken.add(box)

    def fits(self, box: Box, *, clear_of_rails: bool) -> bool:
        """Whether a label may be here."""
        if not box.within(self._page) or self._taken.any_over(box):
            return False
        return not (clear_of_rails and self._rails.any_over(box))

    def place(
        self, kind: str, text: str, size: float, spots: Sequence[Point], widths: Sequence[float] = (1e9,)
    ) -> Label | None:
        """The label at the first of ``spots`` where it fits; shortened to each of ``widths`` in turn.

        Clear of all rail if that can be.  ``None`` if it fits nowhere.
        """
        full = clean(text)
        for width in widths:
            short = shortened(full, width, size)
            for clear in (True, False):
                for spot in spots:
                    label = make_label(kind, short, full, spot, size)
                    if self.fits(label.box, clear_of_rails=clear):
                        self.take(label.box)
                        return label
        return None


def make_label(kind: str, text: str, full: str, at: Point, size: float, *, starts: bool = False) -> Label:
    """A label centered at (or, if it ``starts`` there, to the right of) a point of its baseline."""
    width = text_width(text, size)
    left = at[0] if starts else at[0] - width / 2
    box = Box(left, at[1] - 0.82 * size, left + width, at[1] + 0.26 * size)
    return Label(kind, text, full, at, size, box)


def _boxes(rail: Rail) -> Iterator[Box]:
    """Small boxes along a polyline."""
    for a, b in pairwise(rail.points):
        pieces = 1 if a[1] == b[1] else max(1, ceil(hypot(b[0] - a[0], b[1] - a[1]) / 6))
        for piece in range(pieces):
            xs = sorted(a[0] + (b[0] - a[0]) * share / pieces for share in (piece, piece + 1))
            ys = sorted(a[1] + (b[1] - a[1]) * share / pieces for share in (piece, piece + 1))
            yield Box(xs[0] - 3, ys[0] - 3, xs[1] + 3, ys[1] + 3)


# ---- what is to be said


def note_of(part: Part) -> str:
    """What is special about a part of a track, in few words; empty if nothing is."""
    return ", ".join(word for word in (part.name, marks_in_words(part.marks)) if word)


def marks_in_words(marks: Marks) -> str:
    """What may not be done at a piece of rail."""
    words = []
    if marks.no_locomotives:
        words.append("no locomotives")
    words += [f"no {kind}" for kind in sorted(marks.barred)]
    if marks.keep_clear is KeepClear.ALWAYS:
        words.append("keep clear")
    if marks.keep_clear is KeepClear.AT_END:
        words.append("clear at the end")
    words += _limit_words(marks.limits)
    return ", ".join(words)


def _limit_words(limits: Limits) -> list[str]:
    words = []
    if limits.most_cars is not None:
        words.append(f"{limits.most_cars} cars at most")
    if limits.most_shoved is not None:
        words.append(f"{limits.most_shoved} shoved at most")
    if limits.longest is not None:
        words.append("limit of length")
    return words


# ---- all that does not move


def ground_labels(district: District, traced: Traced, placer: Placer) -> tuple[Label, ...]:
    """Names of tables, spots, notes, tracks and junctions; a track's is never left out."""
    tracks = district.tracks
    for table in traced.tables.values():
        placer.take(table.box)
    found: list[Label | None] = [
        placer.place("table", table.name, SMALL_SIZE + 1, _around(table.box))
        for table in traced.tables.values()
    ]
    for track in tracks:
        found += _spots(track, traced, placer)
    for track in tracks:
        found += _notes(track, traced, placer)
    for track in sorted(tracks, key=lambda track: _level(traced, track.name)):
        found.append(_track_name(track, traced, placer))
    for junction in traced.junctions:
        spots = _near(junction.middle)
        place = district.place(junction.name)
        words = marks_in_words(place.marks) if isinstance(place, Junction) else ""
        found.append(placer.place("junction", junction.name, SMALL_SIZE, spots, (1e9, 60, 40)))
        if words:
            found.append(placer.place("note", words, SMALL_SIZE, spots, (1e9, 60, 40)))
    return tuple(label for label in found if label is not None)


def _level(traced: Traced, name: str) -> float:
    left, right = traced.runs[name]
    return right[0] - left[0]


def _around(box: Box) -> list[Point]:
    middle = (box.left + box.right) / 2
    shifts = [sign * step * _STEP for step in range(16) for sign in (1, -1)]
    return [
        (middle + shift, y)
        for shift in shifts
        for y in (box.top - 5, box.bottom + 11, box.top - 17, box.bottom + 23)
    ]


def _near(middle: Point) -> list[Point]:
    """Above and below a junction, then a little to the sides."""
    shifts = [sign * step * _STEP for step in range(10) for sign in (1, -1)]
    return [(middle[0] + shift, middle[1] + y) for shift in shifts for y in (-12.5, _UNDER - 1, _ABOVE)]


def _spots(track: Track, traced: Traced, placer: Placer) -> list[Label | None]:
    rail = traced.tracks[track.name]
    points = [rail.at(spot.at / track.length)[0] for spot in track.spots]
    apart = min((hypot(b[0] - a[0], b[1] - a[1]) for a, b in pairwise(points)), default=1e9)
    return [
        placer.place("spot", spot.name, SMALL_SIZE, [(x, y + _UNDER), (x, y + _ABOVE + 3)], (apart - 4,))
        for spot, (x, y) in zip(track.spots, points, strict=True)
    ]


def _notes(track: Track, traced: Traced, placer: Placer) -> list[Label | None]:
    found = []
    for index, part in enumerate(track.parts):
        note = note_of(part)
        if note:
            rail = traced.cells[Cell(track.name, index)]
            spots = list(_along(*_ends_of(rail), (_UNDER, _ABOVE, _UNDER + 8)))
            found.append(placer.place("note", note, SMALL_SIZE, spots, (1e9, max(rail.length, 60.0), 40.0)))
    return found


def _ends_of(rail: Rail) -> tuple[Point, Point]:
    """The longest level piece of a rail, from left to right."""
    level = [pair for pair in pairwise(rail.points) if pair[0][1] == pair[1][1]] or [
        (rail.points[0], rail.points[-1])
    ]
    one, other = max(level, key=lambda pair: abs(pair[1][0] - pair[0][0]))
    return (one, other) if one[0] <= other[0] else (other, one)


def _track_name(track: Track, traced: Traced, placer: Placer) -> Label:
    left, right = traced.runs[track.name]
    run = max(right[0] - left[0], 12.0)
    spots = list(_along(left, right, (_ABOVE, _BELOW)))
    widths = (1e9, max(run, 40.0), run, run / 2, 12.0)
    label = placer.place("track", track.name, TRACK_SIZE, spots, widths)
    assert label is not None, "the band above a track's own rail is free for an ellipsis"
    return label


def _along(left: Point, right: Point, baselines: Sequence[float]) -> Iterator[Point]:
    """Points along a level run, the middle first, at each height in turn."""
    middle, half = (left[0] + right[0]) / 2, (right[0] - left[0]) / 2
    steps = int(half / _STEP) + 3
    for baseline in baselines:
        for step in range(steps):
            for sign in (1, -1) if step else (1,):
                yield middle + sign * step * _STEP, left[1] + baseline
