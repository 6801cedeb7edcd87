# jitted functions have no annotations: numba finds their types
# mypy: disable-error-code="no-untyped-call"
"""How far a run may come, and where cars may be left on its way."""

from __future__ import annotations

from numba import njit

from switchsolve.kernel.run_kernel.memory import (
    ALL_MAY,
    BEGIN,
    BRANCH,
    CHILD,
    CLEAR,
    FAR,
    LENGTH,
    MAY,
    MOVING,
    NODE_CELLS,
    NODE_LEAST,
    NODE_LENGTH,
    NODE_TURNED,
    NODE_WAYS,
    PATH,
    REST,
    ROOT,
    SPANS,
    TOKEN_LENGTH,
    UNCOUNTED,
)

__all__ = [
    "fits_open",
    "lead_of",
    "limit_of",
    "spans_of",
]


@njit(**UNCOUNTED)
def lead_of(m, cell, moving):  # type: ignore[no-untyped-def]
    """Length of the vehicles ahead of the first one (from the head) that may not touch the cell."""
    token_length_ = m[TOKEN_LENGTH]
    all_may_ = m[ALL_MAY]
    may_ = m[MAY]
    moving_ = m[MOVING]
    if m[all_may_ + cell]:
        return FAR
    lead = 0
    for i in range(moving - 1, -1, -1):
        token = m[moving_ + i]
        if not m[may_ + cell * m[9] + token]:
            return lead
        lead += m[token_length_ + token]
    return FAR


@njit(**UNCOUNTED)
def limit_of(m, cells, own, moving):  # type: ignore[no-untyped-def]
    """How far along the path the head may come before a vehicle touches a cell closed to it.

    A closed cell that it stands in already, ``own`` cells in all, is a dead end: ahead, if its head is in it
    and its tail is not.
    """
    all_may_ = m[ALL_MAY]
    path_ = m[PATH]
    begin_ = m[BEGIN]
    limit = FAR
    if m[8]:
        for k in range(max(own - 1, 1), cells):
            cell = m[path_ + k] >> 1
            if not m[all_may_ + cell]:
                limit = min(limit, m[begin_ + k] + lead_of(m, cell, moving))
    return limit


@njit(**UNCOUNTED)
def fits_open(m, node, first, size, length):  # type: ignore[no-untyped-def]
    """Whether moving vehicles ``first`` .. can stand over exactly the node's cells off what is closed to
    them.
    """
    length_ = m[LENGTH]
    token_length_ = m[TOKEN_LENGTH]
    all_may_ = m[ALL_MAY]
    may_ = m[MAY]
    node_length_ = m[NODE_LENGTH]
    node_cells_ = m[NODE_CELLS]
    node_ways_ = m[NODE_WAYS]
    moving_ = m[MOVING]
    slack = m[node_length_ + node] - length
    cells = m[node_cells_ + node]
    ways = node_ways_ + node * m[7]
    low, high = 0, slack
    if cells > 1:
        low = max(0, slack - m[length_ + (m[ways + cells - 1] >> 1)] + 1)
        high = min(slack, m[length_ + (m[ways] >> 1)] - 1)
    x = low
    while x <= high:
        after = x
        begin = 0
        for k in range(cells):
            cell = m[ways + k] >> 1
            end = begin + m[length_ + cell]
            if not m[all_may_ + cell]:
                offset = 0
                for v in range(first, first + size):
                    token = m[moving_ + v]
                    own = m[token_length_ + token]
                    if not m[may_ + cell * m[9] + token] and begin - offset - own < x < end - offset:
                        after = max(after, end - offset)
                    offset += own
            begin = end
        if after == x:
            return 1
        x = after
    return 0


@njit(**UNCOUNTED)
def spans_of(m, away, size, length, room):  # type: ignore[no-untyped-def]
    """Where the smallest rows of cells begin in which moving vehicles ``away`` .. may be left, within the
    first ``room`` cells of the path: first cell, last cell, number in ``rest``, whether turned; from the far
    end on, then -1.  Worked out once for each length (for each cut, where anything is closed).
    """
    clear_ = m[CLEAR]
    root_ = m[ROOT]
    child_ = m[CHILD]
    node_length_ = m[NODE_LENGTH]
    node_least_ = m[NODE_LEAST]
    node_turned_ = m[NODE_TURNED]
    rest_ = m[REST]
    path_ = m[PATH]
    branch_ = m[BRANCH]
    spans_ = m[SPANS]
    lists, path = spans_, path_
    key = length
    if m[8]:
        key = (away << 32) + size
    at = lists + 2
    for _ in range(m[lists]):
        if m[at] == key:
            return at + 2
        at = m[at + 1]
    m[lists] += 1
    m[at] = key
    out = at + 2
    least = FAR
    for i in range(room - 1, -1, -1):
        piece = m[root_ + m[path + i]]
        j = i
        while j < room and j < least:
            if m[clear_ + (m[path + j] >> 1)]:
                break
            if j > i:
                piece = m[child_ + piece * m[6] + m[branch_ + j]]
                if piece < 0 or m[node_least_ + piece] > length:
                    break  # longer rows have still more between their ends
            if m[node_length_ + piece] >= length and (not m[8] or fits_open(m, piece, away, size, length)):
                least = j
                turned = 0
                if m[rest_ + piece] < 0:
                    piece = m[node_turned_ + piece]
                    turned = 1
                m[out] = i
                m[out + 1] = j
                m[out + 2] = m[rest_ + piece]
                m[out + 3] = turned
                out += 4
                break
            j += 1
    m[out] = -1
    m[at + 1] = out + 1
    return at + 2
