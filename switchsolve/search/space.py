"""The numbers that the compiled search by longest runs works on: rows of cells, tokens, and states as rows of
words.

Importing this room takes half a second (numba), so callers import it when they need it.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import chain
from typing import Any

import numpy as np

from switchsolve.kernel import run_kernel as kernel
from switchsolve.rules import Rules, String
from switchsolve.search.carrying import Loads
from switchsolve.search.compilable import rows_of_cells
from switchsolve.search.runs import RunState

__all__ = ["Fleet", "Space"]

_I64 = np.int64
_Array = np.ndarray[Any, Any]


@dataclass(frozen=True, slots=True)
class Fleet:
    """Vehicles other than those of the rules: the length of the ``locomotive``, of each of the ``cars``, and
    of the ``longest`` string, in grid units.  No rail is closed to any of them.
    """

    locomotive: int
    cars: tuple[int, ...]
    longest: int


class Space:
    """The numbers of one set-up: cells, rows of cells, tokens; and the states as rows of words."""

    def __init__(
        self,
        rules: Rules,
        most_kept: int | None = None,
        states: Iterable[RunState] = (),
        fleet: Fleet | None = None,
        loads: Loads | None = None,
    ) -> None:
        """``most_kept``: a space for states with cars left out, with so many vehicles at most; their last
        word says how many.  ``states``: those that it must have room for, where strings that stand apart in
        one cell count as one, over more cells than one string could lie over.  ``fleet``: the vehicles, if
        they are not those of the rules; tokens are then numbers already.  ``loads``: limits that runs keep
        to (a space for :func:`~switchsolve.kernel.run_kernel.limited.expand_within`).
        """
        self.rules = rules
        self.halts = rules.halts or frozenset()
        self.has_halts = bool(self.halts or rules.p.table_cells)
        """Whether a run may halt on the way, and go on."""
        self.is_marked = most_kept is not None
        self.vehicles = len(rules.p.class_of) if most_kept is None else most_kept
        self.fleet = fleet
        self.loads = loads
        self._number_tokens()
        self.states = list(states)
        self._rests: dict[String, tuple[int, tuple[int, ...]]] = {}
        self._number_nodes()
        self.token_bits = 1 + max(1, (len(self.tokens) - 1).bit_length())
        self.node_bits = max(1, (len(self.nodes) - 1).bit_length())
        self.rest_bits = max(1, (len(self.rests) - 1).bit_length())
        self.words = self._words()
        self.memory = self._memory()

    def _number_tokens(self) -> None:
        p, fleet = self.rules.p, self.fleet
        if fleet is None:
            loco = next(i for i, what in enumerate(p.classes) if what.is_locomotive)
            cars = [2 * i for i, what in enumerate(p.classes) if not what.is_locomotive]
            self.tokens = [2 * loco, 2 * loco + 1, *cars]
            self.token_lengths = [p.token_lengths[token] for token in self.tokens]
            self.longest = sum(p.token_lengths[2 * number] for number in p.class_of.values())
        else:
            self.tokens = list(range(2 + len(fleet.cars)))
            self.token_lengths = [fleet.locomotive, fleet.locomotive, *fleet.cars]
            self.longest = fleet.longest
        if self.loads is not None:
            self.longest += 1  # those who may not be coupled keep a gap
        self.token_number = {token: number for number, token in enumerate(self.tokens)}

    def _number_nodes(self) -> None:
        p = self.rules.p
        cars = self.longest - self.token_lengths[0]
        clear = set(p.keep_clear_always)
        self.nodes = rows_of_cells(self.rules, longest=self.longest)
        standing = _rows_of(string for others, _ in self.states for string in others)
        rows = standing | _rows_of(mine for _, mine in self.states)
        self.nodes += sorted(rows.difference(self.nodes))
        self.node_number = {ways: number for number, ways in enumerate(self.nodes)}
        turned = [tuple([way ^ 1 for way in ways[::-1]]) for ways in self.nodes]
        self.turned = [self.node_number[ways] for ways in turned]
        self._measure_nodes()
        self.rests = [
            number
            for number, (ways, back, least) in enumerate(zip(self.nodes, turned, self.least, strict=True))
            if ways <= back
            and (least <= cars or ways in standing)
            and not (clear and any(way >> 1 in clear for way in ways))
        ]
        self.rest_number = {node: number for number, node in enumerate(self.rests)}

    def _measure_nodes(self) -> None:
        by_way = np.repeat(np.array(self.rules.lengths, _I64), 2)
        self.node_cells = np.array([len(ways) for ways in self.nodes], _I64)
        has = np.arange(self.node_cells.max()) < self.node_cells[:, None]
        self.node_ways = np.full(has.shape, -1, _I64)
        self.node_ways[has] = list(chain.from_iterable(self.nodes))
        self.node_length = np.where(has, by_way[self.node_ways], 0).sum(axis=1)
        outer = (
            by_way[self.node_ways[:, 0]] + by_way[self.node_ways[np.arange(len(has)), self.node_cells - 1]]
        )
        self.least: list[int] = np.where(self.node_cells == 1, 1, 2 + self.node_length - outer).tolist()
        """The shortest string that touches all of the row."""

    def _links(self, ahead: _Array) -> tuple[_Array, _Array]:
        """By node the branches taken along it (0 at its first cell), and what each branch makes of it (-1:
        nothing); ``ahead``: the ways after each way, by branch.
        """
        ways, cells = self.node_ways, self.node_cells
        taken = np.zeros(ways.shape, _I64)
        taken[:, 1:] = (ahead[ways[:, :-1]] == ways[:, 1:, None]).argmax(axis=2)
        taken[ways < 0] = 0
        child = np.full((len(ways), ahead.shape[1]), -1, _I64)
        # some of the rows that strings apart from each other lie over have no shorter one
        number_of = self.node_number.get
        shorter = np.array([number_of(row[:-1], -1) for row in self.nodes], _I64)
        longer = np.flatnonzero(shorter >= 0)
        child[shorter[longer], taken[longer, cells[longer] - 1]] = longer
        return taken, child

    def _words(self) -> int:
        words, used = 1, 0
        strings = min(self.vehicles - 1, len(self.rests))
        for width in [self.node_bits] + [self.token_bits] * self.vehicles + [self.rest_bits] * strings:
            if used + width > 64:
                words, used = words + 1, 0
            used += width
        return words + self.is_marked

    def may_go_on(self, rows: _Array) -> _Array:
        """Of each state (a row of words): whether the run that has come to it may go on where it has halted.
        """
        tables = self.rules.p.table_cells
        nodes = [
            number
            for number, ways in enumerate(self.nodes)
            if ways[0] ^ 1 in self.halts or (len(ways) == 1 and ways[0] >> 1 in tables)
        ]
        return np.isin(rows[:, 0] & (1 << self.node_bits) - 1, nodes)

    def set_length(self, token: int, length: int) -> None:
        """Give a vehicle of the fleet another length."""
        self.token_lengths[token] = length
        begin = self.memory[len(kernel.SCALARS) + kernel.TABLE_NAMES.index("token_length")]
        self.memory[begin + token] = length

    # ---- states, in and out

    def has(self, state: RunState) -> bool:
        """Whether there is room for a state."""
        others, mine = state
        rests = (self.node_number.get(string.ways, -1) for string in map(self._turned, others))
        return mine.ways in self.node_number and all(number in self.rest_number for number in rests)

    def encode(self, state: RunState) -> list[int]:
        """The words of a state."""
        others, mine = state
        rests = sorted([self._rests.get(string) or self._rest(string) for string in others])
        number_of, token_bits, rest_bits = self.token_number, self.token_bits, self.rest_bits
        word, used = self.node_number[mine.ways], self.node_bits
        words = []
        vehicles = len(mine.tokens)
        for token in mine.tokens:
            if used + token_bits > 64:
                words.append(word)
                word, used = 0, 0
            word |= 2 * number_of[token] << used
            used += token_bits
        for _, fields in rests:
            vehicles += len(fields)
            for field in fields:
                if used + token_bits > 64:
                    words.append(word)
                    word, used = 0, 0
                word |= field << used
                used += token_bits
        for number, _ in rests:
            if used + rest_bits > 64:
                words.append(word)
                word, used = 0, 0
            word |= number << used
            used += rest_bits
        words.append(word)
        words += [0] * (self.words - len(words))
        if self.is_marked:
            words[-1] = vehicles
        return [word - (1 << 64) if word >> 63 else word for word in words]

    def _rest(self, string: String) -> tuple[int, tuple[int, ...]]:
        """The number of a string that stands, and the fields of its vehicles; kept, for the same strings
        stand in many states.
        """
        ways, tokens = self._turned(string)
        fields = tuple(2 * self.token_number[token] + (k == 0) for k, token in enumerate(tokens))
        found = self._rests[string] = self.rest_number[self.node_number[ways]], fields
        return found

    def _turned(self, string: String) -> String:
        back = tuple(way ^ 1 for way in reversed(string.ways))
        return string if string.ways <= back else String(back, string.tokens[::-1])

    def decode(self, row: Sequence[int]) -> RunState:
        """The state of a row of words."""
        words = [int(word) & (1 << 64) - 1 for word in row]
        at, used = 0, 0

        def field(width: int) -> int:
            nonlocal at, used
            if used + width > 64:
                at, used = at + 1, 0
            value = words[at] >> used & (1 << width) - 1
            used += width
            return value

        mine = self.nodes[field(self.node_bits)]
        groups: list[list[int]] = [[]]
        for _ in range(self.vehicles):
            value = field(self.token_bits)
            if value & 1:
                groups.append([])
            groups[-1].append(self.tokens[value >> 1])
        others = [String(self.nodes[self.rests[field(self.rest_bits)]], tuple(group)) for group in groups[1:]]
        # as the plain search lists them
        others = [
            min(one, String(tuple(w ^ 1 for w in reversed(one.ways)), one.tokens[::-1])) for one in others
        ]
        return tuple(sorted(others)), String(mine, tuple(groups[0]))

    # ---- the kernel's memory

    def _limits(self) -> list[int]:
        """As the kernel has them."""
        if self.loads is None:
            return [0]
        limits = [len(self.loads.kinds)]
        for kind in self.loads.kinds:
            limits += [int(kind.only_ahead), kind.least, kind.whole]
            limits += [kind.weights[token >> 1] for token in self.tokens]
            limits += kind.most
        return limits

    def _memory(self) -> _Array:
        p, rules = self.rules.p, self.rules
        cells, vehicles = len(rules.lengths), self.vehicles
        longest = int(self.node_cells.max())
        conflicts = p.conflicts
        clear = set(p.keep_clear_always)
        aheads = [list(row) for row in p.ways_on]
        branches = max(1, *map(len, aheads))
        ahead = np.array([row + [-1] * (branches - len(row)) for row in aheads], _I64)
        taken, child = self._links(ahead)
        path = 2 * cells + longest + 2
        tables: dict[str, Any] = {
            "length": rules.lengths,
            "token_length": self.token_lengths,
            "conflict_start": np.cumsum([0, *(len(row) for row in conflicts)]),
            "conflicts": [one for row in conflicts for one in row],
            "all_may_touch": p.all_may_touch,
            "may_touch": [
                [self.fleet is not None or row[token] for token in self.tokens] for row in p.may_touch
            ],
            "clear": [cell in clear for cell in range(cells)],
            "ahead_count": [len(row) for row in aheads],
            "ahead": ahead,
            "root": range(2 * cells),
            "child": child,
            "node_length": self.node_length,
            "node_least": self.least,
            "node_cells": self.node_cells,
            "node_turned": self.turned,
            "node_ways": self.node_ways,
            "node_branches": taken,
            "rest": [self.rest_number.get(number, -1) for number in range(len(self.nodes))],
            "rest_node": self.rests,
            "on_table": [cell in p.table_cells for cell in range(cells)],
            "halts": [way in self.halts for way in range(2 * cells)],
            "at": np.zeros(cells),
            "token": np.zeros(vehicles + 1),
            "string_node": np.zeros(vehicles + 1),
            "string_begin": np.zeros(vehicles + 2),
            "path": np.zeros(path),
            "branch": np.zeros(path),
            "begin": np.zeros(path + 1),
            "moving": np.zeros(vehicles + 1),
            "frame": np.zeros(7 * (path + 2)),
            "level": np.zeros(5 * (vehicles + 3)),
            "spans": np.zeros(
                4 + vehicles * vehicles * (4 * path * (1 if self.loads is None else longest) + 3)
            ),
            "block": np.zeros(8 * (vehicles + 2)),
            "key": np.zeros(self.words + 1),
            "order": np.zeros(vehicles + 1),
            "reached": np.zeros(2),
            "limits": self._limits(),
            "offset": np.zeros(vehicles + 3),
            "met": np.zeros(4 * (vehicles + 2)),
            "left": np.zeros(4 * (vehicles + 3)),
            "more": np.zeros(3 * branches),
        }
        scalars = [
            cells, vehicles, self.token_bits, self.node_bits, self.rest_bits, self.words, branches, longest,
            not all(p.all_may_touch), len(self.tokens), self.is_marked, self.has_halts,
        ]  # fmt: skip
        begin = len(scalars) + len(kernel.TABLE_NAMES)
        directory = []
        parts = []
        for name in kernel.TABLE_NAMES:
            part = np.array(tables[name], _I64).ravel()
            directory.append(begin)
            begin += len(part)
            parts.append(part)
        return np.concatenate([np.array([*scalars, *directory], _I64), *parts])


def _rows_of(strings: Iterable[String]) -> set[tuple[int, ...]]:
    """The rows of cells under strings, in both directions."""
    rows = {string.ways for string in strings}
    return rows | {tuple(way ^ 1 for way in reversed(ways)) for ways in rows}
