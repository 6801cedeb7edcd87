"""Facts of the trade as inequalities, on districts of this project's own.

All of them are common practice, no source.  Every district is read from west (``from``) to east (``to``); a
vehicle and a turnout are one unit long where nothing else is said.
"""

from __future__ import annotations

import pytest

from switchsolve.district import District
from switchsolve.plan import Advance, Solution, Verdict
from switchsolve.puzzle import Puzzle
from switchsolve.referee import replay
from switchsolve.solving import solve
from switchsolve.work import EndsIn, Item, Place
from tests.builders import build, set_up, track, turnout


def _to(car: str, where: str) -> EndsIn:
    return EndsIn(car, (Place(where),))


def _solve(district: District, standing: dict[str, str], *items: Item, length: int = 1) -> Solution:
    """The answer for a locomotive L heading east, standing at the start; its plan is replayed."""
    puzzle: Puzzle = set_up(district, standing, *items, heads={"L": "to"}, lengths={"L": length})
    solution = solve(puzzle, tie_standings=0)
    assert solution.verdict in (Verdict.PROVED, Verdict.IMPOSSIBLE)
    if solution.plan is not None:
        assert replay(puzzle, solution.plan).counts == solution.counts
    return solution


def _moves(solution: Solution) -> int:
    assert solution.lower_bound is not None
    return solution.lower_bound


def _runs_over(solution: Solution, places: set[str]) -> bool:
    """Whether a leading end enters any of the places in the plan."""
    assert solution.plan is not None
    steps = [step for run in solution.plan.runs for step in run.steps if isinstance(step, Advance)]
    return any(way.cell.place in places for step in steps for way in step.enters)


# -- facing and trailing -----------------------------------------------------------------------------------


def _one_spur(facing: bool, *, run_around: bool) -> District:
    """West, a run-around of main and side (or main alone), a spur of one car, east."""
    main = [track("west", 4), track("main", 3), track("mid", 3), track("east", 3), track("spur", 1)]
    if facing:
        spur = turnout("T", "mid.to", "east.from", "spur.from")
    else:
        spur = turnout("T", "east.from", "mid.to", "spur.to")
    if not run_around:
        return build(main, [spur], links=[("west.to", "main.from"), ("main.to", "mid.from")])
    ends = [
        turnout("A", "west.to", "main.from", "side.from"),
        turnout("B", "mid.from", "main.to", "side.to"),
    ]
    return build([*main, track("side", 3)], [*ends, spur])


@pytest.mark.parametrize(
    ("row", "direct"), [("c L", "trailing"), ("L c", "facing")], ids=["cars behind", "cars ahead"]
)
def test_a_spur_is_worked_directly_from_one_side_only(row: str, direct: str) -> None:
    """With its car behind, a locomotive spots a trailing spur directly and needs a run-around for a facing
    one; with its car ahead, the other way round.
    """
    for facing in (False, True):
        solution = {
            has: _solve(_one_spur(facing, run_around=has), {"west": row}, _to("c", "spur"))
            for has in (False, True)
        }
        if facing == (direct == "facing"):
            assert _moves(solution[False]) == _moves(solution[True])
            assert not _runs_over(solution[True], {"side"}) or not _runs_over(solution[True], {"main"})
        else:
            assert solution[False].verdict == Verdict.IMPOSSIBLE
            assert _runs_over(solution[True], {"side"})
            assert _runs_over(solution[True], {"main"})


def test_the_wrong_side_costs_more() -> None:
    """With the run-around there, the spur that needs it costs more moves than the one that does not."""
    for row, direct in (("c L", False), ("L c", True)):
        right = _solve(_one_spur(direct, run_around=True), {"west": row}, _to("c", "spur"))
        wrong = _solve(_one_spur(not direct, run_around=True), {"west": row}, _to("c", "spur"))
        assert _moves(wrong) > _moves(right)


# -- the only run-around at the far end ----------------------------------------------------------------------


def _far_run_around(*, run_around: bool) -> District:
    """West, a facing spur (the awkward one), two trailing spurs, and a run-around at the far end."""
    tracks = [track("west", 5), track("m1", 3), track("m2", 3), track("m3", 3), track("main", 3)]
    tracks += [track("east", 3), track("awkward", 1), track("mill", 1), track("dock", 1)]
    spurs = [
        turnout("P", "west.to", "m1.from", "awkward.from"),
        turnout("Q", "m2.from", "m1.to", "mill.to"),
        turnout("R", "m3.from", "m2.to", "dock.to"),
    ]
    if not run_around:
        return build(tracks, spurs, links=[("m3.to", "main.from"), ("main.to", "east.from")])
    ends = [
        turnout("A", "m3.to", "main.from", "side.from"),
        turnout("B", "east.from", "main.to", "side.to"),
    ]
    return build([*tracks, track("side", 3)], [*spurs, *ends])


def test_the_one_awkward_spur_costs_the_trip_to_the_run_around() -> None:
    """If the only run-around lies at the far end, a car for the awkward spur costs a trip there and back; the
    others do not: without the run-around they cost the same, and the awkward one is impossible.
    """
    with_it, without = _far_run_around(run_around=True), _far_run_around(run_around=False)
    for spur in ("mill", "dock"):
        easy = _solve(with_it, {"west": "c L"}, _to("c", spur))
        assert _moves(easy) == _moves(_solve(without, {"west": "c L"}, _to("c", spur)))
        assert not _runs_over(easy, {"A", "B", "main", "side"})
    awkward = _solve(with_it, {"west": "c L"}, _to("c", "awkward"))
    assert _runs_over(awkward, {"main"}) and _runs_over(awkward, {"side"})
    assert _solve(without, {"west": "c L"}, _to("c", "awkward")).verdict == Verdict.IMPOSSIBLE


def test_the_trip_costs_moves_and_distance() -> None:
    """The awkward spur, though the nearest, takes more moves and more running than either of the others."""
    district = _far_run_around(run_around=True)
    cost = {spur: _solve(district, {"west": "c L"}, _to("c", spur)) for spur in ("awkward", "mill", "dock")}
    awkward = cost.pop("awkward").counts
    assert awkward is not None
    for easy in cost.values():
        assert easy.counts is not None
        assert awkward.moves > easy.counts.moves
        assert awkward.distance > easy.counts.distance


# -- switchbacks ---------------------------------------------------------------------------------------------


def _switchback(tail: int, spur: int = 3) -> District:
    """West; a turnout whose points look east into the tail; the spur goes back west from it."""
    return build(
        [track("west", 5), track("tail", tail), track("spur", spur)],
        [turnout("S", "tail.from", "west.to", "spur.to")],
    )


@pytest.mark.parametrize("length", [1, 2])
def test_the_tail_must_hold_locomotive_and_car(length: int) -> None:
    """One unit too short for locomotive and car together makes the spur of a switchback impossible."""
    row = {"west": "c L"}
    fits = _solve(_switchback(length + 1), row, _to("c", "spur"), length=length)
    short = _solve(_switchback(length), row, _to("c", "spur"), length=length)
    assert fits.verdict == Verdict.PROVED
    assert short.verdict == Verdict.IMPOSSIBLE


def test_a_switchback_costs_more_for_every_car() -> None:
    """With a tail for one car at a time each car costs more moves; a tail for all of them saves them."""
    rows = ["a L", "a b L", "a b c L"]
    short = [_moves(_solve(_switchback(2), {"west": r}, *_all_to_spur(r))) for r in rows]
    long = [_moves(_solve(_switchback(4), {"west": r}, *_all_to_spur(r))) for r in rows]
    assert short[0] < short[1] < short[2]
    assert long[0] == long[1] == long[2] == short[0]


def _all_to_spur(row: str) -> list[EndsIn]:
    return [_to(car, "spur") for car in row.split() if car != "L"]


def test_a_switchback_costs_more_than_a_spur_ahead() -> None:
    """The same car, ahead of the locomotive, costs more behind a switchback than on a facing spur."""
    facing = build(
        [track("west", 5), track("tail", 3), track("spur", 3)],
        [turnout("S", "west.to", "tail.from", "spur.from")],
    )
    direct = _solve(facing, {"west": "L c"}, _to("c", "spur"))
    back = _solve(_switchback(3), {"west": "c L"}, _to("c", "spur"))
    assert _moves(back) > _moves(direct)
