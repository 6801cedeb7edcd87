"""Right and wrong turns: every plan with the fewest moves at once, told apart by its standings at reversals.

By longest runs (:mod:`switchsolve.search.runs`) from both ends.  Layers of standings from the start and from
the work done are made until they meet in the middle of a plan of ``moves`` runs; what lies on no such plan is
left out.  At each standing on one the **next moves** are all longest runs that the law allows there, with all
they can leave behind; a move is **wrong** if no plan with the fewest moves goes on with it.

- **ways**: how many rows of standings at reversals plans with the fewest moves have;
- **forced**: before how many of the moves but the last every such plan has one next move only that is right;
- **luck**: in how many tries a crew comes to the last move of such a plan once, on average, if it picks each
  move before it at random among all next moves: one over the chance, exactly.

The last move is not looked at: it may stop wherever the work is done.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from fractions import Fraction

from switchsolve.packing import pack
from switchsolve.puzzle import Puzzle
from switchsolve.rules import Rules
from switchsolve.search.endings import TooManyEndings, endings
from switchsolve.search.runs import LongestRuns, RunState, applies
from switchsolve.solving import first_states

__all__ = ["Turnings", "turnings_of"]

_MOST_ENDINGS = 2_000


@dataclass(frozen=True, slots=True)
class Turnings:
    """``ways``, ``forced`` and ``luck`` as above; ``wrong``: of the next moves at standings on plans with the
    fewest moves the share that is wrong (0 to 1).
    """

    ways: int
    forced: int
    wrong: Fraction
    luck: Fraction


def turnings_of(
    puzzle: Puzzle, moves: int, *, most: int = 4_000, stop: Callable[[], str | None] | None = None
) -> Turnings | None:
    """The turnings of a set-up whose fewest moves are ``moves``.

    ``None`` if it takes one move or none, if longest runs are not exact for it, or if more than ``most``
    standings would have to be looked at.
    """
    rules = Rules(pack(puzzle))
    if moves < 2 or applies(rules) is not None:
        return None
    try:
        return _Turnings(puzzle, rules, moves, most, stop).found()
    except (_TooMany, TooManyEndings):
        return None


class _TooMany(Exception):
    """More standings than are to be looked at."""


class _Turnings:
    """Looks at one set-up."""

    def __init__(
        self, puzzle: Puzzle, rules: Rules, moves: int, most: int, stop: Callable[[], str | None] | None
    ) -> None:
        self._runs = LongestRuns(rules)
        self._moves = moves
        self._left = most
        self._stop = stop
        self._first = first_states(rules, self._runs, len(puzzle.start.under_way))
        self._goals = endings(rules, self._runs, _MOST_ENDINGS)
        self._known: dict[RunState, frozenset[RunState]] = {}

    def found(self) -> Turnings | None:
        layers = self._on_plans()
        if not layers:
            return None
        following = [
            {state: self._next(state) & layers[depth + 1] for state in layer}
            for depth, layer in enumerate(layers[:-1])
        ]
        ways, chance = self._spread(layers, following)
        forced = sum(all(len(right) == 1 for right in layer.values()) for layer in following)
        right = sum(len(one) for layer in following for one in layer.values())
        every = sum(len(self._next(state)) for layer in layers[:-1] for state in layer)
        return Turnings(ways, forced, Fraction(every - right, every or 1), 1 / chance)

    def _next(self, state: RunState) -> frozenset[RunState]:
        """All states after one more run."""
        found = self._known.get(state)
        if found is None:
            self._left -= 1
            if self._left < 0 or (self._stop is not None and self._stop() is not None):
                raise _TooMany
            found = self._known[state] = frozenset(self._runs.steps(state))
        return found

    def _on_plans(self) -> list[set[RunState]]:
        """By how many moves are made, 0 to all but one: the states on plans with the fewest moves."""
        fore, back = [set(self._first)], [self._spread_from(self._goals, set())]
        seen_fore, seen_back = set(self._first), set(back[0])
        while len(fore) + len(back) < self._moves + 1:
            if len(fore[-1]) <= len(back[-1]):
                fore.append(self._spread_from(fore[-1], seen_fore))
            else:
                back.append(self._spread_from(back[-1], seen_back))
        layers = [fore[-1] & back[-1]]
        for before in reversed(fore[:-1]):
            layers.insert(0, {state for state in before if self._next(state) & layers[0]})
        for after in reversed(back[:-1]):
            layers.append({state for one in layers[-1] for state in self._next(one) & after})
        return layers if all(layers) else []

    def _spread_from(self, layer: Iterable[RunState], seen: set[RunState]) -> set[RunState]:
        """The states that are new one run after ``layer``; ``seen`` grows by them."""
        fresh = {state for one in layer for state in self._next(one)} - seen
        seen |= fresh
        return fresh

    def _spread(
        self, layers: list[set[RunState]], following: list[dict[RunState, frozenset[RunState]]]
    ) -> tuple[int, Fraction]:
        """How many rows of standings there are, and the chance of picking one."""
        ways = dict.fromkeys(layers[-1], 1)
        chance = dict.fromkeys(layers[-1], Fraction(1))
        for layer in reversed(following):
            ways = {state: sum(ways.get(one, 0) for one in right) for state, right in layer.items()}
            chance = {
                state: sum((chance[one] for one in right), Fraction(0)) / len(self._next(state))
                for state, right in layer.items()
            }
        starts = [state for state in dict.fromkeys(self._first) if state in layers[0]]
        share = sum((chance[state] for state in starts), Fraction(0)) / len(set(self._first))
        return sum(ways[state] for state in starts), share
