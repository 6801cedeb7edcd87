"""The compiled search by longest runs: the fewest runs that do the work, with proof.

First layers from both ends, as the plain search makes them.  What that does not settle in a few thousand
standings goes on with bounds (:mod:`switchsolve.search.patterns`): for a number of runs ``most``, one more
than is known to be too few, all standings from which work with cars left out can still be done in what is
left of ``most``.  If none leads to the end, ``most`` is too few.  Larger patterns get their tables when the
search has become dearer than the tables are.

Importing this room takes half a second (numba), so callers import it when they need it.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterator
from contextlib import suppress
from heapq import heappop, heappush
from itertools import chain as chain_of
from typing import Any

import numpy as np

from switchsolve.kernel import run_kernel as kernel
from switchsolve.rules import Rules
from switchsolve.search.both_ends import RunsResult
from switchsolve.search.hands import Hands
from switchsolve.search.patterns import Kept, Patterns
from switchsolve.search.reached import Budget, NoRoom, Reached
from switchsolve.search.runs import LongestRuns, RunState
from switchsolve.search.space import Space

__all__ = ["search_runs"]

_Array = np.ndarray[Any, Any]
_PLAIN, _FEW_CARS = 8_000, 4
"""States expanded without bounds before any table is made; a fifth of it with more than a few cars."""
_TRIAL = 400
"""States of a layer on which all patterns are tried, to see which are worth their looks."""
_SLICE = 20_000
"""States looked at between two looks at the clock."""
_ALL = 1_000_000
_BATCHES = (
    (2, _ALL, 8),
    (3, 6, 8),
    (3, 30, 8),
    (3, _ALL, 8),
    (4, 1, 8),
    (5, 1, 8),
    (5, 1, 8),
    (6, 1, 8),
)
"""Tables to be made one batch after the other: of so many cars, so many more, the hardest choices first; once
the search has expanded one state for so many that they will hold."""
_FIRST_HUNT = 100_000
"""Some plan is looked for once so many states have been expanded, and each time that number has doubled."""
_BATCH = 50
_BACK = 1_500
"""A layer from the goal with more states than this is not expanded: from there on the start's turn pays."""


class _Stopped(Exception):
    """The caller, or the memory allowed, stopped the search."""


class _Dear(Exception):
    """The search without bounds has become dearer than tables are."""


class _Ends:
    """Layers from both ends."""

    def __init__(
        self, space: Space, budget: Budget, hands: Hands, first: list[RunState], goals: list[RunState]
    ) -> None:
        self.reached = Reached(space, budget, hands)
        self.reached.begin(first, 1)
        self.reached.begin(goals, -1)
        self.layers = [np.arange(len(first)), np.arange(len(first), len(first) + len(goals))]
        self.depth = [0, 0]
        self.pruned = 0
        self.may_reach = 0
        """Of those pruned: how many may still reach the end, in more runs."""

    @property
    def effort(self) -> float:
        """States expanded, and those looked at for what they cost."""
        return self.reached.expanded + self.pruned / 8

    def expand(
        self, side: int, look: Callable[[_Ends], None], within: Callable[[int, _Array], _Array] | None = None
    ) -> list[RunState] | None:
        """One layer more; the chain of states if it meets the other end.

        ``within``: which states to expand of the part of the layer with that number.
        """
        reached = self.reached
        begin = reached.count
        self.depth[side] += 1
        depth = (1 + self.depth[side]) * (-1 if side else 1)
        for number, part in enumerate(_parts(self.layers[side])):
            chosen = part if within is None else within(number, part)
            if reached.expand(chosen, depth):
                return self._chain(side)
            look(self)
        self.layers[side] = np.arange(begin, reached.count)
        return None

    def _chain(self, side: int) -> list[RunState]:
        met, source = self.reached.meeting
        before, after = (source, met) if side == 0 else (met, source)
        return [*reversed(self.reached.chain(before)), *self.reached.chain(after)]


def _parts(layer: _Array) -> Iterator[_Array]:
    """The layer in parts: first states from all over it, then the rest in order."""
    step = max(1, len(layer) // _TRIAL)
    yield np.ascontiguousarray(layer[::step])
    rest = np.delete(layer, np.s_[::step])
    for begin in range(0, len(rest), _SLICE):
        yield rest[begin : begin + _SLICE]


class _Search:
    """One search."""

    def __init__(
        self,
        rules: Rules,
        first: list[RunState],
        goals: list[RunState],
        should_stop: Callable[[int], str | None],
        hunting: Callable[[int], str | None],
        most_bytes: int | None,
        name: Callable[[str], object],
        without_bounds: int | None,
    ) -> None:
        self.rules = rules
        self.space = Space(rules, states=[*first, *goals])
        self.budget = Budget(most_bytes)
        self.hands = Hands()
        self.first, self.goals = first, goals
        self.should_stop = should_stop
        self.hunting = hunting
        self.name = name
        self.without_bounds = without_bounds
        self.patterns: Patterns | None = None
        self.batches: Iterator[tuple[list[Kept], int]] = iter(())
        self.allowed = float("inf")
        self.table_size: dict[int, int] = {}
        self.least = 2
        self.best: list[RunState] | None = None
        self.reason: str | None = None
        self.stats = {
            "expanded": 0,
            "generated": 0,
            "stored": 0,
            "pruned": 0,
            "tables": 0,
            "looks": 0,
            "bytes": 0,
        }

    # ---- looks at the clock

    def _look(self, ends: _Ends) -> None:
        spent = self.stats["expanded"] + ends.reached.expanded
        self.reason = self.should_stop(spent)
        if self.reason is not None:
            raise _Stopped

    def _count(self, ends: _Ends) -> None:
        reached = ends.reached
        self.stats["expanded"] += reached.expanded
        self.stats["pruned"] += ends.pruned
        self.stats["generated"] += reached.generated
        self.stats["stored"] = max(self.stats["stored"], reached.count)
        self.stats["bytes"] = round(reached.bytes_each)
        reached.release()

    # ---- the search

    def run(self) -> RunsResult:
        try:
            cars = len(self.rules.p.class_of) - 1
            most = self.without_bounds or (_PLAIN if cars <= _FEW_CARS else _PLAIN // 5)
            found = self._plain(most if self._has_patterns() else None)
            if found is None:
                found = self._bounded()
        except NoRoom:
            self.reason = "the limit of memory"
            found = self._not_proved()
        except _Stopped:
            found = self._not_proved()
        finally:
            self.hands.close()
        found.reason = self.reason
        if self.patterns is not None:
            self.stats["tables"] = self.patterns.reached.count
            self.stats["looks"] = self.patterns.looks
        found.stats = self.stats
        return found

    def _not_proved(self) -> RunsResult:
        """The best plan so far; if there is none, one more look for any (stopped before its first table is
        made it has nothing to go by)."""
        if self.best is None and self.patterns is not None and len(self.patterns.rows):
            self.name("looking for any plan")
            with suppress(NoRoom, _Stopped):
                self._hunt(1 << 60, self.hunting)
        return RunsResult(self.best, self.least, False)

    def _has_patterns(self) -> bool:
        return len(self.rules.p.class_of) > 3

    def _plain(self, most_expanded: int | None) -> RunsResult | None:
        """Both ends without bounds; ``None`` if that takes more than so many expansions."""
        ends = _Ends(self.space, self.budget, self.hands, self.first, self.goals)

        def look(_: _Ends) -> None:
            self._look(ends)
            if most_expanded is not None and ends.effort > most_expanded:
                raise _Dear

        try:
            while len(ends.layers[0]) and len(ends.layers[1]):
                side = _smaller(ends)
                self.name(f"at least {self.least} moves, looked at {ends.depth[0]} + {ends.depth[1]}")
                chain = ends.expand(side, look)
                if chain is not None:
                    return RunsResult(chain, sum(ends.depth), True)
                self.least = max(self.least, sum(ends.depth) + 1)
            return RunsResult(None, 0, True)
        except _Dear:
            return None
        finally:
            self._count(ends)

    def _bounded(self) -> RunsResult:
        self.patterns = Patterns(self.rules, self.budget, self.hands, [*self.first, *self.goals])
        self.batches = _batches(self)
        self._more_tables()
        self._more_tables()  # the first, of two cars, cost next to nothing
        next_hunt = _FIRST_HUNT
        while True:
            self.least = max(self.least, self._from_start())
            if self.least >= kernel.UNREACHABLE:
                return RunsResult(None, 0, True)
            if self.best is not None and len(self.best) - 1 <= self.least:
                return RunsResult(self.best, self.least, True)
            if self.best is None and self.stats["expanded"] > next_hunt:
                next_hunt = 2 * self.stats["expanded"]
                self._hunt(self.stats["expanded"] // 8, self.should_stop)
                continue
            ends = _Ends(self.space, self.budget, self.hands, self.first, self.goals)
            try:
                chain = self._within(ends, self.least)
            finally:
                self._count(ends)
            if chain is not None:
                return RunsResult(chain, len(chain) - 1, True)
            if not ends.may_reach and not all(len(layer) for layer in ends.layers):
                return RunsResult(None, 0, True)
            self.least += 1

    def _within(self, ends: _Ends, most: int) -> list[RunState] | None:
        """A plan of at most ``most`` runs, if there is one.

        Larger patterns get their tables once the search has become dearer than they are.  It goes on from
        where it is: what was expanded without them was within the smaller bounds, and need not be done again.
        """

        def look(_: _Ends) -> None:
            self._look(ends)
            if ends.effort > self.allowed:
                self._more_tables()
                self.name(within)

        while sum(ends.depth) < most and len(ends.layers[0]) and len(ends.layers[1]):
            side = _next_side(ends)
            left = most - ends.depth[0]
            within = f"at least {most} moves, looked at {ends.depth[0]} + {ends.depth[1]}"
            self.name(within)
            bounds = self._bounds(ends, left) if side == 0 and ends.depth[0] else None
            chain = ends.expand(side, look, bounds)
            if chain is not None:
                return chain
        return None

    def _bounds(self, ends: _Ends, left: int) -> Callable[[int, _Array], _Array]:
        """Which states of each part of a layer to expand: on the first part all patterns are tried."""
        patterns = self.patterns
        assert patterns is not None

        def within(number: int, part: _Array) -> _Array:
            if number == 0 or patterns.has_untried:
                patterns.try_all()
            stay, gone, may_reach = patterns.within(ends.reached, part, left)
            ends.pruned += gone
            ends.may_reach += may_reach
            return stay

        return within

    def _from_start(self) -> int:
        """The fewest runs that the tables allow."""
        assert self.patterns is not None
        start = Reached(self.space, self.budget)
        start.begin(self.first, 1)
        found = self.patterns.bounds(start, np.arange(start.count), self.patterns.rows, kernel.UNREACHABLE)
        start.release()
        return int(found.min())

    # ---- any plan

    def _hunt(self, most_expanded: int, should_stop: Callable[[int], str | None]) -> None:
        """Look for some plan, likeliest states first: runs so far and twice the bound on those to go."""
        patterns = self.patterns
        assert patterns is not None
        ends = _Ends(self.space, self.budget, self.hands, self.first, self.goals)
        spent = self.stats["expanded"]

        def look(_: _Ends) -> None:
            if should_stop(spent + ends.reached.expanded) is not None:
                raise _Stopped

        rows = patterns.rows[patterns.rows[:, 0] >= min(3, patterns.rows[:, 0].max(initial=0))]
        waiting: dict[tuple[int, int], list[_Array]] = {}
        try:
            while len(ends.layers[1]) < 2 * _BACK and len(ends.layers[1]):
                if ends.expand(1, look) is not None:
                    return
            likeliest = [(0, 0)]
            waiting[0, 0] = [ends.layers[0]]
            while likeliest and ends.reached.expanded < most_expanded:
                key = likeliest[0]
                states = np.concatenate(waiting[key])
                waiting[key] = [states[_BATCH:]]
                if len(states) <= _BATCH:
                    heappop(likeliest)
                    del waiting[key]
                ends.layers[0], ends.depth[0] = states[:_BATCH], -key[1]
                chain = ends.expand(0, look)
                if chain is not None:
                    self.best = chain
                    return
                fresh = ends.layers[0]
                bounds = patterns.bounds(ends.reached, fresh, rows, kernel.UNREACHABLE)
                for bound in np.unique(bounds[bounds < kernel.UNREACHABLE]):
                    key = (ends.depth[0] + 2 * int(bound), -ends.depth[0])
                    if key not in waiting:
                        heappush(likeliest, key)
                    waiting.setdefault(key, []).append(fresh[bounds == bound])
        finally:
            self._count(ends)

    # ---- tables

    def _more_tables(self) -> None:
        assert self.patterns is not None
        batch, _ = next(self.batches, ([], 0))  # the hardest choices are ranked by the tables made so far
        if not batch:
            self.allowed = float("inf")
            return
        before = self.patterns.reached.count
        self.name(f"at least {self.least} moves, tables for {len(batch[-1])} of the cars")

        def stopped() -> bool:
            self.reason = self.should_stop(self.stats["expanded"])
            return self.reason is not None

        if not self.patterns.add(batch, stopped):
            raise _Stopped
        size = len(batch[-1])
        self.table_size[size] = max(1, self.patterns.reached.count - before) // len(batch)
        self.allowed = self._next_allowed()

    def _next_allowed(self) -> float:
        """States to be expanded before the next tables pay, whose size is guessed from those there are."""
        for batch, pay in self.batches:
            self.batches = chain_of([(batch, pay)], self.batches)
            size = len(batch[-1])
            nearest = max(self.table_size)
            return float(len(batch) * self.table_size[nearest] * 14 ** (size - nearest)) / pay
        return float("inf")


def _smaller(ends: _Ends) -> int:
    """The smaller frontier; but each side goes one run first: only then are its standings farthest ones."""
    for side in (0, 1):
        if not ends.depth[side]:
            return side
    return 0 if len(ends.layers[0]) <= len(ends.layers[1]) else 1


def _next_side(ends: _Ends) -> int:
    """The start's turn, but for the first small layers from the goal."""
    for side in (0, 1):
        if not ends.depth[side]:
            return side
    back = len(ends.layers[1])
    return 1 if back < _BACK and back < len(ends.layers[0]) else 0


def _batches(search: _Search) -> Iterator[tuple[list[Kept], int]]:
    """Choices of cars to keep, in the order in which their tables are made, and when they pay."""
    patterns = search.patterns
    assert patterns is not None
    for size, count, pay in _BATCHES:
        if size < len(patterns.cars):
            batch = _hardest(search, patterns.all_of(size), count)
            if batch:
                yield batch, pay


def _hardest(search: _Search, choices: list[Kept], count: int) -> list[Kept]:
    """The choices whose smaller parts have the longest plans."""
    patterns = search.patterns
    assert patterns is not None
    start = Reached(search.space, search.budget)
    start.begin(search.first, 1)
    numbers = {number: token >> 1 for number, token in enumerate(patterns.space.tokens)}
    known: list[tuple[Counter[int], int]] = []
    for row in patterns.rows:
        runs = patterns.bounds(start, np.arange(start.count), row.reshape(1, -1).copy(), kernel.UNREACHABLE)
        known.append((Counter(numbers[int(token)] for token in row[5 : 5 + row[0]]), int(runs.min())))
    start.release()

    def rank(choice: Kept) -> tuple[int, int, Kept]:
        has = Counter(choice)
        inside = [runs for part, runs in known if not part - has]
        return -max(inside, default=0), -sum(inside), choice

    return sorted((one for one in choices if one not in patterns.kept), key=rank)[:count]


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
) -> RunsResult:
    """Fewest runs (two or more: plans of one run are for the caller) from the states ``first`` to the
    ``goals``.

    ``should_stop`` is asked often, with a number that grows with the states expanded, and gives the reason to
    stop, or ``None``; ``hunting`` the same for a last look for any plan.  ``most_bytes``: what the states
    kept may take.  ``name`` is told what goes on.  ``without_bounds``: how many states to expand before
    tables are made (``None``: as many as suits one question by itself).
    """
    if not any(state in runs.behind for state in first):
        return _Search(
            runs.rules, first, goals, should_stop, hunting, most_bytes, name, without_bounds
        ).run()
    # what stands loose behind the locomotive at the start is for the plain steps: one run by them
    after = {following: state for state in first for following in runs.steps(state)}
    before = {earlier: state for state in goals for earlier in runs.steps(state)}
    for state in after:
        if state in before:
            return RunsResult([after[state], state, before[state]], 2, True)
    found = _Search(
        runs.rules, list(after), goals, should_stop, hunting, most_bytes, name, without_bounds
    ).run()
    if found.chain is not None:
        found.chain = [after[found.chain[0]], *found.chain]
    found.least += 1 if found.least else 0
    return found
