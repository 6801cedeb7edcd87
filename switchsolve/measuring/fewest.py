"""The fewest moves for one task at one spot, as ``measure`` and ``design`` count them."""

from __future__ import annotations

from collections.abc import Callable

from switchsolve.facts.probes import Bench
from switchsolve.measuring.arrivals import Arrival, Task, task_puzzle
from switchsolve.plan import Solution, Verdict
from switchsolve.puzzle import Puzzle
from switchsolve.work import Place

__all__ = ["MOST_IDLERS", "fewest"]

MOST_IDLERS = 2
"""Cars that may be brought to reach in where a locomotive may not go."""
_Solve = Callable[[Puzzle], Solution]


def fewest(
    ground: Bench, arrival: Arrival, place: Place, task: Task, solve: _Solve, most_idlers: int = 0
) -> tuple[Puzzle, Solution, int] | None:
    """The set-up of ``task`` with as few idlers as will do, its answer, and how many idlers those are.

    A car that is spotted leaves the locomotive wholly on another track.  ``solve`` answers a set-up.
    ``None`` if there is no room for the car that is to stand at the spot.
    """
    found = None
    for idlers in range(most_idlers + 1):
        puzzle = task_puzzle(ground, arrival, place, task, idlers)
        if puzzle is None:
            break
        solution = solve(puzzle)
        if task is Task.SPOT and solution.verdict is not Verdict.IMPOSSIBLE:
            puzzle, solution = _out_again(ground, arrival, place, idlers, puzzle, solution, solve)
        found = puzzle, solution, idlers
        if solution.verdict is not Verdict.IMPOSSIBLE:
            break
    return found


def _out_again(
    ground: Bench,
    arrival: Arrival,
    place: Place,
    idlers: int,
    puzzle: Puzzle,
    anywhere: Solution,
    solve: _Solve,
) -> tuple[Puzzle, Solution]:
    """The set-up and answer with the fewest moves after which the locomotive is on another track.

    ``anywhere``: the answer to ``puzzle``, which lets it end anywhere, shut in behind its car perhaps: none
    is below it.
    """
    found: list[tuple[Puzzle, Solution]] = []
    for track in ground.district.tracks:
        if track.name != place.track and track.length >= ground.locomotive.length:
            there = task_puzzle(ground, arrival, place, Task.SPOT, idlers, track.name)
            assert there is not None
            found.append((there, solve(there)))
            has_plan = found[-1][1].verdict in (Verdict.PROVED, Verdict.BEST_FOUND)
            if has_plan and found[-1][1].lower_bound == anywhere.lower_bound:
                break
    none = (puzzle, Solution(Verdict.IMPOSSIBLE, None))
    return min(found, key=lambda pair: _rank(pair[1]), default=none)


def _rank(solution: Solution) -> tuple[int, int]:
    """The least bound first, so that what is not proved is never taken for a minimum; the impossible last."""
    least = solution.lower_bound
    return (1, 0) if least is None else (0, least * 2 + (solution.verdict is not Verdict.PROVED))
