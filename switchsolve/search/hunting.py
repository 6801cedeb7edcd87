"""Hunting: any plan at all, when the proof of a best one had to be stopped.

A beam search over longest runs, from where the search from both ends was left: each layer keeps the
standings that have the fewest cars away from where goal standings have them.  What it finds is a plan, with
no claim about how good it is.
"""

from __future__ import annotations

from collections.abc import Callable
from itertools import count

from switchsolve.search.both_ends import Parents, chain_through
from switchsolve.search.runs import LongestRuns, RunState

__all__ = ["hunt"]

_WIDTHS = (30, 120, 480, 1920, 7680)
"""Standings kept per layer: narrow first, wider if nothing is found."""

Wanted = dict[int, set[int]]
"""By class of car, the cells where goal standings have it."""


def hunt(
    runs: LongestRuns,
    sides: tuple[Parents, Parents],
    front: list[RunState],
    *,
    should_stop: Callable[[int], str | None],
) -> list[RunState] | None:
    """The standings at the reversals of some plan, or ``None`` if none was found.

    ``sides``: the standings reached from the start and from the goal, with the one before each.  ``front``:
    the last layer from the start.
    """
    wanted = _wanted(runs, sides[1])
    expanded = count(1)
    for width in _WIDTHS:
        parents: Parents = {}
        layer = sorted(front, key=lambda state: _away(runs, wanted, state))[:width]
        while layer:
            fresh: list[RunState] = []
            for state in layer:
                if should_stop(next(expanded)) is not None:
                    return None
                for following in runs.steps(state):
                    if following in sides[0] or following in parents:
                        continue
                    parents[following] = state
                    if following in sides[1]:
                        return chain_through((parents | sides[0], sides[1]), following)
                    fresh.append(following)
            layer = sorted(fresh, key=lambda state: _away(runs, wanted, state))[:width]
    return None


def _wanted(runs: LongestRuns, theirs: Parents) -> Wanted:
    wanted: Wanted = {}
    for (others, mine), after in theirs.items():
        if after is not None:
            continue  # not a goal standing, but one before
        for string in (*others, mine):
            cells = {way >> 1 for way in string.ways}
            for token in string.tokens:
                wanted.setdefault(token >> 1, set()).update(cells)
    return wanted


def _away(runs: LongestRuns, wanted: Wanted, state: RunState) -> int:
    """How many vehicles touch no cell in which a goal standing has them; those in the string count half."""
    others, mine = state
    away = 0
    for string in others:
        cells = {way >> 1 for way in string.ways}
        away += sum(2 for token in string.tokens if not cells & wanted.get(token >> 1, cells))
    cells = {way >> 1 for way in mine.ways}
    return away + sum(1 for token in mine.tokens if not cells & wanted.get(token >> 1, cells))
