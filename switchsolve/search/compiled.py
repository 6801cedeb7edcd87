"""The event search, compiled: hands a packed set-up to the kernel and brings standings back.

Same standings in the same order as :func:`switchsolve.search.events.search_events`, by moves alone or
by the charges of one figure; importing this room takes half a second (numba), so callers import it when they
need it.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable

from switchsolve.goal import Goal, Met
from switchsolve.kernel import event_kernel as kernel
from switchsolve.rules import Rules, Standing
from switchsolve.search.compilable import is_compilable
from switchsolve.search.event_arrays import EventArrays
from switchsolve.search.events import EventResult
from switchsolve.search.tariffs import Charges, by_moves

__all__ = ["search_compiled"]

_SLICE = 2_000
"""Standings expanded between two looks at the clock."""
_NO_BOUND = 1 << 60


def search_compiled(
    rules: Rules,
    goal: Goal,
    *,
    should_stop: Callable[[int], str | None] = lambda expanded: None,
    charges: Charges | None = None,
    most: int | None = None,
    most_bytes: int | None = None,
    starts: Iterable[Standing] | None = None,
) -> EventResult:
    """The fewest moves that meet the work, or the least sum of ``charges``, as
    :func:`~switchsolve.search.events.search_events` finds them.

    ``most``: plans that cost more are not looked for.  ``most_bytes``: what the standings kept may take; the
    search stops before it takes more.  ``starts``: where it begins, if not where the file says.

    Raises ``ValueError`` if :func:`~switchsolve.search.compilable.is_compilable` is false.
    """
    if not is_compilable(rules):
        raise ValueError("a string can span too many cells for the compiled search")
    charges = by_moves(rules) if charges is None else charges
    search = EventArrays(rules, goal, charges, starts)
    best: tuple[int, int, Met] | None = None  # what it costs, final cuts included; its node
    resume = -1

    def answer(reached: int, is_proved: bool, reason: str | None = None) -> EventResult:
        if best is None:
            return EventResult(None, None, reached, is_proved, stats, reason)
        total, number, met = best
        reached = total if is_proved else min(reached, total)
        return EventResult(search.node(number), met, reached, is_proved, stats, reason, (total,))

    while True:
        sizes = search.store.sizes
        bound = _NO_BOUND if most is None else most
        if best is not None:
            bound = min(bound, best[0] - 1)
        why = kernel.run(search.memory, search.store, sizes[3] + _SLICE, bound, resume)
        stats = {"expanded": int(sizes[3]), "generated": int(sizes[4]), "stored": int(sizes[1])}
        resume, cost = int(sizes[7]), int(sizes[6])
        if why == kernel.EXHAUSTED:
            return answer(0, True)
        if why == kernel.CANDIDATE:
            met = goal.met(search.standing(resume))
            if met is not None:
                total = cost + charges.cut * len(met.cuts)
                if best is None or total < best[0]:
                    best = total, resume, met
                if total == cost:
                    return answer(cost, True)
        elif why == kernel.FULL:
            if most_bytes is not None and search.bytes_to_grow() > most_bytes:
                return answer(cost, False, "the limit of memory")
            search.grow()
        if should_stop(stats["expanded"]) is not None:
            return answer(cost, False)
