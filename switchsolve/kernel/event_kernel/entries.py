# jitted functions have no annotations: numba finds their types
# mypy: disable-error-code="no-untyped-call"
"""What Python calls: the search by events from one end, and where searches from both ends meet.

Only these functions are compiled and kept on disk, with their types named; all others are compiled into
them: with each function kept by itself, loading takes three times as long.
"""

from __future__ import annotations

import numpy as np
from numba import types
from numba.extending import register_jitable

from switchsolve.kernel.event_kernel import memory as where
from switchsolve.kernel.event_kernel.coarsely import nodes_kept
from switchsolve.kernel.event_kernel.memory import ANY_WAY
from switchsolve.kernel.event_kernel.search import expand, load, may_be_done, offer
from switchsolve.kernel.event_kernel.store import (
    COST,
    DROPPED,
    FOLLOWING,
    LAST,
    MEMORY,
    OF_PLACE,
    START,
    STORE,
    ZONE_AT,
    find_slot,
    hash_of,
    pop,
)
from switchsolve.kernel.event_kernel.zones import INFINITE
from switchsolve.kernel.keeping import kept

__all__ = ["CANDIDATE", "EXHAUSTED", "FULL", "LIMIT", "begin", "meet", "nearest", "rehash", "run"]

CANDIDATE, EXHAUSTED, LIMIT, FULL = 0, 1, 2, 3
"""Why :func:`run` came back: a standing that may meet the work; nothing left; enough expanded; no room."""


@kept(types.int64(MEMORY, STORE, *[types.int64] * 3))
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
            pop(store)
            if store.nodes[node, DROPPED]:
                node = -1
                continue
            load(m, store, node)
            store.sizes[7] = node
            if may_be_done(m):
                return CANDIDATE
        else:
            load(m, store, node)
        if store.sizes[3] >= most_expanded:
            store.sizes[7] = node
            return LIMIT
        if (
            store.places.shape[0] - store.sizes[0] < m[where.MOST_AT_ONCE]
            or store.nodes.shape[0] - store.sizes[1] < m[where.MOST_AT_ONCE]
            or store.zones.shape[0] - store.sizes[2] < m[where.ZONES_AT_ONCE]
            or 2 * store.sizes[0] > store.table.shape[0]
        ):
            store.sizes[7] = node
            return FULL
        store.sizes[3] += 1
        expand(m, store, node)
        node = -1


@kept(types.none(STORE, types.int64[::1], types.int64))
def rehash(store, table, width):  # type: ignore[no-untyped-def]
    """Enter all places into a new, larger ``table``."""
    mask = np.uint64(table.shape[0] - 1)
    for number in range(store.sizes[0]):
        h = hash_of(store.places[number])
        at = np.int64(h & mask)
        while table[at] >= 0:
            at = np.int64(np.uint64(at + 1) & mask)
        table[at] = number


@kept(types.none(MEMORY, STORE))
def begin(m, store):  # type: ignore[no-untyped-def]
    """Enter the standing in layer 3 as a start."""
    offer(m, store, -1, 0, START, -1, 0, 0, 0, -1, -1, 0)


@register_jitable
def _share_a_position(m, zones, at, others, other_at, n):  # type: ignore[no-untyped-def]
    """Whether two zones have a position in common."""
    for u in range(n):
        for v in range(n):
            if zones[at + u * n + v] + others[other_at + v * n + u] < 0:
                return False
    for u in range(n):
        for v in range(n):
            m[where.out(m, u, v)] = min(zones[at + u * n + v], others[other_at + u * n + v])
    for w in range(n):
        for u in range(n):
            through = m[where.out(m, u, w)]
            if through < INFINITE // 2:
                for v in range(n):
                    if through + m[where.out(m, w, v)] < m[where.out(m, u, v)]:
                        m[where.out(m, u, v)] = through + m[where.out(m, w, v)]
        if m[where.out(m, w, w)] < 0:
            return False
    for u in range(n):
        if m[where.out(m, u, u)] < 0:
            return False
    return True


@register_jitable
def _turned_between(m, forward, node, backward, other):  # type: ignore[no-untyped-def]
    """Moves that begin where the two meet: of locomotives that go on another way than they came."""
    turned = 0
    for i in range(m[where.LOCOS]):
        came, goes = forward.nodes[node, LAST + i], -backward.nodes[other, LAST + i]
        if goes != -ANY_WAY and came != goes:
            turned += 1
    return turned


@kept(types.none(MEMORY, STORE, STORE, types.int64[::1]))
def nearest(m, forward, backward, least):  # type: ignore[no-untyped-def]
    """For each node of ``forward`` the fewest moves of a plan that goes through it, as far as ``backward``
    knows: into ``least`` where that is fewer than what is there.  Charges must be those by moves.
    """
    for node in range(forward.sizes[1]):
        row = forward.places[forward.nodes[node, OF_PLACE]]
        number = backward.table[find_slot(backward, row)]
        if number < 0:
            continue
        n = nodes_kept(m, row)
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


@kept(types.int64(MEMORY, STORE, STORE, types.int64[::1], types.int64[:, ::1]))
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
            number = its.table[find_slot(its, row)]
            if number < 0:
                continue
            other = its.latest[number]
            n = nodes_kept(m, row)
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
