"""Distances by the law, compiled: one search back from all ends of the work, or one from each standing.

Time turned round, a run is a run of the same kind and as many moves long.  So the search that leads on from a
start leads back from the ends of the work to every standing from which it can be done
(:mod:`switchsolve.search.compiled_ends`, which meets it half-way).  Here it goes back to the end, and is then
asked for each clear standing, coupled in every way.
"""

from __future__ import annotations

import numpy as np

from switchsolve.counting.by_events import from_its_start
from switchsolve.counting.refusing import Meter, Refused, TooManyEnds
from switchsolve.counting.standings import ClearStanding, Distances, Standings, rows_joined
from switchsolve.goal import Goal
from switchsolve.kernel import event_kernel as kernel
from switchsolve.search.compiled import search_compiled
from switchsolve.search.event_arrays import EventArrays
from switchsolve.search.last_standings import last_standings
from switchsolve.search.one_end import from_the_ends
from switchsolve.search.tariffs import by_moves

__all__ = ["by_each", "by_ends"]

_MOST_ENDS = 20_000
_AT_A_TIME = 500
"""Clear standings that are asked about at a time: each is coupled in every way."""
_FAR = 1 << 60
"""More moves than any plan has."""


def by_ends(standings: Standings, every: list[ClearStanding], meter: Meter) -> Distances:
    """Distances of ``every`` clear standing, where every run can be undone by a run.

    Raises :class:`~switchsolve.counting.Refused`, :class:`~switchsolve.counting.refusing.TooManyEnds` among
    them.
    """
    rules = standings.rules
    goal = Goal(rules)
    back = _gone_back(standings, goal, meter)
    found: Distances = {}
    for first in range(0, len(every), _AT_A_TIME):
        meter.pause(f"{first:,} clear standings told")
        starts = (one for clear in every[first : first + _AT_A_TIME] for one in standings.placed(clear))
        asked = EventArrays(rules, goal, by_moves(rules), starts)
        least = np.full(asked.store.sizes[1], _FAR, np.int64)
        kernel.nearest(asked.memory, asked.store, back.store, least)
        for node in np.flatnonzero(least < _FAR).tolist():
            rows = standings.of(asked.standing(node))
            assert rows is not None
            clear, moves = rows_joined(rows), int(least[node])
            if clear not in found or moves < found[clear][0]:
                found[clear] = moves, rows
    return found


def by_each(standings: Standings, every: list[ClearStanding], meter: Meter) -> Distances:
    """The same, by one search from each clear standing, coupled in every way at once."""
    meter.doing = "distances"
    goal = Goal(standings.rules)
    found: Distances = {}
    for clear in every:
        before = meter.looked_at

        def count(expanded: int, before: int = before) -> None:
            meter.have_looked_at(before + expanded)

        result = search_compiled(
            standings.rules,
            goal,
            should_stop=count,
            starts=standings.placed(clear),
            most_bytes=meter.most_bytes,
        )
        if result.reason is not None:
            raise Refused(f"{meter.doing}: stopped by {result.reason}")
        if result.node is not None:
            found[clear] = from_its_start(standings, result.node)
    return found


def _gone_back(standings: Standings, goal: Goal, meter: Meter) -> EventArrays:
    """All that leads to the work done, by moves, seen from there."""
    rules = standings.rules
    meter.doing = "ends of the work"

    def look(looked: int) -> None:
        if not looked % 256:
            meter.pause(f"{looked:,} looked at")

    lasts = last_standings(rules, goal, _MOST_ENDS, look, from_anywhere=True)
    if lasts is None:
        raise TooManyEnds(
            f"there are more than {_MOST_ENDS:,} standings in which the work is done, or too many to look at"
        )
    meter.doing = "distances"
    side = from_the_ends(rules, goal, lasts)
    before = meter.looked_at
    while not side.is_exhausted:
        while not side.go_on():
            if side.is_full:
                meter.take(side.arrays.bytes_to_grow())
                side.arrays.grow()
            meter.have_looked_at(before + side.expanded)
    return side.arrays
