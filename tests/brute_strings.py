"""Rail in units, and vehicles in sorts, for the brute force; for tests only.

A unit is one grid unit of rail.  A unit run along its cell (``+1``) is ``2 * unit``, against it
``2 * unit + 1``.  A vehicle is one whole number too, see :func:`code_of`.  Sets of units are bit masks.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import product

from switchsolve.district import Cell, District, Way
from switchsolve.puzzle import Puzzle
from switchsolve.vehicles import Car, Locomotive
from switchsolve.work import AnyCars, DoNotTouch, EndsIn, Free, Hold, LocomotiveEnds, Place, Train

__all__ = ["BACK", "FORWARD", "Rail", "Sort", "SortedWork", "code_of"]

FORWARD, BACK = 1, 2
"""Directions of a locomotive's motion, seen from itself; 0: none yet."""


class Rail:
    """The track plan chopped into units."""

    def __init__(self, district: District) -> None:
        self.first: dict[Cell, int] = {}
        self.cell: list[Cell] = []
        for cell in district.cells():
            self.first[cell] = len(self.cell)
            self.cell += [cell] * district.cell_length(cell)
        self.place = [cell.place for cell in self.cell]
        self.on_junction = [any(j.name == name for j in district.junctions) for name in self.place]
        self.marks = [district.cell_marks(cell) for cell in self.cell]
        self.offset = [unit - self.first[Cell(cell.place, 0)] for unit, cell in enumerate(self.cell)]
        self.linings = list(product(*(range(len(table.meets)) for table in district.tables)))
        self.tables = [table.name for table in district.tables]
        self.following = [self._following(district, lining) for lining in self.linings]
        self.entering = [self._entering(district, cell) for cell in self.cell]
        for unit in range(len(self.cell)):
            self.entering[unit] |= 1 << unit

    def _following(self, district: District, lining: tuple[int, ...]) -> list[tuple[int, ...]]:
        """For each directed unit, the directed units that can come next, tables lined so."""
        lined = dict(zip(self.tables, lining, strict=True))
        following: list[tuple[int, ...]] = []
        for unit, cell in enumerate(self.cell):
            for sign in (1, -1):
                beside = unit + sign
                if 0 <= beside < len(self.cell) and self.cell[beside] == cell:
                    following.append((2 * beside + (sign < 0),))
                else:
                    ways = district.ahead(Way(cell, sign), lined)
                    following.append(tuple(self._start_of(district, way) for way in ways))
        return following

    def _start_of(self, district: District, way: Way) -> int:
        first = self.first[way.cell]
        return 2 * first if way.sign > 0 else 2 * (first + district.cell_length(way.cell) - 1) + 1

    def _entering(self, district: District, cell: Cell) -> int:
        """Mask of the units where nothing may stand while ``cell`` is entered."""
        return sum(1 << unit for unit, other in enumerate(self.cell) if district.conflicts(other, cell))


@dataclass(frozen=True)
class Sort:
    """Vehicles that are interchangeable: the same length, kind and items (a locomotive: itself)."""

    length: int
    kind: str
    live: str = ""
    dead: bool = False
    rear_only: bool = False
    fixed: str = ""
    places: tuple[Place, ...] = ()
    """One of these at the end; empty: anywhere in the clear, or as its train says."""
    candidate: bool = False
    """Taken by an AnyCars or back at ``places``."""
    train: int = -1
    block: int = -1
    last: bool = False


def code_of(sort: int, nose: int, direction: int, unmoved: bool) -> int:
    """A vehicle in a string.

    ``nose`` 0: its front points along the string's units.  ``direction``: of a locomotive's last motion
    (0 none). ``unmoved``: not moved since the start, and it may have started on rail that is to be kept
    clear.
    """
    return sort * 16 + unmoved * 8 + direction * 2 + nose


class SortedWork:
    """Sorts of vehicles, and whether a string at rest is as the work wants it."""

    def __init__(self, puzzle: Puzzle) -> None:
        self.puzzle = puzzle
        self.items = puzzle.work.items
        self.trains = [item for item in self.items if isinstance(item, Train)]
        self.any_cars = [item for item in self.items if isinstance(item, AnyCars)]
        self.ends = {item.locomotive: item for item in self.items if isinstance(item, LocomotiveEnds)}
        self.start = {name: string for string in puzzle.start.strings for name in string.vehicles}
        self.sorts: list[Sort] = []
        self.sort_of: dict[str, int] = {}
        for vehicle in puzzle.vehicles.values():
            sort = self._car(vehicle) if isinstance(vehicle, Car) else self._locomotive(vehicle)
            if sort not in self.sorts:
                self.sorts.append(sort)
            self.sort_of[vehicle.name] = self.sorts.index(sort)

    def _locomotive(self, locomotive: Locomotive) -> Sort:
        train = [index for index, train in enumerate(self.trains) if train.locomotive == locomotive.name]
        return Sort(locomotive.length, locomotive.kind, live=locomotive.name, rear_only=locomotive.rear_only,
                     train=train[0] if train else -1)  # fmt: skip

    def _car(self, car: Car) -> Sort:
        item = self.puzzle.work.of_car(car.name)
        plain = Sort(car.length, car.kind, dead=car.is_dead_locomotive)
        match item:
            case DoNotTouch():
                return Sort(**(plain.__dict__ | {"fixed": car.name}))
            case Free():
                return plain
            case EndsIn(_, places):
                return Sort(**(plain.__dict__ | {"places": tuple(sorted(set(places), key=str))}))
            case Train():
                block = [index for index, block in enumerate(item.blocks) if car.name in block]
                member = {"train": self.trains.index(item), "last": item.last == car.name}
                return Sort(**(plain.__dict__ | member | {"block": block[0] if block else len(item.blocks)}))
        start = self.start[car.name]
        candidate = item is None and any(item.kind == car.kind for item in self.any_cars)
        home = (Place(start.track, start.spots.get(car.name)),)
        assert item is None or isinstance(item, Hold)
        return Sort(**(plain.__dict__ | {"places": home, "candidate": candidate}))
