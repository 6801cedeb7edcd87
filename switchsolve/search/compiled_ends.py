"""The compiled event search from both ends: from the start, and backwards from all ends of the work.

Every motion can be undone by a motion: what was coupled is cut off, what was cut off is coupled to.  So the
law that leads on from the start leads back from the end as well.  Backwards a locomotive sets out either way
for nothing, because what comes before will be compared with how it went on.

Each search closes one number of moves after the other, the one with fewer standings waiting first.  Once all
standings within ``f`` moves of the start are known, and all that are ``b`` reversals from an end, a plan of
``f + b + 1`` moves or fewer has a standing in both: take the last standing that is within ``f`` moves.  The
move that begins there is told where the two meet, and so not by the rest.  If the two share no position that
makes so few, the least is ``f + b + 2``.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any

import numpy as np

from switchsolve.goal import Goal, Met
from switchsolve.kernel import event_kernel as kernel
from switchsolve.rules import Cost, Rules, Standing
from switchsolve.search.compilable import is_compilable
from switchsolve.search.event_arrays import EventArrays
from switchsolve.search.events import EventNode, EventResult
from switchsolve.search.exact import why_one_way_only
from switchsolve.search.one_end import Side, from_the_ends
from switchsolve.search.tariffs import by_moves

__all__ = ["search_compiled_ends"]

_NO_BOUND = 1 << 60
_PAIRS = 1 << 12
"""Meetings that are written down at a time."""
_Array = np.ndarray[Any, Any]


def search_compiled_ends(
    rules: Rules,
    goal: Goal,
    lasts: Sequence[Standing],
    *,
    should_stop: Callable[[int], str | None] = lambda expanded: None,
    most: int | None = None,
    most_bytes: int | None = None,
    name: Callable[[str], object] = lambda what: None,
) -> EventResult:
    """The fewest moves that meet the work.

    ``lasts``: all ends of it (:func:`~switchsolve.search.last_standings.last_standings`).  ``most``: plans
    of more moves are not looked for.  ``most_bytes``: what the standings kept may take.  ``name`` is told how
    far it is, for each number of moves that is closed.

    If it was not stopped and has neither plan nor proof (not seen yet), no plan goes through the places at
    which the two met, and the search from the start alone has to be asked.

    Raises ``ValueError`` if :func:`~switchsolve.search.exact.why_one_way_only` has a reason, or if
    :func:`~switchsolve.search.compilable.is_compilable` is false.
    """
    if not is_compilable(rules):
        raise ValueError("a string can span too many cells for the compiled search")
    reason = why_one_way_only(rules)
    if reason is not None:
        raise ValueError(f"the law is not the same backwards here: {reason}")
    return _BothEnds(rules, goal, lasts, should_stop, most, most_bytes, name).run()


class _BothEnds:
    def __init__(
        self,
        rules: Rules,
        goal: Goal,
        lasts: Sequence[Standing],
        should_stop: Callable[[int], str | None],
        most: int | None,
        most_bytes: int | None,
        name: Callable[[str], object],
    ) -> None:
        self.rules = rules
        self.goal = goal
        self.should_stop = should_stop
        self.most_bytes = most_bytes
        self.name = name
        self.forward = Side(EventArrays(rules, goal, by_moves(rules)))
        self.backward = from_the_ends(rules, goal, lasts)
        self.rows: _Array = np.zeros((_PAIRS, 3), np.int64)
        self.ends = int(self.backward.arrays.store.sizes[1])
        """The first so many nodes back are ends of the work."""
        self.best = self.too_many = _NO_BOUND if most is None else most + 1
        """Moves of the shortest plan met; before that, as many as are too many."""
        self.reason: str | None = None

    def run(self) -> EventResult:
        while True:
            self._look()
            if min(self.forward.closed, self.backward.closed) >= 0:
                self.name(self._progress())
            if self.best <= self.least or self._are_exhausted():
                return self._answer(True)
            sides = sorted((self.forward, self.backward), key=lambda side: side.waiting)
            if not self._close(sides[0]):
                self._look()
                return self._answer(self.best <= self.least)

    @property
    def least(self) -> int:
        """No plan has fewer moves, but for those that have been met."""
        return self.forward.closed + self.backward.closed + 2

    def _are_exhausted(self) -> bool:
        return self.forward.is_exhausted or self.backward.is_exhausted

    def _close(self, side: Side) -> bool:
        """Expand all standings of one side within one move more; ``False`` if stopped."""
        while not side.go_on():
            if side.is_full:
                if self.most_bytes is not None and self._bytes_to_grow(side) > self.most_bytes:
                    self.reason = "the limit of memory"
                    return False
                side.arrays.grow()
            if self.should_stop(self.forward.expanded + self.backward.expanded) is not None:
                return False
        return True

    def _bytes_to_grow(self, side: Side) -> int:
        other = self.backward if side is self.forward else self.forward
        return side.arrays.bytes_to_grow() + other.arrays.bytes_held()

    def _look(self) -> None:
        """Where the two have met since the last look, if that makes a shorter plan."""
        mine, its = self.forward.arrays, self.backward.arrays
        begins = self.forward.met, self.backward.met
        while True:
            rows = self._pairs(mine, *begins, _NO_BOUND, self.best - 1)
            if not len(rows):
                break
            self.best = int(rows[:, 0].min())
        self.forward.met = int(mine.store.sizes[1])
        self.backward.met = int(its.store.sizes[1])

    def _pairs(self, mine: EventArrays, first: int, its_first: int, below: int, most: int) -> _Array:
        """Where standings of ``mine`` and of the search back are the same: rows (moves, node, node back),
        with a node from ``first`` or ``its_first`` on, those back below ``below``, of ``most`` moves or
        fewer; not all if there are very many.
        """
        within = np.array([first, its_first, below, most], np.int64)
        count = kernel.meet(mine.memory, mine.store, self.backward.arrays.store, within, self.rows)
        return self.rows[: min(count, _PAIRS)].copy()

    def _progress(self) -> str:
        known = f"{self.forward.closed} + {self.backward.closed}"
        begun = sum(1 for last in self.rules.p.start_last if last)  # moves that go on from before the start
        best = "" if self.best == self.too_many else f", a plan of {self.best + begun}"
        return f"at least {min(self.least, self.best) + begun} moves, all known within {known}{best}"

    def _answer(self, is_proved: bool) -> EventResult:
        stats = {
            name: int(self.forward.arrays.store.sizes[at] + self.backward.arrays.store.sizes[at])
            for name, at in (("expanded", 3), ("generated", 4), ("stored", 1))
        }
        if self.best == self.too_many:
            return EventResult(None, None, 0 if is_proved else self.least, is_proved, stats, self.reason)
        found = self._plan()
        if found is None:
            return EventResult(None, None, min(self.least, self.best), False, stats, self.reason)
        least = self.best if is_proved else min(self.least, self.best)
        node, met = found
        return EventResult(node, met, least, is_proved, stats, self.reason, (self.best,))

    def _plan(self) -> tuple[EventNode, Met] | None:
        """A plan with the fewest moves that the two make together."""
        mine = self.forward.arrays
        for _, here, there in self._pairs(mine, 0, 0, _NO_BOUND, self.best).tolist():
            found = self._onward(mine.node(here), there)
            if found is not None:
                return found
            if self.should_stop(self.forward.expanded + self.backward.expanded) is not None:
                return None
        return None

    def _onward(self, node: EventNode, back: int) -> tuple[EventNode, Met] | None:
        """From ``node``, which was met by ``back``, to an end of the work in what is left of the moves.

        By the law, from one standing that the search back knows to another nearer to the end.
        """
        while True:
            met = self.goal.met(node.standing) if back < self.ends else None
            if met is not None:
                return node, met
            nearer = self._leg(node, back)
            if nearer is None:
                return None
            node, back = nearer

    def _leg(self, node: EventNode, back: int) -> tuple[EventNode, int] | None:
        left = self.best - node.figures[0]
        arrays = EventArrays(self.rules, self.goal, by_moves(self.rules), [node.standing])
        leg = Side(arrays)
        while leg.closed < left and not leg.is_exhausted:
            while not leg.go_on():
                if leg.is_full:
                    arrays.grow()
            rows = self._pairs(arrays, 0, 0, back, left)
            if len(rows):
                _, here, there = rows[rows[:, 2].argmin()].tolist()
                return _appended(node, arrays.node(here)), there
        return None


def _appended(node: EventNode, leg: EventNode) -> EventNode:
    """The nodes of ``leg``, which begins at the standing of ``node``, after it."""
    row: list[EventNode] = []
    one: EventNode | None = leg
    while one is not None and one.parent is not None:
        row.append(one)
        one = one.parent
    before = node.figures[0]
    for one in reversed(row):
        moves = before + one.figures[0]
        node = EventNode(one.standing, node, one.action, Cost(moves, 0, 0), figures=(moves,))
    return node
