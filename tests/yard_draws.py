"""Every draw of the yard of 5, 3 and 3 in print: the least moves of all 6,720, as a histogram.

``python -m tests.yard_draws`` prints both conditions and the seconds they take.  The cars are renamed instead
of the work: the car that must come first on the long track is called 1 in every draw, so all draws have the
same endings, and one search backwards from these reaches every start.
"""

from __future__ import annotations

import sys
import time
from collections import Counter
from itertools import permutations

import numpy as np

from switchsolve.packing import pack
from switchsolve.rules import Rules, String
from switchsolve.search.endings import endings
from switchsolve.search.reached import Budget, Reached
from switchsolve.search.runs import LongestRuns, RunState
from switchsolve.search.space import Space
from switchsolve.solving import first_states
from tests.published import yard

__all__ = ["least_moves"]

_NAMES = "12345678"


def least_moves(*, lead_is_empty: bool) -> dict[str, int | None]:
    """For every draw its least number of moves (``None``: it cannot be done)."""
    rules = Rules(pack(yard(tuple(_NAMES[:5]), lead_is_empty=lead_is_empty)))
    runs = LongestRuns(rules)
    space = Space(rules)
    goal = Reached(space, Budget(None))
    goal.begin(endings(rules, runs, 20_000), 1)
    begin, depth = 0, 1
    while begin < goal.count:
        layer = np.arange(begin, goal.count)
        begin, depth = goal.count, depth + 1
        goal.expand(layer, depth)
    draws = ["".join(draw) for draw in permutations(_NAMES, 5)]
    template = first_states(rules, runs, 0)
    start = Reached(space, Budget(None))
    start.begin([_renamed(rules, state, draw) for draw in draws for state in template], 1)
    ways = start.count // len(draws)
    start.expand(np.arange(start.count), 2)
    left = goal.runs_to(start.keys[len(draws) * ways : start.count])
    found: dict[str, int | None] = dict.fromkeys(draws)
    for runs_left, parent in zip(left, start.parents[len(draws) * ways : start.count], strict=True):
        draw = draws[int(parent) // ways]
        before = found[draw]
        if runs_left > 0 and (before is None or runs_left + 1 < before):
            found[draw] = int(runs_left) + 1
    return found | {_NAMES[:5]: 0}  # it stands there already


def _renamed(rules: Rules, state: RunState, draw: str) -> RunState:
    """The start as the draw sees it: the car it wants in place ``n`` is called ``n``."""
    new = {old: str(number) for number, old in enumerate(draw, 1)}
    others = iter(_NAMES[5:])
    new |= {old: next(others) for old in _NAMES if old not in new}
    number_of = rules.p.class_of
    # at the start the cars stand in the order of their names, from the points
    row = iter([2 * number_of[new[old]] for old in _NAMES])
    strings = sorted(state[0], key=lambda string: -len(string.tokens))
    placed = [String(string.ways, tuple(next(row) for _ in string.tokens)) for string in strings]
    return tuple(sorted(placed)), state[1]


def main() -> int:
    """Print both histograms."""
    for lead_is_empty in (False, True):
        begin = time.perf_counter()
        moves = least_moves(lead_is_empty=lead_is_empty)
        spent = time.perf_counter() - begin
        print(f"lead {'empty' if lead_is_empty else 'as it comes'}: {len(moves):,} draws in {spent:.1f} s")
        for least, count in sorted(Counter(moves.values()).items(), key=lambda one: one[0] or 0):
            print(f"  {least} moves: {count}")
    return 0


if __name__ == "__main__":
    sys.exit(main())
