"""Longest runs, compiled: the steps of :mod:`switchsolve.search.runs`, one layer at a time, on integers.

Everything about the set-up, and the drafts, lies in one array ``raw`` of int64 (``m``: where it begins):
first :data:`SCALARS` numbers, then for each table of :data:`TABLE_NAMES` where it begins, then the tables.

A **node** is a row of cells run through in one direction; ``child`` leads from a node to the same row with
one more cell, by the number of the branch.  ``rest`` numbers the nodes over which cars may be left (each
row in one of its two directions only).  A **token** is a vehicle of a class: 0 and 1 the locomotive (1: its
front points against the order of listing), from 2 on the cars.

A state is a row of ``W`` words, filled with fields from low bits to high, no field across two words: the
node of the locomotive's string (``MB`` bits), its head leading in the next run; for every vehicle
``2 * token + begins`` (``TB`` bits), the locomotive's string first, ``begins`` set where another string
begins; for every other string its number in ``rest`` (``OB`` bits), in rising order.  In a space for states
with cars left out the last word is the number of vehicles.

Nothing here is imported from elsewhere in the package: a jitted function that called into another file, or
read a constant there, would be cached without noticing that the other file has changed.
"""

from __future__ import annotations

from typing import Any

import numpy as np
from numba import njit, types
from numba.core import config
from numba.core.options import DefaultOptions
from numba.extending import intrinsic

__all__ = [
    "DONE",
    "FULL",
    "MET",
    "SCALARS",
    "TABLE_NAMES",
    "UNREACHABLE",
    "begin",
    "bounds",
    "expand",
    "keep",
    "look_up",
    "rehash",
]

DONE, FULL, MET = 0, 1, 2
"""Why :func:`expand` came back: all are expanded; no room for more; a state reached from the other end."""

_UNCOUNTED: dict[str, Any] = {"_nrt": False} if hasattr(DefaultOptions, "_nrt") else {}
"""Nothing here makes an array or keeps one, so nobody need count who refers to them: counted, every call of
one function by another took a dozen atomic additions, and two threads waited for each other's.
"""

Array = np.ndarray[Any, Any]


def _same(m):  # type: ignore[no-untyped-def]
    """The array itself."""
    return m


@intrinsic
def _begin_of(typing_context, m):  # type: ignore[no-untyped-def]
    """Where the first number of an array lies in memory."""
    pointer = types.CPointer(m.dtype)  # type: ignore[no-untyped-call]

    def generate(context, builder, signature, arguments):  # type: ignore[no-untyped-def]
        return context.make_array(m)(context, builder, arguments[0]).data

    return pointer(m), generate


_pointer: Any = _begin_of
"""What is as good as the array for who reads and writes in it from its begin on.  In an array a place below
zero counts from its end: to ask for that, each time one was read or written, took a fifth of all time.
"""
if config.DISABLE_JIT:  # type: ignore[attr-defined]
    _pointer = _same
elif config.BOUNDSCHECK:  # type: ignore[attr-defined]  # which only arrays know
    _pointer = njit(**_UNCOUNTED)(_same)

SCALARS = (
    "cells",
    "vehicles",
    "TB",
    "MB",
    "OB",
    "W",
    "branches",
    "longest node",
    "any closed",
    "tokens",
    "marked",
    "any halt",
)
TABLE_NAMES = (
    "length", "token_length", "conflict_start", "conflicts", "all_may_touch", "may_touch", "clear",
    "ahead_count", "ahead", "root", "child", "node_length", "node_least", "node_cells", "node_turned",
    "node_ways", "node_branches", "rest", "rest_node", "on_table", "halts",
    "at", "token", "string_node", "string_begin", "path", "branch", "begin", "moving",
    "frame", "level", "spans", "block", "key", "order", "reached",
)  # fmt: skip
(
    LENGTH, TOKEN_LENGTH, CONFLICT_START, CONFLICTS, ALL_MAY, MAY, CLEAR,
    AHEAD_COUNT, AHEAD, ROOT, CHILD, NODE_LENGTH, NODE_LEAST, NODE_CELLS, NODE_TURNED,
    NODE_WAYS, NODE_BRANCHES, REST, REST_NODE, ON_TABLE, HALTS,
    AT, TOKEN, STRING_NODE, STRING_BEGIN, PATH, BRANCH, BEGIN, MOVING,
    FRAME, LEVEL, SPANS, BLOCK, KEY, ORDER, REACHED,
) = range(len(SCALARS), len(SCALARS) + len(TABLE_NAMES))  # fmt: skip

FAR = 1 << 60
UNREACHABLE = 1_000_000
"""So many runs or more: no plan at all."""
UNSURE = 4
"""Runs for a choice of cars that says nothing, in a sum."""
I64 = types.int64
M = types.int64[::1]
KEYS = types.int64[:, ::1]
SMALL = types.int32[::1]
SIGNS = types.int16[::1]


@njit(forceinline=True, **_UNCOUNTED)
def _hash(a, at, words):  # type: ignore[no-untyped-def]
    """Of the state that begins at ``at``."""
    h = a[at] * -7046029254386353131
    for i in range(1, words):
        h = (h ^ (h >> 32)) * -7046029288634856825 + a[at + i] * -4417276706812531889
    h ^= h >> 29
    h *= -4658895280553007687
    return h ^ (h >> 32)


@njit(**_UNCOUNTED)
def _entry(h, depth, number):  # type: ignore[no-untyped-def]
    """What a hash table holds for a state kept: its number, its depth, and some bits of its hash."""
    return (((h >> 44) & 0x7FFF) << 48) | ((depth & 0xFFFF) << 32) | number


@njit(**_UNCOUNTED)
def _depth_of(entry):  # type: ignore[no-untyped-def]
    """The depth in an entry, with its sign."""
    depth = (entry >> 32) & 0xFFFF
    return depth - 0x10000 if depth >= 0x8000 else depth


@njit(forceinline=True, **_UNCOUNTED)
def _find(a, at, words, keys, table, at_most):  # type: ignore[no-untyped-def]
    """The entry of the state that begins at ``at``, or -1.

    An entry with a depth of ``at_most`` or less is taken for it by some bits of the hash alone, for a caller
    to whom it then makes no difference.
    """
    mask = len(table) - 1
    h = _hash(a, at, words)
    bits = (h >> 44) & 0x7FFF
    slot = h & mask
    while True:
        entry = table[slot]
        if entry < 0:
            return -1
        if entry >> 48 == bits:
            if abs(_depth_of(entry)) <= at_most:
                return entry
            number = entry & 0xFFFFFFFF
            same = True
            for i in range(words):
                if keys[number, i] != a[at + i]:
                    same = False
                    break
            if same:
                return entry
        slot = (slot + 1) & mask


@njit(forceinline=True, **_UNCOUNTED)
def _offer(m, keys, table, out, parents, info, parent, depth):  # type: ignore[no-untyped-def]
    """Write the state in ``key`` out, unless it is kept already: -1; -2 no room; or the number of the same
    state reached from the other end.
    """
    words = m[5]
    info[2] += 1
    entry = _find(m, m[KEY], words, keys, table, -1)
    if entry >= 0:
        return -1 if (_depth_of(entry) > 0) == (depth > 0) else entry & 0xFFFFFFFF
    row = info[0]
    if row >= len(parents):
        return -2
    at = row * words
    for i in range(words):
        out[at + i] = m[m[KEY] + i]
    parents[row] = parent
    info[0] = row + 1
    return -1


@njit(I64(M, SMALL, I64, I64, I64, KEYS, SMALL, SIGNS, M, M), cache=True, nogil=True, **_UNCOUNTED)
def keep(out, out_parents, first, count, depth, keys, parents, depths, table, sizes):  # type: ignore[no-untyped-def]
    """Keep the rows of ``out`` from ``first`` up to ``count``, but for those kept already, with ``depth``.

    How many rows it came to: fewer than ``count`` if there is no room for more.
    """
    words = keys.shape[1]
    mask = len(table) - 1
    for row in range(first, count):
        at = row * words
        if _find(out, at, words, keys, table, -1) >= 0:
            continue
        number = sizes[0]
        if number >= len(keys):
            return row
        sizes[0] = number + 1
        h = _hash(out, at, words)
        slot = h & mask
        while table[slot] >= 0:
            slot = (slot + 1) & mask
        table[slot] = _entry(h, depth, number)
        for i in range(words):
            keys[number, i] = out[at + i]
        parents[number] = out_parents[row]
        depths[number] = depth
    return count


@njit(types.void(M, KEYS, SIGNS, M, M), cache=True, **_UNCOUNTED)
def rehash(raw, keys, depths, table, sizes):  # type: ignore[no-untyped-def]
    """Fill an empty (-1) ``table`` with the states kept."""
    m = _pointer(raw)
    key_ = m[KEY]
    words = m[5]
    mask = len(table) - 1
    for number in range(sizes[0]):
        if abs(depths[number]) == 1:
            continue  # where the search began
        for i in range(words):
            m[key_ + i] = keys[number, i]
        h = _hash(m, key_, words)
        slot = h & mask
        while table[slot] >= 0:
            slot = (slot + 1) & mask
        table[slot] = _entry(h, depths[number], number)


@njit(**_UNCOUNTED)
def _lead(m, cell, moving):  # type: ignore[no-untyped-def]
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


@njit(**_UNCOUNTED)
def _limit(m, cells, own, moving):  # type: ignore[no-untyped-def]
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
                limit = min(limit, m[begin_ + k] + _lead(m, cell, moving))
    return limit


@njit(**_UNCOUNTED)
def _fits_open(m, node, first, size, length):  # type: ignore[no-untyped-def]
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


@njit(forceinline=True, **_UNCOUNTED)
def _decode(m):  # type: ignore[no-untyped-def]
    """Read the state in ``key`` into the drafts; the number of other strings."""
    node_cells_ = m[NODE_CELLS]
    node_ways_ = m[NODE_WAYS]
    rest_node_ = m[REST_NODE]
    at_ = m[AT]
    token_ = m[TOKEN]
    string_node_ = m[STRING_NODE]
    string_begin_ = m[STRING_BEGIN]
    key_ = m[KEY]
    reached_ = m[REACHED]
    vehicles, token_bits, rest_bits = m[1], m[2], m[4]
    at = key_
    word = m[at]
    used = m[3]
    m[reached_] = word & ((1 << used) - 1)
    strings = 0
    begin = string_begin_
    mask = (1 << token_bits) - 1
    for v in range(vehicles):
        if used + token_bits > 64:
            at += 1
            word = m[at]
            used = 0
        field = (word >> used) & mask
        used += token_bits
        m[token_ + v] = field >> 1
        if field & 1:
            m[begin + strings] = v
            strings += 1
    m[begin + strings] = vehicles
    mask = (1 << rest_bits) - 1
    for s in range(strings):
        if used + rest_bits > 64:
            at += 1
            word = m[at]
            used = 0
        node = m[rest_node_ + ((word >> used) & mask)]
        used += rest_bits
        m[string_node_ + s] = node
        ways = node_ways_ + node * m[7]
        for k in range(m[node_cells_ + node]):
            m[at_ + (m[ways + k] >> 1)] = s + 1
    return strings


@njit(forceinline=True, **_UNCOUNTED)
def _wipe(m, strings):  # type: ignore[no-untyped-def]
    """Nobody is anywhere."""
    node_cells_ = m[NODE_CELLS]
    node_ways_ = m[NODE_WAYS]
    at_ = m[AT]
    string_node_ = m[STRING_NODE]
    for s in range(strings):
        node = m[string_node_ + s]
        ways = node_ways_ + node * m[7]
        for k in range(m[node_cells_ + node]):
            m[at_ + (m[ways + k] >> 1)] = 0


@njit(forceinline=True, **_UNCOUNTED)
def _encode(m, strings, taken, node, gone, moving, blocks):  # type: ignore[no-untyped-def]
    """Write into ``key``: the other strings but those ``taken``, ``blocks`` left behind, and the
    locomotive's string from moving vehicle ``gone`` on, over ``node``, turned.
    """
    rest_ = m[REST]
    token_ = m[TOKEN]
    string_node_ = m[STRING_NODE]
    string_begin_ = m[STRING_BEGIN]
    moving_ = m[MOVING]
    block_ = m[BLOCK]
    key_ = m[KEY]
    order_ = m[ORDER]
    token_bits, rest_bits, words = m[2], m[4], m[5]
    at = key_
    for i in range(words):
        m[at + i] = 0
    word = node
    used = m[3]
    for v in range(moving - 1, gone - 1, -1):
        token = m[moving_ + v]
        if token < 2:
            token ^= 1
        if used + token_bits > 64:
            m[at] = word
            at += 1
            word = 0
            used = 0
        word |= (2 * token) << used
        used += token_bits
    order = order_
    left = 0
    s = 0
    b = 0
    while True:
        while s < strings and (taken >> s) & 1:
            s += 1
        own = FAR
        if s < strings:
            own = m[rest_ + m[string_node_ + s]]
        cut = FAR
        if b < blocks:
            cut = m[block_ + 4 * b]
        if own == FAR and cut == FAR:
            break
        if own < cut:
            m[order + left] = own
            source = token_
            first, end, step = m[string_begin_ + s], m[string_begin_ + s + 1], 1
            s += 1
        else:
            m[order + left] = cut
            source = moving_
            first, end, step = m[block_ + 4 * b + 1], m[block_ + 4 * b + 2], 1
            if m[block_ + 4 * b + 3]:
                first, end, step = end - 1, first - 1, -1
            b += 1
        left += 1
        begins = 1
        v = first
        while v != end:
            if used + token_bits > 64:
                m[at] = word
                at += 1
                word = 0
                used = 0
            word |= (2 * m[source + v] + begins) << used
            begins = 0
            used += token_bits
            v += step
    for s in range(left):
        if used + rest_bits > 64:
            m[at] = word
            at += 1
            word = 0
            used = 0
        word |= m[order + s] << used
        used += rest_bits
    m[at] = word
    if m[10]:
        m[key_ + words - 1] = m[1]


@njit(forceinline=True, **_UNCOUNTED)
def _sort_blocks(m, count):  # type: ignore[no-untyped-def]
    """Blocks in rising order of their numbers in ``rest``, copied behind those in the order they were cut."""
    block_ = m[BLOCK]
    base = block_
    spare = base + 4 * (m[1] + 1)
    for b in range(count):
        at = b
        own = m[spare + 4 * b]
        while at > 0 and m[base + 4 * (at - 1)] > own:
            for i in range(4):
                m[base + 4 * at + i] = m[base + 4 * (at - 1) + i]
            at -= 1
        for i in range(4):
            m[base + 4 * at + i] = m[spare + 4 * b + i]


@njit(**_UNCOUNTED)
def _spans(m, away, size, length, room):  # type: ignore[no-untyped-def]
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
            if m[node_length_ + piece] >= length and (
                not m[8] or _fits_open(m, piece, away, size, length)
            ):
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


@njit(forceinline=True, **_UNCOUNTED)
def _end_of_run(m, keys, table, out, parents, info, number, depth, strings, taken, moving, head):  # type: ignore[no-untyped-def]
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
                _sort_blocks(m, depth_of)
                _encode(m, strings, taken, node, gone, moving, depth_of)
                found = _offer(m, keys, table, out, parents, info, number, depth)
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
                m[row + 4] = _spans(m, away, m[row + 2], m[row + 3], room)
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


@njit(forceinline=True, **_UNCOUNTED)
def _branches(m, way, cells, sets_out):  # type: ignore[no-untyped-def]
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


@njit(forceinline=True, **_UNCOUNTED)
def _enter(m, way, branch, cells, moving, frame):  # type: ignore[no-untyped-def]
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
        reach = min(reach, _lead(m, cell, moving))
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
    m[following + 4] = _limit(m, m[following], own, m[following + 1])
    m[following + 5] = own
    m[following + 6] = 0
    return 1


@njit(forceinline=True, **_UNCOUNTED)
def _first_frame(m, mine):  # type: ignore[no-untyped-def]
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
    m[frame + 4] = _limit(m, count, count, mine)
    m[frame + 5] = count
    m[frame + 6] = 0
    return frame


@njit(**_UNCOUNTED)
def _steps(m, keys, table, out, parents, info, number, depth, strings, goes_on):  # type: ignore[no-untyped-def]
    """Offer all states after one more run from the decoded state ``number``: -1, or what :func:`_offer`
    said.  ``goes_on``: the run sets out from where it has halted.
    """
    ahead_ = m[AHEAD]
    string_begin_ = m[STRING_BEGIN]
    path_ = m[PATH]
    begin_ = m[BEGIN]
    base = _first_frame(m, m[string_begin_])
    frame = base
    found = -1
    while frame >= base:
        cells, moving = m[frame], m[frame + 1]
        way = m[path_ + cells - 1]
        branch = m[frame + 3]
        sets_out = goes_on and frame == base
        if branch < _branches(m, way, cells, sets_out):
            m[frame + 3] = branch + 1
            if _enter(m, m[ahead_ + way * m[6] + branch], branch, cells, moving, frame):
                m[frame + 6] = 1
                frame += 7
            continue
        if not m[frame + 6] and not sets_out:
            head = min(m[begin_ + cells], m[frame + 4])
            found = _end_of_run(
                m, keys, table, out, parents, info, number, depth, strings, m[frame + 2], moving, head
            )
            if found != -1:
                break
        frame -= 7
    return found


# ---- bounds: the same state with cars left out, looked up in a table of all such states


@njit(**_UNCOUNTED)
def _is_closed_to_some(m, node):  # type: ignore[no-untyped-def]
    """Whether some vehicle may not touch one of the cells of ``node``."""
    ways = m[NODE_WAYS] + node * m[7]
    for k in range(m[m[NODE_CELLS] + node]):
        if not m[m[ALL_MAY] + (m[ways + k] >> 1)]:
            return True
    return False


@njit(**_UNCOUNTED)
def _leave_out(m, fewer, kept, strings, token_of, node_of):  # type: ignore[no-untyped-def]
    """Copy the decoded state without the vehicles that are not ``kept``, the locomotive's string turned:
    the number of other strings, or -1 if it is not sure where what is left of one would stand with every part
    open, or there is no number for where it stands.

    ``token_of``, ``node_of``: the numbers that tokens and nodes have in ``fewer`` (a node may have none: -1).
    """
    node_cells_ = m[NODE_CELLS]
    node_turned_ = m[NODE_TURNED]
    node_ways_ = m[NODE_WAYS]
    token_ = m[TOKEN]
    string_node_ = m[STRING_NODE]
    string_begin_ = m[STRING_BEGIN]
    reached_ = m[REACHED]
    node = node_of[m[node_turned_ + m[reached_]]]
    if node < 0:
        return -1
    fewer[fewer[REACHED]] = node
    count = 0
    for v in range(m[string_begin_] - 1, -1, -1):
        if kept[v]:
            token = m[token_ + v]
            fewer[fewer[TOKEN] + count] = token ^ 1 if token < 2 else token_of[token]
            count += 1
    left = 0
    for s in range(strings):
        first, end = m[string_begin_ + s], m[string_begin_ + s + 1]
        stay = 0
        for v in range(first, end):
            stay += kept[v]
        if not stay:
            continue
        node = m[string_node_ + s]
        cells = m[node_cells_ + node]
        if node_of[node] < 0 or (cells > 1 and (stay < end - first or _is_closed_to_some(m, node))):
            _wipe(fewer, left)
            return -1
        fewer[fewer[STRING_BEGIN] + left] = count
        fewer[fewer[STRING_NODE] + left] = node_of[node]
        left += 1
        for k in range(cells):
            fewer[fewer[AT] + (m[node_ways_ + node * m[7] + k] >> 1)] = left
        for v in range(first, end):
            if kept[v]:
                fewer[fewer[TOKEN] + count] = token_of[m[token_ + v]]
                count += 1
    fewer[fewer[STRING_BEGIN] + left] = count
    return left


@njit(**_UNCOUNTED)
def _stop_there(m, strings, taken, moving, head):  # type: ignore[no-untyped-def]
    """Write into ``key`` the state after a run up to ``head`` that leaves nothing behind."""
    token_length_ = m[TOKEN_LENGTH]
    root_ = m[ROOT]
    child_ = m[CHILD]
    node_turned_ = m[NODE_TURNED]
    path_ = m[PATH]
    branch_ = m[BRANCH]
    begin_ = m[BEGIN]
    moving_ = m[MOVING]
    begin, path = begin_, path_
    last = 0
    while head > m[begin + last + 1]:
        last += 1
    tail = head
    for v in range(moving):
        tail -= m[token_length_ + m[moving_ + v]]
    first = 0
    while first < last and m[begin + first + 1] <= tail:
        first += 1
    node = m[root_ + m[path + first]]
    for k in range(first + 1, last + 1):
        node = m[child_ + node * m[6] + m[branch_ + k]]
    _encode(m, strings, taken, m[node_turned_ + node], 0, moving, 0)


@njit(**_UNCOUNTED)
def _far_back(m, strings, keys, table, unknown, most, enough):  # type: ignore[no-untyped-def]
    """The most runs that the table gives for any farthest standing to which the locomotive, that has just
    been turned, could have gone: from none of them is less work left.  ``most``, if it is no less.
    """
    ahead_ = m[AHEAD]
    string_begin_ = m[STRING_BEGIN]
    path_ = m[PATH]
    begin_ = m[BEGIN]
    base = _first_frame(m, m[string_begin_])
    frame = base
    while frame >= base:
        cells, moving = m[frame], m[frame + 1]
        way = m[path_ + cells - 1]
        branch = m[frame + 3]
        if branch < _branches(m, way, cells, 0):
            m[frame + 3] = branch + 1
            if _enter(m, m[ahead_ + way * m[6] + branch], branch, cells, moving, frame):
                m[frame + 6] = 1
                frame += 7
            continue
        if not m[frame + 6]:
            _stop_there(m, strings, m[frame + 2], moving, min(m[begin_ + cells], m[frame + 4]))
            entry = _find(m, m[KEY], m[5], keys, table, most + 1)
            most = max(most, unknown if entry < 0 else abs(_depth_of(entry)) - 1)
            if most >= enough:
                break
        frame -= 7
    return most


@njit(**_UNCOUNTED)
def _sort_cars(m, work, begins, cars):  # type: ignore[no-untyped-def]
    """Into ``work``: where each token's cars begin (from ``begins``), and the cars' numbers by token (from
    ``cars``).
    """
    token_ = m[TOKEN]
    tokens = m[9]
    for token in range(tokens + 1):
        work[begins + token] = 0
    for v in range(m[1]):
        work[begins + m[token_ + v] + 1] += 1
    for token in range(tokens):
        work[begins + token + 1] += work[begins + token]
    for v in range(m[1]):
        token = m[token_ + v]
        work[cars + work[begins + token]] = v
        work[begins + token] += 1
    for token in range(tokens, 0, -1):
        work[begins + token] = work[begins + token - 1]
    work[begins] = 0


@njit(**_UNCOUNTED)
def _bound(m, strings, fewer, token_of, node_of, keys, table, enough, patterns, work, adds):  # type: ignore[no-untyped-def]
    """No plan from the decoded state has fewer runs: the most that any choice of cars to keep gives.  If it
    ``adds``, the sum of what all choices give (one that is not sure gives :data:`UNSURE`), which is no bound.

    A row of ``patterns``: how many cars to keep, runs for what is not in the table, then (modified in place)
    how often it was tried and was enough, and the looks that took; then the tokens to keep, in rising order.
    Stops at ``enough``.  Of like cars that stand side by side the first are kept: any other choice of as many
    of them leaves the same standing.  ``work``: scratch, and at its end the row that was enough the last
    time, which is tried first: states that follow each other are much alike.
    """
    token_ = m[TOKEN]
    vehicles, widest = m[1], patterns.shape[1]
    kept, choice, begins = 0, vehicles, vehicles + widest
    cars = begins + m[9] + 1
    beside = cars + vehicles
    _sort_cars(m, work, begins, cars)
    work[beside] = 0
    for v in range(1, vehicles):
        work[beside + v] = m[token_ + v] == m[token_ + v - 1]
    for s in range(strings):
        work[beside + m[m[STRING_BEGIN] + s]] = 0
    for v in range(vehicles):
        work[v] = m[token_ + v] < 2
    most = 0
    lately = len(work) - 1
    for turn in range(len(patterns)):
        p = turn if turn else work[lately]
        if turn and turn <= work[lately]:
            p = turn - 1
        keep, unknown = patterns[p, 0], patterns[p, 1]
        fewer[1] = keep + 1
        slot = 0
        work[choice] = work[begins + patterns[p, 5]]
        patterns[p, 2] += 1
        while slot >= 0:
            token = patterns[p, 5 + slot]
            if work[choice + slot] >= work[begins + token + 1]:
                slot -= 1
                if slot >= 0:
                    work[kept + work[cars + work[choice + slot]]] = 0
                    work[choice + slot] += 1
                continue
            car = work[cars + work[choice + slot]]
            if work[beside + car] and not work[kept + car - 1]:
                work[choice + slot] += 1
                continue
            work[kept + car] = 1
            if slot < keep - 1:
                slot += 1
                following = patterns[p, 5 + slot]
                work[choice + slot] = work[begins + following]
                if following == token:
                    work[choice + slot] = work[choice + slot - 1] + 1
                continue
            patterns[p, 4] += 1
            left = _leave_out(m, fewer, work, strings, token_of, node_of)
            if left >= 0:
                found = _far_back(fewer, left, keys, table, unknown, 0 if adds else most, enough)
                most = most + found if adds else found
                _wipe(fewer, left)
            elif adds:
                most += UNSURE
            work[kept + work[cars + work[choice + slot]]] = 0
            work[choice + slot] += 1
            if most >= enough:
                patterns[p, 3] += 1
                work[lately] = p
                return most
    return most


@njit(types.void(M, KEYS, M, M, M, M, KEYS, M, KEYS, M, M, I64, I64), cache=True, nogil=True, **_UNCOUNTED)
def bounds(raw, keys, chosen, fewer, token_of, node_of, f_keys, f_table, patterns, work, found, enough, adds):  # type: ignore[no-untyped-def]
    """What :func:`_bound` says of each state ``chosen``, into ``found`` (modified in place).

    ``fewer``, ``f_keys``, ``f_table``: the space of the tables, and what they hold; ``token_of``,
    ``node_of``: the numbers that tokens and nodes of ``m`` have there (a node may have none: -1).
    """
    m = _pointer(raw)
    left = _pointer(fewer)
    key_ = m[KEY]
    for number in range(len(chosen)):
        for i in range(m[5]):
            m[key_ + i] = keys[chosen[number], i]
        strings = _decode(m)
        found[number] = _bound(
            m, strings, left, token_of, node_of, f_keys, f_table, enough, patterns, work, adds
        )
        _wipe(m, strings)


@njit(**_UNCOUNTED)
def _turn(m):  # type: ignore[no-untyped-def]
    """List the locomotive's string of the decoded state from its other end."""
    token_ = m[TOKEN]
    reached_ = m[REACHED]
    m[reached_] = m[m[NODE_TURNED] + m[reached_]]
    first, last = token_, token_ + m[m[STRING_BEGIN]] - 1
    while first <= last:
        one, other = m[first], m[last]
        m[first] = other ^ 1 if other < 2 else other
        m[last] = one ^ 1 if one < 2 else one
        first += 1
        last -= 1


@njit(I64(M, KEYS, M, M, SMALL, I64, M, SMALL, M), cache=True, nogil=True, **_UNCOUNTED)
def expand(raw, keys, table, chosen, onward_from, depth, out, parents, info):  # type: ignore[no-untyped-def]
    """Expand the states ``chosen`` and write to ``out`` and ``parents`` what is not kept yet (some of it more
    than once); the sign of ``depth``: from which end.  What is kept is only read, so that two threads can do
    this at once.

    ``onward_from``: nothing; or, by state kept, what it was reached from: then the runs that led to the
    states chosen go on, from there, instead of a next one.

    ``info``, modified in place: rows written; states expanded; generated; state met, and the one it was met
    from.
    """
    m = _pointer(raw)
    key_ = m[KEY]
    for place in range(len(chosen)):
        number = chosen[place]
        for i in range(m[5]):
            m[key_ + i] = keys[number, i]
        rows, generated = info[0], info[2]
        strings = _decode(m)
        source = number
        if len(onward_from):
            _turn(m)
            source = onward_from[number]
        found = _steps(m, keys, table, out, parents, info, source, depth, strings, len(onward_from) > 0)
        _wipe(m, strings)
        if found == -2:  # as if it had not been begun
            info[0], info[2] = rows, generated
            return FULL
        info[1] += 1
        if found >= 0:
            info[3] = found
            info[4] = source
            return MET
    return DONE


@njit(types.void(M, KEYS, KEYS, M, M), cache=True, **_UNCOUNTED)
def look_up(raw, rows, keys, table, found):  # type: ignore[no-untyped-def]
    """Of each state of ``rows``: how many runs from where the table was begun, or -1, into ``found``
    (modified in place).
    """
    m = _pointer(raw)
    key_ = m[KEY]
    for number in range(len(rows)):
        for i in range(m[5]):
            m[key_ + i] = rows[number, i]
        entry = _find(m, key_, m[5], keys, table, -1)
        found[number] = -1 if entry < 0 else abs(_depth_of(entry)) - 1


@njit(I64(M, KEYS, SMALL, SIGNS, M, KEYS, I64), cache=True, **_UNCOUNTED)
def begin(m, keys, parents, depths, sizes, rows, depth):  # type: ignore[no-untyped-def]
    """Keep the states of ``rows`` to be expanded, but not to be met: they are no farthest ones; :data:`FULL`
    or :data:`DONE`.
    """
    if sizes[0] + len(rows) > len(keys):
        return FULL
    for row in range(len(rows)):
        number = sizes[0]
        for i in range(m[5]):
            keys[number, i] = rows[row, i]
        parents[number] = -1
        depths[number] = depth
        sizes[0] += 1
    return DONE
