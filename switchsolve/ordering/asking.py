"""Every order of the train put to the solver: the best, the worst, the average."""

from __future__ import annotations

import time
from collections.abc import Callable
from dataclasses import dataclass
from fractions import Fraction

from switchsolve.ordering.listing import Listed, in_order, list_orders, train_cars
from switchsolve.plan import Verdict
from switchsolve.puzzle import Puzzle
from switchsolve.solving import fewest_moves

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
    tell: Callable[[str], None] | None = None,
    stop: Callable[[], str | None] | None = None,
) -> Ordering:
    """Solve the work for each order of the arriving train, which :func:`list_orders` lists.

    ``seconds`` limits all together: each order has an equal share of what is left.  ``tell`` hears of
    progress, ``stop`` gives a reason to stop, or ``None``.  Raises :class:`CannotReorder`.
    """
    train = train_cars(puzzle)
    listed = list_orders(train, seed=seed)
    end = None if seconds is None else time.monotonic() + seconds
    asked: list[Asked] = []
    stopped = None
    for number, order in enumerate(listed.orders):
        stopped = stop() if stop is not None else None
        left = None if end is None else (end - time.monotonic()) / (len(listed.orders) - number)
        if left is not None and left <= 0:
            stopped = stopped or f"the limit of {seconds:g} seconds"
        if stopped is not None:
            break
        if tell is not None:
            tell(f"order {number + 1} of {len(listed.orders)}: {', '.join(order)}")
        answer = fewest_moves(in_order(puzzle, train, order), seconds=left, tell=tell, stop=stop)
        asked.append(Asked(order, answer.verdict, answer.moves, answer.bound))
    return Ordering(listed, train.cars, tuple(asked), stopped)
