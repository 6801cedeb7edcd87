"""A plan that comes soon where limits on the moving string bind."""

from __future__ import annotations

from collections.abc import Callable

from switchsolve.goal import Goal
from switchsolve.rules import Rules
from switchsolve.search.beginning import first_states
from switchsolve.search.both_ends import search_both_ends
from switchsolve.search.cautious import CautiousRuns
from switchsolve.search.endings import TooManyEndings
from switchsolve.search.events import EventResult
from switchsolve.solving.along import plan_along

__all__ = ["plan_within_limits"]


def plan_within_limits(
    rules: Rules,
    goal: Goal,
    under_way: int,
    should_stop: Callable[[int], str | None],
    *,
    stop_along: Callable[[int], str | None] | None = None,
    most_runs: int | None = None,
) -> EventResult | None:
    """A plan by the law along longest runs that keep to the limits cell by cell, or ``None``: none is seen.

    For one locomotive, where :func:`switchsolve.search.exact.bounds` has nothing against longest runs;
    ``under_way``: whether it is at the start (0 or 1).  ``should_stop`` is asked before each standing that is
    looked at for the runs, ``stop_along`` (if it is not the same) for the plan.  ``most_runs``: plans of more
    are not looked for.
    """
    runs = CautiousRuns(rules)
    first = first_states(rules, runs, under_way)
    try:
        seen = search_both_ends(runs, first, most_runs=most_runs, should_stop=should_stop)
    except TooManyEndings:
        return None
    if seen.chain is None:
        return None
    return plan_along(rules, goal, seen.chain, under_way, should_stop=stop_along or should_stop)
