"""States kept by the compiled search by longest runs, in arrays that grow."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np

from switchsolve.kernel import run_kernel as kernel
from switchsolve.search.runs import RunState
from switchsolve.search.space import Space

__all__ = ["Budget", "NoRoom", "Reached"]

_Array = np.ndarray[Any, Any]
_I64 = np.int64


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


class Reached:
    """States kept: their words, what each was reached from, how deep, and a hash table over them."""

    def __init__(self, space: Space, budget: Budget, room: int = 1 << 12) -> None:
        self.space = space
        self.budget = budget
        self._taken = 0
        self._take(room)
        self.keys = np.zeros((room, space.words), _I64)
        self.parents = np.zeros(room, np.int32)
        self.depths = np.zeros(room, np.int16)
        self.table = np.full(_slots(room), -1, np.int32)
        self.sizes = np.zeros(6, _I64)

    def _take(self, room: int) -> None:
        need = room * (8 * self.space.words + 4 + 2) + 4 * _slots(room)
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

    @property
    def expanded(self) -> int:
        """States expanded so far."""
        return int(self.sizes[5])

    def release(self) -> None:
        """Give the memory back to the budget; the states are not needed any more."""
        self.budget.taken -= self._taken
        self._taken = 0

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
        self.table = np.empty(0, np.int32)
        self.table = np.full(_slots(room), -1, np.int32)
        kernel.rehash(self.space.memory, self.keys, self.depths, self.table, self.sizes)

    def expand(self, chosen: _Array, depth: int, first: int = 0) -> int:
        """Expand the states ``chosen`` from the ``first`` on; what is new has ``depth`` (negative: from the
        goal).  Grows when there is no more room; :data:`DONE` or :data:`MET` of the kernel.

        Raises :class:`NoRoom`.
        """
        self.sizes[1] = first
        while True:
            why: int = kernel.expand(
                self.space.memory, self.keys, self.parents, self.depths, self.table, self.sizes, chosen, depth
            )
            if why != kernel.FULL:
                return why
            self.grow()

    def runs_to(self, rows: _Array) -> _Array:
        """How many runs lie between each state of ``rows`` (words, as in ``keys``) and where this search
        began; -1: it was not reached.
        """
        found = np.zeros(len(rows), _I64)
        kernel.look_up(self.space.memory, rows, self.keys, self.table, self.depths, found)
        return found

    def chain(self, number: int) -> list[RunState]:
        """The state ``number`` and all before it, latest first."""
        found = []
        while number >= 0:
            found.append(self.space.decode(self.keys[number]))
            number = int(self.parents[number])
        return found


def _slots(room: int) -> int:
    return 1 << (2 * room - 1).bit_length()
