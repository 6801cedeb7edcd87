# jitted functions have no annotations: numba finds their types
# mypy: disable-error-code="no-untyped-call"
"""Zones of drafts: sets of real positions, as difference constraints; see :mod:`switchsolve.zone`.

``x_slot`` says where a string is on its path.  Node 0 is the number zero, each string has a node for ``x``
and in a mirrored zone another for ``-x``; the bound from ``u`` to ``v`` is the most that ``u - v`` can be.
``n`` is how many nodes there are.
"""

from __future__ import annotations

from numba.extending import register_jitable

from switchsolve.kernel.event_kernel import memory as where

__all__ = [
    "INFINITE",
    "add_twin",
    "at_least",
    "copy_zone",
    "least_of",
    "most_of",
    "node_of",
    "release",
    "shift_by",
    "size_of",
    "sum_at_least",
    "zone_of",
]

INFINITE = 1 << 60
"""No bound."""


@register_jitable
def zone_of(m, layer):  # type: ignore[no-untyped-def]
    """Where the zone of a layer begins."""
    return where.zone(m, layer, 0, 0)


@register_jitable
def node_of(mirrored, slot, sign):  # type: ignore[no-untyped-def]
    """The node of ``sign * x_slot`` (sign -1 in a mirrored zone only)."""
    if mirrored:
        return 1 + 2 * slot + (1 if sign < 0 else 0)
    return 1 + slot


@register_jitable
def _tighten(m, zone, n, u, v, bound):  # type: ignore[no-untyped-def]
    if bound >= m[where.bound(m, zone, u, v)]:
        return True
    if m[where.bound(m, zone, v, u)] + bound < 0:
        return False
    for i in range(n):
        through = m[where.bound(m, zone, i, u)] + bound
        if through < INFINITE // 2:
            for j in range(n):
                if through + m[where.bound(m, zone, v, j)] < m[where.bound(m, zone, i, j)]:
                    m[where.bound(m, zone, i, j)] = through + m[where.bound(m, zone, v, j)]
    return True


@register_jitable
def at_least(m, zone, n, mirrored, slot, sign, bound):  # type: ignore[no-untyped-def]
    """Keep only positions with ``sign * x_slot >= bound``; ``False`` if none is left."""
    if mirrored:
        node, twin = node_of(1, slot, sign), node_of(1, slot, -sign)
        return _tighten(m, zone, n, 0, node, -bound) and _tighten(m, zone, n, twin, 0, -bound)
    if sign > 0:
        return _tighten(m, zone, n, 0, 1 + slot, -bound)
    return _tighten(m, zone, n, 1 + slot, 0, -bound)


@register_jitable
def sum_at_least(m, zone, n, mirrored, one, sign, other, other_sign, bound):  # type: ignore[no-untyped-def]
    """Keep only positions with ``sign * x_one + other_sign * x_other >= bound`` (in a plain zone the signs
    differ); ``False`` if none is left.
    """
    if mirrored:
        low, high = node_of(1, one, -sign), node_of(1, other, other_sign)
        if not _tighten(m, zone, n, low, high, -bound):
            return False
        low, high = node_of(1, other, -other_sign), node_of(1, one, sign)
        return _tighten(m, zone, n, low, high, -bound)
    if sign < 0:
        return _tighten(m, zone, n, 1 + one, 1 + other, -bound)
    return _tighten(m, zone, n, 1 + other, 1 + one, -bound)


@register_jitable
def release(m, zone, n, mirrored, slot, sign):  # type: ignore[no-untyped-def]
    """Let ``x_slot`` grow, or with ``sign`` below zero shrink, as far as it likes."""
    if mirrored or sign > 0:
        grows = node_of(mirrored, slot, sign)
        for j in range(n):
            if j != grows:
                m[where.bound(m, zone, grows, j)] = INFINITE
    if mirrored or sign < 0:
        shrinks = node_of(mirrored, slot, -sign)
        for j in range(n):
            if j != shrinks:
                m[where.bound(m, zone, j, shrinks)] = INFINITE


@register_jitable
def most_of(m, zone, mirrored, slot, sign):  # type: ignore[no-untyped-def]
    """The largest value of ``sign * x_slot``."""
    if mirrored:
        return m[where.bound(m, zone, node_of(1, slot, sign), 0)]
    return m[where.bound(m, zone, 1 + slot, 0)] if sign > 0 else m[where.bound(m, zone, 0, 1 + slot)]


@register_jitable
def least_of(m, zone, mirrored, slot):  # type: ignore[no-untyped-def]
    """The least value of ``x_slot``."""
    return -m[where.bound(m, zone, 0, node_of(mirrored, slot, 1))]


@register_jitable
def shift_by(m, zone, n, mirrored, slot, by):  # type: ignore[no-untyped-def]
    """``x_slot`` counted from elsewhere: the new one is the old one plus ``by``."""
    if by == 0:
        return
    node = node_of(mirrored, slot, 1)
    for v in range(n):
        if v != node:
            m[where.bound(m, zone, node, v)] += by
            m[where.bound(m, zone, v, node)] -= by
    if mirrored:
        for v in range(n):
            if v != node + 1:
                m[where.bound(m, zone, node + 1, v)] -= by
                m[where.bound(m, zone, v, node + 1)] += by


@register_jitable
def add_twin(m, zone, n, mirrored, old, new, by):  # type: ignore[no-untyped-def]
    """Add string ``new`` (the next number) with ``x_new = x_old + by``."""
    size = 2 if mirrored else 1
    for k in range(size):
        source, target = node_of(mirrored, old, 1) + k, n + k
        move = by if k == 0 else -by
        for v in range(n):
            m[where.bound(m, zone, target, v)] = m[where.bound(m, zone, source, v)] + move
            m[where.bound(m, zone, v, target)] = m[where.bound(m, zone, v, source)] - move
        m[where.bound(m, zone, target, target)] = 0
    if mirrored:
        source = node_of(1, old, 1)
        m[where.bound(m, zone, n, n + 1)] = m[where.bound(m, zone, source, source + 1)] + 2 * by
        m[where.bound(m, zone, n + 1, n)] = m[where.bound(m, zone, source + 1, source)] - 2 * by


@register_jitable
def size_of(m, layer):  # type: ignore[no-untyped-def]
    """How many nodes the zone of a layer has."""
    return 1 + m[where.count(m, layer)] * (2 if m[where.MIRRORED] else 1)


@register_jitable
def copy_zone(m, n, source, target):  # type: ignore[no-untyped-def]
    """The zone of one layer, of ``n`` nodes, into another."""
    for u in range(n):
        for v in range(n):
            m[where.zone(m, target, u, v)] = m[where.zone(m, source, u, v)]
