"""The policy of a plain crew, and the plan that comes of it.

One item after the other, no two planned together, no thought for what comes after:

1.  From the present standing the crew looks at each item not yet done and takes the fewest moves that do
    *it alone*: every other car ends on the track where it stands now, cars already brought to their place
    stay there, and the locomotive ends wholly on one track, in the clear.  A car to be picked up is an item
    too: it is brought to the track that its train leaves from.
2.  Items that need no run-around come first (what trails), then the others; of those the one with the fewest
    moves, then the first in the file.  The crew does it and looks again.
3.  An item that cannot be done alone now is put off.  If no item can be done alone, the crew tries two at
    once, each pair in the order of the file, and chooses in the same way.  If no pair can be done either it
    gives up, and says what is left.
4.  Last comes what the file asks of trains and locomotives: the train is made up, whatever is to be clear is
    cleared, the locomotive goes where it is wanted.  If the file asks nothing of them, the last item is done
    without a thought for where the locomotive ends: it may stay foul.

Moves count on over all items, as the referee counts them: to go on in the direction of the last motion costs
nothing.  Of several plans with as few moves the crew takes the one that the search finds, if it leaves the
locomotive in the clear, else the one for the first track in the file on which it can end after one move more
at most (if there is none, for the one that takes the fewest).
With several locomotives one works at a time, the first in the file if it takes no more moves than another;
the rest end on their tracks.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from itertools import combinations, product

from switchsolve.crew.errands import Errand, errand_puzzle, errands_of
from switchsolve.crew.standing import first_standpoint, next_standpoint
from switchsolve.crew.weighing import Attempt, Question
from switchsolve.effort import runs_around
from switchsolve.errors import PlanError
from switchsolve.plan import Counts, Plan, Verdict
from switchsolve.puzzle import Puzzle
from switchsolve.referee import Replay, replay
from switchsolve.solving import Proof, prove
from switchsolve.work import AnyCars, EndsIn, LocomotiveEnds, Place, Train

__all__ = ["CrewResult", "CrewStep", "plain_crew"]

_ONE_MORE = 1
"""Moves more than the fewest that the crew takes for an end in the clear without looking at other tracks."""


@dataclass(frozen=True, slots=True)
class CrewStep:
    """One thing done: ``errands`` in words, the moves it added, and whether it took a run-around."""

    errands: tuple[str, ...]
    moves: int
    runs_around: bool


@dataclass(frozen=True, slots=True)
class CrewResult:
    """What the crew did.

    ``plan`` does all the work, and the referee has replayed it as a whole (``counts``); ``None`` if the crew
    gave up.  ``steps`` in the order in which they were done; the last one is what the file asks of trains and
    locomotives, with the last errand if it asks nothing.  ``left``: items that were not done.  ``told``: why
    the crew gave up, else empty.  ``is_decided``: no question was given up for want of time, so that another
    run comes to the same.
    """

    plan: Plan | None
    counts: Counts | None
    steps: tuple[CrewStep, ...] = ()
    left: tuple[str, ...] = ()
    told: str = ""
    is_decided: bool = True


def plain_crew(
    puzzle: Puzzle,
    *,
    seconds_each: float | None = 30.0,
    tell: Callable[[str], None] | None = None,
    stop: Callable[[], str | None] | None = None,
) -> CrewResult:
    """Do the work of ``puzzle`` by the policy above.

    ``seconds_each`` limits each question (``None``: no limit); one that it stops counts as *cannot be done
    alone now*.  ``tell`` hears of progress; ``stop`` is asked whether to stop, as in
    :func:`~switchsolve.solving.solve`.  Raises :class:`~switchsolve.errors.PlanError` if the referee rejects
    the plan of one step (a defect in this package).
    """
    return _Crew(puzzle, seconds_each, tell, stop).work()


class _Crew:
    """The crew at work."""

    def __init__(
        self,
        puzzle: Puzzle,
        seconds_each: float | None,
        tell: Callable[[str], None] | None,
        stop: Callable[[], str | None] | None,
    ) -> None:
        self._puzzle = puzzle
        self._seconds = seconds_each
        self._tell = tell
        self._stop = stop
        self._point = first_standpoint(puzzle)
        self._left = list(errands_of(puzzle))
        self._done: dict[str, Place] = {}
        self._plans: list[Plan] = []
        self._steps: list[CrewStep] = []
        self._is_decided = True

    def work(self) -> CrewResult:
        """Everything in order."""
        while self._left and not self._is_last():
            chosen = self._choose()
            if chosen is None:
                return self._given_up("none of these can be done now, alone or two at once")
            self._do(chosen)
        return self._leave()

    def _is_last(self) -> bool:
        """Whether one item is left, after which nothing is asked of the locomotives."""
        asked = any(isinstance(item, Train | LocomotiveEnds) for item in self._puzzle.work.items)
        return len(self._left) == 1 and not asked

    def _given_up(self, told: str) -> CrewResult:
        left = tuple(errand.text for errand in self._left)
        return CrewResult(None, None, tuple(self._steps), left, told, self._is_decided)

    def _choose(self) -> Attempt | None:
        """What to do next: one errand, or two where none can be done alone."""
        for size in (1, 2):
            best: Attempt | None = None
            for question in sorted(self._questions(size), key=lambda one: (one.least, one.number)):
                if best is not None and question.is_beaten_by(best):
                    continue
                found = self._attempt(question)
                if found is not None and (best is None or found.rank < best.rank):
                    best = found
            if best is not None:
                return best
        return None

    def _questions(self, size: int) -> Iterator[Question]:
        """Each errand, or each pair, with each locomotive, if it can be done at all."""
        rows = product(combinations(self._left, size), self._puzzle.locomotives)
        for number, (errands, worker) in enumerate(rows):
            puzzle = self._with_end(errands, worker.name, None)
            proof = self._prove(puzzle)
            least = self._moves(proof)
            if least is not None:
                yield Question(number, errands, worker, puzzle, proof, least)

    def _do(self, attempt: Attempt) -> None:
        for errand in attempt.errands:
            self._left.remove(errand)
        self._point = attempt.point
        self._plans.append(attempt.plan)
        for errand in attempt.errands:
            car, place = self._brought(errand)
            self._done[car] = place
        texts = tuple(errand.text for errand in attempt.errands)
        self._steps.append(CrewStep(texts, attempt.moves, attempt.runs_around))

    def _brought(self, errand: Errand) -> tuple[str, Place]:
        """The car of an errand just run, and where it is now."""
        item = errand.item
        if isinstance(item, EndsIn):
            place = next(place for place in item.places if self._point.is_at(self._puzzle, item.car, place))
            return item.car, place
        cars = (
            car.name
            for car in self._puzzle.cars
            if car.kind == item.kind and self._puzzle.work.of_car(car.name) is None
        )
        where = item.place
        name = next(
            car for car in cars if car not in self._done and self._point.is_at(self._puzzle, car, where)
        )
        return name, where

    # ---- one question

    def _attempt(self, question: Question) -> Attempt | None:
        """The errands with the fewest moves, the locomotive in the clear at the end."""
        best = self._tried(question, question.puzzle, question.proof)
        for track in self._tracks_for(question):
            if best is not None and best.moves <= question.least + _ONE_MORE:
                break
            there = self._with_end(question.errands, question.worker.name, track)
            proof = self._prove(there)
            moves = self._moves(proof)
            if moves is not None and (best is None or moves < best.moves):
                best = self._tried(question, there, proof) or best
        return best

    def _with_end(self, errands: tuple[Errand, ...], worker: str, track: str | None) -> Puzzle:
        tracks = {one.name for one in self._puzzle.district.tracks}
        ends: dict[str, str | None] = {}
        for locomotive in self._puzzle.locomotives:
            stands = self._point.track_of[locomotive.name]
            ends[locomotive.name] = stands if stands in tracks else None
        return errand_puzzle(self._puzzle, self._point, self._done, errands, ends | {worker: track})

    def _tracks_for(self, question: Question) -> Iterator[str]:
        """The tracks on which the locomotive may end, and has room beside the cars that stay there."""
        staying: Counter[str] = Counter()
        brought = {errand.item.car for errand in question.errands if isinstance(errand.item, EndsIn)}
        kinds = {errand.item.kind for errand in question.errands if isinstance(errand.item, AnyCars)}
        for car in self._puzzle.cars:
            if car.name not in brought and car.kind not in kinds:
                staying[self._point.track_of[car.name]] += car.length
        for track in self._puzzle.district.tracks:
            has_room = track.length >= staying[track.name] + question.worker.length
            if has_room and not all(part.marks.no_locomotives for part in track.parts):
                yield track.name

    def _tried(self, question: Question, puzzle: Puzzle, proof: Proof) -> Attempt | None:
        """The attempt that the plan for ``proof`` makes, if it leaves every string on one track."""
        moves = self._moves(proof)
        plan = None if moves is None else proof.planned().plan
        replayed = proof.replayed()
        if moves is None or plan is None or replayed is None:
            return None
        point = next_standpoint(self._puzzle, self._point, plan, replayed)
        if point is None:
            return None
        passes = runs_around(puzzle, replayed)
        return Attempt(question.number, question.errands, moves, passes, plan, point)

    def _moves(self, proof: Proof) -> int | None:
        """The moves that a proved plan adds to those made so far."""
        if proof.moves is None:
            return None
        return proof.moves - len(self._point.start.under_way) + self._is_first_under_way()

    def _is_first_under_way(self) -> int:
        """A locomotive under way at the very start is in a move that counts."""
        return 0 if self._plans else len(self._puzzle.start.under_way)

    def _prove(self, puzzle: Puzzle) -> Proof:
        """The answer; no moves if there is no room for the start or the proof was stopped."""
        proof = prove(puzzle, seconds=self._seconds, tell=self._tell, stop=self._stop)
        if proof.verdict in (Verdict.BEST_FOUND, Verdict.GAVE_UP):
            self._is_decided = False
        return proof

    # ---- the end

    def _leave(self) -> CrewResult:
        """The last step: the work of the file, all of it, from where things stand now."""
        last = replace(self._puzzle, start=self._point.start, district=self._point.district)
        proof = self._prove(last)
        moves = self._moves(proof)
        last_plan = None if moves is None else proof.planned().plan
        seen = proof.replayed()
        if moves is None or last_plan is None or seen is None:
            return self._given_up("the last step cannot be done from where things stand then")
        passes = runs_around(last, seen)
        self._plans.append(last_plan)
        self._steps.append(CrewStep(tuple(errand.text for errand in self._left), moves, passes))
        runs = tuple(run for plan in self._plans for run in plan.runs)
        plan = Plan(self._plans[0].start, runs, last_plan.final_cuts)
        try:
            replayed: Replay = replay(self._puzzle, plan)
        except PlanError as error:
            return self._given_up(f"each item is done, but not the whole: {error}")
        return CrewResult(plan, replayed.counts, tuple(self._steps), is_decided=self._is_decided)

