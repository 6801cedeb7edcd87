"""The figures of a study, kept as counts: they take the same memory for any number of sessions."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass, field

import numpy as np

from switchsolve.plan import Verdict
from switchsolve.study.rows import Row

__all__ = ["Tally", "at_or_under"]


def at_or_under(counts: Mapping[int, int], share: float) -> int:
    """The least figure such that at least ``share`` of all are at it or under it.

    ``counts``: how often each figure comes.  It is a figure that comes, never one between two of them.
    Raises ``ValueError`` if there is none.
    """
    if not counts:
        raise ValueError("there are no figures")
    values = np.repeat(list(counts), list(counts.values()))
    return int(np.quantile(values, share, method="inverted_cdf"))


@dataclass(slots=True)
class Tally:
    """Sums over rows."""

    sessions: int = 0
    verdicts: Counter[Verdict] = field(default_factory=Counter)
    moves: Counter[int] = field(default_factory=Counter)
    """Moves of the plans found."""
    by_session: dict[int, Counter[int]] = field(default_factory=dict)
    """The same for each session of a season (1, 2, ...), over all seasons."""
    bounds: Counter[int] = field(default_factory=Counter)
    """What no plan is under, of every session that has such a bound."""
    couplings: Counter[int] = field(default_factory=Counter)
    cuts: Counter[int] = field(default_factory=Counter)
    trips: Counter[int] = field(default_factory=Counter)
    """Trips around of the plans found."""
    shuttles: Counter[int] = field(default_factory=Counter)
    spells: Counter[int] = field(default_factory=Counter)
    """Moves of the longest unbroken spell."""
    forced: Counter[int] = field(default_factory=Counter)
    """Forced moves, of the sessions of which they are told,"""
    forced_among: int = 0
    """and the moves of these sessions, added up."""
    light_thousandths: int = 0
    """Shares of the distance run light, added up over the plans found; whole, so that their order is nothing.
    """
    crew_moves: Counter[int] = field(default_factory=Counter)
    """Moves of the plain crew, where it did not give up."""
    least_seconds: Counter[int] = field(default_factory=Counter)
    most_seconds: Counter[int] = field(default_factory=Counter)
    """Low and high ends of the range of time, of the sessions that have both."""
    without_end: int = 0
    """Sessions with a plan whose range has no high end, for the plain crew gave up."""
    arrived: int = 0
    picked_up: int = 0
    rolled_over: int = 0
    waiting: int = 0
    """Cars that waited, once for each session in which they did."""
    turned_away: int = 0
    left_over: int = 0
    """Cars left undone; each comes again in the next session of its season."""
    sessions_left_over: int = 0
    sessions_not_most: int = 0
    """Of these, those in which it is not proved that no more could be done."""

    @property
    def light_share(self) -> float | None:
        """The mean share of the distance run light (``None``: there is no plan)."""
        plans = self.moves.total()
        return self.light_thousandths / (1000 * plans) if plans else None

    def add(self, row: Row) -> None:
        """Count one more session."""
        self.sessions += 1
        self.verdicts[row.verdict] += 1
        for counter, figure in (
            (self.moves, row.moves),
            (self.bounds, row.bound),
            (self.couplings, row.couplings),
            (self.cuts, row.cuts),
            (self.trips, row.trips),
            (self.shuttles, row.shuttles),
            (self.spells, row.longest_spell),
            (self.forced, row.forced),
            (self.crew_moves, row.crew_moves),
        ):
            if figure is not None:
                counter[figure] += 1
        if row.moves is not None:
            self.by_session.setdefault(row.session, Counter())[row.moves] += 1
        if row.least_seconds is not None and row.most_seconds is not None:
            self.least_seconds[row.least_seconds] += 1
            self.most_seconds[row.most_seconds] += 1
        elif row.moves is not None:
            self.without_end += 1
        if row.forced is not None:
            self.forced_among += row.moves or 0
        self.light_thousandths += round(1000 * (row.light_share or 0.0))
        self.arrived += len(row.arrived)
        self.picked_up += len(row.picked_up)
        self.rolled_over += len(row.rolled_over)
        self.waiting += len(row.waiting)
        self.turned_away += row.turned_away
        self.left_over += len(row.left_over)
        self.sessions_left_over += bool(row.left_over)
        self.sessions_not_most += not row.is_most
