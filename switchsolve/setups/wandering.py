"""A solver that knows nothing: at every standing it picks any next move, each with the same chance.

A move is a longest run of the law with all that it can leave behind (:mod:`switchsolve.search.runs`).  The
walk begins at the start, begins again after ``TRY`` moves, and ends as soon as one more move does the work.
Its **trouble** is how many moves it has made by then, all tries together; of many walks the median.
"""

from __future__ import annotations

from collections.abc import Callable
from statistics import median

from numpy.random import Generator

from switchsolve.packing import pack
from switchsolve.puzzle import Puzzle
from switchsolve.rules import Rules
from switchsolve.search.beginning import first_states
from switchsolve.search.endings import TooManyEndings, endings
from switchsolve.search.exact import applies
from switchsolve.search.runs import LongestRuns, RunState
from switchsolve.traffic.draws import stream_of

__all__ = ["TRY", "trouble_of"]

TRY = 100
"""Moves after which the walk begins again at the start."""
_MOST_ENDINGS = 2_000


def trouble_of(
    puzzle: Puzzle,
    seed: int,
    *,
    walks: int = 9,
    most: int = 200_000,
    stop: Callable[[], str | None] = lambda: None,
) -> int | None:
    """The median trouble of ``walks`` random walks, in moves; one that is not done after ``most`` counts as
    ``most``.

    ``None`` if longest runs are not exact for the set-up, if the work can be done in no way, or if stopped.
    The same seed (0 or more) gives the same.
    """
    rules = Rules(pack(puzzle))
    if applies(rules) is not None:
        return None
    try:
        walker = _Walker(puzzle, rules, most, stop)
    except TooManyEndings:
        return None
    if not walker.last:
        return None
    found = [walker.walk(stream_of(seed, number)) for number in range(walks)]
    if None in found:
        return None
    return int(median(one for one in found if one is not None))


class _Walker:
    """Walks over one set-up, and remembers what follows each standing."""

    def __init__(
        self, puzzle: Puzzle, rules: Rules, most: int, stop: Callable[[], str | None]
    ) -> None:
        self._runs = LongestRuns(rules)
        self._most, self._stop = most, stop
        self._first = list(dict.fromkeys(first_states(rules, self._runs, len(puzzle.start.under_way))))
        goals = endings(rules, self._runs, _MOST_ENDINGS)
        self.last = {state for goal in goals for state in self._runs.steps(goal)}
        """From these one more move does the work."""
        self._known: dict[RunState, tuple[RunState, ...]] = {}

    def walk(self, stream: Generator) -> int | None:
        """How many moves one walk makes, at most the most allowed; ``None`` if stopped."""
        made = 0
        while made < self._most:
            if self._stop() is not None:
                return None
            state = self._first[int(stream.random() * len(self._first))]
            for number in stream.random(TRY):
                if state in self.last:
                    return min(made + 1, self._most)
                following = self._next(state)
                if not following:
                    break
                state = following[int(number * len(following))]
                made += 1
        return self._most

    def _next(self, state: RunState) -> tuple[RunState, ...]:
        """All states after one more run, in an order that is always the same."""
        found = self._known.get(state)
        if found is None:
            found = self._known[state] = tuple(dict.fromkeys(self._runs.steps(state)))
        return found
