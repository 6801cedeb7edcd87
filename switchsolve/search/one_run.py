"""Plans of one run, by the law; first a quick look at whether there can be one, that never says no wrongly.

In a run along a row of ways (no way twice, see :func:`~switchsolve.search.exact.bounds`) vehicles keep their
order, and none goes back.  So whoever is nearer to the trailing end stands at last no farther along than
whoever is nearer to the leading end, and each must touch a cell where it is wanted.  A car that stands apart
and is wanted elsewhere must be met, and be wanted farther along.  Lengths are not looked at.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable

from switchsolve.goal import Goal
from switchsolve.rules import Rules, Standing, String, reverse_string
from switchsolve.search.events import EventResult, search_events

__all__ = ["may_do_in_one_run", "search_one_run"]


def search_one_run(
    rules: Rules,
    goal: Goal,
    under_way: int,
    *,
    should_stop: Callable[[int], str | None] = lambda expanded: None,
) -> EventResult:
    """The plans of one run (``under_way``: how many locomotives are at the start, 0 or 1).

    Exact where longest runs bound: nobody comes back to what he has left, so nothing is left where it may not
    stay.  Who halts on the way may come back: of such runs :mod:`switchsolve.search.halting` tells.
    """
    return search_events(
        rules,
        goal,
        most_moves=1 - under_way,
        may_leave=goal.may_stay,
        starts=[one for one in rules.starts() if may_do_in_one_run(rules, goal, one)],
        should_stop=should_stop,
    )


def may_do_in_one_run(rules: Rules, goal: Goal, standing: Standing) -> bool:
    """``False``: no plan of one run, and none without any, does the work from ``standing``.

    For set-ups with one locomotive and no run that can come back to where it was.
    """
    mine = next(one for one in standing.strings if any(rules.is_loco[token] for token in one.tokens))
    others = [one for one in standing.strings if one is not mine]
    last = rules.p.start_last[0]
    for string in (mine, reverse_string(mine, rules.is_loco)):
        nose = next(token for token in string.tokens if rules.is_loco[token]) & 1
        if last in (0, -1 if nose else 1) and _may_run(rules, goal, string, others):
            return True
    return False


def _may_run(rules: Rules, goal: Goal, mine: String, others: Iterable[String]) -> bool:
    """Whether one run towards the head of ``mine`` may do it."""
    onward = _Onward(rules)
    along = frozenset(mine.ways) | onward.from_all(mine.ways)
    here = along
    for token in mine.tokens:
        wanted = goal.wanted_cells(token >> 1)
        here = frozenset(way for way in here if way >> 1 in wanted)
        if not here:
            return False
        here = here | onward.from_all(here)
    return all(
        _is_met(goal, onward, along, string, token) for string in others for token in string.tokens
    )


def _is_met(goal: Goal, onward: _Onward, along: frozenset[int], string: String, token: int) -> bool:
    """Whether a car that stands apart is in its place, or may be taken to it."""
    wanted = goal.wanted_cells(token >> 1)
    cells = {way >> 1 for way in string.ways}
    if cells & wanted:
        return True
    taken = [way for way in along if way >> 1 in cells]
    return any(way >> 1 in wanted for way in onward.from_all(taken))


class _Onward:
    """The ways that can come after a way in one run."""

    def __init__(self, rules: Rules) -> None:
        self._rules = rules
        self._known: dict[int, frozenset[int]] = {}

    def from_all(self, ways: Iterable[int]) -> frozenset[int]:
        """All that come after any of ``ways``."""
        return frozenset().union(*(self._from(way) for way in ways))

    def _from(self, way: int) -> frozenset[int]:
        if way not in self._known:
            found: set[int] = set()
            stack = [way]
            while stack:
                for following in self._rules.p.ways_on[stack.pop()]:
                    if following not in found:
                        found.add(following)
                        stack.append(following)
            self._known[way] = frozenset(found)
        return self._known[way]
