# jitted functions have no annotations: numba finds their types
# mypy: disable-error-code="no-untyped-call"
"""The steps: a run along every branch as far as it goes, and all that it may leave behind."""

from __future__ import annotations

from numba import njit

from switchsolve.kernel.run_kernel.memory import (
    AHEAD,
    AHEAD_COUNT,
    AT,
    BEGIN,
    BLOCK,
    BRANCH,
    CHILD,
    CONFLICT_START,
    CONFLICTS,
    FRAME,
    HALTS,
    LENGTH,
    LEVEL,
    MOVING,
    NODE_BRANCHES,
    NODE_CELLS,
    NODE_LENGTH,
    NODE_TURNED,
    NODE_WAYS,
    ON_TABLE,
    PATH,
    REACHED,
    ROOT,
    SPANS,
    STRING_BEGIN,
    STRING_NODE,
    TOKEN,
    TOKEN_LENGTH,
    UNCOUNTED,
)
from switchsolve.kernel.run_kernel.places import lead_of, limit_of, spans_of
from switchsolve.kernel.run_kernel.states import encode, sort_blocks
from switchsolve.kernel.run_kernel.store import offer

__all__ = [
    "branches_of",
    "end_of_run",
    "enter",
    "first_frame",
    "steps_of",
]


@njit(forceinline=True, **UNCOUNTED)
def end_of_run(m, keys, table, out, parents, info, number, depth, strings, taken, moving, head):  # type: ignore[no-untyped-def]
    """Every state after a run that ends with its head at ``head``: cuts left along the path."""
    token_length_ = m[TOKEN_LENGTH]
    root_ = m[ROOT]
    child_ = m[CHILD]
    node_turned_ = m[NODE_TURNED]
    path_ = m[PATH]
    branch_ = m[BRANCH]
    begin_ = m[BEGIN]
    moving_ = m[MOVING]
    level_ = m[LEVEL]
    spans_ = m[SPANS]
    block_ = m[BLOCK]
    begin, path = begin_, path_
    loco = 0
    while m[moving_ + loco] >= 2:
        loco += 1
    last = 0
    while head > m[begin + last + 1]:
        last += 1
    tail = head
    for v in range(moving):
        tail -= m[token_length_ + m[moving_ + v]]
    spare = block_ + 4 * (m[1] + 1)
    level = level_
    room = last
    at = tail
    for v in range(loco):
        at += m[token_length_ + m[moving_ + v]]
    while m[begin + room] > at:
        room -= 1
    m[spans_] = 0
    first = 0
    for gone in range(loco + 1):
        if gone:
            tail += m[token_length_ + m[moving_ + gone - 1]]
        while first < last and m[begin + first + 1] <= tail:
            first += 1
        node = m[root_ + m[path + first]]
        for k in range(first + 1, last + 1):
            node = m[child_ + node * m[6] + m[branch_ + k]]
        node = m[node_turned_ + node]
        # a level: vehicles left behind already, first cell, size of this cut, its length, span tried
        depth_of = 0
        m[level] = 0
        m[level + 1] = 0
        m[level + 2] = 0
        m[level + 3] = 0
        m[level + 4] = spans_ + 1  # a list that has come to its end
        m[spans_ + 1] = -1
        while depth_of >= 0:
            row = level + 5 * depth_of
            away = m[row]
            if away == gone:
                sort_blocks(m, depth_of)
                encode(m, strings, taken, node, gone, moving, depth_of)
                found = offer(m, keys, table, out, parents, info, number, depth)
                if found != -1:
                    return found
                depth_of -= 1
                continue
            span = m[row + 4]
            if m[span] < m[row + 1]:  # the next size
                if away + m[row + 2] == gone:
                    depth_of -= 1
                    continue
                m[row + 3] += m[token_length_ + m[moving_ + away + m[row + 2]]]
                m[row + 2] += 1
                m[row + 4] = spans_of(m, away, m[row + 2], m[row + 3], room)
                continue
            m[row + 4] = span + 4
            if m[span + 1] >= first:
                continue
            block = spare + 4 * depth_of
            m[block] = m[span + 2]
            m[block + 1] = away
            m[block + 2] = away + m[row + 2]
            m[block + 3] = m[span + 3]
            depth_of += 1
            row += 5
            m[row] = m[block + 2]
            m[row + 1] = m[span + 1] + 1
            m[row + 2] = 0
            m[row + 3] = 0
            m[row + 4] = spans_ + 1
    return -1


@njit(forceinline=True, **UNCOUNTED)
def branches_of(m, way, cells, sets_out):  # type: ignore[no-untyped-def]
    """Into how many ways a run may be carried on that has come over so many cells, ``way`` the last: into
    none from a table that it has come on to, and from where it halts only if it ``sets_out``.
    """
    if m[11]:
        if m[m[HALTS] + way]:
            if not sets_out:
                return 0
        elif cells > 1 and m[m[ON_TABLE] + (way >> 1)]:
            return 0
    return m[m[AHEAD_COUNT] + way]


@njit(forceinline=True, **UNCOUNTED)
def enter(m, way, branch, cells, moving, frame):  # type: ignore[no-untyped-def]
    """Carry the run into ``way``, with what stands there taken along; writes the next frame, 1 if it can."""
    length_ = m[LENGTH]
    token_length_ = m[TOKEN_LENGTH]
    conflict_start_ = m[CONFLICT_START]
    conflicts_ = m[CONFLICTS]
    node_length_ = m[NODE_LENGTH]
    node_cells_ = m[NODE_CELLS]
    node_turned_ = m[NODE_TURNED]
    node_ways_ = m[NODE_WAYS]
    node_branches_ = m[NODE_BRANCHES]
    at_ = m[AT]
    token_ = m[TOKEN]
    string_node_ = m[STRING_NODE]
    string_begin_ = m[STRING_BEGIN]
    path_ = m[PATH]
    branch_ = m[BRANCH]
    begin_ = m[BEGIN]
    moving_ = m[MOVING]
    cell = way >> 1
    taken, own = m[frame + 2], m[frame + 5]
    for c in range(m[conflict_start_ + cell], m[conflict_start_ + cell + 1]):
        there = m[at_ + m[conflicts_ + c]]
        if there and not (taken >> (there - 1)) & 1:
            return 0
    total = m[begin_ + cells]
    reach = m[frame + 4] - total
    if m[8]:
        reach = min(reach, lead_of(m, cell, moving))
    there = m[at_ + cell]
    following = frame + 7
    if not there or (taken >> (there - 1)) & 1:
        if reach <= 0:
            return 0
        m[path_ + cells] = way
        m[branch_ + cells] = branch
        m[begin_ + cells + 1] = total + m[length_ + cell]
        m[following] = cells + 1
        m[following + 1] = moving
        m[following + 2] = taken
    else:
        s = there - 1
        node = m[string_node_ + s]
        turned = 0
        if m[node_ways_ + node * m[7]] != way:
            node = m[node_turned_ + node]
            turned = 1
            if m[node_ways_ + node * m[7]] != way:
                return 0
        count = m[node_cells_ + node]
        ways = node_ways_ + node * m[7]
        first, end = m[string_begin_ + s], m[string_begin_ + s + 1]
        if count > 1:
            if m[11] and m[m[ON_TABLE] + cell]:
                return 0  # what lies over the edge of a table has it lined there
            nearest = m[node_length_ + node] - m[length_ + (m[ways + count - 1] >> 1)] + 1
            for v in range(first, end):
                nearest -= m[token_length_ + m[token_ + v]]
            if nearest > reach:
                return 0
        for k in range(count):
            m[path_ + cells + k] = m[ways + k]
            m[branch_ + cells + k] = m[node_branches_ + node * m[7] + k]
            m[begin_ + cells + k + 1] = m[begin_ + cells + k] + m[length_ + (m[ways + k] >> 1)]
        m[branch_ + cells] = branch
        for v in range(end - first):
            m[moving_ + moving + v] = m[token_ + (end - 1 - v if turned else first + v)]
        m[following] = cells + count
        m[following + 1] = moving + end - first
        m[following + 2] = taken | (1 << s)
    m[following + 3] = 0
    m[following + 4] = limit_of(m, m[following], own, m[following + 1])
    m[following + 5] = own
    m[following + 6] = 0
    return 1


@njit(forceinline=True, **UNCOUNTED)
def first_frame(m, mine):  # type: ignore[no-untyped-def]
    """Lay the locomotive's string along its cells; ``mine`` vehicles."""
    length_ = m[LENGTH]
    node_cells_ = m[NODE_CELLS]
    node_ways_ = m[NODE_WAYS]
    node_branches_ = m[NODE_BRANCHES]
    token_ = m[TOKEN]
    path_ = m[PATH]
    branch_ = m[BRANCH]
    begin_ = m[BEGIN]
    moving_ = m[MOVING]
    frame_ = m[FRAME]
    reached_ = m[REACHED]
    node = m[reached_]
    count = m[node_cells_ + node]
    m[begin_] = 0
    for k in range(count):
        way = m[node_ways_ + node * m[7] + k]
        m[path_ + k] = way
        m[branch_ + k] = m[node_branches_ + node * m[7] + k]
        m[begin_ + k + 1] = m[begin_ + k] + m[length_ + (way >> 1)]
    for v in range(mine):
        m[moving_ + v] = m[token_ + v]
    frame = frame_
    m[frame] = count
    m[frame + 1] = mine
    m[frame + 2] = 0
    m[frame + 3] = 0
    m[frame + 4] = limit_of(m, count, count, mine)
    m[frame + 5] = count
    m[frame + 6] = 0
    return frame


@njit(**UNCOUNTED)
def steps_of(m, keys, table, out, parents, info, number, depth, strings, goes_on):  # type: ignore[no-untyped-def]
    """Offer all states after one more run from the decoded state ``number``: -1, or what :func:`offer`
    said.  ``goes_on``: the run sets out from where it has halted.
    """
    ahead_ = m[AHEAD]
    string_begin_ = m[STRING_BEGIN]
    path_ = m[PATH]
    begin_ = m[BEGIN]
    base = first_frame(m, m[string_begin_])
    frame = base
    found = -1
    while frame >= base:
        cells, moving = m[frame], m[frame + 1]
        way = m[path_ + cells - 1]
        branch = m[frame + 3]
        sets_out = goes_on and frame == base
        if branch < branches_of(m, way, cells, sets_out):
            m[frame + 3] = branch + 1
            if enter(m, m[ahead_ + way * m[6] + branch], branch, cells, moving, frame):
                m[frame + 6] = 1
                frame += 7
            continue
        if not m[frame + 6] and not sets_out:
            head = min(m[begin_ + cells], m[frame + 4])
            found = end_of_run(
                m, keys, table, out, parents, info, number, depth, strings, m[frame + 2], moving, head
            )
            if found != -1:
                break
        frame -= 7
    return found
