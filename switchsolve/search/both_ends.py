"""Search from both ends over longest runs: layers of standings from the start and from the goal, until they
meet.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field

from switchsolve.search.endings import endings
from switchsolve.search.runs import LongestRuns, RunEnds, RunState

__all__ = ["BothEndsResult", "Parents", "RunsResult", "chain_through", "search_both_ends"]

Parents = dict[RunState, RunState | None]
"""Each standing reached, and the one it was reached from."""


@dataclass(slots=True)
class RunsResult:
    """``chain``: the states at the reversals of the best plan known (``None``: none is).

    ``least``: no plan has fewer runs.  ``is_proved``: the plan of ``chain`` has ``least`` runs, or (without
    one) there is no plan at all.  ``reason``: what stopped the search, if it was stopped.
    """

    chain: list[RunState] | None
    least: int
    is_proved: bool
    reason: str | None = None
    stats: dict[str, int] = field(default_factory=dict)


@dataclass(slots=True)
class BothEndsResult:
    """``chain``: the standings at the reversals of a best plan (``None``: none exists, or the search was
    stopped).

    ``runs``: runs in that plan, or, when stopped, the fewest that a plan can still have.  ``sides`` and
    ``front``: what was reached from either end, and the last layer from the start, to go on from.
    """

    chain: list[RunState] | None
    runs: int
    is_exhausted: bool
    stats: dict[str, int] = field(default_factory=dict)
    sides: tuple[Parents, Parents] = field(default_factory=lambda: ({}, {}))
    front: list[RunState] = field(default_factory=list)


def search_both_ends(
    runs: LongestRuns,
    first: list[RunState],
    goals: list[RunState] | None = None,
    *,
    most_endings: int = 20_000,
    most_runs: int | None = None,
    should_stop: Callable[[int], str | None] = lambda expanded: None,
    undone: LongestRuns | None = None,
) -> BothEndsResult:
    """Fewest runs (two or more: plans of one run are for the caller) from the states ``first`` to the work
    done: ``goals``, if the caller has them.

    ``most_runs``: plans of more runs are not looked for; then ``runs`` of the answer is above it.
    ``undone``: how runs are undone, from the goals, if not like ``runs``.  Raises
    :class:`~switchsolve.search.endings.TooManyEndings`.
    """
    generators = runs, undone or runs
    if goals is None:
        goals = endings(runs.rules, runs, most_endings)
    sides: tuple[Parents, Parents] = (dict.fromkeys(first), dict.fromkeys(goals))
    layers = [list(first), goals]
    depth = [0, 0]
    stats = {"expanded": 0, "generated": 0, "stored": 0, "endings": len(goals)}
    while layers[0] and layers[1]:
        if most_runs is not None and depth[0] and depth[1] and sum(depth) >= most_runs:
            return BothEndsResult(None, sum(depth) + 1, False, stats, sides, layers[0])
        side = _next_side(depth, layers)
        fresh: list[RunState] = []
        # of the last layer only what meets the other side counts, of the one before what may lead there: the
        # rest need not even be listed (and but for a first run, what that side reached before its last layer
        # would have met already)
        left = 0 if most_runs is None or not depth[1 - side] else max(1, most_runs - sum(depth))
        theirs = layers[1 - side] if depth[side] else sides[1 - side]
        only = runs.ends_as((mine for _, mine in theirs), in_two=left == 2) if left in (1, 2) else None
        if not _expand(generators[side], layers[side], sides[side], fresh, stats, should_stop, only):
            front = layers[0] if side else [*layers[0], *fresh]
            return BothEndsResult(None, depth[0] + depth[1] + 1, False, stats, sides, front)
        depth[side] += 1
        layers[side] = fresh
        stats["stored"] = len(sides[0]) + len(sides[1])
        if depth[0] and depth[1]:
            met = next((state for state in fresh if state in sides[1 - side]), None)
            if met is not None:
                return BothEndsResult(chain_through(sides, met), depth[0] + depth[1], True, stats)
    return BothEndsResult(None, 0, True, stats)


def _expand(
    runs: LongestRuns,
    layer: list[RunState],
    mine: Parents,
    fresh: list[RunState],
    stats: dict[str, int],
    should_stop: Callable[[int], str | None],
    only: RunEnds | None,
) -> bool:
    """Add all new standings one run from ``layer`` (``only`` by runs that end so) to ``mine`` and ``fresh``;
    ``False`` if told to stop.
    """
    for state in layer:
        stats["expanded"] += 1
        if should_stop(stats["expanded"]) is not None:
            return False
        for following in runs.steps(state, only):
            stats["generated"] += 1
            if following in mine:
                continue
            mine[following] = state
            fresh.append(following)
    return True


def _next_side(depth: list[int], layers: list[list[RunState]]) -> int:
    """The smaller frontier; but each side goes one run first, for only then are its standings farthest ones.
    """
    for side in (0, 1):
        if not depth[side]:
            return side
    return 0 if len(layers[0]) <= len(layers[1]) else 1


def chain_through(sides: tuple[Parents, Parents], met: RunState) -> list[RunState]:
    """The standings from the start to the goal by way of ``met``, reached from both."""
    chain = []
    state: RunState | None = met
    while state is not None:
        chain.append(state)
        state = sides[0][state]
    chain.reverse()
    state = sides[1][met]
    while state is not None:
        chain.append(state)
        state = sides[1][state]
    return chain
