"""The work as a crew reads it: one section for each kind of item, one row for each car."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from enum import StrEnum

from switchsolve.drawing import Schematic
from switchsolve.paper.sides import direction_text, end_text, is_from_left, rank_text
from switchsolve.puzzle import Puzzle, StartString
from switchsolve.vehicles import Car
from switchsolve.words import counted
from switchsolve.work import AnyCars, DoNotTouch, EndsIn, Free, Hold, LocomotiveEnds, Train

__all__ = ["LocomotiveRow", "Row", "Section", "Sign", "locomotive_rows", "sections_of", "train_texts"]


class Sign(StrEnum):
    """How a car is marked, by word and by shape."""

    NONE = ""
    HOLD = "hold"
    DO_NOT_TOUCH = "do not touch"


@dataclass(frozen=True, slots=True)
class Row:
    """One car: what it is, where it stands, which one of its row it is, and where it goes."""

    car: str
    kind: str
    stands: str
    rank: str
    goes: str


@dataclass(frozen=True, slots=True)
class Section:
    """Cars with the same kind of item.  ``note`` says what holds for all of them."""

    heading: str
    note: str
    rows: tuple[Row, ...]
    sign: Sign = Sign.NONE

    @property
    def has_ticks(self) -> bool:
        """Whether there is something to tick off."""
        return self.sign is not Sign.DO_NOT_TOUCH


@dataclass(frozen=True, slots=True)
class LocomotiveRow:
    """A locomotive: where it stands and heads, and how it ends."""

    name: str
    stands: str
    rank: str
    heads: str
    ends: str


# ---- where vehicles stand


def _strings(puzzle: Puzzle, name: str) -> tuple[list[str], StartString]:
    """The whole row on the track of a vehicle, and its own string."""
    own = next(string for string in puzzle.start.strings if name in string.vehicles)
    row = [
        vehicle for string in puzzle.start.strings if string.track == own.track for vehicle in string.vehicles
    ]
    return row, own


def _stands(puzzle: Puzzle, name: str) -> str:
    _, own = _strings(puzzle, name)
    return f"{own.track}, {own.spots[name]}" if name in own.spots else own.track


def _rank(puzzle: Puzzle, ground: Schematic, name: str) -> str:
    row, own = _strings(puzzle, name)
    return rank_text(ground, own.track, row.index(name), len(row))


def _in_order(puzzle: Puzzle, ground: Schematic) -> list[Car]:
    """Every car, track by track, on each from left to right."""
    cars = {car.name: car for car in puzzle.cars}
    tracks: dict[str, list[str]] = {}
    for string in puzzle.start.strings:
        tracks.setdefault(string.track, []).extend(string.vehicles)
    rows = (row[::-1] if is_from_left(ground, track) is False else row for track, row in tracks.items())
    return [cars[name] for row in rows for name in row if name in cars]


# ---- cars


def sections_of(puzzle: Puzzle, ground: Schematic) -> list[Section]:
    """Every car once, under the kind of its item."""
    cars = _in_order(puzzle, ground)
    found = [*_trains(puzzle, ground, cars), *_ends(puzzle, ground, cars), *_any(puzzle, ground, cars)]
    taken = {row.car for section in found for row in section.rows}
    left = [car for car in cars if car.name not in taken]
    for heading, note, kind, sign in _STAYING:
        of_kind = [car for car in left if isinstance(puzzle.work.of_car(car.name) or Hold(car.name), kind)]
        goes = "anywhere in the clear" if kind is Free else ""
        rows = [
            _row(puzzle, ground, car, goes or f"{_back(sign)} {_stands(puzzle, car.name)}") for car in of_kind
        ]
        found.append(Section(heading, note, tuple(rows), sign))
    return [section for section in found if section.rows]


_STAYING = (
    ("Leave anywhere", "In the clear: off every turnout and other junction.", Free, Sign.NONE),
    ("Hold", "May be moved meanwhile; must be back in its place at the end.", Hold, Sign.HOLD),
    ("Do not touch", "Never move it or couple to it.", DoNotTouch, Sign.DO_NOT_TOUCH),
)


def _back(sign: Sign) -> str:
    return "stays at" if sign is Sign.DO_NOT_TOUCH else "back to"


def _row(puzzle: Puzzle, ground: Schematic, car: Car, goes: str) -> Row:
    kind = f"{car.kind}, dead locomotive" if car.is_dead_locomotive else car.kind
    return Row(car.name, kind, _stands(puzzle, car.name), _rank(puzzle, ground, car.name), goes)


def _trains(puzzle: Puzzle, ground: Schematic, cars: Sequence[Car]) -> Iterator[Section]:
    for item in puzzle.work.items:
        if isinstance(item, Train):
            goes = f"leaves with {item.locomotive}"
            rows = [_row(puzzle, ground, car, goes) for car in cars if car.name in item.cars]
            yield Section(
                "Pick up", f"For the train that leaves from {item.track}; its order is below.", tuple(rows)
            )


def _ends(puzzle: Puzzle, ground: Schematic, cars: Sequence[Car]) -> Iterator[Section]:
    one: list[Row] = []
    several: list[Row] = []
    for car in cars:
        item = puzzle.work.of_car(car.name)
        if isinstance(item, EndsIn):
            places = [f"{place.track}, {place.spot}" if place.spot else place.track for place in item.places]
            (one if len(places) == 1 else several).append(_row(puzzle, ground, car, " or ".join(places)))
    yield Section("Spot", "", tuple(one))
    yield Section("Set out, the crew chooses", "Any one of the places named.", tuple(several))


def _any(puzzle: Puzzle, ground: Schematic, cars: Sequence[Car]) -> Iterator[Section]:
    items = [item for item in puzzle.work.items if isinstance(item, AnyCars)]
    for kind in dict.fromkeys(item.kind for item in items):
        wanted = [item for item in items if item.kind == kind]
        candidates = [car for car in cars if car.kind == kind and puzzle.work.of_car(car.name) is None]
        spare = len(candidates) - sum(item.count for item in wanted)
        note = f"{'; '.join(f'{item.count} to {item.place}' for item in wanted)}: whichever they are."
        if spare > 0:
            note += f" {counted(spare, 'car')} of these cannot go: back to where it stands now."
        goes = " or ".join(dict.fromkeys(str(item.place) for item in wanted))
        rows = [
            _row(
                puzzle, ground, car, f"{goes}, or back to {_stands(puzzle, car.name)}" if spare > 0 else goes
            )
            for car in candidates
        ]
        yield Section(f"Any {kind}", note, tuple(rows))


# ---- trains and locomotives


def train_texts(puzzle: Puzzle, ground: Schematic) -> list[list[str]]:
    """For each train that leaves what must be true of it, in sentences."""
    return [_train(ground, item) for item in puzzle.work.items if isinstance(item, Train)]


def _train(ground: Schematic, item: Train) -> list[str]:
    with_cars = f" with {_names(sorted(item.cars))}" if item.cars else ""
    texts = [f"{item.locomotive} leaves from {item.track}{with_cars}, and with nothing else."]
    if item.locomotive_at is not None:
        texts.append(f"The locomotive is at {end_text(ground, item.track, item.locomotive_at)} of the train.")
    if item.blocks:
        blocks = "; then ".join(_names(sorted(block)) for block in item.blocks)
        texts.append(f"Blocks, in order from the locomotive outwards: {blocks}.")
    if item.last is not None:
        texts.append(f"Last, at the end away from the locomotive: {item.last}.")
    if item.cars and not item.blocks:
        others = item.cars - {item.last}
        texts.append("All other cars in any order." if item.last is not None and len(others) > 1 else "")
        texts.append("In any order." if item.last is None and len(others) > 1 else "")
    return [text for text in texts if text]


def _names(names: Sequence[str]) -> str:
    return ", ".join(names[:-1]) + (" and " if len(names) > 1 else "") + names[-1]


def locomotive_rows(puzzle: Puzzle, ground: Schematic) -> list[LocomotiveRow]:
    """Every locomotive."""
    return [
        LocomotiveRow(
            one.name,
            _stands(puzzle, one.name),
            _rank(puzzle, ground, one.name),
            _heading(puzzle, ground, one.name),
            _locomotive_ends(puzzle, ground, one.name),
        )
        for one in puzzle.locomotives
    ]


def _heading(puzzle: Puzzle, ground: Schematic, name: str) -> str:
    track = _strings(puzzle, name)[1].track
    heads = direction_text(ground, track, puzzle.start.heads[name])
    if name not in puzzle.start.under_way:
        return heads
    return f"{heads}; under way {direction_text(ground, track, puzzle.start.under_way[name])}"


def _locomotive_ends(puzzle: Puzzle, ground: Schematic, name: str) -> str:
    texts = []
    for item in puzzle.work.items:
        if isinstance(item, Train) and item.locomotive == name:
            texts.append(f"on {item.track}, with its train")
        if isinstance(item, LocomotiveEnds) and item.locomotive == name:
            texts.append(_ending(ground, item))
    return "; ".join(text for text in texts if text) or "anywhere"


def _ending(ground: Schematic, item: LocomotiveEnds) -> str:
    where = f"on {item.track}" if item.track is not None else ""
    if item.heads is None or item.track is None:
        return where
    return f"{where}, heads {direction_text(ground, item.track, item.heads)}"
