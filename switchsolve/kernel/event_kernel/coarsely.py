# jitted functions have no annotations: numba finds their types
# mypy: disable-error-code="no-untyped-call"
"""The law seen loosely or coarsely: strings without a locomotive may be anywhere in their cells, so that of
a zone only what the others have is kept; seen coarsely, those side by side in a cell are one.
"""

from __future__ import annotations

from numba.extending import register_jitable

from switchsolve.kernel.event_kernel import memory as where
from switchsolve.kernel.event_kernel.demands import ENGINES, demand_end
from switchsolve.kernel.event_kernel.drafts import (
    holds_loco,
    join,
    path_length,
    remove_inside,
    reverse,
    string_length,
)
from switchsolve.kernel.event_kernel.memory import LOOSELY
from switchsolve.kernel.event_kernel.zones import INFINITE, node_of, release, size_of, zone_of

__all__ = ["keep_zone", "let_loose", "needs_its_cells", "nodes_kept", "put_together_in_cells", "take_zone"]


@register_jitable
def put_together_in_cells(m):  # type: ignore[no-untyped-def]
    """Layer 3: strings without a locomotive that stand wholly in one cell, side by side, are one."""
    for cell in range(m[where.CELLS]):
        at = 0
        while at + 1 < m[where.inside_len(m, 3, cell)]:
            one, other = m[where.inside(m, 3, cell, at)], m[where.inside(m, 3, cell, at + 1)]
            if holds_loco(m, 3, one) or holds_loco(m, 3, other):
                at += 1
                continue
            side = 1 if m[where.path(m, 3, one, 0)] == 2 * cell else 0
            other_side = 0 if m[where.path(m, 3, other, 0)] == 2 * cell else 1
            if other_side == side:
                reverse(m, 3, other)
            join(m, one, side, other, 1)
            m[where.alive(m, 3, other)] = False
            remove_inside(m, 3, cell, other)


@register_jitable
def _forget(m, layer, slot):  # type: ignore[no-untyped-def]
    """The string may be anywhere at all."""
    zone, n, mirrored = zone_of(m, layer), size_of(m, layer), m[where.MIRRORED]
    release(m, zone, n, mirrored, slot, 1)
    release(m, zone, n, mirrored, slot, -1)


@register_jitable
def _lay_within_cells(m, layer, slot):  # type: ignore[no-untyped-def]
    """The string, of whose position nothing is known, lies on its path and reaches both end cells: what
    :func:`demand_span` comes to then, each bound by way of node 0.
    """
    zone, n = zone_of(m, layer), size_of(m, layer)
    slack = path_length(m, layer, slot) - string_length(m, layer, slot)
    low, high, cells = 0, slack, m[where.path_len(m, layer, slot)]
    if cells > 1:
        low = max(low, slack - m[where.length(m, m[where.path(m, layer, slot, cells - 1)] >> 1)])
        high = min(high, m[where.length(m, m[where.path(m, layer, slot, 0)] >> 1)])
    for twin in range(2 if m[where.MIRRORED] else 1):
        node = node_of(m[where.MIRRORED], slot, -1 if twin else 1)
        most, least = (-low, -high) if twin else (high, low)
        for v in range(n):
            if v != node:
                onwards, back = m[where.bound(m, zone, 0, v)], m[where.bound(m, zone, v, 0)]
                m[where.bound(m, zone, node, v)] = most + onwards if onwards < INFINITE // 2 else INFINITE
                m[where.bound(m, zone, v, node)] = back - least if back < INFINITE // 2 else INFINITE


@register_jitable
def let_loose(m, layer):  # type: ignore[no-untyped-def]
    """Strings without a locomotive may be anywhere in their cells."""
    size = m[where.count(m, layer)]
    for slot in range(size):
        if m[where.alive(m, layer, slot)] and not holds_loco(m, layer, slot):
            _forget(m, layer, slot)
    for slot in range(size):
        if m[where.alive(m, layer, slot)] and not holds_loco(m, layer, slot):
            _lay_within_cells(m, layer, slot)
    moving = -1
    if m[where.moving(m, layer, 0)] >= 0:
        moving = 2 * m[where.moving(m, layer, 0)] + m[where.moving(m, layer, 1)]
    if m[where.SEEN] == LOOSELY and not m[where.SEVERAL]:
        moving = ENGINES
    for slot in range(m[where.count(m, layer)]):
        if m[where.alive(m, layer, slot)]:
            for side in (1, 0):
                demand_end(m, layer, slot, side, moving)


@register_jitable
def nodes_kept(m, row):  # type: ignore[no-untyped-def]
    """Zone nodes that are kept of a standing at the place ``row``: where cars may be anywhere, those of
    strings with a locomotive alone, for the others follow.
    """
    strings = row[0]
    if m[where.SEEN]:
        strings, at = 0, 3 + m[where.TABLES]
        for _ in range(row[0]):
            cells, size = row[at], row[at + 1]
            for v in range(size):
                if m[where.is_loco(m, row[at + 3 + cells + v])]:
                    strings += 1
                    break
            at += 3 + cells + size
    return 1 + strings * (2 if m[where.MIRRORED] else 1)


@register_jitable
def keep_zone(m, count):  # type: ignore[no-untyped-def]
    """Strike from the zone in ``out`` what is not kept; the nodes that are left."""
    size = 2 if m[where.MIRRORED] else 1
    if not m[where.SEEN]:
        return 1 + count * size
    nodes, kept = where.scratch(m, 2, 0), 1
    m[nodes] = 0
    for number in range(count):
        if holds_loco(m, 3, m[where.order(m, 0, number)]):
            for k in range(size):
                m[nodes + kept] = 1 + number * size + k
                kept += 1
    for u in range(kept):
        for v in range(kept):
            m[where.out(m, u, v)] = m[where.out(m, m[nodes + u], m[nodes + v])]
    return kept


@register_jitable
def take_zone(m, store, at):  # type: ignore[no-untyped-def]
    """The zone of layer 0 from what is kept of it."""
    n = size_of(m, 0)
    if not m[where.SEEN]:
        for u in range(n):
            for v in range(n):
                m[where.zone(m, 0, u, v)] = store.zones[at + u * n + v]
        return
    size = 2 if m[where.MIRRORED] else 1
    nodes, kept = where.scratch(m, 2, 0), 1
    m[nodes] = 0
    for slot in range(m[where.count(m, 0)]):
        if holds_loco(m, 0, slot):
            for k in range(size):
                m[nodes + kept] = 1 + slot * size + k
                kept += 1
    for u in range(n):
        for v in range(n):
            m[where.zone(m, 0, u, v)] = INFINITE if u != v else 0
    for u in range(kept):
        for v in range(kept):
            m[where.zone(m, 0, m[nodes + u], m[nodes + v])] = store.zones[at + u * kept + v]
    let_loose(m, 0)


@register_jitable
def needs_its_cells(m, slot, side, going, joint):  # type: ignore[no-untyped-def]
    """Layer 0: whether what a cut leaves holds a locomotive, or fits on no part of its cells (with a table,
    with room to spare).
    """
    size = m[where.token_len(m, 0, slot)]
    spare = 1 if m[where.TABLES] else 0
    length = 0
    for v in range(0 if side else going, size - going if side else size):
        token = m[where.tokens(m, 0, slot, v)]
        if m[where.is_loco(m, token)]:
            return True
        length += m[where.token_length(m, token)]
    first, end = (0, joint + 1) if side else (joint, m[where.path_len(m, 0, slot)])
    for i in range(first, end):
        whole, inner = 0, 0
        for j in range(i, end):
            cell_length = m[where.length(m, m[where.path(m, 0, slot, j)] >> 1)]
            inner = whole - m[where.length(m, m[where.path(m, 0, slot, i)] >> 1)] if j > i else -1
            whole += cell_length
            if (i > first or j + 1 < end) and inner < length <= whole - spare:
                return False
    return True
