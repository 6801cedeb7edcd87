"""The quick look that rules out plans of one run: it may say yes too often, and no never wrongly."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from dataclasses import replace
from random import Random

import pytest

from switchsolve.district import District, Limits
from switchsolve.goal import Goal
from switchsolve.packing import pack
from switchsolve.puzzle import Puzzle
from switchsolve.rules import Rules
from switchsolve.search.events import search_events
from switchsolve.search.exact import applies, bounds
from switchsolve.search.one_run import may_do_in_one_run, search_one_run
from switchsolve.work import EndsIn, Place
from tests.brute_force import brute_minimum
from tests.builders import run_around_district, set_up, spur_district, switchback_district


def _may(puzzle: Puzzle) -> bool:
    rules = Rules(pack(puzzle))
    return any(may_do_in_one_run(rules, Goal(rules), standing) for standing in rules.starts())


def _to(car: str, where: str) -> EndsIn:
    return EndsIn(car, (Place(where),))


def _drawn(seed: int) -> Puzzle | None:
    """A locomotive and two cars on one of three small districts, each car with a wish; ``None``: no room."""
    random = Random(seed)
    district = random.choice((spur_district, switchback_district, run_around_district))()
    names = [one.name for one in district.tracks]
    rows = {names[0]: random.choice(("L", "a L", "L a", "a b L", "L b a"))}
    for car in "ab":
        if all(car not in row for row in rows.values()):
            where = random.choice(names[1:])
            rows[where] = f"{rows[where]} | {car}" if where in rows else car
    items = [_to(car, random.choice(names)) for car in "ab"]
    puzzle = set_up(district, rows, *items, heads={"L": "to"})
    return None if next(Rules(pack(puzzle)).starts(), None) is None else puzzle


def _said(seeds: range) -> Iterator[tuple[bool, int | None]]:
    """What the look says of each set-up drawn, and its true minimum by brute force."""
    for seed in seeds:
        puzzle = _drawn(seed)
        if puzzle is not None and bounds(Rules(pack(puzzle))) is None:
            yield _may(puzzle), brute_minimum(puzzle)


def test_no_is_never_wrong() -> None:
    """Where the look says no, brute force over whole-number positions (which shares no code) has a minimum
    above one move, or no plan; where it says yes there often is a plan of one move.
    """
    said = Counter((may, least is not None and least <= 1) for may, least in _said(range(60)))
    assert not said[False, True]
    assert said[True, True] >= 8 and said[False, False] >= 20


def test_one_run_is_found_where_the_law_finds_it() -> None:
    """Also with limits and a locomotive that couples at its rear only, of which longest runs know nothing."""
    found: Counter[bool] = Counter()
    for seed in range(300):
        puzzle = _drawn(seed)
        if puzzle is None:
            continue
        rules = Rules(pack(_forbidding(puzzle, seed)))
        if bounds(rules) is None and applies(rules) is not None:
            one = search_one_run(rules, Goal(rules), 0)
            law = search_events(rules, Goal(rules), most_moves=1)
            assert (one.node is None) == (law.node is None)
            found[one.node is not None] += 1
    assert found[True] >= 10 and found[False] >= 100


def _forbidding(puzzle: Puzzle, seed: int) -> Puzzle:
    """The same with a limit on the moving string, or on what is shoved, or with a front that does nothing."""
    old = puzzle.district
    limits = (Limits(1), Limits(longest=1), Limits(most_shoved=0), Limits(most_shoved=1), Limits())[seed % 5]
    district = District(old.tracks, old.junctions, old.tables, old.links, limits)
    (engine,) = puzzle.locomotives
    return replace(puzzle, district=district, locomotives=(replace(engine, rear_only=not limits),))


@pytest.mark.slow
def test_no_is_never_wrong_for_many() -> None:
    """The same for a thousand set-ups."""
    said = Counter((may, least is not None and least <= 1) for may, least in _said(range(1000, 2000)))
    assert not said[False, True]


def test_what_each_rule_refuses() -> None:
    """By hand: a car to be left behind one that stays, a car that stands the wrong way; and what may be."""
    lane = spur_district(8, 4, 3)
    rows = {"lead": "a b L"}
    assert not _may(set_up(lane, rows, _to("a", "spur"), _to("b", "lead"), heads={"L": "to"}))
    assert _may(set_up(lane, rows, _to("a", "lead"), _to("b", "spur"), heads={"L": "to"}))
    assert not _may(set_up(lane, {"main": "a", "lead": "L"}, _to("a", "lead"), heads={"L": "to"}))
    assert _may(set_up(lane, {"lead": "L a"}, _to("a", "spur"), heads={"L": "to"}))
    assert not _may(set_up(switchback_district(), {"lead": "L a"}, _to("a", "spur"), heads={"L": "to"}))
    around = run_around_district()
    assert _may(set_up(around, {"west": "L", "main": "a"}, _to("a", "east"), heads={"L": "to"}))
