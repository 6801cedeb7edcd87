"""The compiled event search against the plain one: the same standings, in the same order."""

from __future__ import annotations

from dataclasses import replace

import pytest

from switchsolve.goal import Goal
from switchsolve.packing import pack
from switchsolve.plan import Verdict
from switchsolve.rules import Rules
from switchsolve.search.compilable import is_compilable
from switchsolve.search.compiled import search_compiled
from switchsolve.search.events import EventNode, EventResult, search_events
from switchsolve.solving import solve
from tests.random_districts import random_puzzle


def _chain(result: EventResult) -> list[tuple[object, ...]]:
    chain = []
    node: EventNode | None = result.node
    while node is not None:
        chain.append((node.standing, node.action, node.cost))
        node = node.parent
    return chain


@pytest.mark.parametrize(
    "first",
    [pytest.param(first, marks=pytest.mark.slow if first == 20 else ()) for first in range(0, 60, 10)],
)
def test_it_does_what_the_plain_search_does(first: int) -> None:
    """As many standings expanded, generated and stored, and the same plan, standing by standing."""
    compared = 0
    for seed in range(first, first + 10):
        rules = Rules(pack(random_puzzle(seed)[0]))
        goal = Goal(rules)
        fast = search_compiled(rules, goal)
        if fast.stats["expanded"] > 6000:
            continue  # the plain search takes too long
        compared += 1
        plain = search_events(rules, goal)
        assert fast.stats == plain.stats, seed
        assert _chain(fast) == _chain(plain), seed
        assert fast.met == plain.met, seed
    assert compared >= 2


def test_a_bound_on_moves_is_kept() -> None:
    """With one move fewer than the minimum there is no plan; with as many there is."""
    rules = Rules(pack(random_puzzle(13)[0]))
    goal = Goal(rules)
    found = search_compiled(rules, goal)
    assert found.node is not None
    least = found.node.cost.moves
    fewer = search_compiled(rules, goal, most=least - 1)
    assert fewer.node is None and fewer.is_exhausted
    assert search_compiled(rules, goal, most=least).node is not None


def test_it_can_be_stopped() -> None:
    """Told to stop, it says how far it has come."""
    rules = Rules(pack(random_puzzle(7)[0]))
    result = search_compiled(rules, Goal(rules), should_stop=lambda expanded: "enough")
    assert result.node is None and not result.is_exhausted


def test_it_can_be_asked_for() -> None:
    """``solve`` with that search: its plan is replayed, its name is in the figures."""
    puzzle, _ = random_puzzle(4)
    solution = solve(puzzle, search="compiled events", tie_standings=0)
    assert solution.verdict is Verdict.PROVED
    assert solution.stats["search"] == "compiled events"
    assert solution.lower_bound == solve(puzzle, search="events", tie_standings=0).lower_bound


def test_what_it_has_no_room_for_is_refused() -> None:
    """A very long train over very short rail: not compilable, and said so."""
    puzzle, _ = random_puzzle(4)
    cars = tuple(replace(car, length=5000) for car in puzzle.cars)
    rules = Rules(pack(replace(puzzle, cars=cars)))
    assert not is_compilable(rules)
    with pytest.raises(ValueError, match="too many cells"):
        search_compiled(rules, Goal(rules))
