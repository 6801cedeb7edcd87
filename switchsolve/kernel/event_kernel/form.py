# jitted functions have no annotations: numba finds their types
# mypy: disable-error-code="no-untyped-call"
"""The one agreed form of a standing: strings in order, each listed from the same one of its ends."""

from __future__ import annotations

from numba.extending import register_jitable

from switchsolve.kernel.event_kernel import memory as where
from switchsolve.kernel.event_kernel.drafts import index_inside, path_length, reverse, string_length
from switchsolve.kernel.event_kernel.zones import node_of

__all__ = ["write_place"]


@register_jitable
def _compare(m, a, b):  # type: ignore[no-untyped-def]
    """Order of two strings of layer 3 by path, vehicles, rank, slot."""
    for k in range(min(m[where.path_len(m, 3, a)], m[where.path_len(m, 3, b)])):
        if m[where.path(m, 3, a, k)] != m[where.path(m, 3, b, k)]:
            return -1 if m[where.path(m, 3, a, k)] < m[where.path(m, 3, b, k)] else 1
    if m[where.path_len(m, 3, a)] != m[where.path_len(m, 3, b)]:
        return -1 if m[where.path_len(m, 3, a)] < m[where.path_len(m, 3, b)] else 1
    for v in range(min(m[where.token_len(m, 3, a)], m[where.token_len(m, 3, b)])):
        if m[where.tokens(m, 3, a, v)] != m[where.tokens(m, 3, b, v)]:
            return -1 if m[where.tokens(m, 3, a, v)] < m[where.tokens(m, 3, b, v)] else 1
    if m[where.token_len(m, 3, a)] != m[where.token_len(m, 3, b)]:
        return -1 if m[where.token_len(m, 3, a)] < m[where.token_len(m, 3, b)] else 1
    if m[where.order(m, 1, a)] != m[where.order(m, 1, b)]:
        return -1 if m[where.order(m, 1, a)] < m[where.order(m, 1, b)] else 1
    return -1 if a < b else 1


@register_jitable
def _is_canonical(m, slot):  # type: ignore[no-untyped-def]
    if m[where.HAS_ORIENTATION]:
        way = m[where.path(m, 3, slot, 0)]
        return (way & 1) == m[where.orientation(m, way >> 1)]
    size = m[where.path_len(m, 3, slot)]
    for k in range(size):
        one, other = m[where.path(m, 3, slot, k)], m[where.path(m, 3, slot, size - 1 - k)] ^ 1
        if one != other:
            return one < other
    size = m[where.token_len(m, 3, slot)]
    for v in range(size):
        one, other = m[where.tokens(m, 3, slot, v)], m[where.tokens(m, 3, slot, size - 1 - v)]
        if m[where.is_loco(m, other)]:
            other ^= 1
        if one != other:
            return one < other
    return True


@register_jitable
def _write_zone(m, count):  # type: ignore[no-untyped-def]
    """The zone over the strings in their order, each counted from its own first end, in ``out``."""
    mirrored = m[where.MIRRORED]
    size = 2 if mirrored else 1
    nodes, shifts = where.scratch(m, 2, 0), where.scratch(m, 3, 0)
    m[nodes], m[shifts] = 0, 0
    for number in range(count):
        slot = m[where.order(m, 0, number)]
        sign, shift = 1, 0
        if m[where.order(m, 2, slot)]:
            sign = -1
            shift = path_length(m, 3, slot) - string_length(m, 3, slot)
        if mirrored:
            m[nodes + 1 + 2 * number] = node_of(1, slot, sign)
            m[shifts + 1 + 2 * number] = shift
            m[nodes + 2 + 2 * number] = node_of(1, slot, -sign)
            m[shifts + 2 + 2 * number] = -shift
        else:
            m[nodes + 1 + number] = node_of(False, slot, sign)
            m[shifts + 1 + number] = shift
    n = 1 + count * size
    for u in range(n):
        for v in range(n):
            known = m[where.zone(m, 3, m[nodes + u], m[nodes + v])]
            m[where.out(m, u, v)] = known + m[shifts + u] - m[shifts + v]


@register_jitable
def write_place(m):  # type: ignore[no-untyped-def]
    """Layer 3 in its agreed form: ``place``, and the zone in ``out``; returns the number of strings."""
    count = 0
    for slot in range(m[where.count(m, 3)]):
        if not m[where.alive(m, 3, slot)]:
            continue
        m[where.order(m, 1, slot)] = 0  # rank
        if m[where.path_len(m, 3, slot)] == 1:
            cell = m[where.path(m, 3, slot, 0)] >> 1
            m[where.order(m, 1, slot)] = index_inside(m, 3, cell, slot)
        m[where.order(m, 2, slot)] = 0  # whether turned
        if not _is_canonical(m, slot):
            m[where.order(m, 2, slot)] = 1
            reverse(m, 3, slot)
        at = count
        while at and _compare(m, slot, m[where.order(m, 0, at - 1)]) < 0:
            m[where.order(m, 0, at)] = m[where.order(m, 0, at - 1)]
            at -= 1
        m[where.order(m, 0, at)] = slot
        count += 1
    place = where.place(m, 0)
    for i in range(m[where.WIDTH]):
        m[place + i] = 0
    m[place] = count
    at = 1
    for i in range(m[where.TABLES]):
        m[place + at] = m[where.lined(m, 3, i)]
        at += 1
    m[place + at], m[place + at + 1] = -1, -1
    for number in range(count):
        slot = m[where.order(m, 0, number)]
        if m[where.moving(m, 3, 0)] == slot:
            m[place + at] = number
            m[place + at + 1] = m[where.moving(m, 3, 1)] ^ m[where.order(m, 2, slot)]
    at += 2
    for number in range(count):
        slot = m[where.order(m, 0, number)]
        m[place + at] = m[where.path_len(m, 3, slot)]
        m[place + at + 1] = m[where.token_len(m, 3, slot)]
        m[place + at + 2] = m[where.order(m, 1, slot)]
        at += 3
        for k in range(m[where.path_len(m, 3, slot)]):
            m[place + at] = m[where.path(m, 3, slot, k)]
            at += 1
        for v in range(m[where.token_len(m, 3, slot)]):
            m[place + at] = m[where.tokens(m, 3, slot, v)]
            at += 1
    _write_zone(m, count)
    return count
