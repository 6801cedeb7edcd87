# jitted functions have no annotations: numba finds their types
# mypy: disable-error-code="no-untyped-call"
"""What a standing demands of positions; what marks demand, and what limits forbid.

A demand narrows the zone of its layer, and is ``False`` if no position is left.
"""

from __future__ import annotations

from numba.extending import register_jitable

from switchsolve.kernel.event_kernel import memory as where
from switchsolve.kernel.event_kernel.drafts import (
    couples_at,
    facing_of,
    first_on,
    holds_loco,
    lining_of,
    neighbour,
    path_length,
    string_length,
)
from switchsolve.kernel.event_kernel.zones import at_least, copy_zone, most_of, size_of, sum_at_least, zone_of

__all__ = [
    "ENGINES",
    "comes_to_rest",
    "demand",
    "demand_end",
    "demand_sides",
    "demand_span",
    "find_sides",
    "is_within",
    "keep_clear",
    "may_move",
    "room_constant",
]

ENGINES = -2
"""For who may touch what it meets: whatever stands with a locomotive."""


@register_jitable
def demand_span(m, layer, slot):  # type: ignore[no-untyped-def]
    """The string lies on its path and reaches both end cells."""
    zone, n, mirrored = zone_of(m, layer), size_of(m, layer), m[where.MIRRORED]
    slack = path_length(m, layer, slot) - string_length(m, layer, slot)
    if slack < 0:
        return False
    if not (
        at_least(m, zone, n, mirrored, slot, 1, 0) and at_least(m, zone, n, mirrored, slot, -1, -slack)
    ):
        return False
    size = m[where.path_len(m, layer, slot)]
    if size == 1:
        return True
    first = m[where.length(m, m[where.path(m, layer, slot, 0)] >> 1)]
    last = m[where.length(m, m[where.path(m, layer, slot, size - 1)] >> 1)]
    return at_least(m, zone, n, mirrored, slot, -1, -first) and at_least(
        m, zone, n, mirrored, slot, 1, slack - last
    )


@register_jitable
def room_constant(m, layer, slot, side):  # type: ignore[no-untyped-def]
    """The constant part of the room at an end, which is this plus the position, or at side 1 less it."""
    if side:
        return path_length(m, layer, slot) - string_length(m, layer, slot)
    return 0


@register_jitable
def _demand_gap(m, layer, slot, side, met, overlap, moving):  # type: ignore[no-untyped-def]
    other, other_side = met >> 1, met & 1
    gap = 0
    if couples_at(m, layer, slot, side) and couples_at(m, layer, other, other_side):
        gap = 1
    if (moving == 2 * slot + side or moving == met) and other != slot:
        gap = 0
    if moving == ENGINES and (holds_loco(m, layer, slot) or holds_loco(m, layer, other)):
        gap = 0
    need = overlap + gap - room_constant(m, layer, slot, side)
    need -= room_constant(m, layer, other, other_side)
    if other == slot:
        return need <= 0
    return sum_at_least(
        m,
        zone_of(m, layer),
        size_of(m, layer),
        m[where.MIRRORED],
        slot,
        -1 if side else 1,
        other,
        -1 if other_side else 1,
        need,
    )


@register_jitable
def demand_end(m, layer, slot, side, moving):  # type: ignore[no-untyped-def]
    """An end does not touch what it could couple to, nor overlap what it meets; ``moving`` (2 * slot + side;
    -1: nobody; or :data:`ENGINES`) may touch it.
    """
    way = facing_of(m, layer, slot, side)
    met = neighbour(m, layer, slot, side)
    if met >= 0:
        return _demand_gap(m, layer, slot, side, met, m[where.length(m, way >> 1)], moving)
    lining = lining_of(m, layer)
    for i in range(m[where.ahead_start(m, lining, way)], m[where.ahead_start(m, lining, way + 1)]):
        met = first_on(m, layer, m[where.ahead(m, i)])
        if met >= 0 and not _demand_gap(m, layer, slot, side, met, 0, moving):
            return False
    return True


@register_jitable
def demand(m, layer, slot, leading):  # type: ignore[no-untyped-def]
    """All that a string demands; ``leading``: the side that is on the move, or -1."""
    if not demand_span(m, layer, slot):
        return False
    moving = 2 * slot + leading if leading >= 0 else -1
    return demand_end(m, layer, slot, 1, moving) and demand_end(m, layer, slot, 0, moving)


@register_jitable
def comes_to_rest(m, layer, but):  # type: ignore[no-untyped-def]
    """All ends of strings with a locomotive keep off what they meet, but for one (2 * slot + side)."""
    for slot in range(m[where.count(m, layer)]):
        if m[where.alive(m, layer, slot)] and holds_loco(m, layer, slot):
            for side in (1, 0):
                if 2 * slot + side != but and not demand_end(m, layer, slot, side, but):
                    return False
    return True


@register_jitable
def find_sides(m, layer, slot):  # type: ignore[no-untyped-def]
    """Note down, in ``sides``, of each vehicle on which side of the cells that it may not touch it is."""
    count = 0
    begin = 0
    most = most_of(m, zone_of(m, layer), m[where.MIRRORED], slot, 1)
    for k in range(m[where.path_len(m, layer, slot)]):
        cell = m[where.path(m, layer, slot, k)] >> 1
        if not m[where.all_may_touch(m, cell)]:
            offset = 0
            for v in range(m[where.token_len(m, layer, slot)]):
                token = m[where.tokens(m, layer, slot, v)]
                length = m[where.token_length(m, token)]
                if not m[where.may_touch(m, cell, token)]:
                    m[where.sides(m, 0, count)] = k
                    m[where.sides(m, 1, count)] = v
                    m[where.sides(m, 2, count)] = 1 if most + offset + length <= begin else 0
                    count += 1
                offset += length
        begin += m[where.length(m, cell)]
    m[where.sides_len(m, 0)] = count
    m[where.sides_len(m, 1)] = count


@register_jitable
def demand_sides(m, layer, slot, shift, low, high):  # type: ignore[no-untyped-def]
    """Keep vehicles on their sides; path indexes are moved by ``shift``, those outside low..high left out.

    Entries from ``sides_len[0]`` on are new: their indexes are not moved.
    """
    zone, n, mirrored = zone_of(m, layer), size_of(m, layer), m[where.MIRRORED]
    for entry in range(m[where.sides_len(m, 1)]):
        k = m[where.sides(m, 0, entry)]
        if entry < m[where.sides_len(m, 0)]:
            k += shift
            if k < low or k > high:
                continue
        v = m[where.sides(m, 1, entry)]
        begin = 0
        for i in range(k):
            begin += m[where.length(m, m[where.path(m, layer, slot, i)] >> 1)]
        offset = 0
        for i in range(v):
            offset += m[where.token_length(m, m[where.tokens(m, layer, slot, i)])]
        if m[where.sides(m, 2, entry)]:
            bound = offset + m[where.token_length(m, m[where.tokens(m, layer, slot, v)])] - begin
            if not at_least(m, zone, n, mirrored, slot, -1, bound):
                return False
        else:
            end = begin + m[where.length(m, m[where.path(m, layer, slot, k)] >> 1)]
            if not at_least(m, zone, n, mirrored, slot, 1, end - offset):
                return False
    return True


@register_jitable
def is_within(m, layer, slot, side, row):  # type: ignore[no-untyped-def]
    """Whether the string, led by that side, keeps the limits of a row."""
    cars, length, ahead = 0, 0, 0
    size = m[where.token_len(m, layer, slot)]
    for v in range(size):
        token = m[where.tokens(m, layer, slot, v)]
        if m[where.counts_as_car(m, token)]:
            cars += 1
            length += m[where.token_length(m, token)]
    if m[where.limits(m, row, 0)] >= 0 and cars > m[where.limits(m, row, 0)]:
        return False
    if m[where.limits(m, row, 1)] >= 0 and length > m[where.limits(m, row, 1)]:
        return False
    if m[where.limits(m, row, 2)] >= 0:
        for v in range(size):
            if m[where.is_loco(m, m[where.tokens(m, layer, slot, size - 1 - v if side else v)])]:
                break
            ahead += 1
        return ahead <= m[where.limits(m, row, 2)]
    return True


@register_jitable
def may_move(m, layer, slot, side):  # type: ignore[no-untyped-def]
    """Whether it keeps all limits where it stands."""
    if not m[where.HAS_LIMITS]:
        return True
    if not is_within(m, layer, slot, side, m[where.CELLS]):
        return False
    for k in range(m[where.path_len(m, layer, slot)]):
        if not is_within(m, layer, slot, side, m[where.path(m, layer, slot, k)] >> 1):
            return False
    return True


@register_jitable
def keep_clear(m):  # type: ignore[no-untyped-def]
    """Layer 1: vehicles that have moved kept off the parts to be kept clear at every reversal; ``False`` if
    one stands there uncoupled.  Where one could stand on either side of such a part, which takes two that
    have not moved and a part covered by now the one, now the other, it is not kept off: a plan in which it
    stood on it the referee would refuse.
    """
    if not m[where.ANY_CLEAR]:
        return True
    zone, n, mirrored = zone_of(m, 1), size_of(m, 1), m[where.MIRRORED]
    for slot in range(m[where.count(m, 1)]):
        if holds_loco(m, 1, slot):
            continue
        size, moved = m[where.token_len(m, 1, slot)], 0
        for v in range(size):
            moved += not m[where.exempt(m, m[where.tokens(m, 1, slot, v)] >> 1)]
        begin = 0
        for k in range(m[where.path_len(m, 1, slot)]):
            cell = m[where.path(m, 1, slot, k)] >> 1
            if m[where.clear_always(m, cell)]:
                if moved == size:
                    return False
                offset = 0
                for v in range(size):
                    token = m[where.tokens(m, 1, slot, v)]
                    length = m[where.token_length(m, token)]
                    if not m[where.exempt(m, token >> 1)]:
                        low, high = begin - offset - length, begin + m[where.length(m, cell)] - offset
                        copy_zone(m, n, 1, 4)
                        before = at_least(m, zone, n, mirrored, slot, -1, -low)
                        copy_zone(m, n, 4, 1)
                        after = at_least(m, zone, n, mirrored, slot, 1, high)
                        if before:
                            copy_zone(m, n, 4, 1)
                            if not after:
                                at_least(m, zone, n, mirrored, slot, -1, -low)
                        elif not after:
                            return False
                    offset += length
            begin += m[where.length(m, cell)]
    return True
