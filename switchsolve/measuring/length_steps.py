"""What a length buys: the proved minimum as a step function of one track's length, all else as it is.

Where more rail never makes the work harder (:func:`why_not_measured`) the minimum only falls as the length
grows.  So between two lengths with the same minimum it is the same everywhere, and all steps are found by
halving what lies between two that differ, down to one grid unit.  Lengths at which some row of vehicles
begins to fit are tried first, for there most steps are; that saves time and decides nothing.

The shortest length looked at is the least on which the vehicles that start there can stand.  The longest,
where the steps end, is one on which every vehicle of the set-up can stand: see :func:`_longest`.
"""

from __future__ import annotations

import time
from bisect import bisect_left, bisect_right
from collections.abc import Callable, Iterable
from dataclasses import dataclass, field, replace

from switchsolve.district import District, End
from switchsolve.lengthening import endless_tracks, fitting_lengths, lengthened, row_lengths, told_places
from switchsolve.packing import pack
from switchsolve.plan import Verdict
from switchsolve.puzzle import Puzzle
from switchsolve.rules import Rules
from switchsolve.search.runs import applies
from switchsolve.solving import solve

__all__ = [
    "NO_PLAN",
    "Gain",
    "LengthSteps",
    "Minimum",
    "PieceSteps",
    "Step",
    "gains",
    "length_steps",
    "pieces_of",
    "why_not_measured",
]

NO_PLAN = 1 << 30
"""Stands for a number of moves where no plan exists: more than any."""

_MOST_SHARE = 0.5
"""The share of the time left to a track that one solution may take."""


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


_UNKNOWN = Minimum(0, NO_PLAN)


@dataclass(frozen=True, slots=True)
class Step:
    """From the length ``at_least`` (grid units) on, up to the next step, the minimum is ``minimum``."""

    at_least: int
    minimum: Minimum


@dataclass(frozen=True, slots=True)
class PieceSteps:
    """The steps of one piece of rail: a track, or one part of it (``part``, counted from 0, else ``None``).

    ``length``: now.  ``steps``: ascending, from the shortest length on which it can be had; ``kept_by`` is
    what forbids a shorter one.  ``longest``: how far was looked; ``is_final``: beyond it nothing changes
    (proved).  ``unmeasured``: why there are no steps; else empty.  All lengths in grid units.
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


@dataclass(frozen=True, slots=True)
class LengthSteps:
    """The pieces asked for, in the order of the plan; ``limit`` names what stopped the proofs, if anything.

    ``now``: the minimum of the set-up as it is.
    """

    now: Minimum
    pieces: tuple[PieceSteps, ...]
    limit: str | None = None


@dataclass(frozen=True, slots=True)
class Gain:
    """``piece`` longer by ``extra`` grid units takes ``moves`` moves, ``saved`` fewer than now.

    ``saved`` is ``None`` if there is no plan now.
    """

    piece: PieceSteps
    extra: int
    moves: int
    saved: int | None


def gains(result: LengthSteps) -> list[Gain]:
    """What more rail buys, proved steps only, shortest first."""
    found = [
        Gain(piece, step.at_least - piece.length, step.minimum.most, _saved(piece.now, step.minimum))
        for piece in result.pieces
        for step in piece.steps
        if step.at_least > piece.length and step.minimum.is_proved and piece.now.is_proved
    ]
    return sorted(found, key=lambda gain: (gain.extra, gain.moves))


def _saved(before: Minimum, after: Minimum) -> int | None:
    return None if before.most == NO_PLAN else before.most - after.most


def length_steps(
    puzzle: Puzzle,
    tracks: Iterable[str] | None = None,
    *,
    seconds: float | None = None,
    tell: Callable[[str], None] | None = None,
    stop: Callable[[], str | None] | None = None,
) -> LengthSteps:
    """The steps of every track (of ``tracks``: only those), each part of a track in several parts by itself.

    Entrances without a length of their own are left out.  ``seconds`` limits all together: each track has
    an equal share of what is left when its turn comes.  ``tell`` receives lines of progress; ``stop`` is
    asked often whether to stop, and gives the reason, or ``None``.  What was not proved in time is a
    :class:`Minimum` with two ends.

    Raises ``KeyError`` for an unknown track.
    """
    minima = _Minima(puzzle, seconds, tell, stop)
    pieces = pieces_of(puzzle, tracks)
    now = minima.at_start(len(pieces))
    measured = []
    for number, piece in enumerate(pieces):
        minima.share_out(len(pieces) - number)
        reason = why_not_measured(puzzle, piece.track, piece.part)
        measured.append(replace(piece, unmeasured=reason) if reason else _measured(minima, piece))
    return LengthSteps(now, tuple(measured), minima.limit)


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
    if not is_last and any(place > seam for place in told_places(puzzle, name)):
        return "a spot or a fixed place lies in a later part of the track, which would shift under it"
    if not all(pack(puzzle).all_may_touch):
        return "some rail is closed to locomotives or to kinds of car, so that longer may be harder"
    return ""


def _ends_here(district: District, end: End) -> bool:
    """Whether no rail follows this end: a bumper, or an entrance, beyond which nothing ever runs."""
    at_table = any(outside == end for table in district.tables for _, outside in table.meets)
    return district.mate(end) is None and not at_table


# ---- one piece


def _measured(minima: _Minima, piece: PieceSteps) -> PieceSteps:
    """The piece with its steps."""
    shortest, kept_by = _shortest(minima.puzzle, piece)
    longest, is_final = _longest(minima.puzzle, piece)
    known = _Known(minima, piece)
    known.find(shortest, piece.length)
    if longest > piece.length:
        known.find(piece.length, longest)
    return replace(
        piece,
        steps=known.steps(),
        kept_by=kept_by,
        longest=max(longest, piece.length),
        is_final=is_final,
    )


def _resized(puzzle: Puzzle, piece: PieceSteps, length: int) -> Puzzle:
    """The set-up with the piece so long."""
    return lengthened(puzzle, piece.track, length - piece.length, -1 if piece.part is None else piece.part)


def _places(puzzle: Puzzle, piece: PieceSteps) -> dict[int, str]:
    """The told places that lie in or at the piece, as distances from where it begins."""
    before = sum(part.length for part in puzzle.district.track(piece.track).parts[: piece.part or 0])
    return {at - before: what for at, what in told_places(puzzle, piece.track).items() if at > before}


def _shortest(puzzle: Puzzle, piece: PieceSteps) -> tuple[int, str]:
    """The least length that holds the told places and what stands there at the start; and why not less."""
    places = _places(puzzle, piece)
    last = max(places, default=0)
    low = max(1, last)
    if _can_stand(puzzle, piece, low):
        return low, places[last] if last else ""
    short, enough = low, piece.length
    while enough - short > 1:
        middle = (short + enough) // 2
        short, enough = (short, middle) if _can_stand(puzzle, piece, middle) else (middle, enough)
    strings = [string.vehicles for string in puzzle.start.strings if string.track == piece.track]
    return enough, ", ".join(name for names in strings for name in names)


def _can_stand(puzzle: Puzzle, piece: PieceSteps, length: int) -> bool:
    """Whether the start is possible with the piece so long."""
    return next(iter(Rules(pack(_resized(puzzle, piece, length))).starts()), None) is not None


def _longest(puzzle: Puzzle, piece: PieceSteps) -> tuple[int, bool]:
    """A length that holds every vehicle beyond the last told place; and whether more is proved useless.

    Where longest runs are exact and nothing is closed, a plan is a row of standings by cells, and a length
    counts only where a string might fill a cell or reach across it.  From all vehicles and their gaps on none
    does.  Elsewhere vehicles may have to stand on both sides of each other in turn: then twice that is
    looked at, and nothing is said of more.
    """
    room = sum(vehicle.length + 1 for vehicle in puzzle.vehicles.values())
    last = max(_places(puzzle, piece), default=0)
    rules = Rules(pack(puzzle))
    is_final = applies(rules) is None and all(rules.p.all_may_touch)
    return (last + room if is_final else last + 2 * room), is_final


class _Known:
    """The lengths of one piece that have been solved."""

    def __init__(self, minima: _Minima, piece: PieceSteps) -> None:
        self._minima = minima
        self._piece = piece
        self._at: dict[int, Minimum] = {}
        self._likely = _likely_lengths(minima.puzzle, piece)

    def find(self, low: int, high: int) -> None:
        """Solve lengths until all steps between ``low`` and ``high`` are known.

        What lies between two lengths of which one is not proved is left open.
        """
        to_do = [(low, high)]
        while to_do:
            low, high = to_do.pop()
            before, after = self._solved(low), self._solved(high)
            if before.most < after.least:
                raise AssertionError(f"{self._piece.name}: {before} at {low}, {after} at {high}: a defect")
            if high - low > 1 and before.is_proved and after.is_proved and before != after:
                middle = self._between(low, high)
                to_do += [(middle, high), (low, middle)]

    def _between(self, low: int, high: int) -> int:
        """A length between two others: the middle one of those that are likely, or just the middle."""
        for likely in self._likely:
            inside = likely[bisect_right(likely, low) : bisect_left(likely, high)]
            if inside:
                return inside[len(inside) // 2]
        return (low + high) // 2

    def _solved(self, length: int) -> Minimum:
        if length not in self._at:
            self._at[length] = self._minima.at(self._piece, length)
        return self._at[length]

    def steps(self) -> tuple[Step, ...]:
        """The steps that follow from what is solved.

        A plan for one length is one for every greater length, and what is proved impossible, or to take so
        many moves, is so for every lesser length.
        """
        lengths = sorted(self._at)
        most, least = [], []
        for length in lengths:
            most.append(min(self._at[length].most, *most[-1:], NO_PLAN))
        for length in reversed(lengths):
            least.append(max(self._at[length].least, *least[-1:], 0))
        least.reverse()
        steps: list[Step] = []
        for index, length in enumerate(lengths):
            _append(steps, Step(length, Minimum(least[index], most[index])))
            if index + 1 < len(lengths) and length + 1 < lengths[index + 1]:
                _append(steps, Step(length + 1, Minimum(least[index + 1], most[index])))
        return tuple(steps)


def _append(steps: list[Step], step: Step) -> None:
    if not steps or steps[-1].minimum != step.minimum:
        steps.append(step)


def _likely_lengths(puzzle: Puzzle, piece: PieceSteps) -> tuple[list[int], list[int]]:
    """Lengths at which a step is likely, with those just below and above: first the likeliest, then others.

    A step is known when two lengths one grid unit apart have been solved, and a gap is one grid unit.
    """
    places = {0, *_places(puzzle, piece)}
    others = puzzle.district.track(piece.track).length - piece.length
    near = range(-1, 3)

    def around(rows: Iterable[int]) -> list[int]:
        return sorted({row + at - less + by for row in rows for at in places for less in {0, others} for by in near})

    return around(row_lengths(puzzle)), around(fitting_lengths(puzzle))


# ---- the minimum at one length


@dataclass(slots=True)
class _Minima:
    """Solves one set-up at many lengths, within the time there is."""

    puzzle: Puzzle
    seconds: float | None
    tell: Callable[[str], None] | None
    stop: Callable[[], str | None] | None
    limit: str | None = None
    solved: int = 0
    _now: Minimum | None = None
    _end: float | None = None
    _end_of_share: float | None = field(default=None)

    def at_start(self, pieces: int) -> Minimum:
        """The minimum at the lengths of now; the clock starts."""
        self._end = None if self.seconds is None else time.monotonic() + self.seconds
        self.share_out(pieces + 1)
        self._now = self._solve(self.puzzle, "as it is")
        return self._now

    def share_out(self, pieces: int) -> None:
        """Give the next of ``pieces`` its share of the time that is left."""
        if self._end is not None:
            now = time.monotonic()
            self._end_of_share = now + max(0.0, self._end - now) / pieces

    def at(self, piece: PieceSteps, length: int) -> Minimum:
        """The minimum with ``piece`` so long."""
        if length == piece.length and self._now is not None:
            return self._now
        told = f"{piece.name} {length / self.puzzle.grid:g} {self.puzzle.unit} long"
        return self._solve(_resized(self.puzzle, piece, length), told)

    def _solve(self, puzzle: Puzzle, told: str) -> Minimum:
        reason = self.stop() if self.stop is not None else None
        left = None if self._end_of_share is None else (self._end_of_share - time.monotonic()) * _MOST_SHARE
        if reason is not None or (left is not None and left <= 0):
            self.limit = reason or self.limit or "the time limit"
            return _UNKNOWN
        self.solved += 1
        if self.tell is not None:
            self.tell(f"{told} ({self.solved} lengths so far)")
        solution = solve(puzzle, seconds=left, tie_standings=0, tell=None, stop=self.stop)
        if solution.verdict is Verdict.IMPOSSIBLE:
            return Minimum(NO_PLAN, NO_PLAN)
        if solution.verdict is not Verdict.PROVED:
            self.limit = solution.limit
        assert solution.lower_bound is not None
        return Minimum(solution.lower_bound, solution.counts.moves if solution.counts else NO_PLAN)
