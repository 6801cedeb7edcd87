"""The differences between two arrangements, session by session."""

from __future__ import annotations

from array import array
from collections import Counter
from typing import Any

import numpy as np

from switchsolve.comparing.figures import Interval, interval_of
from switchsolve.plan import Verdict
from switchsolve.study import SEASON, Row

__all__ = ["Differences", "can_all", "is_open"]


def can_all(row: Row) -> bool:
    """Whether there is a plan for all the work of a session."""
    return row.moves is not None and not row.left_over


def is_open(row: Row) -> bool:
    """Whether a session is not decided: a gap, no plan in time, or cars left over that are not proved to be
    the fewest.
    """
    return row.verdict in (Verdict.BEST_FOUND, Verdict.GAVE_UP) or not row.is_most


class Differences:
    """What the second of two arrangements takes more than the first (below zero: less), where both do all the
    work and both minima are proved.

    ``same_work``: sessions with the same cars to bring and to pick up.  ``only_first``, ``only_second``:
    sessions in which that one alone can do all the work; ``neither``: in which none can.  ``not_decided``:
    sessions in which that is open, or a minimum is not proved.  Kept: four numbers for each session.
    """

    def __init__(self) -> None:
        self.sessions = 0
        self.same_work = 0
        self.only_first = 0
        self.only_second = 0
        self.neither = 0
        self.not_decided = 0
        self.moves: Counter[int] = Counter()
        self._at = array("l")
        self._moves = array("l")
        self._seconds = array("d")
        self._crew_seconds = array("d")

    def add(self, first: Row, second: Row) -> None:
        """One more session, as each of the two has done it."""
        self.sessions += 1
        work = [(set(row.arrived), set(row.picked_up)) for row in (first, second)]
        self.same_work += work[0] == work[1]
        if is_open(first) or is_open(second):
            self.not_decided += 1
        elif not can_all(first) or not can_all(second):
            self.only_first += can_all(first)
            self.only_second += can_all(second)
            self.neither += not can_all(first) and not can_all(second)
        else:
            assert first.moves is not None and second.moves is not None
            self.moves[second.moves - first.moves] += 1
            self._at.append((first.season - 1) * SEASON + first.session - 1)
            self._moves.append(second.moves - first.moves)
            self._seconds.append(_longer(first.least_seconds, second.least_seconds))
            self._crew_seconds.append(_longer(first.most_seconds, second.most_seconds))

    @property
    def compared(self) -> int:
        """Sessions with a difference."""
        return len(self._at)

    @property
    def fewer(self) -> int:
        """Sessions in which the second takes fewer moves."""
        return sum(count for moves, count in self.moves.items() if moves < 0)

    @property
    def more(self) -> int:
        """Sessions in which it takes more."""
        return sum(count for moves, count in self.moves.items() if moves > 0)

    def mean_moves(self) -> Interval:
        """Raises ``ValueError`` if nothing was compared, as do the others."""
        return interval_of(self._by_season(self._moves), "mean")

    def median_moves(self) -> Interval:
        """Half of the sessions at or under it."""
        return interval_of(self._by_season(self._moves), "median")

    @property
    def with_crew(self) -> int:
        """Sessions of these that plain crews have done with both, so that minutes can be told."""
        return int((~np.isnan(np.array(self._crew_seconds))).sum())

    def mean_seconds(self) -> Interval:
        """How much longer a session takes by the plans with the fewest moves, of those ``with_crew``."""
        known = np.where(np.isnan(np.array(self._crew_seconds)), np.nan, np.array(self._seconds))
        return interval_of(self._by_season(known), "mean")

    def mean_crew_seconds(self) -> Interval:
        """How much longer it takes a plain crew, in the same sessions."""
        return interval_of(self._by_season(self._crew_seconds), "mean")

    def _by_season(self, figures: array[Any] | np.ndarray[Any, Any]) -> np.ndarray[Any, Any]:
        """A row for each season, ``nan`` for what was not compared."""
        places = np.array(self._at, np.int64)
        table = np.full((int(places.max(initial=-1)) // SEASON + 1) * SEASON, np.nan)
        table[places] = np.array(figures, float)
        return table.reshape(-1, SEASON)


def _longer(first: int | None, second: int | None) -> float:
    """How much longer the second takes; ``nan`` if that is not known."""
    return float("nan") if first is None or second is None else float(second - first)
