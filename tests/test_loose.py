"""The law seen loosely: never more moves than by the law; and from both ends where limits bind."""

from __future__ import annotations

from collections.abc import Iterable

import pytest

from switchsolve.district import Limits
from switchsolve.goal import Goal
from switchsolve.packing import pack
from switchsolve.planning import make_plan
from switchsolve.referee import replay
from switchsolve.rules import LooseRules, Rules
from switchsolve.search.compilable import is_compilable
from switchsolve.search.compiled import search_compiled
from switchsolve.search.compiled_ends import search_compiled_ends
from switchsolve.search.events import EventResult, search_events
from switchsolve.search.exact import why_limits_bind, why_not_coarse, why_one_way_only
from switchsolve.search.last_standings import last_standings
from switchsolve.solving import solve
from switchsolve.solving.by_moves import row_of
from switchsolve.solving.limited import plan_within_limits
from switchsolve.work import EndsIn, Place
from tests.builders import set_up, spur_district
from tests.random_districts import random_puzzle
from tests.reference_district import within_limits

_SMALL = 12_000
"""Standings that are expanded in what is compared here."""
_SEEDS = (3, 12, 20, 27, 33, 41, 118)
_FAR = 1 << 30


def _few(expanded: int) -> str | None:
    return "enough" if expanded > _SMALL else None


def _moves(result: EventResult) -> int:
    assert result.is_exhausted
    return _FAR if result.node is None else result.node.cost.moves


def _from_both_ends(rules: Rules) -> int | None:
    """The fewest moves, or ``None``: not asked, or not found in time."""
    if why_one_way_only(rules) is not None:
        return None
    lasts = last_standings(rules, Goal(rules), 4_000)
    if lasts is None:
        return None
    found = search_compiled_ends(rules, Goal(rules), lasts, should_stop=_few)
    return _moves(found) if found.is_exhausted else None


def _compare(seeds: Iterable[int]) -> tuple[int, int, int, int]:
    """How many were compared, from both ends, where limits bind, and how many have the same moves."""
    compared = ends = limits = same = 0
    for seed in seeds:
        law = Rules(pack(random_puzzle(seed)[0]))
        if not is_compilable(law):
            continue
        by_law = search_compiled(law, Goal(law), should_stop=_few)
        if not by_law.is_exhausted:
            continue
        least = _moves(by_law)
        by_ends = _from_both_ends(law)
        assert by_ends in (None, least), seed
        loose = LooseRules(law.p)
        loosely = _moves(search_compiled(loose, Goal(loose)))
        assert loosely <= least, seed
        assert (_from_both_ends(loose) or 0) <= least, seed
        compared += 1
        ends += by_ends is not None
        limits += by_ends is not None and why_limits_bind(law) is not None
        same += loosely == least
    return compared, ends, limits, same


def test_never_more_moves_than_by_the_law() -> None:
    """On random districts in all features dealt, impossible work among them; mostly the same number."""
    compared, ends, limits, same = _compare(range(60))
    assert compared > 30 and ends > 20 and limits > 2 and same > compared - 3


@pytest.mark.slow
@pytest.mark.parametrize("first", range(60, 1060, 100))
def test_never_more_moves_on_many(first: int) -> None:
    """The same on 1,000 more."""
    compared, ends, limits, _ = _compare(range(first, first + 100))
    assert compared > 30 and ends > 20 and limits > 2


def test_compiled_loosely_as_in_plain_python() -> None:
    """The compiled search expands the same standings as the plain one, seen loosely."""
    compared = 0
    for seed in range(100):
        rules = LooseRules(pack(random_puzzle(seed)[0]))
        if not is_compilable(rules) or why_not_coarse(rules) is None:
            continue
        plain = search_events(rules, Goal(rules), should_stop=lambda done: "enough" if done > 400 else None)
        if not plain.is_exhausted:
            continue
        compiled = search_compiled(rules, Goal(rules))
        assert _moves(compiled) == _moves(plain), seed
        assert compiled.stats["expanded"] == plain.stats["expanded"], seed
        compared += 1
    assert compared > 8


@pytest.mark.parametrize("search", ["loose events", "loose events from both ends", "steady"])
def test_solved_loosely_as_by_the_law(search: str) -> None:
    """Solve says the same, with a plan that the referee has replayed, or that there is none."""
    told = 0
    for seed in _SEEDS:
        puzzle = random_puzzle(seed)[0]
        law = solve(puzzle, search="compiled events", tie_standings=0)
        try:
            found = solve(puzzle, search=search, tie_standings=0)
        except ValueError:
            continue
        assert found.verdict is law.verdict and found.lower_bound == law.lower_bound, seed
        told += 1
    assert told > 4


def test_a_plan_within_the_limits_comes_soon() -> None:
    """Two cars at most in the moving string, four to be worked: the law alone finds no plan in minutes."""
    puzzle = within_limits(2, 2)
    rules = Rules(pack(puzzle))
    found = plan_within_limits(rules, Goal(rules), 1, lambda looked: "enough" if looked > 20_000 else None)
    assert found is not None and found.node is not None and found.met is not None
    counts = replay(puzzle, make_plan(rules, *row_of(found), found.met)).counts
    assert counts.moves == found.node.cost.moves + 1
    least = solve(puzzle, tie_standings=0)
    assert least.lower_bound is not None and least.lower_bound <= counts.moves


def test_why_not_backwards_within_limits() -> None:
    """A string may be too long for the limits at the start only; and backwards, cars ahead are behind."""
    spotted = EndsIn("c", (Place("spur"),))

    def why(limits: Limits, start: dict[str, str]) -> str:
        puzzle = set_up(spur_district(limits=limits), start, spotted, heads={"A": "to"})
        return why_one_way_only(Rules(pack(puzzle))) or "none"

    together, apart = {"lead": "A c d"}, {"lead": "A c", "main": "d"}
    assert why(Limits(most_cars=1), apart) == "none"
    assert "longer at the start" in why(Limits(most_cars=1), together)
    assert why(Limits(most_cars=2), together) == "none"
    assert "cars ahead" in why(Limits(most_shoved=1), apart)
