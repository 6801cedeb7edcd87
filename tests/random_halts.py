"""Random small districts in which a run halts on the way, the same for the same seed; for tests only.

They are those of :mod:`tests.random_districts` with a table, all six times as long, but for the table, which
is half a unit of theirs longer or shorter: so nobody fills it to the last.  And those with an oval or a
balloon loop, one of its tracks made as long as all vehicles together, or longer.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from functools import lru_cache
from random import Random

from switchsolve.district import Junction, Table, Track
from switchsolve.packing import pack
from switchsolve.puzzle import Puzzle, StartString
from switchsolve.rules import Rules
from switchsolve.work import EndsIn, Hold, Item, Place
from tests.changes import lengthened
from tests.random_districts import draw_once

__all__ = ["enlarged", "puzzle_with_oval", "puzzle_with_table"]

_WANTED = {
    "mixed lengths": 0.5,
    "under way": 0.4,
    "four cars": 0.15,
    "train made up": 0.15,
    "any cars": 0.1,
    "spots": 0.1,
    "dead locomotive": 0.05,
    "closed": 0.1,
    "explored": 0.8,
}
"""How often each feature is asked for."""


@lru_cache(maxsize=64)
def puzzle_with_table(seed: int) -> Puzzle:
    """A small district with a table, with one locomotive and its work."""
    for number in range(10_000):
        random = Random(f"table {seed} {number}")
        wanted = {name for name, share in _WANTED.items() if random.random() < share}
        drawn = draw_once(random, "table", wanted, strict=number < 5)
        if drawn is not None:
            return _with_cars_on_table(enlarged(drawn[0], random.choice((-3, 3))), random)
    raise AssertionError("nothing was drawn: a defect")


@lru_cache(maxsize=64)
def puzzle_with_oval(seed: int) -> Puzzle:
    """A small district with an oval or a balloon loop, with one locomotive and its work."""
    for number in range(10_000):
        random = Random(f"oval {seed} {number}")
        wanted = {name for name, share in _WANTED.items() if random.random() < share}
        drawn = draw_once(random, random.choice(("oval", "oval", "balloon")), wanted, strict=number < 5)
        if drawn is None:
            continue
        longer = _with_a_long_track(drawn[0], random)
        if longer is not None:
            return longer
    raise AssertionError("nothing was drawn: a defect")


def _with_a_long_track(puzzle: Puzzle, random: Random) -> Puzzle | None:
    """One track made so long that runs halt at its ends; ``None`` if there is none that keeps them from
    coming back.
    """
    names = [one.name for one in puzzle.district.tracks]
    random.shuffle(names)
    more = sum(one.length for one in puzzle.vehicles.values()) + random.choice((-1, 0, 1, 4))
    for name in names:
        longer = lengthened(puzzle, name, more)
        if Rules(pack(longer)).halts:
            return longer
    return None


def enlarged(puzzle: Puzzle, more: int) -> Puzzle:
    """The same set-up with every length six times as long, those of tables longer by ``more``."""
    district = puzzle.district
    start = puzzle.start
    return replace(
        puzzle,
        district=replace(
            district,
            tracks=tuple(map(_enlarged_track, district.tracks)),
            junctions=tuple(map(_enlarged_junction, district.junctions)),
            tables=tuple(replace(table, length=6 * table.length + more) for table in district.tables),
        ),
        cars=tuple(replace(car, length=6 * car.length) for car in puzzle.cars),
        locomotives=tuple(replace(one, length=6 * one.length) for one in puzzle.locomotives),
        start=replace(start, strings=tuple(map(_enlarged_string, start.strings))),
    )


def _enlarged_track(track: Track) -> Track:
    return replace(
        track,
        parts=tuple(replace(part, length=6 * part.length) for part in track.parts),
        spots=tuple(replace(spot, at=6 * spot.at) for spot in track.spots),
    )


def _enlarged_junction(junction: Junction) -> Junction:
    routes = tuple(replace(route, length=6 * route.length) for route in junction.routes)
    return replace(junction, routes=routes)


def _enlarged_string(string: StartString) -> StartString:
    return string if string.fixed_at is None else replace(string, fixed_at=6 * string.fixed_at)


def _with_cars_on_table(puzzle: Puzzle, random: Random) -> Puzzle:
    """Now and then a car is wanted on the table, or somebody stands there at the start."""
    (table,) = puzzle.district.tables
    items = tuple(_moved(item, puzzle, table, random) for item in puzzle.work.items)
    strings = list(puzzle.start.strings)
    at = random.randrange(len(strings))
    length = sum(puzzle.vehicles[name].length for name in strings[at].vehicles)
    is_alone = sum(one.track == strings[at].track for one in strings) == 1
    may_move = is_alone and strings[at].fixed_at is None and not strings[at].spots
    if random.random() < 0.25 and may_move and length < table.length:
        names = set(strings[at].vehicles)
        if not _are_held(names, puzzle, items):
            strings[at] = replace(strings[at], track=table.name)
    return replace(
        puzzle,
        work=replace(puzzle.work, items=items),
        start=replace(puzzle.start, strings=tuple(strings)),
    )


def _moved(item: Item, puzzle: Puzzle, table: Table, random: Random) -> Item:
    if isinstance(item, EndsIn) and puzzle.vehicles[item.car].length < table.length and random.random() < 0.1:
        return replace(item, places=(Place(table.name),))
    return item


def _are_held(names: set[str], puzzle: Puzzle, items: Iterable[Item]) -> bool:
    """Whether one of these vehicles has no item, or is to be back where it was."""
    told = {item.car: item for item in items if isinstance(item, EndsIn | Hold)}
    return any(isinstance(told.get(name), Hold) for name in names)
