"""The compiled event search from both ends: as few moves as from the start alone, and all ends listed."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace

import pytest

from switchsolve.district import Limits
from switchsolve.goal import Goal
from switchsolve.packing import pack
from switchsolve.plan import Verdict
from switchsolve.referee import replay
from switchsolve.rules import Rules, Standing, String
from switchsolve.search.compilable import is_compilable
from switchsolve.search.compiled import search_compiled
from switchsolve.search.compiled_ends import search_compiled_ends
from switchsolve.search.exact import why_one_way_only
from switchsolve.search.last_standings import last_standings
from switchsolve.solving import solve
from switchsolve.zone import share_a_position
from tests.brute_force import brute_minimum
from tests.published import railway_muddle, wye_exchange
from tests.random_districts import random_puzzle

_SMALL = 12_000
"""Standings expanded from the start alone in what is compared here."""
_SEVERAL = (48, 50, 79, 97, 106, 112, 136, 140)
"""Seeds of small districts with several locomotives."""
BOTH_ENDS = "compiled events from both ends"


def _cases(seeds: Iterable[int]) -> list[tuple[int, Rules]]:
    """Random districts that are the same backwards."""
    found = [(seed, Rules(pack(random_puzzle(seed)[0]))) for seed in seeds]
    return [
        (seed, rules) for seed, rules in found if is_compilable(rules) and why_one_way_only(rules) is None
    ]


def _ends(rules: Rules, goal: Goal) -> list[Standing]:
    """All ends of the work, which are few here."""
    found = last_standings(rules, goal, 4000)
    assert found is not None
    return found


def _few(expanded: int) -> str | None:
    return "enough" if expanded > _SMALL else None


def _compare(seeds: Iterable[int]) -> int:
    """How many were compared."""
    compared = 0
    for seed, rules in _cases(seeds):
        goal = Goal(rules)
        one_way = search_compiled(rules, goal, should_stop=_few)
        if not one_way.is_exhausted:
            continue
        both = search_compiled_ends(rules, goal, _ends(rules, goal))
        assert both.is_exhausted, seed
        moves = [None if one.node is None else one.node.cost.moves for one in (one_way, both)]
        assert moves[0] == moves[1], seed
        if both.node is not None:
            assert both.met is not None and both.lower_bound == both.node.cost.moves
            puzzle = random_puzzle(seed)[0]
            solution = solve(puzzle, search=BOTH_ENDS, tie_standings=0)  # the referee replays it
            assert solution.verdict is Verdict.PROVED, seed
        compared += 1
    return compared


def test_as_few_moves_as_from_the_start_alone() -> None:
    """On random districts with ovals, wyes, tables, closed parts and several locomotives; impossible, too."""
    assert _compare(range(24)) >= 6


def test_as_few_moves_with_several_locomotives() -> None:
    """The same on random districts with more than one."""
    assert all(len(random_puzzle(seed)[0].locomotives) > 1 for seed in _SEVERAL)
    assert _compare(_SEVERAL) == len(_SEVERAL)


@pytest.mark.slow
@pytest.mark.parametrize("first", range(100, 900, 100))
def test_as_few_moves_on_many(first: int) -> None:
    """The same on 800 more."""
    assert _compare(range(first, first + 100)) >= 40


def _placed(rules: Rules, standing: Standing) -> Standing:
    """The standing with every string at the first place that it may have, over no more cells than it touches.

    (In a closed matrix of differences the least values of all are a solution together.)
    """
    rows = []
    for slot, string in enumerate(standing.strings):
        ways, x, length = list(string.ways), -standing.zone[1 + slot], rules.length(string.tokens)
        while x >= rules.lengths[ways[0] >> 1]:
            x -= rules.lengths[ways.pop(0) >> 1]
        while len(ways) > 1 and x + length <= rules.path_length(tuple(ways[:-1])):
            ways.pop()
        rows.append((String(tuple(ways), string.tokens), x))
    found = rules.at_places(rows, standing.last)
    assert found is not None
    return found[0]


def test_where_a_plan_ends_is_among_the_ends() -> None:
    """The search from the start, which knows no ends, comes to one of those that are listed."""
    seen = 0
    for seed, rules in _cases(range(24)):
        goal = Goal(rules)
        found = search_compiled(rules, goal, should_stop=_few)
        if found.node is None or found.met is None or rules.mirrored:
            continue
        ended = _placed(rules, found.node.standing._replace(zone=found.met.zone))
        assert any(
            one.place == ended.place and share_a_position(one.zone, ended.zone)
            for one in _ends(rules, goal)
        ), seed
        seen += 1
    assert seen >= 4


def test_the_work_is_done_in_every_end() -> None:
    """Each end meets the work as the goal is asked of any standing."""
    for seed, rules in _cases(range(16)):
        goal = Goal(rules)
        for standing in _ends(rules, goal):
            assert goal.met(standing) is not None, seed


def test_too_many_ends_are_refused() -> None:
    """Told how many it may list, it lists no more; told to stop, it does."""
    rules = Rules(pack(wye_exchange(back=False)))
    goal = Goal(rules)
    assert len(_ends(rules, goal)) > 10
    assert last_standings(rules, goal, 10) is None
    assert last_standings(rules, goal, 4000, lambda looked: "time" if looked > 20 else None) is None


def test_wye_in_print_from_both_ends() -> None:
    """W. W. Rouse Ball's wye (see ``test_published.py``): 16 and 7 reversals, of an engine under way.

    The standings expanded do not depend on the machine: a golden count.
    """
    for back, reversals, expanded in ((True, 16, 12_058), (False, 7, 1_507)):
        puzzle = wye_exchange(back=back)
        rules = Rules(pack(puzzle))
        goal = Goal(rules)
        found = search_compiled_ends(rules, goal, _ends(rules, goal))
        assert found.is_exhausted and found.lower_bound == reversals
        assert found.stats["expanded"] == expanded
        solution = solve(puzzle, search=BOTH_ENDS, tie_standings=0)
        assert solution.plan is not None and solution.counts is not None
        assert replay(puzzle, solution.plan).counts.reversals == reversals


def test_a_bound_on_moves_is_kept() -> None:
    """With one move fewer than the minimum there is no plan; with as many there is."""
    rules = Rules(pack(wye_exchange(back=False)))
    goal = Goal(rules)
    lasts = _ends(rules, goal)
    fewer = search_compiled_ends(rules, goal, lasts, most=6)
    assert fewer.node is None and fewer.is_exhausted
    enough = search_compiled_ends(rules, goal, lasts, most=7)
    assert enough.node is not None and enough.node.cost.moves == 7


def test_stopped_it_says_a_bound() -> None:
    """Told to stop, it knows how few there must be, and no more than there are."""
    rules = Rules(pack(railway_muddle(1)))
    goal = Goal(rules)
    lasts = _ends(rules, goal)
    bounds = []
    for most in (1, 5_000, 30_000):
        found = search_compiled_ends(
            rules, goal, lasts, should_stop=lambda expanded, most=most: "enough" if expanded > most else None  # type: ignore[misc]
        )
        assert not found.is_exhausted and found.lower_bound <= 6
        bounds.append(found.lower_bound)
    assert bounds == sorted(bounds) and bounds[-1] > bounds[0]


def test_the_bound_that_it_tells_rises_to_the_minimum() -> None:
    """In moves, of which the engine that is under way has begun its first: never above the fewest, 8."""
    rules = Rules(pack(wye_exchange(back=False)))
    goal = Goal(rules)
    told: list[str] = []
    search_compiled_ends(rules, goal, _ends(rules, goal), name=told.append)
    bounds = [int(line.split()[2]) for line in told]
    assert bounds == sorted(bounds) and 6 <= bounds[-1] <= 8


def test_what_it_may_take_is_kept() -> None:
    """A limit of memory below what it needs stops it, and is named."""
    rules = Rules(pack(railway_muddle(1)))
    goal = Goal(rules)
    found = search_compiled_ends(rules, goal, _ends(rules, goal), most_bytes=1)
    assert found.reason == "the limit of memory" and not found.is_exhausted


def test_where_the_way_back_is_another_it_is_refused() -> None:
    """What is ahead of the locomotive is behind it backwards, so a limit on that is not the same."""
    puzzle, _ = random_puzzle(4)
    district = replace(puzzle.district, limits=Limits(most_shoved=0))
    with pytest.raises(ValueError, match="not the same backwards"):
        solve(replace(puzzle, district=district), search=BOTH_ENDS)


@pytest.mark.slow
def test_smallest_railway_muddle_from_both_ends() -> None:
    """Two trains of two wagons past each other by a loop of one (see ``test_published.py``): 6 reversals, by
    brute force over positions as well.  Half a minute and half a minute.
    """
    puzzle = railway_muddle(1)
    solution = solve(puzzle, tie_standings=0)
    assert solution.verdict is Verdict.PROVED and solution.counts is not None
    assert solution.counts.reversals == 6
    assert brute_minimum(puzzle) == solution.counts.moves
