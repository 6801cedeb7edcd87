"""What a district can do: facts on hand-made districts, and brute force on the questions behind them."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from dataclasses import replace
from itertools import islice
from pathlib import Path

import networkx as nx
import pytest

from switchsolve.district import End, KeepClear, Limits, Marks, Part, Spot, Track
from switchsolve.facts import Facts, StandardResult, examine, measuring, shape
from switchsolve.facts.blocks import as_one, easier, in_blocks
from switchsolve.facts.counts import Count, SpurFact
from switchsolve.facts.deciding import Answer, Hints, Prober, _Decision, decide
from switchsolve.facts.probes import (
    Bench,
    Entry,
    bench,
    entries,
    is_open,
    pass_probe,
    reach_probe,
    spot_probe,
    tail_probe,
)
from switchsolve.facts.shape import isolated, joined, loops, spurs, tails
from switchsolve.facts.sparing import Change, resized
from switchsolve.facts.standards import clear_at_end_probe, left_by_the_work
from switchsolve.facts.tables import shuts_cars_off
from switchsolve.facts.trips import least_moves
from switchsolve.goal import Goal
from switchsolve.marking import remarked
from switchsolve.packing import pack
from switchsolve.puzzle import Puzzle, Standards
from switchsolve.puzzlefile import load
from switchsolve.rules import Rules
from switchsolve.search.beginning import first_states
from switchsolve.search.both_ends import search_both_ends
from switchsolve.search.endings import endings
from switchsolve.search.events import search_events
from switchsolve.search.exact import bounds
from switchsolve.search.runs import LongestRuns
from switchsolve.work import AnyCars, EndsIn, Free, Hold, Place
from tests.brute_force import TooManyStates, brute_minimum
from tests.brute_search import Overflow
from tests.builders import (
    balloon_district,
    build,
    oval_district,
    run_around_district,
    set_up,
    spur_district,
    switchback_district,
    table_district,
    track,
    turnout,
    wye_district,
)
from tests.files import puzzle_files
from tests.random_districts import random_puzzle
from tests.random_plans import random_plan
from tests.tiny_districts import tiny_puzzle

PUZZLES = Path(__file__).parent.parent / "puzzles"
TWO = {"L": 2, "a": 2}
"""A locomotive and a car of two units each."""


def _spur(length: int = 3, lead: int = 8) -> Puzzle:
    """A facing spur; the train stands on the lead, whose ``from`` end is an entrance."""
    district = spur_district(track("lead", lead, entrance="from"), 4, track("spur", length))
    return set_up(district, {"lead": "L a"}, heads={"L": "to"}, lengths=TWO)


def _switchback(tail: int) -> Puzzle:
    """A spur with one spot, which trails behind a tail."""
    old = switchback_district(10, tail, 3)
    spur = track("spur", 3, spots={"door": 1})
    tracks = (track("lead", 10, entrance="from"), track("tail", tail), spur)
    return set_up(replace(old, tracks=tracks), {"lead": "a L"}, heads={"L": "to"}, lengths=TWO)


def _run_around(main: int = 4, side: int = 4, tail: int = 2) -> Puzzle:
    """A run-around between a lead with an entrance and a tail."""
    old = run_around_district(14, main, side, tail)
    tracks = (track("west", 14, entrance="from"), *old.tracks[1:])
    return set_up(replace(old, tracks=tracks), {"west": "a L"}, heads={"L": "to"}, lengths=TWO)


def _with(puzzle: Puzzle, standards: Standards) -> list[StandardResult]:
    return list(examine(replace(puzzle, standards=standards)).standards)


def _bench(puzzle: Puzzle) -> Bench:
    found = bench(puzzle)
    assert found is not None
    return found


def _of_spur(facts: Facts, name: str) -> SpurFact:
    return next(fact for fact in facts.spurs if fact.track == name)


def _holds(puzzle: Puzzle, name: str) -> Count:
    count = _of_spur(examine(puzzle), name).holds
    assert count is not None and count.is_proved
    return count


def _moves(puzzle: Puzzle, name: str) -> list[int | None]:
    return [answer.moves for _, answer in _of_spur(examine(puzzle), name).reached]


# ---- spurs


@pytest.mark.parametrize("length, cars, spare", [(2, 1, 0), (3, 1, 1), (4, 2, 0), (5, 2, 1)])
def test_a_facing_spur_holds_what_can_be_shoved_in(length: int, cars: int, spare: int) -> None:
    """Cars of 2: the number, the length to spare, and that they must be ahead of the locomotive."""
    assert _holds(_spur(length), "spur") == Count(cars, True, Change("spur", spare), 0, "ahead")


def test_a_spur_shorter_than_a_car_holds_none() -> None:
    """No car of 2 fits a spur of 1, and nothing can be to spare."""
    assert _holds(_spur(1), "spur") == Count(0, True)


def test_facing_is_one_move_and_trailing_is_two() -> None:
    """From the lead the facing spur takes one move, the one behind a tail two."""
    assert _moves(_spur(), "spur") == [1]
    assert _moves(_switchback(4), "spur") == [2]


def test_from_the_other_entrance_a_facing_spur_is_trailing() -> None:
    """A spur off a track with an entrance at each end: facing from one, trailing from the other."""
    device = turnout("T", "west.to", "east.from", "spur.from")
    tracks = [track("west", 6, entrance="from"), track("east", 6, entrance="to"), track("spur", 3)]
    puzzle = set_up(build(tracks, [device]), {"west": "L a"}, heads={"L": "to"}, lengths=TWO)
    assert _moves(puzzle, "spur") == [1, 2]


def test_a_closed_spur_is_judged_by_a_car_shoved_in() -> None:
    """No locomotive may enter the spur, yet it is facing: a car is shoved in with one move."""
    district = spur_district(
        track("lead", 8, entrance="from"), 4, track("spur", 3, marks=Marks(no_locomotives=True))
    )
    puzzle = set_up(district, {"lead": "L a"}, heads={"L": "to"}, lengths=TWO)
    assert _moves(puzzle, "spur") == [1]
    assert _holds(puzzle, "spur") == Count(1, True, None, 0, "ahead")


def test_behind_a_closed_turnout_an_idler_is_needed() -> None:
    """The turnout is closed too, so one car alone cannot be shoved clear of it; with an idler it can.

    The spur is facing all the same.
    """
    marks = Marks(no_locomotives=True)
    district = spur_district(
        track("lead", 12, entrance="from"), 4, track("spur", 2, marks=marks), marks=marks
    )
    puzzle = set_up(district, {"lead": "L a"}, heads={"L": "to"}, lengths=TWO)
    assert _holds(puzzle, "spur").with_idlers == 1
    assert _moves(puzzle, "spur") == [1]


def test_cars_that_are_not_to_be_touched_take_room() -> None:
    """A fixed car of 1 at the bumper of a spur of 5 leaves room for two cars of 2, with nothing to spare."""
    puzzle = set_up(
        spur_district(track("lead", 8, entrance="from"), 4, 5),
        {"lead": "L a", "spur": "x"},
        heads={"L": "to"},
        lengths=TWO,
        fixed={"x": 4},
    )
    assert _holds(puzzle, "spur") == Count(2, True, Change("spur", 0), 0, "ahead")


def test_the_tail_decides_what_the_spur_behind_it_holds() -> None:
    """A tail of 3 takes no car beside the locomotive, so the spur holds none; a tail of 4 lets it."""
    assert _holds(_switchback(3), "spur").number == 0
    assert _holds(_switchback(4), "spur") == Count(1, True, Change("spur", 1), 0, "behind")


# ---- tails


@pytest.mark.parametrize("length, cars", [(1, -1), (2, 0), (3, 0), (4, 1), (7, 2)])
def test_a_tail_takes_the_engine_and_some_cars(length: int, cars: int) -> None:
    """Engine and cars of 2 each: what fits wholly in the tail; -1 if the engine itself does not."""
    facts = examine(_switchback(length))
    assert [(fact.track, fact.takes and fact.takes.number) for fact in facts.tails] == [("tail", cars)]


def test_a_tail_of_two_tracks_is_measured_as_one() -> None:
    """A tail of 2 with another track of 3 beyond takes the engine and one car, with 1 to spare."""
    device = turnout("S", "near.to", "lead.to", "spur.from")
    tracks = [track("lead", 10, entrance="from"), track("near", 2), track("far", 3), track("spur", 3)]
    district = build(tracks, [device], links=[("near.from", "far.to")])
    puzzle = set_up(district, {"lead": "a L"}, heads={"L": "to"}, lengths=TWO)
    assert tails(district) == (("near", "far"),)
    whole, name = joined(district, ("near", "far"))
    assert [part.length for part in whole.track(name).parts] == [3, 2]
    fact = examine(puzzle).tails[0]
    assert (fact.track, fact.takes) == ("near + far", Count(1, True, Change("near + far", 1)))


# ---- run-arounds


def test_a_run_around_passes_what_its_longer_side_takes() -> None:
    """Sides of 7 and 3: three cars of 2 are passed, as long as the longer side keeps 6 of its 7."""
    fact = examine(_run_around(7, 3, 5)).loops[0]
    assert (fact.name, fact.moves) == ("side / main", 4)
    assert fact.passes == Count(3, True, Change("main", 1))


def test_a_tail_too_short_for_the_engine_means_no_run_around() -> None:
    """With a tail of 1 an engine of 2 cannot get round, however long the sides."""
    fact = examine(_run_around(8, 8, 1)).loops[0]
    assert (fact.moves, fact.passes) == (None, Count(0, True))


def test_loops_are_told_apart_by_their_cusps() -> None:
    """Two cusps: a run-around; three: a wye; one: a balloon loop; none: an oval; no loop: nothing."""
    districts = [run_around_district(), wye_district(), balloon_district(), oval_district(), spur_district()]
    kinds = [[loop.kind for loop in loops(district)] for district in districts]
    assert kinds == [["run-around"], ["wye"], ["balloon loop"], ["oval"], []]


def test_a_table_is_a_cusp() -> None:
    """Two tracks from one turnout to a turntable make a run-around."""
    old = table_district()
    tracks = [track("stem", 4), *old.tracks]
    ends = [turnout("T", "stem.to", "lead.from", "one.to")]
    district = build(tracks, ends, tables=old.tables)
    assert [(loop.kind, sorted(loop.tracks())) for loop in loops(district)] == [
        ("run-around", ["lead", "one"])
    ]


def test_isolated_leaves_one_loop() -> None:
    """Of three tracks side by side each pair with the shortest is a loop; parted, one is left."""
    devices = [
        turnout("A", "west.to", "one.from", "B.points"),
        turnout("B", "A.diverging", "two.from", "three.from"),
        turnout("C", "east.from", "one.to", "D.points"),
        turnout("D", "C.diverging", "two.to", "three.to"),
    ]
    single = [
        (made, tuple(link for link in links if link[0].end != "points" or made.name in "AC"))
        for made, links in devices
    ]
    names = {"west": 9, "one": 4, "two": 5, "three": 6, "east": 3}
    district = build([track(name, length) for name, length in names.items()], single)
    found = loops(district)
    assert len(found) == 2
    for loop in found:
        assert [other.tracks() for other in loops(isolated(district, loop))] == [loop.tracks()]


def test_loops_hang_on_the_tree_that_a_library_finds() -> None:
    """The tree of the shortest edges, what is left over, and the way through the tree: in every puzzle, and
    in random plans, those of networkx."""
    districts = [load(path).district for path in puzzle_files()]
    districts += [random_plan(seed).district for seed in range(60)]
    chords_found = 0
    for district in districts:
        edges = sorted(shape._edges(district))
        graph: nx.Graph[shape.Node] = nx.Graph()
        for one, other, length in edges:
            graph.add_edge(one, other, weight=length)
        known = nx.minimum_spanning_tree(graph)
        tree, chords = shape._spanned(edges)
        assert {frozenset((one, other)) for one, near in tree.items() for other in near} == {
            frozenset(edge) for edge in known.edges
        }
        left = (edge for edge in graph.edges if not known.has_edge(*edge))
        assert chords == sorted((min(edge), max(edge)) for edge in left)
        for one, other in chords:
            assert shape._path(tree, one, other) == nx.shortest_path(known, one, other)
        chords_found += len(chords)
    assert chords_found > 100


# ---- spots


def test_a_spot_that_no_work_can_reach_comes_with_its_cure() -> None:
    """Behind a tail of 3 the door cannot be reached: the tail is 1 short.  With a tail of 4 it can."""
    fact = examine(_switchback(3)).spots[0]
    assert (fact.place, fact.is_possible, fact.cure) == (Place("spur", "door"), False, Change("tail", 1))
    assert examine(_switchback(4)).spots == ()


# ---- the tightest thing


def test_the_tightest_thing_is_the_least_of_all() -> None:
    """Spur 3 has 1 to spare for a car of 2, main 5 has 1, lead 9 has 1 beside engine and three cars; main is
    first among equals only if nothing is less: with a spur of 4 that is the spur, with nothing to spare."""
    district = spur_district(track("lead", 9, entrance="from"), 5, 4)
    facts = examine(set_up(district, {"lead": "L a"}, heads={"L": "to"}, lengths=TWO))
    assert facts.tightest is not None
    assert (facts.tightest.where, facts.tightest.name, facts.tightest.length) == ("spur", "spur", 0)


# ---- standards


def test_a_run_around_standard_is_met_or_short() -> None:
    """Sides of 7 and 3 with a tail of 5 pass three cars of 2; for four the longer side is 1 short."""
    puzzle = _run_around(7, 3, 5)
    met, short = (_with(puzzle, Standards(run_around_passes=cars))[0] for cars in (3, 4))
    assert (met.is_met, met.cure) == (True, None)
    assert (short.is_met, short.cure) == (False, Change("main", 1))


def test_a_run_around_standard_without_a_run_around_is_not_met() -> None:
    """Where there is no run-around it passes nothing."""
    result = _with(_spur(), Standards(run_around_passes=1))[0]
    assert (result.is_met, result.found) == (False, "there is no run-around")


def test_every_tail_must_meet_the_standard() -> None:
    """Engine and car of 2: the tail of 3 is 1 short; a tail of 4 meets it."""
    assert [result.cure for result in _with(_switchback(3), Standards(tail_takes=1))] == [Change("tail", 1)]
    assert [result.is_met for result in _with(_switchback(4), Standards(tail_takes=1))] == [True]


def test_a_spur_standard_is_met_or_short() -> None:
    """A spur of 3 holds one car of 2; for two it is 1 short."""
    met, short = (_with(_spur(3), Standards(spur_holds={"spur": cars}))[0] for cars in (1, 2))
    assert met.is_met is True
    assert (short.is_met, short.cure) == (False, Change("spur", 1))


def test_clear_at_the_end_is_asked_of_the_work() -> None:
    """A car that is to be held on the main cannot leave it clear; one that goes to the spur can."""
    district = spur_district(track("lead", 8, entrance="from"), 4, 3)
    standing = {"lead": "L", "main": "a"}
    held = set_up(district, standing, Hold("a"), heads={"L": "to"}, lengths=TWO)
    moved = replace(held, work=replace(held.work, items=(EndsIn("a", (Place("spur"),)),)))
    standards = Standards(clear_at_end=("main",))
    assert [result.is_met for result in _with(held, standards)] == [False]
    assert [result.is_met for result in _with(moved, standards)] == [True]
    assert left_by_the_work(held, "main") == ("a",)
    assert brute_minimum(clear_at_end_probe(moved, "main")) is not None


def test_a_free_car_may_not_stay_on_what_is_to_be_clear() -> None:
    """A free car on the main must go elsewhere, and can, if the lead takes it and the engine."""
    for lead, can in ((4, True), (3, False)):
        district = spur_district(track("lead", lead, entrance="from"), 4, 3)
        puzzle = set_up(district, {"lead": "L", "main": "a"}, Free("a"), heads={"L": "to"}, lengths=TWO)
        probe = clear_at_end_probe(puzzle, "main")
        assert (brute_minimum(probe) is not None) == can
        assert [result.is_met for result in _with(puzzle, Standards(clear_at_end=("main",)))] == [can]


def test_any_cars_of_a_kind_leave_clear_at_the_end_open() -> None:
    """Which of two cars stays on the main is not known, so nothing is said to be proved."""
    puzzle = set_up(
        spur_district(8, 4, 3),
        {"lead": "L", "main": "a b"},
        AnyCars("car", 1, Place("spur")),
        heads={"L": "to"},
    )
    assert [result.is_met for result in _with(puzzle, Standards(clear_at_end=("main",)))] == [None]


def test_clear_at_the_end_keeps_a_stricter_mark() -> None:
    """A part that is to be kept clear always stays so."""
    main = track("main", Part(4, Marks(keep_clear=KeepClear.ALWAYS)), Part(2))
    puzzle = set_up(spur_district(8, main, 3), {"lead": "L"}, heads={"L": "to"}, lengths=TWO)
    parts = clear_at_end_probe(puzzle, "main").district.track("main").parts
    assert [part.marks.keep_clear for part in parts] == [KeepClear.ALWAYS, KeepClear.AT_END]


def test_standards_name_the_car_and_the_locomotive() -> None:
    """The standard car is the one named, else of the commonest kind; the locomotive likewise."""
    puzzle = set_up(
        spur_district(12, 4, 3),
        {"lead": "L K a b c"},
        heads={"L": "to", "K": "to"},
        lengths={"L": 2, "K": 1, "a": 1, "b": 3, "c": 3},
        kinds={"a": "short", "b": "long", "c": "long"},
    )
    found = _bench(puzzle)
    assert (found.locomotive.name, found.kind, found.car_length) == ("L", "long", 3)
    found = _bench(replace(puzzle, standards=Standards(car="short", locomotive="K")))
    assert (found.locomotive.name, found.kind, found.car_length) == ("K", "short", 1)


# ---- the questions themselves


def test_without_an_entrance_trains_come_from_where_the_locomotive_starts() -> None:
    """No entrance: the locomotive's own track, by its linked end."""
    puzzle = set_up(spur_district(), {"lead": "L a"}, heads={"L": "from"}, lengths=TWO)
    assert entries(puzzle, "L") == (Entry("lead", "to", False),)


def test_an_endless_entrance_grows_with_the_train() -> None:
    """An entrance track that the reader made as long as need be takes all; one with a length does not."""
    given = _spur(9, lead=5)
    endless = replace(given, notes={"lead": "long enough"}, district=_spur(9, lead=6).district)
    assert _bench(endless).endless == {"lead"} and _bench(given).endless == frozenset()
    assert _holds(endless, "spur").number == 4
    assert _holds(given, "spur").number == 1


def test_limits_that_cannot_bind_are_left_out_of_a_question() -> None:
    """A limit of two cars stays in a question with three cars, not in one with two."""
    district = spur_district(track("lead", 12, entrance="from"), 4, 6, limits=Limits(most_cars=2))
    puzzle = set_up(district, {"lead": "L a"}, heads={"L": "to"}, lengths=TWO)
    way = entries(puzzle, "L")[0]
    two, three = (spot_probe(_bench(puzzle), way, Place("spur"), cars, is_ahead=True) for cars in (2, 3))
    assert (bool(two.district.limits), bool(three.district.limits)) == (False, True)


def test_a_mark_that_cannot_bind_is_left_out_of_a_question() -> None:
    """A lead to be clear at the end is not, when all cars go elsewhere; it is, when idlers may end on it."""
    lead = track("lead", 12, entrance="from", marks=Marks(keep_clear=KeepClear.AT_END))
    puzzle = set_up(spur_district(lead, 4, 6), {"lead": "L a"}, heads={"L": "to"}, lengths=TWO)
    way = entries(puzzle, "L")[0]
    marks = [
        spot_probe(_bench(puzzle), way, Place("spur"), 1, is_ahead=True, idlers=idlers)
        .district.track("lead")
        .parts[0]
        .marks.keep_clear
        for idlers in (0, 1)
    ]
    assert marks == [KeepClear.NO, KeepClear.AT_END]


def test_a_rear_only_locomotive_has_its_rear_to_the_cars() -> None:
    """Cars ahead: it heads out; cars behind: it heads in."""
    puzzle = set_up(
        spur_district(track("lead", 8, entrance="from"), 4, 3),
        {"lead": "L"},
        heads={"L": "to"},
        rear_only="L",
    )
    puzzle = replace(puzzle, kinds={"box": 2})
    way = entries(puzzle, "L")[0]
    heads = [
        spot_probe(_bench(puzzle), way, Place("spur"), 1, is_ahead=ahead).start.heads
        for ahead in (True, False)
    ]
    assert heads == [{"L": "from"}, {"L": "to"}]


def test_a_fixed_car_keeps_its_place_from_the_bumper() -> None:
    """A spur stretched by 2 where it is linked moves the fixed car's place by 2; its bumper end stays."""
    puzzle = set_up(
        spur_district(8, 4, track("spur", 5, spots={"door": 4})),
        {"lead": "L a", "spur": "x"},
        heads={"L": "to"},
        fixed={"x": 4},
    )
    longer = resized(_bench(puzzle), "spur", 7)
    assert longer.puzzle.start.strings[0].fixed_at == 6
    assert longer.district.track("spur").spots == (Spot("door", 6),)


def test_a_question_given_up_is_not_proved() -> None:
    """With no time at all nothing is said to be proved, and no standard is said to be short."""
    facts = examine(replace(_spur(), standards=Standards(spur_holds={"spur": 2})), seconds=0)
    assert _of_spur(facts, "spur").holds is None
    assert facts.unproved and facts.tightest is None
    assert [result.is_met for result in facts.standards] == [None] and facts.meets_standards


def test_a_question_is_asked_once() -> None:
    """The same question again is answered from memory."""
    puzzle, prober = _spur(), Prober()
    probe = reach_probe(_bench(puzzle), entries(puzzle, "L")[0], "spur")
    assert prober.ask(probe) == prober.ask(probe)
    assert prober.asked == 1


def test_a_train_too_long_for_its_start_can_do_nothing() -> None:
    """A train that does not fit the track where it starts makes the answer no, not an error."""
    puzzle = _spur(9, lead=5)
    assert (
        decide(
            spot_probe(_bench(puzzle), entries(puzzle, "L")[0], Place("spur"), 3, is_ahead=True)
        ).is_possible
        is False
    )


# ---- a train as one long car


def _trains(puzzle: Puzzle) -> Iterator[Puzzle]:
    """Questions about two or three cars, of every kind that is asked of them as one."""
    found = bench(puzzle)
    if found is None:
        return
    for way in entries(puzzle, found.locomotive.name)[:1]:
        for cars in (2, 3):
            for track_ in found.district.tracks:
                for is_ahead in (True, False):
                    yield spot_probe(found, way, Place(track_.name), cars, is_ahead=is_ahead)
                    yield tail_probe(found, way, track_.name, cars, is_ahead=is_ahead)
            yield pass_probe(found, way, cars)


def _compare(probe: Puzzle) -> tuple[bool | None, bool | None] | None:
    """The answers for the train as one car, and for its cars; ``None`` if they are never compared."""
    whole = as_one(probe)
    if whole is None:
        return None
    one, each = decide(whole, seconds=1), decide(probe, seconds=1)
    if one.is_possible and each.moves is not None:
        assert one.moves is not None and one.moves >= each.moves
    return one.is_possible, each.is_possible


def test_what_one_long_car_can_do_its_cars_can_do() -> None:
    """In random districts it is never the long car and not the cars, nor in fewer moves."""
    seen = set()
    for seed in range(5):
        for probe in _trains(random_puzzle(seed)[0]):
            seen.add(_compare(probe))
    assert (True, False) not in seen
    assert {(True, True), (False, False)} <= seen


def test_cars_can_do_what_one_long_car_cannot() -> None:
    """Behind a tail for one car two are set out in two trips: a no to the long car is not believed."""
    old = _switchback(4)
    tracks = (*old.district.tracks[:2], track("spur", 6))
    puzzle = replace(old, district=replace(old.district, tracks=tracks))
    found, way = _bench(puzzle), entries(puzzle, "L")[0]
    probe = spot_probe(found, way, Place("spur"), 2, is_ahead=False)
    whole = as_one(probe)
    assert whole is not None
    assert decide(whole).is_possible is False
    prober = Prober()
    assert prober.can(probe, [whole], Hints(counts_moves=False)).is_possible
    assert prober.asked == 2


def test_a_train_is_one_car_only_where_that_is_the_same() -> None:
    """Not with limits, which count cars, nor with idlers; the rest of the question stays."""
    puzzle = _spur(6, lead=12)
    found, way = _bench(puzzle), entries(puzzle, "L")[0]
    probe = spot_probe(found, way, Place("spur"), 3, is_ahead=True)
    whole = as_one(probe)
    assert whole is not None and [car.length for car in whole.cars] == [3 * found.car_length]
    assert [len(string.vehicles) for string in whole.start.strings] == [2]
    assert whole.district == probe.district
    assert as_one(spot_probe(found, way, Place("spur"), 1, is_ahead=True)) is None
    assert as_one(spot_probe(found, way, Place("spur"), 2, is_ahead=True, idlers=1)) is None
    limited = found.on(replace(found.district, limits=Limits(most_cars=2)))
    assert as_one(spot_probe(limited, way, Place("spur"), 3, is_ahead=True)) is None
    assert as_one(spot_probe(limited, way, Place("spur"), 2, is_ahead=True)) is not None


def _up_a_grade(cars: int, most: int) -> Puzzle:
    """A train on a lead with a grade at its end that takes ``most`` cars at once; then a spur for all of them
    behind a tail for so many."""
    old = switchback_district(2 * cars + 2, 2 * most + 2, 2 * cars)
    grade = Part(4, Marks(limits=Limits(most_cars=most)))
    lead = replace(track("lead", 0, entrance="from"), parts=(Part(2 * cars + 2), grade))
    district = replace(old, tracks=(lead, *old.tracks[1:]))
    return set_up(district, {"lead": " ".join("abcdefgh"[:cars]) + " L"}, heads={"L": "to"}, lengths=_OF_TWO)


_OF_TWO = dict.fromkeys("Labcdefgh", 2)


def test_blocks_are_full_but_for_the_last() -> None:
    """Five cars, two of which may go up the grade at once: two blocks of two, the nearest to the locomotive
    first, and one; limits count blocks."""
    puzzle = _up_a_grade(5, 2)
    found, way = _bench(puzzle), entries(puzzle, "L")[0]
    probe = spot_probe(found, way, Place("spur"), 5, is_ahead=False)
    blocks = in_blocks(probe, 2)
    assert blocks is not None
    assert [car.length for car in blocks.cars] == [
        2 * found.car_length,
        2 * found.car_length,
        found.car_length,
    ]
    assert blocks.start.strings[0].vehicles == ("car 5", "car 3", "car 1", "L")
    assert blocks.district.track("lead").parts[1].marks.limits == Limits(most_cars=1)
    assert [len(each.cars) for each in easier(probe)] == [3]
    assert in_blocks(probe, 3) is None and as_one(probe) is None
    assert [len(each.cars) for each in easier(spot_probe(found, way, Place("spur"), 2, is_ahead=False))] == [
        1
    ]
    assert not list(easier(spot_probe(found, way, Place("spur"), 5, is_ahead=False, idlers=1)))


@pytest.mark.parametrize("limits", [Limits(most_shoved=2), Limits(longest=2 * 2)])
def test_every_limit_counts_blocks(limits: Limits) -> None:
    """Of cars shoved two make a block, and of a length in which two fit; none with half a block."""
    puzzle = _up_a_grade(4, 2)
    district = replace(puzzle.district, tracks=tuple(map(_unlimited, puzzle.district.tracks)), limits=limits)
    found, way = _bench(replace(puzzle, district=district)), entries(puzzle, "L")[0]
    probe = spot_probe(found, way, Place("spur"), 4, is_ahead=True)
    assert [len(each.cars) for each in easier(probe)] == [2]
    assert in_blocks(probe, 3) is None


def _unlimited(one: Track) -> Track:
    return replace(one, parts=tuple(replace(part, marks=Marks()) for part in one.parts))


def test_what_blocks_can_do_their_cars_can_do() -> None:
    """In random districts, some with limits, it is never the blocks and not the cars."""
    seen, limited = set(), 0
    for seed in range(8):
        for probe in _trains(random_puzzle(seed)[0]):
            for blocks in easier(_limited(probe, seed)):
                each = decide(_limited(probe, seed), Hints(counts_moves=False), seconds=1).is_possible
                hints = Hints(counts_moves=False, only_yes_counts=True)
                seen.add((decide(blocks, hints, seconds=1).is_possible, each))
                limited += seed % 2
    assert (True, False) not in seen
    assert (True, True) in seen and limited > 20


def _limited(probe: Puzzle, seed: int) -> Puzzle:
    """With odd seeds two cars at most may come along."""
    limits = Limits(most_cars=2) if seed % 2 else Limits()
    return replace(probe, district=replace(probe.district, limits=limits))


def test_a_look_within_limits_never_sees_what_cannot_be() -> None:
    """Where two cars at most may come along, what longest runs that keep to it see is so by events alone."""
    seen = Counter[tuple[bool | None, bool | None]]()
    for seed in range(1, 16, 2):
        for probe in _trains(random_puzzle(seed)[0]):
            puzzle = _limited(probe, seed)
            rules = Rules(pack(puzzle))
            if len(probe.cars) < 3 or bounds(rules) is not None or not list(rules.starts()):
                continue
            look = decide(puzzle, Hints(counts_moves=False, only_yes_counts=True), seconds=2).is_possible
            truth = search_events(rules, Goal(rules), should_stop=lambda done: "x" if done > 4000 else None)
            seen[look, truth.node is not None if truth.is_exhausted else None] += 1
    assert not seen[True, False]
    assert seen[True, True] > 2


def test_what_cannot_be_with_all_open_cannot_be_with_a_part_closed(monkeypatch: pytest.MonkeyPatch) -> None:
    """In random districts with a track closed that can be reached from two sides: the same answers without
    that short cut, which says no now and then."""
    refuted = []
    short_cut = _Decision._is_refuted_with_all_open

    def told(question: _Decision) -> bool:
        refuted.append(short_cut(question))
        return refuted[-1]

    def answers() -> list[bool | None]:
        found = []
        for seed in range(14):
            puzzle = random_puzzle(seed)[0]
            closed = [
                one.name
                for one in puzzle.district.tracks
                if all(puzzle.district.mate(End(one.name, end)) for end in ("from", "to"))
            ][:1]
            district = remarked(puzzle.district, lambda marks: replace(marks, no_locomotives=True), closed)
            for probe in islice(_trains(replace(puzzle, district=district)), 12):
                found.append(decide(probe, Hints(counts_moves=False), seconds=20).is_possible)
        return found

    monkeypatch.setattr(_Decision, "_is_refuted_with_all_open", told)
    with_it = answers()
    monkeypatch.setattr(_Decision, "_is_refuted_with_all_open", lambda question: False)
    assert answers() == with_it
    assert any(refuted) and not all(refuted)


def test_five_cars_go_up_a_grade_by_twos() -> None:
    """All that the spur holds is spotted in three trips, and the tail takes the engine and two cars."""
    facts = examine(_up_a_grade(5, 2))
    holds = _of_spur(facts, "spur").holds
    assert holds == Count(5, True, Change("spur", 0), 0, "behind")
    assert [fact.takes and fact.takes.number for fact in facts.tails] == [2]
    assert facts.unproved == 0


@pytest.mark.parametrize("most, cars, least", [(1, 1, 0), (1, 2, 6), (2, 2, 0), (2, 3, 6), (1, 3, 10)])
def test_passing_in_trips_takes_so_many_moves(most: int, cars: int, least: int) -> None:
    """Where ``most`` cars at once may leave the lead, cars go out by trips and come in by trips: no plan has
    fewer moves than that.  It is said of a dead end only."""
    puzzle = _run_around(8, 8, 8)
    grade = Part(2, Marks(limits=Limits(most_cars=most)))
    lead = replace(puzzle.district.tracks[0], parts=(Part(12), grade))
    district = replace(puzzle.district, tracks=(lead, *puzzle.district.tracks[1:]))
    found, way = _bench(replace(puzzle, district=district)), entries(puzzle, "L")[0]
    probe = pass_probe(found, way, cars)
    assert least_moves(found, way, probe) == least
    if least:
        assert decide(probe, Hints(least - 1), seconds=60).is_possible is False
    else:
        assert decide(probe).moves == 4
    through = replace(lead, entrances=frozenset())
    siding = track("more", 4, entrance="from")
    longer = build([siding, through, *district.tracks[1:]], [])
    linked = replace(
        longer, junctions=district.junctions, links=(*district.links, _link("more.to", "west.from"))
    )
    assert least_moves(found.on(linked), way, pass_probe(found.on(linked), way, cars)) == 0


def _link(one: str, other: str) -> tuple[End, End]:
    ends = [End(*text.split(".")) for text in (one, other)]
    return ends[0], ends[1]


@pytest.mark.parametrize("name", ["cask_lane_facing", "glasshouse_switchback", "millbrook_turn"])
def test_facts_are_the_same_without_it(name: str, monkeypatch: pytest.MonkeyPatch) -> None:
    """All the facts of a puzzle, with trains asked in blocks first and without."""
    puzzle = load(PUZZLES / f"{name}.toml")
    facts = examine(puzzle, seconds=300, seconds_each=60)
    monkeypatch.setattr(measuring, "as_one", lambda probe: None)
    monkeypatch.setattr(measuring, "easier", lambda probe: ())
    assert facts.unproved == 0
    assert examine(puzzle, seconds=300, seconds_each=60) == facts


@pytest.mark.parametrize("length", [2, 3, 4, 5])
def test_no_car_comes_over_a_table_that_is_too_short(length: int) -> None:
    """A table of less than the engine and a car of 2 keeps cars out of every stall; nobody says so of the
    lead, nor of longer tables, nor of tracks with another way in.  The search agrees."""
    old = table_district(8, length, 4)
    tracks = (track("lead", 8, entrance="from"), *old.tracks[1:])
    puzzle = set_up(replace(old, tracks=tracks), {"lead": "a L"}, heads={"L": "to"}, lengths=TWO)
    found, way = _bench(puzzle), entries(puzzle, "L")[0]
    assert not shuts_cars_off(found, way, "lead")
    for stall in tracks[1:]:
        assert shuts_cars_off(found, way, stall.name) is (length < 4)
        probes = (spot_probe(found, way, Place(stall.name), 1, is_ahead=ahead) for ahead in (True, False))
        answers = {decide(probe, Hints(counts_moves=False)).is_possible for probe in probes}
        assert length >= 4 or answers == {False}
        assert length < 4 or True in answers
    facts = examine(puzzle)
    assert {fact.holds and fact.holds.number for fact in facts.spurs} == {0 if length < 4 else 2}


def test_a_track_with_another_way_in_is_not_shut_off() -> None:
    """Both tracks between a turnout and a short table can be had by the turnout."""
    old = table_district(4, 2, 4)
    device, ends = turnout("T", "lead.to", "one.from", "two.from")
    tracks = [track("lead", 9, entrance="from"), track("one", 4), track("two", 4)]
    meets = tuple(("from", End(name, "to")) for name in ("one", "two"))
    district = replace(
        build(tracks, [(device, ends)]), tables=(replace(old.tables[0], meets=meets, lined=0),)
    )
    found = _bench(set_up(district, {"lead": "a L"}, heads={"L": "to"}, lengths=TWO))
    assert not any(shuts_cars_off(found, Entry("lead", "to"), name) for name in ("lead", "one", "two"))


# ---- brute force


def _questions(puzzle: Puzzle) -> Iterator[Puzzle]:
    """Small questions about the district of a puzzle, of every kind."""
    found = bench(puzzle)
    if found is None:
        return
    for way in entries(puzzle, found.locomotive.name)[:1]:
        open_spurs = [spur for spur in spurs(puzzle.district) if is_open(puzzle.district, spur.name)]
        for spur in open_spurs[:2]:
            yield reach_probe(found, way, spur.name)
            for is_ahead in (True, False):
                yield spot_probe(found, way, Place(spur.name), 1, is_ahead=is_ahead)
                yield spot_probe(found, way, Place(spur.name), 1, is_ahead=is_ahead, comes_back=False)
                yield tail_probe(found, way, spur.name, 1, is_ahead=is_ahead)
        for loop in loops(puzzle.district)[:1]:
            alone = found.on(isolated(puzzle.district, loop))
            yield from (pass_probe(alone, way, cars) for cars in (1, 2))


def _agree(probe: Puzzle) -> bool:
    """Whether both could answer; holds the answers, with and without hints, to brute force."""
    try:
        least = brute_minimum(probe, most_states=50_000)
    except (TooManyStates, Overflow):
        return False
    answer = decide(probe, seconds=1)
    if answer.is_possible is None:
        return False
    assert (answer.is_possible, answer.moves) == (least is not None, least)
    bare = decide(probe, Hints(counts_moves=False), seconds=1)
    assert bare.is_possible in (None, least is not None)
    for most in (1, 3):
        bounded = decide(probe, Hints(most_moves=most), seconds=1)
        assert bounded.is_possible in (None, least is not None and least <= most)
    return True


HAND_MADE = {
    "spur": _spur(4),
    "short tail": _switchback(3),
    "tail": _switchback(4),
    "run-around": _run_around(4, 4, 2),
    "no run-around": _run_around(4, 4, 1),
    "uneven run-around": _run_around(5, 2, 3),
}


@pytest.mark.parametrize("name", sorted(HAND_MADE))
def test_brute_force_agrees_on_hand_made_districts(name: str) -> None:
    """Possible or not, and in how few moves: as brute force says, for every question it can be asked."""
    checked = [_agree(probe) for probe in _questions(HAND_MADE[name])]
    assert sum(checked) >= 5


def test_brute_force_agrees_on_random_districts() -> None:
    """The same for the questions about eight random districts."""
    assert sum(_agree(probe) for seed in range(8) for probe in _questions(random_puzzle(seed)[0])) >= 15


@pytest.mark.slow
def test_brute_force_agrees_on_many_random_districts() -> None:
    """The same for a hundred more."""
    checked = sum(_agree(probe) for seed in range(8, 108) for probe in _questions(random_puzzle(seed)[0]))
    assert checked >= 300


def test_passing_takes_two_moves_at_least_where_no_run_comes_back() -> None:
    """The hint that leaves out plans of one move changes no answer about a run-around."""
    puzzle = HAND_MADE["run-around"]
    found, way = _bench(puzzle), entries(puzzle, "L")[0]
    for cars in (1, 2, 3):
        probe = pass_probe(found, way, cars)
        assert decide(probe, Hints(takes_two=True)) == decide(probe)


# ---- what makes it quick


def test_no_plan_within_a_bound_is_missed_or_made_up() -> None:
    """On tiny districts the search that is told how many runs count finds the same plan, or none just where
    the whole search finds a longer one, or none."""
    told = Counter[str]()
    for seed in range(80):
        puzzle = tiny_puzzle(seed)
        rules = Rules(pack(puzzle))
        if bounds(rules) is not None:
            continue
        runs = LongestRuns(rules)
        first = first_states(rules, runs, len(puzzle.start.under_way))
        goals = endings(rules, runs, 20_000)
        whole = search_both_ends(runs, first, goals)
        for most in range(2, 9):
            found = search_both_ends(runs, first, goals, most_runs=most)
            if whole.chain is None or whole.runs > most:
                assert found.chain is None and (found.is_exhausted or found.runs > most), seed
                told["none"] += 1
            else:
                assert found.runs == whole.runs and found.chain is not None, seed
                told["found"] += 1
    assert min(told["none"], told["found"]) > 30, told


def test_what_is_done_at_the_start_takes_no_move() -> None:
    """It is answered at once, where no moves are asked for too: no search is given any time."""
    found = bench(_spur())
    assert found is not None
    probe = tail_probe(found, entries(_spur(), "L")[0], "lead", 1, is_ahead=True)
    for hints in (None, Hints(counts_moves=False)):
        assert decide(probe, hints, seconds=0) == Answer(True, 0)
