"""Longest runs within limits on the moving string, compiled: both ends, without bounds.

Importing this room takes half a second (numba), and compiles its kernel the first time after an installation.
"""

from __future__ import annotations

from collections.abc import Callable

from switchsolve.kernel.run_kernel import limited as kernel
from switchsolve.search.both_ends import RunsResult
from switchsolve.search.course import smaller
from switchsolve.search.ends import Ends
from switchsolve.search.hands import Hands
from switchsolve.search.limited import RunsWithinLimits
from switchsolve.search.reached import Budget, NoRoom
from switchsolve.search.runs import RunState
from switchsolve.search.space import Space

__all__ = ["kernel", "search_within_limits"]


class _Stopped(Exception):
    """The caller stopped the search."""


def search_within_limits(
    runs: RunsWithinLimits,
    undone: RunsWithinLimits,
    first: list[RunState],
    goals: list[RunState],
    *,
    should_stop: Callable[[int], str | None] = lambda expanded: None,
    most_bytes: int | None = None,
    name: Callable[[str], object] = lambda what: None,
) -> RunsResult:
    """Fewest runs within limits (two or more: plans of one run are for the caller) from the states ``first``
    to the ``goals``; without a plan, ``is_proved`` says that there is none.

    ``undone``: the runs undone, from the goals.  The other arguments are those of
    :func:`~switchsolve.search.compiled_runs.search_runs`.
    """
    if not any(state in runs.behind for state in first):
        return _search(runs, first, goals, should_stop, most_bytes, name)
    # what stands loose behind the locomotive at the start is for the plain steps: one run by them
    after = {following: state for state in first for following in runs.steps(state)}
    before = {earlier: state for state in goals for earlier in undone.steps(state)}
    for state in after:
        if state in before:
            return RunsResult([after[state], state, before[state]], 2, True)
    found = _search(runs, list(after), goals, should_stop, most_bytes, name)
    if found.chain is not None:
        found.chain = [after[found.chain[0]], *found.chain]
    found.least += 1 if found.least else 0
    return found


def _search(
    runs: RunsWithinLimits,
    first: list[RunState],
    goals: list[RunState],
    should_stop: Callable[[int], str | None],
    most_bytes: int | None,
    name: Callable[[str], object],
) -> RunsResult:
    hands = Hands()
    least, reason = 2, None
    stats: dict[str, int] = {}
    chain: list[RunState] | None = None
    ends: Ends | None = None

    def look(ends: Ends) -> None:
        nonlocal reason
        reason = should_stop(ends.reached.expanded)
        if reason is not None:
            raise _Stopped

    try:
        space = Space(runs.rules, states=[*first, *goals], loads=runs.loads)
        ends = Ends(space, Budget(most_bytes), hands, first, goals)
        while chain is None and len(ends.layers[0]) and len(ends.layers[1]):
            name(f"at least {least} moves within the limits, looked at {ends.depth[0]} + {ends.depth[1]}")
            chain = ends.expand(smaller(ends), look)
            least = max(least, sum(ends.depth) + (chain is None))
        return RunsResult(chain, least if chain is not None else 0, True, stats=stats)
    except NoRoom:
        return RunsResult(None, least, False, "the limit of memory", stats)
    except _Stopped:
        return RunsResult(None, least, False, reason, stats)
    finally:
        hands.close()
        if ends is not None:
            stats |= {
                "expanded": ends.reached.expanded,
                "generated": ends.reached.generated,
                "stored": ends.reached.count,
                "bytes": round(ends.reached.bytes_each),
            }
