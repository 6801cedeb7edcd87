"""Distances by longest runs, backwards from all endings at once.

Where :func:`switchsolve.search.exact.applies` says so, standings need be kept only after longest runs.
Layers of these are made from the endings until nothing is new; then one longest run is made from every clear
standing, and looked up in the layers.  What this finds is exact from two moves on; where it says two, the
work may be done already, or by one move that stops short, and that is asked of the law.

A locomotive that can never turn is a case of its own for each way it can head.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from itertools import chain

from switchsolve.counting.by_events import moves_from
from switchsolve.counting.refusing import Meter, Refused
from switchsolve.counting.standings import ClearStanding, CoupledRows, Distances, Standings
from switchsolve.goal import Goal
from switchsolve.packing import pack
from switchsolve.rules import Rules, Standing
from switchsolve.search.endings import TooManyEndings, endings
from switchsolve.search.exact import applies
from switchsolve.search.runs import LongestRuns, RunState

__all__ = ["by_runs", "runs_apply"]

_MOST_ENDINGS = 20_000


def runs_apply(rules: Rules) -> str | None:
    """``None`` if distances by longest runs are exact, else the reason why they are not."""
    why = applies(rules)
    if why is None and next(rules.starts(), None) is None:
        return "the start of the file has no room"
    return why


def by_runs(standings: Standings, every: list[ClearStanding], meter: Meter) -> Distances:
    """Distances of ``every`` clear standing.  Raises :class:`~switchsolve.counting.Refused`."""
    runs = LongestRuns(standings.rules)
    depths = _depths(standings.rules, runs, meter)
    meter.doing = "distances"
    goal = Goal(standings.rules)
    found: Distances = {}
    for clear in every:
        best = _distance(standings, runs, goal, depths, clear, meter)
        if best is not None:
            found[clear] = best
    return found


def _depths(rules: Rules, runs: LongestRuns, meter: Meter) -> dict[RunState, int]:
    """For every farthest standing from which the work can be done, in how many runs."""
    meter.doing = "longest runs from the work done"
    layer: Iterable[RunState] = _all_endings(rules, runs)
    depths: dict[RunState, int] = {}
    depth = 0
    while layer:
        depth += 1
        fresh: list[RunState] = []
        for state in layer:
            meter()
            for following in runs.steps(state):
                if following not in depths:
                    depths[following] = depth
                    fresh.append(following)
        layer = fresh
    return depths


def _all_endings(rules: Rules, runs: LongestRuns) -> list[RunState]:
    found: set[RunState] = set()
    for one in (rules, _headed_otherwise(rules)):
        try:
            found.update(endings(one, runs, _MOST_ENDINGS))
        except TooManyEndings:
            raise Refused(
                f"there are more than {_MOST_ENDINGS:,} standings in which the work is done"
            ) from None
    return sorted(found)


def _headed_otherwise(rules: Rules) -> Rules:
    """The same set-up with its locomotive turned round."""
    puzzle = rules.p.puzzle
    turned = {name: "from" if end == "to" else "to" for name, end in puzzle.start.heads.items()}
    start = replace(puzzle.start, heads=turned, under_way={})
    return Rules(pack(replace(puzzle, start=start), starts_anywhere=True))


def _distance(
    standings: Standings,
    runs: LongestRuns,
    goal: Goal,
    depths: dict[RunState, int],
    clear: ClearStanding,
    meter: Meter,
) -> tuple[int, CoupledRows] | None:
    meter()
    best: tuple[int, CoupledRows] | None = None
    for rows in standings.coupled(clear, as_one=True):
        left = [_runs_left(runs, depths, standing) for standing in standings.laid(rows)]
        moves = min((one for one in left if one is not None), default=None)
        if moves is not None and (best is None or moves < best[0]):
            best = moves, rows
    if best is None or best[0] > 2:
        return best
    return moves_from(standings, goal, clear, 1, meter) or best


def _runs_left(runs: LongestRuns, depths: dict[RunState, int], standing: Standing) -> int | None:
    """The fewest runs, two at least, from a standing at rest."""
    runs.behind.clear()
    states = runs.from_standing(standing)
    found = [depths[state] for state in chain.from_iterable(map(runs.steps, states)) if state in depths]
    runs.behind.clear()
    return 1 + min(found) if found else None
