"""Yard work: values in print, brute force, and the moves on a lead."""

from __future__ import annotations

import random
from dataclasses import replace
from itertools import pairwise, permutations
from pathlib import Path

import pytest

from switchsolve.plan import Verdict
from switchsolve.puzzle import Puzzle
from switchsolve.puzzlefile import load
from switchsolve.referee import replay
from switchsolve.work import Hold, Train
from switchsolve.yard import (
    MOST_BLOCKS,
    CannotClassify,
    Step,
    TrackKind,
    Undecided,
    YardTrack,
    arrival_of,
    classify,
    fewest_laps,
    fewest_of,
    fewest_of_kind,
    fewest_passes,
    fewest_tracks,
    fitting,
    made_up,
    passes_of,
    passes_that_fit,
    work_in_one_pass,
    yard_tracks,
)
from tests import brute_yard

PUZZLES = Path(__file__).parent.parent / "puzzles"
CUT = PUZZLES / "marrow_point_cut.toml"
STUB, THROUGH, BOTH_ENDS = TrackKind.STUB, TrackKind.THROUGH, TrackKind.BOTH_ENDS
BRUTE = {STUB: brute_yard.STUB, THROUGH: brute_yard.THROUGH, BOTH_ENDS: brute_yard.BOTH_ENDS}


def _orders(seed: int, count: int, most: int) -> list[list[int]]:
    """Random cuts, some cars of which are of one block."""
    chance = random.Random(seed)
    return [[chance.randrange(6) for _ in range(chance.randrange(most + 1))] for _ in range(count)]


# -- cars drawn one at a time ----------------------------------------------------------------------------


def test_through_tracks_in_print() -> None:
    """The train 1 6 3 5 4 9 2 needs 4 through tracks (Tarjan, told by Hayes, American Scientist 95(2))."""
    answer = fewest_tracks([1, 6, 3, 5, 4, 9, 2])
    assert len(answer.tracks) == 4
    assert fewest_of_kind([1, 6, 3, 5, 4, 9, 2], THROUGH) == 4


def test_through_tracks_prove_themselves() -> None:
    """Every car is on one track, no track falls, and a falling run has a car for each track."""
    for order in _orders(1, 200, 12):
        answer = fewest_tracks(order)
        assert sorted(car for track in answer.tracks for car in track) == list(range(len(order)))
        for track in answer.tracks:
            assert list(track) == sorted(track)
            assert [order[car] for car in track] == sorted(order[car] for car in track)
        run = answer.falling
        assert len(run) == len(answer.tracks) and list(run) == sorted(run)
        assert all(order[one] > order[other] for one, other in pairwise(run))


def test_through_tracks_by_two_ways() -> None:
    """The exact search needs as many through tracks as the falling run says."""
    for order in _orders(2, 60, 8):
        assert fewest_of_kind(order, THROUGH) == len(fewest_tracks(order).tracks)


@pytest.mark.parametrize(
    ("tracks", "numbers"),
    [
        pytest.param([YardTrack(STUB)], [1, 2, 5, 14, 42, 132, 429], id="a stub (Knuth, TAOCP 1, 2.2.1)"),
        pytest.param([YardTrack(STUB)] * 2, [1, 2, 6, 23, 103, 513, 2760], id="two stubs (OEIS A216040)"),
        pytest.param([YardTrack(BOTH_ENDS)], [1, 2, 6, 24, 116, 634, 3762], id="both ends (OEIS A182216)"),
    ],
)
def test_numbers_of_orders_in_print(tracks: list[YardTrack], numbers: list[int]) -> None:
    """Of all orders of 1 to 7 cars so many can be sorted, as printed."""
    for cars, number in enumerate(numbers, 1):
        done = [work_in_one_pass(order, tracks) is not None for order in permutations(range(cars))]
        assert sum(done) == number


def test_a_stub_and_the_pattern_231() -> None:
    """One stub sorts an order if and only if no three of its cars rise and then fall below the first."""
    for order in permutations(range(6)):
        has_231 = any(
            third < first < second
            for place, first in enumerate(order)
            for middle, second in enumerate(order[place + 1 :], place + 1)
            for third in order[middle + 1 :]
        )
        assert (work_in_one_pass(order, [YardTrack(STUB)]) is None) == has_231


def _obeys(order: list[int], tracks: list[YardTrack], lengths: list[int], steps: tuple[Step, ...]) -> bool:
    """Replay: what is drawn is there at that end, nothing is overfull, and the cars come out in order."""
    standing: list[list[int]] = [[] for _ in tracks]
    came, out = 0, []
    for step in steps:
        track, kind = standing[step.track], tracks[step.track].kind
        if step.is_set:
            assert step.car == came and (step.end == "near" or kind is BOTH_ENDS)
            came += 1
            track.insert(0 if step.end == "far" else len(track), step.car)
            room = tracks[step.track].length
            assert room is None or sum(lengths[car] for car in track) <= room
        else:
            assert kind is BOTH_ENDS or step.end == {STUB: "near", THROUGH: "far"}[kind]
            assert track.pop(0 if step.end == "far" else -1) == step.car
            out.append(order[step.car])
    return out == sorted(order)


def test_given_tracks_as_brute_force() -> None:
    """Random tracks of all kinds with random lengths: the same answer as brute force; each plan replays."""
    chance, said = random.Random(3), {True: 0, False: 0}
    for order in _orders(4, 150, 7):
        lengths = [chance.randrange(1, 4) for _ in order]
        kinds = [chance.choice([STUB, THROUGH, BOTH_ENDS]) for _ in range(chance.randrange(1, 4))]
        tracks = [YardTrack(kind, chance.randrange(2, 9)) for kind in kinds]
        steps = work_in_one_pass(order, tracks, lengths)
        brute = [(*BRUTE[track.kind], track.length or 0) for track in tracks]
        assert (steps is not None) == brute_yard.can_work(order, brute, lengths)
        assert steps is None or _obeys(order, tracks, lengths, steps)
        said[steps is not None] += 1
    assert min(said.values()) > 30


def test_fewest_of_given_tracks() -> None:
    """As few of the tracks as will do, and no fewer would; none if all together will not."""
    tracks = [YardTrack(STUB, 2), YardTrack(STUB, 2), YardTrack(THROUGH, 5), YardTrack(STUB, 3)]
    assert fewest_of([0, 1, 2], tracks) == (0,)
    assert fewest_of([2, 1, 0], tracks) == (3,)  # all three must stand on it at once
    chosen = fewest_of([1, 2, 0, 4, 3], tracks)
    assert chosen is not None and len(chosen) == 2
    assert all(work_in_one_pass([1, 2, 0, 4, 3], [track]) is None for track in tracks)
    assert fewest_of([1, 2, 0], [YardTrack(STUB, 9)]) is None
    assert fewest_of([], tracks) == ()


def test_a_search_that_is_stopped_says_so() -> None:
    """With too few looks allowed the search says that nothing is decided."""
    with pytest.raises(Undecided, match="not decided after 3 standings"):
        work_in_one_pass([3, 5, 1, 4, 2, 0], [YardTrack(STUB)] * 2, most_looks=3)


def test_lengths_must_be_as_many_as_cars() -> None:
    """A length too few is refused."""
    with pytest.raises(ValueError, match="2 cars, but 1 lengths"):
        work_in_one_pass([0, 1], [YardTrack(STUB, 3)], [1])


# -- tracks pulled whole ---------------------------------------------------------------------------------


def test_marshalling_in_print() -> None:
    """Cars 1..11, blocks {1,6,11} {5,10} {3,8} {2,7} {4,9}: K = 4 (Dahlhaus, Horak, Miller, Ryan)."""
    blocks = {"A": (1, 6, 11), "B": (5, 10), "C": (3, 8), "D": (2, 7), "E": (4, 9)}
    block_of = {car: name for name, cars in blocks.items() for car in cars}
    assert fewest_laps([block_of[car] for car in range(1, 12)]).tracks == 4


@pytest.mark.parametrize("is_any", [True, False])
def test_one_pass_as_brute_force(is_any: bool) -> None:
    """The fewest tracks for one pass are those of brute force, and the cars set out as told are in blocks."""
    chance = random.Random(5)
    for _ in range(25):
        cut = [chance.choice("ABCD") for _ in range(chance.randrange(1, 6))]
        order = None if is_any else sorted(set(cut), key=lambda _: chance.random())
        laps = fewest_laps(cut, order)
        orders = [list(one) for one in permutations(sorted(set(cut)))] if order is None else [order]
        ones = [1] * len(cut)
        needed = next(
            count
            for count in range(1, 7)
            if brute_yard.passes(cut, ones, [9] * count, orders, 1) <= (0 if count == 1 else 1)
        )
        assert laps.tracks == needed
        train = [cut[car] for one in range(laps.tracks) for car in range(len(cut)) if laps.lap[car] == one]
        assert train == sorted(cut, key=laps.blocks.index)


@pytest.mark.parametrize("tracks", [2, 3])
def test_passes_as_brute_force(tracks: int) -> None:
    """The fewest passes over tracks of any length are those of brute force, for all orders of five cars."""
    for order in list(permutations("ABCDE"))[:: 7 if tracks == 2 else 11]:
        laps = fewest_laps(order, "ABCDE")
        count = fewest_passes(laps.tracks, tracks)
        assert count == brute_yard.passes(order, [1] * 5, [9] * tracks, ["ABCDE"], 3)
        done = passes_of(laps.lap, tracks, count)
        assert not done or [order[car] for car in done[-1].train] == list("ABCDE")


def test_passes_at_the_edges() -> None:
    """In order already: none.  One track: never.  No track: refused."""
    assert fewest_passes(1, 1) == 0 and fewest_passes(2, 1) is None
    assert [fewest_passes(laps, 3) for laps in (1, 2, 3, 4, 9, 10)] == [0, 1, 1, 2, 2, 3]
    with pytest.raises(ValueError, match="one at least"):
        fewest_passes(2, 0)


def test_passes_with_lengths_as_brute_force() -> None:
    """On tracks with lengths the fewest passes are those of brute force; each pass is held by its tracks."""
    chance, seen = random.Random(6), set()
    for _ in range(40):
        cut = [chance.choice("ABCD") for _ in range(chance.randrange(2, 6))]
        lengths = [chance.randrange(1, 3) for _ in cut]
        rooms = [chance.randrange(2, 7) for _ in range(chance.randrange(1, 4))]
        orders = list(permutations(sorted(set(cut))))
        if chance.random() < 0.6:
            orders = [chance.choice(orders)]
        given = orders[0] if len(orders) == 1 else None
        fitted = passes_that_fit(cut, lengths, rooms, given, most_passes=2)
        brute = brute_yard.passes(cut, lengths, rooms, orders, 2)
        assert fitted.at_least == brute and (fitted.passes is None) == (brute == 3)
        seen.add(brute)
        for one, names in zip(fitted.passes or (), fitted.tracks, strict=True):
            assert sorted(one.train) == list(range(len(cut)))
            for cars, track in zip(one.tracks, names, strict=True):
                assert sum(lengths[car] for car in cars) <= rooms[track]
        if fitted.passes:
            train = [cut[car] for car in fitted.passes[-1].train]
            assert any(train == sorted(train, key=order.index) for order in orders)
    assert seen == {0, 1, 2, 3}


def test_a_short_track_costs_a_pass() -> None:
    """B A B A must be set out as A A and B B to be A A B B in one pass; tracks for 3 and 1 need another."""
    cut, order = "BABA", "AB"
    assert fewest_passes(fewest_laps(cut, order).tracks, 2) == 1
    assert passes_that_fit(cut, [1] * 4, [2, 2], order).at_least == 1
    assert passes_that_fit(cut, [1] * 4, [3, 1], order).at_least == 2


def test_passes_not_decided_are_not_called_proved(monkeypatch: pytest.MonkeyPatch) -> None:
    """Where time ended for one pass, two passes that are found are not called the fewest."""
    solve = fitting._Numbers.solve
    monkeypatch.setattr(
        fitting._Numbers, "solve", lambda self, seconds: len(self._passes) > 1 and solve(self, seconds)
    )
    fitted = passes_that_fit("BABA", [1] * 4, [3, 1], "AB")
    assert fitted.passes is not None and len(fitted.passes) == 2
    assert fitted.at_least == 1


@pytest.mark.parametrize("blocks", [["A"], ["A", "B", "B"], ["A", "C"]])
def test_blocks_must_be_those_of_the_cut(blocks: list[str]) -> None:
    """An order that leaves out a block, names one twice or names another one is refused."""
    with pytest.raises(ValueError, match="the blocks of the cut are B, A; name each of them once"):
        fewest_laps("BAB", blocks)


def test_too_many_blocks_in_any_order_are_refused() -> None:
    """Beyond the limit the order must be given; then there is an answer."""
    cut = [str(block) for block in range(MOST_BLOCKS + 1)]
    with pytest.raises(ValueError, match="give the order"):
        fewest_laps(cut)
    assert fewest_laps(cut, cut).tracks == 1


# -- on the lead -----------------------------------------------------------------------------------------


def _short(puzzle: Puzzle, cars: int) -> Puzzle:
    """The set-up with only the first so many cars of the cut, and no work."""
    (string,) = puzzle.start.strings
    vehicles = string.vehicles[: cars + 1]
    return replace(
        puzzle,
        cars=tuple(car for car in puzzle.cars if car.name in vehicles),
        start=replace(puzzle.start, strings=(replace(string, vehicles=vehicles),)),
        work=replace(puzzle.work, items=()),
        stated_minimum=None,
    )


def test_the_cut_is_read_from_the_locomotive() -> None:
    """Whichever end the locomotive is at; the block is the road."""
    puzzle = load(CUT)
    arrival = arrival_of(puzzle)
    assert arrival.cars == ("QLV 214", "THB 12", "QLV 377", "OXCC 7", "THB 640")
    assert arrival.blocks == ("QLV", "THB", "QLV", "OXCC", "THB")
    (string,) = puzzle.start.strings
    turned = replace(string, vehicles=string.vehicles[::-1])
    again = replace(puzzle, start=replace(puzzle.start, strings=(turned,)))
    assert arrival_of(again) == arrival


def test_the_tracks_of_a_yard() -> None:
    """Empty tracks that are no entrance, with their lengths."""
    puzzle = load(CUT)
    lengths = {name: length / puzzle.grid for name, length in yard_tracks(puzzle).items()}
    assert lengths == {"track 1": 34, "track 2": 26, "caboose track": 14}


def test_the_work_made() -> None:
    """The cut departs in blocks where it stands; every other car is held."""
    puzzle = load(PUZZLES / "marrow_point_cut.toml")
    made = made_up(puzzle, ["THB", "OXCC", "QLV"])
    (train,) = made.work.items
    assert isinstance(train, Train) and train.track == "Point lead"
    assert train.blocks == (
        frozenset({"THB 12", "THB 640"}),
        frozenset({"OXCC 7"}),
        frozenset({"QLV 214", "QLV 377"}),
    )
    other = load(PUZZLES / "marrow_point_make_up.toml")
    rest = other.start.strings[1:]
    string = replace(rest[0], track="Point lead", vehicles=("S&I 5", *rest[0].vehicles))
    moved = replace(other, start=replace(other.start, strings=(string, *rest[1:])))
    items = made_up(moved, ["THB", "QLV", "S&I", "OXCC"]).work.items
    held = {item.car for item in items if isinstance(item, Hold)}
    assert held == {"OXCC 7", "THB 640", "QLV 377", "S&I 02"} and len(items) == 5


def test_moves_on_the_lead() -> None:
    """The best of all orders is the least of those given; the referee accepts its plan."""
    puzzle = _short(load(CUT), 3)
    best = classify(puzzle)
    each = {order: classify(puzzle, order) for order in permutations(("QLV", "THB"))}
    assert best.verdict is Verdict.PROVED and best.solution.counts is not None
    assert all(one.verdict is Verdict.PROVED and one.blocks == order for order, one in each.items())
    least = min(one.solution.counts.moves for one in each.values() if one.solution.counts)
    assert best.solution.counts.moves == best.lower_bound == least
    assert best.solution.plan is not None
    assert replay(best.puzzle, best.solution.plan).counts.moves == least


def test_a_cut_in_order_needs_no_move() -> None:
    """What already stands in blocks takes no move, and one order of two does."""
    puzzle = _short(load(CUT), 2)
    best = classify(puzzle)
    assert best.blocks == ("QLV", "THB") and best.lower_bound == 0
    other = classify(puzzle, ("THB", "QLV"))
    assert other.lower_bound is not None and other.lower_bound > 0


def test_an_unfinished_proof_has_a_bound() -> None:
    """Stopped at once, there is a bound, and nothing is called proved that was not."""
    stopped = classify(load(CUT), ("THB", "OXCC", "QLV"), seconds=1e-6)
    assert stopped.verdict in (Verdict.GAVE_UP, Verdict.BEST_FOUND)
    assert stopped.lower_bound is not None
    assert stopped.lower_bound <= 10


def test_a_stop_is_obeyed() -> None:
    """Stopped by the caller, the reason is told and there is a bound."""
    stopped = classify(load(CUT), ("THB", "OXCC", "QLV"), stop=lambda: "a bell")
    assert stopped.solution.limit == "a bell" and stopped.lower_bound is not None
    assert stopped.verdict in (Verdict.GAVE_UP, Verdict.BEST_FOUND)


def _with(puzzle: Puzzle, vehicles: tuple[str, ...]) -> Puzzle:
    (string,) = puzzle.start.strings
    return replace(puzzle, start=replace(puzzle.start, strings=(replace(string, vehicles=vehicles),)))


def test_what_is_no_arriving_cut() -> None:
    """No car at the locomotive, cars at both ends, a second locomotive, wrong or too many blocks: refused."""
    puzzle = load(CUT)
    vehicles = puzzle.start.strings[0].vehicles
    with pytest.raises(CannotClassify, match="no cut stands at the locomotive"):
        arrival_of(_with(puzzle, ("S&I 5",)))
    with pytest.raises(CannotClassify, match="at both ends"):
        arrival_of(_with(puzzle, (*vehicles[1:], *vehicles[:1], "QLV 214")))
    engine = puzzle.locomotives[0]
    with pytest.raises(CannotClassify, match="one locomotive"):
        arrival_of(replace(puzzle, locomotives=(engine, replace(engine, name="S&I 6"))))
    with pytest.raises(CannotClassify, match="the cut has QLV, THB, OXCC; name each block once"):
        classify(puzzle, ("QLV", "THB"))
    cars = tuple(replace(puzzle.cars[0], name=f"{road} 1") for road in "ABCDE")
    many = _with(replace(puzzle, cars=cars), ("S&I 5", *(car.name for car in cars)))
    with pytest.raises(CannotClassify, match=r"give the order \(--blocks\)"):
        classify(many)
