"""Plans along a chain of standings: as few couplings and cuts as the order of looking at them brings."""

from __future__ import annotations

import pytest

from switchsolve.goal import Goal
from switchsolve.packing import pack
from switchsolve.planning import make_plan
from switchsolve.puzzle import Puzzle
from switchsolve.referee import replay
from switchsolve.rules import Rules, String
from switchsolve.search.beginning import first_states
from switchsolve.search.both_ends import search_both_ends
from switchsolve.search.events import search_events
from switchsolve.search.runs import LongestRuns, RunState
from switchsolve.solving.along import _Along, plan_along
from switchsolve.solving.by_moves import row_of
from switchsolve.solving.trimming import trimmed
from tests.reference_district import evening, reference


def _chain(puzzle: Puzzle) -> tuple[Rules, list[RunState]]:
    rules = Rules(pack(puzzle))
    runs = LongestRuns(rules)
    found = search_both_ends(runs, first_states(rules, runs, len(puzzle.start.under_way)))
    assert found.chain is not None
    return rules, found.chain


def _handling(puzzle: Puzzle, rules: Rules, chain: list[RunState], in_any_order: bool) -> int:
    """Couplings and cuts of a plan along the chain; ``in_any_order``: the latest standing first, and of these
    whichever comes.
    """
    goal, under_way = Goal(rules), len(puzzle.start.under_way)
    if in_any_order:
        runs = LongestRuns(rules)
        along = _Along(rules, chain, under_way, (runs, runs))
        found = search_events(
            rules,
            goal,
            most_moves=len(chain) - 1 - under_way,
            may_begin=along.may_begin,
            may_leave=along.may_leave,
            may_enter=along.may_enter,
            may_go_on=along.may_go_on,
            guide=lambda standing, cost: -cost.moves,
        )
    else:
        made = plan_along(rules, goal, chain, under_way)
        assert made is not None
        found = made
    assert found.met is not None
    counts = replay(puzzle, make_plan(rules, *row_of(found), found.met)).counts
    assert counts.moves == len(chain) - 1
    return counts.couplings + counts.cuts


@pytest.mark.parametrize("puzzle", [reference(2), evening(2)], ids=["2+2", "evening 2+2"])
def test_fewer_couplings_and_cuts_than_in_any_order(puzzle: Puzzle) -> None:
    """As many moves, along the same chain, with a quarter fewer couplings and cuts at least."""
    rules, chain = _chain(puzzle)
    assert _handling(puzzle, rules, chain, False) <= 0.75 * _handling(puzzle, rules, chain, True)


def test_a_run_stops_short_of_cars_that_the_next_one_leaves_as_they_stood() -> None:
    """What the locomotive has at its tail, and neighbours in the chain have standing: and nothing else."""
    stood, moved, own = String((4,), (2,)), String((6,), (6,)), (0, 4)
    chain: list[RunState] = [
        ((stood, moved), String((0,), own)),
        ((), String((6, 4, 0), (6, 2, *own))),
        ((stood,), String((0,), (*own, 6))),
    ]
    # it took up "moved" last, and that it needs: so what it met before stays in its string
    assert trimmed(chain) == chain
    chain[1] = ((), String((4, 6, 0), (2, 6, *own)))
    assert trimmed(chain) == [chain[0], ((stood,), String((6, 0), (6, *own))), chain[2]]
    # where work begins and ends all is as it is
    assert trimmed(chain)[0] == chain[0] and trimmed(chain)[-1] == chain[-1]
