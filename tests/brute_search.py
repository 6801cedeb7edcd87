"""The compiled search of the brute force, driven: tables filled as they are wanted; for tests only."""

from __future__ import annotations

import numpy as np

from tests.brute_graph import Graph
from tests.brute_kernel import (
    ASIDE,
    COST,
    COUPLE,
    EMPTY,
    ENTRIES,
    FILL,
    FOUND,
    GROW,
    LEAST,
    MISSING,
    PAIRS,
    ROOM,
    STATES,
    STEPS,
    Ints,
    Space,
    answer,
    explore,
    reach,
    rehash,
    repair,
    wait_again,
)

__all__ = ["HANDLINGS", "Overflow", "Search"]

COSTS = 1 << 18
"""Buckets."""
HANDLINGS = 1 << 10
"""Weight of a move against one coupling or cut, where both are counted."""


class Overflow(Exception):
    """A cost that the buckets have no room for, or rail that a mask has no room for."""


def _longer(array: Ints, size: int, axis: int = 0) -> Ints:
    """A copy with at least ``size`` places along ``axis``, at least twice as many; -1 in the new ones."""
    if array.shape[axis] >= size:
        return array
    shape = list(array.shape)
    shape[axis] = max(size, 2 * array.shape[axis])
    longer = np.full(shape, -1, np.int64)
    longer[tuple(slice(length) for length in array.shape)] = array
    return longer


class Search:
    """One search over the standings of a graph, by the compiled loop."""

    def __init__(self, graph: Graph, *, to_the_end: bool = False) -> None:
        """``to_the_end``: do not stop where the work is done."""
        if len(graph.rail.cell) > 62:
            raise Overflow("more than 62 units of rail")
        self.graph = graph
        self._to_the_end = to_the_end
        linings = len(graph.rail.linings)
        width = len(graph.work.start) + 1
        self._known, self._used = 0, 0

        def empty(*shape: int) -> Ints:
            return np.full(shape, -1, np.int64)

        self.space = Space(
            rows=empty(2048, width),
            cost=empty(2048),
            asked=np.zeros(2048, np.int64),
            slots=empty(8192),
            waiting=empty(4096, 2),
            heads=empty(COSTS),
            aside=empty(2048),
            strings=empty(256, 6),
            touches=empty(linings, 256),
            step_at=empty(linings, 256),
            step_count=empty(linings, 256),
            steps=empty(1024, 7),
            pairs=empty(4096, 2),
            relinings=self._relinings(),
            missing=empty(8192, 4),
            counts=np.zeros(8, np.int64),
        )

    def _relinings(self) -> Ints:
        linings = self.graph.rail.linings
        most = max(len(others) for others in self.graph.relinings)
        table = np.full((len(linings), most, 2), -1, np.int64)
        for lining, others in enumerate(self.graph.relinings):
            for place, other in enumerate(others):
                turned = [i for i, n in enumerate(linings[other]) if n != linings[lining][i]]
                table[lining, place] = other, turned[0]
        return table

    def cheapest(self, move: int, handling: int, most_states: int | None) -> tuple[int | None, bool]:
        """Least cost of a plan (``None``: there is none); ``True`` if ``most_states`` was reached before."""
        counts = self.space.counts
        counts[LEAST] = COSTS
        under_way = move * len(self.graph.puzzle.start.under_way)
        counts[COST] = under_way
        for state in list(self.graph.starts()):
            self._make_room()
            row = np.full(self.space.rows.shape[1], -1, np.int64)
            row[: len(state)] = state
            reach(self.space, row, under_way)
        self._take_strings()
        while True:
            why = explore(self.space, move, handling)
            if most_states is not None and counts[STATES] > most_states:
                return None, True
            if why < 0:
                raise Overflow("a cost without a bucket")
            if why == EMPTY:
                return (None if counts[LEAST] == COSTS else int(counts[LEAST])), False
            if why == GROW:
                self._make_room()
            elif why == FILL:
                self._fill()
            else:
                self._judge(handling)

    def reach(self, most_states: int) -> tuple[Ints, Ints]:
        """Standings (rows of string numbers, -1 for none) and the least moves to each, cheapest buckets
        first.

        Ends with the last bucket that was emptied before ``most_states`` were reached.
        """
        _, stopped = self.cheapest(1, 0, most_states)
        counts = self.space.counts
        cost = self.space.cost[: counts[STATES]]
        sure = cost < counts[COST] if stopped else cost >= 0
        return self.space.rows[: counts[STATES], 1:][sure], cost[sure]

    def _judge(self, handling: int) -> None:
        """The standing that was found: is its work done, and with how many cuts at the end?"""
        counts = self.space.counts
        numbers = tuple(int(n) for n in self.space.rows[counts[FOUND]][1:] if n >= 0)
        done = self.graph.finish(numbers)
        if done is not None:
            counts[LEAST] = min(counts[LEAST], counts[COST] + handling * done)
            if counts[LEAST] == counts[COST]:
                self.space.heads[counts[COST]] = -1
                counts[ASIDE] = 0

    def _fill(self) -> None:
        """Answers all that is missing."""
        counts = self.space.counts
        wanted = self.space.missing[: counts[MISSING]].tolist()
        counts[MISSING] = 0
        for kind, lining, first, second in wanted:
            if kind == STEPS:
                self._fill_steps(lining, first)
            elif kind == COUPLE:
                answer(self.space, kind, lining, first, second, self.graph.couple(first, second, lining))
            else:
                both = (first, second) if first != second else (first,)
                answer(self.space, kind, lining, first, second, int(self.graph.apart(both, lining)))
        self._take_strings()
        self._make_room()
        wait_again(self.space)

    def _fill_steps(self, lining: int, number: int) -> None:
        steps = self.graph.steps(number, lining)
        space = self.space
        self.space = space = space._replace(steps=_longer(space.steps, self._used + len(steps)))
        for place, step in enumerate(steps):
            space.steps[self._used + place] = step
        space.step_at[lining, number] = self._used
        space.step_count[lining, number] = len(steps)
        self._used += len(steps)

    def _take_strings(self) -> None:
        """The graph's new strings, into the tables."""
        graph, space, size = self.graph, self.space, len(self.graph.strings)
        self.space = space = space._replace(
            strings=_longer(space.strings, size),
            **{name: _longer(getattr(space, name), size, 1) for name in ("touches", "step_at", "step_count")},
        )
        for number in range(self._known, size):
            string = graph.strings[number]
            done = string.done and not self._to_the_end
            flags = (string.mask, string.live, string.clear, done, graph.partly_on(number), 0)
            space.strings[number] = flags
            if len(graph.rail.linings) > 1:
                space.touches[:, number] = [graph.touches(number, n) for n in range(len(graph.rail.linings))]
        self._known = size

    def _make_room(self) -> None:
        """Longer arrays where the next standing might not fit."""
        space, counts = self.space, self.space.counts
        states = counts[STATES] + ROOM + 1
        waiting = _longer(space.waiting, counts[ENTRIES] + counts[ASIDE] + ROOM + 1)
        self.space = space = space._replace(waiting=waiting)
        if states > len(space.cost):
            names = ("rows", "cost", "aside")
            longer = {name: _longer(getattr(space, name), states) for name in names}
            asked = np.zeros(len(longer["cost"]), np.int64)
            asked[: len(space.asked)] = space.asked
            slots = np.full(4 * len(longer["cost"]), -1, np.int64)
            self.space = space = space._replace(asked=asked, slots=slots, **longer)
            rehash(space)
        if 2 * counts[PAIRS] + ROOM > len(space.pairs):
            pairs = np.full((4 * len(space.pairs), 2), -1, np.int64)
            repair(space.pairs, pairs)
            self.space = space._replace(pairs=pairs)
