# jitted functions have no annotations: numba finds their types
# mypy: disable-error-code="no-untyped-call"
"""Everything reached: places found by hashing, nodes that are linked by their place, and those that wait.

A standing is kept as a row of numbers (its *place*: everything but zone and directions); nodes with the same
place are linked.
"""

from __future__ import annotations

from typing import Any, NamedTuple

import numpy as np
from numba import types
from numba.extending import register_jitable

from switchsolve.kernel.event_kernel import memory as where
from switchsolve.kernel.event_kernel.memory import ANY_WAY

__all__ = [
    "ACTION",
    "COLUMNS",
    "COST",
    "COUPLE",
    "DROPPED",
    "ENTER",
    "FOLLOWING",
    "GO",
    "LAST",
    "LEAVE",
    "LINE",
    "MEMORY",
    "MOVER",
    "OF_PLACE",
    "PARENT",
    "START",
    "STORE",
    "UNDOES",
    "ZONE_AT",
    "Store",
    "find_place",
    "find_slot",
    "hash_of",
    "known_is_no_worse",
    "new_is_no_worse",
    "pop",
    "push",
    "take_mover",
]

Array = np.ndarray[Any, Any]

GO, ENTER, LEAVE, COUPLE, LINE, START = 0, 1, 2, 3, 4, 5
"""How an action begins: what the string came to."""

COLUMNS = 8 + 7
FOLLOWING, OF_PLACE, PARENT, COST, UNDOES, DROPPED, ZONE_AT, MOVER, ACTION = 0, 1, 2, 3, 4, 5, 6, 7, 8
LAST = COLUMNS
"""Columns of a node; ``MOVER`` is twice the slot that is on the move plus its side, or -1; seven for the
action, and from ``LAST`` on one for each locomotive."""


class Store(NamedTuple):
    """Everything reached.  All modified in place."""

    sizes: Array
    """int64[8]: places, nodes, zone numbers used; expanded, generated; waiting; cost reached; last node
    returned."""
    table: Array
    """int64[a power of two]: numbers of places by hash, -1 empty."""
    places: Array
    """int16[room, width]."""
    latest: Array
    """int32[room]: the last node with each place."""
    nodes: Array
    """int64[room, COLUMNS + locomotives]."""
    zones: Array
    """int64[room]."""
    heap: Array
    """int64[room]: the nodes that wait, a heap by cost, then by number: the earlier comes first."""


MEMORY = types.int64[::1]
STORE = types.NamedTuple(
    (
        types.int64[::1],
        types.int64[::1],
        types.int16[:, ::1],
        types.int32[::1],
        types.int64[:, ::1],
        types.int64[::1],
        types.int64[::1],
    ),
    Store,
)


@register_jitable
def hash_of(row):  # type: ignore[no-untyped-def]
    """Of a place."""
    h = np.uint64(1469598103934665603)
    for i in range(row.shape[0]):
        h = (h ^ np.uint64(row[i] + 2)) * np.uint64(1099511628211)
        h ^= h >> np.uint64(29)
    return h


@register_jitable
def find_slot(store, row):  # type: ignore[no-untyped-def]
    """Where in the table the place ``row`` is, or would be."""
    mask = np.uint64(store.table.shape[0] - 1)
    at = np.int64(hash_of(row) & mask)
    while store.table[at] >= 0:
        number = store.table[at]
        same = True
        for i in range(row.shape[0]):
            if store.places[number, i] != row[i]:
                same = False
                break
        if same:
            break
        at = np.int64(np.uint64(at + 1) & mask)
    return at


@register_jitable
def find_place(m, store):  # type: ignore[no-untyped-def]
    """Number of the place in the row ``place``, entered if it is new."""
    row = m[where.place(m, 0) : where.place(m, 0) + m[where.WIDTH]]
    at = find_slot(store, row)
    if store.table[at] >= 0:
        return store.table[at]
    number = store.sizes[0]
    store.sizes[0] += 1
    store.table[at] = number
    for i in range(m[where.WIDTH]):
        store.places[number, i] = row[i]
    store.latest[number] = -1
    return number


@register_jitable
def take_mover(m):  # type: ignore[no-untyped-def]
    """Who is on the move, out of the row ``place``: that is told of the node, not of its place."""
    at = where.place(m, 1 + m[where.TABLES])
    mover = -1 if m[at] < 0 else 2 * m[at] + m[at + 1]
    m[at], m[at + 1] = -1, -1
    return mover


@register_jitable
def known_is_no_worse(m, store, known, cost, mover, n):  # type: ignore[no-untyped-def]
    """Whether a known node can do all that layer 3, with its zone in ``out``, can do at this cost."""
    if mover >= 0 and store.nodes[known, MOVER] != mover:
        return False
    turned = 0
    for i in range(m[where.LOCOS]):
        if store.nodes[known, LAST + i] != m[where.last(m, 3, i)]:
            if not m[where.DIRECTIONS_MAY_DIFFER]:
                return False
            if m[where.last(m, 3, i)] != 0 and store.nodes[known, LAST + i] != ANY_WAY:
                turned += 1
    if store.nodes[known, COST] + turned * m[where.PER_MOVE] > cost:
        return False
    at = store.nodes[known, ZONE_AT]
    for u in range(n):
        for v in range(n):
            if m[where.out(m, u, v)] > store.zones[at + u * n + v]:
                return False
    return True


@register_jitable
def new_is_no_worse(m, store, known, cost, mover, n):  # type: ignore[no-untyped-def]
    """The same the other way round."""
    if store.nodes[known, MOVER] >= 0 and store.nodes[known, MOVER] != mover:
        return False
    turned = 0
    for i in range(m[where.LOCOS]):
        if store.nodes[known, LAST + i] != m[where.last(m, 3, i)]:
            if not m[where.DIRECTIONS_MAY_DIFFER]:
                return False
            if store.nodes[known, LAST + i] != 0 and m[where.last(m, 3, i)] != ANY_WAY:
                turned += 1
    if cost + turned * m[where.PER_MOVE] > store.nodes[known, COST]:
        return False
    at = store.nodes[known, ZONE_AT]
    for u in range(n):
        for v in range(n):
            if store.zones[at + u * n + v] > m[where.out(m, u, v)]:
                return False
    return True


@register_jitable
def _comes_before(store, one, other):  # type: ignore[no-untyped-def]
    mine, its = store.nodes[one, COST], store.nodes[other, COST]
    return mine < its or (mine == its and one < other)


@register_jitable
def push(store, node):  # type: ignore[no-untyped-def]
    """Let a node wait."""
    at = store.sizes[5]
    store.sizes[5] += 1
    while at > 0 and _comes_before(store, node, store.heap[(at - 1) >> 1]):
        store.heap[at] = store.heap[(at - 1) >> 1]
        at = (at - 1) >> 1
    store.heap[at] = node


@register_jitable
def pop(store):  # type: ignore[no-untyped-def]
    """The node that has waited at the least cost."""
    first = store.heap[0]
    store.sizes[5] -= 1
    size = store.sizes[5]
    node, at = store.heap[size], 0
    while 2 * at + 1 < size:
        child = 2 * at + 1
        if child + 1 < size and _comes_before(store, store.heap[child + 1], store.heap[child]):
            child += 1
        if not _comes_before(store, store.heap[child], node):
            break
        store.heap[at] = store.heap[child]
        at = child
    store.heap[at] = node
    return first
