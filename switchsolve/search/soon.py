"""Plans before the proof: any plan at all, then shorter ones."""

from __future__ import annotations

from collections.abc import Callable
from contextlib import suppress

from switchsolve.search.climbing import climb
from switchsolve.search.course import BACK, Course, Stopped, next_side, smaller
from switchsolve.search.ends import Ends
from switchsolve.search.runs import RunState
from switchsolve.search.shortening import shorten

__all__ = ["look_for_plans"]

_MORE = 20
"""Without a plan, plans of so many runs more than there must be are looked for at most;"""
_SHORTEN = 1 / 4
"""A shorter plan than one that is known is looked for with such a share of the effort;"""
_WIDTHS = (300, 1_200, 4_800)
"""the widths of beams for it;"""
_WIDTH = 300
"""the standings that :func:`~switchsolve.search.climbing.climb` goes on from;"""
_EACH = 20_000
"""the effort for one way between two standings of a plan."""
class _Enough(Exception):
    """So much effort was allowed, and no more."""


def look_for_plans(course: Course, most_effort: float, should_stop: Callable[[int], str | None]) -> None:
    """Some plan, if none is known yet; then a shorter one, as long as the effort lasts.

    Raises :class:`~switchsolve.search.course.Stopped` once ``should_stop`` gives a reason.
    """
    _Hunt(course, should_stop).go(most_effort)


class _Hunt:
    """One look for plans."""

    def __init__(self, course: Course, should_stop: Callable[[int], str | None]) -> None:
        self.course = course
        self.should_stop = should_stop

    def go(self, most_effort: float) -> None:
        """Some plan, if none is known yet; then a shorter one, with less effort."""
        with suppress(_Enough):
            if self.course.best is None:
                self.course.name("looking for any plan")
                self._climb(most_effort)
        with suppress(_Enough):
            self._beams(most_effort)
        if self.course.best is not None and len(self.course.best) - 1 > self.course.least:
            self.course.name("looking for a shorter plan")
            with suppress(_Enough):
                self._shorten(most_effort * _SHORTEN)

    def _beams(self, most_effort: float) -> None:
        """Beams for ever more runs, from as many as there must be, until a plan is found; then wider ones for
        a shorter plan.
        """
        left = most_effort
        for width in _WIDTHS:
            known = self.course.least + _MORE if self.course.best is None else len(self.course.best) - 1
            for most in range(self.course.least, known):
                ends = self.course.both_ends()
                try:
                    chain = self.course.beam(ends, most, width, self._within_effort(left))
                finally:
                    left -= ends.effort
                    self.course.count(ends)
                if chain is not None:
                    self.course.best = chain
                    break

    def _climb(self, most_effort: float) -> None:
        assert self.course.tables is not None
        ends = self.course.both_ends()
        look = self._within_effort(most_effort)
        try:
            while len(ends.layers[1]) < 2 * BACK and len(ends.layers[1]):
                if ends.expand(1, look) is not None:
                    return
            self.course.best = climb(ends, self.course.tables, _WIDTH, look)
        finally:
            self.course.count(ends)

    def _shorten(self, most_effort: float) -> None:
        assert self.course.best is not None
        left = most_effort

        def between(first: RunState, last: RunState | None, most: int) -> list[RunState] | None:
            nonlocal left
            goals = self.course.goals if last is None else [last]
            ends = Ends(self.course.space, self.course.budget, self.course.hands, [first], goals)
            try:
                return self._way(ends, most, self._within_effort(left), with_bounds=last is None)
            finally:
                left -= ends.effort
                self.course.count(ends)

        for chain in shorten(self.course.best, between):
            self.course.best = chain
            if len(chain) - 1 <= self.course.least:
                return

    def _way(
        self, ends: Ends, most: int, look: Callable[[Ends], None], *, with_bounds: bool
    ) -> list[RunState] | None:
        """A way of at most ``most`` runs, unless it takes too much effort to say.  With bounds: to the end of
        the work.
        """
        while sum(ends.depth) < most and all(len(layer) for layer in ends.layers):
            if ends.effort > _EACH:
                return None
            side = next_side(ends) if with_bounds else smaller(ends)
            bounded = with_bounds and side == 0 and ends.depth[0] > 0
            within = self.course.bounds(ends, most - ends.depth[0]) if bounded else None
            chain = ends.expand(side, look, within)
            if chain is not None:
                return chain
        return None

    def _within_effort(self, most: float) -> Callable[[Ends], None]:
        """A look at the clock, and at the effort."""

        def look(ends: Ends) -> None:
            if self.should_stop(self.course.stats["expanded"] + ends.reached.expanded) is not None:
                raise Stopped
            if ends.effort > most:
                raise _Enough

        return look
