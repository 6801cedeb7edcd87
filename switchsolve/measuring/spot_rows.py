"""One row of the work of the spots: a task at a spot, its proved minimum, and the plain crew's moves."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from itertools import pairwise

from switchsolve.crew import plain_crew, runs_around
from switchsolve.district import Part
from switchsolve.facts.deciding import Answer, Prober
from switchsolve.facts.measuring import Measuring
from switchsolve.facts.probes import Bench, Entry
from switchsolve.facts.shape import spurs
from switchsolve.measuring.arrivals import Arrival, Task, among_neighbors
from switchsolve.measuring.fewest import MOST_IDLERS, fewest
from switchsolve.minutes import SpanOfTime, span_of
from switchsolve.plan import Solution, Verdict
from switchsolve.puzzle import Puzzle
from switchsolve.referee import Replay, replay
from switchsolve.solving import Proof, prove
from switchsolve.work import Place

__all__ = ["Minimum", "Row", "SpotAsker", "switches_back"]


@dataclass(frozen=True, slots=True)
class Minimum:
    """The answer for one set-up.

    ``verdict`` is ``None`` where there is no room for the car that is to stand at the spot.  ``moves``: those
    of the plan, proved the fewest if the verdict says so; ``bound``: no plan has fewer.  ``runs_around``
    tells of that plan.  ``switches_back``: with cars kept out of every other dead end than the spot's own it
    would take more moves, or be impossible (``None``: not known).  ``crew``: the plain crew's moves
    (``None``: it gave up).
    ``idlers``: cars needed to reach in where the locomotive may not go.  ``span``: the range of time, as a
    job by itself, the list read once (``None``: there is no plan).
    """

    verdict: Verdict | None
    moves: int | None = None
    bound: int | None = None
    runs_around: bool | None = None
    switches_back: bool | None = None
    crew: int | None = None
    idlers: int = 0
    span: SpanOfTime | None = None

    @property
    def proved(self) -> int | None:
        """The proved minimum, or ``None``."""
        return self.moves if self.verdict is Verdict.PROVED else None

    @property
    def is_settled(self) -> bool:
        """Whether nothing is left to prove."""
        return self.verdict in (None, Verdict.PROVED, Verdict.IMPOSSIBLE)


@dataclass(frozen=True, slots=True)
class Row:
    """One task at one spot: in the empty district (``alone``), and among the file's own cars (``None``: there
    are none).  ``way_in``: the fewest moves of a locomotive from the entrance wholly into the track, 1 for a
    facing spur and 2 for a trailing one (``None``: no way in, or not known).
    """

    place: Place
    arrival: Arrival
    task: Task
    way_in: int | None
    alone: Minimum
    among: Minimum | None

    @property
    def added(self) -> int | None:
        """The moves that neighbors in the way add, where both are proved."""
        if self.among is None or self.among.proved is None or self.alone.proved is None:
            return None
        return self.among.proved - self.alone.proved

    @property
    def is_settled(self) -> bool:
        """Whether nothing is left to prove."""
        return self.alone.is_settled and (self.among is None or self.among.is_settled)


class _Stopped(Exception):
    """Out of a row whose questions are not to be put any more."""


class SpotAsker:
    """Puts the questions of rows; ``seconds`` limits each.  ``stopped``: why no more is asked, if so."""

    def __init__(
        self,
        puzzle: Puzzle,
        found: Bench,
        ways: tuple[Entry, ...],
        seconds: float,
        stop: Callable[[], str | None] | None,
    ) -> None:
        self._bench = found
        self._neighbors = among_neighbors(puzzle, found)
        self._seconds = seconds
        self._ask_stop = stop
        self.stopped: str | None = None
        self._dead_ends = frozenset(track.name for track in spurs(puzzle.district))
        self._shapes = Measuring(found, ways, Prober(seconds=1e9, seconds_each=seconds))
        self._ways_in: dict[tuple[Entry, str], int | None] = {}
        district = puzzle.district
        self._is_closed = any(district.cell_marks(cell).no_locomotives for cell in district.cells())

    def row(self, place: Place, arrival: Arrival, task: Task) -> Row | None:
        """One row; ``None`` if ``stopped`` is set meanwhile."""
        try:
            row = self._row(place, arrival, task)
        except _Stopped:
            return None
        return row if self.stopped is None else None

    def _row(self, place: Place, arrival: Arrival, task: Task) -> Row:
        way_in = self._way_in(arrival.entry, place.track)
        alone = self._minimum(self._bench, arrival, place, task)
        among = None
        if self._neighbors is not None:
            among = self._minimum(self._neighbors, arrival, place, task)
        return Row(place, arrival, task, way_in, alone, among)

    @property
    def has_neighbors(self) -> bool:
        """Whether the file has cars of its own to be among."""
        return self._neighbors is not None

    def _way_in(self, entry: Entry, track: str) -> int | None:
        if (entry, track) not in self._ways_in:
            answer: Answer = self._shapes.reached(entry, self._bench.district.track(track))
            self._ways_in[entry, track] = answer.moves
        return self._ways_in[entry, track]

    def _stop(self) -> str | None:
        if self._ask_stop is not None:
            self.stopped = self.stopped or self._ask_stop()
        return self.stopped

    def _minimum(self, ground: Bench, arrival: Arrival, place: Place, task: Task) -> Minimum:
        """With as few idlers as will do (none are tried where nothing is closed to locomotives)."""
        proofs: list[tuple[Puzzle, Proof]] = []

        def asked(puzzle: Puzzle) -> Solution:
            proofs.append((puzzle, self._proof(puzzle)))
            return _bare(proofs[-1][1])

        found = fewest(ground, arrival, place, task, asked, MOST_IDLERS if self._is_closed else 0)
        if found is None:
            return Minimum(None)
        puzzle, solution, idlers = found
        if solution.verdict is Verdict.PROVED and self._stop() is None:
            solution = next(proof for one, proof in proofs if one is puzzle).planned()
        return self._told(puzzle, solution, place, idlers)

    def _needs_dead_end(self, puzzle: Puzzle, replayed: Replay, own: str) -> bool | None:
        standing = {string.track for string in puzzle.start.strings}
        others = self._dead_ends - standing - {own}
        if not switches_back(puzzle, replayed, others):
            return False
        without = _bare(self._proof(_kept_out(puzzle, others)))
        if without.verdict is Verdict.IMPOSSIBLE:
            return True
        if without.lower_bound is not None and without.lower_bound > replayed.counts.moves:
            return True
        return False if without.verdict is Verdict.PROVED else None

    def _proof(self, puzzle: Puzzle) -> Proof:
        """What is proved.  A question put after a stop would still look for any plan, for seconds."""
        if self._stop() is not None:
            raise _Stopped
        return prove(puzzle, seconds=self._seconds, stop=self._stop)

    def _told(self, puzzle: Puzzle, solution: Solution, place: Place, idlers: int) -> Minimum:
        moves = None if solution.counts is None else solution.counts.moves
        if self._stop() is not None or solution.plan is None:
            return Minimum(solution.verdict, moves, solution.lower_bound)
        replayed = replay(puzzle, solution.plan)
        crew = plain_crew(puzzle, seconds_each=self._seconds, stop=self._stop)
        return Minimum(
            solution.verdict,
            moves,
            solution.lower_bound,
            runs_around(puzzle, replayed),
            self._needs_dead_end(puzzle, replayed, place.track),
            None if crew.counts is None else crew.counts.moves,
            idlers,
            span_of(puzzle, replayed.counts, crew.counts),
        )


def _bare(proof: Proof) -> Solution:
    """What is proved, without a plan; the whole answer only where nothing is."""
    return proof.planned() if proof.moves is None else Solution(Verdict.PROVED, proof.moves)


def _kept_out(puzzle: Puzzle, tracks: frozenset[str]) -> Puzzle:
    """The puzzle with its cars barred from ``tracks``."""
    kinds = frozenset(car.kind for car in puzzle.cars)
    district = puzzle.district
    barred = tuple(
        replace(track, parts=tuple(_barred(part, kinds) for part in track.parts))
        if track.name in tracks
        else track
        for track in district.tracks
    )
    return replace(puzzle, district=replace(district, tracks=barred))


def _barred(part: Part, kinds: frozenset[str]) -> Part:
    return replace(part, marks=replace(part.marks, barred=part.marks.barred | kinds))


def switches_back(puzzle: Puzzle, replayed: Replay, dead_ends: frozenset[str]) -> bool:
    """Whether a locomotive with a car coupled to it reverses with its leading end on one of ``dead_ends``."""
    cars = {car.name for car in puzzle.cars}
    for before, following in pairwise(replayed.frames[1:]):
        if following.reversing and cars & set(before.moving):
            string = next(one for one in before.standing if one.vehicles == before.moving)
            if string.ways[-1].cell.place in dead_ends:
                return True
    return False
