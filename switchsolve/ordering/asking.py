"""Every order of the train put to the solver: the best, the worst, the average."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from fractions import Fraction
from functools import partial

from switchsolve.ordering.listing import Listed, TrainCars, in_order, list_orders, train_cars
from switchsolve.plan import Verdict
from switchsolve.puzzle import Puzzle
from switchsolve.solving import Allowance, Figure, fewest_moves
from switchsolve.spreading import spread

__all__ = ["Asked", "Ordering", "in_every_order"]


@dataclass(frozen=True, slots=True)
class Asked:
    """One order, from the locomotive outwards, and what came out.

    ``moves``: of the plan found; ``bound``: no plan has fewer (``None``: impossible, proved).
    """

    cars: tuple[str, ...]
    verdict: Verdict
    moves: int | None
    bound: int | None


@dataclass(frozen=True, slots=True)
class Ordering:
    """What was found.  ``as_given``: the order of the file.  ``asked``: the orders in the order of
    ``listed``, as far as it got; ``stopped``: what stopped it, if anything.
    """

    listed: Listed
    as_given: tuple[str, ...]
    asked: tuple[Asked, ...]
    stopped: str | None = None

    @property
    def workable(self) -> tuple[Asked, ...]:
        """The orders for which there is a plan, the fewest moves first (of as many, in the order listed)."""
        found = [one for one in self.asked if one.moves is not None]
        return tuple(sorted(found, key=lambda one: one.moves or 0))

    @property
    def impossible(self) -> int:
        """Orders in which the work cannot be done, proved."""
        return sum(one.verdict is Verdict.IMPOSSIBLE for one in self.asked)

    @property
    def average(self) -> Fraction | None:
        """The mean of the moves over the workable orders; ``None`` without one."""
        moves = [one.moves for one in self.asked if one.moves is not None]
        return Fraction(sum(moves), len(moves)) if moves else None

    @property
    def is_proved(self) -> bool:
        """Whether every order listed is decided."""
        decided = {Verdict.PROVED, Verdict.IMPOSSIBLE}
        return self.stopped is None and all(one.verdict in decided for one in self.asked)

    @property
    def best_is_proved(self) -> bool:
        """Whether no order listed takes fewer moves than the best one found."""
        best = min((one.moves for one in self.asked if one.moves is not None), default=None)
        bounds = [one.bound for one in self.asked if one.verdict is not Verdict.IMPOSSIBLE]
        return best is not None and self.stopped is None and all(best <= (bound or 0) for bound in bounds)


def in_every_order(
    puzzle: Puzzle,
    *,
    seed: int = 1,
    seconds: float | None = None,
    workers: int = 1,
    tell: Callable[[str], None] | None = None,
    stop: Callable[[], str | None] | None = None,
) -> Ordering:
    """Solve the work for each order of the arriving train, which :func:`list_orders` lists.

    ``seconds`` limits all together: each order has an equal share of what is left.  ``workers``: processes
    at most.  ``tell`` hears of progress, ``stop`` gives a reason to stop, or ``None``.  Raises
    :class:`CannotReorder`, and ``BrokenExecutor`` if a process is lost.
    """
    train = train_cars(puzzle)
    listed = list_orders(train, seed=seed)
    allowed = Allowance(seconds, tell, stop)
    ask = partial(_in_order, puzzle, train)
    answers = spread(ask, listed.orders, allowed, workers=workers, told=", ".join)
    asked = [Asked(order, answer.verdict, answer.moves, answer.bound) for order, answer in answers]
    stopped = allowed.stopped if len(asked) < len(listed.orders) else None
    return Ordering(listed, train.cars, tuple(asked), stopped)


def _in_order(
    puzzle: Puzzle,
    train: TrainCars,
    order: tuple[str, ...],
    seconds: float | None,
    tell: Callable[[str], None] | None,
    stop: Callable[[], str | None] | None,
) -> Figure:
    """The work with the train in one order."""
    return fewest_moves(in_order(puzzle, train, order), seconds=seconds, tell=tell, stop=stop)
