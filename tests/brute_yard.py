"""Yard work by brute force: every way to use the tracks, with no rule that saves work.

Shares no code with :mod:`switchsolve.yard`.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import permutations, product

Track = tuple[bool, bool, bool, bool, int]
"""In at the left, in at the right, out at the left, out at the right; how much it holds."""

THROUGH = (False, True, True, False)
STUB = (False, True, False, True)
BOTH_ENDS = (True, True, True, True)


def can_work(order: Sequence[int], tracks: Sequence[Track], lengths: Sequence[int]) -> bool:
    """Whether the cars, arriving as numbered, can come out in rising order of ``order`` over the tracks."""
    start = (0, tuple(() for _ in tracks), 0)
    seen, todo = {start}, [start]
    while todo:
        state = todo.pop()
        if state[2] == len(order):
            return True
        for after in _nexts(state, order, tracks, lengths):
            if after not in seen:
                seen.add(after)
                todo.append(after)
    return False


def _nexts(state: tuple, order: Sequence[int], tracks: Sequence[Track], lengths: Sequence[int]) -> Iterator:
    came, standing, left = state
    for place, (in_left, in_right, out_left, out_right, room) in enumerate(tracks):
        cars = standing[place]
        changed = []
        if came < len(order) and sum(lengths[car] for car in (*cars, came)) <= room:
            changed += [(came + 1, (came, *cars), left)] if in_left else []
            changed += [(came + 1, (*cars, came), left)] if in_right else []
        wanted = sorted(order)[left]
        if cars and out_left and order[cars[0]] == wanted:
            changed.append((came, cars[1:], left + 1))
        if cars and out_right and order[cars[-1]] == wanted:
            changed.append((came, cars[:-1], left + 1))
        for came_after, after, left_after in changed:
            yield came_after, (*standing[:place], after, *standing[place + 1 :]), left_after


def passes(cut: Sequence[str], lengths: Sequence[int], rooms: Sequence[int], orders: list, most: int) -> int:
    """The fewest passes to any of the ``orders`` of blocks, each car to any track, the tracks pulled in any
    order; ``most + 1`` if it takes more than ``most``."""
    trains = {tuple(range(len(cut)))}
    for count in range(most + 1):
        if any(_in_order([cut[car] for car in train], order) for train in trains for order in orders):
            return count
        trains = {after for train in trains for after in _after_a_pass(train, lengths, rooms)}
    return most + 1


def _in_order(train: list[str], order: Sequence[str]) -> bool:
    return train == sorted(train, key=order.index)


def _after_a_pass(train: tuple[int, ...], lengths: Sequence[int], rooms: Sequence[int]) -> set:
    """Every train that one pass can make of this one."""
    made = set()
    for onto in product(range(len(rooms)), repeat=len(train)):
        tracks: list[list[int]] = [[] for _ in rooms]
        for car, track in zip(reversed(train), reversed(onto), strict=True):
            tracks[track].insert(0, car)  # pushed in last: nearest the points, and the locomotive
        if all(sum(lengths[car] for car in cars) <= room for cars, room in zip(tracks, rooms, strict=True)):
            made |= {tuple(car for cars in pulled for car in cars) for pulled in permutations(tracks)}
    return made
