"""How a crew at work clears the main for a passing train: the fewest moves, from a standing of its plan.

It comes back the same way, so that the plan goes on as if nothing had been (every run can be undone by one).
"""

from __future__ import annotations

import time
from collections.abc import Collection
from dataclasses import replace

from switchsolve.crew.standing import Standpoint
from switchsolve.district import Track
from switchsolve.plan import Plan
from switchsolve.puzzle import Puzzle
from switchsolve.referee import Replay, replay
from switchsolve.solving import solve
from switchsolve.work import EndsIn, Item, LocomotiveEnds, Place, Work

__all__ = ["moves_to_clear"]

_SECONDS = 1.0
"""For one question, if the caller has no limit of its own."""


def moves_to_clear(
    puzzle: Puzzle, point: Standpoint, main: Collection[str], seconds: float | None
) -> tuple[int, tuple[Puzzle, Plan, Replay] | None] | None:
    """The fewest moves after which nothing stands on ``main``, and the plan (none for 0 moves).

    Who stands elsewhere stays there; what is coupled to the locomotive may end on any other track.
    ``None``: a string is foul, or no way was found in time.
    """
    tracks = [track for track in puzzle.district.tracks if track.name not in main]
    if any(not isinstance(puzzle.district.place(one.track), Track) for one in point.start.strings):
        return None
    if not any(string.track in main for string in point.start.strings):
        return 0, None
    end = time.monotonic() + (_SECONDS if seconds is None else min(_SECONDS, seconds))
    best: tuple[int, tuple[Puzzle, Plan, Replay]] | None = None
    for track in sorted(tracks, key=lambda one: -one.length):
        asked = _set_up(puzzle, point, main, tracks, track)
        solution = solve(asked, seconds=max(0.05, end - time.monotonic()), tie_standings=0)
        if solution.plan is not None and solution.counts is not None:
            moves = solution.counts.moves
            if best is None or moves < best[0]:
                best = moves, (asked, solution.plan, replay(asked, solution.plan))
            if moves == 1:
                break
    return best


def _set_up(
    puzzle: Puzzle, point: Standpoint, main: Collection[str], others: Collection[Track], ends_in: Track
) -> Puzzle:
    """From ``point``, standing still: the locomotive to ``ends_in``, cars off the main."""
    (locomotive,) = (one.name for one in puzzle.locomotives)
    off = tuple(Place(track.name) for track in others)
    items: list[Item] = [LocomotiveEnds(locomotive, ends_in.name)]
    for string in point.start.strings:
        moves_on = string.track in main or locomotive in string.vehicles
        places = off if moves_on else (Place(string.track),)
        items += [EndsIn(name, places) for name in string.vehicles if name != locomotive]
    start = replace(point.start, under_way={})
    return replace(puzzle, start=start, district=point.district, work=Work(tuple(items)))
