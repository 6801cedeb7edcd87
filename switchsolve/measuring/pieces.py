"""Pieces of rail to be measured: which there are, how short and how long they can be, and their steps.

A piece is a track, or one part of a track in several parts.  Its length changes at its ``to`` end.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Iterable
from dataclasses import dataclass, replace

from switchsolve.district import District, End, Track
from switchsolve.lengthening import endless_tracks, lengthened, told_places
from switchsolve.packing import pack
from switchsolve.puzzle import Puzzle
from switchsolve.rules import Rules
from switchsolve.search.exact import applies

__all__ = [
    "NO_PLAN",
    "Minimum",
    "PieceSteps",
    "Step",
    "clipped",
    "longest",
    "pieces_of",
    "places",
    "resized",
    "shortest",
    "why_not_measured",
]

NO_PLAN = 1 << 30
"""Stands for a number of moves where no plan exists: more than any."""


@dataclass(frozen=True, slots=True)
class Minimum:
    """The fewest moves, as far as known: ``least`` or more, ``most`` or fewer (:data:`NO_PLAN`: no plan).

    ``Minimum(NO_PLAN, NO_PLAN)``: impossible, proved.
    """

    least: int
    most: int

    @property
    def is_proved(self) -> bool:
        """Whether this is one number, or proved to be impossible."""
        return self.least == self.most


@dataclass(frozen=True, slots=True)
class Step:
    """From the length ``at_least`` (grid units) on, up to the next step, the minimum is ``minimum``."""

    at_least: int
    minimum: Minimum


@dataclass(frozen=True, slots=True)
class PieceSteps:
    """The steps of one piece of rail: a track, or one part of it (``part``, counted from 0, else ``None``).

    ``length``: now.  ``steps``: ascending, from the shortest length that it can have; ``kept_by`` says what
    forbids a shorter one (empty: nothing).  ``longest``: how far was looked; ``is_final``: beyond it nothing
    changes (proved).  ``unmeasured``: why there are no steps; else empty.  All lengths in grid units.
    """

    track: str
    part: int | None
    name: str
    length: int
    steps: tuple[Step, ...] = ()
    kept_by: str = ""
    longest: int = 0
    is_final: bool = False
    unmeasured: str = ""

    @property
    def now(self) -> Minimum:
        """The minimum at the length of now.  Raises ``ValueError`` if the piece was not measured."""
        return self._step_of_now().minimum

    @property
    def spare(self) -> int:
        """How much shorter it could be at no cost in moves, as far as proved; 0 if there is no plan now."""
        if not self.steps or not self.now.is_proved or self.now.least == NO_PLAN:
            return 0
        return self.length - self._step_of_now().at_least

    def _step_of_now(self) -> Step:
        index = bisect_right([step.at_least for step in self.steps], self.length)
        if not index:
            raise ValueError(f"{self.name} was not measured")
        return self.steps[index - 1]


def pieces_of(puzzle: Puzzle, tracks: Iterable[str] | None = None) -> list[PieceSteps]:
    """The pieces of rail to be measured, without steps yet.  Raises ``KeyError`` for an unknown track."""
    wanted = None if tracks is None else {puzzle.district.track(name).name for name in tracks}
    endless = endless_tracks(puzzle)
    found = []
    for track in puzzle.district.tracks:
        if track.name in endless or (wanted is not None and track.name not in wanted):
            continue
        for index, part in enumerate(track.parts):
            if len(track.parts) == 1:
                found.append(PieceSteps(track.name, None, track.name, part.length))
            else:
                named = f", {part.name}" if part.name else ""
                name = f"{track.name}, part {index + 1} of {len(track.parts)}{named}"
                found.append(PieceSteps(track.name, index, name, part.length))
    return found


# ---- when more rail never makes the work harder


def why_not_measured(puzzle: Puzzle, name: str, part: int | None = None) -> str:
    """Why the minimum might rise with the length of this part of track ``name``; empty if it cannot.

    Rail added beyond everything, at a bumper or the edge of the district, leaves every plan as it is: nobody
    need use it.  Elsewhere more rail is less foul, never more; but where a part is closed to some vehicle
    it is also a longer way to reach in.
    """
    track = puzzle.district.track(name)
    index = len(track.parts) - 1 if part is None else part
    is_last = index == len(track.parts) - 1
    if is_last and _ends_here(puzzle.district, End(name, "to")):
        return ""
    if index == 0 and _ends_here(puzzle.district, End(name, "from")) and not told_places(puzzle, name):
        return ""  # the same rail, added at its other end
    seam = sum(piece.length for piece in track.parts[: index + 1])
    if not is_last and any(place >= seam for place in told_places(puzzle, name)):
        return "a spot or a fixed place lies in a later part of the track, which would shift under it"
    if not all(pack(puzzle).all_may_touch):
        return "some rail is closed to locomotives or to kinds of car, so that longer may be harder"
    return ""


def _ends_here(district: District, end: End) -> bool:
    """Whether no rail follows this end: a bumper, or an entrance, beyond which nothing ever runs."""
    at_table = any(outside == end for table in district.tables for _, outside in table.meets)
    return district.mate(end) is None and not at_table


# ---- how short, how long


def resized(puzzle: Puzzle, piece: PieceSteps, length: int) -> Puzzle:
    """The set-up with the piece so long."""
    return lengthened(puzzle, piece.track, length - piece.length, -1 if piece.part is None else piece.part)


def places(puzzle: Puzzle, piece: PieceSteps) -> dict[int, str]:
    """The told places that lie in or at the piece, as distances from where it begins."""
    before = sum(part.length for part in puzzle.district.track(piece.track).parts[: piece.part or 0])
    return {at - before: what for at, what in told_places(puzzle, piece.track).items() if at > before}


def shortest(puzzle: Puzzle, piece: PieceSteps) -> tuple[int, str]:
    """The least length that holds the told places and what stands there at the start; and why not less."""
    told = places(puzzle, piece)
    last = max(told, default=0)
    low = max(1, last)
    if _can_stand(puzzle, piece, low):
        return low, f"{told[last]} is there" if last else ""
    short, enough = low, piece.length
    while enough - short > 1:
        middle = (short + enough) // 2
        short, enough = (short, middle) if _can_stand(puzzle, piece, middle) else (middle, enough)
    strings = [string.vehicles for string in puzzle.start.strings if string.track == piece.track]
    names = [name for vehicles in strings for name in vehicles]
    return enough, f"{', '.join(names)} {'stands' if len(names) == 1 else 'stand'} there"


def _can_stand(puzzle: Puzzle, piece: PieceSteps, length: int) -> bool:
    """Whether the start is possible with the piece so long."""
    return next(iter(Rules(pack(resized(puzzle, piece, length))).starts()), None) is not None


def longest(puzzle: Puzzle, piece: PieceSteps) -> tuple[int, bool]:
    """A length that holds every vehicle beyond the last told place, or that of now; is more proved useless?

    Where longest runs are exact and nothing is closed, a plan is a row of standings by cells, and a length
    counts only where a string might fill a cell or reach across it.  From all vehicles and their gaps on none
    does.  Elsewhere vehicles may have to stand on both sides of each other in turn: then twice that is
    looked at, and nothing is said of more.
    """
    room = _room(puzzle)
    last = max(places(puzzle, piece), default=0)
    is_final = _is_final(puzzle)
    return max(piece.length, last + room if is_final else last + 2 * room), is_final


def _room(puzzle: Puzzle) -> int:
    """What all vehicles take up together, each with a gap."""
    return sum(vehicle.length + 1 for vehicle in puzzle.vehicles.values())


def _is_final(puzzle: Puzzle) -> bool:
    """Whether nothing changes with a track longer than that beyond its last told place (see above)."""
    rules = Rules(pack(puzzle))
    return applies(rules) is None and all(rules.p.all_may_touch)


def clipped(puzzle: Puzzle, probe: Puzzle | None = None) -> Puzzle:
    """The set-up with each track no longer than can matter: its minimum is the same (see :func:`longest`).

    Set-ups that differ in nothing else than rail beyond that become equal.  ``probe``: what is asked is this
    set-up, made of the district of ``puzzle`` with other vehicles, and it is the one whose minimum stays.
    Entrances that are as long as need be stay so.
    """
    asked = probe or puzzle
    room, endless = _room(asked), endless_tracks(puzzle)
    tracks = tuple(
        track if track.name in endless else _clipped(puzzle, track, room) for track in puzzle.district.tracks
    )
    if tracks == puzzle.district.tracks or not _is_final(asked):
        return puzzle
    return replace(puzzle, district=replace(puzzle.district, tracks=tracks))


def _clipped(puzzle: Puzzle, track: Track, room: int) -> Track:
    if len(track.parts) > 1:
        return track
    length = min(track.length, max(told_places(puzzle, track.name), default=0) + room)
    return replace(track, parts=(replace(track.parts[0], length=length),))
