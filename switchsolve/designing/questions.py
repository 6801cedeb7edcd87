"""What is asked of one arrangement, and the answer: pure functions that a process of its own can call.

Each question has a key, which two questions share only if they say the same: what is known of one is known of
the other, and answers can be kept in a file.  Rail that cannot matter is cut off beforehand
(:func:`~switchsolve.measuring.pieces.clipped`), so that arrangements which differ in nothing else ask the
same.
"""

from __future__ import annotations

import time
from collections.abc import Iterator
from dataclasses import dataclass, replace
from hashlib import sha256
from itertools import permutations
from math import ceil

from switchsolve.crew import plain_crew
from switchsolve.designing.answers import NO, UNKNOWN, YES, Answer, figure_of, proved, solved, told_of
from switchsolve.designing.loosening import is_loose
from switchsolve.facts import standards_met
from switchsolve.facts.deciding import Hints, decide
from switchsolve.facts.probes import Bench, Entry, train_probe, unused_names
from switchsolve.measuring.arrivals import Arrival, Task, task_puzzle
from switchsolve.measuring.fewest import MOST_IDLERS, fewest
from switchsolve.measuring.pieces import Minimum, clipped
from switchsolve.minutes import figures_of, seconds_of
from switchsolve.packing import pack
from switchsolve.plan import Counts
from switchsolve.puzzle import Puzzle
from switchsolve.puzzlefile import dumps
from switchsolve.rules import Rules
from switchsolve.work import EndsIn, Item, Place

__all__ = [
    "CrewQuestion",
    "Question",
    "SetUpsQuestion",
    "SpotQuestion",
    "StandardsQuestion",
    "WorkQuestion",
    "ask",
    "can_stand",
]


@dataclass(frozen=True, slots=True)
class WorkQuestion:
    """The fewest moves for the work of ``puzzle``; ``with_plan``: and the trips of the plan for it; if these
    are more than ``most_trips``, those of another with as few moves.
    """

    puzzle: Puzzle
    with_plan: bool = False
    most_trips: int | None = None

    def key(self) -> str:
        """What it says, in short."""
        return _key(f"work{_plan_key(self)}", self.puzzle)

    def answer(self, seconds: float | None) -> Answer:
        """The answer, as far as ``seconds`` allow."""
        if self.with_plan or is_loose(self.puzzle.district):
            return told_of(self.puzzle, solved(self.puzzle, seconds), self.most_trips, seconds)
        return Answer(figure_of(proved(self.puzzle, seconds)))


@dataclass(frozen=True, slots=True)
class SpotQuestion:
    """The fewest moves for one task at one spot; ``with_plan`` and ``most_trips`` as of
    :class:`WorkQuestion`.
    """

    bench: Bench
    arrival: Arrival
    place: Place
    task: Task
    with_plan: bool = False
    most_trips: int | None = None

    def key(self) -> str:
        """What it says, in short; the set-up that lets the locomotive end anywhere says all."""
        probe = task_puzzle(self.bench, self.arrival, self.place, self.task)
        told = f"{self.task} at {self.place}, {self.arrival.order}{_plan_key(self)}"
        return _key(told, probe or self.bench.puzzle)

    def cut_short(self) -> SpotQuestion:
        """The same question without rail that cannot matter."""
        probe = task_puzzle(self.bench, self.arrival, self.place, self.task)
        return self if probe is None else replace(self, bench=_clipped_bench(self.bench, probe))

    def answer(self, seconds: float | None) -> Answer:
        """The answer, as far as ``seconds`` allow; the time is for each set-up that it takes."""
        district = self.bench.district
        is_closed = any(district.cell_marks(cell).no_locomotives for cell in district.cells())
        most_idlers = MOST_IDLERS if is_closed else 0
        with_plan = self.with_plan or is_loose(district)
        prove = solved if with_plan else proved
        found = fewest(
            self.bench, self.arrival, self.place, self.task, lambda one: prove(one, seconds), most_idlers
        )
        if found is None:
            return NO
        puzzle, solution, _ = found
        if with_plan:
            return told_of(puzzle, solution, self.most_trips, seconds)
        return Answer(figure_of(solution))


@dataclass(frozen=True, slots=True)
class SetUpsQuestion:
    """Whether every set-up of up to ``cars`` cars can be done, each car at one of ``places``."""

    bench: Bench
    entry: Entry
    places: tuple[Place, ...]
    cars: int

    def key(self) -> str:
        """What it says, in short."""
        names = ", ".join(map(str, self.places))
        return _key(f"set-ups of {self.cars} at {names}", self.probe(self.places[: self.cars]))

    def cut_short(self) -> SetUpsQuestion:
        """The same question without rail that cannot matter."""
        return replace(self, bench=_clipped_bench(self.bench, self.probe(self.places[: self.cars])))

    def probe(self, wanted: tuple[Place, ...]) -> Puzzle:
        """The set-up in which the cars, read from the locomotive, go to the places ``wanted``."""
        names = unused_names(self.bench, "car", len(wanted))
        items: list[Item] = [EndsIn(name, (place,)) for name, place in zip(names, wanted, strict=True)]
        return train_probe(self.bench, self.entry, names, items, is_ahead=False)

    def set_ups(self) -> Iterator[Puzzle]:
        """All of them.  Where nothing is closed to anybody those with most cars are enough, for a car fewer
        never makes the work harder.
        """
        most = min(self.cars, len(self.places))
        probe = self.probe(self.places[:most])
        sizes = [most] if all(pack(probe).all_may_touch) else range(1, most + 1)
        for size in sizes:
            for wanted in permutations(self.places, size):
                yield self.probe(wanted)

    def answer(self, seconds: float | None) -> Answer:
        """The answer, as far as ``seconds`` for each set-up allow."""
        is_decided = True
        for puzzle in self.set_ups():
            found = decide(puzzle, Hints(counts_moves=False), seconds=seconds).is_possible
            if found is False:
                return NO
            is_decided = is_decided and found is not None
        return YES if is_decided else UNKNOWN


@dataclass(frozen=True, slots=True)
class CrewQuestion:
    """How long a plain crew takes for the work of ``puzzle``, by its time figures."""

    puzzle: Puzzle

    def key(self) -> str:
        """What it says, in short."""
        return _key("plain crew", self.puzzle)

    def answer(self, seconds: float | None) -> Answer:
        """Thousandths of a second, rounded up; never if the crew gives up."""
        found = plain_crew(self.puzzle, seconds_each=seconds)
        if found.counts is None:
            return NO if found.is_decided else UNKNOWN
        if not found.is_decided:
            return UNKNOWN
        best = solved(self.puzzle, seconds)
        taken = self._thousandths(found.counts)
        at_best = self._thousandths(best.counts) if best.counts is not None else None
        return Answer(Minimum(taken, taken), at_best=at_best)

    def _thousandths(self, counts: Counts) -> int:
        return ceil(1000 * seconds_of(figures_of(self.puzzle), counts))


@dataclass(frozen=True, slots=True)
class StandardsQuestion:
    """Whether the client's standards are met by ``puzzle``."""

    puzzle: Puzzle

    def key(self) -> str:
        """What it says, in short."""
        return _key("standards", self.puzzle)

    def answer(self, seconds: float | None) -> Answer:
        """The answer, as far as ``seconds`` allow."""
        met = standards_met(self.puzzle, seconds=seconds)
        return UNKNOWN if met is None else YES if met else NO


Question = WorkQuestion | SpotQuestion | SetUpsQuestion | CrewQuestion | StandardsQuestion


def ask(question: Question, end: float | None) -> Answer:
    """The answer to ``question``, as far as it can be proved until ``end`` (by the clock of
    :func:`time.time`, which all processes share; ``None``: as long as it takes).
    """
    if end is None:
        return question.answer(None)
    left = end - time.time()
    return question.answer(left) if left > 0 else UNKNOWN


def can_stand(puzzle: Puzzle) -> bool:
    """Whether everybody has room where the file has them at the start."""
    return next(iter(Rules(pack(puzzle)).starts()), None) is not None


def _key(kind: str, puzzle: Puzzle) -> str:
    return sha256(f"{kind}\n{dumps(replace(puzzle, title='', notes={}))}".encode()).hexdigest()


def _clipped_bench(bench: Bench, probe: Puzzle) -> Bench:
    return bench.on(clipped(bench.puzzle, probe).district)


def _plan_key(question: WorkQuestion | SpotQuestion) -> str:
    if not question.with_plan:
        return ""
    return ", with plan" + ("" if question.most_trips is None else f" of {question.most_trips} trips")
