"""Where everything stands at the start, for a picture; and a standing in words.

A file gives the order of the vehicles on a track, not the inches: between what spots and fixed places leave
open, strings are drawn apart, against the bumper of a spur.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from switchsolve.district import Cell, End, Table, Track, Way
from switchsolve.plan import Placed
from switchsolve.puzzle import Puzzle, StartString
from switchsolve.work import DoNotTouch

__all__ = ["placed_at_start", "standing_in_words"]


def placed_at_start(puzzle: Puzzle) -> tuple[Placed, ...]:
    """A placement of every starting string on its track."""
    by_track: dict[str, list[StartString]] = {}
    for string in puzzle.start.strings:
        by_track.setdefault(string.track, []).append(string)
    return tuple(
        placed for name, strings in by_track.items() for placed in _on_one_track(puzzle, name, strings)
    )


def _on_one_track(puzzle: Puzzle, name: str, strings: Sequence[StartString]) -> Iterable[Placed]:
    place = puzzle.district.place(name)
    assert isinstance(place, Track | Table)
    earliest, latest = _earliest(puzzle, strings), _latest(puzzle, place, strings)
    shares = _shares(puzzle, place, len(strings))
    for string, low, high, share in zip(strings, earliest, latest, shares, strict=True):
        start = max(low, low + int((high - low) * share))
        yield _placed(puzzle, place, string, start)


def _length(puzzle: Puzzle, string: StartString) -> int:
    return sum(puzzle.vehicles[name].length for name in string.vehicles)


def _bounds(puzzle: Puzzle, string: StartString) -> tuple[int, int | None]:
    """Least and greatest place of a string's ``from`` end, by its spots and what is fixed."""
    if string.fixed_at is not None:
        return string.fixed_at, string.fixed_at
    low, high, gone = 0, None, 0
    for name in string.vehicles:
        length = puzzle.vehicles[name].length
        if name in string.spots:
            at = puzzle.district.track(string.track).spot(string.spots[name]).at
            low = max(low, at - gone - length)
            high = at - gone if high is None else min(high, at - gone)
        gone += length
    return low, high


def _earliest(puzzle: Puzzle, strings: Sequence[StartString]) -> list[int]:
    found, free = [], 0
    for at, string in enumerate(strings):
        start = max(free, _bounds(puzzle, string)[0]) if string.fixed_at is None else string.fixed_at
        found.append(start)
        free = start + _length(puzzle, string) + _gap(puzzle, *strings[at : at + 2])
    return found


def _gap(puzzle: Puzzle, *pair: StartString) -> int:
    """What two strings keep between them: one of them may touch a car that is not to be touched."""
    untouched = {item.car for item in puzzle.work.items if isinstance(item, DoNotTouch)}
    return 0 if any(string.vehicles[0] in untouched for string in pair) else 1


def _latest(puzzle: Puzzle, place: Track | Table, strings: Sequence[StartString]) -> list[int]:
    found: list[int] = []
    free = place.length
    for at, string in reversed(list(enumerate(strings))):
        high = _bounds(puzzle, string)[1]
        start = free - _length(puzzle, string)
        start = start if high is None else min(start, high)
        found.append(start if string.fixed_at is None else string.fixed_at)
        free = found[-1] - _gap(puzzle, *strings[max(0, at - 1) : at + 1])
    return found[::-1]


def _shares(puzzle: Puzzle, place: Track | Table, count: int) -> list[float]:
    """How far each string lies from its earliest to its latest place."""
    met = {outside for table in puzzle.district.tables for _, outside in table.meets}
    stops = {
        end
        for end in ("from", "to")
        if isinstance(place, Track)
        and end not in place.entrances
        and puzzle.district.mate(End(place.name, end)) is None
        and End(place.name, end) not in met
    }
    if stops == {"to"}:
        return [(index + 1) / count for index in range(count)]
    if stops == {"from"}:
        return [index / count for index in range(count)]
    return [(index + 1) / (count + 1) for index in range(count)]


def _placed(puzzle: Puzzle, place: Track | Table, string: StartString, start: int) -> Placed:
    lengths = [part.length for part in place.parts] if isinstance(place, Track) else [place.length]
    end = start + _length(puzzle, string)
    ways: list[Way] = []
    offset, gone = start, 0
    for index, length in enumerate(lengths):
        if gone < end and gone + length > start:
            offset = offset if ways else start - gone
            ways.append(Way(Cell(place.name, index), 1))
        gone += length
    noses = {
        name: 1 if puzzle.start.heads[name] == "to" else -1
        for name in string.vehicles
        if name in puzzle.start.heads
    }
    return Placed(string.vehicles, tuple(ways), offset, noses)


def standing_in_words(puzzle: Puzzle, standing: Iterable[Placed]) -> str:
    """Who stands where, string by string, in one paragraph."""
    sentences = []
    for string in standing:
        places = list(dict.fromkeys(way.cell.place for way in string.ways))
        where = places[0] if len(places) == 1 else f"{', '.join(places[:-1])} and {places[-1]}"
        told = [_with_nose(puzzle, string, name, places) for name in string.vehicles]
        verb = "stands" if len(told) == 1 else "stand"
        sentences.append(f"{', '.join(told)} {verb} on {where}.")
    return " ".join(sentences) or "Nothing stands here."


def _with_nose(puzzle: Puzzle, string: Placed, name: str, places: list[str]) -> str:
    if name not in string.noses:
        return name
    way = string.ways[-1] if string.noses[name] > 0 else string.ways[0].reverse()
    place = puzzle.district.place(way.cell.place)
    if isinstance(place, Track | Table):
        end = "to" if way.sign > 0 else "from"
        return f"{name} (heads for the {end} end of {way.cell.place})"
    return f"{name} (heads for {way.cell.place})"
