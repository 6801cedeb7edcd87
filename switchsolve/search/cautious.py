"""Longest runs that keep well within the limits on the number of cars, to come soon upon some plan.

They do not begin a run in which, cell by cell, too many cars would come along.  So a plan seen so can mostly
be made by the law; and where none is seen nothing is said.  (For a bound: :mod:`switchsolve.search.limited`.)
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from switchsolve.rules import Rules, String
from switchsolve.search.runs import LongestRuns, RunEnds, RunState

__all__ = ["CautiousRuns"]

_ANY = 1 << 30


class CautiousRuns(LongestRuns):
    """The step generator over one set-up with limits."""

    def __init__(self, rules: Rules) -> None:
        super().__init__(rules)
        whole = _most_cars(rules.p.puzzle.district.limits.most_cars)
        self._most = [min(whole, _most_cars(cell.limits.most_cars)) for cell in rules.p.cells]

    def steps(self, state: RunState, only: RunEnds | None = None) -> Iterator[RunState]:
        """All states after one more run that keeps to the limits, each after a reversal."""
        others, mine = state
        at = {way >> 1: number for number, string in enumerate(others) for way in string.ways}
        loco = self._loco(mine.tokens)
        for ways, tokens, taken, head in self._ends(others, at, mine, only):
            rest = tuple(string for number, string in enumerate(others) if number not in taken)
            met = [others[number] for number in taken]
            for left, after in self._after(state, ways, tokens, head, loco, only):
                if self._is_within(mine, met, ways, left, after):
                    yield tuple(sorted((*rest, *left))), after

    def _is_within(
        self,
        mine: String,
        met: Iterable[String],
        ways: tuple[int, ...],
        left: Iterable[String],
        after: String,
    ) -> bool:
        """Whether a run of ``mine`` over ``ways``, which meets some strings, leaves some, and ends as
        ``after``, takes too many cars over no cell.
        """
        place = {way >> 1: number for number, way in enumerate(ways)}
        change = [0] * (len(ways) + 1)
        change[0] = self._cars(mine)
        for string in met:
            change[min(place[way >> 1] for way in string.ways)] += self._cars(string)
        for string in left:
            change[max(place[way >> 1] for way in string.ways) + 1] -= self._cars(string)
        along = 0
        for number, way in enumerate(ways):
            along += change[number]
            if along > self._most[way >> 1]:
                return False
        return all(self._cars(after) <= self._most[way >> 1] for way in after.ways)

    def _cars(self, string: String) -> int:
        return sum(self.p.classes[token >> 1].counts_as_car for token in string.tokens)


def _most_cars(limit: int | None) -> int:
    return _ANY if limit is None else limit
