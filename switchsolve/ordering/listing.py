"""The orders in which the arriving train can stand.

The train is what stands coupled to the locomotive at the start; the locomotive keeps its place in it.
**Like** cars (same length, kind and work) may stand for each other, so that orders which differ by like
cars only are one. Up to :data:`MOST_ORDERS` different orders are all listed.  Of a train with more, its
**blocks** are put in every order: cars with the same work, each block in the order of the file.  If these
are too many as well, orders are drawn, each as likely as any other, and no two alike.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Hashable, Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import permutations
from math import factorial, prod
from random import Random

from switchsolve.packing import pack
from switchsolve.puzzle import Puzzle, StartString
from switchsolve.work import AnyCars, LocomotiveEnds, Train

__all__ = ["MOST_ORDERS", "CannotReorder", "Listed", "TrainCars", "in_order", "list_orders", "train_cars"]

MOST_ORDERS = 120
"""All orders of five cars."""


class CannotReorder(ValueError):
    """There is no train whose order could be another: the ``key`` at fault, its ``value``, what, the cure."""

    def __init__(self, key: str, value: str, what: str, cure: str) -> None:
        self.key, self.value, self.what, self.cure = key, value, what, cure
        super().__init__(f"{key}: {what}; {cure}")


@dataclass(frozen=True, slots=True)
class TrainCars:
    """The cars of the train as the file has them, from the locomotive outwards (first those towards the
    ``from`` end of its track, then those towards the ``to`` end).

    ``like[i]`` is equal for like cars, ``blocks[i]`` for cars with the same work.
    """

    locomotive: str
    string: int
    cars: tuple[str, ...]
    like: tuple[int, ...]
    blocks: tuple[Hashable, ...]


@dataclass(frozen=True, slots=True)
class Listed:
    """Orders of the train's cars.

    ``how``: ``all``; ``blocks``: all orders of the blocks; ``drawn``: so many, drawn.  ``of``: how many there
    are to choose from.
    """

    orders: tuple[tuple[str, ...], ...]
    how: str
    of: int


def train_cars(puzzle: Puzzle) -> TrainCars:
    """The cars of the one arriving train.  Raises :class:`CannotReorder`."""
    engines = {locomotive.name for locomotive in puzzle.locomotives}
    number, string = _the_train(puzzle, engines)
    key, names = f"start.{string.track}", ", ".join(string.vehicles)
    if len(engines & set(string.vehicles)) > 1:
        raise CannotReorder(key, names, "two locomotives are in the train", "leave one of them out")
    if string.spots:
        raise CannotReorder(key, names, "a vehicle of the train stands at a spot", "leave the spot out")
    engine = next(name for name in string.vehicles if name in engines)
    cars = tuple(name for name in _outwards(string.vehicles, engine))
    class_of = pack(puzzle).class_of
    like = tuple(class_of[car] for car in cars)
    return TrainCars(engine, number, cars, like, tuple(_work_of(puzzle, car) for car in cars))


def _the_train(puzzle: Puzzle, engines: set[str]) -> tuple[int, StartString]:
    trains = [
        (number, string)
        for number, string in enumerate(puzzle.start.strings)
        if engines & set(string.vehicles) and not engines >= set(string.vehicles)
    ]
    if len(trains) != 1:
        value = ", ".join(string.track for _, string in trains)
        what = "cars stand coupled to more than one locomotive" if trains else "no car stands at a locomotive"
        raise CannotReorder(
            "start", value, what, "let the cars of one arriving train stand at its locomotive"
        )
    return trains[0]


def _outwards(vehicles: tuple[str, ...], engine: str) -> tuple[str, ...]:
    at = vehicles.index(engine)
    return (*vehicles[:at][::-1], *vehicles[at + 1 :])


def _work_of(puzzle: Puzzle, car: str) -> Hashable:
    """What is to be done with the car, without its name."""
    item = puzzle.work.of_car(car)
    if item is None:
        kind = next(one.kind for one in puzzle.cars if one.name == car)
        return kind if any(isinstance(one, AnyCars) and one.kind == kind for one in puzzle.work.items) else ""
    if isinstance(item, Train):
        return (
            item.track,
            next((at for at, block in enumerate(item.blocks) if car in block), -1),
            item.last == car,
        )
    assert not isinstance(item, AnyCars | LocomotiveEnds)
    return replace(item, car="")


def in_order(puzzle: Puzzle, train: TrainCars, order: Sequence[str]) -> Puzzle:
    """The set-up with the train's cars in ``order``, told as :attr:`TrainCars.cars` is."""
    string = puzzle.start.strings[train.string]
    before = string.vehicles.index(train.locomotive)
    vehicles = (*reversed(order[:before]), train.locomotive, *order[before:])
    strings = list(puzzle.start.strings)
    strings[train.string] = replace(string, vehicles=vehicles)
    return replace(puzzle, start=replace(puzzle.start, strings=tuple(strings)))


# ---- which orders


def list_orders(train: TrainCars, *, seed: int = 1) -> Listed:
    """The orders to be asked, that of the file first if it is among them; ``seed``: of those drawn."""
    total = _number(train.like)
    if total <= MOST_ORDERS:
        return Listed(tuple(_named(train, row) for row in _rows(train.like)), "all", total)
    blocks = dict.fromkeys(train.blocks)
    if len(blocks) > 1 and factorial(len(blocks)) <= MOST_ORDERS:
        rows = permutations(blocks)
        return Listed(tuple(_in_blocks(train, row) for row in rows), "blocks", factorial(len(blocks)))
    drawn = {train.like: None}
    random = Random(seed)
    while len(drawn) < MOST_ORDERS:
        row = list(train.like)
        random.shuffle(row)
        drawn[tuple(row)] = None
    return Listed(tuple(_named(train, row) for row in drawn), "drawn", total)


def _number(like: Sequence[int]) -> int:
    """How many different orders there are."""
    return factorial(len(like)) // prod(factorial(count) for count in Counter(like).values())


def _rows(like: tuple[int, ...]) -> Iterator[tuple[int, ...]]:
    """Every different row of the same, the given one first."""
    if not like:
        yield ()
    for first in dict.fromkeys(like):
        rest = list(like)
        rest.remove(first)
        for more in _rows(tuple(rest)):
            yield (first, *more)


def _named(train: TrainCars, row: Sequence[int]) -> tuple[str, ...]:
    """The cars of a row; like ones in the order of the file."""
    waiting = {one: [c for c, like in zip(train.cars, train.like, strict=True) if like == one] for one in row}
    return tuple(waiting[one].pop(0) for one in row)


def _in_blocks(train: TrainCars, blocks: Sequence[Hashable]) -> tuple[str, ...]:
    pairs = list(zip(train.cars, train.blocks, strict=True))
    return tuple(car for block in blocks for car, own in pairs if own == block)
