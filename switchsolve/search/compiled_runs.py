"""The compiled search by longest runs: the fewest runs that do the work, with proof.

First layers from both ends, as the plain search makes them.  What that does not settle in a few thousand
standings goes on with bounds (:mod:`switchsolve.search.patterns`): for a number of runs ``most``, one more
than is known to be too few, all standings from which work with cars left out can still be done in what is
left of ``most``.  If none leads to the end, ``most`` is too few; where the fewest can only be an even number,
or an odd one (:mod:`switchsolve.search.parity`), the others are not asked.  Larger patterns get their tables
when the search has become dearer than the tables are.

Importing this room takes half a second (numba), so callers import it when they need it.
"""

from __future__ import annotations

from collections.abc import Callable
from contextlib import suppress

from switchsolve.kernel import run_kernel as kernel
from switchsolve.search.both_ends import RunsResult
from switchsolve.search.bounded import Bounded
from switchsolve.search.course import Stopped, next_side, smaller
from switchsolve.search.ends import Ends
from switchsolve.search.parity import odd_or_even
from switchsolve.search.reached import NoRoom
from switchsolve.search.runs import LongestRuns, RunState
from switchsolve.search.soon import look_for_plans

__all__ = ["search_runs"]

_PLAIN, _FEW_CARS = 8_000, 4
"""States expanded without bounds before any table is made; a fifth of it with more than a few cars."""
_NO_END = 1e18
_BEAM, _BEAM_PAYS = 1_000, 24
"""The width of the first beam, and how many times as many states are expanded before it (half as many with
shared tables, which make it cheaper); with each beam that finds nothing both are four times as large."""
_FIRST_HUNT = 100_000
"""A plan, or a shorter one, is looked for once so many states have been expanded, and each time that number
has doubled,
"""
_HUNT = 1 / 8
"""with such a share of the effort so far."""


class _Dear(Exception):
    """The search without bounds has become dearer than tables are."""


class _Met(Exception):
    """A plan was found otherwise."""

    def __init__(self, chain: list[RunState]) -> None:
        super().__init__()
        self.chain = chain


class _Search(Bounded):
    """One search."""

    # ---- looks at the clock

    def _look(self, ends: Ends) -> None:
        spent = self.stats["expanded"] + ends.reached.expanded
        self.reason = self.should_stop(spent)
        if self.reason is not None:
            raise Stopped

    # ---- the search

    def run(self, hunting: Callable[[int], str | None], without_bounds: int | None) -> RunsResult:
        """The arguments are those of :func:`search_runs`."""
        try:
            cars = len(self.rules.p.class_of) - 1
            most = without_bounds or (_PLAIN if cars <= _FEW_CARS else _PLAIN // 5)
            found = self._plain(most if self.has_patterns() else None)
            if found is None:
                found = self._bounded()
        except NoRoom:
            self.reason = "the limit of memory"
            found = self._not_proved(hunting)
        except Stopped:
            found = self._not_proved(hunting)
        finally:
            if self.hands is not None:
                self.hands.close()
        found.reason = self.reason
        if self.tables is not None:
            self.stats["tables"] = self.tables.states
            self.stats["looks"] = self.tables.looks
        found.stats = self.stats
        return found

    def _not_proved(self, hunting: Callable[[int], str | None]) -> RunsResult:
        """The best plan that is found in the time left for that (stopped before its first table is made the
        search has nothing to go by)."""
        if self.tables is not None and self.tables.states:
            with suppress(NoRoom, Stopped):
                look_for_plans(self, _NO_END, hunting)
        return RunsResult(self.best, self.least, False)

    def _plain(self, most_expanded: int | None) -> RunsResult | None:
        """Both ends without bounds; ``None`` if that takes more than so many expansions."""
        ends = self.both_ends()

        def look(_: Ends) -> None:
            self._look(ends)
            if most_expanded is not None and ends.effort > most_expanded:
                raise _Dear

        try:
            while len(ends.layers[0]) and len(ends.layers[1]):
                side = smaller(ends)
                self.name(f"at least {self.least} moves, looked at {ends.depth[0]} + {ends.depth[1]}")
                chain = ends.expand(side, look)
                if chain is not None:
                    return RunsResult(chain, sum(ends.depth), True)
                self.least = max(self.least, sum(ends.depth) + 1)
            return RunsResult(None, 0, True)
        except _Dear:
            return None
        finally:
            self.count(ends)

    def _bounded(self) -> RunsResult:
        tables = self.with_tables()
        parity = odd_or_even(self.rules, self.space, self.budget, self.first, self.goals)
        next_hunt = _FIRST_HUNT
        while True:
            self.least = max(self.least, tables.from_start(self.first))
            if parity is not None and self.least > 2 and self.least & 1 != parity:
                self.least += 1
            if self.least >= kernel.UNREACHABLE:
                return RunsResult(None, 0, True)
            if self.best is not None and len(self.best) - 1 <= self.least:
                return RunsResult(self.best, self.least, True)
            if self.stats["expanded"] > next_hunt:
                next_hunt = 2 * self.stats["expanded"]
                look_for_plans(self, self.stats["expanded"] * _HUNT, self.should_stop)
                continue
            ends = self.both_ends()
            try:
                chain = self._within(ends, self.least)
            finally:
                self.count(ends)
            if chain is not None:
                return RunsResult(chain, len(chain) - 1, True)
            if not ends.may_reach and not all(len(layer) for layer in ends.layers):
                return RunsResult(None, 0, True)
            self.least += 1

    def _within(self, ends: Ends, most: int) -> list[RunState] | None:
        """A plan of at most ``most`` runs, if there is one.

        Larger patterns get their tables once the search has become dearer than they are.  It goes on from
        where it is: what was expanded without them was within the smaller bounds, and need not be done again.
        """

        width, next_beam = _BEAM, _BEAM * _BEAM_PAYS / (1 if self.bank is None else 2)

        def look(_: Ends) -> None:
            nonlocal width, next_beam
            self._look(ends)
            if ends.effort > self.allowed:
                self.more_tables()
                self.name(within)
            if ends.effort > next_beam:
                aside = self.both_ends()
                try:
                    met = self.beam(aside, most, width, self._look)
                finally:
                    self.count(aside)
                if met is not None:
                    raise _Met(met)
                width, next_beam = 4 * width, 4 * next_beam
                self.name(within)

        known = "" if self.best is None else f", at most {len(self.best) - 1}"
        while sum(ends.depth) < most and len(ends.layers[0]) and len(ends.layers[1]):
            side = next_side(ends)
            left = most - ends.depth[0]
            within = f"at least {most} moves{known}, looked at {ends.depth[0]} + {ends.depth[1]}"
            self.name(within)
            bounds = self.bounds(ends, left) if side == 0 and ends.depth[0] else None
            try:
                chain = ends.expand(side, look, bounds)
            except _Met as met:
                return met.chain
            if chain is not None:
                return chain
        return None


def search_runs(
    runs: LongestRuns,
    first: list[RunState],
    goals: list[RunState],
    *,
    should_stop: Callable[[int], str | None] = lambda expanded: None,
    hunting: Callable[[int], str | None] = lambda expanded: "not asked for",
    most_bytes: int | None = None,
    name: Callable[[str], object] = lambda what: None,
    without_bounds: int | None = None,
    same_district: bool = False,
) -> RunsResult:
    """Fewest runs (two or more: plans of one run are for the caller) from the states ``first`` to the
    ``goals``.

    ``should_stop`` is asked often, with a number that grows with the states expanded, and gives the reason to
    stop, or ``None``; ``hunting`` the same for a last look for any plan.  ``most_bytes``: what the states
    kept may take.  ``name`` is told what goes on.  ``without_bounds``: how many states to expand before
    tables are made (``None``: as many as suits one question by itself).  ``same_district``: this is one of
    many questions of one district, whose tables are kept for those that follow (in this thread); one thread
    does it all.
    """

    def search(first: list[RunState]) -> RunsResult:
        asked = _Search(runs.rules, first, goals, should_stop, most_bytes, name, same_district)
        return asked.run(hunting, without_bounds)

    if not any(state in runs.behind for state in first):
        return search(first)
    # what stands loose behind the locomotive at the start is for the plain steps: one run by them
    after = {following: state for state in first for following in runs.steps(state)}
    before = {earlier: state for state in goals for earlier in runs.steps(state)}
    for state in after:
        if state in before:
            return RunsResult([after[state], state, before[state]], 2, True)
    found = search(list(after))
    if found.chain is not None:
        found.chain = [after[found.chain[0]], *found.chain]
    found.least += 1 if found.least else 0
    return found
