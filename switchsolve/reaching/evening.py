"""How many of the cars of the work can be done in so many minutes: the most that any plan can, and a plain
crew.

**The most.**  Sets of tasks are tried by size, from all of them downwards; what is not in the set is skipped
(:mod:`switchsolve.skipping`).  The first size of which a set fits is the most, proved if every larger set was
proved not to fit.  A set fits if a plan for it takes no longer by the time figures of the file.  It is asked
for the fewest moves first: their plan may do, or so many moves may take too long by themselves; only in
between it is asked for the least time.

**A plain crew** (:mod:`switchsolve.crew`) works the whole list in its own order.  Given less time it does the
first so many of that order, and skips the rest.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from fractions import Fraction
from itertools import combinations

from switchsolve.crew import CrewResult, plain_crew
from switchsolve.objectives import objective_of
from switchsolve.plan import Counts, Solution, Verdict
from switchsolve.puzzle import Puzzle
from switchsolve.skipping import Task, skipped, tasks_of
from switchsolve.solving import Allowance, solve

__all__ = ["Evening", "cars_in"]


@dataclass(frozen=True, slots=True)
class Evening:
    """What was found for ``seconds``; ``tasks``: how many there are.

    ``most``: a plan for so many was found (``None``: for none, not even for nothing at all), those of
    ``done``, in ``takes`` seconds; no plan does more than ``at_most`` (proved).  ``crew``: how many a plain
    crew does, and ``crew_takes``; ``None``: not known, it gave up or was stopped.  ``stopped``: what
    stopped it, if anything.
    """

    seconds: Fraction
    tasks: int
    most: int | None
    at_most: int
    done: tuple[Task, ...]
    takes: Fraction | None
    crew: int | None
    crew_takes: Fraction | None
    stopped: str | None = None

    @property
    def is_proved(self) -> bool:
        """Whether the most is known."""
        return self.most == self.at_most or (self.most is None and self.at_most < 0)


def cars_in(
    puzzle: Puzzle,
    minutes: Fraction,
    *,
    seconds: float | None = None,
    seconds_each: float = 20.0,
    tell: Callable[[str], None] | None = None,
    stop: Callable[[], str | None] | None = None,
) -> Evening:
    """How many tasks can be done in ``minutes``, which are those of the work.

    ``seconds`` limits the computing, all together, and ``seconds_each`` each question; ``tell`` hears of
    progress, ``stop`` gives a reason to stop, or ``None``.
    """
    return _Asker(puzzle, minutes * 60, seconds, seconds_each, tell, stop).ask()


class _Asker:
    """The questions about one set-up."""

    def __init__(
        self,
        puzzle: Puzzle,
        allowed: Fraction,
        seconds: float | None,
        seconds_each: float,
        tell: Callable[[str], None] | None,
        stop: Callable[[], str | None] | None,
    ) -> None:
        self._puzzle = puzzle
        self._allowed = allowed
        self._each = seconds_each
        self._time = Allowance(seconds, tell, stop)
        self._tasks = tasks_of(puzzle)

    def ask(self) -> Evening:
        """The plain crew first, for what it does can be done; then from all tasks downwards."""
        crew, crew_takes, order = self._crew()
        floor = -1 if crew is None else crew
        at_most = len(self._tasks)
        for size in range(len(self._tasks), -1, -1):
            found, is_excluded = self._of_size(size)
            if found is not None:
                done, takes = found
                return self._evening(size, at_most, done, takes, crew, crew_takes)
            if is_excluded and at_most == size:
                at_most = size - 1
            if size <= floor or self._time.is_over():
                break
        if crew is None:
            return self._evening(None, at_most, (), None, crew, crew_takes)
        return self._evening(crew, at_most, order[:crew], crew_takes, crew, crew_takes)

    def _evening(
        self,
        most: int | None,
        at_most: int,
        done: tuple[Task, ...],
        takes: Fraction | None,
        crew: int | None,
        crew_takes: Fraction | None,
    ) -> Evening:
        return Evening(
            self._allowed, len(self._tasks), most, at_most, done, takes, crew, crew_takes, self._time.stopped
        )

    def _share(self) -> float:
        share = self._time.share(most=self._each)
        assert share is not None
        return share

    # ---- the most

    def _of_size(self, size: int) -> tuple[tuple[tuple[Task, ...], Fraction] | None, bool]:
        """A set of that size that fits, with its time; else whether every one is proved not to."""
        is_excluded = True
        for done in combinations(self._tasks, size):
            if self._time.is_over():
                return None, False
            told = ", ".join(map(str, done)) or "nothing"
            self._time.say(f"{size} of {len(self._tasks)}: {told}")
            takes, is_out = self._fits(self._only(done))
            if takes is not None:
                return (done, takes), False
            is_excluded = is_excluded and is_out
        return None, is_excluded

    def _only(self, done: tuple[Task, ...]) -> Puzzle:
        return skipped(self._puzzle, [task for task in self._tasks if task not in done])

    def _fits(self, puzzle: Puzzle) -> tuple[Fraction | None, bool]:
        """The time of a plan that is short enough; else whether there is none, proved."""
        answer = self._solve(puzzle, "moves")
        if answer.verdict is Verdict.IMPOSSIBLE:
            return None, True
        if answer.counts is not None and _seconds(puzzle, answer.counts) <= self._allowed:
            return _seconds(puzzle, answer.counts), False
        if _for_moves(puzzle, answer.lower_bound or 0) > self._allowed:
            return None, True
        answer = self._solve(puzzle, "minutes")
        if answer.value is not None and answer.value <= self._allowed:
            return Fraction(answer.value), False
        return None, answer.value_bound is not None and answer.value_bound > self._allowed

    def _solve(self, puzzle: Puzzle, objective: str) -> Solution:
        return solve(
            puzzle,
            objective=objective,
            seconds=self._share(),
            tie_standings=0,
            tell=self._time.tell,
            stop=self._time.stop,
        )

    # ---- a plain crew

    def _crew(self) -> tuple[int | None, Fraction | None, tuple[Task, ...]]:
        """How many tasks the crew does in time, how long that takes, and its order of all tasks."""
        whole = self._work(self._puzzle)
        order = self._order(whole)
        for size in range(len(order), -1, -1):
            if self._time.is_over():
                return None, None, order
            result = whole if size == len(order) else self._work(self._only(order[:size]))
            if result.counts is not None:
                takes = _seconds(self._puzzle, result.counts)
                if takes <= self._allowed:
                    return size, takes, order
        return None, None, order

    def _work(self, puzzle: Puzzle) -> CrewResult:
        self._time.say("a plain crew at work")
        return plain_crew(puzzle, seconds_each=self._share(), tell=self._time.tell, stop=self._time.stop)

    def _order(self, result: CrewResult) -> tuple[Task, ...]:
        """The tasks as the crew does them; those that it left come last."""
        texts = [*(text for step in result.steps for text in step.errands), *result.left]
        left, order = list(self._tasks), []
        for text in texts:
            for task in left:
                if text == str(task) or text.startswith(f"{task} to "):
                    order.append(task)
                    left.remove(task)
                    break
        return (*order, *left)


def _seconds(puzzle: Puzzle, counts: Counts) -> Fraction:
    """The time of a plan by the figures of the file."""
    objective = objective_of(puzzle, "minutes")
    return Fraction(objective.shown(objective.rows[0].of(counts)))


def _for_moves(puzzle: Puzzle, moves: int) -> Fraction:
    """What so many moves take by themselves, nothing run or coupled."""
    return _seconds(puzzle, Counts(moves, 0, 0, 0, 0, 0, 0, 0))
