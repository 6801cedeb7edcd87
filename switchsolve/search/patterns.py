"""Lower bounds from work with cars left out.

A **pattern** is a choice of cars to keep.  Leaving out the others never makes the work harder, so a table of
the fewest runs for the kept cars alone bounds the runs for all.  Two things see to it: where a part is closed
to somebody a car left out could have been the one that reaches in, so the tables are made with every part
open; where the crew may choose among cars, one left out counts as chosen or not, whichever is less work.  The
tables are made by the same steps, from the endings of the smaller work backwards, over farthest standings.

A state with cars left out is looked up after the locomotive has gone back as far as it then could have come:
from there no more work is left than from where it is.  If a string that lay over several cells has lost a
part of its cars, or needs so many only because one of them is closed to somebody, it is not certain where it
would stand: such a choice says nothing.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterable
from dataclasses import replace
from functools import partial
from itertools import combinations
from typing import Any

import numpy as np

from switchsolve.kernel import run_kernel as kernel
from switchsolve.rules import Rules, String
from switchsolve.search.bank import MOST_KEPT, Bank
from switchsolve.search.endings import KnownRows, endings
from switchsolve.search.hands import Hands
from switchsolve.search.reached import Budget, Reached
from switchsolve.search.runs import LongestRuns, RunState
from switchsolve.search.space import Space

__all__ = ["Kept", "Patterns"]

_MOST_KEPT = 6
_MOST_ENDINGS = 20_000
_PART = 50_000
_TWO_HANDS = 200
_WORTH = 0.004
"""A look costs so much of what it spares when it is enough: expanding the state, and bounds for what comes of
it.
"""
_NEVER = 1 << 60
"""More than any sum."""
_I64 = np.int64
_Array = np.ndarray[Any, Any]
Kept = tuple[int, ...]
"""The classes of the cars kept, in rising order."""


def opened(rules: Rules) -> Rules:
    """The rules with every part open to every vehicle."""
    if all(rules.p.all_may_touch):
        return rules
    cells = tuple(replace(cell, no_locomotives=False, barred=frozenset()) for cell in rules.p.cells)
    return Rules(replace(rules.p, cells=cells))


class Patterns:
    """Tables for patterns, in one store, and how often each was of use."""

    def __init__(
        self,
        rules: Rules,
        space: Space,
        budget: Budget,
        hands: Hands | None = None,
        bank: Bank | None = None,
    ) -> None:
        """``space``: that of the search.  ``hands``: two threads to work with, instead of one; what comes of
        it is the same.  ``bank``: where tables are kept and found, with every part open; else they are made
        for this search alone.

        Raises :class:`~switchsolve.search.reached.NoRoom`.
        """
        self.rules = rules = opened(rules)
        self.cars = [
            name for name in rules.p.class_of if not rules.p.classes[rules.p.class_of[name]].is_locomotive
        ]
        self.bank = bank
        self.own = space
        self.widest = min(_MOST_KEPT if bank is None else MOST_KEPT, len(self.cars))
        if bank is None:
            self.space = Space(rules, 1 + self.widest, space.states)
            self.reached = Reached(self.space, budget, hands)
            self.number_of = self.space.token_number
        else:
            self.number_of = bank.lend(rules, budget)
            self.space, self.reached = bank.space, bank.reached
        self.token_of = np.array([self.number_of[token] for token in space.tokens], _I64)
        self.node_of = np.array([self.space.node_number.get(ways, -1) for ways in space.nodes], _I64)
        self.rows = np.zeros((0, 5 + self.widest), _I64)
        self.work = np.zeros(3 * len(rules.p.class_of) + 2 * self.widest + len(space.tokens) + 16, _I64)
        self.kept: set[Kept] = set()
        self.states = 0
        """States in the tables; shared ones are counted as if they had been made for this search."""
        self.used = self.rows
        self.looks = 0
        self.has_untried = False
        """Whether there are tables that :meth:`try_all` has not put to use yet."""
        self._made: Counter[int] = Counter()
        self._runs = LongestRuns(rules)
        self._known_rows: KnownRows = {}
        self.hands = hands

    def all_of(self, size: int) -> list[Kept]:
        """Every pattern of so many cars."""
        classes = [self.rules.p.class_of[name] for name in self.cars]
        return sorted({tuple(sorted(one)) for one in combinations(classes, size)})

    def add(self, patterns: Iterable[Kept], should_stop: Callable[[], bool] = lambda: False) -> bool:
        """Make tables; ``False`` if told to stop, with nothing added.

        Raises :class:`~switchsolve.search.reached.NoRoom`.
        """
        by_size: dict[int, list[Kept]] = {}
        for one in patterns:
            if one not in self.kept:
                by_size.setdefault(len(one), []).append(one)
        for size, some in sorted(by_size.items()):
            self.kept |= set(some)
            made = self._made_of(size, some, should_stop)
            if made is None:
                return False
            rows = np.zeros((len(made), self.rows.shape[1]), _I64)
            for row, one in zip(rows, made, strict=True):
                row[:2] = size, kernel.UNREACHABLE
                row[5 : 5 + size] = sorted(self.own.token_number[2 * number] for number in one)
            self.rows = np.concatenate([rows, self.rows])
            self._made[size] += len(made)
            self.has_untried = True
        return True

    def _made_of(self, size: int, some: list[Kept], should_stop: Callable[[], bool]) -> list[Kept] | None:
        """Those of some patterns of one size that have a table now; ``None`` if told to stop."""
        if self.bank is not None:
            return self._banked(self.bank, size, some, should_stop)
        first = self.reached.count
        some = [one for one in some if self._begin(one)]
        if not self._spread(size, first, should_stop):
            return None
        self.states = self.reached.count
        return some

    def _banked(
        self, bank: Bank, size: int, some: list[Kept], should_stop: Callable[[], bool]
    ) -> list[Kept] | None:
        made = []
        for one in some:
            key = tuple(sorted(self.number_of[2 * number] for number in one))
            if key not in bank.sizes:
                first = self.reached.count
                with bank.changing():
                    has_room = self._begin(one)
                    if has_room and not self._spread(size, first, should_stop):
                        return None
                    bank.sizes[key] = self.reached.count - first if has_room else None
            states = bank.sizes[key]
            if states is not None:
                made.append(one)
                self.states += states
        return made

    def _begin(self, kept: Kept) -> bool:
        """Keep the endings of a pattern; not if there is no room for one of them: such a pattern is not used.
        """
        goals = [self._numbered(state) for state in self._endings(kept)]
        if not all(self.space.has(state) for state in goals):
            return False
        self.reached.begin(goals, 1)
        return True

    def _numbered(self, state: RunState) -> RunState:
        """A state with the numbers that its vehicles have in the bank, if there is one."""
        if self.bank is None:
            return state
        others, mine = state
        return tuple(self._with_numbers(string) for string in others), self._with_numbers(mine)

    def _with_numbers(self, string: String) -> String:
        return String(string.ways, tuple(self.number_of[token] for token in string.tokens))

    def _spread(self, size: int, first: int, should_stop: Callable[[], bool]) -> bool:
        """Every state from which the endings kept from number ``first`` on can be reached."""
        reached = self.reached
        reached.space.memory[1] = size + 1
        depth = 1
        while first < reached.count:
            layer = np.arange(first, reached.count)
            first = reached.count
            depth += 1
            for part in np.array_split(layer, 1 + len(layer) // _PART):
                reached.expand(part, depth)
                if should_stop():
                    return False
        return True

    def _endings(self, kept: Kept) -> list[RunState]:
        return endings(
            self.rules, self._runs, _MOST_ENDINGS, Counter(kept), known=self._known_rows, is_strict=False
        )

    # ---- which are of use

    def try_all(self) -> None:
        """Use every pattern that says more than smaller ones do, to see which are worth their looks."""
        widest = int(self.rows[:, 0].max(initial=0))
        whole = {size for size in range(1, widest + 1) if len(self.all_of(size)) == self._made[size]}
        self.used = self.rows[self.rows[:, 0] >= max(whole, default=0)]
        self.used[:, 2:5] = 0
        self.has_untried = False

    def _tune(self, halves: list[_Array]) -> None:
        """Put first what was oftenest enough for its looks, and leave out what was not worth them."""
        places = {tuple(row[5:].tolist()): row for row in self.used}
        for rows in halves:
            self.looks += int(rows[:, 4].sum())
            for row in rows:
                places[tuple(row[5:].tolist())][2:5] += row[2:5]
        worth = self.used[:, 3] / np.maximum(1, self.used[:, 4])
        order = np.argsort(-worth, kind="stable")
        self.used = np.ascontiguousarray(self.used[order][worth[order] >= _WORTH])

    # ---- bounds

    def bounds(self, reached: Reached, chosen: _Array, rows: _Array, enough: int) -> _Array:
        """The fewest runs still to go from each state of ``reached`` chosen, by the patterns ``rows``; where
        it is ``enough`` or more, something from ``enough`` on.
        """
        return self._in_halves(reached, chosen, [rows, rows.copy()], enough)

    def sums(self, reached: Reached, chosen: _Array, size: int) -> _Array:
        """For each state of ``reached`` chosen, the fewest runs still to go for every choice of ``size`` cars
        that has a table, added up: no bound, but nearer to the end it is less.
        """
        rows = self.rows[self.rows[:, 0] == size]
        return self._in_halves(reached, chosen, [rows, rows.copy()], _NEVER, adds=True)

    def _in_halves(
        self, reached: Reached, chosen: _Array, rows: list[_Array], enough: int, *, adds: bool = False
    ) -> _Array:
        """Each half by its own ``rows`` (counted in them), on two threads if there is enough to do.

        Every other state, so that both halves have as much to do.
        """
        found = np.zeros(len(chosen), _I64)
        places = [np.zeros((len(chosen) + 1) // 2, _I64), np.zeros(len(chosen) // 2, _I64)]
        jobs = [
            partial(
                self._look_up, reached, np.ascontiguousarray(chosen[side::2]), rows[side], places[side],
                (enough, int(adds)), reached.space.memory.copy(), self.space.memory.copy(), self.work.copy(),
            )
            for side in (0, 1)
        ]  # fmt: skip
        if self.hands is None or len(chosen) < _TWO_HANDS:
            for job in jobs:
                job()
        else:
            self.hands.both(*jobs)
        found[::2], found[1::2] = places
        return found

    def _look_up(
        self,
        reached: Reached,
        chosen: _Array,
        rows: _Array,
        found: _Array,
        how: tuple[int, int],
        memory: _Array,
        fewer: _Array,
        work: _Array,
    ) -> None:
        mine = self.reached
        kernel.bounds(
            memory, reached.keys, chosen, fewer, self.token_of, self.node_of, mine.keys, mine.table, rows,
            work, found, *how,
        )  # fmt: skip

    def within(self, reached: Reached, chosen: _Array, most: int) -> tuple[_Array, int, int]:
        """Those of the states chosen that may have ``most`` runs to go or fewer; how many others there were,
        and how many of them may still reach the end.

        """
        rows = [self.used.copy(), self.used.copy()]
        for own in rows:
            own[:, 2:5] = 0
        found = self._in_halves(reached, chosen, rows, most + 1)
        self._tune(rows)
        stays = found <= most
        return chosen[stays], int((~stays).sum()), int(((found > most) & (found < kernel.UNREACHABLE)).sum())
