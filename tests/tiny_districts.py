"""Random districts as :mod:`tests.random_districts` draws them, but so small that the plain search by events
can prove any objective; for tests only.
"""

from __future__ import annotations

from functools import lru_cache
from random import Random

from switchsolve.puzzle import Puzzle, Start, StartString
from switchsolve.work import DoNotTouch, Work
from tests.brute_force import can_start
from tests.random_rail import Draft, draw_base, grow
from tests.random_work import (
    MAKERS,
    SetUp,
    draw_vehicles,
    draw_work,
    end_of_locomotive,
    item_of,
    place_vehicles,
)

__all__ = ["tiny_puzzle"]

_BASES = ("run-around", "chain", "fan", "oval", "chain", "wye", "run-around", "balloon", "fan", "crossing")
_RARE = ("three-way", "slip", "table", "double crossover")
_FEATURES = (
    *("spots", "closed", "keep clear", "do not touch", "barred", "any cars", "train made up", "limits"),
    *("two locomotives", "rear only", "dead locomotive"),
)


@lru_cache(maxsize=64)
def tiny_puzzle(seed: int, most: int = 20_000) -> Puzzle:
    """The same for the same ``seed`` >= 0; units of rail to the power of the vehicles: at most ``most``."""
    attempt = 0
    while True:
        puzzle = _attempt(Random(f"tiny {seed} {attempt}"), seed, most, attempt)
        if puzzle is not None:
            return puzzle
        attempt += 1


def _attempt(random: Random, seed: int, most: int, attempt: int) -> Puzzle | None:
    draft = Draft(random)
    draw_base(draft, _RARE[seed // 10 % 4] if seed % 10 == 9 else _BASES[seed % 10])
    grow(draft)
    wanted = {"mixed lengths"} if random.random() < 0.5 else set()
    if seed % 3 and attempt < 300:
        wanted |= {_FEATURES[seed // 3 % len(_FEATURES)]}
    up = SetUp(random, draft, wanted)
    draw_vehicles(up)
    vehicles = len(up.cars) + len(up.locomotives) - ("do not touch" in wanted)
    if draft.units() ** vehicles > most or not place_vehicles(up):
        return None
    draw_work(up)
    if not all(make(up) for name, make in MAKERS.items() if name in wanted):
        return None
    end_of_locomotive(up)
    start = _start(random, up)
    if start is None:
        return None
    puzzle = Puzzle(
        up.draft.district(),
        tuple(up.cars),
        tuple(up.locomotives),
        start,
        Work(tuple(up.items)),
        unit="unit",
        grid=1,
    )
    return puzzle if can_start(puzzle) else None


def _start(random: Random, up: SetUp) -> Start | None:
    heads = {one.name: random.choice(("from", "to")) for one in up.locomotives}
    under_way = {name: random.choice(("from", "to")) for name in heads if random.random() < 0.4}
    strings: list[StartString] = []
    for track, row in up.rows.items():
        for number, name in enumerate(row):
            is_fixed = isinstance(item_of(up, name), DoNotTouch)
            before = sum(up.length(other) for other in row[:number])
            last = strings[-1] if number and strings[-1].fixed_at is None else None
            if last is not None and not is_fixed and random.random() < 0.5:
                strings[-1] = StartString(track, (*last.vehicles, name))
            else:
                strings.append(StartString(track, (name,), fixed_at=before if is_fixed else None))
    for one in up.locomotives:
        for string in strings:
            front = string.vehicles[-1 if heads[one.name] == "to" else 0]
            if one.rear_only and one.name in string.vehicles and front != one.name:
                return None
    return Start(tuple(strings), heads, under_way)
