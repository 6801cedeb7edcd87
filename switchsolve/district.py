"""The track plan: tracks and their parts, junctions, tables, and how they are linked.

Everything here speaks railroad and holds no position of any vehicle.  All lengths are whole numbers
on one grid (see :mod:`switchsolve.lengths`); a caller may use any grid it likes, as long as vehicles
use the same one.

The smallest pieces of rail are **cells**: a part of a track, one route of a junction, or a table.
A :class:`Cell` names one; a :class:`Way` is a cell together with the direction in which it is run.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from enum import StrEnum

__all__ = [
    "Cell",
    "District",
    "End",
    "Junction",
    "KeepClear",
    "Limits",
    "Marks",
    "Part",
    "Route",
    "Spot",
    "Table",
    "Track",
    "Way",
]


class KeepClear(StrEnum):
    """When what touches a piece of rail must be coupled to a locomotive."""

    NO = "no"
    AT_END = "at the end"
    ALWAYS = "always"
    """At every reversal and at the end."""


@dataclass(frozen=True, slots=True)
class Limits:
    """Limits on the moving string.  Locomotives never count (a dead one is a car).

    ``most_cars``: cars in the moving string.  ``longest``: their length together, grid units.
    ``most_shoved``: cars ahead of the locomotive that runs.  ``None`` means no limit.
    """

    most_cars: int | None = None
    longest: int | None = None
    most_shoved: int | None = None

    def __bool__(self) -> bool:
        return (self.most_cars, self.longest, self.most_shoved) != (None, None, None)


@dataclass(frozen=True, slots=True)
class Marks:
    """What is special about a part, a junction or a table.

    ``limits`` hold while any of the moving string touches the piece: a run that would enter it with
    too much, or couple to too much while touching it, stops short.
    """

    no_locomotives: bool = False
    """Cars may be shoved in; no live locomotive may stand or run there (a dead one may not either)."""
    barred: frozenset[str] = frozenset()
    """Kinds of car that may not touch this piece."""
    keep_clear: KeepClear = KeepClear.NO
    limits: Limits = Limits()


@dataclass(frozen=True, slots=True)
class Part:
    """A piece of a track between two seams.  ``length`` in grid units, above zero."""

    length: int
    marks: Marks = Marks()
    name: str = ""


@dataclass(frozen=True, slots=True)
class Spot:
    """A numbered place (door) for one car: the point ``at`` grid units from the track's ``from`` end.

    A car is at the spot when the point lies within the car, couplers (and allowance) included.
    """

    name: str
    at: int


@dataclass(frozen=True, slots=True)
class Track:
    """A track with the two ends ``from`` and ``to``; ``parts`` in order from ``from`` to ``to``.

    ``entrances`` holds those of its ends beyond which the rest of the layout lies.
    """

    name: str
    parts: tuple[Part, ...]
    spots: tuple[Spot, ...] = ()
    entrances: frozenset[str] = frozenset()

    @property
    def length(self) -> int:
        """Usable length in grid units."""
        return sum(part.length for part in self.parts)

    def spot(self, name: str) -> Spot:
        """The spot called ``name``.  Raises ``KeyError``."""
        for spot in self.spots:
            if spot.name == name:
                return spot
        raise KeyError(name)


@dataclass(frozen=True, slots=True)
class Route:
    """A way through a junction between its ends ``a`` and ``b``; ``length`` > 0 in grid units."""

    a: str
    b: str
    length: int


@dataclass(frozen=True, slots=True)
class Junction:
    """Turnout, three-way, crossing, slip, double crossover, or any list of routes.

    Two different routes exclude each other unless their indexes stand together in ``compatible``.
    Routes that share an end always exclude each other.
    """

    name: str
    kind: str
    ends: tuple[str, ...]
    routes: tuple[Route, ...]
    compatible: frozenset[frozenset[int]] = frozenset()
    marks: Marks = Marks()

    def excludes(self, first: int, second: int) -> bool:
        """Whether a vehicle on route ``first`` keeps others off route ``second``."""
        return first != second and frozenset((first, second)) not in self.compatible


@dataclass(frozen=True, slots=True, order=True)
class End:
    """An end of a track (``from``, ``to``), a junction (its end names) or a table (``from``, ``to``)."""

    place: str
    end: str

    def __str__(self) -> str:
        return f"{self.place} {self.end}"


@dataclass(frozen=True, slots=True)
class Table:
    """A turntable or transfer table: rail that meets one of several ends at a time.

    ``meets`` lists every pair (table end ``from`` or ``to``, the outside end it can be lined to); at
    any time exactly one pair is lined, the table's other end is then as good as a bumper, and so is
    every outside end that is not lined.  ``lined`` indexes the pair that holds at the start.
    With everything at rest, and what stands on the table wholly on it, any other pair may be lined;
    what stands on the table turns with it.
    """

    name: str
    kind: str
    length: int
    meets: tuple[tuple[str, End], ...]
    lined: int = 0
    marks: Marks = Marks()


@dataclass(frozen=True, slots=True, order=True)
class Cell:
    """A piece of rail: part ``index`` of a track, route ``index`` of a junction, or a table (0)."""

    place: str
    index: int = 0


@dataclass(frozen=True, slots=True, order=True)
class Way:
    """A cell run in one direction: ``+1`` is from ``from`` to ``to`` (from end ``a`` to ``b``)."""

    cell: Cell
    sign: int

    def reverse(self) -> Way:
        """The same cell the other way."""
        return Way(self.cell, -self.sign)


@dataclass(frozen=True, slots=True)
class District:
    """A whole track plan.

    ``links`` holds each meeting of two ends of tracks and junctions once; an end in no link (and met by no
    table) is a bumper, or an entrance if its track says so: nothing ever stands or runs beyond it.
    Names are unique over tracks, junctions and tables together.
    ``limits`` hold for every moving string anywhere.
    """

    tracks: tuple[Track, ...]
    junctions: tuple[Junction, ...] = ()
    tables: tuple[Table, ...] = ()
    links: tuple[tuple[End, End], ...] = ()
    limits: Limits = Limits()
    _by_name: dict[str, Track | Junction | Table] = field(init=False, repr=False, compare=False)
    _mate: dict[End, End] = field(init=False, repr=False, compare=False)

    def __post_init__(self) -> None:
        by_name: dict[str, Track | Junction | Table] = {}
        places: list[Track | Junction | Table] = [*self.tracks, *self.junctions, *self.tables]
        for place in places:
            if place.name in by_name:
                raise ValueError(f"two places are called {place.name!r}")
            by_name[place.name] = place
        mate: dict[End, End] = {}
        for one, other in self.links:
            for here, there in ((one, other), (other, one)):
                if here in mate:
                    raise ValueError(f"{here} is linked twice")
                mate[here] = there
        object.__setattr__(self, "_by_name", by_name)
        object.__setattr__(self, "_mate", mate)

    def place(self, name: str) -> Track | Junction | Table:
        """The track, junction or table called ``name``.  Raises ``KeyError``."""
        return self._by_name[name]

    def track(self, name: str) -> Track:
        """The track called ``name``.  Raises ``KeyError``, also if a junction or table is so called."""
        place = self._by_name[name]
        if not isinstance(place, Track):
            raise KeyError(name)
        return place

    def mate(self, end: End) -> End | None:
        """The end that meets ``end`` through a fixed link, or ``None``."""
        return self._mate.get(end)

    def cells(self) -> Iterator[Cell]:
        """Every cell: tracks' parts, then junctions' routes, then tables, in the order of the plan."""
        for track in self.tracks:
            yield from (Cell(track.name, index) for index in range(len(track.parts)))
        for junction in self.junctions:
            yield from (Cell(junction.name, index) for index in range(len(junction.routes)))
        yield from (Cell(table.name) for table in self.tables)

    def cell_length(self, cell: Cell) -> int:
        """Length of a cell in grid units."""
        place = self._by_name[cell.place]
        if isinstance(place, Track):
            return place.parts[cell.index].length
        if isinstance(place, Junction):
            return place.routes[cell.index].length
        return place.length

    def cell_marks(self, cell: Cell) -> Marks:
        """Marks of a cell."""
        place = self._by_name[cell.place]
        return place.parts[cell.index].marks if isinstance(place, Track) else place.marks

    def conflicts(self, one: Cell, other: Cell) -> bool:
        """Whether a vehicle on cell ``one`` keeps every string off cell ``other`` (routes that exclude)."""
        if one.place != other.place:
            return False
        place = self._by_name[one.place]
        return isinstance(place, Junction) and place.excludes(one.index, other.index)

    def ahead(self, way: Way, lined: dict[str, int]) -> tuple[Way, ...]:
        """The ways that a string running along ``way`` can enter next, in the order of the plan.

        ``lined`` gives for each table the index of the pair that holds.  At a junction's end there is
        one way for each of its routes that starts there; a bumper or an unlined table gives none.
        """
        place = self._by_name[way.cell.place]
        if isinstance(place, Track):
            following = way.cell.index + way.sign
            if 0 <= following < len(place.parts):
                return (Way(Cell(place.name, following), way.sign),)
            leaving = End(place.name, "to" if way.sign > 0 else "from")
        elif isinstance(place, Junction):
            route = place.routes[way.cell.index]
            leaving = End(place.name, route.b if way.sign > 0 else route.a)
        else:
            side, outside = place.meets[lined[place.name]]
            if side != ("to" if way.sign > 0 else "from"):
                return ()
            return self._entering(outside)
        mate = self._mate.get(leaving)
        if mate is not None:
            return self._entering(mate)
        for table in self.tables:
            side, outside = table.meets[lined[table.name]]
            if outside == leaving:
                return (Way(Cell(table.name), 1 if side == "from" else -1),)
        return ()

    def _entering(self, end: End) -> tuple[Way, ...]:
        place = self._by_name[end.place]
        if isinstance(place, Track):
            return (
                (Way(Cell(place.name, 0), 1),)
                if end.end == "from"
                else (Way(Cell(place.name, len(place.parts) - 1), -1),)
            )
        if isinstance(place, Junction):
            ways = []
            for index, route in enumerate(place.routes):
                if route.a == end.end:
                    ways.append(Way(Cell(place.name, index), 1))
                if route.b == end.end:
                    ways.append(Way(Cell(place.name, index), -1))
            return tuple(ways)
        return (Way(Cell(place.name), 1 if end.end == "from" else -1),)
