"""The nuisances of a file, and the set-up without each of them.

Each is one change, all else as it is:

==================== ====================================================================================
tail, run-around,    it is longer by all vehicles of the file together, their gaps included; of a
spur, track          run-around, or a tail of several tracks, all of its tracks at once
facing, trailing     the spur is flipped (:mod:`switchsolve.flipping`); *facing* if the locomotive can run
                     into it, from where it stands, without a reversal
neighbor             a car that has no work of its own and did not come with a locomotive is not there
keep clear, closed,  the mark is gone from the track, junction or table
barred, limit
skip                 a task of the work is left out (:mod:`switchsolve.skipping`)
==================== ====================================================================================

A track that cannot be made longer without some doubt whether that is a help is left out, with the reason
(:func:`~switchsolve.measuring.pieces.why_not_measured`).
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from enum import StrEnum

from switchsolve.district import District, Junction, KeepClear, Limits, Marks, Table, Track, Way
from switchsolve.facts.shape import loops, spurs, tails
from switchsolve.flipping import flippable, flipped
from switchsolve.lengthening import endless_tracks, lengthened
from switchsolve.marking import remarked
from switchsolve.measuring.pieces import why_not_measured
from switchsolve.puzzle import Puzzle
from switchsolve.skipping import absent, came_with, skipped, tasks_of
from switchsolve.work import DoNotTouch, Hold

__all__ = ["Kind", "Nuisance", "nuisances_of"]


class Kind(StrEnum):
    """What kind of thing stands in the way."""

    TAIL = "short tail"
    RUN_AROUND = "short run-around"
    SPUR = "short spur"
    TRACK = "short track"
    FACING = "facing spur"
    TRAILING = "trailing spur"
    NEIGHBOR = "car in the way"
    KEEP_CLEAR = "keep clear"
    CLOSED = "closed to locomotives"
    BARRED = "barred to some cars"
    LIMIT = "limit"
    ORDER = "order of the train"
    SKIP = "car to skip"


@dataclass(frozen=True, slots=True)
class Nuisance:
    """One nuisance: its ``kind``, the ``name`` of what it is, and the set-up ``without`` it.

    ``left_out``: why it is not removed (then ``without`` is ``None``).
    """

    kind: Kind
    name: str
    without: Puzzle | None
    left_out: str = ""

    def __str__(self) -> str:
        return f"{self.kind} ({self.name})" if self.name else str(self.kind)


def nuisances_of(puzzle: Puzzle) -> tuple[Nuisance, ...]:
    """Every nuisance of the file but the order of its train; tasks to skip last."""
    return (
        *_short(puzzle),
        *_turned(puzzle),
        *_in_the_way(puzzle),
        *_marked(puzzle),
        *_limited(puzzle),
        *(Nuisance(Kind.SKIP, str(task), skipped(puzzle, [task])) for task in tasks_of(puzzle)),
    )


# ---- lengths


def _short(puzzle: Puzzle) -> Iterator[Nuisance]:
    """Every piece of rail that may be too short, under its most telling name, once."""
    endless, named = endless_tracks(puzzle), set[str]()
    rows = [(Kind.TAIL, row) for row in tails(puzzle.district)]
    rows += [(Kind.RUN_AROUND, loop.tracks()) for loop in loops(puzzle.district) if loop.kind == "run-around"]
    rows += [(Kind.SPUR, (track.name,)) for track in spurs(puzzle.district)]
    rows += [(Kind.TRACK, (track.name,)) for track in puzzle.district.tracks]
    for kind, row in rows:
        if endless & set(row) or (kind in (Kind.SPUR, Kind.TRACK) and named & set(row)):
            continue
        named |= set(row)
        yield _longer(puzzle, kind, row)


def _longer(puzzle: Puzzle, kind: Kind, row: tuple[str, ...]) -> Nuisance:
    extra = sum(vehicle.length + 1 for vehicle in puzzle.vehicles.values())
    name, new = " / ".join(row), puzzle
    for track in row:
        reason = why_not_measured(puzzle, track)
        if reason:
            return Nuisance(kind, name, None, reason)
        new = lengthened(new, track, extra)
    return Nuisance(kind, name, new)


# ---- spurs the other way round


def _turned(puzzle: Puzzle) -> Iterator[Nuisance]:
    ahead = _run_into(puzzle)
    for spur in flippable(puzzle.district):
        kind = Kind.FACING if spur in ahead else Kind.TRAILING
        yield Nuisance(kind, spur, flipped(puzzle, spur))


def _run_into(puzzle: Puzzle) -> set[str]:
    """What locomotives can run into from where they stand, without a reversal, if nothing is in the way."""
    district = puzzle.district
    lined = {table.name: table.lined for table in district.tables}
    engines = {locomotive.name for locomotive in puzzle.locomotives}
    places = {string.track for string in puzzle.start.strings if engines & set(string.vehicles)}
    waiting = [Way(cell, sign) for cell in district.cells() if cell.place in places for sign in (1, -1)]
    seen = set(waiting)
    while waiting:
        for way in district.ahead(waiting.pop(), lined):
            if way not in seen:
                seen.add(way)
                waiting.append(way)
    return {way.cell.place for way in seen}


# ---- cars in the way


def _in_the_way(puzzle: Puzzle) -> Iterator[Nuisance]:
    """Cars on hold, or not to be touched, that stand in the district."""
    trains = {name for engine in puzzle.locomotives for name in came_with(puzzle, engine.name)}
    workless = _workless(puzzle)
    for string in puzzle.start.strings:
        for car in string.vehicles:
            if car in workless and car not in trains:
                spot = f" {string.spots[car]}" if car in string.spots else ""
                yield Nuisance(Kind.NEIGHBOR, f"{car} at {string.track}{spot}", absent(puzzle, car))


def _workless(puzzle: Puzzle) -> set[str]:
    """Cars with nothing to be done but to be left where they are."""
    kinds = {getattr(item, "kind", None) for item in puzzle.work.items}
    return {
        car.name
        for car in puzzle.cars
        if isinstance(item := puzzle.work.of_car(car.name), Hold | DoNotTouch)
        or (item is None and car.kind not in kinds)
    }


# ---- marks and limits


def _marked(puzzle: Puzzle) -> Iterator[Nuisance]:
    wipes: tuple[tuple[Kind, Callable[[Marks], Marks]], ...] = (
        (Kind.KEEP_CLEAR, lambda marks: replace(marks, keep_clear=KeepClear.NO)),
        (Kind.CLOSED, lambda marks: replace(marks, no_locomotives=False)),
        (Kind.BARRED, lambda marks: replace(marks, barred=frozenset())),
        (Kind.LIMIT, lambda marks: replace(marks, limits=Limits())),
    )
    district = puzzle.district
    for name in _names(district):
        for kind, wipe in wipes:
            new = remarked(district, wipe, [name])
            if new != district:
                yield Nuisance(kind, name, replace(puzzle, district=new))


def _limited(puzzle: Puzzle) -> Iterator[Nuisance]:
    """The limits on every moving string of the district."""
    if puzzle.district.limits:
        free = replace(puzzle.district, limits=Limits())
        yield Nuisance(Kind.LIMIT, "of the district", replace(puzzle, district=free))


def _names(district: District) -> list[str]:
    places: list[Track | Junction | Table] = [*district.tracks, *district.junctions, *district.tables]
    return [place.name for place in places]
