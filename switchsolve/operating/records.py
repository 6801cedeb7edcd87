"""What is told of a session: who was where, what moved, by which task, what waited and why."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from switchsolve.operating.working import Worked
from switchsolve.puzzle import Puzzle

__all__ = [
    "ARRIVALS",
    "FAR_SHORE",
    "OUTSIDE",
    "CarRecord",
    "Moved",
    "Played",
    "Shortage",
    "Waited",
    "Where",
    "WorkDone",
    "YardTask",
]

ARRIVALS = "arrival and departure"
"""The tracks of the yard between train and yard, as one."""
FAR_SHORE = "far shore"
"""Where the cars of a float are while it is away."""
OUTSIDE = ""
"""The task of what happens between sessions."""


@dataclass(frozen=True, slots=True, order=True)
class Where:
    """A track of a place; or a train, with no track."""

    place: str
    track: str = ""

    def __str__(self) -> str:
        return f"{self.place}: {self.track}" if self.track else self.place


@dataclass(frozen=True, slots=True)
class CarRecord:
    """A car.  ``bound``: where it is to go (a track of a district, or a place of the world; ``None``: it
    stands in the world and nobody wants it).  ``stay``: sessions that it is to stand there."""

    name: str
    kind: str
    is_loaded: bool
    bound: Where | None = None
    stay: int = 1


@dataclass(frozen=True, slots=True)
class Moved:
    """A car went from one place to another when ``task`` ended, or (``at_end`` false) when it started.
    Between sessions (no task) ``by_hand`` tells whether the host carried it, or the float."""

    car: str
    source: Where
    target: Where
    task: str = OUTSIDE
    at_end: bool = True
    by_hand: bool = False


@dataclass(frozen=True, slots=True)
class WorkDone:
    """The work of a train in a district: what it brought and was to take, and what came out of ``puzzle``."""

    train: str
    place: str
    puzzle: Puzzle
    brought: tuple[str, ...]
    to_take: tuple[str, ...]
    worked: Worked


@dataclass(frozen=True, slots=True)
class YardTask:
    """A cut made up for a train, or put away from one (``is_make_up`` false), and what came out of
    ``puzzle``, whose long cars are several (see ``yarding``)."""

    name: str
    train: str
    cars: tuple[str, ...]
    is_make_up: bool
    worked: Worked
    puzzle: Puzzle | None = None


@dataclass(frozen=True, slots=True)
class Waited:
    """A car that was to go on and did not."""

    car: str
    at: str
    why: str


@dataclass(frozen=True, slots=True)
class Shortage:
    """Cars of a kind that were asked for at ``place`` and were not there."""

    place: str
    kind: str
    is_loaded: bool
    count: int


@dataclass(slots=True)
class Played:
    """One session: its movements in the order in which they were decided.

    ``at_start``: where each car stood when the session began, after the host's work.  ``consists``: cars
    of each train that ran, as it set out.  ``staging``: for each train the staging track it leaves from and
    the one it comes to.  ``by_hand``: movements between sessions before this one, cars that came by float
    among them; ``sets_by_hand``: locomotives and passenger trains the host carried.
    """

    number: int
    at_start: Mapping[str, Where] = field(default_factory=dict)
    cars: Mapping[str, CarRecord] = field(default_factory=dict)
    moved: list[Moved] = field(default_factory=list)
    between: list[Moved] = field(default_factory=list)
    sets_by_hand: int = 0
    consists: dict[str, tuple[str, ...]] = field(default_factory=dict)
    staging: dict[str, tuple[str, str]] = field(default_factory=dict)
    sets_at_start: dict[Where, int] = field(default_factory=dict)
    works: list[WorkDone] = field(default_factory=list)
    yard_tasks: list[YardTask] = field(default_factory=list)
    waited: list[Waited] = field(default_factory=list)
    shortages: list[Shortage] = field(default_factory=list)
    annulled: dict[str, str] = field(default_factory=dict)
    turned_away: int = 0

    @property
    def by_hand(self) -> int:
        """Cars that the host moved before this session."""
        return sum(one.by_hand for one in self.between)
