# jitted functions have no annotations: numba finds their types
# mypy: disable-error-code="no-untyped-call"
"""The event search of :mod:`switchsolve.search.events`, compiled.

The rules are those of :mod:`switchsolve.rules`, function by function, on integers; the same standings come
out in the same order, which a test holds it to.  Integers are signed 64-bit.

Everything about the set-up, and the drafts, lies in one array ``m`` of int64: first :data:`SCALARS` numbers,
then for each table of :data:`TABLE_NAMES` where it begins and its two row lengths, then the tables.  (Passing
dozens of arrays to each function makes compiling take minutes.)  ``_path(m, layer, slot, k)`` and the like
are places in ``m``.

A **draft** is one layer: layer 0 the standing that is expanded, 1 the same with its directions set, 2 after a
cut, 3 after an event, 4 for tries.  Zones are difference-bound matrices with a fixed row length; ``zone``
is where one begins in ``m``.  A standing is kept as a row of numbers (its *place*: everything but zone and
directions), found by hashing; nodes with the same place are linked.

Nothing here is imported from elsewhere in the package: a jitted function that called into another file, or
read a constant there, would be cached without noticing that the other file has changed.
"""

from __future__ import annotations

from typing import Any, NamedTuple

import numpy as np
from numba import njit, types
from numba.extending import register_jitable

__all__ = [
    "ANY_WAY",
    "CANDIDATE",
    "COARSELY",
    "COLUMNS",
    "EXHAUSTED",
    "FULL",
    "LIMIT",
    "LOOSELY",
    "MOVER",
    "SCALARS",
    "TABLE_NAMES",
    "Store",
    "begin",
    "meet",
    "nearest",
    "rehash",
    "run",
]

INFINITE = 1 << 60
GO, ENTER, LEAVE, COUPLE, LINE, START = 0, 1, 2, 3, 4, 5
CANDIDATE, EXHAUSTED, LIMIT, FULL = 0, 1, 2, 3
"""Why :func:`run` came back: a standing that may meet the work; nothing left; enough expanded; no room."""
ANY_WAY = 2
"""A last direction that lets the locomotive set out either way for nothing: at the end of a plan, from which
a search goes backwards."""

ENGINES = -2
"""For who may touch what it meets: whatever stands with a locomotive."""

Array = np.ndarray[Any, Any]

SCALARS = (
    "cells", "tables", "locos", "nodes", "width", "has orientation", "mirrored", "several", "has limits",
    "has exempt", "directions may differ", "any clear", "per move", "per coupling", "per cut", "per lining",
    "seen", "most at once", "zones at once",
)  # fmt: skip
"""The first numbers of ``m``: how many cells, tables (turntables and the like) and locomotives; row length
of a zone; length of a place; then what is true of the set-up; then what is charged for one of each; then
how the law is seen (:data:`LOOSELY`, :data:`COARSELY`, or 0), and the most standings that one expansion can
make, with the numbers that their zones take."""
LOOSELY, COARSELY = 1, 2
"""As :class:`switchsolve.rules.LooseRules` see it, or :class:`switchsolve.rules.CoarseRules`."""
CELLS, TABLES, LOCOS, NODES, WIDTH, HAS_ORIENTATION, MIRRORED, SEVERAL = 0, 1, 2, 3, 4, 5, 6, 7
HAS_LIMITS, HAS_EXEMPT, DIRECTIONS_MAY_DIFFER, ANY_CLEAR = 8, 9, 10, 11
PER_MOVE, PER_COUPLING, PER_CUT, PER_LINING, SEEN = 12, 13, 14, 15, 16
MOST_AT_ONCE, ZONES_AT_ONCE = 17, 18
DIRECTORY = 19

TABLE_NAMES = (
    "length",  # [C]
    "token_length",  # [T]
    "is_loco",  # [T]
    "loco_index",  # [T]: -1 for cars
    "rear_only",  # [T]
    "counts_as_car",  # [T]
    "moved",  # [K]
    "exempt",  # [K]
    "conflict_start",  # [C + 1]
    "conflicts",
    "may_touch",  # [C, T]
    "all_may_touch",  # [C]
    "ahead_start",  # [G, 2 * C + 1]
    "ahead",
    "clear_always",  # [C]
    "limits",  # [C + 1, 3]: most cars, longest, most shoved, -1 none; the last row holds everywhere
    "orientation",  # [C]
    "table_cells",  # [N, C]
    "table_meets",  # [N]
    "lining_stride",  # [N]
    "wanted",  # [K, C]
    "per_entry",  # [C]: charged for entering a cell
    "count",  # [L]: slots used
    "alive",  # [L, S]
    "path_len",  # [L, S]
    "path",  # [L, S, P]
    "token_len",  # [L, S]
    "tokens",  # [L, S, V]
    "inside_len",  # [L, C]
    "inside",  # [L, C, S]
    "last",  # [L, J]
    "lined",  # [L, N]
    "moving",  # [L, 2]
    "zone",  # [L, M, M]
    "sides",  # [3, P * V]: cell of the path, vehicle, whether it is before
    "sides_len",  # [2]
    "scratch",  # [4, ...]
    "place",  # [width]
    "order",  # [3, S]: slots in order; rank and whether turned, by slot
    "out",  # [M, M]
)  # fmt: skip
"""The tables in ``m``, with their shapes: C cells, T tokens, K classes, N tables, G linings, L layers, S
slots, P cells of a path, V vehicles, M zone nodes, J locomotives.  Those from ``count`` on are modified in
place."""

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
# Only what Python calls is compiled and kept on disk, with its types named; the rest is compiled into it:
# with each function kept by itself, loading takes three times as long.

# ---- places in m


@register_jitable
def _length(m, i):  # type: ignore[no-untyped-def]
    return m[19] + i


@register_jitable
def _token_length(m, i):  # type: ignore[no-untyped-def]
    return m[22] + i


@register_jitable
def _is_loco(m, i):  # type: ignore[no-untyped-def]
    return m[25] + i


@register_jitable
def _loco_index(m, i):  # type: ignore[no-untyped-def]
    return m[28] + i


@register_jitable
def _rear_only(m, i):  # type: ignore[no-untyped-def]
    return m[31] + i


@register_jitable
def _counts_as_car(m, i):  # type: ignore[no-untyped-def]
    return m[34] + i


@register_jitable
def _moved(m, i):  # type: ignore[no-untyped-def]
    return m[37] + i


@register_jitable
def _exempt(m, i):  # type: ignore[no-untyped-def]
    return m[40] + i


@register_jitable
def _conflict_start(m, i):  # type: ignore[no-untyped-def]
    return m[43] + i


@register_jitable
def _conflicts(m, i):  # type: ignore[no-untyped-def]
    return m[46] + i


@register_jitable
def _may_touch(m, i, j):  # type: ignore[no-untyped-def]
    return m[49] + i * m[50] + j


@register_jitable
def _all_may_touch(m, i):  # type: ignore[no-untyped-def]
    return m[52] + i


@register_jitable
def _ahead_start(m, i, j):  # type: ignore[no-untyped-def]
    return m[55] + i * m[56] + j


@register_jitable
def _ahead(m, i):  # type: ignore[no-untyped-def]
    return m[58] + i


@register_jitable
def _clear_always(m, i):  # type: ignore[no-untyped-def]
    return m[61] + i


@register_jitable
def _limits(m, i, j):  # type: ignore[no-untyped-def]
    return m[64] + i * m[65] + j


@register_jitable
def _orientation(m, i):  # type: ignore[no-untyped-def]
    return m[67] + i


@register_jitable
def _table_cells(m, i, j):  # type: ignore[no-untyped-def]
    return m[70] + i * m[71] + j


@register_jitable
def _table_meets(m, i):  # type: ignore[no-untyped-def]
    return m[73] + i


@register_jitable
def _lining_stride(m, i):  # type: ignore[no-untyped-def]
    return m[76] + i


@register_jitable
def _wanted(m, i, j):  # type: ignore[no-untyped-def]
    return m[79] + i * m[80] + j


@register_jitable
def _per_entry(m, i):  # type: ignore[no-untyped-def]
    return m[82] + i


@register_jitable
def _count(m, i):  # type: ignore[no-untyped-def]
    return m[85] + i


@register_jitable
def _alive(m, i, j):  # type: ignore[no-untyped-def]
    return m[88] + i * m[89] + j


@register_jitable
def _path_len(m, i, j):  # type: ignore[no-untyped-def]
    return m[91] + i * m[92] + j


@register_jitable
def _path(m, i, j, k):  # type: ignore[no-untyped-def]
    return m[94] + i * m[95] + j * m[96] + k


@register_jitable
def _token_len(m, i, j):  # type: ignore[no-untyped-def]
    return m[97] + i * m[98] + j


@register_jitable
def _tokens(m, i, j, k):  # type: ignore[no-untyped-def]
    return m[100] + i * m[101] + j * m[102] + k


@register_jitable
def _inside_len(m, i, j):  # type: ignore[no-untyped-def]
    return m[103] + i * m[104] + j


@register_jitable
def _inside(m, i, j, k):  # type: ignore[no-untyped-def]
    return m[106] + i * m[107] + j * m[108] + k


@register_jitable
def _last(m, i, j):  # type: ignore[no-untyped-def]
    return m[109] + i * m[110] + j


@register_jitable
def _lined(m, i, j):  # type: ignore[no-untyped-def]
    return m[112] + i * m[113] + j


@register_jitable
def _moving(m, i, j):  # type: ignore[no-untyped-def]
    return m[115] + i * m[116] + j


@register_jitable
def _zone_at(m, i, j, k):  # type: ignore[no-untyped-def]
    return m[118] + i * m[119] + j * m[120] + k


@register_jitable
def _sides(m, i, j):  # type: ignore[no-untyped-def]
    return m[121] + i * m[122] + j


@register_jitable
def _sides_len(m, i):  # type: ignore[no-untyped-def]
    return m[124] + i


@register_jitable
def _scratch(m, i, j):  # type: ignore[no-untyped-def]
    return m[127] + i * m[128] + j


@register_jitable
def _place(m, i):  # type: ignore[no-untyped-def]
    return m[130] + i


@register_jitable
def _order(m, i, j):  # type: ignore[no-untyped-def]
    return m[133] + i * m[134] + j


@register_jitable
def _out(m, i, j):  # type: ignore[no-untyped-def]
    return m[136] + i * m[137] + j


@register_jitable
def _at(m, zone, u, v):  # type: ignore[no-untyped-def]
    return zone + u * m[NODES] + v


@register_jitable
def _zone(m, layer):  # type: ignore[no-untyped-def]
    return _zone_at(m, layer, 0, 0)


# ---- zones


@register_jitable
def _node(mirrored, slot, sign):  # type: ignore[no-untyped-def]
    if mirrored:
        return 1 + 2 * slot + (1 if sign < 0 else 0)
    return 1 + slot


@register_jitable
def _tighten(m, zone, n, u, v, bound):  # type: ignore[no-untyped-def]
    if bound >= m[_at(m, zone, u, v)]:
        return True
    if m[_at(m, zone, v, u)] + bound < 0:
        return False
    for i in range(n):
        through = m[_at(m, zone, i, u)] + bound
        if through < INFINITE // 2:
            for j in range(n):
                if through + m[_at(m, zone, v, j)] < m[_at(m, zone, i, j)]:
                    m[_at(m, zone, i, j)] = through + m[_at(m, zone, v, j)]
    return True


@register_jitable
def _at_least(m, zone, n, mirrored, slot, sign, bound):  # type: ignore[no-untyped-def]
    if mirrored:
        node, twin = _node(1, slot, sign), _node(1, slot, -sign)
        return _tighten(m, zone, n, 0, node, -bound) and _tighten(m, zone, n, twin, 0, -bound)
    if sign > 0:
        return _tighten(m, zone, n, 0, 1 + slot, -bound)
    return _tighten(m, zone, n, 1 + slot, 0, -bound)


@register_jitable
def _sum_at_least(m, zone, n, mirrored, one, sign, other, other_sign, bound):  # type: ignore[no-untyped-def]
    if mirrored:
        return _tighten(m, zone, n, _node(1, one, -sign), _node(1, other, other_sign), -bound) and _tighten(
            m, zone, n, _node(1, other, -other_sign), _node(1, one, sign), -bound
        )
    if sign < 0:
        return _tighten(m, zone, n, 1 + one, 1 + other, -bound)
    return _tighten(m, zone, n, 1 + other, 1 + one, -bound)


@register_jitable
def _release(m, zone, n, mirrored, slot, sign):  # type: ignore[no-untyped-def]
    if mirrored or sign > 0:
        grows = _node(mirrored, slot, sign)
        for j in range(n):
            if j != grows:
                m[_at(m, zone, grows, j)] = INFINITE
    if mirrored or sign < 0:
        shrinks = _node(mirrored, slot, -sign)
        for j in range(n):
            if j != shrinks:
                m[_at(m, zone, j, shrinks)] = INFINITE


@register_jitable
def _most(m, zone, mirrored, slot, sign):  # type: ignore[no-untyped-def]
    if mirrored:
        return m[_at(m, zone, _node(1, slot, sign), 0)]
    return m[_at(m, zone, 1 + slot, 0)] if sign > 0 else m[_at(m, zone, 0, 1 + slot)]


@register_jitable
def _least(m, zone, mirrored, slot):  # type: ignore[no-untyped-def]
    """The least value of ``x_slot``."""
    return -m[_at(m, zone, 0, _node(mirrored, slot, 1))]


@register_jitable
def _shift(m, zone, n, mirrored, slot, by):  # type: ignore[no-untyped-def]
    """``x_slot`` counted from elsewhere: the new one is the old one plus ``by``."""
    if by == 0:
        return
    node = _node(mirrored, slot, 1)
    for v in range(n):
        if v != node:
            m[_at(m, zone, node, v)] += by
            m[_at(m, zone, v, node)] -= by
    if mirrored:
        for v in range(n):
            if v != node + 1:
                m[_at(m, zone, node + 1, v)] -= by
                m[_at(m, zone, v, node + 1)] += by


@register_jitable
def _twin(m, zone, n, mirrored, old, new, by):  # type: ignore[no-untyped-def]
    """Add string ``new`` (the next number) with ``x_new = x_old + by``."""
    size = 2 if mirrored else 1
    for k in range(size):
        source, target = _node(mirrored, old, 1) + k, n + k
        move = by if k == 0 else -by
        for v in range(n):
            m[_at(m, zone, target, v)] = m[_at(m, zone, source, v)] + move
            m[_at(m, zone, v, target)] = m[_at(m, zone, v, source)] - move
        m[_at(m, zone, target, target)] = 0
    if mirrored:
        source = _node(1, old, 1)
        m[_at(m, zone, n, n + 1)] = m[_at(m, zone, source, source + 1)] + 2 * by
        m[_at(m, zone, n + 1, n)] = m[_at(m, zone, source + 1, source)] - 2 * by


# ---- small measures


@register_jitable
def _size(m, layer):  # type: ignore[no-untyped-def]
    return 1 + m[_count(m, layer)] * (2 if m[MIRRORED] else 1)


@register_jitable
def _string_length(m, layer, slot):  # type: ignore[no-untyped-def]
    total = 0
    for v in range(m[_token_len(m, layer, slot)]):
        total += m[_token_length(m, m[_tokens(m, layer, slot, v)])]
    return total


@register_jitable
def _path_length(m, layer, slot):  # type: ignore[no-untyped-def]
    total = 0
    for k in range(m[_path_len(m, layer, slot)]):
        total += m[_length(m, m[_path(m, layer, slot, k)] >> 1)]
    return total


@register_jitable
def _facing(m, layer, slot, side):  # type: ignore[no-untyped-def]
    if side:
        return m[_path(m, layer, slot, m[_path_len(m, layer, slot)] - 1)]
    return m[_path(m, layer, slot, 0)] ^ 1


@register_jitable
def _couples(m, layer, slot, side):  # type: ignore[no-untyped-def]
    token = m[_tokens(m, layer, slot, m[_token_len(m, layer, slot)] - 1 if side else 0)]
    if not m[_rear_only(m, token)]:
        return True
    return (not token & 1) != bool(side)


@register_jitable
def _has_loco(m, layer, slot):  # type: ignore[no-untyped-def]
    for v in range(m[_token_len(m, layer, slot)]):
        if m[_is_loco(m, m[_tokens(m, layer, slot, v)])]:
            return True
    return False


@register_jitable
def _lining(m, layer):  # type: ignore[no-untyped-def]
    number = 0
    for i in range(m[TABLES]):
        number += m[_lined(m, layer, i)] * m[_lining_stride(m, i)]
    return number


@register_jitable
def _copy(m, source, target):  # type: ignore[no-untyped-def]
    count = m[_count(m, source)]
    m[_count(m, target)] = count
    for s in range(count):
        m[_alive(m, target, s)] = m[_alive(m, source, s)]
        m[_path_len(m, target, s)] = m[_path_len(m, source, s)]
        for k in range(m[_path_len(m, source, s)]):
            m[_path(m, target, s, k)] = m[_path(m, source, s, k)]
        m[_token_len(m, target, s)] = m[_token_len(m, source, s)]
        for v in range(m[_token_len(m, source, s)]):
            m[_tokens(m, target, s, v)] = m[_tokens(m, source, s, v)]
    for c in range(m[CELLS]):
        m[_inside_len(m, target, c)] = m[_inside_len(m, source, c)]
        for i in range(m[_inside_len(m, source, c)]):
            m[_inside(m, target, c, i)] = m[_inside(m, source, c, i)]
    for i in range(m[LOCOS]):
        m[_last(m, target, i)] = m[_last(m, source, i)]
    for i in range(m[TABLES]):
        m[_lined(m, target, i)] = m[_lined(m, source, i)]
    m[_moving(m, target, 0)] = -1
    m[_moving(m, target, 1)] = -1


@register_jitable
def _copy_zone(m, n, source, target):  # type: ignore[no-untyped-def]
    for u in range(n):
        for v in range(n):
            m[_zone_at(m, target, u, v)] = m[_zone_at(m, source, u, v)]


@register_jitable
def _copy_all(m, source, target):  # type: ignore[no-untyped-def]
    _copy(m, source, target)
    _copy_zone(m, _size(m, source), source, target)


# ---- who is where


@register_jitable
def _index_inside(m, layer, cell, slot):  # type: ignore[no-untyped-def]
    for i in range(m[_inside_len(m, layer, cell)]):
        if m[_inside(m, layer, cell, i)] == slot:
            return i
    return -1


@register_jitable
def _insert_inside(m, layer, cell, at, slot):  # type: ignore[no-untyped-def]
    for i in range(m[_inside_len(m, layer, cell)], at, -1):
        m[_inside(m, layer, cell, i)] = m[_inside(m, layer, cell, i - 1)]
    m[_inside(m, layer, cell, at)] = slot
    m[_inside_len(m, layer, cell)] += 1


@register_jitable
def _remove_inside(m, layer, cell, slot):  # type: ignore[no-untyped-def]
    at = _index_inside(m, layer, cell, slot)
    for i in range(at, m[_inside_len(m, layer, cell)] - 1):
        m[_inside(m, layer, cell, i)] = m[_inside(m, layer, cell, i + 1)]
    m[_inside_len(m, layer, cell)] -= 1


@register_jitable
def _beyond(m, layer, way, me, my_index):  # type: ignore[no-untyped-def]
    """2 * slot + side of the string end that protrudes into ``way``'s cell from its far end, or -1."""
    for slot in range(m[_count(m, layer)]):
        if not m[_alive(m, layer, slot)]:
            continue
        size = m[_path_len(m, layer, slot)]
        if size < 2:
            continue
        for k in range(size):
            if (slot == me and k == my_index) or m[_path(m, layer, slot, k)] >> 1 != way >> 1:
                continue
            if m[_path(m, layer, slot, k)] == way and k == 0:
                return 2 * slot
            if m[_path(m, layer, slot, k)] == way ^ 1 and k == size - 1:
                return 2 * slot + 1
    return -1


@register_jitable
def _end_met(m, layer, slot, way):  # type: ignore[no-untyped-def]
    return 2 * slot + (0 if m[_path(m, layer, slot, 0)] == way else 1)


@register_jitable
def _neighbour(m, layer, slot, side):  # type: ignore[no-untyped-def]
    way = _facing(m, layer, slot, side)
    cell = way >> 1
    size = m[_inside_len(m, layer, cell)]
    is_inside = m[_path_len(m, layer, slot)] == 1
    if way & 1:
        at = (_index_inside(m, layer, cell, slot) if is_inside else size) - 1
    else:
        at = (_index_inside(m, layer, cell, slot) if is_inside else -1) + 1
    if 0 <= at < size:
        return _end_met(m, layer, m[_inside(m, layer, cell, at)], way)
    return _beyond(m, layer, way, slot, m[_path_len(m, layer, slot)] - 1 if side else 0)


@register_jitable
def _first_on(m, layer, way):  # type: ignore[no-untyped-def]
    size = m[_inside_len(m, layer, way >> 1)]
    if size:
        slot = m[_inside(m, layer, way >> 1, size - 1 if way & 1 else 0)]
        return _end_met(m, layer, slot, way)
    return _beyond(m, layer, way, -1, -1)


# ---- what a standing demands of positions


@register_jitable
def _demand_span(m, layer, slot):  # type: ignore[no-untyped-def]
    zone, n, mirrored = _zone(m, layer), _size(m, layer), m[MIRRORED]
    slack = _path_length(m, layer, slot) - _string_length(m, layer, slot)
    if slack < 0:
        return False
    if not (
        _at_least(m, zone, n, mirrored, slot, 1, 0) and _at_least(m, zone, n, mirrored, slot, -1, -slack)
    ):
        return False
    size = m[_path_len(m, layer, slot)]
    if size == 1:
        return True
    first = m[_length(m, m[_path(m, layer, slot, 0)] >> 1)]
    last = m[_length(m, m[_path(m, layer, slot, size - 1)] >> 1)]
    return _at_least(m, zone, n, mirrored, slot, -1, -first) and _at_least(
        m, zone, n, mirrored, slot, 1, slack - last
    )


@register_jitable
def _room_constant(m, layer, slot, side):  # type: ignore[no-untyped-def]
    if side:
        return _path_length(m, layer, slot) - _string_length(m, layer, slot)
    return 0


@register_jitable
def _demand_gap(m, layer, slot, side, met, overlap, moving):  # type: ignore[no-untyped-def]
    other, other_side = met >> 1, met & 1
    gap = 0
    if _couples(m, layer, slot, side) and _couples(m, layer, other, other_side):
        gap = 1
    if (moving == 2 * slot + side or moving == met) and other != slot:
        gap = 0
    if moving == ENGINES and (_has_loco(m, layer, slot) or _has_loco(m, layer, other)):
        gap = 0
    need = overlap + gap - _room_constant(m, layer, slot, side)
    need -= _room_constant(m, layer, other, other_side)
    if other == slot:
        return need <= 0
    return _sum_at_least(
        m,
        _zone(m, layer),
        _size(m, layer),
        m[MIRRORED],
        slot,
        -1 if side else 1,
        other,
        -1 if other_side else 1,
        need,
    )


@register_jitable
def _demand_end(m, layer, slot, side, moving):  # type: ignore[no-untyped-def]
    way = _facing(m, layer, slot, side)
    met = _neighbour(m, layer, slot, side)
    if met >= 0:
        return _demand_gap(m, layer, slot, side, met, m[_length(m, way >> 1)], moving)
    lining = _lining(m, layer)
    for i in range(m[_ahead_start(m, lining, way)], m[_ahead_start(m, lining, way + 1)]):
        met = _first_on(m, layer, m[_ahead(m, i)])
        if met >= 0 and not _demand_gap(m, layer, slot, side, met, 0, moving):
            return False
    return True


@register_jitable
def _demand(m, layer, slot, leading):  # type: ignore[no-untyped-def]
    if not _demand_span(m, layer, slot):
        return False
    moving = 2 * slot + leading if leading >= 0 else -1
    return _demand_end(m, layer, slot, 1, moving) and _demand_end(m, layer, slot, 0, moving)


@register_jitable
def _comes_to_rest(m, layer, but):  # type: ignore[no-untyped-def]
    for slot in range(m[_count(m, layer)]):
        if m[_alive(m, layer, slot)] and _has_loco(m, layer, slot):
            for side in (1, 0):
                if 2 * slot + side != but and not _demand_end(m, layer, slot, side, but):
                    return False
    return True


# ---- marks


@register_jitable
def _find_sides(m, layer, slot):  # type: ignore[no-untyped-def]
    count = 0
    begin = 0
    most = _most(m, _zone(m, layer), m[MIRRORED], slot, 1)
    for k in range(m[_path_len(m, layer, slot)]):
        cell = m[_path(m, layer, slot, k)] >> 1
        if not m[_all_may_touch(m, cell)]:
            offset = 0
            for v in range(m[_token_len(m, layer, slot)]):
                token = m[_tokens(m, layer, slot, v)]
                length = m[_token_length(m, token)]
                if not m[_may_touch(m, cell, token)]:
                    m[_sides(m, 0, count)] = k
                    m[_sides(m, 1, count)] = v
                    m[_sides(m, 2, count)] = 1 if most + offset + length <= begin else 0
                    count += 1
                offset += length
        begin += m[_length(m, cell)]
    m[_sides_len(m, 0)] = count
    m[_sides_len(m, 1)] = count


@register_jitable
def _demand_sides(m, layer, slot, shift, low, high):  # type: ignore[no-untyped-def]
    """Keep vehicles on their sides; path indexes are moved by ``shift``, those outside low..high left out.

    Entries from ``sides_len[0]`` on are new: their indexes are not moved.
    """
    zone, n, mirrored = _zone(m, layer), _size(m, layer), m[MIRRORED]
    for entry in range(m[_sides_len(m, 1)]):
        k = m[_sides(m, 0, entry)]
        if entry < m[_sides_len(m, 0)]:
            k += shift
            if k < low or k > high:
                continue
        v = m[_sides(m, 1, entry)]
        begin = 0
        for i in range(k):
            begin += m[_length(m, m[_path(m, layer, slot, i)] >> 1)]
        offset = 0
        for i in range(v):
            offset += m[_token_length(m, m[_tokens(m, layer, slot, i)])]
        if m[_sides(m, 2, entry)]:
            bound = offset + m[_token_length(m, m[_tokens(m, layer, slot, v)])] - begin
            if not _at_least(m, zone, n, mirrored, slot, -1, bound):
                return False
        else:
            end = begin + m[_length(m, m[_path(m, layer, slot, k)] >> 1)]
            if not _at_least(m, zone, n, mirrored, slot, 1, end - offset):
                return False
    return True


@register_jitable
def _within(m, layer, slot, side, row):  # type: ignore[no-untyped-def]
    cars, length, ahead = 0, 0, 0
    size = m[_token_len(m, layer, slot)]
    for v in range(size):
        token = m[_tokens(m, layer, slot, v)]
        if m[_counts_as_car(m, token)]:
            cars += 1
            length += m[_token_length(m, token)]
    if m[_limits(m, row, 0)] >= 0 and cars > m[_limits(m, row, 0)]:
        return False
    if m[_limits(m, row, 1)] >= 0 and length > m[_limits(m, row, 1)]:
        return False
    if m[_limits(m, row, 2)] >= 0:
        for v in range(size):
            if m[_is_loco(m, m[_tokens(m, layer, slot, size - 1 - v if side else v)])]:
                break
            ahead += 1
        return ahead <= m[_limits(m, row, 2)]
    return True


@register_jitable
def _may_move(m, layer, slot, side):  # type: ignore[no-untyped-def]
    if not m[HAS_LIMITS]:
        return True
    if not _within(m, layer, slot, side, m[CELLS]):
        return False
    for k in range(m[_path_len(m, layer, slot)]):
        if not _within(m, layer, slot, side, m[_path(m, layer, slot, k)] >> 1):
            return False
    return True


@register_jitable
def _keep_clear(m):  # type: ignore[no-untyped-def]
    """Layer 1: vehicles that have moved kept off the parts to be kept clear at every reversal; ``False`` if
    one stands there uncoupled.  Where one could stand on either side of such a part, which takes two that
    have not moved and a part covered by now the one, now the other, it is not kept off: a plan in which it
    stood on it the referee would refuse.
    """
    if not m[ANY_CLEAR]:
        return True
    zone, n, mirrored = _zone(m, 1), _size(m, 1), m[MIRRORED]
    for slot in range(m[_count(m, 1)]):
        if _has_loco(m, 1, slot):
            continue
        size, moved = m[_token_len(m, 1, slot)], 0
        for v in range(size):
            moved += not m[_exempt(m, m[_tokens(m, 1, slot, v)] >> 1)]
        begin = 0
        for k in range(m[_path_len(m, 1, slot)]):
            cell = m[_path(m, 1, slot, k)] >> 1
            if m[_clear_always(m, cell)]:
                if moved == size:
                    return False
                offset = 0
                for v in range(size):
                    token = m[_tokens(m, 1, slot, v)]
                    length = m[_token_length(m, token)]
                    if not m[_exempt(m, token >> 1)]:
                        low, high = begin - offset - length, begin + m[_length(m, cell)] - offset
                        _copy_zone(m, n, 1, 4)
                        before = _at_least(m, zone, n, mirrored, slot, -1, -low)
                        _copy_zone(m, n, 4, 1)
                        after = _at_least(m, zone, n, mirrored, slot, 1, high)
                        if before:
                            _copy_zone(m, n, 4, 1)
                            if not after:
                                _at_least(m, zone, n, mirrored, slot, -1, -low)
                        elif not after:
                            return False
                    offset += length
            begin += m[_length(m, cell)]
    return True


# ---- how a run begins


@register_jitable
def _turn(m, slot, side, going):  # type: ignore[no-untyped-def]
    """Layer 1: layer 0 with the directions of the locomotives that go set; the moves it costs, or -1."""
    _copy_all(m, 0, 1)
    size = m[_token_len(m, 0, slot)]
    low = size - going if side else 0
    moves = 0
    is_reversal = False
    for v in range(low, low + going):
        token = m[_tokens(m, 0, slot, v)]
        loco = m[_loco_index(m, token)]
        if loco >= 0:
            way = 1 if bool(side) != bool(token & 1) else -1
            if m[_last(m, 1, loco)] == ANY_WAY:
                m[_last(m, 1, loco)] = way
            elif m[_last(m, 1, loco)] != way:
                moves += 1
                is_reversal = is_reversal or m[_last(m, 1, loco)] != 0
                m[_last(m, 1, loco)] = way
    but = 2 * slot + side
    if going < size or (m[SEVERAL] and (m[_moving(m, 0, 0)] != slot or m[_moving(m, 0, 1)] != side)):
        but = -1
    if not _comes_to_rest(m, 1, but):
        return -1
    if is_reversal and not _keep_clear(m):
        return -1
    if m[HAS_EXEMPT]:
        for v in range(low, low + going):
            token = m[_tokens(m, 1, slot, v)]
            m[_tokens(m, 1, slot, v)] = 2 * m[_moved(m, token >> 1)] + (token & 1)
    return moves


@register_jitable
def _part(m, slot, side, going, joint):  # type: ignore[no-untyped-def]
    """Layer 2: layer 1 with the string cut at a joint that lies in cell number ``joint`` of its path."""
    mirrored = m[MIRRORED]
    size, cells = m[_token_len(m, 1, slot)], m[_path_len(m, 1, slot)]
    begin = 0
    for k in range(joint):
        begin += m[_length(m, m[_path(m, 1, slot, k)] >> 1)]
    cell_length = m[_length(m, m[_path(m, 1, slot, joint)] >> 1)]
    first = size - going if side else going
    low_length = 0
    for v in range(first):
        low_length += m[_token_length(m, m[_tokens(m, 1, slot, v)])]
    nearest = begin + (1 if side else 0) - low_length
    farthest = begin + cell_length - (0 if side else 1) - low_length
    # most joints lie in other cells: seen before anything is copied
    zone = _zone(m, 1)
    if _most(m, zone, mirrored, slot, 1) < nearest or _least(m, zone, mirrored, slot) > farthest:
        return False
    _copy_all(m, 1, 2)
    zone, n = _zone(m, 2), _size(m, 2)
    if not (
        _at_least(m, zone, n, mirrored, slot, 1, nearest)
        and _at_least(m, zone, n, mirrored, slot, -1, -farthest)
    ):
        return False
    new = m[_count(m, 2)]
    low, high = (new, slot) if side else (slot, new)
    # the high part takes the path from the joint on, the low part the path up to it
    for k in range(cells):
        m[_scratch(m, 0, k)] = m[_path(m, 2, slot, k)]
    for v in range(size):
        m[_scratch(m, 1, v)] = m[_tokens(m, 2, slot, v)]
    m[_alive(m, 2, new)] = True
    m[_path_len(m, 2, low)] = joint + 1
    for k in range(joint + 1):
        m[_path(m, 2, low, k)] = m[_scratch(m, 0, k)]
    m[_token_len(m, 2, low)] = first
    for v in range(first):
        m[_tokens(m, 2, low, v)] = m[_scratch(m, 1, v)]
    m[_path_len(m, 2, high)] = cells - joint
    for k in range(cells - joint):
        m[_path(m, 2, high, k)] = m[_scratch(m, 0, joint + k)]
    m[_token_len(m, 2, high)] = size - first
    for v in range(size - first):
        m[_tokens(m, 2, high, v)] = m[_scratch(m, 1, first + v)]
    by = low_length - begin
    if side:
        _twin(m, zone, n, mirrored, slot, new, 0)
        m[_count(m, 2)] = new + 1
        _shift(m, zone, _size(m, 2), mirrored, slot, by)
    else:
        _twin(m, zone, n, mirrored, slot, new, by)
        m[_count(m, 2)] = new + 1
    if cells == 1:
        way = m[_scratch(m, 0, 0)]
        at = _index_inside(m, 2, way >> 1, slot)
        _remove_inside(m, 2, way >> 1, slot)
        _insert_inside(m, 2, way >> 1, at, high if not way & 1 else low)
        _insert_inside(m, 2, way >> 1, at, low if not way & 1 else high)
        return True
    for one in (low, high):
        if m[_path_len(m, 2, one)] == 1:
            way = m[_path(m, 2, one, 0)]
            at_from = (one == low) == bool(way & 1)
            _insert_inside(m, 2, way >> 1, 0 if at_from else m[_inside_len(m, 2, way >> 1)], one)
    return True


# ---- events


@register_jitable
def _leave(m, slot, side):  # type: ignore[no-untyped-def]
    """Layer 3: the trailing end leaves its cell."""
    cells = m[_path_len(m, 2, slot)]
    if cells == 1:
        return False
    gone = m[_length(m, m[_path(m, 2, slot, 0 if side else cells - 1)] >> 1)]
    if _path_length(m, 2, slot) - gone < _string_length(m, 2, slot):
        return False
    _copy_all(m, 2, 3)
    m[_path_len(m, 3, slot)] = cells - 1
    shift, low, high = 0, 0, cells - 2
    if side:
        for k in range(cells - 1):
            m[_path(m, 3, slot, k)] = m[_path(m, 2, slot, k + 1)]
        _shift(m, _zone(m, 3), _size(m, 3), m[MIRRORED], slot, -gone)
        shift = -1
    if cells == 2:
        way = m[_path(m, 3, slot, 0)]
        at_from = bool(way & 1) != bool(side)
        _insert_inside(m, 3, way >> 1, 0 if at_from else m[_inside_len(m, 3, way >> 1)], slot)
    return _demand(m, 3, slot, side) and _demand_sides(m, 3, slot, shift, low, high)


@register_jitable
def _is_open(m, layer, slot, way):  # type: ignore[no-untyped-def]
    cell = way >> 1
    for i in range(m[_conflict_start(m, cell)], m[_conflict_start(m, cell + 1)]):
        for other in range(m[_count(m, layer)]):
            if m[_alive(m, layer, other)]:
                for k in range(m[_path_len(m, layer, other)]):
                    if m[_path(m, layer, other, k)] >> 1 == m[_conflicts(m, i)]:
                        return False
    for other in range(m[_count(m, layer)]):
        if not m[_alive(m, layer, other)]:
            continue
        size = m[_path_len(m, layer, other)]
        for k in range(size):
            if m[_path(m, layer, other, k)] >> 1 != cell:
                continue
            if other == slot:
                if not (k == 0 and m[_path(m, layer, other, 0)] == way) and not (
                    k == size - 1 and m[_path(m, layer, other, size - 1)] == way ^ 1
                ):
                    return False
                if size == 1:
                    return False
            elif m[_path(m, layer, other, k)] == way:
                if k:
                    return False
            elif k + 1 < size:
                return False
    return True


@register_jitable
def _fills_all_but_its_last(m, slot, side):  # type: ignore[no-untyped-def]
    """Layer 2: whether the string is as long as its path without the cell at its trailing end."""
    cells = m[_path_len(m, 2, slot)]
    last = m[_length(m, m[_path(m, 2, slot, 0 if side else cells - 1)] >> 1)]
    return cells > 1 and _path_length(m, 2, slot) - last == _string_length(m, 2, slot)


@register_jitable
def _enter(m, slot, side, cut, way):  # type: ignore[no-untyped-def]
    """Layer 3: the leading end enters ``way``; what was cut off so that it stands from edge to edge of its
    other cells leaves the last one at once.
    """
    token = m[_tokens(m, 2, slot, m[_token_len(m, 2, slot)] - 1 if side else 0)]
    cell = way >> 1
    if not m[_may_touch(m, cell, token)] or not _is_open(m, 2, slot, way):
        return False
    if m[HAS_LIMITS] and not _within(m, 2, slot, side, cell):
        return False
    drops = 1 if cut and _fills_all_but_its_last(m, slot, side) else 0
    _copy_all(m, 2, 3)
    cells = m[_path_len(m, 2, slot)]
    if cells == 1:
        _remove_inside(m, 3, m[_path(m, 2, slot, 0)] >> 1, slot)
    size = cells + 1 - drops
    if side:
        for k in range(drops, cells):
            m[_path(m, 3, slot, k - drops)] = m[_path(m, 2, slot, k)]
        m[_path(m, 3, slot, size - 1)] = way
        shift, by = -drops, -drops * m[_length(m, m[_path(m, 2, slot, 0)] >> 1)]
    else:
        for k in range(cells - drops):
            m[_path(m, 3, slot, k + 1)] = m[_path(m, 2, slot, k)]
        m[_path(m, 3, slot, 0)] = way ^ 1
        shift, by = 1, m[_length(m, cell)]
    if by:
        _shift(m, _zone(m, 3), _size(m, 3), m[MIRRORED], slot, by)
    m[_path_len(m, 3, slot)] = size
    entries = m[_sides_len(m, 0)]
    for v in range(m[_token_len(m, 3, slot)]):
        if not m[_may_touch(m, cell, m[_tokens(m, 3, slot, v)])]:
            m[_sides(m, 0, entries)] = size - 1 if side else 0
            m[_sides(m, 1, entries)] = v
            m[_sides(m, 2, entries)] = 1 if side else 0
            entries += 1
    m[_sides_len(m, 1)] = entries
    done = _demand(m, 3, slot, side) and _demand_sides(m, 3, slot, shift, 0, size - 1)
    m[_sides_len(m, 1)] = m[_sides_len(m, 0)]
    return done


@register_jitable
def _reverse(m, layer, slot):  # type: ignore[no-untyped-def]
    """List the string from its other end (its zone is not changed)."""
    size = m[_path_len(m, layer, slot)]
    for k in range((size + 1) // 2):
        one, other = m[_path(m, layer, slot, k)], m[_path(m, layer, slot, size - 1 - k)]
        m[_path(m, layer, slot, k)] = other ^ 1
        m[_path(m, layer, slot, size - 1 - k)] = one ^ 1
    size = m[_token_len(m, layer, slot)]
    for v in range((size + 1) // 2):
        one, other = m[_tokens(m, layer, slot, v)], m[_tokens(m, layer, slot, size - 1 - v)]
        m[_tokens(m, layer, slot, v)] = other ^ 1 if m[_is_loco(m, other)] else other
        m[_tokens(m, layer, slot, size - 1 - v)] = one ^ 1 if m[_is_loco(m, one)] else one


@register_jitable
def _demand_contact(m, slot, side, other, other_side, way):  # type: ignore[no-untyped-def]
    if not (
        _demand_span(m, 3, slot)
        and _demand_sides(m, 3, slot, 0, 0, m[_path_len(m, 3, slot)])
        and _demand_end(m, 3, slot, 1 - side, -1)
    ):
        return False
    zone, n, mirrored = _zone(m, 3), _size(m, 3), m[MIRRORED]
    overlap = m[_length(m, _facing(m, 3, slot, side) >> 1)] if way < 0 else 0
    sign, other_sign = -1 if side else 1, -1 if other_side else 1
    gap = overlap - _room_constant(m, 3, slot, side)
    gap -= _room_constant(m, 3, other, other_side)
    return _sum_at_least(m, zone, n, mirrored, slot, sign, other, other_sign, gap) and _sum_at_least(
        m, zone, n, mirrored, slot, -sign, other, -other_sign, -gap
    )


@register_jitable
def _join(m, slot, side, other, shared):  # type: ignore[no-untyped-def]
    """Layer 3: the path and the vehicles of ``other`` are added to those of ``slot``."""
    cells, more = m[_path_len(m, 3, slot)], m[_path_len(m, 3, other)]
    size, cars = m[_token_len(m, 3, slot)], m[_token_len(m, 3, other)]
    if side:
        for k in range(shared, more):
            m[_path(m, 3, slot, cells + k - shared)] = m[_path(m, 3, other, k)]
        for v in range(cars):
            m[_tokens(m, 3, slot, size + v)] = m[_tokens(m, 3, other, v)]
    else:
        for k in range(cells - 1, -1, -1):
            m[_path(m, 3, slot, k + more - shared)] = m[_path(m, 3, slot, k)]
        for k in range(more - shared):
            m[_path(m, 3, slot, k)] = m[_path(m, 3, other, k)]
        for v in range(size - 1, -1, -1):
            m[_tokens(m, 3, slot, v + cars)] = m[_tokens(m, 3, slot, v)]
        for v in range(cars):
            m[_tokens(m, 3, slot, v)] = m[_tokens(m, 3, other, v)]
    m[_path_len(m, 3, slot)] = cells + more - shared
    m[_token_len(m, 3, slot)] = size + cars


@register_jitable
def _couple(m, slot, side, met, way):  # type: ignore[no-untyped-def]
    """Layer 3: the string touches, and is coupled to, the end ``met`` (over ``way``, or -1: in its cell)."""
    other, other_side = met >> 1, met & 1
    if not (_couples(m, 2, slot, side) and _couples(m, 2, other, other_side)):
        return False
    _copy_all(m, 2, 3)
    if not _demand_contact(m, slot, side, other, other_side, way):
        return False
    slot_cell = m[_path(m, 3, slot, 0)] >> 1 if m[_path_len(m, 3, slot)] == 1 else -1
    other_cell = m[_path(m, 3, other, 0)] >> 1 if m[_path_len(m, 3, other)] == 1 else -1
    met_length = _string_length(m, 3, other)
    own_path = _path_length(m, 3, slot)
    if other_side == side:
        _reverse(m, 3, other)
    _join(m, slot, side, other, 1 if way < 0 else 0)
    m[_alive(m, 3, other)] = False
    if not _may_move(m, 3, slot, side):
        return False
    by = 0 if side else _path_length(m, 3, slot) - own_path - met_length
    if slot_cell >= 0:
        _remove_inside(m, 3, slot_cell, slot)
    if other_cell >= 0:
        _remove_inside(m, 3, other_cell, other)
    if m[_path_len(m, 3, slot)] == 1:
        cell = m[_path(m, 3, slot, 0)] >> 1
        mine, theirs = _index_inside(m, 2, cell, slot), _index_inside(m, 2, cell, other)
        at = 0
        if mine >= 0 and theirs >= 0:
            at = min(mine, theirs)
        elif mine >= 0 or theirs >= 0:
            at = max(mine, theirs)
        _insert_inside(m, 3, cell, min(at, m[_inside_len(m, 3, cell)]), slot)
    _shift(m, _zone(m, 3), _size(m, 3), m[MIRRORED], slot, by)
    return True


# ---- the one agreed form of a standing


@register_jitable
def _compare(m, a, b):  # type: ignore[no-untyped-def]
    """Order of two strings of layer 3 by path, vehicles, rank, slot."""
    for k in range(min(m[_path_len(m, 3, a)], m[_path_len(m, 3, b)])):
        if m[_path(m, 3, a, k)] != m[_path(m, 3, b, k)]:
            return -1 if m[_path(m, 3, a, k)] < m[_path(m, 3, b, k)] else 1
    if m[_path_len(m, 3, a)] != m[_path_len(m, 3, b)]:
        return -1 if m[_path_len(m, 3, a)] < m[_path_len(m, 3, b)] else 1
    for v in range(min(m[_token_len(m, 3, a)], m[_token_len(m, 3, b)])):
        if m[_tokens(m, 3, a, v)] != m[_tokens(m, 3, b, v)]:
            return -1 if m[_tokens(m, 3, a, v)] < m[_tokens(m, 3, b, v)] else 1
    if m[_token_len(m, 3, a)] != m[_token_len(m, 3, b)]:
        return -1 if m[_token_len(m, 3, a)] < m[_token_len(m, 3, b)] else 1
    if m[_order(m, 1, a)] != m[_order(m, 1, b)]:
        return -1 if m[_order(m, 1, a)] < m[_order(m, 1, b)] else 1
    return -1 if a < b else 1


@register_jitable
def _is_canonical(m, slot):  # type: ignore[no-untyped-def]
    if m[HAS_ORIENTATION]:
        way = m[_path(m, 3, slot, 0)]
        return (way & 1) == m[_orientation(m, way >> 1)]
    size = m[_path_len(m, 3, slot)]
    for k in range(size):
        one, other = m[_path(m, 3, slot, k)], m[_path(m, 3, slot, size - 1 - k)] ^ 1
        if one != other:
            return one < other
    size = m[_token_len(m, 3, slot)]
    for v in range(size):
        one, other = m[_tokens(m, 3, slot, v)], m[_tokens(m, 3, slot, size - 1 - v)]
        if m[_is_loco(m, other)]:
            other ^= 1
        if one != other:
            return one < other
    return True


@register_jitable
def _write_zone(m, count):  # type: ignore[no-untyped-def]
    """The zone over the strings in their order, each counted from its own first end, in ``out``."""
    mirrored = m[MIRRORED]
    size = 2 if mirrored else 1
    nodes, shifts = _scratch(m, 2, 0), _scratch(m, 3, 0)
    m[nodes], m[shifts] = 0, 0
    for number in range(count):
        slot = m[_order(m, 0, number)]
        sign, shift = 1, 0
        if m[_order(m, 2, slot)]:
            sign = -1
            shift = _path_length(m, 3, slot) - _string_length(m, 3, slot)
        if mirrored:
            m[nodes + 1 + 2 * number] = _node(1, slot, sign)
            m[shifts + 1 + 2 * number] = shift
            m[nodes + 2 + 2 * number] = _node(1, slot, -sign)
            m[shifts + 2 + 2 * number] = -shift
        else:
            m[nodes + 1 + number] = _node(False, slot, sign)
            m[shifts + 1 + number] = shift
    n = 1 + count * size
    for u in range(n):
        for v in range(n):
            m[_out(m, u, v)] = m[_zone_at(m, 3, m[nodes + u], m[nodes + v])] + m[shifts + u] - m[shifts + v]


@register_jitable
def _write_place(m):  # type: ignore[no-untyped-def]
    """Layer 3 in its agreed form: ``place``, and the zone in ``out``; returns the number of strings."""
    count = 0
    for slot in range(m[_count(m, 3)]):
        if not m[_alive(m, 3, slot)]:
            continue
        m[_order(m, 1, slot)] = 0  # rank
        if m[_path_len(m, 3, slot)] == 1:
            cell = m[_path(m, 3, slot, 0)] >> 1
            m[_order(m, 1, slot)] = _index_inside(m, 3, cell, slot)
        m[_order(m, 2, slot)] = 0  # whether turned
        if not _is_canonical(m, slot):
            m[_order(m, 2, slot)] = 1
            _reverse(m, 3, slot)
        at = count
        while at and _compare(m, slot, m[_order(m, 0, at - 1)]) < 0:
            m[_order(m, 0, at)] = m[_order(m, 0, at - 1)]
            at -= 1
        m[_order(m, 0, at)] = slot
        count += 1
    place = _place(m, 0)
    for i in range(m[WIDTH]):
        m[place + i] = 0
    m[place] = count
    at = 1
    for i in range(m[TABLES]):
        m[place + at] = m[_lined(m, 3, i)]
        at += 1
    m[place + at], m[place + at + 1] = -1, -1
    for number in range(count):
        slot = m[_order(m, 0, number)]
        if m[_moving(m, 3, 0)] == slot:
            m[place + at] = number
            m[place + at + 1] = m[_moving(m, 3, 1)] ^ m[_order(m, 2, slot)]
    at += 2
    for number in range(count):
        slot = m[_order(m, 0, number)]
        m[place + at] = m[_path_len(m, 3, slot)]
        m[place + at + 1] = m[_token_len(m, 3, slot)]
        m[place + at + 2] = m[_order(m, 1, slot)]
        at += 3
        for k in range(m[_path_len(m, 3, slot)]):
            m[place + at] = m[_path(m, 3, slot, k)]
            at += 1
        for v in range(m[_token_len(m, 3, slot)]):
            m[place + at] = m[_tokens(m, 3, slot, v)]
            at += 1
    _write_zone(m, count)
    return count


# ---- the law seen coarsely


@register_jitable
def _put_together_in_cells(m):  # type: ignore[no-untyped-def]
    """Layer 3: strings without a locomotive that stand wholly in one cell, side by side, are one."""
    for cell in range(m[CELLS]):
        at = 0
        while at + 1 < m[_inside_len(m, 3, cell)]:
            one, other = m[_inside(m, 3, cell, at)], m[_inside(m, 3, cell, at + 1)]
            if _has_loco(m, 3, one) or _has_loco(m, 3, other):
                at += 1
                continue
            side = 1 if m[_path(m, 3, one, 0)] == 2 * cell else 0
            other_side = 0 if m[_path(m, 3, other, 0)] == 2 * cell else 1
            if other_side == side:
                _reverse(m, 3, other)
            _join(m, one, side, other, 1)
            m[_alive(m, 3, other)] = False
            _remove_inside(m, 3, cell, other)


@register_jitable
def _forget(m, layer, slot):  # type: ignore[no-untyped-def]
    """The string may be anywhere at all."""
    zone, n, mirrored = _zone(m, layer), _size(m, layer), m[MIRRORED]
    _release(m, zone, n, mirrored, slot, 1)
    _release(m, zone, n, mirrored, slot, -1)


@register_jitable
def _lay_within_cells(m, layer, slot):  # type: ignore[no-untyped-def]
    """The string, of whose position nothing is known, lies on its path and reaches both end cells: what
    :func:`_demand_span` comes to then, each bound by way of node 0.
    """
    zone, n = _zone(m, layer), _size(m, layer)
    slack = _path_length(m, layer, slot) - _string_length(m, layer, slot)
    low, high, cells = 0, slack, m[_path_len(m, layer, slot)]
    if cells > 1:
        low = max(low, slack - m[_length(m, m[_path(m, layer, slot, cells - 1)] >> 1)])
        high = min(high, m[_length(m, m[_path(m, layer, slot, 0)] >> 1)])
    for twin in range(2 if m[MIRRORED] else 1):
        node = _node(m[MIRRORED], slot, -1 if twin else 1)
        most, least = (-low, -high) if twin else (high, low)
        for v in range(n):
            if v != node:
                onwards, back = m[_at(m, zone, 0, v)], m[_at(m, zone, v, 0)]
                m[_at(m, zone, node, v)] = most + onwards if onwards < INFINITE // 2 else INFINITE
                m[_at(m, zone, v, node)] = back - least if back < INFINITE // 2 else INFINITE


@register_jitable
def _let_loose(m, layer):  # type: ignore[no-untyped-def]
    """Strings without a locomotive may be anywhere in their cells."""
    size = m[_count(m, layer)]
    for slot in range(size):
        if m[_alive(m, layer, slot)] and not _has_loco(m, layer, slot):
            _forget(m, layer, slot)
    for slot in range(size):
        if m[_alive(m, layer, slot)] and not _has_loco(m, layer, slot):
            _lay_within_cells(m, layer, slot)
    moving = -1
    if m[_moving(m, layer, 0)] >= 0:
        moving = 2 * m[_moving(m, layer, 0)] + m[_moving(m, layer, 1)]
    if m[SEEN] == LOOSELY and not m[SEVERAL]:
        moving = ENGINES
    for slot in range(m[_count(m, layer)]):
        if m[_alive(m, layer, slot)]:
            for side in (1, 0):
                _demand_end(m, layer, slot, side, moving)


@register_jitable
def _nodes_kept(m, row):  # type: ignore[no-untyped-def]
    """Zone nodes that are kept of a standing at the place ``row``: where cars may be anywhere, those of
    strings with a locomotive alone, for the others follow.
    """
    strings = row[0]
    if m[SEEN]:
        strings, at = 0, 3 + m[TABLES]
        for _ in range(row[0]):
            cells, size = row[at], row[at + 1]
            for v in range(size):
                if m[_is_loco(m, row[at + 3 + cells + v])]:
                    strings += 1
                    break
            at += 3 + cells + size
    return 1 + strings * (2 if m[MIRRORED] else 1)


@register_jitable
def _keep_zone(m, count):  # type: ignore[no-untyped-def]
    """Strike from the zone in ``out`` what is not kept; the nodes that are left."""
    size = 2 if m[MIRRORED] else 1
    if not m[SEEN]:
        return 1 + count * size
    nodes, kept = _scratch(m, 2, 0), 1
    m[nodes] = 0
    for number in range(count):
        if _has_loco(m, 3, m[_order(m, 0, number)]):
            for k in range(size):
                m[nodes + kept] = 1 + number * size + k
                kept += 1
    for u in range(kept):
        for v in range(kept):
            m[_out(m, u, v)] = m[_out(m, m[nodes + u], m[nodes + v])]
    return kept


@register_jitable
def _take_zone(m, store, at):  # type: ignore[no-untyped-def]
    """The zone of layer 0 from what is kept of it."""
    n = _size(m, 0)
    if not m[SEEN]:
        for u in range(n):
            for v in range(n):
                m[_zone_at(m, 0, u, v)] = store.zones[at + u * n + v]
        return
    size = 2 if m[MIRRORED] else 1
    nodes, kept = _scratch(m, 2, 0), 1
    m[nodes] = 0
    for slot in range(m[_count(m, 0)]):
        if _has_loco(m, 0, slot):
            for k in range(size):
                m[nodes + kept] = 1 + slot * size + k
                kept += 1
    for u in range(n):
        for v in range(n):
            m[_zone_at(m, 0, u, v)] = INFINITE if u != v else 0
    for u in range(kept):
        for v in range(kept):
            m[_zone_at(m, 0, m[nodes + u], m[nodes + v])] = store.zones[at + u * kept + v]
    _let_loose(m, 0)


@register_jitable
def _needs_its_cells(m, slot, side, going, joint):  # type: ignore[no-untyped-def]
    """Layer 0: whether what a cut leaves holds a locomotive, or fits on no part of its cells (with a table,
    with room to spare).
    """
    size = m[_token_len(m, 0, slot)]
    spare = 1 if m[TABLES] else 0
    length = 0
    for v in range(0 if side else going, size - going if side else size):
        token = m[_tokens(m, 0, slot, v)]
        if m[_is_loco(m, token)]:
            return True
        length += m[_token_length(m, token)]
    first, end = (0, joint + 1) if side else (joint, m[_path_len(m, 0, slot)])
    for i in range(first, end):
        whole, inner = 0, 0
        for j in range(i, end):
            cell_length = m[_length(m, m[_path(m, 0, slot, j)] >> 1)]
            inner = whole - m[_length(m, m[_path(m, 0, slot, i)] >> 1)] if j > i else -1
            whole += cell_length
            if (i > first or j + 1 < end) and inner < length <= whole - spare:
                return False
    return True


# ---- the store


@register_jitable
def _hash(row):  # type: ignore[no-untyped-def]
    """Of a place."""
    h = np.uint64(1469598103934665603)
    for i in range(row.shape[0]):
        h = (h ^ np.uint64(row[i] + 2)) * np.uint64(1099511628211)
        h ^= h >> np.uint64(29)
    return h


@register_jitable
def _slot(store, row):  # type: ignore[no-untyped-def]
    """Where in the table the place ``row`` is, or would be."""
    mask = np.uint64(store.table.shape[0] - 1)
    at = np.int64(_hash(row) & mask)
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
def _find_place(m, store):  # type: ignore[no-untyped-def]
    """Number of the place in the row ``place``, entered if it is new."""
    row = m[_place(m, 0) : _place(m, 0) + m[WIDTH]]
    at = _slot(store, row)
    if store.table[at] >= 0:
        return store.table[at]
    number = store.sizes[0]
    store.sizes[0] += 1
    store.table[at] = number
    for i in range(m[WIDTH]):
        store.places[number, i] = row[i]
    store.latest[number] = -1
    return number


@register_jitable
def _take_mover(m):  # type: ignore[no-untyped-def]
    """Who is on the move, out of the row ``place``: that is told of the node, not of its place."""
    at = _place(m, 1 + m[TABLES])
    mover = -1 if m[at] < 0 else 2 * m[at] + m[at + 1]
    m[at], m[at + 1] = -1, -1
    return mover


@register_jitable
def _known_is_no_worse(m, store, known, cost, mover, n):  # type: ignore[no-untyped-def]
    if mover >= 0 and store.nodes[known, MOVER] != mover:
        return False
    turned = 0
    for i in range(m[LOCOS]):
        if store.nodes[known, LAST + i] != m[_last(m, 3, i)]:
            if not m[DIRECTIONS_MAY_DIFFER]:
                return False
            if m[_last(m, 3, i)] != 0 and store.nodes[known, LAST + i] != ANY_WAY:
                turned += 1
    if store.nodes[known, COST] + turned * m[PER_MOVE] > cost:
        return False
    at = store.nodes[known, ZONE_AT]
    for u in range(n):
        for v in range(n):
            if m[_out(m, u, v)] > store.zones[at + u * n + v]:
                return False
    return True


@register_jitable
def _new_is_no_worse(m, store, known, cost, mover, n):  # type: ignore[no-untyped-def]
    if store.nodes[known, MOVER] >= 0 and store.nodes[known, MOVER] != mover:
        return False
    turned = 0
    for i in range(m[LOCOS]):
        if store.nodes[known, LAST + i] != m[_last(m, 3, i)]:
            if not m[DIRECTIONS_MAY_DIFFER]:
                return False
            if store.nodes[known, LAST + i] != 0 and m[_last(m, 3, i)] != ANY_WAY:
                turned += 1
    if cost + turned * m[PER_MOVE] > store.nodes[known, COST]:
        return False
    at = store.nodes[known, ZONE_AT]
    for u in range(n):
        for v in range(n):
            if store.zones[at + u * n + v] > m[_out(m, u, v)]:
                return False
    return True


@register_jitable
def _comes_before(store, one, other):  # type: ignore[no-untyped-def]
    mine, its = store.nodes[one, COST], store.nodes[other, COST]
    return mine < its or (mine == its and one < other)


@register_jitable
def _push(store, node):  # type: ignore[no-untyped-def]
    """Let a node wait."""
    at = store.sizes[5]
    store.sizes[5] += 1
    while at > 0 and _comes_before(store, node, store.heap[(at - 1) >> 1]):
        store.heap[at] = store.heap[(at - 1) >> 1]
        at = (at - 1) >> 1
    store.heap[at] = node


@register_jitable
def _pop(store):  # type: ignore[no-untyped-def]
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


@register_jitable
def _runner(m, string, side, cut):  # type: ignore[no-untyped-def]
    """The locomotive with the highest number in the part of a string of layer 0 that goes on."""
    size = m[_token_len(m, 0, string)]
    low, high = 0, size
    if cut:
        low, high = (size - cut, size) if side else (0, cut)
    runner = -1
    for v in range(low, high):
        runner = max(runner, m[_loco_index(m, m[_tokens(m, 0, string, v)])])
    return runner


@register_jitable
def _undoes(m, store, node, event, string, side, cut, moves):  # type: ignore[no-untyped-def]
    if cut or event > LEAVE:
        return -1
    runner = _runner(m, string, side, 0)
    if store.nodes[node, UNDOES] != runner and not moves:
        return -1
    if event == LEAVE:
        cells = m[_path_len(m, 0, string)]
        tail = m[_path(m, 0, string, 1)] ^ 1 if side else m[_path(m, 0, string, cells - 2)]
        lining = _lining(m, 0)
        if m[_ahead_start(m, lining, tail + 1)] - m[_ahead_start(m, lining, tail)] > 1:
            return -1
    return runner


@register_jitable
def _offer(m, store, node, cost, event, string, side, cut, joint, way, other, moves):  # type: ignore[no-untyped-def]
    """The draft in layer 3 as a new node, unless one is known that can do all that it can."""
    store.sizes[4] += 1
    if m[SEVERAL] and event <= LEAVE:
        n = _size(m, 3)
        _copy_zone(m, n, 3, 4)
        is_at_rest = _comes_to_rest(m, 3, -1)
        for u in range(n):
            for v in range(n):
                if m[_zone_at(m, 3, u, v)] != m[_zone_at(m, 4, u, v)]:
                    is_at_rest = False
                    m[_zone_at(m, 3, u, v)] = m[_zone_at(m, 4, u, v)]
        if not is_at_rest:
            m[_moving(m, 3, 0)], m[_moving(m, 3, 1)] = string, side
    if m[SEEN] == COARSELY:
        _put_together_in_cells(m)
    if m[SEEN]:
        _let_loose(m, 3)
    count = _write_place(m)
    mover = _take_mover(m)
    n = _keep_zone(m, count)
    number = _find_place(m, store)
    known = store.latest[number]
    while known >= 0:
        if not store.nodes[known, DROPPED] and _known_is_no_worse(m, store, known, cost, mover, n):
            return
        known = store.nodes[known, FOLLOWING]
    known = store.latest[number]
    while known >= 0:
        if not store.nodes[known, DROPPED] and _new_is_no_worse(m, store, known, cost, mover, n):
            store.nodes[known, DROPPED] = 1
        known = store.nodes[known, FOLLOWING]
    fresh = store.sizes[1]
    store.sizes[1] += 1
    store.nodes[fresh, OF_PLACE] = number
    store.nodes[fresh, FOLLOWING] = store.latest[number]
    store.latest[number] = fresh
    store.nodes[fresh, PARENT] = node
    store.nodes[fresh, COST] = cost
    store.nodes[fresh, DROPPED] = 0
    store.nodes[fresh, MOVER] = mover
    for i, value in enumerate((event, string, side, cut, joint, way, other)):
        store.nodes[fresh, ACTION + i] = value
    for i in range(m[LOCOS]):
        store.nodes[fresh, LAST + i] = m[_last(m, 3, i)]
    at = store.sizes[2]
    store.nodes[fresh, ZONE_AT] = at
    for u in range(n):
        for v in range(n):
            store.zones[at + u * n + v] = m[_out(m, u, v)]
    store.sizes[2] += n * n
    store.nodes[fresh, UNDOES] = -1
    if node >= 0:
        store.nodes[fresh, UNDOES] = _undoes(m, store, node, event, string, side, cut, moves)
    _push(store, fresh)


@register_jitable
def _load(m, store, node):  # type: ignore[no-untyped-def]
    """Layer 0 from a node."""
    row = store.places[store.nodes[node, OF_PLACE]]
    count = row[0]
    m[_count(m, 0)] = count
    at = 1
    for i in range(m[TABLES]):
        m[_lined(m, 0, i)] = row[at]
        at += 1
    mover = store.nodes[node, MOVER]
    m[_moving(m, 0, 0)], m[_moving(m, 0, 1)] = -1, -1
    if mover >= 0:
        m[_moving(m, 0, 0)], m[_moving(m, 0, 1)] = mover >> 1, mover & 1
    at += 2
    for cell in range(m[CELLS]):
        m[_inside_len(m, 0, cell)] = 0
    for slot in range(count):
        m[_alive(m, 0, slot)] = True
        m[_path_len(m, 0, slot)], m[_token_len(m, 0, slot)], rank = row[at], row[at + 1], row[at + 2]
        at += 3
        for k in range(m[_path_len(m, 0, slot)]):
            m[_path(m, 0, slot, k)] = row[at]
            at += 1
        for v in range(m[_token_len(m, 0, slot)]):
            m[_tokens(m, 0, slot, v)] = row[at]
            at += 1
        if m[_path_len(m, 0, slot)] == 1:
            cell = m[_path(m, 0, slot, 0)] >> 1
            m[_inside(m, 0, cell, rank)] = slot
            m[_inside_len(m, 0, cell)] += 1
    for i in range(m[LOCOS]):
        m[_last(m, 0, i)] = store.nodes[node, LAST + i]
    _take_zone(m, store, store.nodes[node, ZONE_AT])


# ---- the search


@register_jitable
def _runner_of(m, store, parent, string, side, cut):  # type: ignore[no-untyped-def]
    """As :func:`_runner`, from the stored place of ``parent``."""
    row = store.places[store.nodes[parent, OF_PLACE]]
    at = 3 + m[TABLES]
    for _ in range(string):
        at += 3 + row[at] + row[at + 1]
    size, first = row[at + 1], at + 3 + row[at]
    low, high = 0, size
    if cut:
        low, high = (size - cut, size) if side else (0, cut)
    runner = -1
    for v in range(low, high):
        runner = max(runner, m[_loco_index(m, row[first + v])])
    return runner


@register_jitable
def _spared(m, store, node):  # type: ignore[no-untyped-def]
    """(slot, side that moved, how much is spared): 0 nothing, 1 going on, 2 that and turning back, 3 all."""
    if store.nodes[node, PARENT] < 0 or store.nodes[node, ACTION + 0] > LEAVE:
        return -1, 0, 0
    parent, event = store.nodes[node, PARENT], store.nodes[node, ACTION + 0]
    string, side, cut = (
        store.nodes[node, ACTION + 1],
        store.nodes[node, ACTION + 2],
        store.nodes[node, ACTION + 3],
    )
    runner = _runner_of(m, store, parent, string, side, cut)
    for slot in range(m[_count(m, 0)]):
        for v in range(m[_token_len(m, 0, slot)]):
            token = m[_tokens(m, 0, slot, v)]
            if m[_loco_index(m, token)] == runner:
                on = 1 if (m[_last(m, 0, runner)] > 0) != bool(token & 1) else 0
                if event == GO and not cut:
                    return slot, on, 3
                return slot, on, 2 if store.nodes[node, UNDOES] >= 0 else 1
    return -1, 0, 0


@register_jitable
def _events(m, store, node, cost, slot, side, cut, joint, moves, no_go):  # type: ignore[no-untyped-def]
    """All that the string of layer 2, about to move, can come to next."""
    if not _may_move(m, 2, slot, side):
        return
    _find_sides(m, 2, slot)
    _release(m, _zone(m, 2), _size(m, 2), m[MIRRORED], slot, 1 if side else -1)
    total = cost + moves * m[PER_MOVE] + (m[PER_CUT] if cut else 0)
    if not no_go:
        _copy_all(m, 2, 3)
        _shift(m, _zone(m, 3), _size(m, 3), m[MIRRORED], slot, 1 if side else -1)
        if _demand(m, 3, slot, side) and _demand_sides(m, 3, slot, 0, 0, m[_path_len(m, 3, slot)]):
            _offer(m, store, node, total, GO, slot, side, cut, joint, -1, -1, moves)
    if _leave(m, slot, side):
        _offer(m, store, node, total, LEAVE, slot, side, cut, joint, -1, -1, moves)
    met = _neighbour(m, 2, slot, side)
    if met >= 0:
        if met >> 1 != slot and _couple(m, slot, side, met, -1):
            price = total + m[PER_COUPLING]
            _offer(m, store, node, price, COUPLE, slot, side, cut, joint, -1, met >> 1, moves)
        return
    facing, lining = _facing(m, 2, slot, side), _lining(m, 2)
    first, end = m[_ahead_start(m, lining, facing)], m[_ahead_start(m, lining, facing + 1)]
    for i in range(first, end):
        if _enter(m, slot, side, cut, m[_ahead(m, i)]):
            way = m[_ahead(m, i)]
            price = total + m[_per_entry(m, way >> 1)]
            _offer(m, store, node, price, ENTER, slot, side, cut, joint, way, -1, moves)
    for i in range(first, end):
        met = _first_on(m, 2, m[_ahead(m, i)])
        if met >= 0 and met >> 1 != slot and _couple(m, slot, side, met, m[_ahead(m, i)]):
            way, price = m[_ahead(m, i)], total + m[PER_COUPLING]
            _offer(m, store, node, price, COUPLE, slot, side, cut, joint, way, met >> 1, moves)


@register_jitable
def _line(m, store, node, cost, table):  # type: ignore[no-untyped-def]
    for slot in range(m[_count(m, 0)]):
        if m[_path_len(m, 0, slot)] > 1:
            for k in range(m[_path_len(m, 0, slot)]):
                if m[_table_cells(m, table, m[_path(m, 0, slot, k)] >> 1)]:
                    return
    for index in range(m[_table_meets(m, table)]):
        if index == m[_lined(m, 0, table)]:
            continue
        _copy_all(m, 0, 3)
        # nobody on the move may be lined away from what it is just coming up to
        fits = _comes_to_rest(m, 3, -1)
        m[_lined(m, 3, table)] = index
        for slot in range(m[_count(m, 3)]):
            fits = fits and _demand(m, 3, slot, -1)
        if fits:
            _offer(m, store, node, cost + m[PER_LINING], LINE, table, 0, 0, 0, index, -1, 0)


@register_jitable
def _expand(m, store, node):  # type: ignore[no-untyped-def]
    cost = store.nodes[node, COST]
    spared_slot, on, spared = _spared(m, store, node)
    for slot in range(m[_count(m, 0)]):
        if not _has_loco(m, 0, slot):
            continue
        for side in (1, 0):
            mine = spared if slot == spared_slot else 0
            whole = not (mine == 3 or (mine == 2 and side != on))
            if whole:
                moves = _turn(m, slot, side, m[_token_len(m, 0, slot)])
                if moves >= 0:
                    _copy_all(m, 1, 2)
                    no_go = mine > 0 and side == on
                    _events(m, store, node, cost, slot, side, 0, 0, moves, no_go)
            size = m[_token_len(m, 0, slot)]
            for going in range(1, size):
                has_loco = False
                low = size - going if side else 0
                for v in range(low, low + going):
                    has_loco = has_loco or m[_is_loco(m, m[_tokens(m, 0, slot, v)])]
                if not has_loco:
                    continue
                moves = _turn(m, slot, side, going)
                if moves < 0:
                    continue
                for joint in range(m[_path_len(m, 0, slot)]):
                    if m[SEEN] == COARSELY and not _needs_its_cells(m, slot, side, going, joint):
                        continue
                    if _part(m, slot, side, going, joint):
                        _events(m, store, node, cost, slot, side, going, joint, moves, False)
    for table in range(m[TABLES]):
        _line(m, store, node, cost, table)


@register_jitable
def _may_be_done(m):  # type: ignore[no-untyped-def]
    """Whether every vehicle of layer 0 touches a cell where it is wanted."""
    for slot in range(m[_count(m, 0)]):
        for v in range(m[_token_len(m, 0, slot)]):
            kind, found = m[_tokens(m, 0, slot, v)] >> 1, False
            for k in range(m[_path_len(m, 0, slot)]):
                found = found or m[_wanted(m, kind, m[_path(m, 0, slot, k)] >> 1)]
            if not found:
                return False
    return True


@njit(types.int64(MEMORY, STORE, *[types.int64] * 3), cache=True)
def run(m, store, most_expanded, most_cost, resume):  # type: ignore[no-untyped-def]
    """Go on with the search until something has to be said; see :data:`CANDIDATE` and the others.

    ``resume``: -1, or the node last returned as a candidate, which does not meet the work after all.  The
    node is in ``store.sizes[7]``, the cost reached in ``store.sizes[6]``.
    """
    node = resume
    while True:
        if node < 0:
            if store.sizes[5] == 0:
                return EXHAUSTED
            node = store.heap[0]
            store.sizes[6] = store.nodes[node, COST]
            if store.sizes[6] > most_cost:
                return EXHAUSTED
            _pop(store)
            if store.nodes[node, DROPPED]:
                node = -1
                continue
            _load(m, store, node)
            store.sizes[7] = node
            if _may_be_done(m):
                return CANDIDATE
        else:
            _load(m, store, node)
        if store.sizes[3] >= most_expanded:
            store.sizes[7] = node
            return LIMIT
        if (
            store.places.shape[0] - store.sizes[0] < m[MOST_AT_ONCE]
            or store.nodes.shape[0] - store.sizes[1] < m[MOST_AT_ONCE]
            or store.zones.shape[0] - store.sizes[2] < m[ZONES_AT_ONCE]
            or 2 * store.sizes[0] > store.table.shape[0]
        ):
            store.sizes[7] = node
            return FULL
        store.sizes[3] += 1
        _expand(m, store, node)
        node = -1


@njit(types.none(STORE, types.int64[::1], types.int64), cache=True)
def rehash(store, table, width):  # type: ignore[no-untyped-def]
    """Enter all places into a new, larger ``table``."""
    mask = np.uint64(table.shape[0] - 1)
    for number in range(store.sizes[0]):
        h = _hash(store.places[number])
        at = np.int64(h & mask)
        while table[at] >= 0:
            at = np.int64(np.uint64(at + 1) & mask)
        table[at] = number


@njit(types.none(MEMORY, STORE), cache=True)
def begin(m, store):  # type: ignore[no-untyped-def]
    """Enter the standing in layer 3 as a start."""
    _offer(m, store, -1, 0, START, -1, 0, 0, 0, -1, -1, 0)


# ---- where searches from both ends meet


@register_jitable
def _share_a_position(m, zones, at, others, other_at, n):  # type: ignore[no-untyped-def]
    """Whether two zones have a position in common."""
    for u in range(n):
        for v in range(n):
            if zones[at + u * n + v] + others[other_at + v * n + u] < 0:
                return False
    for u in range(n):
        for v in range(n):
            m[_out(m, u, v)] = min(zones[at + u * n + v], others[other_at + u * n + v])
    for w in range(n):
        for u in range(n):
            through = m[_out(m, u, w)]
            if through < INFINITE // 2:
                for v in range(n):
                    if through + m[_out(m, w, v)] < m[_out(m, u, v)]:
                        m[_out(m, u, v)] = through + m[_out(m, w, v)]
        if m[_out(m, w, w)] < 0:
            return False
    for u in range(n):
        if m[_out(m, u, u)] < 0:
            return False
    return True


@register_jitable
def _turned_between(m, forward, node, backward, other):  # type: ignore[no-untyped-def]
    """Moves that begin where the two meet: of locomotives that go on another way than they came."""
    turned = 0
    for i in range(m[LOCOS]):
        came, goes = forward.nodes[node, LAST + i], -backward.nodes[other, LAST + i]
        if goes != -ANY_WAY and came != goes:
            turned += 1
    return turned


@njit(types.none(MEMORY, STORE, STORE, types.int64[::1]), cache=True)
def nearest(m, forward, backward, least):  # type: ignore[no-untyped-def]
    """For each node of ``forward`` the fewest moves of a plan that goes through it, as far as ``backward``
    knows: into ``least`` where that is fewer than what is there.  Charges must be those by moves.
    """
    for node in range(forward.sizes[1]):
        row = forward.places[forward.nodes[node, OF_PLACE]]
        number = backward.table[_slot(backward, row)]
        if number < 0:
            continue
        n = _nodes_kept(m, row)
        other = backward.latest[number]
        while other >= 0:
            if not backward.nodes[other, DROPPED]:
                moves = forward.nodes[node, COST] + backward.nodes[other, COST]
                moves += _turned_between(m, forward, node, backward, other)
                if moves < least[node] and _share_a_position(
                    m,
                    forward.zones,
                    forward.nodes[node, ZONE_AT],
                    backward.zones,
                    backward.nodes[other, ZONE_AT],
                    n,
                ):
                    least[node] = moves
            other = backward.nodes[other, FOLLOWING]


@njit(types.int64(MEMORY, STORE, STORE, types.int64[::1], types.int64[:, ::1]), cache=True)
def meet(m, forward, backward, within, found):  # type: ignore[no-untyped-def]
    """Nodes at the same place with a position in common, through which a plan of so many moves goes.

    ``within`` (int64[4]): pairs are looked at with a node of ``forward`` from number ``within[0]`` on or one
    of ``backward`` from ``within[1]`` on, and below ``within[2]`` in any case; they make ``within[3]`` moves
    at most.  ``found`` (int64[rows, 3]) gets the moves and the two nodes; the result is how many there are,
    and those beyond the rows are not written down.  Charges must be those by moves.
    """
    count, most = 0, within[3]
    below = min(within[2], backward.sizes[1])
    for side in range(2):
        # every pair once: new here with all there, then old here with new there
        mine, its = (forward, backward) if side == 0 else (backward, forward)
        for node in range(within[side], below if side else mine.sizes[1]):
            if mine.nodes[node, DROPPED] or mine.nodes[node, COST] > most:
                continue
            row = mine.places[mine.nodes[node, OF_PLACE]]
            number = its.table[_slot(its, row)]
            if number < 0:
                continue
            other = its.latest[number]
            n = _nodes_kept(m, row)
            while other >= 0:
                here, there = (node, other) if side == 0 else (other, node)
                is_new = there < below if side == 0 else here < within[0]
                if is_new and not its.nodes[other, DROPPED]:
                    moves = mine.nodes[node, COST] + its.nodes[other, COST]
                    moves += _turned_between(m, forward, here, backward, there)
                    if moves <= most and _share_a_position(
                        m, mine.zones, mine.nodes[node, ZONE_AT], its.zones, its.nodes[other, ZONE_AT], n
                    ):
                        if count < found.shape[0]:
                            found[count, 0], found[count, 1], found[count, 2] = moves, here, there
                        count += 1
                other = its.nodes[other, FOLLOWING]
    return count
