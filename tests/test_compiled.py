"""The compiled event search against the plain one: the same standings, in the same order."""

from __future__ import annotations

from dataclasses import replace

import pytest

from switchsolve.district import District, Limits, Marks, Part
from switchsolve.goal import Goal
from switchsolve.packing import pack
from switchsolve.plan import Verdict
from switchsolve.puzzle import Puzzle
from switchsolve.rules import Rules
from switchsolve.search.compilable import is_compilable
from switchsolve.search.compiled import search_compiled
from switchsolve.search.events import EventNode, EventResult, search_events
from switchsolve.solving import solve
from switchsolve.work import EndsIn, LocomotiveEnds, Place
from tests.brute_force import brute_minimum
from tests.builders import build, set_up, track, turnout
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


def _from_edge_to_edge(end: str, *, mirrored: bool) -> Puzzle:
    """A locomotive as long as the turnout shoves a car into a spur that it and the car there fill; the rail
    before the turnout takes one car, so that the two are coupled when the locomotive has just left it.
    """
    parts = [3, Part(1, Marks(limits=Limits(most_cars=1)))]
    lead = track("lead", *(parts[::-1] if mirrored else parts))
    points = "lead.from" if mirrored else "lead.to"
    spurs = ("spur.to", "other.to") if mirrored else ("spur.from", "other.from")
    district: District = build([lead, track("spur", 2), track("other", 1)], [turnout("T", points, *spurs)])
    work = [EndsIn(car, (Place("spur"),)) for car in ("c", "d")]
    standing = {"lead": "c A" if mirrored else "A c", "spur": "d"}
    return set_up(district, standing, *work, LocomotiveEnds("A", end), heads={"A": "to"})


@pytest.mark.parametrize("search", ["events", "compiled events"])
@pytest.mark.parametrize("mirrored", [False, True])
@pytest.mark.parametrize(("end", "moves"), [("lead", 2), ("other", 3)])
def test_what_is_cut_off_from_edge_to_edge_goes_on(end: str, moves: int, mirrored: bool, search: str) -> None:
    """In and out: two moves; and in again by the other leg: three.  Brute force says so too."""
    puzzle = _from_edge_to_edge(end, mirrored=mirrored)
    assert brute_minimum(puzzle) == moves
    solution = solve(puzzle, search=search, tie_standings=0)
    assert solution.counts is not None and solution.counts.moves == moves
