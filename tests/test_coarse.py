"""The law seen coarsely: as few moves as by the law, from the start and both ends, and a plan by the law."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from itertools import pairwise
from pathlib import Path

import pytest
from psutil import virtual_memory

from switchsolve.district import End, Limits, Marks, Part, Table
from switchsolve.goal import Goal
from switchsolve.packing import PackedPuzzle, pack
from switchsolve.plan import Verdict
from switchsolve.puzzle import Puzzle
from switchsolve.puzzlefile import load
from switchsolve.referee import replay
from switchsolve.rules import CoarseRules, Rules, String
from switchsolve.search.compilable import is_compilable
from switchsolve.search.compiled import search_compiled
from switchsolve.search.compiled_ends import search_compiled_ends
from switchsolve.search.events import EventNode, EventResult, search_events
from switchsolve.search.exact import bounds, why_not_coarse, why_one_way_only
from switchsolve.search.firm import firm_plan
from switchsolve.search.last_standings import last_standings
from switchsolve.solving import by_events, solve
from switchsolve.work import EndsIn, Item, LocomotiveEnds, Place
from tests.brute_force import TooManyStates, brute_minimum
from tests.builders import build, run_around_district, set_up, spur_district, track, turnout
from tests.published import railway_muddle, railway_shunting
from tests.random_districts import random_puzzle
from tests.reference_district import reference

_SMALL = 12_000
"""Standings that the law expands from the start in what is compared here."""
_FEW_STANDINGS = (8, 9, 21, 56, 63, 88, 98, 129, 180)
"""Seeds of small districts with an oval, a wye or a table; in two the work cannot be done."""
_SEVERAL = (50, 97, 106, 140, 192)
"""Seeds of small districts with several locomotives."""


def _cases(seeds: Iterable[int]) -> Iterator[tuple[int, Puzzle, PackedPuzzle]]:
    """Random districts that can be seen coarsely, and are searched by events: several locomotives, ovals,
    wyes, tables.
    """
    for seed in seeds:
        puzzle = random_puzzle(seed)[0]
        packed = pack(puzzle)
        rules = Rules(packed)
        if is_compilable(rules) and why_not_coarse(rules) is None and bounds(rules) is not None:
            yield seed, puzzle, packed


def _few(expanded: int) -> str | None:
    return "enough" if expanded > _SMALL else None


def _moves(result: EventResult) -> int | None:
    assert result.is_exhausted
    return None if result.node is None else result.node.cost.moves


def _from_both_ends(rules: Rules, goal: Goal) -> EventResult:
    lasts = last_standings(rules, goal, 20_000)
    assert lasts is not None
    return search_compiled_ends(rules, goal, lasts)


def _compare(seeds: Iterable[int]) -> int:
    """How many were compared."""
    compared = 0
    for seed, puzzle, packed in _cases(seeds):
        law, coarse = Rules(packed), CoarseRules(packed)
        by_law = search_compiled(law, Goal(law), should_stop=_few)
        if not by_law.is_exhausted:
            continue
        least = _moves(by_law)
        goal = Goal(coarse)
        from_start = search_compiled(coarse, goal)
        assert _moves(from_start) == least, seed
        search = "coarse events"
        if why_one_way_only(coarse) is None:
            search = "coarse events from both ends"
            assert _moves(_from_both_ends(coarse, goal)) == least, seed
        if from_start.node is not None:
            plan = firm_plan(law, Goal(law), coarse, from_start.node, lambda expanded: None)
            assert plan is not None and plan.node is not None and plan.node.cost.moves == least, seed
        solution = solve(puzzle, search=search, tie_standings=0)  # and replayed
        assert solution.verdict is (Verdict.IMPOSSIBLE if least is None else Verdict.PROVED), seed
        if least is not None:
            under_way = sum(1 for last in packed.start_last if last)
            assert solution.counts is not None and solution.counts.moves == least + under_way, seed
        compared += 1
    return compared


def test_as_few_moves_as_by_the_law() -> None:
    """On random districts with ovals, wyes, tables and several locomotives; impossible, too."""
    assert _compare(_FEW_STANDINGS) == len(_FEW_STANDINGS)


def test_as_few_moves_with_several_locomotives() -> None:
    """The same on random districts with more than one."""
    assert all(len(random_puzzle(seed)[0].locomotives) > 1 for seed in _SEVERAL)
    assert _compare(_SEVERAL) == len(_SEVERAL)


@pytest.mark.parametrize("more", [(), ("M",), ("M", "d")], ids=["one", "two locomotives", "and a car more"])
def test_a_table_that_the_locomotive_fills(more: tuple[str, ...]) -> None:
    """A car fills the part of track before a table that the locomotive fills: left there it would touch the
    locomotive, so it has to be left over the part behind as well, or the table cannot be lined.

    By hand: the locomotive backs to the car, pulls it until it stands on the table itself, and once that is
    lined to ``one``, by the same end, backs out: 3 moves.
    """
    meets = (("from", End("lead", "to")), ("from", End("one", "from")))
    district = build(
        [track("S", 9), track("lead", 1, 3), track("one", 2), track("X", 4)],
        [],
        tables=[Table("T", "turntable", 2, meets, 0)],
        links=[("S.to", "lead.from"), ("S.from", "X.to")],
    )
    wanted: list[Item] = [EndsIn("c", (Place("lead"),)), LocomotiveEnds("L", "one")]
    wanted += [LocomotiveEnds(name, "X") if name == "M" else EndsIn(name, (Place("X"),)) for name in more]
    start = {"S": "c", "lead": "L"} | ({"X": " | ".join(more)} if more else {})
    heads = {"L": "to"} | ({"M": "to"} if more else {})
    puzzle = set_up(district, start, *wanted, heads=heads, lengths={"c": 3, "L": 2})
    least = brute_minimum(puzzle, most_states=5_000_000)
    assert least == 3
    assert why_not_coarse(Rules(pack(puzzle))) is None
    for search in ("events", "coarse events", "coarse events from both ends", "auto"):
        found = solve(puzzle, search=search, tie_standings=0)
        assert found.counts is not None and found.counts.moves == least, search


@pytest.mark.parametrize("search", ["events", "coarse events", "loose events", "auto"])
def test_nobody_is_lined_away_from_what_it_comes_up_to(search: str) -> None:
    """What has just come up to a car across the edge of a table, and is not coupled to it, is not at rest, so
    the table is not lined: 7 moves, by brute force as well (``test_brute_force.py`` says what that is).
    """
    meets = (("from", End("one", "to")), ("to", End("two", "from")), ("to", End("three", "from")))
    district = build(
        [track("one", 1), track("two", 3), track("three", 2), track("four", 4), track("five", 3)],
        [turnout("J", "one.from", "five.from", "four.from", lengths=(2, 2))],
        tables=[Table("table", "transfer table", 3, meets, 0)],
    )
    wanted = [EndsIn(car, (Place(end),)) for car, end in (("a", "three"), ("b", "two"), ("c", "two"))]
    puzzle = set_up(
        district,
        {"five": "L b", "one": "a", "three": "c"},
        *wanted,
        LocomotiveEnds("L", "two"),
        heads={"L": "to"},
    )
    if search == "events":
        assert brute_minimum(puzzle) == 7
    found = solve(puzzle, search=search, tie_standings=0)
    assert (found.verdict, found.lower_bound) == (Verdict.PROVED, 7)


def test_a_plan_along_a_long_row() -> None:
    """Four cars on ten tracks: the law goes along the coarse row without looking far aside, and needs as few
    moves as longest runs.
    """
    puzzle = reference(2)
    rules = Rules(pack(puzzle))
    coarse = CoarseRules(rules.p)
    row = _from_both_ends(coarse, Goal(coarse)).node
    assert row is not None
    looked = 0

    def stop(expanded: int) -> None:
        nonlocal looked
        looked = expanded

    plan = firm_plan(rules, Goal(rules), coarse, row, stop)
    assert plan is not None and plan.node is not None and looked < 2_000
    begun = sum(1 for last in rules.p.start_last if last)
    assert plan.node.cost.moves + begun == solve(puzzle, search="longest runs", tie_standings=0).lower_bound


def test_a_plan_where_it_is_tight() -> None:
    """Nine units of cars on a track of ten: the third has to be shoved against the others and is left coupled
    to them, which the coarse row does not say.
    """
    district = build(
        [track("stub", 1), track("lead", 2, 1), track("spur", 2, 4, 4)],
        [turnout("J", "lead.from", "stub.to", "spur.from", lengths=(2, 2))],
    )
    wanted = [EndsIn(name, (Place("spur"),)) for name in "abc"]
    puzzle = set_up(
        district,
        {"stub": "a", "lead": "L", "spur": "c | b"},
        *wanted,
        LocomotiveEnds("L", "lead"),
        heads={"L": "from"},
        lengths={"b": 4, "c": 4, "L": 2},
    )
    rules = Rules(pack(puzzle))
    coarse = CoarseRules(rules.p)
    row = search_compiled(coarse, Goal(coarse)).node
    assert row is not None
    plan = firm_plan(rules, Goal(rules), coarse, row, lambda looked: None)
    assert plan is not None and plan.node is not None and plan.node.cost.moves == row.cost.moves
    assert solve(puzzle, search="events", tie_standings=0).lower_bound == row.cost.moves


@pytest.mark.slow
@pytest.mark.parametrize("first", range(100, 1700, 200))
def test_as_few_moves_on_many(first: int) -> None:
    """The same on 1,600 more."""
    assert _compare(range(first, first + 200)) >= 10


@pytest.mark.slow
def test_as_few_moves_as_brute_force_finds() -> None:
    """Brute force over whole-number positions, which knows nothing of all this, finds as few."""
    compared = 0
    for seed, puzzle, packed in _cases(range(400)):
        coarse = CoarseRules(packed)
        found = search_compiled(coarse, Goal(coarse), should_stop=_few)
        if not found.is_exhausted:
            continue
        try:
            least = brute_minimum(puzzle)
        except TooManyStates:
            continue
        begun = sum(1 for last in packed.start_last if last)
        moves = _moves(found)
        assert (None if moves is None else moves + begun) == least, seed
        compared += 1
    assert compared >= 20


def _chain(result: EventResult) -> list[tuple[object, ...]]:
    chain = []
    node: EventNode | None = result.node
    while node is not None:
        chain.append((node.standing, node.action, node.cost))
        node = node.parent
    return chain


def test_compiled_it_does_what_the_plain_search_does() -> None:
    """As many standings expanded, generated and stored, and the same row, standing by standing."""
    compared = 0
    for seed, _, packed in _cases((8, 9, 21, 50, 63, 97, 98)):
        rules = CoarseRules(packed)
        goal = Goal(rules)
        fast = search_compiled(rules, goal)
        if fast.stats["expanded"] > 1_500:
            continue  # the plain search takes too long
        plain = search_events(rules, goal)
        assert fast.stats == plain.stats, seed
        assert _chain(fast) == _chain(plain), seed
        compared += 1
    assert compared >= 5


@pytest.mark.parametrize("name", ["coast_two_engines", "marrow_point_turntable"])
def test_compiled_it_does_so_on_puzzle_files(name: str) -> None:
    """The same on the puzzle files that are searched so."""
    rules = CoarseRules(pack(load(Path(__file__).parents[1] / "puzzles" / f"{name}.toml")))
    assert why_not_coarse(rules) is None
    goal = Goal(rules)
    fast, plain = search_compiled(rules, goal), search_events(rules, goal)
    assert fast.stats == plain.stats and _chain(fast) == _chain(plain)


def test_cars_in_one_cell_are_one() -> None:
    """No two strings without a locomotive stand side by side in one cell, whatever has been done."""
    seen = 0
    for _, _, packed in _cases((9, 56, 97, 106)):
        rules = CoarseRules(packed)
        node = search_compiled(rules, Goal(rules), should_stop=_few).node
        while node is not None:
            for _, slots in node.standing.inside:
                are_cars = [not rules.has_loco(node.standing.strings[slot].tokens) for slot in slots]
                assert not any(one and other for one, other in pairwise(are_cars))
                seen += 1
            node = node.parent
    assert seen


def test_where_a_cut_need_not_be_left() -> None:
    """Cars that fit on a track are not left foul of its turnout, unless a locomotive stands with them."""
    district = run_around_district(west=6, main=4, side=4, east=6)
    puzzle = set_up(
        district, {"main": "a b L", "side": "M"}, heads={"L": "to", "M": "to"}, lengths={"a": 3, "b": 2}
    )
    rules = CoarseRules(pack(puzzle))
    cell = {one.cell.place: number for number, one in enumerate(rules.p.cells)}
    west, main = 2 * cell["west"], 2 * cell["main"]
    a, b, engine = (2 * rules.p.class_of[name] for name in ("a", "b", "L"))
    through = next(way for way in rules.p.ahead(west, ()) if main in rules.p.ahead(way, ()))
    assert rules.needs_its_cells(String((west,), (a,)))
    assert not rules.needs_its_cells(String((west, through), (a,)))
    assert not rules.needs_its_cells(String((through, main), (a,)))
    assert rules.needs_its_cells(String((through, main), (a, b)))  # 5 on 4 and a turnout of 1
    assert not rules.needs_its_cells(String((west, through, main), (a, b)))
    assert rules.needs_its_cells(String((west, through), (a, engine)))


def test_where_it_is_refused() -> None:
    """Where places matter, or rail is closed, or a limit binds: with the reason."""
    cars, heads = {"lead": "L", "spur": "a"}, {"L": "to"}
    closed = spur_district(spur=track("spur", Part(3, Marks(no_locomotives=True))))
    spotted = spur_district(spur=track("spur", 3, spots={"door": 1}))
    limited = spur_district(limits=Limits(longest=1))
    wanted = EndsIn("a", (Place("main"),))
    cases = {
        "rail closed": set_up(closed, cars, wanted, heads=heads),
        "at a spot": set_up(spotted, cars, EndsIn("a", (Place("spur", "door"),)), heads=heads),
        "at an exact place": set_up(spotted, cars, wanted, heads=heads, spots={"a": "door"}),
        "limits": set_up(limited, cars, wanted, heads=heads, lengths={"a": 2}),
    }
    for reason, puzzle in cases.items():
        assert reason in (why_not_coarse(Rules(pack(puzzle))) or "none"), reason
        for search in ("coarse events", "coarse events from both ends"):
            with pytest.raises(ValueError, match="cannot be seen coarsely"):
                solve(puzzle, search=search)
    assert why_not_coarse(Rules(pack(set_up(spotted, cars, wanted, heads=heads)))) is None


def test_from_the_start_only_where_cars_may_start_over_more_cells_than_they_need() -> None:
    """Going back, cars that fit on a part of a track are not left across a seam of it; they may start there.

    (A limit that all cars together keep makes a seam, and forbids nothing.)
    """
    graded = Part(6, Marks(limits=Limits(most_cars=9)))
    seamed = spur_district(spur=track("spur", 6, graded))
    wanted = EndsIn("a", (Place("main"),))
    lengths = {"a": 2, "b": 4, "c": 4}  # with gaps of one between them they fill the spur
    puzzle = set_up(seamed, {"lead": "L", "spur": "c | a | b"}, wanted, heads={"L": "to"}, lengths=lengths)
    assert "may start over more" in (why_one_way_only(CoarseRules(pack(puzzle))) or "none")
    assert why_one_way_only(Rules(pack(puzzle))) is None
    with pytest.raises(ValueError, match="not the same backwards"):
        solve(puzzle, search="coarse events from both ends")
    found = [solve(puzzle, search=name, tie_standings=0) for name in ("coarse events", "compiled events")]
    assert found[0].lower_bound == found[1].lower_bound
    whole = set_up(spur_district(), {"lead": "L", "spur": "a"}, wanted, heads={"L": "to"})
    assert why_one_way_only(CoarseRules(pack(whole))) is None


def test_without_a_plan_by_the_law_it_goes_on_by_the_law(monkeypatch: pytest.MonkeyPatch) -> None:
    """If no plan of the law goes along the coarse row, the law is searched, and the answer is the same."""
    puzzle = random_puzzle(50)[0]
    least = solve(puzzle, search="coarse events", tie_standings=0)
    monkeypatch.setattr(by_events, "firm_plan", lambda *told: None)
    found = solve(puzzle, search="coarse events", tie_standings=0)
    assert found.stats["search"] == "compiled events"
    assert found.verdict is least.verdict is Verdict.PROVED and found.lower_bound == least.lower_bound


def test_two_long_trains_are_not_too_much() -> None:
    """The kernel has room for two trains of sixteen wagons, of which one standing makes very many."""
    packed = pack(railway_muddle(8))
    assert is_compilable(Rules(packed)) and why_not_coarse(Rules(packed)) is None
    rules = CoarseRules(packed)
    found = search_compiled(rules, Goal(rules), should_stop=lambda expanded: "enough")
    assert found.node is None and not found.is_exhausted and found.stats["expanded"] > 1_000


def test_trains_in_print_seen_coarsely() -> None:
    """H. E. Dudeney's two trains and a spur (Modern Puzzles, 1926, no. 48: 14 reversals in print), and two
    trains of two wagons and a loop of one (see ``test_published.py``; 6 is this project's own proof).

    The standings expanded do not depend on the machine: golden counts.
    """
    for puzzle, reversals, expanded in ((railway_shunting(), 14, 91_812), (railway_muddle(1), 6, 101_349)):
        found = solve(puzzle, search="coarse events from both ends", tie_standings=0)
        assert found.plan is not None and found.verdict is Verdict.PROVED
        assert found.stats["expanded"] == expanded
        assert replay(puzzle, found.plan).counts.reversals == reversals


@pytest.mark.slow
def test_trains_of_four_wagons_past_each_other() -> None:
    """Two trains of four wagons and a loop of sides of two (see ``test_published.py``): 6 reversals, by this
    project's own proof.  It takes three minutes, and ten GiB.
    """
    if virtual_memory().available < 12 << 30:
        pytest.skip("needs 12 GiB")
    puzzle = railway_muddle(2)
    found = solve(puzzle, search="coarse events from both ends", tie_standings=0)
    assert found.verdict is Verdict.PROVED and found.plan is not None
    assert replay(puzzle, found.plan).counts.reversals == 6
