"""Where no car gets, for a table is too short for a locomotive with a car."""

from __future__ import annotations

from switchsolve.district import District, Table
from switchsolve.facts.probes import Bench, Entry

__all__ = ["shuts_cars_off"]


def shuts_cars_off(bench: Bench, entry: Entry, track: str) -> bool:
    """Whether no standard car gets to ``track`` from ``entry``, for there is no way but over a short table.

    What stands on a table when it is lined anew is wholly on it, so a car is there without the locomotive.
    Let a car be the first to be lined so to rail that is reached over the table only.  The locomotive has
    shoved it on, and is on the side from which they came, where it stays: the table is taken.  So nobody is
    there to draw the car off.
    """
    short = bench.locomotive.length + bench.car_length
    return any(
        table.length < short and track not in _reached(bench.district, entry.track, table)
        for table in bench.district.tables
    )


def _reached(district: District, track: str, without: Table) -> set[str]:
    """The places to which rail leads from ``track``, but for that over one table."""
    pairs = [(one.place, other.place) for one, other in district.links]
    pairs += [(table.name, outside.place) for table in district.tables for _, outside in table.meets]
    near: dict[str, list[str]] = {}
    for one, other in pairs:
        if without.name not in (one, other):
            near.setdefault(one, []).append(other)
            near.setdefault(other, []).append(one)
    found = {track}
    waiting = [track]
    while waiting:
        for place in near.get(waiting.pop(), []):
            if place not in found:
                found.add(place)
                waiting.append(place)
    return found
