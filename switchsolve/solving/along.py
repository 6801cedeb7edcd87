"""A plan along a chain of standings: what happens between two reversals that longest runs have found."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterable
from itertools import pairwise

from switchsolve.goal import Goal
from switchsolve.rules import Cost, Rules, Standing, String
from switchsolve.search.beginning import first_states
from switchsolve.search.events import EventResult, search_events
from switchsolve.search.merging import merged
from switchsolve.search.runs import LongestRuns, RunState

__all__ = ["plan_along"]


def plan_along(
    rules: Rules,
    goal: Goal,
    chain: list[RunState],
    under_way: int,
    *,
    ties: bool = False,
    should_stop: Callable[[int], str | None] = lambda expanded: None,
) -> EventResult | None:
    """A plan with its reversals in the standings of ``chain``, by the law, or ``None``.

    ``under_way``: how many locomotives are at the start (0 or 1).  ``ties``: the plan with the fewest
    couplings and cuts, if few standings show it.  ``should_stop`` is asked before each standing.
    """
    along = _Along(rules, chain, under_way)
    # first only what leaves each cell as the chain has it; by the law a string may lie otherwise for a while
    # and come right later, which is rare and dear to follow
    # (and a run that halts on the way may come back to what it has left)
    passes = [(True, True), (False, True)]
    if not LongestRuns(rules).is_simple:
        passes.append((False, False))
    for goes_on, leaves in passes:
        result = search_events(
            rules,
            goal,
            ties=ties,
            most_moves=len(chain) - 1 - under_way,
            may_begin=along.may_begin,
            may_leave=along.may_leave if leaves else None,
            may_enter=along.may_enter,
            may_go_on=along.may_go_on if goes_on else None,
            guide=None if ties else lambda standing, cost: -cost.moves,
            should_stop=should_stop,
        )
        if result.node is not None:
            return result
    return None


def _cells(strings: Iterable[String]) -> set[int]:
    return {way >> 1 for string in strings for way in string.ways}


def _classes(strings: Iterable[String]) -> Counter[int]:
    return Counter(token >> 1 for string in strings for token in string.tokens)


class _Along:
    """What may happen in each run, for the next standing of the chain to come about.

    Strings are compared by cells and by who stands there: cuts left side by side in full cells touch, and are
    one string to longest runs.
    """

    def __init__(self, rules: Rules, chain: list[RunState], under_way: int) -> None:
        self._rules = rules
        self._chain = chain
        self._under_way = under_way
        self._routes = _routes(rules, chain, under_way)

    def may_begin(self, standing: Standing, cost: Cost) -> bool:
        """Whether everything stands as the chain has it, so that the next run may begin."""
        number = cost.moves + self._under_way
        if number == 0:
            return True
        strings = merged(self._rules, standing)
        mine = next(one for one in strings if self._rules.has_loco(one.tokens))
        others, wanted = self._chain[number]
        return _cells(one for one in strings if one is not mine) == _cells(others) and _classes(
            [mine]
        ) == _classes([wanted])

    def may_leave(self, part: String, moves: int) -> bool:
        """Whether a part that is cut off stands where the chain has it."""
        cells, classes = _cells([part]), _classes([part])
        others, mine = self._chain[moves + self._under_way]
        for string in (*others, mine):
            here = _cells([string])
            if here & cells:  # several, if they lie in full cells side by side
                cells -= here
                classes -= _classes([string])
        return not cells and not classes

    def may_enter(self, way: int, moves: int) -> bool:
        """Whether the run goes there."""
        return way in self._routes[moves + self._under_way]

    def may_go_on(self, standing: Standing, cell: int, moves: int) -> bool:
        """Whether all is well in ``cell``, which the locomotive's string has left behind.

        In this run it does not come back, so whatever the chain has in cells that it has left should be there
        by now, and no more.
        """
        mine = next(one for one in standing.strings if self._rules.has_loco(one.tokens))
        others = [one for one in standing.strings if one is not mine]
        wanted = [one for one in self._chain[moves + self._under_way][0] if cell in _cells([one])]
        here = _cells(wanted) | {cell}
        if here & _cells([mine]):
            return True
        return _classes(one for one in others if _cells([one]) & here) == _classes(wanted)


def _routes(rules: Rules, chain: list[RunState], under_way: int) -> list[set[int]]:
    """The ways of each run of a plan; the run before the first move of a locomotive under way is the first.
    """
    runs = LongestRuns(rules)
    first_states(rules, runs, under_way)  # for what stands loose behind the locomotive
    routes = []
    for state, following in pairwise(chain):
        ways = runs.path_of(state, following)
        if ways is None:
            back = runs.path_of(following, state)
            assert back is not None
            ways = tuple(way ^ 1 for way in back)
        routes.append(set(ways))
    return [set(), *routes]
