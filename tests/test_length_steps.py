"""Length steps: against a dense sweep by brute force, by arithmetic, and what is said if it is not proved."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable
from dataclasses import replace
from fractions import Fraction
from math import ceil
from pathlib import Path

import pytest

from switchsolve.district import KeepClear, Marks, Part
from switchsolve.lengthening import endless_tracks, lengthened, told_places
from switchsolve.measuring import minimum as minimum_room
from switchsolve.measuring.length_steps import NO_PLAN, LengthSteps, Minimum, PieceSteps, gains, length_steps
from switchsolve.measuring.pieces import longest, pieces_of, resized, shortest, why_not_measured
from switchsolve.plan import Verdict
from switchsolve.puzzle import Puzzle
from switchsolve.puzzlefile import load
from switchsolve.solving import Figure
from switchsolve.work import EndsIn, Place
from tests.brute_force import brute_minimum, can_start
from tests.builders import build, run_around_district, set_up, spur_district, track, turnout
from tests.length_puzzles import KINDS, MORE, length_puzzle

PUZZLES = Path(__file__).parent.parent / "puzzles"
SEEDS = range(5)


# -- against a dense sweep -------------------------------------------------------------------------------


def _swept(puzzle: Puzzle, piece: PieceSteps) -> list[tuple[int, int]]:
    """Every length on which the start is possible, up to the longest, with its true minimum."""
    found = []
    for length in range(1, piece.longest + 1):
        try:
            changed = resized(puzzle, piece, length)
        except ValueError:
            continue  # a spot or a fixed car would be off the rail
        if can_start(changed):
            least = brute_minimum(changed)
            found.append((length, NO_PLAN if least is None else least))
    return found


def _steps(sweep: list[tuple[int, int]]) -> list[tuple[int, int]]:
    """Those at which the minimum is another than just below."""
    before = [(0, -1), *sweep]
    return [now for last, now in zip(before, sweep, strict=False) if last[1] != now[1]]


def _told(piece: PieceSteps) -> list[tuple[int, int]]:
    assert all(step.minimum.is_proved for step in piece.steps)
    return [(step.at_least, step.minimum.least) for step in piece.steps]


def _compare(kind: str, seed: int) -> Counter[int]:
    """Hold the steps of each piece of one puzzle to its sweep; how many pieces have so many steps."""
    puzzle = length_puzzle(kind, seed)
    result = length_steps(puzzle)
    assert result.limit is None
    for piece in result.pieces:
        if not piece.unmeasured:
            assert _told(piece) == _steps(_swept(puzzle, piece)), f"{kind} {seed} {piece.name}"
        if piece.is_final:
            longer = brute_minimum(resized(puzzle, piece, piece.longest + 5))
            assert piece.steps[-1].minimum.least == (NO_PLAN if longer is None else longer)
    return Counter(len(piece.steps) for piece in result.pieces)


@pytest.mark.parametrize("kind", KINDS)
def test_the_steps_are_those_of_a_dense_sweep(kind: str) -> None:
    """In thirty-five small districts the steps are those of brute force at every whole length; and where
    it is said that nothing comes beyond the longest, nothing does.
    """
    found = sum((_compare(kind, seed) for seed in SEEDS), Counter())
    assert sum(number for steps, number in found.items() if steps > 1) >= 2


@pytest.mark.parametrize("kind", ["closed", "limits", "wye"])
def test_the_same_where_longest_runs_are_not_exact(kind: str) -> None:
    """The same with closed rail (where it is measured at all), with limits, and where trains turn."""
    for seed in range(2):
        _compare(kind, seed)


@pytest.mark.slow
@pytest.mark.parametrize("kind", MORE)
def test_the_same_for_what_is_slow(kind: str) -> None:
    """The same for ovals, tables, two locomotives and one that couples at its rear only."""
    found = sum((_compare(kind, seed) for seed in range(2, 6)), Counter())
    assert found


def test_the_sweep_tells_a_step_that_is_missing() -> None:
    """The comparison can fail: lengths and minima of a sweep give one step for each change."""
    assert _steps([(2, NO_PLAN), (3, 7), (4, 7), (5, 5)]) == [(2, NO_PLAN), (3, 7), (5, 5)]


# -- by arithmetic ---------------------------------------------------------------------------------------


def _piece(result: LengthSteps, name: str) -> PieceSteps:
    (found,) = (piece for piece in result.pieces if piece.name == name)
    return found


def test_the_tail_of_cask_lane() -> None:
    """The tail must hold the locomotive, 5.5 in and 0.1 of allowance; the cider works two box cars of
    44 ft 2 1/2 in in HO; west street one, while the locomotive runs around.  More buys nothing.
    """
    puzzle = load(PUZZLES / "cask_lane_facing.toml")
    result = length_steps(puzzle)
    car = puzzle.vehicles["THB 12"].length
    prototype = Fraction(44 * 12 + Fraction(5, 2)) * Fraction(35, 3048)  # 3.5 mm to the foot
    assert car == ceil(prototype * 1_000_000) + 100_000
    assert _told(_piece(result, "Lane tail")) == [(1, NO_PLAN), (5_600_000, 3)]
    assert _told(_piece(result, "cider works")) == [(9_500_000, NO_PLAN), (2 * car, 3)]
    assert _told(_piece(result, "west street")) == [(1, 5), (car, 3)]
    assert _told(_piece(result, "run-around")) == [(1, 3)]
    assert _piece(result, "Lane tail").spare == 15_000_000 - 5_600_000
    assert gains(result) == []
    assert all(piece.is_final for piece in result.pieces)


def test_what_an_inch_buys_over_all_tracks() -> None:
    """Front Street kept clear: two moves are saved once two cars fit at one side of it.  The side that has
    more already needs less, so it comes first.
    """
    puzzle = load(PUZZLES / "cask_lane_crossing.toml")
    two = puzzle.vehicles["THB 12"].length + puzzle.vehicles["QLV 214"].length
    found = [(gain.piece.name, gain.extra, gain.moves, gain.saved) for gain in gains(length_steps(puzzle))]
    assert found == [
        ("west street, part 3 of 3", two - 6_000_000, 3, 2),
        ("west street, part 1 of 3", two - 5_000_000, 3, 2),
    ]


def test_what_makes_impossible_work_possible() -> None:
    """With a tail of 5 in nothing can be done: 0.6 in more gains a plan, which saves no number of moves."""
    result = length_steps(load(PUZZLES / "cask_lane_short_tail.toml"), ["Lane tail"])
    assert result.now == Minimum(NO_PLAN, NO_PLAN)
    (gain,) = gains(result)
    assert (gain.extra, gain.moves, gain.saved) == (600_000, 3, None)
    assert _piece(result, "Lane tail").spare == 0


# -- which pieces, how short, how long -------------------------------------------------------------------


def test_entrances_without_a_length_are_left_out() -> None:
    """Lane lead is as long as need be; every other track is measured, in the order of the plan."""
    puzzle = load(PUZZLES / "cask_lane_facing.toml")
    assert endless_tracks(puzzle) == {"Lane lead"}
    names = [one.name for one in puzzle.district.tracks]
    assert [piece.name for piece in pieces_of(puzzle)] == names[1:]
    assert pieces_of(puzzle, ["Lane lead"]) == []
    with pytest.raises(KeyError):
        pieces_of(puzzle, ["nowhere"])


def _holding(**more: object) -> Puzzle:
    """A spur of 6 with two cars in it, a gap between them."""
    district = spur_district(6, 4, track("spur", 6, **more))  # type: ignore[arg-type]
    return set_up(district, {"lead": "L", "spur": "a | b"}, heads={"L": "to"}, lengths={"L": 2, "a": 2})


def test_how_short_a_track_can_be() -> None:
    """It must hold what stands there with its gap, and the last spot; an empty one only has to be there."""
    plain, spotted = _holding(), _holding(spots={"1": 1, "2": 5})
    assert shortest(plain, pieces_of(plain, ["spur"])[0]) == (4, "a, b stand there")
    assert shortest(spotted, pieces_of(spotted, ["spur"])[0]) == (5, "spot 2 is there")
    assert shortest(plain, pieces_of(plain, ["lead"])[0]) == (2, "L stands there")
    assert shortest(plain, pieces_of(plain, ["main"])[0]) == (1, "")


def test_how_long_a_track_is_looked_at() -> None:
    """All vehicles and their gaps (5 + 3) beyond the last spot; twice that where longest runs do not apply,
    and then nothing is said of more; never less than it is now.
    """
    spotted = _holding(spots={"1": 1, "2": 5})
    assert longest(spotted, pieces_of(spotted, ["spur"])[0]) == (5 + 8, True)
    assert longest(spotted, pieces_of(spotted, ["main"])[0]) == (8, True)
    long = lengthened(spotted, "main", 20)
    assert longest(long, pieces_of(long, ["main"])[0]) == (24, True)
    rear_only = replace(spotted, locomotives=(replace(spotted.locomotives[0], rear_only=True),))
    assert longest(rear_only, pieces_of(rear_only, ["spur"])[0]) == (5 + 16, False)


def test_spots_and_fixed_cars_stay_where_they_are() -> None:
    """A track made longer keeps the distances from its ``from`` end, and cannot be cut below them."""
    district = spur_district(6, 4, track("spur", 6, spots={"1": 2}))
    puzzle = set_up(district, {"lead": "L", "spur": "a"}, heads={"L": "to"}, lengths={"a": 2}, fixed={"a": 3})
    assert told_places(puzzle, "spur") == {2: "spot 1", 3: "a", 5: "a"}
    for changed in (lengthened(puzzle, "spur", 3), lengthened(puzzle, "spur", -1)):
        assert told_places(changed, "spur") == told_places(puzzle, "spur")
    with pytest.raises(ValueError, match="spur cannot be shorter by 2"):
        lengthened(puzzle, "spur", -2)
    with pytest.raises(ValueError, match="main cannot be shorter by 4"):
        lengthened(puzzle, "main", -4)


# -- where longer may be harder --------------------------------------------------------------------------


def _pier(length: int) -> Puzzle:
    """A car beyond a pier closed to locomotives, and an idler of three units to reach in with."""
    pier = track("pier", length, marks=Marks(no_locomotives=True))
    tracks = [track("lead", 9), track("main", 6), pier, track("far", 2)]
    district = build(
        tracks, [turnout("T", "lead.to", "main.from", "pier.from")], links=[("pier.to", "far.from")]
    )
    item = EndsIn("c", (Place("main"),))
    standing = {"lead": "L i", "far": "c"}
    return set_up(district, standing, item, heads={"L": "from"}, lengths={"L": 2, "i": 3})


def test_where_longer_is_harder_nothing_is_measured() -> None:
    """A longer pier is a longer reach: three units are in the idler's reach, four are not.  So the pier is
    not measured, and the reason is said; the dead ends beside it, which no reach goes through, are.
    """
    assert [brute_minimum(_pier(length)) for length in (1, 2, 3, 4)] == [4, 4, 4, None]
    result = length_steps(_pier(3))
    assert {piece.name for piece in result.pieces if piece.unmeasured} == {"pier"}
    pier = _piece(result, "pier")
    assert pier.steps == () and "closed to locomotives" in pier.unmeasured and pier.spare == 0
    assert gains(result) == []


def test_a_place_beyond_a_part_keeps_it_from_being_measured() -> None:
    """Where a spot lies in a later part, or at its seam, a longer part would shift rail under it."""
    spur = track("spur", 2, Part(2, Marks(keep_clear=KeepClear.AT_END)), 3, spots={"1": 4})
    puzzle = set_up(spur_district(6, 4, spur), {"lead": "L"}, heads={"L": "to"})
    reasons = [why_not_measured(puzzle, "spur", part) for part in range(3)]
    assert "shift" in reasons[0] and "shift" in reasons[1] and reasons[2] == ""
    through = run_around_district()
    plain = set_up(through, {"west": "L"}, heads={"L": "to"})
    assert [why_not_measured(plain, one.name) for one in through.tracks] == [""] * 4


# -- what is not proved ----------------------------------------------------------------------------------


def _answers(monkeypatch: pytest.MonkeyPatch, answer: Callable[[int], Minimum]) -> list[int]:
    """Answers by the length of ``main`` instead of solving; the lengths asked for, in order."""
    asked: list[int] = []

    def fewest_moves(puzzle: Puzzle, **options: object) -> Figure:
        length = puzzle.district.track("main").length
        asked.append(length)
        found = answer(length)
        if found == Minimum(NO_PLAN, NO_PLAN):
            return Figure(Verdict.IMPOSSIBLE, None, None)
        if found.is_proved:
            return Figure(Verdict.PROVED, found.most, found.least)
        if found.most == NO_PLAN:
            return Figure(Verdict.GAVE_UP, None, found.least, "memory")
        return Figure(Verdict.BEST_FOUND, found.most, found.least, "memory")

    monkeypatch.setattr(minimum_room, "fewest_moves", fewest_moves)
    return asked


def _plain() -> Puzzle:
    district = run_around_district(12, 4, 4, 6)
    return set_up(district, {"west": "L a b"}, heads={"L": "to"}, lengths={"L": 3, "a": 3, "b": 3})


def test_each_length_is_solved_once(monkeypatch: pytest.MonkeyPatch) -> None:
    """No length is asked for twice, and far fewer than all are."""
    asked = _answers(monkeypatch, lambda length: Minimum(*(2 * [9 if length < 7 else 5])))
    (piece,) = length_steps(lengthened(_plain(), "main", 200), ["main"]).pieces
    assert _told(piece) == [(1, 9), (7, 5)]
    assert len(asked) == len(set(asked)) < 20


def test_what_is_not_proved_is_an_interval(monkeypatch: pytest.MonkeyPatch) -> None:
    """Lengths that are not proved lie between what is proved beside them, with no step that is not there;
    nothing is gained by a step that is not proved, and what stopped the proof is named.
    """

    def answer(length: int) -> Minimum:
        if length < 6:
            return Minimum(9, 9)
        return Minimum(4, 12) if length < 9 else Minimum(5, 5)

    _answers(monkeypatch, answer)
    result = length_steps(_plain(), ["main"])
    steps = [(step.at_least, step.minimum) for step in result.pieces[0].steps]
    assert result.limit == "memory"
    assert steps[0] == (1, Minimum(9, 9)) and steps[-1][1] == Minimum(5, 5)
    assert [found for _, found in steps if not found.is_proved] == [Minimum(5, 9)]
    assert [gain.moves for gain in gains(result)] == [5]


def test_memory_is_limited(monkeypatch: pytest.MonkeyPatch) -> None:
    """What the standings of one search may take is passed on to every search."""
    limits: list[object] = []

    def fewest_moves(puzzle: Puzzle, **options: object) -> Figure:
        limits.append(options["most_bytes"])
        return Figure(Verdict.IMPOSSIBLE, None, None)

    monkeypatch.setattr(minimum_room, "fewest_moves", fewest_moves)
    length_steps(_plain(), ["main"], most_bytes=12345)
    assert len(limits) > 1 and set(limits) == {12345}


def test_a_bound_without_a_plan(monkeypatch: pytest.MonkeyPatch) -> None:
    """If no plan was found at the length of now, nothing is called spare, and no gain is told."""
    _answers(monkeypatch, lambda length: Minimum(7, NO_PLAN))
    result = length_steps(_plain(), ["main"])
    assert result.now == Minimum(7, NO_PLAN) == result.pieces[0].now
    assert [step.minimum for step in result.pieces[0].steps] == [Minimum(7, NO_PLAN)]
    assert result.pieces[0].spare == 0 and gains(result) == []


def test_answers_that_contradict_each_other_are_a_defect(monkeypatch: pytest.MonkeyPatch) -> None:
    """A longer track that is proved harder, where that cannot be, breaks the program."""
    _answers(monkeypatch, lambda length: Minimum(*(2 * [3 if length < 5 else 6])))
    with pytest.raises(AssertionError, match=r"main.*a defect"):
        length_steps(_plain(), ["main"])


def test_a_stop_keeps_what_there_is() -> None:
    """Stopped after some lengths, what is known stays, what is not is open, and the reason is kept."""
    puzzle = length_puzzle("run-around", 1)
    told: list[str] = []

    def stop() -> str | None:
        return "Ctrl-C" if sum("so far" in line for line in told) > 3 else None

    result = length_steps(puzzle, tell=told.append, stop=stop)
    assert result.limit == "Ctrl-C"
    assert result.now.is_proved and len(result.pieces) == len(length_steps(puzzle).pieces)
    assert not result.pieces[-1].steps[-1].minimum.is_proved
    whole = {piece.name: piece for piece in length_steps(puzzle).pieces}
    for piece in result.pieces:
        for step in piece.steps:
            true = [one for one in whole[piece.name].steps if one.at_least <= step.at_least][-1]
            assert step.minimum.least <= true.minimum.least <= step.minimum.most


def test_a_limit_of_time_is_shared_out() -> None:
    """A work that nobody can prove in so little time: nothing is called proved, and the limit is named."""
    puzzle = load(Path(__file__).parent / "reference" / "6.toml")
    result = length_steps(puzzle, seconds=1.0)
    assert result.limit == "the limit of 1 seconds"
    assert not result.now.is_proved and gains(result) == []
    assert all(piece.steps for piece in result.pieces)
