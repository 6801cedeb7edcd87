"""A set-up: a district, the vehicles that stand on it, and the work to be done."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from switchsolve.design import Design
from switchsolve.district import District
from switchsolve.vehicles import Car, Locomotive, Vehicle
from switchsolve.work import Work

__all__ = [
    "BLOCKINGS",
    "DrawingHints",
    "Industry",
    "Puzzle",
    "Standards",
    "Start",
    "StartString",
    "Times",
    "Traffic",
    "Variant",
]

BLOCKINGS = ("as drawn", "by industry", "random")
"""In which order the cars of an arriving train can stand (see :class:`Traffic`)."""


@dataclass(frozen=True, slots=True)
class StartString:
    """Vehicles that stand coupled on one track (or table) at the start, in order from ``from`` to ``to``.

    Where in the track they stand is up to the crew, but for what ``spots`` and ``fixed`` say:
    ``spots`` maps a vehicle to the spot of this track at which it stands at the start; ``fixed_at`` is
    the exact place of the string's ``from`` end, grid units from the track's ``from`` end.
    """

    track: str
    vehicles: tuple[str, ...]
    spots: Mapping[str, str] = field(default_factory=dict)
    fixed_at: int | None = None


@dataclass(frozen=True, slots=True)
class Start:
    """Who stands where.  On each track, ``strings`` come in order from ``from`` to ``to``.

    Strings listed one after the other on one track do not touch.  ``heads`` gives for each locomotive the
    end of its track (``from`` or ``to``) towards which its front points; ``under_way`` the end towards
    which it is already moving (left out: it stands).
    """

    strings: tuple[StartString, ...]
    heads: Mapping[str, str]
    under_way: Mapping[str, str] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Standards:
    """The client's own rules, for ``check``.  ``None`` or empty means: not asked."""

    car: str | None = None
    """Kind of the standard car."""
    locomotive: str | None = None
    """Name of the standard locomotive."""
    run_around_passes: int | None = None
    tail_takes: int | None = None
    spur_holds: Mapping[str, int] = field(default_factory=dict)
    clear_at_end: tuple[str, ...] = ()
    """Tracks on which nothing may be left at the end."""


@dataclass(frozen=True, slots=True)
class Times:
    """The file's time figures, in thousandths of a second.

    ``None``: not given; then the figure of common practice in :mod:`switchsolve.objectives` holds.  The first
    five are those of the objective ``minutes``; the others are for the minutes of a crew only.
    """

    new_move: int | None = None
    """A locomotive begins a move: it sets off the other way, or for the first time."""
    coupling: int | None = None
    cut: int | None = None
    table: int | None = None
    """A table is lined anew."""
    speed: int | None = None
    """How far a locomotive runs in a second, grid units."""
    turnout: int | None = None
    """A turnout is thrown by hand."""
    reading: int | None = None
    """The crew reads its list, once for the whole work."""
    failed_uncoupling: int | None = None
    """A pair does not let go at once."""
    failed_share: int | None = None
    """Of a thousand cuts, how many fail at first."""
    crew_ratio: tuple[int, int] | None = None
    """The crew's moves for each thousand of the minimum: one run in ten takes no more than the first, nine in
    ten no more than the second.  ``None``: not known."""

    @property
    def figures(self) -> tuple[int | None, ...]:
        """Those of the objective ``minutes``, in the order of the file."""
        return self.new_move, self.coupling, self.cut, self.table, self.speed


@dataclass(frozen=True, slots=True)
class DrawingHints:
    """Wishes for the drawing; they change nothing else.

    ``lanes``: for a track the lane in which it is drawn, counted downwards from that of the first track of
    the file (-1 is the next above).  ``sides``: ``up`` or ``down``, the side of what it comes from on which
    a track is drawn.
    """

    lanes: Mapping[str, int] = field(default_factory=dict)
    sides: Mapping[str, str] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Industry:
    """What comes to one track, session by session."""

    track: str
    kinds: Mapping[str, float]
    """Cars a session of each kind: the mean of a Poisson distribution."""
    stay: float
    """Sessions that a car stays: the mean of a geometric distribution, 1 or more."""
    full: float = 0.0
    """The probability of each place to be taken before the first session."""


@dataclass(frozen=True, slots=True)
class Traffic:
    """What a session brings: a train that comes, works the industries, and leaves.

    ``train``: the entrance track on which it stands at the start and at the end.  ``locomotive_at``: the end
    of that track at which the locomotive stands at the start; ``departs_at``: and at the end (``None``:
    either).  ``most_cars``: most cars of an arriving train, and most that are to be picked up in a session.
    ``blocking``, one of :data:`BLOCKINGS`: the order of the arriving cars, from the locomotive outwards.
    ``roads``: letters of the roads that cars come from (empty: those of the file's cars).
    """

    train: str
    locomotive_at: str
    most_cars: int
    industries: tuple[Industry, ...]
    blocking: str = "as drawn"
    departs_at: str | None = None
    roads: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Puzzle:
    """A district with a starting standing and its work; what a puzzle file holds.

    ``grid`` is the number of grid units in one ``unit``; lengths are printed as ``length / grid unit``.
    """

    district: District
    cars: tuple[Car, ...]
    locomotives: tuple[Locomotive, ...]
    start: Start
    work: Work
    title: str = ""
    unit: str = "in"
    grid: int = 1_000_000
    allowance: int = 0
    standards: Standards = field(default_factory=Standards)
    kinds: Mapping[str, int] = field(default_factory=dict)
    """Length of each kind of car that the file names, grid units, allowance included."""
    stated_minimum: int | None = None
    """The minimum number of moves that the file itself states (held to it by a test)."""
    stated_verdict: str | None = None
    drawing: DrawingHints = field(default_factory=DrawingHints)
    notes: Mapping[str, str] = field(default_factory=dict)
    """Figures that the reader computed (turnouts by number, lengths from the prototype), to be shown."""
    times: Times = field(default_factory=Times)
    traffic: Traffic | None = None
    design: Design | None = None
    track_centers: int | None = None
    """Distance between neighboring tracks, grid units, if the file gives one for the whole district."""
    variants: tuple[Variant, ...] = ()
    """The same with something changed, to compare it with."""

    @property
    def vehicles(self) -> dict[str, Vehicle]:
        """Every vehicle by name: cars, then locomotives."""
        vehicles: list[Vehicle] = [*self.cars, *self.locomotives]
        return {vehicle.name: vehicle for vehicle in vehicles}


@dataclass(frozen=True, slots=True)
class Variant:
    """The set-up of a file with some of it changed; ``puzzle`` is all of it, and has no variants."""

    name: str
    puzzle: Puzzle
