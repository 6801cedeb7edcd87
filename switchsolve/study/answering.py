"""The answer to one session: the fewest moves; and if all the work cannot be done, the most that can.

**The most that can be done**: an *item* is a car to be spotted or a car to be picked up.  A car left over
goes back with the train if it came with it, else it stays where it stands.  Sets of cars left over are tried
by size, the smallest first; of the first size with which the rest can be done the set with the fewest moves
is taken.  It is proved to be the most when every smaller set was proved impossible.
"""

from __future__ import annotations

import time
from collections.abc import Collection, Iterator
from dataclasses import dataclass, replace
from fractions import Fraction
from itertools import combinations

from switchsolve.effort import effort_of, forced_moves
from switchsolve.minutes import crew_for, span_of
from switchsolve.plan import Solution, Verdict
from switchsolve.puzzle import Puzzle
from switchsolve.referee import replay
from switchsolve.skipping import skipped_cars
from switchsolve.solving import solve
from switchsolve.work import EndsIn, Train

__all__ = ["Outcome", "answer", "answered", "without"]


@dataclass(frozen=True, slots=True)
class Outcome:
    """What came out.  ``verdict``, ``moves`` and ``bound`` (no plan has fewer) are those of the work less
    ``left_over``; couplings and cuts are those of the plan, not proved to be the least.

    ``crew_moves``: those of a plain crew (``None``: it gave up).  ``least_seconds``: real time of the plan
    without a mistake, ``most_seconds`` that of the plain crew's plan (``None``: it gave up); where the file
    has a ratio of its own both come of that, and there is no plain crew.  Whole seconds, halves up.

    ``trips`` around, repeated ``shuttles``, ``light_share`` of the distance and ``longest_spell`` are those
    of the plan, too (:mod:`switchsolve.effort`).  ``forced``: how many of the moves are forced on all plans
    with the fewest (``None``: the minimum is not proved, or they are not told, see
    :func:`~switchsolve.effort.forced_moves`).

    ``is_most``: no more of the work can be done, proved.  With the verdict *impossible* the train cannot even
    leave with all that it brought; with *gave up* and cars left over nothing was found in time.
    """

    verdict: Verdict
    moves: int | None
    bound: int | None
    couplings: int | None
    cuts: int | None
    left_over: tuple[str, ...] = ()
    is_most: bool = True
    crew_moves: int | None = None
    least_seconds: int | None = None
    most_seconds: int | None = None
    trips: int | None = None
    shuttles: int | None = None
    light_share: float | None = None
    longest_spell: int | None = None
    forced: int | None = None


_FORCED = 50_000
"""Standings that may be looked at for the forced moves of one session."""
_CREW_SECONDS = 5.0
"""For each question of the plain crew, if the sessions have more."""


def answer(
    puzzle: Puzzle,
    seconds: float | None = None,
    with_crew: bool = True,
    with_forced: bool = True,
) -> Outcome:
    """Solve the set-up of a session, ``seconds`` (``None``: as long as it takes) for all of it; then, if
    it is ``with_crew``, see what a plain crew makes of it, as long again for each of its questions (five
    seconds at most); and if it is ``with_forced``, count the forced moves, as long again.
    """
    found, solution = answered(puzzle, seconds)
    if solution is None or solution.counts is None:
        return found
    done = skipped_cars(puzzle, found.left_over)
    each = _CREW_SECONDS if seconds is None else min(seconds, _CREW_SECONDS)
    crew = crew_for(done, seconds_each=each) if with_crew else None
    span = span_of(done, solution.counts, crew.counts if crew is not None else None)
    return replace(
        _with_effort(found, done, solution),
        forced=_forced(done, solution, seconds) if with_forced else None,
        crew_moves=crew.counts.moves if crew is not None and crew.counts is not None else None,
        least_seconds=_whole(span.low),
        most_seconds=None if span.high is None else _whole(span.high),
    )


def _with_effort(found: Outcome, done: Puzzle, solution: Solution) -> Outcome:
    """The outcome with the figures of its plan, if there is one."""
    if solution.plan is None:
        return found
    effort = effort_of(done, solution.plan, replay(done, solution.plan))
    return replace(
        found,
        trips=effort.trips_around,
        shuttles=effort.shuttles,
        light_share=round(effort.light_share, 3),
        longest_spell=effort.longest_spell,
    )


def _forced(done: Puzzle, solution: Solution, seconds: float | None) -> int | None:
    if solution.verdict is not Verdict.PROVED or solution.plan is None or solution.counts is None:
        return None
    end = None if seconds is None else time.monotonic() + seconds
    forced = forced_moves(
        done,
        moves=solution.counts.moves,
        most=_FORCED,
        same_district=True,
        stop=lambda: "the limit of time" if end is not None and time.monotonic() > end else None,
    )
    return None if forced.refused is not None else len(forced.numbers)


def _whole(seconds: Fraction) -> int:
    """Whole seconds, halves up."""
    return int(seconds + Fraction(1, 2))


def answered(puzzle: Puzzle, seconds: float | None) -> tuple[Outcome, Solution | None]:
    """The outcome without a crew, and the solution that it comes of, if there is one: of the work less what
    is left over."""
    end = None if seconds is None else time.monotonic() + seconds
    whole = _solved(puzzle, seconds)
    if whole.verdict is not Verdict.IMPOSSIBLE:
        return _outcome(whole, (), True), whole
    items = sorted(_cars_of_work(puzzle))
    is_most = True
    for size in range(1, len(items) + 1):
        tries = [(left, _tried(without(puzzle, left), end)) for left in combinations(items, size)]
        able = [(left, solution) for left, solution in tries if solution.counts is not None]
        undecided = [solution for _, solution in tries if solution.verdict is Verdict.GAVE_UP]
        if able:
            return _best(able, undecided, is_most)
        is_most = is_most and not undecided
    verdict = Verdict.IMPOSSIBLE if is_most else Verdict.GAVE_UP
    return Outcome(verdict, None, None, None, None, tuple(items), is_most), None


def without(puzzle: Puzzle, left_over: Collection[str]) -> Puzzle:
    """The set-up with the work less these cars: an arrived one is to leave with the train again, one that was
    to be picked up is on hold.
    """
    return skipped_cars(puzzle, left_over)


def _cars_of_work(puzzle: Puzzle) -> Iterator[str]:
    """The cars to be spotted or picked up."""
    for item in puzzle.work.items:
        if isinstance(item, EndsIn):
            yield item.car
        elif isinstance(item, Train):
            yield from item.cars


def _tried(puzzle: Puzzle, end: float | None) -> Solution:
    """The solution in the time that is left; *gave up* with no bound once it is over."""
    left = None if end is None else end - time.monotonic()
    if left is not None and left <= 0:
        return Solution(Verdict.GAVE_UP, 0)
    return _solved(puzzle, left)


def _solved(puzzle: Puzzle, seconds: float | None) -> Solution:
    return solve(
        puzzle, seconds=seconds, search="steady", tie_standings=0, many=True, same_district=True
    )


def _best(
    able: list[tuple[tuple[str, ...], Solution]], undecided: list[Solution], is_most: bool
) -> tuple[Outcome, Solution]:
    """The set left over with the fewest moves, among those of one size."""
    left, best = min(able, key=lambda one: (_moves(one[1]), one[0]))
    bound = min(one.lower_bound or 0 for one in (*undecided, *(solution for _, solution in able)))
    verdict = Verdict.PROVED if bound == _moves(best) else Verdict.BEST_FOUND
    return _outcome(replace(best, verdict=verdict, lower_bound=bound), left, is_most), best


def _moves(solution: Solution) -> int:
    assert solution.counts is not None
    return solution.counts.moves


def _outcome(solution: Solution, left: tuple[str, ...], is_most: bool) -> Outcome:
    """What there is to say of a solution."""
    counts = solution.counts
    return Outcome(
        solution.verdict,
        counts.moves if counts else None,
        solution.lower_bound,
        counts.couplings if counts else None,
        counts.cuts if counts else None,
        left,
        is_most,
    )
