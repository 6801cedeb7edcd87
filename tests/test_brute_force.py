"""The brute force against answers counted by hand, against print, and against its own plain twin."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping

import pytest

from switchsolve.district import (
    District,
    End,
    Junction,
    KeepClear,
    Limits,
    Marks,
    Part,
    Route,
    Spot,
    Table,
    Track,
)
from switchsolve.puzzle import Puzzle, Start, StartString
from switchsolve.solving import solve
from switchsolve.vehicles import Car, Locomotive
from switchsolve.work import AnyCars, DoNotTouch, EndsIn, Item, LocomotiveEnds, Place, Train, Work
from tests.brute_force import TooManyStates, brute_lexicographic, brute_minimum
from tests.published import railway_shunting, wye_exchange
from tests.random_districts import Drawn, deal, draw_table, random_puzzle

CLOSED = Marks(no_locomotives=True)
ALWAYS = Marks(keep_clear=KeepClear.ALWAYS)
AT_END = Marks(keep_clear=KeepClear.AT_END)


def _turnouts(*names: str) -> list[Junction]:
    """Turnouts one unit long."""
    routes = (Route("points", "straight", 1), Route("points", "diverging", 1))
    return [Junction(name, "turnout", ("points", "straight", "diverging"), routes) for name in names]


def _tracks(lengths: Mapping[str, int], marks: Mapping[str, Marks] | None = None) -> list[Track]:
    given = marks or {}
    return [Track(name, (Part(length, given.get(name, Marks())),)) for name, length in lengths.items()]


def _end(text: str) -> End:
    return End(*text.split("."))


def _district(
    tracks: list[Track], junctions: list[Junction], links: str, limits: Limits | None = None
) -> District:
    """``links``: pairs like ``T.points-west.to``."""
    pairs = [pair.split("-") for pair in links.split()]
    ends = tuple((_end(one), _end(other)) for one, other in pairs)
    return District(tuple(tracks), tuple(junctions), (), ends, limits or Limits())


def _puzzle(
    district: District,
    stand: str,
    *items: Item,
    heads: Mapping[str, str] | None = None,
    under_way: Mapping[str, str] | None = None,
    lengths: Mapping[str, int] | None = None,
    rear_only: bool = False,
) -> Puzzle:
    """``stand``: ``west:c1,A spur:c2``, from the from end; capitals are locomotives, heading ``to`` if
    not told.
    """
    strings = []
    for text in stand.split():
        track, row = text.split(":")
        strings.append(StartString(track, tuple(row.split(","))))
    names = [name for string in strings for name in string.vehicles]
    long = dict.fromkeys(names, 1) | dict(lengths or {})
    cars = tuple(Car(name, long[name], "box") for name in names if not name.isupper())
    locomotives = tuple(Locomotive(name, long[name], rear_only) for name in names if name.isupper())
    facing = {locomotive.name: "to" for locomotive in locomotives} | dict(heads or {})
    return Puzzle(
        district, cars, locomotives, Start(tuple(strings), facing, under_way or {}), Work(items), grid=1
    )


def _to(car: str, track: str, spot: str | None = None) -> EndsIn:
    return EndsIn(car, (Place(track, spot),))


def _trailing(spur: int = 1, east: int = 3, limits: Limits | None = None, west: int = 4) -> District:
    """west and spur are the legs, east lies at the points: the spur trails for an eastbound."""
    tracks = _tracks({"west": west, "east": east, "spur": spur})
    links = "T.straight-west.to T.points-east.from T.diverging-spur.to"
    return _district(tracks, _turnouts("T"), links, limits)


def _facing(spur: int) -> District:
    """west lies at the points, east and spur are the legs: the spur faces an eastbound."""
    tracks = _tracks({"west": 3, "east": 3, "spur": spur})
    return _district(tracks, _turnouts("T"), "T.points-west.to T.straight-east.from T.diverging-spur.from")


def _run_around(marks: Mapping[str, Marks] | None = None) -> District:
    """west, a run-around of main and side, then a facing spur of one, then east."""
    tracks = _tracks({"west": 3, "main": 1, "side": 1, "mid": 1, "east": 2, "spur": 1}, marks)
    links = (
        "A.points-west.to A.straight-main.from A.diverging-side.from B.straight-main.to B.diverging-side.to "
    )
    links += "B.points-mid.from T.points-mid.to T.straight-east.from T.diverging-spur.from"
    return _district(tracks, _turnouts("A", "B", "T"), links)


# -- one locomotive, one turnout ---------------------------------------------------------------------


@pytest.mark.parametrize(("under_way", "moves"), [({}, 2), ({"A": "to"}, 2), ({"A": "from"}, 3)])
def test_trailing_spur_takes_pull_and_shove(under_way: dict[str, str], moves: int) -> None:
    """Car behind the locomotive, trailing spur: pull past the points, shove in.  Under way the wrong
    way: one more.
    """
    puzzle = _puzzle(_trailing(), "west:c,A", _to("c", "spur"), under_way=under_way)
    assert brute_minimum(puzzle) == moves
    assert brute_lexicographic(puzzle) == (moves, 1)  # the last cut


@pytest.mark.parametrize(("east", "moves"), [(1, None), (2, 2)])
def test_tail_must_hold_locomotive_and_car(east: int, moves: int | None) -> None:
    """A switchback's tail must hold both: it works with two units, and with one it is impossible."""
    assert brute_minimum(_puzzle(_trailing(east=east), "west:c,A", _to("c", "spur"))) == moves


@pytest.mark.parametrize(("spur", "moves"), [(1, None), (2, 1)])
def test_facing_spur_without_run_around(spur: int, moves: int | None) -> None:
    """Car behind the locomotive, facing spur: only if the locomotive fits in ahead of it."""
    assert brute_minimum(_puzzle(_facing(spur), "west:c,A", _to("c", "spur"))) == moves


def test_facing_spur_with_run_around() -> None:
    """Leave the car on the main, go on, back through the side, shove: 3 moves, 1 coupling, 2 cuts."""
    puzzle = _puzzle(_run_around(), "west:c,A", _to("c", "spur"))
    assert brute_minimum(puzzle) == 3
    assert brute_lexicographic(puzzle) == (3, 3)


def test_nothing_to_do_costs_nothing() -> None:
    """A car that is where it is wanted: no move; one if the locomotive is under way; a cut if it is
    coupled.
    """
    district = _trailing()
    assert brute_lexicographic(_puzzle(district, "west:A spur:c", _to("c", "spur"))) == (0, 0)
    assert brute_lexicographic(_puzzle(district, "west:c,A", under_way={"A": "to"})) == (1, 1)


def test_short_car_on_a_turnout_keeps_its_leg_shut() -> None:
    """An engine cannot shove a car clear of a turnout and take the other leg without reversing.

    Facing: the car ahead goes to east, the locomotive to the spur: shove in, back over the points, in: 3
    moves.
    """
    puzzle = _puzzle(_facing(1), "west:A,c", _to("c", "east"), LocomotiveEnds("A", "spur"))
    assert brute_minimum(puzzle) == 3


# -- marks, limits, fixed things ---------------------------------------------------------------------


@pytest.mark.parametrize(
    ("idler", "pier", "moves"),
    [(3, 3, 2), (2, 3, None), (0, 3, None), (3, 4, None), (3, 2, 2)],
)
def test_idler_reaches_over_a_closed_pier(idler: int, pier: int, moves: int | None) -> None:
    """Lead 9, turnout, closed pier 3, far track 4: one reversal with an idler of 3, impossible without it.

    Locomotive 2 and car 4 just fill the rest of the lead.  A shorter idler or a longer pier: impossible.
    """
    tracks = _tracks({"lead": 9, "pier": pier, "far": 4, "stub": 1}, {"pier": CLOSED})
    links = "T.points-lead.to T.straight-pier.from T.diverging-stub.from pier.to-far.from"
    stand = "lead:A,i far:c" if idler else "lead:A far:c"
    lengths = {"A": 2, "i": idler, "c": 4}
    puzzle = _puzzle(_district(tracks, _turnouts("T"), links), stand, _to("c", "lead"), lengths=lengths)
    assert brute_minimum(puzzle) == moves


@pytest.mark.parametrize("near", [6, 7, 8, 12])
def test_the_crew_chooses_the_side_of_a_closed_part(near: int) -> None:
    """Car 4, locomotive 3, car 4 on a track with a middle part closed to locomotives: the locomotive may
    stand behind that part and, where ``near`` is long enough, before it; only from behind can it get out.
    """
    lead = Track("lead", (Part(near), Part(2, CLOSED), Part(8)))
    tracks = [lead, *_tracks({"main": 12, "spur": 4})]
    links = "T.points-lead.to T.straight-main.from T.diverging-spur.from"
    work = (_to("b", "main"), _to("a", "lead"), LocomotiveEnds("A", "main"))
    lengths = {"a": 4, "A": 3, "b": 4}
    puzzle = _puzzle(_district(tracks, _turnouts("T"), links), "lead:a,A,b", *work, lengths=lengths)
    assert brute_minimum(puzzle) == 1
    solution = solve(puzzle, tie_standings=0)
    assert solution.counts is not None and solution.counts.moves == 1


@pytest.mark.parametrize(("spur", "moves"), [(2, None), (3, 6)])
def test_one_car_at_a_time(spur: int, moves: int | None) -> None:
    """At most one car: each is pulled east and shoved in by itself, with a trip between: 2 + 2 + 2 moves.

    The second must stop short of the first, so the spur needs a unit to spare.
    """
    items = (_to("c", "spur"), _to("d", "spur"))
    puzzle = _puzzle(_trailing(spur, limits=Limits(most_cars=1)), "west:c,d,A", *items)
    assert brute_minimum(puzzle) == moves
    assert brute_minimum(_puzzle(_trailing(2), "west:c,d,A", *items)) == 2


@pytest.mark.parametrize(
    ("limits", "moves"), [(Limits(longest=2), None), (Limits(longest=3), 2), (Limits(most_shoved=0), None)]
)
def test_limits_of_length_and_shoving(limits: Limits, moves: int | None) -> None:
    """A car of three: too long by one it cannot be moved; a car that may not be shoved cannot be spotted."""
    puzzle = _puzzle(_trailing(3, 4, limits), "west:c,A", _to("c", "spur"), lengths={"c": 3})
    assert brute_minimum(puzzle) == moves


@pytest.mark.parametrize(
    ("main", "side", "stand", "moves"),
    [
        (ALWAYS, Marks(), "west:c,A", 3),
        (ALWAYS, ALWAYS, "west:c,A", None),
        (AT_END, AT_END, "west:c,A", 3),
        (ALWAYS, ALWAYS, "main:c mid:A", 2),
        (ALWAYS, ALWAYS, "main:c,A", None),
    ],
)
def test_keep_clear(main: Marks, side: Marks, stand: str, moves: int | None) -> None:
    """A car may not be left on such a track while the locomotive reverses; one that was never moved may.

    The last row fails for another reason: main holds one vehicle only, so there is no such start.
    """
    puzzle = _puzzle(_run_around({"main": main, "side": side}), stand, _to("c", "spur"))
    assert brute_minimum(puzzle) == moves


def test_do_not_touch_is_come_up_to() -> None:
    """A locomotive of two fits beside a fixed car of one on a track of three; fixed in the middle, it
    does not.
    """
    for fixed_at, moves in ((2, 1), (0, None), (1, None)):
        tracks = _tracks({"west": 3, "east": 3})
        district = _district(tracks, _turnouts("T"), "T.points-west.to T.straight-east.from")
        start = Start(
            (StartString("west", ("A",)), StartString("east", ("c",), fixed_at=fixed_at)), {"A": "to"}
        )
        items = (DoNotTouch("c"), LocomotiveEnds("A", "east"))
        puzzle = Puzzle(district, (Car("c", 1),), (Locomotive("A", 2),), start, Work(items), grid=1)
        assert brute_minimum(puzzle) == moves


@pytest.mark.parametrize(("heads", "moves"), [("from", 2), ("to", None)])
def test_rear_only(heads: str, moves: int | None) -> None:
    """A car ahead is fetched with the rear, and cannot be with the front."""
    puzzle = _puzzle(_facing(1), "west:A spur:c", _to("c", "west"), heads={"A": heads}, rear_only=True)
    assert brute_minimum(puzzle) == moves


def test_spots_decide_the_order() -> None:
    """Two cars into a spur of two: in the order in which they stand 2 moves; the other way round 6.

    Then the near one goes by itself (2 moves), and the far one is fetched (2) and shoved in behind it (2).
    """
    spots = (Spot("far", 0), Spot("near", 2))
    district = _trailing(2)
    tracks = tuple(Track(t.name, t.parts, spots if t.name == "spur" else ()) for t in district.tracks)
    district = District(tracks, district.junctions, (), district.links)
    for c, d, moves in (("far", "near", 2), ("near", "far", 6)):
        puzzle = _puzzle(district, "west:c,d,A", _to("c", "spur", c), _to("d", "spur", d))
        assert brute_minimum(puzzle) == moves


def test_any_car_leaves_the_other_at_home() -> None:
    """One box car of two to the spur: take the near one, the far one stays.  2 moves; for the far one
    by name, 4.
    """
    district = _trailing(1)
    puzzle = _puzzle(district, "west:c,d,A", AnyCars("box", 1, Place("spur")))
    assert brute_minimum(puzzle) == 2
    assert brute_minimum(_puzzle(district, "west:c,d,A", _to("c", "spur"))) == 4


@pytest.mark.parametrize(("at", "moves"), [("to", 0), ("from", 4)])
def test_train_made_up(at: str, moves: int) -> None:
    """Locomotive at the other end of its train: out, around, couple, and home again: 4 moves."""
    train = Train("A", "west", frozenset({"c"}), locomotive_at=at, last="c")
    assert brute_minimum(_puzzle(_run_around(), "west:c,A", train)) == moves


# -- loops, tables, two locomotives ------------------------------------------------------------------


def test_oval_runs_around_without_reversal() -> None:
    """On an oval the locomotive leaves the car, comes up behind it, and shoves it into the facing spur:
    one move.
    """
    links = "T.points-loop.to T.straight-loop.from T.diverging-spur.from"
    district = _district(_tracks({"loop": 8, "spur": 1}), _turnouts("T"), links)
    assert brute_lexicographic(_puzzle(district, "loop:c,A", _to("c", "spur"))) == (1, 3)


@pytest.mark.parametrize(("loop", "over", "moves"), [(3, False, None), (4, False, 1), (2, True, 1)])
def test_string_shuts_out_itself(loop: int, over: bool, moves: int | None) -> None:
    """A figure of eight: a locomotive of 4 crosses its own path only if its tail has left the crossing.

    With both routes usable at once (a bridge) the loop may be shorter.
    """
    routes = (Route("a", "b", 1), Route("c", "d", 1))
    compatible = frozenset({frozenset({0, 1})}) if over else frozenset()
    crossing = Junction("X", "crossing", ("a", "b", "c", "d"), routes, compatible)
    tracks = _tracks({"lead": 4, "loop": loop, "far": 4})
    district = _district(tracks, [crossing], "X.a-lead.to X.b-loop.from X.c-loop.to X.d-far.from")
    puzzle = _puzzle(district, "lead:A", LocomotiveEnds("A", "far"), lengths={"A": 4})
    assert brute_minimum(puzzle) == moves


@pytest.mark.parametrize(("length", "loop", "moves"), [(4, 4, 1), (5, 4, None)])
def test_balloon_turns_in_one_move(length: int, loop: int, moves: int | None) -> None:
    """Out through the other leg, heading back: one move, if the whole locomotive fits into the loop."""
    links = "T.points-lead.to T.straight-loop.from T.diverging-loop.to"
    district = _district(_tracks({"lead": 5, "loop": loop}), _turnouts("T"), links)
    puzzle = _puzzle(district, "lead:A", LocomotiveEnds("A", "lead", "from"), lengths={"A": length})
    assert brute_minimum(puzzle) == moves


def test_wye_turns_in_three_moves() -> None:
    """Three turnouts leg to leg, each with a tail: in on one, across, and home."""
    links = "D.straight-F.straight D.diverging-W.diverging F.diverging-W.straight "
    links += "D.points-home.to F.points-east.from W.points-stub.from"
    district = _district(_tracks({"home": 1, "east": 1, "stub": 1}), _turnouts("D", "F", "W"), links)
    assert brute_minimum(_puzzle(district, "home:A", LocomotiveEnds("A", "home", "from"))) == 3


@pytest.mark.parametrize(("second", "moves"), [("to", 1), ("from", 2)])
def test_table(second: str, moves: int) -> None:
    """Over a transfer table in one move; off a turntable by the end it came in at: a reversal."""
    table = Table("table", "table", 2, (("from", End("lead", "to")), (second, End("stall", "from"))))
    district = District(tuple(_tracks({"lead": 3, "stall": 2})), tables=(table,))
    puzzle = _puzzle(district, "lead:A", LocomotiveEnds("A", "stall"), lengths={"A": 2})
    assert brute_minimum(puzzle) == moves
    assert brute_minimum(_puzzle(district, "lead:A", LocomotiveEnds("A", "stall"), lengths={"A": 3})) is None


@pytest.mark.parametrize(("left", "moves"), [(3, 4), (2, 4), (1, None)])
def test_two_locomotives_pass_by_a_spur(left: int, moves: int | None) -> None:
    """One waits in the spur: in, out, on (3 moves), the other goes by (1).

    Coming out it stands beside the other, with a gap or coupled to it: the left track must hold both.
    """
    tracks = _tracks({"left": left, "right": 3, "spur": 1})
    links = "T.points-left.to T.straight-right.from T.diverging-spur.from"
    items = (LocomotiveEnds("A", "right"), LocomotiveEnds("B", "left"))
    puzzle = _puzzle(_district(tracks, _turnouts("T"), links), "left:A right:B", *items, heads={"B": "from"})
    assert brute_minimum(puzzle) == moves


def test_a_passive_locomotive_counts() -> None:
    """A second locomotive, coupled ahead, goes along past the points and is left there: its move counts
    too.
    """
    puzzle = _puzzle(_trailing(1), "west:c,A,B", _to("c", "spur"))
    assert brute_minimum(puzzle) == 3  # B once, A twice


# -- published ---------------------------------------------------------------------------------------


def test_wye_in_print() -> None:
    """W. W. Rouse Ball, Mathematical Recreations and Essays (4th ed. 1905): the printed manoeuvre has 16
    reversals.

    No minimum is claimed there; 16, and 7 if the engine may end anywhere, were proved before this project by
    another brute force, for the same lengths.  The engine is under way: moves = reversals + 1.
    """
    assert brute_minimum(wye_exchange(back=True)) == 17
    assert brute_minimum(wye_exchange(back=False)) == 8


@pytest.mark.slow
def test_railway_shunting_in_print() -> None:
    """H. E. Dudeney, Modern Puzzles (1926) no. 48: printed minimum 14 reversals, so 16 moves of two engines.

    Takes about two minutes and 7 GB of memory.
    """
    assert brute_minimum(railway_shunting()) == 16


# -- the search itself, and the random districts -----------------------------------------------------


def test_compiled_search_against_its_plain_twin() -> None:
    """Both searches give the same minimum and the same couplings + cuts; counting the latter leaves the
    moves alone.

    On those of the first 40 random districts that are small enough for the plain one, twenty at least.
    """
    compared = 0
    for puzzle, _ in map(random_puzzle, range(40)):
        try:
            plain = brute_minimum(puzzle, most_states=30_000, plain=True)
            both = brute_lexicographic(puzzle, most_states=30_000, plain=True)
        except TooManyStates:
            continue
        compared += 1
        assert brute_minimum(puzzle) == plain
        assert brute_lexicographic(puzzle) == both
        assert (both[0] if both else None) == plain
    assert compared >= 20


def test_too_many_states_is_said() -> None:
    """A search that may look at ten standings only does not answer: it raises, in both forms."""
    for plain in (False, True):
        with pytest.raises(TooManyStates, match="more than 10 standings"):
            brute_minimum(wye_exchange(back=True), most_states=10, plain=plain)


def test_every_block_holds_each_feature() -> None:
    """In any 200 seeds in a row each base and each feature is dealt at least a tenth of the time, as
    asked.
    """
    asked = {"closed", "do not touch", "keep clear", "limits", "mixed lengths", "oval", "two locomotives"}
    for first in (0, 7, 1013):
        dealt = [deal(seed) for seed in range(first, first + 200)]
        counts = Counter(name for base, features in dealt for name in {base, *features})
        assert all(counts[name] >= 20 for name in asked)
        assert counts["wye"] + counts["balloon"] >= 20
        assert counts["crossing"] + counts["slip"] + counts["double crossover"] >= 20


def test_a_seed_draws_the_same_again() -> None:
    """The same seed gives the same puzzle and features, another seed another puzzle."""
    for seed in (3, 11):
        assert random_puzzle(seed) == random_puzzle(seed)
    assert random_puzzle(3) != random_puzzle(11)


def test_table_of_what_was_drawn() -> None:
    """Shares and minima are counted right; a row of two locomotives has two reversals less than moves."""
    rows = [Drawn(0, frozenset({"oval"}), None, 1), Drawn(1, frozenset({"oval", "table"}), 8, 2)]
    lines = draw_table(rows).splitlines()
    for name, count, share in (
        ("oval", 2, "100.0%"),
        ("table", 1, "50.0%"),
        ("six reversals or more", 1, "50.0%"),
    ):
        assert f"{name:<28}{count:>7}{share:>8}" in lines
    assert f"{'8':<28}{1:>7}{'50.0%':>8}" in lines
