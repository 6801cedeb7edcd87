"""How a crew at work clears the main for a passing train: the fewest moves, from each standing of its plan.

It comes back the same way, so that the plan goes on as if nothing had been (every run can be undone by one).
A locomotive that goes on as it last went makes no new move, and then none on its way back, which goes over
into the plan's next one: so clearing and coming back cost the same number of moves.
"""

from __future__ import annotations

import time
from collections.abc import Collection, Iterator
from dataclasses import dataclass, replace

from switchsolve.district import Track
from switchsolve.operating.lasting import seconds_of_moves
from switchsolve.plan import Placed, Plan, Solution
from switchsolve.puzzle import Puzzle
from switchsolve.referee import Frame, Replay, replay_so_far
from switchsolve.solving import solve_midway
from switchsolve.work import EndsIn, Item, LocomotiveEnds, Place, Work

__all__ = ["Clearing", "clearings_of"]

_SECONDS = 1.0
"""For one standing, if the caller has no limit of its own."""


@dataclass(frozen=True, slots=True)
class Clearing:
    """How the main is cleared after a move of a plan: moves to clear it (as many bring the crew back), and
    the seconds of both."""

    moves: int
    seconds: float


def clearings_of(
    puzzle: Puzzle, plan: Plan, replayed: Replay, main: Collection[str], seconds: float | None
) -> tuple[Clearing | None, ...]:
    """For each standing at a reversal of ``plan``: the fewest moves after which nothing stands on the tracks
    ``main`` or on a junction; ``None``: no way was found in time, or there is none.

    Who stands on another track stays there; who is foul, on the main or coupled to the locomotive may end on
    any other track.  The puzzle has one locomotive.
    """
    return tuple(
        _clearing(puzzle, replace(plan, runs=plan.runs[:number], final_cuts=()), frame, main, seconds)
        for number, frame in enumerate(replayed.frames[1 : len(plan.runs)], 1)
    )


def _clearing(
    puzzle: Puzzle, so_far: Plan, frame: Frame, main: Collection[str], seconds: float | None
) -> Clearing | None:
    off = [track.name for track in puzzle.district.tracks if track.name not in main]
    if all(_home(puzzle, one) in off for one in frame.standing):
        return Clearing(0, 0.0)
    solution = _fewest(puzzle, so_far, list(_cars_off(puzzle, frame, off)), off, seconds)
    if solution is None or solution.plan is None or solution.counts is None:
        return None
    before = replay_so_far(puzzle, so_far).counts.moves
    judged = replay_so_far(puzzle, solution.plan)
    lasting = seconds_of_moves(puzzle, solution.plan, judged)[len(so_far.runs) :]
    return Clearing(solution.counts.moves - before, 2 * sum(lasting))


def _fewest(
    puzzle: Puzzle, so_far: Plan, cars: list[Item], off: list[str], seconds: float | None
) -> Solution | None:
    """The best solution over the tracks on which the locomotive may end."""
    (locomotive,) = (one.name for one in puzzle.locomotives)
    end = time.monotonic() + (_SECONDS if seconds is None else min(_SECONDS, seconds))
    found: list[Solution] = []
    for track in sorted(off, key=lambda name: -puzzle.district.track(name).length):
        asked = replace(puzzle, work=Work((LocomotiveEnds(locomotive, track), *cars)))
        solution = solve_midway(asked, so_far, seconds=max(0.05, end - time.monotonic()))
        if solution is not None and solution.counts is not None:
            found.append(solution)
    return min(found, key=_moves, default=None)


def _moves(solution: Solution) -> int:
    assert solution.counts is not None
    return solution.counts.moves


def _home(puzzle: Puzzle, placed: Placed) -> str | None:
    """The track in which a string stands, wholly; ``None``: it is foul."""
    places = {way.cell.place for way in placed.ways}
    name = next(iter(places))
    return name if len(places) == 1 and isinstance(puzzle.district.place(name), Track) else None


def _cars_off(puzzle: Puzzle, frame: Frame, off: list[str]) -> Iterator[Item]:
    """Where each car is to be."""
    cars = {car.name for car in puzzle.cars}
    for one in frame.standing:
        home = _home(puzzle, one)
        stays = home in off and all(name in cars for name in one.vehicles)
        places = (Place(home),) if stays and home is not None else tuple(Place(name) for name in off)
        yield from (EndsIn(name, places) for name in one.vehicles if name in cars)
