"""Small random set-ups whose track lengths matter; the same for the same seed; for tests only."""

from __future__ import annotations

from random import Random

from switchsolve.district import District, KeepClear, Limits, Marks, Part, Track
from switchsolve.puzzle import Puzzle
from switchsolve.work import EndsIn, Item, LocomotiveEnds, Place
from tests.brute_force import can_start
from tests.builders import (
    build,
    oval_district,
    run_around_district,
    set_up,
    spur_district,
    switchback_district,
    table_district,
    track,
    turnout,
    wye_district,
)

__all__ = ["KINDS", "MORE", "length_puzzle"]

KINDS = ("spur", "run-around", "switchback", "two spurs", "parts", "spots", "do not touch")
"""Kinds of set-up that longest runs are exact for."""
MORE = ("closed", "limits", "oval", "wye", "table", "two locomotives", "rear only")
"""Kinds that are searched by events, which takes longer."""


def length_puzzle(kind: str, seed: int) -> Puzzle:
    """A set-up of one of :data:`KINDS` or :data:`MORE`, with two cars or three vehicles in all."""
    attempt = 0
    while True:
        puzzle = _attempt(Random(f"{kind} {seed} {attempt}"), kind)
        if puzzle is not None:
            return puzzle
        attempt += 1


def _attempt(random: Random, kind: str) -> Puzzle | None:
    district = _district(random, kind)
    lengths = {name: random.choice((1, 1, 2)) for name in ("L", "a", "b")}
    heads = {"L": random.choice(("from", "to"))}
    names = [one.name for one in district.tracks]
    # nothing stands on a part to be kept clear: that would take the search by events
    where = {name: random.choice(names[kind == "parts" :]) for name in lengths}
    rows: dict[str, list[str]] = {}
    for name in random.sample(sorted(where), 3):
        rows.setdefault(where[name], []).append(name)
    if kind == "two locomotives":
        heads["b"] = random.choice(("from", "to"))
    fixed = {}
    if kind == "do not touch":
        if len(rows[where["b"]]) > 1:
            return None
        fixed = {"b": random.randint(0, max(0, district.track(where["b"]).length - lengths["b"]))}
    items: list[Item] = []
    for name in ("a", "b"):
        if name in heads:
            items.append(LocomotiveEnds(name, random.choice(names)))
        elif name not in fixed:
            items.append(EndsIn(name, (_goal(random, district, where[name]),)))
    puzzle = set_up(
        district,
        {name: random.choice((" ", " | ")).join(row) for name, row in rows.items()},
        *items,
        heads=heads,
        lengths=lengths,
        fixed=fixed,
        rear_only="L" if kind == "rear only" else "",
    )
    for string in puzzle.start.strings:
        outer = string.vehicles[-1 if heads["L"] == "to" else 0]
        if kind == "rear only" and "L" in string.vehicles and outer != "L":
            return None
    return puzzle if can_start(puzzle) else None


def _goal(random: Random, district: District, home: str) -> Place:
    others = [one for one in district.tracks if one.name != home]
    chosen = random.choice(others)
    spot = random.choice(chosen.spots).name if chosen.spots else None
    return Place(chosen.name, spot)


def _district(random: Random, kind: str) -> District:
    one, two, three, four = (random.randint(1, 4) for _ in range(4))
    if kind == "run-around":
        return run_around_district(two + 2, one, three, four + 1)
    if kind == "switchback":
        return switchback_district(one + 2, two, three)
    if kind == "oval":
        return oval_district(one + 1, two + 1, three)
    if kind == "wye":
        return wye_district(one + 1, two, three, 1)
    if kind == "table":
        return table_district(one + 1, random.randint(1, 3), two)
    if kind == "closed":
        pier = Part(random.randint(1, 2), Marks(no_locomotives=True))
        tracks = [track("lead", one + 3), track("main", two + 1), track("pier", pier), track("far", three)]
        device = turnout("T", "lead.to", "main.from", "pier.from")
        return build(tracks, [device], links=[("pier.to", "far.from")])
    if kind == "two spurs":
        lengths = {"lead": one + 2, "mid": two, "end": three, "one": 2, "two": four}
        tracks = [track(name, length) for name, length in lengths.items()]
        first = turnout("S", "lead.to", "mid.from", "one.from")
        return build(tracks, [first, turnout("T", "end.from", "mid.to", "two.to")])
    return spur_district(_lead(kind, one + 2), _main(kind, two), _spur(random, kind, three))


def _lead(kind: str, length: int) -> Track:
    if kind == "parts":
        return track("lead", 2, Part(1, Marks(keep_clear=KeepClear.ALWAYS)), length)
    limits = Limits(most_cars=1) if kind == "limits" else Limits()
    return track("lead", Part(length, Marks(limits=limits)))


def _main(kind: str, length: int) -> Track:
    return track("main", length, 2) if kind == "parts" else track("main", length)


def _spur(random: Random, kind: str, length: int) -> Track:
    spots = {"1": random.randint(1, length), "2": random.randint(0, length)} if kind == "spots" else {}
    return track("spur", length, spots=spots)
