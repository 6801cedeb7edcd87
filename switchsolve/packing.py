"""The one room that translates: a set-up by names becomes plain integers for rules and searches.

* A **cell** is an index 0..n-1.  A do-not-touch car is rail that is not there: the part it stands on is
  packed as the pieces left and right of it, each a cell that ends as at a bumper.
* A **way** is ``2 * cell`` (from ``from`` to ``to``) or ``2 * cell + 1`` (the other way); ``way ^ 1`` turns
  it round.
* A **token** stands for a vehicle in a standing: ``2 * class + nose`` with nose 1 for a locomotive whose
  front points against the order in which the string is listed, else 0.  Cars with the same length, kind and
  items share a class.  A vehicle that stands on a keep-clear part at the start has a class of its own until
  it first moves, then it becomes ``moved[class]``.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property, partial

from switchsolve.district import Cell, District, Junction, KeepClear, Limits, Track, Way
from switchsolve.puzzle import Puzzle
from switchsolve.vehicles import Car, Locomotive
from switchsolve.work import AnyCars, DoNotTouch, EndsIn, Free, LocomotiveEnds, Place, Train

__all__ = ["CarClass", "PackedCell", "PackedPuzzle", "PackedTrain", "pack"]


@dataclass(frozen=True, slots=True)
class PackedCell:
    """A cell, or the piece of it from ``start`` on that a do-not-touch car leaves free."""

    cell: Cell
    start: int
    length: int
    closed_from: bool
    """Whether its ``from`` end is a do-not-touch car."""
    closed_to: bool
    is_junction: bool
    no_locomotives: bool
    barred: frozenset[str]
    keep_clear: KeepClear
    limits: Limits


@dataclass(frozen=True, slots=True)
class CarClass:
    """What one class of vehicles has in common.

    ``places``: where it may end (empty: no such demand).  ``train``: index of the train it leaves with, or
    -1; ``block``: its block there, or -1. ``any_of``: index into ``PackedPuzzle.any_cars`` for which it is
    a candidate, or -1 (then ``places`` are those of its hold).
    """

    length: int
    is_locomotive: bool
    counts_as_car: bool
    loco_like: bool
    kind: str
    rear_only: bool = False
    places: tuple[Place, ...] = ()
    free: bool = False
    train: int = -1
    block: int = -1
    is_last: bool = False
    any_of: int = -1
    locomotive: int = -1
    exempt: bool = False


@dataclass(frozen=True, slots=True)
class PackedTrain:
    """A departing train: its locomotive's index, its track, how many cars, and how it is made up."""

    locomotive: int
    track: str
    cars: int
    locomotive_at: str | None
    blocks: tuple[int, ...]
    """Number of cars in each block, from the locomotive outwards."""
    has_last: bool


@dataclass(frozen=True)
class PackedPuzzle:
    """All that rules and searches need, by number."""

    puzzle: Puzzle
    cells: tuple[PackedCell, ...]
    classes: tuple[CarClass, ...]
    moved: tuple[int, ...]
    """The class that a class becomes once moved (itself, but for exempt ones)."""
    class_of: dict[str, int]
    any_cars: tuple[AnyCars, ...]
    trains: tuple[PackedTrain, ...]
    locomotive_ends: tuple[LocomotiveEnds, ...]
    loco_names: tuple[str, ...]
    start_last: tuple[int, ...]
    """Per locomotive +1 (under way forward), -1 (back) or 0 (stands)."""
    start_lined: tuple[int, ...]
    unmoved: Mapping[tuple[int, str], int] = field(default_factory=dict)
    """With ``starts_anywhere``: by class and track, the class that a car has there until it first moves (left
    out where that is the class itself)."""
    _ahead: dict[tuple[int, tuple[int, ...]], tuple[int, ...]] = field(default_factory=dict, repr=False)

    @cached_property
    def lengths(self) -> tuple[int, ...]:
        """Length of each cell, grid units."""
        return tuple(cell.length for cell in self.cells)

    @cached_property
    def token_lengths(self) -> tuple[int, ...]:
        """Length of the vehicle behind each token, grid units."""
        return tuple(self.classes[token >> 1].length for token in range(2 * len(self.classes)))

    @cached_property
    def is_loco(self) -> tuple[bool, ...]:
        """By token: whether it is a live locomotive."""
        return tuple(self.classes[token >> 1].is_locomotive for token in range(2 * len(self.classes)))

    @cached_property
    def loco_index(self) -> tuple[int, ...]:
        """By token: which locomotive (index into ``loco_names``), or -1."""
        return tuple(self.classes[token >> 1].locomotive for token in range(2 * len(self.classes)))

    @cached_property
    def conflicts(self) -> tuple[tuple[int, ...], ...]:
        """By cell: the cells that may not be entered while it is touched."""
        district = self.puzzle.district
        near: dict[str, list[int]] = {}  # cells of one place, for others do not exclude each other
        for number, cell in enumerate(self.cells):
            near.setdefault(cell.cell.place, []).append(number)
        return tuple(
            tuple(j for j in near[one.cell.place] if district.conflicts(one.cell, self.cells[j].cell))
            for one in self.cells
        )

    @cached_property
    def may_touch(self) -> tuple[tuple[bool, ...], ...]:
        """``may_touch[cell][token]``: whether that vehicle is allowed on that cell."""
        return tuple(
            tuple(self._allowed(cell, self.classes[token >> 1]) for token in range(2 * len(self.classes)))
            for cell in self.cells
        )

    @cached_property
    def all_may_touch(self) -> tuple[bool, ...]:
        """By cell: whether every vehicle is allowed there."""
        return tuple(all(row) for row in self.may_touch)

    @staticmethod
    def _allowed(cell: PackedCell, what: CarClass) -> bool:
        if cell.no_locomotives and what.loco_like:
            return False
        return what.kind not in cell.barred

    @cached_property
    def keep_clear_always(self) -> tuple[int, ...]:
        """Cells to be kept clear at every reversal and at the end."""
        return tuple(i for i, cell in enumerate(self.cells) if cell.keep_clear is KeepClear.ALWAYS)

    @cached_property
    def keep_clear_at_end(self) -> tuple[int, ...]:
        """Cells to be kept clear at the end (the always ones among them)."""
        return tuple(i for i, cell in enumerate(self.cells) if cell.keep_clear is not KeepClear.NO)

    @cached_property
    def limited(self) -> tuple[int, ...]:
        """Cells that have limits of their own."""
        return tuple(i for i, cell in enumerate(self.cells) if cell.limits)

    @cached_property
    def has_limits(self) -> bool:
        """Whether any limit holds anywhere."""
        return bool(self.limited) or bool(self.puzzle.district.limits)

    @cached_property
    def has_exempt(self) -> bool:
        """Whether a vehicle stands on a keep-clear part at the start."""
        return any(what.exempt for what in self.classes)

    @cached_property
    def pieces(self) -> dict[Cell, tuple[int, ...]]:
        """The packed cells of each cell, from ``from`` to ``to``."""
        found: dict[Cell, list[int]] = {}
        for i, cell in enumerate(self.cells):
            found.setdefault(cell.cell, []).append(i)
        return {cell: tuple(indexes) for cell, indexes in found.items()}

    @cached_property
    def cells_of_track(self) -> dict[str, frozenset[int]]:
        """The packed cells of each track or table."""
        found: dict[str, set[int]] = {}
        for i, cell in enumerate(self.cells):
            found.setdefault(cell.cell.place, set()).add(i)
        return {name: frozenset(indexes) for name, indexes in found.items()}

    @cached_property
    def track_start(self) -> tuple[int, ...]:
        """By cell: how far from its track's (route's, table's) ``from`` end it begins, grid units."""
        starts = []
        for cell in self.cells:
            place = self.puzzle.district.place(cell.cell.place)
            before = place.parts[: cell.cell.index] if isinstance(place, Track) else ()
            starts.append(sum(part.length for part in before) + cell.start)
        return tuple(starts)

    def way_of(self, way: int) -> Way:
        """The way by name."""
        return Way(self.cells[way >> 1].cell, -1 if way & 1 else 1)

    def ahead(self, way: int, lined: tuple[int, ...]) -> tuple[int, ...]:
        """The ways that follow ``way`` with the tables lined so."""
        key = (way, lined)
        found = self._ahead.get(key)
        if found is None:
            found = self._ahead[key] = self._find_ahead(way, lined)
        return found

    @cached_property
    def table_cells(self) -> frozenset[int]:
        """The packed cells of all tables."""
        tables = self.puzzle.district.tables
        return frozenset().union(*(self.cells_of_track.get(table.name, frozenset()) for table in tables))

    @cached_property
    def ways_on(self) -> tuple[tuple[int, ...], ...]:
        """By way: the ways that follow it, each table lined as one likes (no table meets another)."""
        tables = self.puzzle.district.tables
        linings = [
            tuple(index if other == number else 0 for other in range(len(tables)))
            for number, table in enumerate(tables)
            for index in range(len(table.meets))
        ] or [()]
        ways = range(2 * len(self.cells))
        return tuple(
            tuple(dict.fromkeys(one for lined in linings for one in self.ahead(way, lined))) for way in ways
        )

    def beyond(self, ways: Sequence[int]) -> tuple[int, ...]:
        """The ways that a row of cells may be carried on into.

        None where it has come on to a table: that is lined on with everything at rest and nothing over its
        edge, and then a row begins on it.
        """
        return () if len(ways) > 1 and ways[-1] >> 1 in self.table_cells else self.ways_on[ways[-1]]

    def _find_ahead(self, way: int, lined: tuple[int, ...]) -> tuple[int, ...]:
        here = self.cells[way >> 1]
        if here.closed_from if way & 1 else here.closed_to:
            return ()
        tables = self.puzzle.district.tables
        by_name = {table.name: lined[i] for i, table in enumerate(tables)}
        following = []
        for following_way in self.puzzle.district.ahead(self.way_of(way), by_name):
            pieces = self.pieces.get(following_way.cell, ())
            if not pieces:
                continue
            piece = pieces[0] if following_way.sign > 0 else pieces[-1]
            entered = self.cells[piece]
            at_edge = (
                entered.start == 0
                if following_way.sign > 0
                else entered.start + entered.length == self.puzzle.district.cell_length(entered.cell)
            )
            if at_edge:
                following.append(2 * piece + (following_way.sign < 0))
        return tuple(following)


def _fixed_spans(puzzle: Puzzle) -> dict[Cell, list[tuple[int, int]]]:
    """Where do-not-touch cars lie, as intervals of each cell."""
    untouchable = {item.car for item in puzzle.work.items if isinstance(item, DoNotTouch)}
    spans: dict[Cell, list[tuple[int, int]]] = {}
    for string in puzzle.start.strings:
        if string.vehicles[0] not in untouchable:
            continue
        if string.fixed_at is None:
            raise ValueError(f"do-not-touch car {string.vehicles[0]!r} has no fixed place")
        low = string.fixed_at
        high = low + puzzle.vehicles[string.vehicles[0]].length
        place = puzzle.district.place(string.track)
        parts = place.parts if isinstance(place, Track) else ()
        begin = 0
        for index, part in enumerate(parts):
            inside = (max(low, begin), min(high, begin + part.length))
            if inside[0] < inside[1]:
                spans.setdefault(Cell(string.track, index), []).append((inside[0] - begin, inside[1] - begin))
            begin += part.length
    return spans


def _pack_cells(puzzle: Puzzle) -> tuple[PackedCell, ...]:
    district = puzzle.district
    fixed = _fixed_spans(puzzle)
    packed = []
    for cell in district.cells():
        length = district.cell_length(cell)
        begin = 0
        for low, high in [*sorted(fixed.get(cell, [])), (length, length)]:
            if low > begin:
                packed.append(_piece(district, cell, begin, low, length))
            begin = high
    return tuple(packed)


def _piece(district: District, cell: Cell, begin: int, end: int, length: int) -> PackedCell:
    marks = district.cell_marks(cell)
    return PackedCell(
        cell=cell,
        start=begin,
        length=end - begin,
        closed_from=begin > 0,
        closed_to=end < length,
        is_junction=isinstance(district.place(cell.place), Junction),
        no_locomotives=marks.no_locomotives,
        barred=marks.barred,
        keep_clear=marks.keep_clear,
        limits=marks.limits,
    )


def _starting_places(puzzle: Puzzle) -> dict[str, Place]:
    return {
        name: Place(string.track, string.spots.get(name))
        for string in puzzle.start.strings
        for name in string.vehicles
    }


def _class_of_car(
    puzzle: Puzzle, car: Car, where: Place, any_cars: tuple[AnyCars, ...], exempt: bool
) -> CarClass:
    kinds_that_matter = {
        kind for cell in puzzle.district.cells() for kind in puzzle.district.cell_marks(cell).barred
    }
    item = puzzle.work.of_car(car.name)
    places: tuple[Place, ...] = (where,)
    train, block, is_last, any_of = -1, -1, False, -1
    trains = [item for item in puzzle.work.items if isinstance(item, Train)]
    if isinstance(item, EndsIn):
        places = tuple(sorted(item.places, key=lambda place: (place.track, place.spot or "")))
    elif isinstance(item, Free):
        places = ()
    elif isinstance(item, Train):
        places = ()
        train = trains.index(item)
        block = next((i for i, names in enumerate(item.blocks) if car.name in names), -1)
        is_last = item.last == car.name
    elif item is None:
        any_of = next((i for i, wanted in enumerate(any_cars) if wanted.kind == car.kind), -1)
    return CarClass(
        length=car.length,
        is_locomotive=False,
        counts_as_car=True,
        loco_like=car.is_dead_locomotive,
        kind=car.kind if car.kind in kinds_that_matter else "",
        places=places,
        free=isinstance(item, Free),
        train=train,
        block=block,
        is_last=is_last,
        any_of=any_of,
        exempt=exempt,
    )


def _class_of_locomotive(loco: Locomotive, index: int, exempt: bool) -> CarClass:
    return CarClass(
        length=loco.length,
        is_locomotive=True,
        counts_as_car=False,
        loco_like=True,
        kind=loco.kind,
        rear_only=loco.rear_only,
        locomotive=index,
        exempt=exempt,
    )


def pack(puzzle: Puzzle, *, starts_anywhere: bool = False) -> PackedPuzzle:
    """Translate a set-up.  Raises ``ValueError`` for a set-up that no reader would let through.

    ``starts_anywhere``: have classes ready for cars that start in other tracks than the file says.
    """
    cells = _pack_cells(puzzle)
    untouchable = {item.car for item in puzzle.work.items if isinstance(item, DoNotTouch)}
    any_cars = tuple(item for item in puzzle.work.items if isinstance(item, AnyCars))
    where = _starting_places(puzzle)
    exempt_there = _exempt_tracks(cells)
    classes: list[CarClass] = []
    class_of: dict[str, int] = {}
    moved: list[int] = []

    def number(what: CarClass) -> int:
        if what in classes:
            return classes.index(what)
        classes.append(what)
        moved.append(len(classes) - 1)
        return len(classes) - 1

    for name, make in _makers(puzzle, where, any_cars, untouchable):
        exempt = _may_be_exempt(where[name].track, make(False), exempt_there, any_cars)
        class_of[name] = number(make(exempt))
        if exempt:
            moved[class_of[name]] = number(make(False))
    unmoved: dict[tuple[int, str], int] = {}
    if starts_anywhere:
        for _, make in _makers(puzzle, where, any_cars, untouchable):
            for track in exempt_there:
                if _may_be_exempt(track, make(False), exempt_there, any_cars):
                    base, fresh = number(make(False)), number(make(True))
                    moved[fresh] = base
                    unmoved[base, track] = fresh
    names = tuple(loco.name for loco in puzzle.locomotives)
    return PackedPuzzle(
        puzzle=puzzle,
        cells=cells,
        classes=tuple(classes),
        moved=tuple(moved),
        class_of=class_of,
        any_cars=any_cars,
        trains=tuple(
            PackedTrain(
                locomotive=names.index(item.locomotive),
                track=item.track,
                cars=len(item.cars),
                locomotive_at=item.locomotive_at,
                blocks=tuple(len(block) for block in item.blocks),
                has_last=item.last is not None,
            )
            for item in puzzle.work.items
            if isinstance(item, Train)
        ),
        locomotive_ends=tuple(item for item in puzzle.work.items if isinstance(item, LocomotiveEnds)),
        loco_names=names,
        start_last=tuple(
            0
            if name not in puzzle.start.under_way
            else (1 if puzzle.start.under_way[name] == puzzle.start.heads[name] else -1)
            for name in names
        ),
        start_lined=tuple(table.lined for table in puzzle.district.tables),
        unmoved=unmoved,
    )


def _exempt_tracks(cells: tuple[PackedCell, ...]) -> dict[str, KeepClear]:
    """The tracks with a part to be kept clear; in both forms, "always" counts."""
    found: dict[str, KeepClear] = {}
    for cell in cells:
        if cell.keep_clear is KeepClear.ALWAYS or (
            cell.keep_clear is KeepClear.AT_END and cell.cell.place not in found
        ):
            found[cell.cell.place] = cell.keep_clear
    return found


def _may_be_exempt(
    track: str, what: CarClass, there: dict[str, KeepClear], any_cars: tuple[AnyCars, ...]
) -> bool:
    """Whether it matters that a vehicle has not moved yet from a track with a part to be kept clear.

    Not for a locomotive, which may stand there, nor for a car that must leave the track where that is to be
    kept clear at the end only.
    """
    if what.is_locomotive or track not in there:
        return False
    if there[track] is KeepClear.ALWAYS or what.free:
        return True
    ends = {place.track for place in what.places}
    if what.any_of >= 0:
        ends.add(any_cars[what.any_of].place.track)
    return track in ends


def _makers(
    puzzle: Puzzle, where: dict[str, Place], any_cars: tuple[AnyCars, ...], untouchable: set[str]
) -> Iterator[tuple[str, Callable[[bool], CarClass]]]:
    """Pairs of a vehicle's name and the function that makes its class, exempt or not."""
    for car in puzzle.cars:
        if car.name not in untouchable:
            yield car.name, partial(_class_of_car, puzzle, car, where[car.name], any_cars)
    for index, loco in enumerate(puzzle.locomotives):
        yield loco.name, partial(_class_of_locomotive, loco, index)
