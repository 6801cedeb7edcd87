"""The same set-up with less to do: a task of the work skipped, or a car that is not there at all.

A **task** is a car to be brought to its place or picked up, or one car of *any of a kind*.  Skipped, a car
that came with a train that departs goes home with it; any other is on hold, back in the track where it
started.
"""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass, replace

from switchsolve.puzzle import Puzzle, StartString
from switchsolve.work import AnyCars, EndsIn, Item, Train, Work

__all__ = ["Task", "absent", "came_with", "skipped", "skipped_cars", "tasks_of"]


@dataclass(frozen=True, slots=True)
class Task:
    """One thing to be done: the ``car`` named, or (``any_of`` given) one car of the item, which is the
    ``number``-th.
    """

    car: str
    any_of: AnyCars | None = None
    number: int = 0

    def __str__(self) -> str:
        return self.car


def tasks_of(puzzle: Puzzle) -> tuple[Task, ...]:
    """The tasks, in the order of the file.  A car that came with its train and leaves with it is none."""
    found: list[Task] = []
    for item in puzzle.work.items:
        if isinstance(item, EndsIn):
            found.append(Task(item.car))
        elif isinstance(item, Train):
            there = came_with(puzzle, item.locomotive)
            found += [Task(car.name) for car in puzzle.cars if car.name in item.cars - there]
        elif isinstance(item, AnyCars):
            name = f"1 {item.kind} to {item.place}"
            found += [Task(name, item, number) for number in range(1, item.count + 1)]
    return tuple(found)


def came_with(puzzle: Puzzle, locomotive: str) -> frozenset[str]:
    """What stands coupled to the locomotive at the start, itself included."""
    for string in puzzle.start.strings:
        if locomotive in string.vehicles:
            return frozenset(string.vehicles)
    return frozenset()


def skipped(puzzle: Puzzle, tasks: Collection[Task]) -> Puzzle:
    """The set-up without these tasks."""
    of_kind = [task.any_of for task in tasks if task.any_of is not None]
    items = [
        replace(item, count=item.count - of_kind.count(item)) if isinstance(item, AnyCars) else item
        for item in puzzle.work.items
    ]
    kept = tuple(item for item in items if not (isinstance(item, AnyCars) and not item.count))
    less = replace(puzzle, work=Work(kept))
    return skipped_cars(less, [task.car for task in tasks if task.any_of is None])


def skipped_cars(puzzle: Puzzle, cars: Collection[str]) -> Puzzle:
    """The set-up with the work less these cars, by name."""
    if not cars:
        return puzzle
    dropped = {item.car for item in puzzle.work.items if isinstance(item, EndsIn) and item.car in cars}
    items: list[Item] = []
    for item in puzzle.work.items:
        if isinstance(item, Train):
            home = dropped & came_with(puzzle, item.locomotive)
            items.append(_with_cars(item, (item.cars - frozenset(cars)) | home))
        elif not (isinstance(item, EndsIn) and item.car in dropped):
            items.append(item)
    return replace(puzzle, work=Work(tuple(items)))


def _with_cars(train: Train, cars: frozenset[str]) -> Train:
    """The train with these cars, in the blocks that it has; those of no block come last."""
    blocks = tuple(block & cars for block in train.blocks if block & cars)
    return replace(train, cars=cars, blocks=blocks, last=train.last if train.last in cars else None)


def absent(puzzle: Puzzle, car: str) -> Puzzle:
    """The set-up with ``car`` nowhere: neither on the rails nor in the work.

    What stood on both sides of it is coupled, if it was coupled to it, and stands where it did otherwise.
    """
    strings = tuple(less for string in puzzle.start.strings if (less := _less(puzzle, string, car)).vehicles)
    items: list[Item] = []
    for item in puzzle.work.items:
        if isinstance(item, Train):
            items.append(_with_cars(item, item.cars - {car}))
        elif getattr(item, "car", None) != car:
            items.append(item)
    return replace(
        puzzle,
        cars=tuple(one for one in puzzle.cars if one.name != car),
        start=replace(puzzle.start, strings=strings),
        work=Work(tuple(items)),
    )


def _less(puzzle: Puzzle, string: StartString, car: str) -> StartString:
    """The string without the car; what follows it closes up to what stands before it."""
    if car not in string.vehicles:
        return string
    at = string.fixed_at
    if at is not None and string.vehicles[0] == car:
        at += puzzle.vehicles[car].length
    return replace(
        string,
        vehicles=tuple(name for name in string.vehicles if name != car),
        spots={name: spot for name, spot in string.spots.items() if name != car},
        fixed_at=at,
    )
