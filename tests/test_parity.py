"""Even or odd numbers of runs: what is said holds for the plain search, and changes no answer."""

from __future__ import annotations

from collections import Counter

import pytest

from switchsolve.goal import Goal
from switchsolve.packing import pack
from switchsolve.puzzle import Puzzle
from switchsolve.rules import Rules
from switchsolve.search import compiled_runs
from switchsolve.search.beginning import first_states
from switchsolve.search.both_ends import search_both_ends
from switchsolve.search.compilable import is_packable
from switchsolve.search.compiled_runs import search_runs
from switchsolve.search.endings import PlacesMatter, endings
from switchsolve.search.exact import bounds
from switchsolve.search.one_run import search_one_run
from switchsolve.search.parity import odd_or_even
from switchsolve.search.reached import Budget
from switchsolve.search.runs import LongestRuns
from switchsolve.search.space import Space
from switchsolve.work import EndsIn, Place
from tests.builders import set_up, wye_district
from tests.reference_district import evening, reference
from tests.tiny_districts import tiny_puzzle


def _said(puzzle: Puzzle) -> int | None:
    rules = Rules(pack(puzzle))
    runs = LongestRuns(rules)
    first, goals = first_states(rules, runs, len(puzzle.start.under_way)), endings(rules, runs, 20_000)
    return odd_or_even(rules, Space(rules, states=[*first, *goals]), Budget(None), first, goals)


def _compare(seeds: range, monkeypatch: pytest.MonkeyPatch) -> Counter[int]:
    """How often odd (1) and even (0) is rightly said of three runs and more."""
    monkeypatch.setattr(compiled_runs, "_PLAIN", 0)  # bounds, and so what is said, from the start
    right: Counter[int] = Counter()
    for seed in seeds:
        puzzle = tiny_puzzle(seed)
        rules = Rules(pack(puzzle))
        if bounds(rules) is not None or not is_packable(rules):
            continue
        if search_one_run(rules, Goal(rules), len(puzzle.start.under_way)).node is not None:
            continue
        runs = LongestRuns(rules)
        first = first_states(rules, runs, len(puzzle.start.under_way))
        try:
            goals = endings(rules, runs, 20_000)
        except PlacesMatter:
            continue
        plain = search_both_ends(runs, first, goals)
        assert plain.is_exhausted
        if any(state in runs.behind for state in first):
            continue
        said = _said(puzzle)
        if plain.chain is not None and plain.runs > 2 and said is not None:
            assert plain.runs % 2 == said, seed
            right[said] += 1
        found = search_runs(LongestRuns(rules), first, goals)
        assert found.is_proved and (found.chain is None) == (plain.chain is None), seed
        assert found.chain is None or found.least == plain.runs, seed
    return right


def test_the_number_of_runs_is_as_said(monkeypatch: pytest.MonkeyPatch) -> None:
    """On random districts the plain search, which asks of no such thing, finds such numbers; and the compiled
    one, which does, the same."""
    right = _compare(range(120), monkeypatch)
    assert right[0] >= 6 and right[1] >= 4, right


@pytest.mark.slow
@pytest.mark.parametrize("first", range(120, 1_120, 200))
def test_the_number_of_runs_is_as_said_on_more(first: int, monkeypatch: pytest.MonkeyPatch) -> None:
    """The same on a thousand more."""
    right = _compare(range(first, first + 200), monkeypatch)
    assert right[0] >= 5 and right[1] >= 5, right


def test_in_and_out_by_the_same_lead() -> None:
    """In by a lead and out by it again: an even number.  Where the locomotive may end on either side, or can
    be turned end for end, nothing is said."""
    assert [_said(evening(count)) for count in (0, 1, 2)] == [0, 0, 0]
    assert _said(reference(1)) is None
    item = EndsIn("c", (Place("left"),))
    assert _said(set_up(wye_district(), {"stem": "c L"}, item, heads={"L": "to"})) is None
