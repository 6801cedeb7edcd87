"""States kept by the compiled search by longest runs, in arrays that grow."""

from __future__ import annotations

from collections.abc import Sequence
from functools import partial
from typing import Any

import numpy as np

from switchsolve.kernel import run_kernel as kernel
from switchsolve.search.hands import Hands
from switchsolve.search.runs import RunState
from switchsolve.search.space import Space

__all__ = ["Budget", "NoRoom", "Reached", "successors"]

_Array = np.ndarray[Any, Any]
_I64 = np.int64
_AT_ONCE = 2_000
"""States expanded before what is new among their successors is kept."""
_TWO_HANDS = 512
"""Fewer than this are not worth two threads: on a busy machine the second one is not woken at once."""
_ROWS = 1 << 12
_NOTHING = np.empty(0, np.int32)


class NoRoom(Exception):
    """The states do not fit into the memory allowed."""


class Budget:
    """Bytes that all states together may take (``None``: no limit)."""

    def __init__(self, most: int | None) -> None:
        self.most = most
        self.taken = 0

    def take(self, more: int) -> None:
        """Raises :class:`NoRoom` if there are not so many left."""
        if self.most is not None and self.taken + more > self.most:
            raise NoRoom
        self.taken += more


class _Half:
    """One thread's share of the states to expand, with drafts of its own, and what comes of it."""

    def __init__(self, space: Space, budget: Budget) -> None:
        self.space = space
        self.budget = budget
        self.expand_by = kernel.expand
        if space.loads is not None:
            # compiled only where limits bind
            from switchsolve.kernel.run_kernel.limited import expand_within

            self.expand_by = expand_within
        self.taken = 0
        self.memory = space.memory.copy()
        self.out = np.empty(0, _I64)
        self.parents = np.empty(0, np.int32)
        self.info = np.zeros(5, _I64)
        self.why = kernel.DONE
        self.grow()

    def grow(self) -> None:
        """Twice the room, and nothing in it.  Raises :class:`NoRoom`."""
        room = max(_ROWS, 2 * len(self.parents))
        more = room * (8 * self.space.words + 4) - self.taken
        self.budget.take(more)
        self.taken += more
        self.out = np.empty(room * self.space.words, _I64)
        self.parents = np.empty(room, np.int32)

    def expand(
        self, keys: _Array, table: _Array, chosen: _Array, depth: int, onward_from: _Array = _NOTHING
    ) -> None:
        """Successors of the states ``chosen`` (or, with ``onward_from``, of what these were reached from, by
        runs that go on); ``keys`` and ``table`` are only read.
        """
        scalars = len(kernel.SCALARS)
        self.memory[:scalars] = self.space.memory[:scalars]
        self.info[:] = 0
        self.why = self.expand_by(
            self.memory, keys, table, chosen, onward_from, depth, self.out, self.parents, self.info
        )


class Reached:
    """States kept: their words, what each was reached from, how deep, and a hash table over them."""

    def __init__(
        self, space: Space, budget: Budget, hands: Hands | None = None, *, room: int = 1 << 12
    ) -> None:
        """``hands``: two threads to expand with, instead of one; what comes of it is the same."""
        self.space = space
        self.budget = budget
        self.hands = hands
        self._halves: list[_Half] = []
        self._taken = 0
        self._take(room)
        self.keys = np.zeros((room, space.words), _I64)
        self.parents = np.zeros(room, np.int32)
        self.depths = np.zeros(room, np.int16)
        self.table = np.full(_slots(room), -1, _I64)
        self.sizes = np.zeros(1, _I64)
        self.expanded = 0
        self.generated = 0
        self.meeting = (-1, -1)
        """The state in which the two ends met, and the one it was met from."""

    def _take(self, room: int) -> None:
        need = room * (8 * self.space.words + 4 + 2) + 8 * _slots(room)
        self.budget.take(need - self._taken)
        self._taken = need

    @property
    def bytes_each(self) -> float:
        """Bytes for one state kept, its share of the hash table included."""
        return self._taken / max(1, len(self.keys))

    @property
    def count(self) -> int:
        """States kept."""
        return int(self.sizes[0])

    def release(self) -> None:
        """Give the memory back to the budget; the states are not needed any more."""
        self.budget.taken -= self._taken + sum(half.taken for half in self._halves)
        self._taken = 0
        self._halves = []

    def charge(self, budget: Budget) -> None:
        """From now on take what memory is needed from another budget, what is taken already too.

        Raises :class:`NoRoom`.
        """
        budget.take(self._taken)
        self.budget, self._halves = budget, []

    def begin(self, states: Sequence[RunState], depth: int) -> None:
        """Keep states to be expanded, but not to be met."""
        rows = np.array([self.space.encode(state) for state in states], _I64).reshape(-1, self.space.words)
        while (
            kernel.begin(self.space.memory, self.keys, self.parents, self.depths, self.sizes, rows, depth)
            == kernel.FULL
        ):
            self.grow()

    def grow(self) -> None:
        """Twice the room.  Raises :class:`NoRoom`."""
        room = 2 * len(self.keys)
        self._take(room)
        # realloc moves pages, not bytes: no second copy is held meanwhile
        self.keys.resize((room, self.space.words), refcheck=False)
        self.parents.resize(room, refcheck=False)
        self.depths.resize(room, refcheck=False)
        self.table = np.empty(0, _I64)
        self.table = np.full(_slots(room), -1, _I64)
        kernel.rehash(self.space.memory, self.keys, self.depths, self.table, self.sizes)

    def expand(self, chosen: _Array, depth: int) -> bool:
        """Expand the states ``chosen``; what is new has ``depth`` (negative: from the goal).  Whether a state
        reached from the other end was met: :attr:`meeting` says which, and the rest is left out.

        Raises :class:`NoRoom`.
        """
        first = self.count
        if self._expand_all(chosen, depth, is_onward=False):
            return True
        while self.space.has_halts and first < self.count:
            # runs that have halted go on
            fresh = np.arange(first, self.count)
            first = self.count
            if self._expand_all(fresh[self.space.may_go_on(self.keys[fresh])], depth, is_onward=True):
                return True
        return False

    def _expand_all(self, chosen: _Array, depth: int, *, is_onward: bool) -> bool:
        begin = 0
        while begin < len(chosen):
            for half in self._expand(chosen[begin : begin + _AT_ONCE], depth, is_onward):
                self._keep(half, depth)
                begin += int(half.info[1])
                if half.why == kernel.MET:
                    self.meeting = int(half.info[3]), int(half.info[4])
                    return True
                if half.why == kernel.FULL:
                    half.grow()
                    break  # what comes later in line is expanded anew, so that the order stays
        return False

    def _expand(self, chosen: _Array, depth: int, is_onward: bool) -> Sequence[_Half]:
        """Expand by one thread or two, the first states first."""
        onward_from = self.parents if is_onward else _NOTHING
        with_two = self.hands is not None and len(chosen) >= _TWO_HANDS
        while len(self._halves) < 1 + with_two:
            self._halves.append(_Half(self.space, self.budget))
        if self.hands is None or not with_two:
            self._halves[0].expand(self.keys, self.table, chosen, depth, onward_from)
            return self._halves[:1]
        middle = len(chosen) // 2
        one, other = self._halves
        self.hands.both(
            partial(one.expand, self.keys, self.table, chosen[:middle], depth, onward_from),
            partial(other.expand, self.keys, self.table, chosen[middle:], depth, onward_from),
        )
        return self._halves

    def _keep(self, half: _Half, depth: int) -> None:
        self.expanded += int(half.info[1])
        self.generated += int(half.info[2])
        rows, kept = int(half.info[0]), 0
        while True:
            kept = kernel.keep(
                half.out, half.parents, kept, rows, depth,
                self.keys, self.parents, self.depths, self.table, self.sizes,
            )  # fmt: skip
            if kept == rows:
                return
            self.grow()

    def runs_to(self, rows: _Array) -> _Array:
        """How many runs lie between each state of ``rows`` (words, as in ``keys``) and where this search
        began; -1: it was not reached.
        """
        found = np.zeros(len(rows), _I64)
        kernel.look_up(self.space.memory, rows, self.keys, self.table, found)
        return found

    def chain(self, number: int) -> list[RunState]:
        """The state ``number`` and all before it, latest first."""
        found = []
        while number >= 0:
            found.append(self.space.decode(self.keys[number]))
            number = int(self.parents[number])
        return found


def successors(space: Space, budget: Budget, states: _Array, depth: int = 1) -> tuple[_Array, _Array]:
    """All that one run makes of some ``states`` (rows of words): the number of the state that each comes of,
    and its words; some of them more than once.  ``depth``: as :meth:`Reached.expand` has it.

    Raises :class:`NoRoom`.
    """
    half = _Half(space, budget)
    try:
        sources, rows = _expanded(half, np.ascontiguousarray(states), _NOTHING, depth)
        all_sources, all_rows = [sources], [rows]
        seen: set[tuple[int, bytes]] = set()
        while space.has_halts and len(rows):
            # runs that have halted go on
            halted = np.flatnonzero(space.may_go_on(rows))
            fresh = [at for at in halted if (int(sources[at]), rows[at].tobytes()) not in seen]
            seen |= {(int(sources[at]), rows[at].tobytes()) for at in fresh}
            sources, rows = _expanded(half, rows[fresh], sources[fresh], depth)
            all_sources.append(sources)
            all_rows.append(rows)
    finally:
        budget.taken -= half.taken
    return np.concatenate(all_sources), np.concatenate(all_rows)


def _expanded(half: _Half, keys: _Array, onward_from: _Array, depth: int) -> tuple[_Array, _Array]:
    nothing_kept = np.full(2, -1, _I64)
    words = half.space.words
    sources, rows, begin = [_NOTHING], [np.empty((0, words), _I64)], 0
    while begin < len(keys):
        half.expand(keys, nothing_kept, np.arange(begin, len(keys)), depth, onward_from)
        count, done = int(half.info[0]), int(half.info[1])
        sources.append(half.parents[:count].copy())
        rows.append(half.out[: count * words].reshape(-1, words).copy())
        begin += done
        if half.why == kernel.FULL:
            half.grow()
    return np.concatenate(sources), np.concatenate(rows)


def _slots(room: int) -> int:
    return 1 << (2 * room - 1).bit_length()
