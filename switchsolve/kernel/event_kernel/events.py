# jitted functions have no annotations: numba finds their types
# mypy: disable-error-code="no-untyped-call"
"""How a run begins, and what a string can then come to: each makes one draft from another, if it can be."""

from __future__ import annotations

from numba.extending import register_jitable

from switchsolve.kernel.event_kernel import memory as where
from switchsolve.kernel.event_kernel.demands import (
    comes_to_rest,
    demand,
    demand_end,
    demand_sides,
    demand_span,
    is_within,
    keep_clear,
    may_move,
    room_constant,
)
from switchsolve.kernel.event_kernel.drafts import (
    copy_draft,
    couples_at,
    facing_of,
    index_inside,
    insert_inside,
    join,
    path_length,
    remove_inside,
    reverse,
    string_length,
)
from switchsolve.kernel.event_kernel.memory import ANY_WAY
from switchsolve.kernel.event_kernel.zones import (
    add_twin,
    at_least,
    least_of,
    most_of,
    shift_by,
    size_of,
    sum_at_least,
    zone_of,
)

__all__ = ["couple", "enter", "leave", "part", "turn"]


@register_jitable
def turn(m, slot, side, going):  # type: ignore[no-untyped-def]
    """Layer 1: layer 0 with the directions of the locomotives that go set; the moves it costs, or -1."""
    copy_draft(m, 0, 1)
    size = m[where.token_len(m, 0, slot)]
    low = size - going if side else 0
    moves = 0
    is_reversal = False
    for v in range(low, low + going):
        token = m[where.tokens(m, 0, slot, v)]
        loco = m[where.loco_index(m, token)]
        if loco >= 0:
            way = 1 if bool(side) != bool(token & 1) else -1
            if m[where.last(m, 1, loco)] == ANY_WAY:
                m[where.last(m, 1, loco)] = way
            elif m[where.last(m, 1, loco)] != way:
                moves += 1
                is_reversal = is_reversal or m[where.last(m, 1, loco)] != 0
                m[where.last(m, 1, loco)] = way
    but = 2 * slot + side
    is_moving = m[where.moving(m, 0, 0)] == slot and m[where.moving(m, 0, 1)] == side
    if going < size or (m[where.SEVERAL] and not is_moving):
        but = -1
    if not comes_to_rest(m, 1, but):
        return -1
    if is_reversal and not keep_clear(m):
        return -1
    if m[where.HAS_EXEMPT]:
        for v in range(low, low + going):
            token = m[where.tokens(m, 1, slot, v)]
            m[where.tokens(m, 1, slot, v)] = 2 * m[where.moved(m, token >> 1)] + (token & 1)
    return moves


@register_jitable
def part(m, slot, side, going, joint):  # type: ignore[no-untyped-def]
    """Layer 2: layer 1 with the string cut at a joint that lies in cell number ``joint`` of its path."""
    mirrored = m[where.MIRRORED]
    size, cells = m[where.token_len(m, 1, slot)], m[where.path_len(m, 1, slot)]
    begin = 0
    for k in range(joint):
        begin += m[where.length(m, m[where.path(m, 1, slot, k)] >> 1)]
    cell_length = m[where.length(m, m[where.path(m, 1, slot, joint)] >> 1)]
    first = size - going if side else going
    low_length = 0
    for v in range(first):
        low_length += m[where.token_length(m, m[where.tokens(m, 1, slot, v)])]
    nearest = begin + (1 if side else 0) - low_length
    farthest = begin + cell_length - (0 if side else 1) - low_length
    # most joints lie in other cells: seen before anything is copied
    zone = zone_of(m, 1)
    if most_of(m, zone, mirrored, slot, 1) < nearest or least_of(m, zone, mirrored, slot) > farthest:
        return False
    copy_draft(m, 1, 2)
    zone, n = zone_of(m, 2), size_of(m, 2)
    if not (
        at_least(m, zone, n, mirrored, slot, 1, nearest)
        and at_least(m, zone, n, mirrored, slot, -1, -farthest)
    ):
        return False
    new = m[where.count(m, 2)]
    low, high = (new, slot) if side else (slot, new)
    # the high part takes the path from the joint on, the low part the path up to it
    for k in range(cells):
        m[where.scratch(m, 0, k)] = m[where.path(m, 2, slot, k)]
    for v in range(size):
        m[where.scratch(m, 1, v)] = m[where.tokens(m, 2, slot, v)]
    m[where.alive(m, 2, new)] = True
    m[where.path_len(m, 2, low)] = joint + 1
    for k in range(joint + 1):
        m[where.path(m, 2, low, k)] = m[where.scratch(m, 0, k)]
    m[where.token_len(m, 2, low)] = first
    for v in range(first):
        m[where.tokens(m, 2, low, v)] = m[where.scratch(m, 1, v)]
    m[where.path_len(m, 2, high)] = cells - joint
    for k in range(cells - joint):
        m[where.path(m, 2, high, k)] = m[where.scratch(m, 0, joint + k)]
    m[where.token_len(m, 2, high)] = size - first
    for v in range(size - first):
        m[where.tokens(m, 2, high, v)] = m[where.scratch(m, 1, first + v)]
    by = low_length - begin
    if side:
        add_twin(m, zone, n, mirrored, slot, new, 0)
        m[where.count(m, 2)] = new + 1
        shift_by(m, zone, size_of(m, 2), mirrored, slot, by)
    else:
        add_twin(m, zone, n, mirrored, slot, new, by)
        m[where.count(m, 2)] = new + 1
    if cells == 1:
        way = m[where.scratch(m, 0, 0)]
        at = index_inside(m, 2, way >> 1, slot)
        remove_inside(m, 2, way >> 1, slot)
        insert_inside(m, 2, way >> 1, at, high if not way & 1 else low)
        insert_inside(m, 2, way >> 1, at, low if not way & 1 else high)
        return True
    for one in (low, high):
        if m[where.path_len(m, 2, one)] == 1:
            way = m[where.path(m, 2, one, 0)]
            at_from = (one == low) == bool(way & 1)
            insert_inside(m, 2, way >> 1, 0 if at_from else m[where.inside_len(m, 2, way >> 1)], one)
    return True


@register_jitable
def leave(m, slot, side):  # type: ignore[no-untyped-def]
    """Layer 3: the trailing end leaves its cell."""
    cells = m[where.path_len(m, 2, slot)]
    if cells == 1:
        return False
    gone = m[where.length(m, m[where.path(m, 2, slot, 0 if side else cells - 1)] >> 1)]
    if path_length(m, 2, slot) - gone < string_length(m, 2, slot):
        return False
    copy_draft(m, 2, 3)
    m[where.path_len(m, 3, slot)] = cells - 1
    shift, low, high = 0, 0, cells - 2
    if side:
        for k in range(cells - 1):
            m[where.path(m, 3, slot, k)] = m[where.path(m, 2, slot, k + 1)]
        shift_by(m, zone_of(m, 3), size_of(m, 3), m[where.MIRRORED], slot, -gone)
        shift = -1
    if cells == 2:
        way = m[where.path(m, 3, slot, 0)]
        at_from = bool(way & 1) != bool(side)
        insert_inside(m, 3, way >> 1, 0 if at_from else m[where.inside_len(m, 3, way >> 1)], slot)
    return demand(m, 3, slot, side) and demand_sides(m, 3, slot, shift, low, high)


@register_jitable
def _is_open(m, layer, slot, way):  # type: ignore[no-untyped-def]
    cell = way >> 1
    for i in range(m[where.conflict_start(m, cell)], m[where.conflict_start(m, cell + 1)]):
        for other in range(m[where.count(m, layer)]):
            if m[where.alive(m, layer, other)]:
                for k in range(m[where.path_len(m, layer, other)]):
                    if m[where.path(m, layer, other, k)] >> 1 == m[where.conflicts(m, i)]:
                        return False
    for other in range(m[where.count(m, layer)]):
        if not m[where.alive(m, layer, other)]:
            continue
        size = m[where.path_len(m, layer, other)]
        for k in range(size):
            if m[where.path(m, layer, other, k)] >> 1 != cell:
                continue
            if other == slot:
                if not (k == 0 and m[where.path(m, layer, other, 0)] == way) and not (
                    k == size - 1 and m[where.path(m, layer, other, size - 1)] == way ^ 1
                ):
                    return False
                if size == 1:
                    return False
            elif m[where.path(m, layer, other, k)] == way:
                if k:
                    return False
            elif k + 1 < size:
                return False
    return True


@register_jitable
def _fills_all_but_its_last(m, slot, side):  # type: ignore[no-untyped-def]
    """Layer 2: whether the string is as long as its path without the cell at its trailing end."""
    cells = m[where.path_len(m, 2, slot)]
    last = m[where.length(m, m[where.path(m, 2, slot, 0 if side else cells - 1)] >> 1)]
    return cells > 1 and path_length(m, 2, slot) - last == string_length(m, 2, slot)


@register_jitable
def enter(m, slot, side, cut, way):  # type: ignore[no-untyped-def]
    """Layer 3: the leading end enters ``way``; what was cut off so that it stands from edge to edge of its
    other cells leaves the last one at once.
    """
    token = m[where.tokens(m, 2, slot, m[where.token_len(m, 2, slot)] - 1 if side else 0)]
    cell = way >> 1
    if not m[where.may_touch(m, cell, token)] or not _is_open(m, 2, slot, way):
        return False
    if m[where.HAS_LIMITS] and not is_within(m, 2, slot, side, cell):
        return False
    drops = 1 if cut and _fills_all_but_its_last(m, slot, side) else 0
    copy_draft(m, 2, 3)
    cells = m[where.path_len(m, 2, slot)]
    if cells == 1:
        remove_inside(m, 3, m[where.path(m, 2, slot, 0)] >> 1, slot)
    size = cells + 1 - drops
    if side:
        for k in range(drops, cells):
            m[where.path(m, 3, slot, k - drops)] = m[where.path(m, 2, slot, k)]
        m[where.path(m, 3, slot, size - 1)] = way
        shift, by = -drops, -drops * m[where.length(m, m[where.path(m, 2, slot, 0)] >> 1)]
    else:
        for k in range(cells - drops):
            m[where.path(m, 3, slot, k + 1)] = m[where.path(m, 2, slot, k)]
        m[where.path(m, 3, slot, 0)] = way ^ 1
        shift, by = 1, m[where.length(m, cell)]
    if by:
        shift_by(m, zone_of(m, 3), size_of(m, 3), m[where.MIRRORED], slot, by)
    m[where.path_len(m, 3, slot)] = size
    entries = m[where.sides_len(m, 0)]
    for v in range(m[where.token_len(m, 3, slot)]):
        if not m[where.may_touch(m, cell, m[where.tokens(m, 3, slot, v)])]:
            m[where.sides(m, 0, entries)] = size - 1 if side else 0
            m[where.sides(m, 1, entries)] = v
            m[where.sides(m, 2, entries)] = 1 if side else 0
            entries += 1
    m[where.sides_len(m, 1)] = entries
    done = demand(m, 3, slot, side) and demand_sides(m, 3, slot, shift, 0, size - 1)
    m[where.sides_len(m, 1)] = m[where.sides_len(m, 0)]
    return done


@register_jitable
def _demand_contact(m, slot, side, other, other_side, way):  # type: ignore[no-untyped-def]
    if not (
        demand_span(m, 3, slot)
        and demand_sides(m, 3, slot, 0, 0, m[where.path_len(m, 3, slot)])
        and demand_end(m, 3, slot, 1 - side, -1)
    ):
        return False
    zone, n, mirrored = zone_of(m, 3), size_of(m, 3), m[where.MIRRORED]
    overlap = m[where.length(m, facing_of(m, 3, slot, side) >> 1)] if way < 0 else 0
    sign, other_sign = -1 if side else 1, -1 if other_side else 1
    gap = overlap - room_constant(m, 3, slot, side)
    gap -= room_constant(m, 3, other, other_side)
    return sum_at_least(m, zone, n, mirrored, slot, sign, other, other_sign, gap) and sum_at_least(
        m, zone, n, mirrored, slot, -sign, other, -other_sign, -gap
    )


@register_jitable
def couple(m, slot, side, met, way):  # type: ignore[no-untyped-def]
    """Layer 3: the string touches, and is coupled to, the end ``met`` (over ``way``, or -1: in its cell)."""
    other, other_side = met >> 1, met & 1
    if not (couples_at(m, 2, slot, side) and couples_at(m, 2, other, other_side)):
        return False
    copy_draft(m, 2, 3)
    if not _demand_contact(m, slot, side, other, other_side, way):
        return False
    slot_cell = m[where.path(m, 3, slot, 0)] >> 1 if m[where.path_len(m, 3, slot)] == 1 else -1
    other_cell = m[where.path(m, 3, other, 0)] >> 1 if m[where.path_len(m, 3, other)] == 1 else -1
    met_length = string_length(m, 3, other)
    own_path = path_length(m, 3, slot)
    if other_side == side:
        reverse(m, 3, other)
    join(m, slot, side, other, 1 if way < 0 else 0)
    m[where.alive(m, 3, other)] = False
    if not may_move(m, 3, slot, side):
        return False
    by = 0 if side else path_length(m, 3, slot) - own_path - met_length
    if slot_cell >= 0:
        remove_inside(m, 3, slot_cell, slot)
    if other_cell >= 0:
        remove_inside(m, 3, other_cell, other)
    if m[where.path_len(m, 3, slot)] == 1:
        cell = m[where.path(m, 3, slot, 0)] >> 1
        mine, theirs = index_inside(m, 2, cell, slot), index_inside(m, 2, cell, other)
        at = 0
        if mine >= 0 and theirs >= 0:
            at = min(mine, theirs)
        elif mine >= 0 or theirs >= 0:
            at = max(mine, theirs)
        insert_inside(m, 3, cell, min(at, m[where.inside_len(m, 3, cell)]), slot)
    shift_by(m, zone_of(m, 3), size_of(m, 3), m[where.MIRRORED], slot, by)
    return True
