"""The work of every spot of a district: the proved minimum of each set-up, and the plain crew's moves."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from itertools import pairwise

from switchsolve.crew import plain_crew, runs_around
from switchsolve.district import Part
from switchsolve.facts.deciding import Answer, Prober
from switchsolve.facts.measuring import Measuring
from switchsolve.facts.probes import Bench, Entry, bench, entries
from switchsolve.facts.shape import spurs
from switchsolve.measuring.arrivals import Arrival, Task, among_neighbors, places_of
from switchsolve.measuring.fewest import MOST_IDLERS, fewest
from switchsolve.minutes import SpanOfTime, span_of
from switchsolve.plan import Solution, Verdict
from switchsolve.puzzle import Puzzle
from switchsolve.referee import Replay, replay
from switchsolve.solving import solve
from switchsolve.work import Place

__all__ = ["Minimum", "Row", "SpotWork", "measure_spots", "switches_back"]


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


@dataclass(frozen=True, slots=True)
class SpotWork:
    """All rows.  ``bench`` is ``None`` if there is no car or no locomotive to go by.  ``stopped``: what ended
    the work before all rows were done, else ``None``; ``wanted``: how many rows there are in all.
    """

    bench: Bench | None
    entries: tuple[Entry, ...] = ()
    places: tuple[Place, ...] = ()
    rows: tuple[Row, ...] = ()
    wanted: int = 0
    has_neighbors: bool = False
    stopped: str | None = None


def measure_spots(
    puzzle: Puzzle,
    *,
    tasks: tuple[Task, ...] = tuple(Task),
    seconds_each: float = 20.0,
    tell: Callable[[str], None] | None = None,
    stop: Callable[[], str | None] | None = None,
) -> SpotWork:
    """Measure each of ``tasks`` at every spot of ``puzzle``, from each entrance, in each order of the train.

    ``seconds_each`` limits each question put to the solver; ``tell`` hears of progress; ``stop`` is asked
    often whether to stop, and gives the reason: the rows done till then are kept.
    """
    found = bench(puzzle)
    if found is None:
        return SpotWork(None)
    ways = entries(puzzle, found.locomotive.name)
    places = places_of(puzzle)
    asked = [
        (place, Arrival(entry, is_ahead), task)
        for entry in ways
        for place in places
        for is_ahead in (False, True)
        for task in tasks
    ]
    asking = _Asking(puzzle, found, ways, seconds_each, tell, stop)
    rows: list[Row] = []
    for place, arrival, task in asked:
        asking.begin(f"{len(rows)} of {len(asked)}: {task} at {place} from {arrival.entry.track}")
        row = asking.row(place, arrival, task)
        if asking.stopped is not None:
            break
        rows.append(row)
    return SpotWork(
        found, ways, places, tuple(rows), len(asked), asking.neighbors is not None, asking.stopped
    )


class _Asking:
    """Puts the questions of all rows."""

    def __init__(
        self,
        puzzle: Puzzle,
        found: Bench,
        ways: tuple[Entry, ...],
        seconds: float,
        tell: Callable[[str], None] | None,
        stop: Callable[[], str | None] | None,
    ) -> None:
        self._bench = found
        self.neighbors = among_neighbors(puzzle, found)
        self._seconds = seconds
        self._tell = tell
        self._ask_stop = stop
        self.stopped: str | None = None
        self._dead_ends = frozenset(track.name for track in spurs(puzzle.district))
        self._shapes = Measuring(found, ways, Prober(seconds=1e9, seconds_each=seconds))
        self._ways_in: dict[tuple[Entry, str], int | None] = {}
        district = puzzle.district
        self._is_closed = any(district.cell_marks(cell).no_locomotives for cell in district.cells())

    def begin(self, what: str) -> None:
        """Tell what comes next."""
        if self._tell is not None:
            self._tell(what)

    def row(self, place: Place, arrival: Arrival, task: Task) -> Row:
        """One row (half done, and not to be used, if ``stopped`` is set meanwhile)."""
        way_in = self._way_in(arrival.entry, place.track)
        alone = self._minimum(self._bench, arrival, place, task)
        among = None
        if self.neighbors is not None and self.stopped is None:
            among = self._minimum(self.neighbors, arrival, place, task)
        return Row(place, arrival, task, way_in, alone, among)

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
        most = MOST_IDLERS if self._is_closed else 0
        found = fewest(ground, arrival, place, task, self._solve, most)
        if found is None:
            return Minimum(None)
        puzzle, solution, idlers = found
        return self._told(puzzle, solution, place, idlers)

    def _needs_dead_end(self, puzzle: Puzzle, replayed: Replay, own: str) -> bool | None:
        standing = {string.track for string in puzzle.start.strings}
        others = self._dead_ends - standing - {own}
        if not switches_back(puzzle, replayed, others):
            return False
        without = self._solve(_kept_out(puzzle, others))
        if without.verdict is Verdict.IMPOSSIBLE:
            return True
        if without.lower_bound is not None and without.lower_bound > replayed.counts.moves:
            return True
        return False if without.verdict is Verdict.PROVED else None

    def _solve(self, puzzle: Puzzle) -> Solution:
        return solve(
            puzzle, seconds=self._seconds, search="steady", tie_standings=0, stop=self._stop
        )

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
