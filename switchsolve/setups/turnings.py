"""Right and wrong turns: every plan with the fewest moves at once, told apart by its standings at reversals.

By longest runs (:mod:`switchsolve.search.runs`).  At each standing on such a plan the **next moves** are all
longest runs that the law allows there, with all they can leave behind; one is **wrong** if no plan with the
fewest moves goes on with it.

- **ways**: how many rows of standings at reversals the plans with the fewest moves have;
- **wrong**: of the next moves the share that is wrong;
- **luck**: in how many tries a crew comes to the last move of such a plan once, on average, if it picks each
  move before it at random among all next moves: one over the chance, exactly.

The last move is not looked at: it may stop wherever the work is done.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from fractions import Fraction

from switchsolve.effort import shortest_steps
from switchsolve.packing import pack
from switchsolve.puzzle import Puzzle
from switchsolve.rules import Rules
from switchsolve.search.beginning import first_states
from switchsolve.search.endings import TooManyEndings, endings
from switchsolve.search.exact import applies
from switchsolve.search.runs import LongestRuns, RunState

__all__ = ["Turnings", "turnings_of"]

_MOST_ENDINGS = 2_000


@dataclass(frozen=True, slots=True)
class Turnings:
    """``ways``, ``wrong`` (0 to 1) and ``luck`` (1 or more), as above."""

    ways: int
    wrong: Fraction
    luck: Fraction


def turnings_of(
    puzzle: Puzzle, moves: int, *, most: int = 20_000, stop: Callable[[], str | None] = lambda: None
) -> Turnings | None:
    """The turnings of a set-up whose fewest moves are ``moves``.

    ``None`` if these are fewer than two, if longest runs are not exact for the set-up, if more than ``most``
    standings would be looked at, or when ``stop`` gives a reason.
    """
    rules = Rules(pack(puzzle))
    if moves < 2 or applies(rules) is not None:
        return None
    runs = LongestRuns(rules)
    first = first_states(rules, runs, len(puzzle.start.under_way))
    try:
        steps = shortest_steps(runs, first, endings(rules, runs, _MOST_ENDINGS), most, stop)
    except TooManyEndings:
        return None
    if not steps:
        return None
    return _turnings(runs, list(dict.fromkeys(first)), [_by_state(choices) for choices in steps[:-1]])


def _by_state(choices: list[tuple[RunState, RunState]]) -> dict[RunState, set[RunState]]:
    """What is right after each standing."""
    right: dict[RunState, set[RunState]] = {}
    for before, after in choices:
        right.setdefault(before, set()).add(after)
    return right


def _turnings(
    runs: LongestRuns, first: list[RunState], moves: list[dict[RunState, set[RunState]]]
) -> Turnings:
    """Counted backwards from the last move."""
    ways: dict[RunState, int] = {}
    chance: dict[RunState, Fraction] = {}
    every = right_ones = 0
    for number, layer in enumerate(reversed(moves)):
        is_last = not number
        before_ways, before_chance = ways, chance
        ways, chance = {}, {}
        for state, right in layer.items():
            # an ending side's step may lead on by a run undone: then it is one of the next moves all the same
            following = set(runs.steps(state)) | right
            every, right_ones = every + len(following), right_ones + len(right)
            ways[state] = len(right) if is_last else sum(before_ways.get(one, 0) for one in right)
            good = Fraction(len(right)) if is_last else _sum(before_chance, right)
            chance[state] = good / len(following)
    share = _sum(chance, first) / len(first)
    return Turnings(sum(ways.get(one, 0) for one in first), Fraction(every - right_ones, every), 1 / share)


def _sum(chance: dict[RunState, Fraction], states: set[RunState] | list[RunState]) -> Fraction:
    """The chances of these states together."""
    return sum((chance.get(one, Fraction(0)) for one in states), Fraction(0))
