"""Where limits on the moving string bind: the fewest runs within them, and a plan that comes soon."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from switchsolve.goal import Goal
from switchsolve.rules import Rules
from switchsolve.search.beginning import first_states
from switchsolve.search.both_ends import RunsResult, search_both_ends
from switchsolve.search.cautious import CautiousRuns
from switchsolve.search.compilable import is_packable
from switchsolve.search.endings import TooManyEndings
from switchsolve.search.events import EventResult
from switchsolve.search.limited import RunsWithinLimits
from switchsolve.search.readying import LIMITED, Readying, make_ready
from switchsolve.search.runs import RunState
from switchsolve.solving.along import plan_along
from switchsolve.solving.limit import Limit

__all__ = ["SeenWithinLimits", "plan_within_limits", "search_within_limits"]

_PLAIN = 1_000
"""Standings that the plain search expands before the compiled one takes over."""
_BYTES_EACH = 4_096
"""What the plain search takes for each."""


@dataclass(frozen=True, slots=True)
class SeenWithinLimits:
    """``found``: the fewest runs within limits; ``sides``: the runs from the start and those undone from the
    goals that it was found by; ``search``: the name of the search.
    """

    found: RunsResult
    sides: tuple[RunsWithinLimits, RunsWithinLimits]
    search: str


def search_within_limits(
    rules: Rules,
    goals: list[RunState],
    under_way: int,
    limit: Limit,
    *,
    most_bytes: int | None = None,
    at_once: bool = False,
    is_steady: bool = False,
) -> SeenWithinLimits:
    """The fewest runs (two or more) within limits that lead to ``goals``: a bound, till the law makes a plan.

    Where :func:`switchsolve.search.exact.why_not_within_limits` has nothing against it; ``under_way``:
    whether the locomotive is at the start (0 or 1).  ``at_once``: compiled from the beginning;
    ``is_steady``: the set-up alone says when the compiled search takes over.
    """
    runs = RunsWithinLimits(rules)
    undone = runs.undone(goals)
    first = first_states(rules, runs, under_way)
    may_compile, readying = is_packable(rules), Readying(LIMITED)
    look = limit.named("both ends, within the limits")

    def stop(expanded: int) -> str | None:
        if may_compile and expanded > _PLAIN and not expanded % 64 and (is_steady or readying.is_ready()):
            return "long"
        if most_bytes is not None and expanded > most_bytes // _BYTES_EACH:
            return "the limit of memory"
        return look(expanded)

    if not (at_once and may_compile):
        plain = search_both_ends(runs, first, goals, should_stop=stop, undone=undone)
        if plain.is_exhausted or limit.reason is not None or not may_compile:
            found = RunsResult(plain.chain, plain.runs, plain.is_exhausted, limit.reason, plain.stats)
            return SeenWithinLimits(found, (runs, undone), "longest runs within limits, both ends")
    make_ready(limit.tell, LIMITED)
    from switchsolve.search.compiled_limited import search_within_limits as search_compiled

    found = search_compiled(
        runs, undone, first, goals, should_stop=limit.look, most_bytes=most_bytes, name=limit.named
    )
    return SeenWithinLimits(found, (runs, undone), "longest runs within limits, compiled")


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
