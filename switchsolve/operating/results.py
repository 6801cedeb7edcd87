"""What many sessions of a layout come to: one object, for a page or a screen to show."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from switchsolve.layout import Layout
from switchsolve.operating.records import Played
from switchsolve.operating.trends import grows, out_since
from switchsolve.scheduling import Answer, Clash
from switchsolve.timetable.reading import Timetable
from switchsolve.timetable.sessionwork import SessionWork

__all__ = [
    "Balance",
    "Binding",
    "CrewsRow",
    "Least",
    "Level",
    "Needs",
    "Operation",
    "OutOf",
    "PlainCrews",
    "SessionResult",
    "Skip",
]

@dataclass(frozen=True, slots=True)
class Level:
    """From ``minute`` on ``length`` (grid units) and ``cars`` stand on the tracks of the yard."""

    minute: int
    length: int
    cars: int


@dataclass(frozen=True, slots=True)
class SessionResult:
    """A session: what moved, its schedule, and what can be said of it.

    ``nobody``: why there is no schedule though nothing clashes (no crew can take a train).  ``too_long``: of
    a session that is proved longer than the layout allows, what clashes.
    """

    played: Played
    work: SessionWork
    answer: Answer
    timetable: Timetable | None
    yard_fill: tuple[Level, ...] = ()
    nobody: str = ""
    too_long: Clash | None = None

    @property
    def minutes(self) -> int | None:
        """How long it takes."""
        return self.timetable.minutes if self.timetable else None

    @property
    def moves(self) -> int:
        """All moves of its plans, in districts and yard, and those that clear the main and come back."""
        works = [one.worked for one in self.played.works]
        works += [one.worked for one in self.played.yard_tasks]
        clearing = self.timetable.clearing_moves if self.timetable else 0
        return sum(worked.moves or 0 for worked in works) + clearing


@dataclass(frozen=True, slots=True)
class CrewsRow:
    """With so many crews a session takes ``minutes``, and never under ``bound``.

    ``minutes`` is ``None``: ``why`` not, or what clashes.
    """

    crews: int
    minutes: int | None
    bound: int | None
    why: str = ""
    clash: Clash | None = None


@dataclass(frozen=True, slots=True)
class Binding:
    """With ``change`` the session takes ``minutes`` instead, and never under ``bound``."""

    change: str
    minutes: int
    bound: int


@dataclass(frozen=True, slots=True)
class PlainCrews:
    """The session by crews that plan nothing: ``minutes`` and never under ``bound`` (``None``: no schedule
    found).  Of ``works`` pieces of work ``beyond`` are too much for such a crew and last as planned."""

    minutes: int | None
    bound: int | None
    works: int
    beyond: int


@dataclass(frozen=True, slots=True)
class Skip:
    """The one car to skip when late: so many moves and minutes less."""

    train: str
    place: str
    car: str
    moves: int
    minutes: int


@dataclass(frozen=True, slots=True)
class OutOf:
    """Cars of a kind that were not there when asked for: in which of ``sessions``, and how many were
    missing."""

    place: str
    kind: str
    is_loaded: bool
    missing: Mapping[int, int]
    sessions: int

    @property
    def since(self) -> int | None:
        """The session since which the place is out of them, by the rule of
        :mod:`~switchsolve.operating.trends`; ``None``: it was short now and then."""
        return out_since(self.missing, self.sessions)


@dataclass(frozen=True, slots=True)
class Balance:
    """Cars over the sessions.

    ``at_start``: for each place of the world, kind, and loaded or not, the cars there before each session.
    ``by_hand``: cars that the host moved within a place before each session; ``sets_by_hand``: whole trains.
    ``carried``: cars that the host would have to carry from place to place before each session so that
    nobody waits for one (played on paper, all work taken as done).  ``waited``: how often cars waited, by
    place and reason; ``rows``: how many waited at each place in each session.  ``on_shelf``: cars of the
    stock for which staging has no room at all.
    """

    at_start: Mapping[tuple[str, str, bool], tuple[int, ...]]
    out_of: tuple[OutOf, ...]
    by_hand: tuple[int, ...]
    sets_by_hand: tuple[int, ...]
    carried: tuple[int, ...]
    waited: Mapping[tuple[str, str], int]
    rows: Mapping[str, tuple[int, ...]] = field(default_factory=dict)
    on_shelf: int = 0

    @property
    def backlogs(self) -> tuple[str, ...]:
        """Where ever more cars wait, by the rule of :mod:`~switchsolve.operating.trends`."""
        return tuple(place for place, row in self.rows.items() if grows(row))

    @property
    def is_kept(self) -> bool:
        """Whether no place is out of cars for good, no backlog grows, no train had to be carried, and all
        cars have room."""
        lasting = any(one.since for one in self.out_of)
        return not (lasting or self.backlogs or any(self.sets_by_hand) or self.on_shelf)


@dataclass(frozen=True, slots=True)
class Needs:
    """What the same traffic asks for when nothing is too short (on paper, the host carries what is missing).

    ``yard_length``, ``yard_cars``: most at once on the tracks of the yard; ``yard_tracks``: the fewest of its
    own tracks, the longest first, with that length together (``None``: all of them have not).  ``staging``:
    most length at once in each place; ``train_cars``, ``train_length``: the longest of each train.
    """

    yard_length: int
    yard_cars: int
    yard_tracks: int | None
    staging: Mapping[str, int]
    train_cars: Mapping[str, int]
    train_length: Mapping[str, int]


@dataclass(frozen=True, slots=True)
class Least:
    """How little would do of ``name`` (the yard: tracks; staging: length; a train: cars), all else as it is,
    on paper.

    ``now``: as it is; ``as_good``: with so much no more cars wait; ``least``: so much still keeps the
    balance.  One step less does not, or there is none.  ``waits_now``, ``waits``: how often cars wait as it
    is, and with the least.
    """

    name: str
    now: int
    as_good: int
    least: int
    waits_now: int
    waits: int


@dataclass(slots=True)
class Operation:
    """All sessions; ``shown`` is the number of the one that is looked at closely (the longest).

    ``crews``: its length against the number of crews; ``bindings``: what would make it shorter, the most
    first; ``chain``: what must follow each other takes so long, with room for everything; ``plain``: by crews
    that plan nothing.
    """

    layout: Layout
    seed: int
    asked: int
    sessions: list[SessionResult] = field(default_factory=list)
    shown: int | None = None
    crews: tuple[CrewsRow, ...] = ()
    bindings: tuple[Binding, ...] = ()
    chain: int | None = None
    skips: tuple[Skip, ...] = ()
    plain: PlainCrews | None = None
    balance: Balance | None = None
    needs: Needs | None = None
    leasts: tuple[Least, ...] = ()
    solved: int = 0
    is_complete: bool = False

    @property
    def looked_at(self) -> SessionResult | None:
        """The session that is looked at closely."""
        return None if self.shown is None else self.sessions[self.shown - 1]
