"""Every nuisance removed by itself, and the work solved again: how many moves it costs.

Savings do not add up: two nuisances can cost the same moves, so that removing either saves none and
removing both saves some, or removing either saves all.
"""

from __future__ import annotations

from collections.abc import Callable, Collection
from dataclasses import dataclass

from switchsolve.nuisances.listing import Kind, Nuisance, nuisances_of
from switchsolve.ordering import CannotReorder, Ordering, in_every_order, list_orders, train_cars
from switchsolve.plan import Solution, Verdict
from switchsolve.puzzle import Puzzle
from switchsolve.solving import Allowance, Figure, fewest_moves, solve
from switchsolve.spreading import spread

__all__ = ["Weighed", "Weighing", "weigh"]

_FIRST_SHARE = 0.3
"""The share of the time that the work as it is may take."""


@dataclass(frozen=True, slots=True)
class Weighed:
    """One nuisance removed.  ``moves``: of the plan found; ``bound``: no plan has fewer (``None``:
    impossible).

    ``saved``: moves fewer than now, proved; ``None`` if either is not proved, or one of them is impossible.
    """

    nuisance: Nuisance
    verdict: Verdict
    moves: int | None
    bound: int | None
    saved: int | None


@dataclass(frozen=True, slots=True)
class Weighing:
    """What was found.  ``now``: the work as it is.  ``left_out``: nuisances not removed, each with its
    reason.

    ``ordering``: every order of the train, if it has more than one.  ``stopped``: what stopped it, if
    anything.
    """

    now: Solution
    weighed: tuple[Weighed, ...]
    left_out: tuple[Nuisance, ...] = ()
    ordering: Ordering | None = None
    stopped: str | None = None

    @property
    def savings(self) -> tuple[Weighed, ...]:
        """What saves moves for certain, or makes impossible work possible, the most first; skips apart."""
        return self._gains(lambda one: one.nuisance.kind is not Kind.SKIP)

    @property
    def skips(self) -> tuple[Weighed, ...]:
        """The tasks that save moves, or make impossible work possible, if skipped; the most first."""
        return self._gains(lambda one: one.nuisance.kind is Kind.SKIP)

    def _gains(self, wanted: Callable[[Weighed], bool]) -> tuple[Weighed, ...]:
        if self.now.verdict is Verdict.IMPOSSIBLE:
            found = [one for one in self.weighed if wanted(one) and one.moves is not None]
            return tuple(sorted(found, key=lambda one: one.moves or 0))
        found = [one for one in self.weighed if wanted(one) and (one.saved or 0) > 0]
        return tuple(sorted(found, key=lambda one: -(one.saved or 0)))

    @property
    def is_proved(self) -> bool:
        """Whether the work as it is and every change are decided."""
        decided = {Verdict.PROVED, Verdict.IMPOSSIBLE}
        verdicts = [self.now.verdict, *(one.verdict for one in self.weighed)]
        return self.stopped is None and decided.issuperset(verdicts)


def weigh(
    puzzle: Puzzle,
    *,
    kinds: Collection[Kind] = tuple(Kind),
    seconds: float | None = None,
    workers: int = 1,
    tell: Callable[[str], None] | None = None,
    stop: Callable[[], str | None] | None = None,
) -> Weighing:
    """Solve the work as it is, then without each nuisance (the order of the train: in its best order).

    ``kinds``: those to look at (all of them); the others are neither weighed nor told as left out.
    ``seconds`` limits all together: the work as it is has three tenths, each change an equal share of what is
    left when its turn comes.  ``workers``: processes at most.  ``tell`` hears of progress; ``stop`` gives a
    reason to stop, or ``None``.  Raises ``BrokenExecutor`` if a process is lost.
    """
    return _Weigher(puzzle, kinds, workers, Allowance(seconds, tell, stop)).weigh()


def _without(
    nuisance: Nuisance,
    seconds: float | None,
    tell: Callable[[str], None] | None,
    stop: Callable[[], str | None] | None,
) -> Figure:
    """The work without one nuisance."""
    assert nuisance.without is not None
    return fewest_moves(nuisance.without, seconds=seconds, tell=tell, stop=stop)


class _Weigher:
    """The changes of one set-up, solved within the time there is."""

    def __init__(
        self,
        puzzle: Puzzle,
        kinds: Collection[Kind],
        workers: int,
        allowed: Allowance,
    ) -> None:
        self._puzzle = puzzle
        self._kinds = kinds
        self._workers = workers
        self._allowed = allowed

    def weigh(self) -> Weighing:
        """Everything in order."""
        seconds = self._allowed.seconds
        now = self._solved(self._puzzle, None if seconds is None else seconds * _FIRST_SHARE)
        found = [one for one in nuisances_of(self._puzzle) if one.kind in self._kinds]
        changes = [one for one in found if one.without is not None]
        orders = self._number_of_orders()
        answers = spread(
            _without, changes, self._allowed, workers=self._workers, kept=orders, told="without {}".format
        )
        weighed = [_weighed(now, nuisance, answer) for nuisance, answer in answers]
        ordering = self._ordered() if orders and not self._allowed.is_over() else None
        if ordering is not None:
            weighed.append(_best_order(now, ordering))
        left_out = tuple(one for one in found if one.without is None)
        return Weighing(now, tuple(weighed), left_out, ordering, self._allowed.stopped)

    def _number_of_orders(self) -> int:
        """How many orders of the train there are to try; 0 if it has just one, or there is no one train."""
        if Kind.ORDER not in self._kinds:
            return 0
        try:
            orders = list_orders(train_cars(self._puzzle)).orders
        except CannotReorder:
            return 0
        return len(orders) if len(orders) > 1 else 0

    def _ordered(self) -> Ordering:
        allowed = self._allowed
        return in_every_order(
            self._puzzle,
            seconds=allowed.share(),
            workers=self._workers,
            tell=allowed.tell,
            stop=allowed.stop,
        )

    def _solved(self, puzzle: Puzzle, seconds: float | None) -> Solution:
        return solve(
            puzzle, seconds=seconds, tie_standings=0, tell=self._allowed.tell, stop=self._allowed.stop
        )


def _weighed(now: Solution, nuisance: Nuisance, answer: Figure) -> Weighed:
    saved = _saved(now, answer.moves, is_proved=answer.verdict is Verdict.PROVED)
    return Weighed(nuisance, answer.verdict, answer.moves, answer.bound, saved)


def _best_order(now: Solution, ordering: Ordering) -> Weighed:
    """The best order of the train as a nuisance removed."""
    best = ordering.workable[0] if ordering.workable else None
    bounds = [one.bound or 0 for one in ordering.asked if one.verdict is not Verdict.IMPOSSIBLE]
    if ordering.stopped is not None:
        bounds.append(0)
    bound, moves = min(bounds, default=None), best.moves if best is not None else None
    name = "" if best is None else f"best: {', '.join(best.cars)}"
    saved = _saved(now, moves, is_proved=ordering.best_is_proved)
    return Weighed(Nuisance(Kind.ORDER, name, None), _verdict(moves, bound), moves, bound, saved)


def _verdict(moves: int | None, bound: int | None) -> Verdict:
    if moves is None:
        return Verdict.IMPOSSIBLE if bound is None else Verdict.GAVE_UP
    return Verdict.PROVED if moves == bound else Verdict.BEST_FOUND


def _saved(now: Solution, moves: int | None, *, is_proved: bool) -> int | None:
    """Moves fewer than now, if both are proved."""
    if now.counts is None or now.verdict is not Verdict.PROVED or moves is None or not is_proved:
        return None
    return now.counts.moves - moves
