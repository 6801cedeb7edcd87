"""Tables that many questions share, held to tables made for one question."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from threading import Thread

import numpy as np
import pytest

from switchsolve.kernel import run_kernel as kernel
from switchsolve.packing import pack
from switchsolve.puzzle import Puzzle
from switchsolve.puzzlefile import load
from switchsolve.rules import Rules
from switchsolve.search import bank as bank_room
from switchsolve.search.bank import Bank, bank_for
from switchsolve.search.compilable import is_packable
from switchsolve.search.compiled_runs import search_runs
from switchsolve.search.endings import TooManyEndings, endings
from switchsolve.search.exact import applies
from switchsolve.search.patterns import Patterns, opened
from switchsolve.search.reached import Budget, NoRoom, Reached
from switchsolve.search.runs import LongestRuns
from switchsolve.search.space import Space
from switchsolve.solving import first_states
from switchsolve.study import Outcome, answer
from switchsolve.traffic import Season
from switchsolve.work import EndsIn, Work
from tests.files import puzzle_files
from tests.random_districts import random_puzzle

_FILES = ("cask_lane_spur", "millbrook_siding", "quarry_hill_branch")


def _drawn(file: str, sessions: int, seed: int = 5) -> Iterator[Puzzle]:
    """Sessions of a puzzle file, each done in full."""
    path = next(path for path in puzzle_files() if path.stem == file)
    season = Season(load(path), seed, 1)
    for _ in range(sessions):
        yield season.draw().puzzle
        season.close(())


def _random(seed: int) -> Iterator[Puzzle]:
    """A random set-up, and the same with one item less: that car is on hold."""
    puzzle = random_puzzle(seed)[0]
    yield puzzle
    item = next((item for item in puzzle.work.items if isinstance(item, EndsIn)), None)
    if item is not None:
        yield replace(puzzle, work=Work(tuple(one for one in puzzle.work.items if one is not item)))


def _rules(puzzle: Puzzle) -> Rules | None:
    """The rules, where longest runs are exact, tables can be shared, and there is a choice of cars."""
    rules = Rules(pack(puzzle))
    if applies(rules) is not None or not is_packable(rules) or len(rules.p.class_of) < 4:
        return None
    return None if rules.p.any_cars else rules


def _states(rules: Rules, space: Space, most: int = 3_000) -> Reached:
    """What can be reached from one run after the start, as far as it goes, or so far."""
    runs = LongestRuns(rules)
    first = {after for state in first_states(rules, runs, 0) for after in runs.steps(state)}
    reached = Reached(space, Budget(None))
    reached.begin(sorted(first), 1)
    begin, depth = 0, 1
    while begin < reached.count < most:
        layer = np.arange(begin, reached.count)
        begin, depth = reached.count, depth + 1
        reached.expand(layer, depth)
    return reached


def _compared(rules: Rules) -> int:
    """Of how many states the bounds were compared: the same by tables of a bank and by tables of its own."""
    space = Space(rules)
    reached = _states(rules, space)
    chosen = np.arange(reached.count)
    found = []
    for bank in (None, bank_for(opened(rules))):
        patterns = Patterns(rules, space, Budget(None), bank=bank)
        for size in (2, 3):
            if size < len(patterns.cars):
                assert patterns.add(patterns.all_of(size))
        found.append(patterns.bounds(reached, chosen, patterns.rows, kernel.UNREACHABLE))
    assert (found[0] == found[1]).all()
    return len(chosen) if found[0].max() > 0 else 0


@pytest.mark.parametrize("file", _FILES)
def test_shared_tables_say_what_own_tables_say_of_sessions(file: str) -> None:
    """Sessions of one district, one after the other on one bank: each bound is that of tables made anew."""
    rules = [one for one in map(_rules, _drawn(file, 6)) if one is not None]
    assert sum(_compared(one) for one in rules) > 2_000
    assert len({id(bank_for(opened(one))) for one in rules}) == 1


def test_shared_tables_say_what_own_tables_say_of_random_districts() -> None:
    """Two questions of each district, one after the other on one bank."""
    seen = 0
    for seed in range(90):
        for puzzle in _random(seed):
            rules = _rules(puzzle)
            if rules is not None:
                try:
                    seen += _compared(rules)
                except TooManyEndings:
                    continue
    assert seen > 5_000


@pytest.mark.parametrize("file", _FILES)
def test_the_same_minimum_with_a_bank_and_without(file: str) -> None:
    """For sessions of a district; the standings expanded hang on no question asked before."""
    asked = [one for one in map(_rules, _drawn(file, 4)) if one is not None]

    def searched(rules: Rules, same_district: bool) -> tuple[int, bool, object]:
        runs = LongestRuns(rules)
        first, goals = first_states(rules, runs, 0), endings(rules, runs, 2_000)
        found = search_runs(runs, first, goals, same_district=same_district)
        return found.least, found.chain is None, found.stats.get("expanded")

    forward = [searched(rules, True) for rules in asked]
    backward = [searched(rules, True) for rules in reversed(asked)][::-1]
    alone = [searched(rules, False) for rules in asked]
    assert forward == backward
    assert [one[:2] for one in forward] == [one[:2] for one in alone]


def test_an_answer_hangs_on_no_question_asked_before() -> None:
    """What a session's row holds is the same with tables that are there and in a new thread, which has none.
    """
    asked = list(_drawn("cask_lane_spur", 5))
    here = [answer(puzzle, with_crew=False) for puzzle in asked]
    for number in (4, 2):
        new: list[Outcome] = []
        thread = Thread(target=lambda n=number, to=new: to.append(answer(asked[n], with_crew=False)))
        thread.start()
        thread.join()
        assert new == [here[number]]


def test_half_a_table_is_forgotten() -> None:
    """Told to stop, or out of memory, while a table is made, a bank holds nothing, and says the right things
    the next time.
    """
    rules = next(one for one in map(_rules, _drawn("cask_lane_spur", 8)) if one is not None)
    bank = Bank(opened(rules))
    space = Space(rules)
    patterns = Patterns(rules, space, Budget(None), bank=bank)
    assert patterns.add(patterns.all_of(2)) and bank.sizes
    assert not patterns.add(patterns.all_of(3), lambda: True)
    assert not bank.sizes and not bank.reached.count
    with pytest.raises(NoRoom):
        poor = Patterns(rules, space, Budget(400_000), bank=bank)
        poor.add(poor.all_of(3))
    assert not bank.sizes and not bank.reached.count
    assert _compared(rules)


def test_a_full_bank_begins_anew(monkeypatch: pytest.MonkeyPatch) -> None:
    """With room for few standings, or few kinds of cars, each question begins with an empty bank, and all
    bounds stay right.
    """
    monkeypatch.setattr(bank_room, "_MOST_STATES", 10)
    rules = [one for one in map(_rules, _drawn("millbrook_siding", 4)) if one is not None]
    assert all(_compared(one) for one in rules)


def test_where_the_crew_may_choose_nothing_is_shared() -> None:
    """A car left out may be one that the crew would have chosen, so other cars of the question matter."""
    rules = next(
        rules
        for rules in (Rules(pack(random_puzzle(seed)[0])) for seed in range(400))
        if rules.p.any_cars and applies(rules) is None
    )
    assert bank_for(opened(rules)) is None
