"""The arrays of one search by events: a packed set-up as the kernel wants it, and standings in and out."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from operator import ne
from typing import Any

import numpy as np

from switchsolve.goal import Goal
from switchsolve.kernel import event_kernel as kernel
from switchsolve.rules import Action, CoarseRules, Cost, LooseRules, Rules, Standing, String
from switchsolve.search.compilable import most_at_once, path_room
from switchsolve.search.events import EventNode
from switchsolve.search.tariffs import Charges

__all__ = ["EventArrays"]

_EVENTS = ("go", "enter", "leave", "couple", "line")
_I64 = np.int64
_Array = np.ndarray[Any, Any]


class EventArrays:
    """The arrays of one search."""

    def __init__(
        self, rules: Rules, goal: Goal, charges: Charges, standings: Iterable[Standing] | None = None
    ) -> None:
        """``standings``: where it begins, if not where the file says."""
        self.rules = rules
        p = rules.p
        self.locos = len(p.loco_names)
        self.tables = len(p.start_lined)
        vehicles = len(p.class_of)
        strings = vehicles + 1
        path = path_room(rules) + 2
        self.nodes = 1 + strings * (2 if rules.mirrored else 1)
        self.width = 3 + self.tables + 6 * vehicles + path
        kept = 1 + self.locos * (2 if rules.mirrored else 1) if isinstance(rules, LooseRules) else self.nodes
        self.at_once = most_at_once(rules), most_at_once(rules) * kept**2
        """The most standings that one expansion can make, and the numbers that their zones take."""
        arrays = _set_up(rules, goal, charges) | _drafts(
            len(rules.lengths), self.tables, self.locos, vehicles, strings, path, self.nodes, self.width
        )
        self.memory, self._views = _flat(rules, charges, (self.nodes, self.width), self.at_once, arrays)
        self.store = self._store(1 << (4 * self.at_once[0]).bit_length())
        for standing in rules.starts() if standings is None else standings:
            if self._short():
                self.grow()
            self._lay(standing)
            kernel.begin(self.memory, self.store)

    def _store(self, room: int) -> kernel.Store:
        return kernel.Store(
            sizes=np.zeros(8, _I64),
            table=np.full(4 * room, -1, _I64),
            places=np.zeros((room, self.width), np.int16),
            latest=np.zeros(room, np.int32),
            nodes=np.zeros((room, kernel.COLUMNS + self.locos), _I64),
            zones=np.zeros(max(room * 16, 2 * self.at_once[1]), _I64),
            heap=np.zeros(room, _I64),
        )

    def bytes_held(self) -> int:
        """What the standings take."""
        store = self.store
        arrays = (store.places, store.latest, store.nodes, store.zones, store.table, store.heap)
        return sum(array.nbytes for array in arrays)

    def bytes_to_grow(self) -> int:
        """What is held for a moment when the room is doubled: the old arrays and the new ones."""
        old = self.store
        return self.bytes_held() + sum(2 * int(getattr(old, name).nbytes) for name in self._short())

    def _short(self) -> set[str]:
        """The arrays that the next expansion might not fit in."""
        old = self.store
        places, nodes, zones = (int(size) for size in old.sizes[:3])
        short: set[str] = set()
        if len(old.places) - places < self.at_once[0]:
            short |= {"places", "latest"}
        if len(old.nodes) - nodes < self.at_once[0]:
            short |= {"nodes", "heap"}
        if len(old.zones) - zones < self.at_once[1]:
            short.add("zones")
        if 2 * places > len(old.table):
            short.add("table")
        return short

    def grow(self) -> None:
        """Twice the room in what is full."""
        short = self._short()
        fresh = {name: _doubled(getattr(self.store, name)) for name in short - {"table"}}
        if "table" in short:
            fresh["table"] = np.full(2 * len(self.store.table), -1, _I64)
        self.store = self.store._replace(**fresh)
        if "table" in short:
            kernel.rehash(self.store, self.store.table, self.width)

    def ask_for_no_end(self) -> None:
        """Have no standing given back as one in which the work may be done."""
        self._views["wanted"][:] = 0

    # ---- standings, in and out

    def _lay(self, standing: Standing) -> None:
        """Put a standing into layer 3."""
        at = self._views
        at["count"][3] = len(standing.strings)
        at["inside_len"][3, :] = 0
        inside = dict(standing.inside)
        for slot, string in enumerate(standing.strings):
            at["alive"][3, slot] = 1
            at["path_len"][3, slot] = len(string.ways)
            at["path"][3, slot, : len(string.ways)] = string.ways
            at["token_len"][3, slot] = len(string.tokens)
            at["tokens"][3, slot, : len(string.tokens)] = string.tokens
            if len(string.ways) == 1 and string.ways[0] >> 1 not in inside:
                inside[string.ways[0] >> 1] = (slot,)
        for cell, order in inside.items():
            at["inside_len"][3, cell] = len(order)
            at["inside"][3, cell, : len(order)] = order
        at["last"][3] = standing.last
        at["lined"][3] = standing.lined
        at["moving"][3] = standing.moving
        n = 1 + len(standing.strings) * (2 if self.rules.mirrored else 1)
        at["zone"][3, :n, :n] = np.array(standing.zone, _I64).reshape(n, n)

    def standing(self, node: int) -> Standing:
        """The standing of a node."""
        store = self.store
        row = store.places[store.nodes[node, kernel.OF_PLACE]].tolist()
        count, at = row[0], 1 + self.tables
        lined, mover = tuple(row[1:at]), int(store.nodes[node, kernel.MOVER])
        at += 2
        strings = []
        inside: dict[int, list[tuple[int, int]]] = {}
        for slot in range(count):
            cells, size, rank = row[at : at + 3]
            ways = tuple(row[at + 3 : at + 3 + cells])
            strings.append(String(ways, tuple(row[at + 3 + cells : at + 3 + cells + size])))
            at += 3 + cells + size
            if cells == 1:
                inside.setdefault(ways[0] >> 1, []).append((rank, slot))
        begin = int(store.nodes[node, kernel.ZONE_AT])
        standing = Standing(
            tuple(strings),
            tuple(
                (cell, tuple(slot for _, slot in sorted(order)))
                for cell, order in sorted(inside.items())
                if len(order) > 1
            ),
            tuple(int(one) for one in store.nodes[node, kernel.COLUMNS :]),
            lined,
            (),
            (-1, -1) if mover < 0 else (mover >> 1, mover & 1),
        )
        if isinstance(self.rules, LooseRules):
            return self.rules.with_cars(standing, store.zones[begin : begin + self.nodes**2].tolist())
        n = 1 + count * (2 if self.rules.mirrored else 1)
        return standing._replace(zone=tuple(store.zones[begin : begin + n * n].tolist()))

    def node(self, number: int) -> EventNode:
        """A node and all before it, as the plain search would have them."""
        chain = []
        while number >= 0:
            chain.append(number)
            number = int(self.store.nodes[number, kernel.PARENT])
        found: EventNode | None = None
        for one in reversed(chain):
            row = self.store.nodes[one]
            event, *rest = (int(value) for value in row[kernel.ACTION : kernel.COLUMNS])
            action = None if found is None else Action._make((_EVENTS[event], *rest, False))
            standing, moves = self.standing(one), 0
            if found is not None:
                turned = sum(map(ne, found.standing.last, standing.last))
                moves = found.cost.moves + turned
            found = EventNode(standing, found, action, Cost(moves, 0, 0), figures=(int(row[kernel.COST]),))
        assert found is not None
        return found


def _seen(rules: Rules) -> int:
    if isinstance(rules, CoarseRules):
        return kernel.COARSELY
    return kernel.LOOSELY if isinstance(rules, LooseRules) else 0


def _doubled(array: _Array) -> _Array:
    """Twice as long; the new half is zeros, which take no memory before they are written to."""
    fresh = np.zeros((2 * len(array), *array.shape[1:]), array.dtype)
    fresh[: len(array)] = array
    return fresh


def _flat(
    rules: Rules,
    charges: Charges,
    sizes: tuple[int, int],
    at_once: tuple[int, int],
    arrays: dict[str, _Array],
) -> tuple[_Array, dict[str, _Array]]:
    """All in one array, as the kernel wants it, and a view of each table in it."""
    p = rules.p
    scalars = [
        len(rules.lengths),
        len(p.start_lined),
        len(p.loco_names),
        *sizes,
        rules.orientation is not None,
        rules.mirrored,
        rules.several,
        p.has_limits,
        p.has_exempt,
        not p.keep_clear_always,
        bool(p.keep_clear_always),
        *charges[:4],
        _seen(rules),
        *at_once,
    ]
    begin = len(kernel.SCALARS) + 3 * len(kernel.TABLE_NAMES)
    directory: list[int] = []
    for name in kernel.TABLE_NAMES:
        shape = arrays[name].shape
        directory += [begin, *(int(np.prod(shape[i + 1 :])) for i in range(len(shape) - 1))]
        directory += [0] * (3 - len(shape))
        begin += arrays[name].size
    memory = np.concatenate(
        [np.array([*scalars, *directory], _I64)]
        + [arrays[name].astype(_I64).ravel() for name in kernel.TABLE_NAMES]
    )
    views = {}
    for name, at in zip(kernel.TABLE_NAMES, directory[::3], strict=True):
        views[name] = memory[at : at + arrays[name].size].reshape(arrays[name].shape)
    return memory, views


def _drafts(
    cells: int, tables: int, locos: int, vehicles: int, strings: int, path: int, nodes: int, width: int
) -> dict[str, _Array]:
    layers = 5
    shapes: dict[str, tuple[int, ...]] = {
        "count": (layers,),
        "alive": (layers, strings),
        "path_len": (layers, strings),
        "path": (layers, strings, path),
        "token_len": (layers, strings),
        "tokens": (layers, strings, vehicles + 1),
        "inside_len": (layers, cells),
        "inside": (layers, cells, strings + 1),
        "last": (layers, locos),
        "lined": (layers, tables),
        "moving": (layers, 2),
        "zone": (layers, nodes, nodes),
        "sides": (3, path * (vehicles + 1)),
        "sides_len": (2,),
        "scratch": (4, max(path, nodes, vehicles) + 4),
        "place": (width,),
        "order": (3, strings + 1),
        "out": (nodes, nodes),
    }
    drafts = {name: np.zeros(shape, _I64) for name, shape in shapes.items()}
    drafts["moving"][:] = -1
    return drafts


def _set_up(rules: Rules, goal: Goal, charges: Charges) -> dict[str, _Array]:
    """The tables that tell about the set-up."""
    p = rules.p
    cells, tokens = len(rules.lengths), 2 * len(p.classes)
    whats = [p.classes[token >> 1] for token in range(tokens)]
    conflicts = [list(row) for row in p.conflicts]
    linings, strides = _linings(rules)
    rows = [[list(p.ahead(way, lined)) for way in range(2 * cells)] for lined in linings]
    starts = np.zeros((len(linings), 2 * cells + 1), _I64)
    ends = np.cumsum([len(ways) for row in rows for ways in row]).reshape(len(linings), 2 * cells)
    starts[:, 1:] = ends
    starts[1:, 0] = ends[:-1, -1]
    limits = [cell.limits for cell in p.cells] + [p.puzzle.district.limits]
    clear = set(p.keep_clear_always)
    tables = p.puzzle.district.tables
    rows_of_limits = [(one.most_cars, one.longest, one.most_shoved) for one in limits]
    lists: dict[str, Sequence[object]] = {
        "length": rules.lengths,
        "token_length": p.token_lengths,
        "is_loco": p.is_loco,
        "loco_index": p.loco_index,
        "rear_only": [what.rear_only for what in whats],
        "counts_as_car": [what.counts_as_car for what in whats],
        "moved": p.moved,
        "exempt": [what.exempt for what in p.classes],
        "conflict_start": np.cumsum([0, *(len(row) for row in conflicts)]).tolist(),
        "conflicts": [one for row in conflicts for one in row],
        "may_touch": p.may_touch,
        "all_may_touch": p.all_may_touch,
        "ahead": [one for row in rows for ways in row for one in ways],
        "clear_always": [cell in clear for cell in range(cells)],
        "limits": [[-1 if one is None else one for one in row] for row in rows_of_limits],
        "orientation": rules.orientation or (),
        "per_entry": charges.entry,
        "table_meets": [len(table.meets) for table in tables],
        "lining_stride": strides,
        "wanted": [
            [cell in goal.wanted_cells(number) for cell in range(cells)] for number in range(len(p.classes))
        ],
    }
    found = {name: np.array(values, _I64) for name, values in lists.items()}
    found["ahead_start"] = starts
    found["table_cells"] = np.array(
        [[cell in p.cells_of_track.get(table.name, ()) for cell in range(cells)] for table in tables], _I64
    ).reshape(len(tables), cells)
    return found


def _linings(rules: Rules) -> tuple[list[tuple[int, ...]], list[int]]:
    """All linings of the tables, in the order of their numbers, and what each table's index counts for."""
    sizes = [len(table.meets) for table in rules.p.puzzle.district.tables]
    linings: list[tuple[int, ...]] = [()]
    for size in sizes:
        linings = [(*lined, index) for lined in linings for index in range(size)]
    strides = [1] * len(sizes)
    for i in range(len(sizes) - 2, -1, -1):
        strides[i] = strides[i + 1] * sizes[i + 1]
    return linings, strides
