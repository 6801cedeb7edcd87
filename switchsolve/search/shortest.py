"""All plans with the fewest runs, together: every step of one, from a standing to the next, compiled.

How many runs these are is known beforehand.  Layers are made from the goal while they are small, and from the
start up to where they meet, without the standings from which the bounds leave no way in the runs that are
left (:mod:`switchsolve.search.patterns`).  What leads on is then found backwards, layer by layer.

Importing this room takes half a second (numba), so callers import it when they need it.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import numpy as np

from switchsolve.search.bounded import Bounded
from switchsolve.search.course import BACK, Stopped
from switchsolve.search.ends import Ends, Within
from switchsolve.search.reached import NoRoom, successors
from switchsolve.search.runs import LongestRuns, RunState

__all__ = ["ShortestWays", "shortest_ways"]

_Array = np.ndarray[Any, Any]
_WITHOUT = 1_600
"""States expanded before the first table is made."""
_FARTHEST_BACK = 3
"""Layers from the goal, at most."""
_AT_ONCE = 4_000
"""States whose successors are listed at once."""


class ShortestWays:
    """``steps``: for each run every step of a plan with the fewest, from the words of a standing to those of
    the next; empty if there is no plan of so many runs.
    """

    def __init__(
        self, steps: list[set[tuple[bytes, bytes]]], decode: Callable[[list[int]], RunState]
    ) -> None:
        self.steps = steps
        self._decode = decode

    def state(self, words: bytes) -> RunState:
        """The standing."""
        return self._decode(np.frombuffer(words, np.int64).tolist())


def shortest_ways(
    runs: LongestRuns,
    first: list[RunState],
    goals: list[RunState],
    number: int,
    *,
    most: int,
    should_stop: Callable[[int], str | None] = lambda expanded: None,
    most_bytes: int | None = None,
    same_district: bool = False,
) -> ShortestWays | str:
    """Every step of the plans of ``number`` runs (three or more) from the states ``first`` to the ``goals``;
    fewer runs do not do.

    If more than ``most`` states would be looked at, ``should_stop`` says why to stop or there is no room, the
    reason.  The other arguments are those of :func:`~switchsolve.search.compiled_runs.search_runs`.  Raises
    ``ValueError`` for fewer than three runs, and for what stands loose behind the locomotive at the start.
    """
    if number < 3:
        raise ValueError(f"{number} runs: three or more are looked at")
    if any(state in runs.behind for state in first):
        raise ValueError("cars stand loose behind the locomotive at the start")
    ways = _Ways(runs.rules, first, goals, should_stop, most_bytes, lambda what: None, same_district)
    try:
        return ShortestWays(ways.steps(number, most), ways.space.decode)
    except Stopped:
        return ways.reason or "stopped"
    except NoRoom:
        return "the limit of memory"
    finally:
        if ways.hands is not None:
            ways.hands.close()


class _Ways(Bounded):
    """One search."""

    def steps(self, number: int, most: int) -> list[set[tuple[bytes, bytes]]]:
        """The arguments and the answer are those of :func:`shortest_ways`."""
        self.least = number
        self._most = most
        self._looked = 0
        there = Ends(self.space, self.budget, self.hands, self.first, [])
        back = Ends(self.space, self.budget, self.hands, [], self.goals)
        from_goal = self._from_goal(back, number)
        from_start = self._from_start(there, number - back.depth[1])
        met = there.reached.keys[there.layers[0]]
        met = met[back.reached.runs_to(met) == back.depth[1]] if len(met) else met
        before: list[set[tuple[bytes, bytes]]] = []
        good = met
        for layer in reversed(from_start):
            before.append(self._pairs(there.reached.keys[layer], good))
            good = _rows({one for one, _ in before[-1]}, self.space.words)
        after: list[set[tuple[bytes, bytes]]] = []
        good = met
        for layer in reversed(from_goal[:-1]):
            # an ending need not lie at the end of a longest run, but what undoes it does, and the other way
            nearer = back.reached.keys[layer]
            found = self._pairs(good, nearer) | {(b, a) for a, b in self._pairs(nearer, good)}
            after.append(found)
            good = _rows({other for _, other in found}, self.space.words)
        for ends in (there, back):
            ends.reached.release()
        return [*reversed(before), *after] if len(met) else []

    # ---- layers

    def _from_goal(self, back: Ends, number: int) -> list[_Array]:
        layers = [back.layers[1]]
        while not back.depth[1] or (
            back.depth[1] < min(_FARTHEST_BACK, number - 1) and len(back.layers[1]) < BACK
        ):
            back.expand(1, self._look)
            layers.append(back.layers[1])
        return layers

    def _from_start(self, there: Ends, depth: int) -> list[_Array]:
        """What is expanded of each layer but the last."""
        layers = []
        while there.depth[0] < depth:
            if self.tables is None and there.effort > _WITHOUT and self.has_patterns():
                self.with_tables()
            bounds: Within | None = None
            if self.tables is not None and there.depth[0]:
                bounds = self.bounds(there, self.least - there.depth[0])
            chosen: list[_Array] = []
            there.expand(0, self._look, _noted(bounds, chosen))
            layers.append(np.sort(np.concatenate(chosen)))
        return layers

    def _look(self, ends: Ends) -> None:
        self._check(ends.effort)
        if self.tables is not None and ends.effort > self.allowed:
            self.more_tables()

    def _check(self, effort: float) -> None:
        self.reason = self.should_stop(int(effort))
        if self.reason is None and self._looked + effort > self._most:
            self.reason = f"more than {self._most:,} standings to look at"
        if self.reason is not None:
            raise Stopped

    # ---- what leads on

    def _pairs(self, states: _Array, good: _Array) -> set[tuple[bytes, bytes]]:
        """Every step from one of ``states`` to one of ``good``."""
        found: set[tuple[bytes, bytes]] = set()
        wanted, marks = {row.tobytes() for row in good}, np.unique(_marks(good))
        for begin in range(0, len(states), _AT_ONCE):
            part = states[begin : begin + _AT_ONCE]
            self._looked += len(part)
            self._check(0)
            sources, rows = successors(self.space, self.budget, part)
            for at in np.flatnonzero(np.isin(_marks(rows), marks)):
                after = rows[at].tobytes()
                if after in wanted:
                    found.add((part[sources[at]].tobytes(), after))
        return found


def _noted(bounds: Within | None, chosen: list[_Array]) -> Within:
    """The same bounds; what they let pass is put down."""

    def within(number: int, part: _Array) -> _Array:
        stay = part if bounds is None else bounds(number, part)
        chosen.append(stay)
        return stay

    return within


def _marks(rows: _Array) -> _Array:
    """A number for each row; most rows that differ have different ones."""
    marks = np.zeros(len(rows), np.int64)
    for column in range(rows.shape[1]):
        marks = marks * np.int64(-7046029254386353131) + rows[:, column]
    return marks


def _rows(words: set[bytes], width: int) -> _Array:
    return np.frombuffer(b"".join(sorted(words)), np.int64).reshape(-1, width).copy()
