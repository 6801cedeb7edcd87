"""Do the cars come out even?  And how long would yard, staging and trains have to be?

Two plays on paper answer what the sessions alone cannot: in one the host carries every car that is missing,
so that nobody waits; in the other nothing is too short, either.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import replace

from switchsolve.layout import SWITCHER, Layout, StagingPlace
from switchsolve.lengthening import lengthened
from switchsolve.operating.asking import OnPaper
from switchsolve.operating.railroad import Railroad, begin
from switchsolve.operating.records import FAR_SHORE, Played
from switchsolve.operating.results import Balance, Needs, OutOf
from switchsolve.operating.running import play

__all__ = ["balance_of", "needs_of", "out_of_cars", "waiting_rows"]

_LONG = 100
"""So many times as long as it is counts as long enough for anything."""


def balance_of(layout: Layout, seed: int, sessions: Sequence[Played]) -> Balance:
    """The balance of sessions that were played, the first one first."""
    waited: Counter[tuple[str, str]] = Counter()
    for played in sessions:
        waited.update((one.at, one.why) for one in played.waited)
    railroad, carried = begin(layout, seed), []
    for number in range(1, len(sessions) + 1):
        helped = play(railroad, number, OnPaper(), helps=True)
        carried.append(sum(one.by_hand and one.source.place != one.target.place for one in helped.between))
    return Balance(
        _levels(layout, sessions),
        out_of_cars(sessions),
        tuple(played.by_hand for played in sessions),
        tuple(played.sets_by_hand for played in sessions),
        tuple(carried),
        dict(waited),
        waiting_rows(sessions),
        len(begin(layout, seed).homeless),
    )


def out_of_cars(sessions: Sequence[Played]) -> tuple[OutOf, ...]:
    """Every kind of car that was not there when asked for."""
    missing: dict[tuple[str, str, bool], dict[int, int]] = defaultdict(dict)
    for played in sessions:
        for short in played.shortages:
            missing[short.place, short.kind, short.is_loaded][played.number] = short.count
    return tuple(OutOf(*key, counts, len(sessions)) for key, counts in sorted(missing.items()))


def waiting_rows(sessions: Sequence[Played]) -> dict[str, tuple[int, ...]]:
    """How many cars waited in each session, by the place where any did."""
    counts = [Counter(one.at for one in played.waited) for played in sessions]
    return {at: tuple(row[at] for row in counts) for at in sorted({at for row in counts for at in row})}


def _levels(layout: Layout, sessions: Sequence[Played]) -> dict[tuple[str, str, bool], tuple[int, ...]]:
    """Cars that stand in each place of the world before each session, by kind and load."""
    rows: list[Counter[tuple[str, str, bool]]] = []
    floats = {place.name for place in layout.districts if place.is_float}
    world = {name for name, _ in layout.stocks()}
    for played in sessions:
        there: Counter[tuple[str, str, bool]] = Counter()
        for name, where in played.at_start.items():
            car = played.cars[name]
            if where.place in world and (where.place not in floats or where.track == FAR_SHORE):
                there[where.place, car.kind, car.is_loaded] += 1
        rows.append(there)
    keys = sorted({key for row in rows for key in row})
    return {key: tuple(row[key] for row in rows) for key in keys}


def needs_of(layout: Layout, seed: int, sessions: int) -> Needs:
    """What so many sessions ask for when nothing is too short and the host carries what is missing."""
    railroad = begin(_without_limits(layout), seed)
    yard, cars = 0, 0
    staging: Counter[str] = Counter()
    train_cars: Counter[str] = Counter()
    train_length: Counter[str] = Counter()
    for number in range(1, sessions + 1):
        played = play(railroad, number, OnPaper(), helps=True)
        for length, count in _yard_levels(layout, played):
            yard, cars = max(yard, length), max(cars, count)
        for name, length in _staging_levels(railroad, played):
            staging[name] = max(staging[name], length)
        for train, length, count in _train_levels(layout, played, railroad):
            train_cars[train] = max(train_cars[train], count)
            train_length[train] = max(train_length[train], length)
    return Needs(
        yard, cars, _tracks_for(layout, yard), dict(staging), dict(train_cars), dict(train_length)
    )


def _without_limits(layout: Layout) -> Layout:
    """The layout with long tracks and trains."""
    yard = layout.yard
    puzzle = yard.puzzle
    for track in (*yard.tracks, yard.lead):
        puzzle = lengthened(puzzle, track, puzzle.district.track(track).length * (_LONG - 1))
    most = sum(len(place.puzzle.district.tracks) for place in layout.districts) * _LONG
    return replace(
        layout,
        yard=replace(yard, puzzle=puzzle, room=yard.room * _LONG),
        staging=tuple(_long(place) for place in layout.staging),
        links=tuple(replace(link, longest=None) for link in layout.links),
        trains=tuple(
            replace(train, most_cars=train.most_cars and most) if train.kind != SWITCHER else train
            for train in layout.trains
        ),
    )


def _long(place: StagingPlace) -> StagingPlace:
    return replace(place, tracks={track: length * _LONG for track, length in place.tracks.items()})


def _yard_levels(layout: Layout, played: Played) -> list[tuple[int, int]]:
    """Length and number of cars on the yard's tracks, from the start and after each of its tasks."""
    kinds, yard = layout.kinds, layout.yard
    there = {name for name, where in played.at_start.items() if where.place == yard.name}
    levels = [_sum(played, there, kinds)]
    for one in played.moved:
        if one.target.place == yard.name and one.target.track in yard.tracks:
            there.add(one.car)
        elif one.source.place == yard.name and one.source.track in yard.tracks:
            there.discard(one.car)
        levels.append(_sum(played, there, kinds))
    return levels


def _sum(played: Played, cars: set[str], kinds: Mapping[str, int]) -> tuple[int, int]:
    return sum(kinds[played.cars[car].kind] for car in cars), len(cars)


def _staging_levels(railroad: Railroad, played: Played) -> list[tuple[str, int]]:
    """Length that stands in each staging place before and after a session."""
    before: Counter[str] = Counter()
    for name, where in played.at_start.items():
        if where.place in railroad.staging:
            before[where.place] += railroad.lengths[name]
    for where, length in played.sets_at_start.items():
        before[where.place] += length
    after = {
        name: sum(railroad.lengths[car] for car in state.all_cars)
        + sum(one.length for sets in state.sets.values() for one in sets)
        for name, state in railroad.staging.items()
    }
    return [*before.items(), *after.items()]


def _train_levels(layout: Layout, played: Played, railroad: Railroad) -> list[tuple[str, int, int]]:
    """Length and cars of each train: as it sets out, and as it comes in."""
    plans = {train.name: train for train in layout.trains}
    found = []
    for name, cars in played.consists.items():
        home = [one.car for one in played.moved if one.task == f"{name}: last run"]
        for row in (cars, home):
            length = plans[name].equipment + sum(railroad.lengths[car] for car in row)
            found.append((name, length, len(row)))
    return found


def _tracks_for(layout: Layout, length: int) -> int | None:
    """How many of the yard's tracks, the longest first, have so much length together."""
    rail = layout.yard.puzzle.district
    together = 0
    own_lengths = sorted((rail.track(name).length for name in layout.yard.tracks), reverse=True)
    for number, own in enumerate(own_lengths):
        together += own
        if together >= length:
            return number + 1
    return None
