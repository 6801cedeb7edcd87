# jitted functions have no annotations: numba finds their types
# mypy: disable-error-code="no-untyped-call"
"""A standing expanded: all that can come next, and what of it is new to the store."""

from __future__ import annotations

from numba.extending import register_jitable

from switchsolve.kernel.event_kernel import memory as where
from switchsolve.kernel.event_kernel.coarsely import (
    keep_zone,
    let_loose,
    needs_its_cells,
    put_together_in_cells,
    take_zone,
)
from switchsolve.kernel.event_kernel.demands import comes_to_rest, demand, demand_sides, find_sides, may_move
from switchsolve.kernel.event_kernel.drafts import (
    copy_draft,
    facing_of,
    first_on,
    holds_loco,
    lining_of,
    neighbour,
)
from switchsolve.kernel.event_kernel.events import couple, enter, leave, part, turn
from switchsolve.kernel.event_kernel.form import write_place
from switchsolve.kernel.event_kernel.memory import COARSELY
from switchsolve.kernel.event_kernel.store import (
    ACTION,
    COST,
    COUPLE,
    DROPPED,
    ENTER,
    FOLLOWING,
    GO,
    LAST,
    LEAVE,
    LINE,
    MOVER,
    OF_PLACE,
    PARENT,
    UNDOES,
    ZONE_AT,
    find_place,
    known_is_no_worse,
    new_is_no_worse,
    push,
    take_mover,
)
from switchsolve.kernel.event_kernel.zones import copy_zone, release, shift_by, size_of, zone_of

__all__ = ["expand", "load", "may_be_done", "offer"]


@register_jitable
def _runner(m, string, side, cut):  # type: ignore[no-untyped-def]
    """The locomotive with the highest number in the part of a string of layer 0 that goes on."""
    size = m[where.token_len(m, 0, string)]
    low, high = 0, size
    if cut:
        low, high = (size - cut, size) if side else (0, cut)
    runner = -1
    for v in range(low, high):
        runner = max(runner, m[where.loco_index(m, m[where.tokens(m, 0, string, v)])])
    return runner


@register_jitable
def _undoes(m, store, node, event, string, side, cut, moves):  # type: ignore[no-untyped-def]
    if cut or event > LEAVE:
        return -1
    runner = _runner(m, string, side, 0)
    if store.nodes[node, UNDOES] != runner and not moves:
        return -1
    if event == LEAVE:
        cells = m[where.path_len(m, 0, string)]
        tail = m[where.path(m, 0, string, 1)] ^ 1 if side else m[where.path(m, 0, string, cells - 2)]
        lining = lining_of(m, 0)
        if m[where.ahead_start(m, lining, tail + 1)] - m[where.ahead_start(m, lining, tail)] > 1:
            return -1
    return runner


@register_jitable
def offer(m, store, node, cost, event, string, side, cut, joint, way, other, moves):  # type: ignore[no-untyped-def]
    """The draft in layer 3 as a new node, unless one is known that can do all that it can."""
    store.sizes[4] += 1
    if m[where.SEVERAL] and event <= LEAVE:
        n = size_of(m, 3)
        copy_zone(m, n, 3, 4)
        is_at_rest = comes_to_rest(m, 3, -1)
        for u in range(n):
            for v in range(n):
                if m[where.zone(m, 3, u, v)] != m[where.zone(m, 4, u, v)]:
                    is_at_rest = False
                    m[where.zone(m, 3, u, v)] = m[where.zone(m, 4, u, v)]
        if not is_at_rest:
            m[where.moving(m, 3, 0)], m[where.moving(m, 3, 1)] = string, side
    if m[where.SEEN] == COARSELY:
        put_together_in_cells(m)
    if m[where.SEEN]:
        let_loose(m, 3)
    count = write_place(m)
    mover = take_mover(m)
    n = keep_zone(m, count)
    number = find_place(m, store)
    known = store.latest[number]
    while known >= 0:
        if not store.nodes[known, DROPPED] and known_is_no_worse(m, store, known, cost, mover, n):
            return
        known = store.nodes[known, FOLLOWING]
    known = store.latest[number]
    while known >= 0:
        if not store.nodes[known, DROPPED] and new_is_no_worse(m, store, known, cost, mover, n):
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
    for i in range(m[where.LOCOS]):
        store.nodes[fresh, LAST + i] = m[where.last(m, 3, i)]
    at = store.sizes[2]
    store.nodes[fresh, ZONE_AT] = at
    for u in range(n):
        for v in range(n):
            store.zones[at + u * n + v] = m[where.out(m, u, v)]
    store.sizes[2] += n * n
    store.nodes[fresh, UNDOES] = -1
    if node >= 0:
        store.nodes[fresh, UNDOES] = _undoes(m, store, node, event, string, side, cut, moves)
    push(store, fresh)


@register_jitable
def load(m, store, node):  # type: ignore[no-untyped-def]
    """Layer 0 from a node."""
    row = store.places[store.nodes[node, OF_PLACE]]
    count = row[0]
    m[where.count(m, 0)] = count
    at = 1
    for i in range(m[where.TABLES]):
        m[where.lined(m, 0, i)] = row[at]
        at += 1
    mover = store.nodes[node, MOVER]
    m[where.moving(m, 0, 0)], m[where.moving(m, 0, 1)] = -1, -1
    if mover >= 0:
        m[where.moving(m, 0, 0)], m[where.moving(m, 0, 1)] = mover >> 1, mover & 1
    at += 2
    for cell in range(m[where.CELLS]):
        m[where.inside_len(m, 0, cell)] = 0
    for slot in range(count):
        m[where.alive(m, 0, slot)] = True
        m[where.path_len(m, 0, slot)], m[where.token_len(m, 0, slot)] = row[at], row[at + 1]
        rank = row[at + 2]
        at += 3
        for k in range(m[where.path_len(m, 0, slot)]):
            m[where.path(m, 0, slot, k)] = row[at]
            at += 1
        for v in range(m[where.token_len(m, 0, slot)]):
            m[where.tokens(m, 0, slot, v)] = row[at]
            at += 1
        if m[where.path_len(m, 0, slot)] == 1:
            cell = m[where.path(m, 0, slot, 0)] >> 1
            m[where.inside(m, 0, cell, rank)] = slot
            m[where.inside_len(m, 0, cell)] += 1
    for i in range(m[where.LOCOS]):
        m[where.last(m, 0, i)] = store.nodes[node, LAST + i]
    take_zone(m, store, store.nodes[node, ZONE_AT])


@register_jitable
def _runner_of(m, store, parent, string, side, cut):  # type: ignore[no-untyped-def]
    """As :func:`_runner`, from the stored place of ``parent``."""
    row = store.places[store.nodes[parent, OF_PLACE]]
    at = 3 + m[where.TABLES]
    for _ in range(string):
        at += 3 + row[at] + row[at + 1]
    size, first = row[at + 1], at + 3 + row[at]
    low, high = 0, size
    if cut:
        low, high = (size - cut, size) if side else (0, cut)
    runner = -1
    for v in range(low, high):
        runner = max(runner, m[where.loco_index(m, row[first + v])])
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
    for slot in range(m[where.count(m, 0)]):
        for v in range(m[where.token_len(m, 0, slot)]):
            token = m[where.tokens(m, 0, slot, v)]
            if m[where.loco_index(m, token)] == runner:
                on = 1 if (m[where.last(m, 0, runner)] > 0) != bool(token & 1) else 0
                if event == GO and not cut:
                    return slot, on, 3
                return slot, on, 2 if store.nodes[node, UNDOES] >= 0 else 1
    return -1, 0, 0


@register_jitable
def _events(m, store, node, cost, slot, side, cut, joint, moves, no_go):  # type: ignore[no-untyped-def]
    """All that the string of layer 2, about to move, can come to next."""
    if not may_move(m, 2, slot, side):
        return
    find_sides(m, 2, slot)
    release(m, zone_of(m, 2), size_of(m, 2), m[where.MIRRORED], slot, 1 if side else -1)
    total = cost + moves * m[where.PER_MOVE] + (m[where.PER_CUT] if cut else 0)
    if not no_go:
        copy_draft(m, 2, 3)
        shift_by(m, zone_of(m, 3), size_of(m, 3), m[where.MIRRORED], slot, 1 if side else -1)
        if demand(m, 3, slot, side) and demand_sides(m, 3, slot, 0, 0, m[where.path_len(m, 3, slot)]):
            offer(m, store, node, total, GO, slot, side, cut, joint, -1, -1, moves)
    if leave(m, slot, side):
        offer(m, store, node, total, LEAVE, slot, side, cut, joint, -1, -1, moves)
    met = neighbour(m, 2, slot, side)
    if met >= 0:
        if met >> 1 != slot and couple(m, slot, side, met, -1):
            price = total + m[where.PER_COUPLING]
            offer(m, store, node, price, COUPLE, slot, side, cut, joint, -1, met >> 1, moves)
        return
    facing, lining = facing_of(m, 2, slot, side), lining_of(m, 2)
    first, end = m[where.ahead_start(m, lining, facing)], m[where.ahead_start(m, lining, facing + 1)]
    for i in range(first, end):
        if enter(m, slot, side, cut, m[where.ahead(m, i)]):
            way = m[where.ahead(m, i)]
            price = total + m[where.per_entry(m, way >> 1)]
            offer(m, store, node, price, ENTER, slot, side, cut, joint, way, -1, moves)
    for i in range(first, end):
        met = first_on(m, 2, m[where.ahead(m, i)])
        if met >= 0 and met >> 1 != slot and couple(m, slot, side, met, m[where.ahead(m, i)]):
            way, price = m[where.ahead(m, i)], total + m[where.PER_COUPLING]
            offer(m, store, node, price, COUPLE, slot, side, cut, joint, way, met >> 1, moves)


@register_jitable
def _line(m, store, node, cost, table):  # type: ignore[no-untyped-def]
    for slot in range(m[where.count(m, 0)]):
        if m[where.path_len(m, 0, slot)] > 1:
            for k in range(m[where.path_len(m, 0, slot)]):
                if m[where.table_cells(m, table, m[where.path(m, 0, slot, k)] >> 1)]:
                    return
    for index in range(m[where.table_meets(m, table)]):
        if index == m[where.lined(m, 0, table)]:
            continue
        copy_draft(m, 0, 3)
        # nobody on the move may be lined away from what it is just coming up to
        fits = comes_to_rest(m, 3, -1)
        m[where.lined(m, 3, table)] = index
        for slot in range(m[where.count(m, 3)]):
            fits = fits and demand(m, 3, slot, -1)
        if fits:
            offer(m, store, node, cost + m[where.PER_LINING], LINE, table, 0, 0, 0, index, -1, 0)


@register_jitable
def expand(m, store, node):  # type: ignore[no-untyped-def]
    """Offer to the store all that can come next to ``node``, which lies in layer 0."""
    cost = store.nodes[node, COST]
    spared_slot, on, spared = _spared(m, store, node)
    for slot in range(m[where.count(m, 0)]):
        if not holds_loco(m, 0, slot):
            continue
        for side in (1, 0):
            mine = spared if slot == spared_slot else 0
            whole = not (mine == 3 or (mine == 2 and side != on))
            if whole:
                moves = turn(m, slot, side, m[where.token_len(m, 0, slot)])
                if moves >= 0:
                    copy_draft(m, 1, 2)
                    no_go = mine > 0 and side == on
                    _events(m, store, node, cost, slot, side, 0, 0, moves, no_go)
            size = m[where.token_len(m, 0, slot)]
            for going in range(1, size):
                has_loco = False
                low = size - going if side else 0
                for v in range(low, low + going):
                    has_loco = has_loco or m[where.is_loco(m, m[where.tokens(m, 0, slot, v)])]
                if not has_loco:
                    continue
                moves = turn(m, slot, side, going)
                if moves < 0:
                    continue
                for joint in range(m[where.path_len(m, 0, slot)]):
                    if m[where.SEEN] == COARSELY and not needs_its_cells(m, slot, side, going, joint):
                        continue
                    if part(m, slot, side, going, joint):
                        _events(m, store, node, cost, slot, side, going, joint, moves, False)
    for table in range(m[where.TABLES]):
        _line(m, store, node, cost, table)


@register_jitable
def may_be_done(m):  # type: ignore[no-untyped-def]
    """Whether every vehicle of layer 0 touches a cell where it is wanted."""
    for slot in range(m[where.count(m, 0)]):
        for v in range(m[where.token_len(m, 0, slot)]):
            kind, found = m[where.tokens(m, 0, slot, v)] >> 1, False
            for k in range(m[where.path_len(m, 0, slot)]):
                found = found or m[where.wanted(m, kind, m[where.path(m, 0, slot, k)] >> 1)]
            if not found:
                return False
    return True
