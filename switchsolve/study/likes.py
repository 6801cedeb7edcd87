"""Set-ups that are the same but for names: such a one is solved once in a study."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from hashlib import sha256

from switchsolve.puzzle import DrawingHints, Puzzle, Standards, StartString
from switchsolve.puzzlefile import dumps
from switchsolve.vehicles import Car
from switchsolve.work import EndsIn, Item, Train, Work

__all__ = ["key_of", "nameless"]


def nameless(puzzle: Puzzle) -> tuple[Puzzle, dict[str, str]]:
    """The set-up of a session with its cars numbered as they stand, and without what solving does not need;
    and the name of each numbered car.
    """
    row = [name for string in puzzle.start.strings for name in string.vehicles]
    cars = {car.name: car for car in puzzle.cars}
    number = {name: f"car {place}" for place, name in enumerate(name for name in row if name in cars)}
    plain = replace(
        puzzle,
        cars=tuple(Car(number[name], cars[name].length, cars[name].kind) for name in number),
        start=replace(
            puzzle.start, strings=tuple(_renamed(string, number) for string in puzzle.start.strings)
        ),
        work=Work(tuple(sorted((_item(item, number) for item in puzzle.work.items), key=repr))),
        title="",
        standards=Standards(),
        drawing=DrawingHints(),
    )
    return plain, {new: old for old, new in number.items()}


def key_of(puzzle: Puzzle) -> str:
    """A text that two set-ups share only if they say the same, whatever variants they have."""
    return sha256(dumps(replace(puzzle, variants=())).encode()).hexdigest()


def _renamed(string: StartString, number: Mapping[str, str]) -> StartString:
    """A string with its cars renamed."""
    return replace(
        string,
        vehicles=tuple(number.get(name, name) for name in string.vehicles),
        spots={number.get(name, name): spot for name, spot in string.spots.items()},
    )


def _item(item: Item, number: Mapping[str, str]) -> Item:
    """An item with its cars renamed."""
    if isinstance(item, EndsIn):
        return replace(item, car=number[item.car])
    if isinstance(item, Train):
        return replace(item, cars=frozenset(number[car] for car in item.cars))
    raise ValueError(f"no session has an item such as {item}")
