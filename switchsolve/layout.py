"""A whole layout: its places, what joins them, who runs what, and what the world outside does.

Lengths are grid units of the layout's own unit; times are whole minutes of the room's clock, counted from the
beginning of the session.  The law of each district is its puzzle, in the units of its own file.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field

from switchsolve.puzzle import Puzzle

__all__ = [
    "FREIGHT",
    "TRAIN_KINDS",
    "Aisle",
    "CrewPlan",
    "DistrictPlace",
    "Flow",
    "Layout",
    "Link",
    "StagingPlace",
    "Stock",
    "TrainPlan",
    "WhatIf",
    "YardPlace",
]

FREIGHT, PASSENGER, SWITCHER = "through freight", "passenger", "yard switcher"
LOCALS = ("local", "turn", "interchange")
TRAIN_KINDS = (FREIGHT, PASSENGER, *LOCALS, SWITCHER)


@dataclass(frozen=True, slots=True)
class Flow:
    """How cars come to one industry and leave it: ``comes`` is *loaded* or *empty*, and there that changes.
    ``origin`` and ``to``: places that stand for the world (staging, or a float).  ``kind``: cars of this kind
    only (``None``: those of which nothing else is said)."""

    track: str
    comes: str
    origin: str
    to: str
    kind: str | None = None


@dataclass(frozen=True, slots=True)
class Stock:
    """Cars of a kind that a place of the world holds before the first session.

    ``loaded`` is also what it keeps ready: between sessions loads that arrived are unloaded, then as many
    empty cars are loaded as are short of that number.
    """

    loaded: int = 0
    empty: int = 0


@dataclass(frozen=True, slots=True)
class DistrictPlace:
    """A district with traffic.  ``main``: tracks that passing trains use, which a crew at work clears for
    them.  ``flows``: one for each industry; a **float** has none, but ``stock``: what stands on it leaves
    with it between sessions, and it comes back with other cars.  ``idler``: kind of a car that is always
    next to the locomotive there, to reach where locomotives may not go."""

    name: str
    puzzle: Puzzle
    flows: tuple[Flow, ...] = ()
    main: tuple[str, ...] = ()
    stock: Mapping[str, Stock] = field(default_factory=dict)
    idler: str | None = None

    @property
    def is_float(self) -> bool:
        """Whether its cars come over water."""
        return bool(self.stock)

    def flow(self, track: str, kind: str) -> Flow:
        """How cars of a kind come to an industry.  Raises ``StopIteration`` if nothing is said of it."""
        own = sorted((flow for flow in self.flows if flow.track == track), key=lambda one: one.kind is None)
        return next(flow for flow in own if flow.kind in (kind, None))


@dataclass(frozen=True, slots=True)
class YardPlace:
    """The yard.  ``lead``: the entrance track of its puzzle from which the locomotive works ``tracks``.

    ``room``: length of the arrival and departure tracks together, which hold cuts between train and yard.
    ``stop``: minutes that a through train stands there.
    """

    name: str
    puzzle: Puzzle
    lead: str
    tracks: tuple[str, ...]
    room: int
    stop: int


@dataclass(frozen=True, slots=True)
class StagingPlace:
    """Tracks that stand for the world outside.  ``keep_empty``: of through staging, one at least."""

    name: str
    is_through: bool
    tracks: Mapping[str, int]
    keep_empty: tuple[str, ...]
    stock: Mapping[str, Stock]


@dataclass(frozen=True, slots=True)
class Link:
    """Track between two places: minutes from one to the other, how many trains may be on it at once, and the
    longest of them (``None``: any)."""

    name: str
    ends: tuple[str, str]
    minutes: int
    tracks: int
    longest: int | None = None


@dataclass(frozen=True, slots=True)
class Aisle:
    """Room for ``people`` at work at ``places``."""

    name: str
    places: tuple[str, ...]
    people: int


@dataclass(frozen=True, slots=True)
class CrewPlan:
    """Someone who runs trains.  ``can``: names of the trains (the yard switcher among them)."""

    name: str
    can: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class TrainPlan:
    """A train.  ``equipment``: length of locomotive and caboose, or of the whole passenger train.

    ``works``: districts that it works, in this order.  ``leaves``: minute at which it leaves (``None``: when
    its work lets it).  ``alternates``: every other session it runs the other way.
    """

    name: str
    kind: str
    origin: str
    to: str
    works: tuple[str, ...]
    most_cars: int
    equipment: int
    leaves: int | None = None
    alternates: bool = False

    def ends(self, session: int) -> tuple[str, str]:
        """Where it leaves and where it goes in the session of this number (from 1)."""
        turned = self.alternates and session % 2 == 0
        return (self.to, self.origin) if turned else (self.origin, self.to)


@dataclass(frozen=True, slots=True)
class WhatIf:
    """A change of the layout, to be compared on the same traffic."""

    name: str
    without_crews: tuple[str, ...] = ()
    without_trains: tuple[str, ...] = ()
    staging: Mapping[str, Mapping[str, int]] = field(default_factory=dict)
    most_cars: Mapping[str, int] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Layout:
    """All of it.  ``trains`` are in the order in which the yard works for them.

    ``pace``: how many times as long as its locomotive a crew takes (reading, walking, talking).
    ``begins``: minute of the day on the fast clock at which a session begins.  ``kinds``: length of each kind
    of car in staging and in trains.
    """

    title: str
    unit: str
    grid: int
    minutes: int
    fast_clock: float
    begins: int
    pace: float
    kinds: Mapping[str, int]
    districts: tuple[DistrictPlace, ...]
    yard: YardPlace
    staging: tuple[StagingPlace, ...]
    links: tuple[Link, ...]
    aisles: tuple[Aisle, ...]
    crews: tuple[CrewPlan, ...]
    trains: tuple[TrainPlan, ...]
    what_if: tuple[WhatIf, ...] = ()

    def district(self, name: str) -> DistrictPlace:
        """The district called ``name``.  Raises ``KeyError``."""
        return {place.name: place for place in self.districts}[name]

    def staging_place(self, name: str) -> StagingPlace:
        """The staging called ``name``.  Raises ``KeyError``."""
        return {place.name: place for place in self.staging}[name]

    @property
    def switcher(self) -> TrainPlan:
        """The train that works the yard."""
        return next(train for train in self.trains if train.kind == SWITCHER)

    def crews_of(self, train: str) -> tuple[str, ...]:
        """Who may take a train."""
        return tuple(crew.name for crew in self.crews if train in crew.can)

    def stocks(self) -> Iterator[tuple[str, Mapping[str, Stock]]]:
        """The places of the world with what they hold before the first session."""
        for place in self.staging:
            yield place.name, place.stock
        for district in self.districts:
            if district.is_float:
                yield district.name, district.stock

    def fast_time(self, minute: int) -> str:
        """The time on the fast clock, such as ``19:30``."""
        now = int(self.begins + minute * self.fast_clock) % (24 * 60)
        return f"{now // 60:02d}:{now % 60:02d}"
