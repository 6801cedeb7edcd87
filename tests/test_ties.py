"""Ties among plans with the fewest moves: couplings + cuts, then distance; by brute force and by hand."""

from __future__ import annotations

from collections import Counter
from contextlib import suppress

import pytest

from switchsolve.goal import Goal
from switchsolve.packing import pack
from switchsolve.plan import Verdict
from switchsolve.puzzlefile import loads
from switchsolve.rules import Rules
from switchsolve.solving import solve
from tests.brute_figures import Prices, brute_figures
from tests.brute_force import TooManyStates
from tests.tiny_districts import tiny_puzzle

IN_TURN = (Prices(move=1), Prices(coupling=1, cut=1), Prices(distance=1))

TWO_WAYS = """
unit = "in"
[tracks]
lead = { from = "entrance", to = "T points", length = 18 }
near = { from = "T straight", length = 24 }
short = { from = "T diverging", to = "U points", length = 6 }
far = { from = "U straight", length = 20 }
side = { from = "U diverging", length = 20 }
[turnouts]
T = { length = 2 }
U = { length = 2 }
[cars]
x = 6
y = 6
z = 6
[locomotives]
L = { length = 6, heads = "to" }
[start]
lead = ["x", "z", "L"]
near = ["y"]
[work]
set_to_any_of = { x = ["near", "short"], z = ["near", "far"] }
"""


@pytest.mark.parametrize("search", ["events", "compiled events", "longest runs"])
def test_final_cuts_count(search: str) -> None:
    """Counted by hand.  The near way L comes up against y, and must be cut off at both of its ends: 3.  The
    far way, which is longer, x is cut off as L passes, and z at the end: 2.
    """
    solution = solve(loads(TWO_WAYS), search=search)
    assert solution.verdict is Verdict.PROVED and solution.couplings_proved
    assert solution.counts is not None
    assert (solution.counts.moves, solution.counts.couplings, solution.counts.cuts) == (1, 0, 2)


def _said(search: str, seeds: range) -> Counter[str]:
    """What was proved, all of it as brute force over whole-number positions has it."""
    said: Counter[str] = Counter()
    for seed in seeds:
        try:
            least = brute_figures(tiny_puzzle(seed), *IN_TURN, most_states=60_000)
        except TooManyStates:
            said["too many"] += 1
            continue
        solution = solve(tiny_puzzle(seed), search=search)
        if least is None:
            assert solution.verdict is Verdict.IMPOSSIBLE, seed
            continue
        counts = solution.counts
        assert counts is not None and counts.moves == least[0], seed
        handling = counts.couplings + counts.cuts
        assert (handling, counts.distance) >= least[1:], seed
        if solution.couplings_proved:
            said["handling"] += 1
            assert handling == least[1], seed
        if solution.distance_proved:
            said["distance"] += 1
            assert counts.distance == least[2], seed
    return said


@pytest.mark.parametrize(("search", "handling"), [("events", 4), ("compiled events", 8)])
def test_ties_are_those_of_brute_force(search: str, handling: int) -> None:
    """Couplings + cuts, and distance, are least where they are called so."""
    said = _said(search, range(24))
    assert said["handling"] >= handling and said["distance"] >= 3 and said["too many"] <= 4, said


def test_handling_left_is_a_bound() -> None:
    """From the start of a tiny district it is no more than the least by brute force, nor always zero."""
    compared = bites = 0
    for seed in range(24):
        rules = Rules(pack(tiny_puzzle(seed)))
        with suppress(TooManyStates):
            least = brute_figures(tiny_puzzle(seed), Prices(coupling=1, cut=1), most_states=60_000)
            if least is not None:
                bound = min(map(Goal(rules).handling_left, rules.starts()))
                assert bound <= least[0], seed
                compared += 1
                bites += bound > 0
    assert compared >= 8 and bites >= 4


@pytest.mark.slow
@pytest.mark.parametrize("first", range(24, 224, 50))
@pytest.mark.parametrize("search", ["auto", "events", "compiled events"])
def test_ties_are_those_of_brute_force_on_more(search: str, first: int) -> None:
    """The same on two hundred more."""
    assert _said(search, range(first, first + 50))["handling"] >= 8
