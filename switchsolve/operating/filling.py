"""The fill of the yard through a session."""

from __future__ import annotations

from collections import defaultdict

from switchsolve.layout import Layout
from switchsolve.operating.records import Played, Where
from switchsolve.operating.results import Level
from switchsolve.timetable.reading import Timetable

__all__ = ["yard_fill", "yard_room"]


def yard_fill(layout: Layout, played: Played, timetable: Timetable | None) -> tuple[Level, ...]:
    """What stands on the tracks of the yard, whenever it changes; its lead, and arrival and departure tracks,
    apart."""
    kinds, yard = layout.kinds, layout.yard.name
    lengths = {name: kinds[car.kind] for name, car in played.cars.items()}
    own = {Where(yard, track) for track in layout.yard.tracks}
    there = [car for car, at in played.at_start.items() if at in own]
    length, cars = sum(lengths[car] for car in there), len(there)
    levels = [Level(0, length, cars)]
    times = timetable.times() if timetable else {}
    changes: dict[int, list[tuple[int, int]]] = defaultdict(list)
    for one in played.moved:
        moment = times.get(one.task, (0, 0))[one.at_end]
        for where, sign in ((one.source, -1), (one.target, 1)):
            if where in own:
                changes[moment].append((sign * lengths[one.car], sign))
    for moment in sorted(changes):
        length += sum(change for change, _ in changes[moment])
        cars += sum(sign for _, sign in changes[moment])
        levels.append(Level(moment, length, cars))
    return tuple(levels)


def yard_room(layout: Layout) -> int:
    """Length of all tracks of the yard together, grid units of the layout."""
    rail = layout.yard.puzzle.district
    own = sum(rail.track(name).length for name in layout.yard.tracks)
    return own * layout.grid // layout.yard.puzzle.grid
