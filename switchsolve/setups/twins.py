"""Set-ups that are the same but for the order of the train, and for who stands at which of the places."""

from __future__ import annotations

from dataclasses import replace
from itertools import permutations, product
from math import factorial

from switchsolve.puzzle import Puzzle
from switchsolve.setups.drawer import Cast, Drawer
from switchsolve.traffic.draws import stream_of

__all__ = ["arrangements"]

_TRIES = 20
"""How often an arrangement is drawn for each one wanted."""


def arrangements(drawer: Drawer, seed: int, number: int, most: int) -> list[Puzzle]:
    """All arrangements of a drawn set-up that fit; of more than ``most``, so many drawn by chance.

    The same cars come with the train, the same places are taken, the same cars go to the same places, the
    same are picked up; a car on hold goes back to where it stands in each.
    """
    cast = drawer.cast_of(seed, number)
    casts = [] if cast is None else _arranged(drawer, cast, seed, number, most)
    name = f"set-up {number} of seed {seed}, arrangement"
    return [drawer.puzzle_of(one, f"{name} {at}") for at, one in enumerate(casts, 1)]


def _arranged(drawer: Drawer, cast: Cast, seed: int, number: int, most: int) -> list[Cast]:
    names = tuple(cast.stands)
    if factorial(len(cast.train)) * factorial(len(names)) <= most:
        every = product(permutations(cast.train), permutations(names))
        return [one for order, row in every if drawer.fits(one := _with(cast, order, row))]
    found: dict[tuple[tuple[str, ...], tuple[str, ...]], Cast] = {}
    stream = stream_of(seed, number, 1)
    for _ in range(_TRIES * most):
        order = tuple(cast.train[int(index)] for index in stream.permutation(len(cast.train)))
        row = tuple(names[int(index)] for index in stream.permutation(len(names)))
        one = _with(cast, order, row)
        if len(found) < most and drawer.fits(one):
            found[order, row] = one
    return list(found.values())


def _with(cast: Cast, order: tuple[str, ...], row: tuple[str, ...]) -> Cast:
    """The same places, taken by the cars in this order."""
    return replace(cast, train=order, stands=dict(zip(row, cast.stands.values(), strict=True)))
