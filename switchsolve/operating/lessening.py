"""Less work where no plan for all of it is found in time: industry by industry, as a crew would that is late.

All cars of one industry stay together, since one that comes may need the place of one that leaves.
"""

from __future__ import annotations

from switchsolve.plan import Solution, Verdict
from switchsolve.puzzle import Puzzle
from switchsolve.solving import solve
from switchsolve.study.answering import Outcome, without
from switchsolve.work import EndsIn, Train

__all__ = ["part_of_it"]

_SHARE = 0.3
"""Of the seconds for all of the work, for each part that is tried."""


def part_of_it(puzzle: Puzzle, seconds: float | None) -> tuple[Outcome, Solution | None]:
    """The work of half of the industries (those with fewest cars), then of one after the other until a plan
    is found; what is left over is told, and never called the most that can be done.  No solution: nothing was
    found in time."""
    groups = sorted(_by_industry(puzzle).values(), key=len)
    cars = [car for group in groups for car in group]
    parts = [groups[: len(groups) // 2]] if len(groups) > 3 else []
    for part in (*parts, *([group] for group in groups)):
        done = {car for group in part for car in group}
        left = tuple(sorted(set(cars) - done))
        if not left:
            continue
        limit = None if seconds is None else seconds * _SHARE
        solution = solve(
            without(puzzle, left),
            seconds=limit,
            search="steady",
            tie_standings=0,
            many=True,
            same_district=True,
        )
        if solution.counts is not None:
            counts = solution.counts
            moves, bound = counts.moves, solution.lower_bound
            outcome = Outcome(
                solution.verdict, moves, bound, counts.couplings, counts.cuts, left, is_most=False
            )
            return outcome, solution
    return Outcome(Verdict.GAVE_UP, None, None, None, None, tuple(sorted(cars)), is_most=False), None


def _by_industry(puzzle: Puzzle) -> dict[str, list[str]]:
    """The cars of the work by the track to which they go or on which they stand."""
    stands = {name: string.track for string in puzzle.start.strings for name in string.vehicles}
    groups: dict[str, list[str]] = {}
    for item in puzzle.work.items:
        if isinstance(item, EndsIn):
            groups.setdefault(item.places[0].track, []).append(item.car)
        elif isinstance(item, Train):
            for car in sorted(item.cars):
                if stands[car] != item.track:  # what came with the train leaves with it in any case
                    groups.setdefault(stands[car], []).append(car)
    return groups
