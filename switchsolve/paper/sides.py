"""Left and right, as the schematic on the sheet shows them.

A file speaks of the ends ``from`` and ``to``, which a crew never sees; on the sheet everything is told by the
picture above it.
"""

from __future__ import annotations

from collections.abc import Sequence

from switchsolve.district import Cell, End, Track, Way
from switchsolve.drawing import Schematic

__all__ = ["direction_text", "end_text", "is_from_left", "rank_text"]

_CLEARLY = 12.0
"""How far apart two ends must lie for one of them to be the left one, drawing units."""


def is_from_left(ground: Schematic, place: str) -> bool | None:
    """Whether the ``from`` end of a track or table is its left one; ``None`` where neither clearly is."""
    (start, _), (end, _) = (point for point in _ends(ground, place))
    if abs(end - start) < _CLEARLY:
        return None
    return start < end


def _ends(ground: Schematic, place: str) -> Sequence[tuple[float, float]]:
    rail = ground.tracks.get(place) or ground.rail(Way(Cell(place), 1))
    return rail.points[0], rail.points[-1]


def end_text(ground: Schematic, place: str, end: str) -> str:
    """An end of a track or table: ``the left end``, or what it meets if the picture leaves that open."""
    from_left = is_from_left(ground, place)
    if from_left is not None:
        return "the left end" if from_left == (end == "from") else "the right end"
    return f"the end at {_what_it_meets(ground, place, end)}"


def direction_text(ground: Schematic, place: str, end: str) -> str:
    """The direction towards an end: ``left``, or to what the end meets."""
    from_left = is_from_left(ground, place)
    if from_left is not None:
        return "left" if from_left == (end == "from") else "right"
    return f"to {_what_it_meets(ground, place, end)}"


def _what_it_meets(ground: Schematic, place: str, end: str) -> str:
    mate = ground.district.mate(End(place, end))
    if mate is not None:
        return mate.place
    tables = [
        table.name for table in ground.district.tables for _, met in table.meets if met == End(place, end)
    ]
    if tables:
        return tables[0]
    place_there = ground.district.place(place)
    is_entrance = isinstance(place_there, Track) and end in place_there.entrances
    return "the entrance" if is_entrance else "the bumper"


def rank_text(ground: Schematic, place: str, index: int, count: int) -> str:
    """Which vehicle of a row it is, from the left: ``2 of 4``.  ``index`` counts from 0, from ``from``.

    Where the picture shows no left end, it is said from where it is counted.
    """
    if count == 1:
        return "alone"
    from_left = is_from_left(ground, place)
    if from_left is None:
        return f"{index + 1} of {count} from {_what_it_meets(ground, place, 'from')}"
    return f"{index + 1 if from_left else count - index} of {count}"
