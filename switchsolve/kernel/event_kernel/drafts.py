# jitted functions have no annotations: numba finds their types
# mypy: disable-error-code="no-untyped-call"
"""Strings of a draft: their measures, who stands next to whom, and copies of it all.

A string has a path (its ways, from one end to the other) and vehicles in the same order; side 1 is the end
where the path leads, 0 the other.  One with a path of one cell is *inside* it: such are listed in order.
"""

from __future__ import annotations

from numba.extending import register_jitable

from switchsolve.kernel.event_kernel import memory as where
from switchsolve.kernel.event_kernel.zones import copy_zone, size_of

__all__ = [
    "copy_draft",
    "couples_at",
    "facing_of",
    "first_on",
    "holds_loco",
    "index_inside",
    "insert_inside",
    "join",
    "lining_of",
    "neighbour",
    "path_length",
    "remove_inside",
    "reverse",
    "string_length",
]


@register_jitable
def string_length(m, layer, slot):  # type: ignore[no-untyped-def]
    """How long the vehicles of a string are together."""
    total = 0
    for v in range(m[where.token_len(m, layer, slot)]):
        total += m[where.token_length(m, m[where.tokens(m, layer, slot, v)])]
    return total


@register_jitable
def path_length(m, layer, slot):  # type: ignore[no-untyped-def]
    """How long the cells of its path are together."""
    total = 0
    for k in range(m[where.path_len(m, layer, slot)]):
        total += m[where.length(m, m[where.path(m, layer, slot, k)] >> 1)]
    return total


@register_jitable
def facing_of(m, layer, slot, side):  # type: ignore[no-untyped-def]
    """The way in which an end of the string points, in the cell where it is."""
    if side:
        return m[where.path(m, layer, slot, m[where.path_len(m, layer, slot)] - 1)]
    return m[where.path(m, layer, slot, 0)] ^ 1


@register_jitable
def couples_at(m, layer, slot, side):  # type: ignore[no-untyped-def]
    """Whether the vehicle at that end can couple there."""
    token = m[where.tokens(m, layer, slot, m[where.token_len(m, layer, slot)] - 1 if side else 0)]
    if not m[where.rear_only(m, token)]:
        return True
    return (not token & 1) != bool(side)


@register_jitable
def holds_loco(m, layer, slot):  # type: ignore[no-untyped-def]
    """Whether one of its vehicles is a locomotive."""
    for v in range(m[where.token_len(m, layer, slot)]):
        if m[where.is_loco(m, m[where.tokens(m, layer, slot, v)])]:
            return True
    return False


@register_jitable
def lining_of(m, layer):  # type: ignore[no-untyped-def]
    """The number of how all tables are lined."""
    number = 0
    for i in range(m[where.TABLES]):
        number += m[where.lined(m, layer, i)] * m[where.lining_stride(m, i)]
    return number


@register_jitable
def index_inside(m, layer, cell, slot):  # type: ignore[no-untyped-def]
    """Which of the strings wholly inside the cell it is, or -1."""
    for i in range(m[where.inside_len(m, layer, cell)]):
        if m[where.inside(m, layer, cell, i)] == slot:
            return i
    return -1


@register_jitable
def insert_inside(m, layer, cell, at, slot):  # type: ignore[no-untyped-def]
    """Enter the string among those wholly inside the cell."""
    for i in range(m[where.inside_len(m, layer, cell)], at, -1):
        m[where.inside(m, layer, cell, i)] = m[where.inside(m, layer, cell, i - 1)]
    m[where.inside(m, layer, cell, at)] = slot
    m[where.inside_len(m, layer, cell)] += 1


@register_jitable
def remove_inside(m, layer, cell, slot):  # type: ignore[no-untyped-def]
    """Strike the string from among them."""
    at = index_inside(m, layer, cell, slot)
    for i in range(at, m[where.inside_len(m, layer, cell)] - 1):
        m[where.inside(m, layer, cell, i)] = m[where.inside(m, layer, cell, i + 1)]
    m[where.inside_len(m, layer, cell)] -= 1


@register_jitable
def _beyond(m, layer, way, me, my_index):  # type: ignore[no-untyped-def]
    """2 * slot + side of the string end that protrudes into ``way``'s cell from its far end, or -1."""
    for slot in range(m[where.count(m, layer)]):
        if not m[where.alive(m, layer, slot)]:
            continue
        size = m[where.path_len(m, layer, slot)]
        if size < 2:
            continue
        for k in range(size):
            if (slot == me and k == my_index) or m[where.path(m, layer, slot, k)] >> 1 != way >> 1:
                continue
            if m[where.path(m, layer, slot, k)] == way and k == 0:
                return 2 * slot
            if m[where.path(m, layer, slot, k)] == way ^ 1 and k == size - 1:
                return 2 * slot + 1
    return -1


@register_jitable
def _end_met(m, layer, slot, way):  # type: ignore[no-untyped-def]
    return 2 * slot + (0 if m[where.path(m, layer, slot, 0)] == way else 1)


@register_jitable
def neighbour(m, layer, slot, side):  # type: ignore[no-untyped-def]
    """2 * slot + side of the string end that comes next in the cell where this end is, or -1."""
    way = facing_of(m, layer, slot, side)
    cell = way >> 1
    size = m[where.inside_len(m, layer, cell)]
    is_inside = m[where.path_len(m, layer, slot)] == 1
    if way & 1:
        at = (index_inside(m, layer, cell, slot) if is_inside else size) - 1
    else:
        at = (index_inside(m, layer, cell, slot) if is_inside else -1) + 1
    if 0 <= at < size:
        return _end_met(m, layer, m[where.inside(m, layer, cell, at)], way)
    return _beyond(m, layer, way, slot, m[where.path_len(m, layer, slot)] - 1 if side else 0)


@register_jitable
def first_on(m, layer, way):  # type: ignore[no-untyped-def]
    """2 * slot + side of the string end that is met first on that way, or -1."""
    size = m[where.inside_len(m, layer, way >> 1)]
    if size:
        slot = m[where.inside(m, layer, way >> 1, size - 1 if way & 1 else 0)]
        return _end_met(m, layer, slot, way)
    return _beyond(m, layer, way, -1, -1)


@register_jitable
def _copy(m, source, target):  # type: ignore[no-untyped-def]
    count = m[where.count(m, source)]
    m[where.count(m, target)] = count
    for s in range(count):
        m[where.alive(m, target, s)] = m[where.alive(m, source, s)]
        m[where.path_len(m, target, s)] = m[where.path_len(m, source, s)]
        for k in range(m[where.path_len(m, source, s)]):
            m[where.path(m, target, s, k)] = m[where.path(m, source, s, k)]
        m[where.token_len(m, target, s)] = m[where.token_len(m, source, s)]
        for v in range(m[where.token_len(m, source, s)]):
            m[where.tokens(m, target, s, v)] = m[where.tokens(m, source, s, v)]
    for c in range(m[where.CELLS]):
        m[where.inside_len(m, target, c)] = m[where.inside_len(m, source, c)]
        for i in range(m[where.inside_len(m, source, c)]):
            m[where.inside(m, target, c, i)] = m[where.inside(m, source, c, i)]
    for i in range(m[where.LOCOS]):
        m[where.last(m, target, i)] = m[where.last(m, source, i)]
    for i in range(m[where.TABLES]):
        m[where.lined(m, target, i)] = m[where.lined(m, source, i)]
    m[where.moving(m, target, 0)] = -1
    m[where.moving(m, target, 1)] = -1


@register_jitable
def copy_draft(m, source, target):  # type: ignore[no-untyped-def]
    """All of one layer into another, with nothing on the move there."""
    _copy(m, source, target)
    copy_zone(m, size_of(m, source), source, target)


@register_jitable
def reverse(m, layer, slot):  # type: ignore[no-untyped-def]
    """List the string from its other end (its zone is not changed)."""
    size = m[where.path_len(m, layer, slot)]
    for k in range((size + 1) // 2):
        one, other = m[where.path(m, layer, slot, k)], m[where.path(m, layer, slot, size - 1 - k)]
        m[where.path(m, layer, slot, k)] = other ^ 1
        m[where.path(m, layer, slot, size - 1 - k)] = one ^ 1
    size = m[where.token_len(m, layer, slot)]
    for v in range((size + 1) // 2):
        one, other = m[where.tokens(m, layer, slot, v)], m[where.tokens(m, layer, slot, size - 1 - v)]
        m[where.tokens(m, layer, slot, v)] = other ^ 1 if m[where.is_loco(m, other)] else other
        m[where.tokens(m, layer, slot, size - 1 - v)] = one ^ 1 if m[where.is_loco(m, one)] else one


@register_jitable
def join(m, slot, side, other, shared):  # type: ignore[no-untyped-def]
    """Layer 3: the path and the vehicles of ``other`` are added to those of ``slot``."""
    cells, more = m[where.path_len(m, 3, slot)], m[where.path_len(m, 3, other)]
    size, cars = m[where.token_len(m, 3, slot)], m[where.token_len(m, 3, other)]
    if side:
        for k in range(shared, more):
            m[where.path(m, 3, slot, cells + k - shared)] = m[where.path(m, 3, other, k)]
        for v in range(cars):
            m[where.tokens(m, 3, slot, size + v)] = m[where.tokens(m, 3, other, v)]
    else:
        for k in range(cells - 1, -1, -1):
            m[where.path(m, 3, slot, k + more - shared)] = m[where.path(m, 3, slot, k)]
        for k in range(more - shared):
            m[where.path(m, 3, slot, k)] = m[where.path(m, 3, other, k)]
        for v in range(size - 1, -1, -1):
            m[where.tokens(m, 3, slot, v + cars)] = m[where.tokens(m, 3, slot, v)]
        for v in range(cars):
            m[where.tokens(m, 3, slot, v)] = m[where.tokens(m, 3, other, v)]
    m[where.path_len(m, 3, slot)] = cells + more - shared
    m[where.token_len(m, 3, slot)] = size + cars
