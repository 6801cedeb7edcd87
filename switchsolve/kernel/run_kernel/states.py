# jitted functions have no annotations: numba finds their types
# mypy: disable-error-code="no-untyped-call"
"""States read from their words into the drafts, and written into words."""

from __future__ import annotations

from numba import njit

from switchsolve.kernel.run_kernel.memory import (
    AT,
    BLOCK,
    FAR,
    KEY,
    MOVING,
    NODE_CELLS,
    NODE_TURNED,
    NODE_WAYS,
    ORDER,
    REACHED,
    REST,
    REST_NODE,
    STRING_BEGIN,
    STRING_NODE,
    TOKEN,
    UNCOUNTED,
)

__all__ = [
    "decode",
    "encode",
    "sort_blocks",
    "turn",
    "wipe",
]


@njit(forceinline=True, **UNCOUNTED)
def decode(m):  # type: ignore[no-untyped-def]
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


@njit(forceinline=True, **UNCOUNTED)
def wipe(m, strings):  # type: ignore[no-untyped-def]
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


@njit(forceinline=True, **UNCOUNTED)
def encode(m, strings, taken, node, gone, moving, blocks):  # type: ignore[no-untyped-def]
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


@njit(forceinline=True, **UNCOUNTED)
def sort_blocks(m, count):  # type: ignore[no-untyped-def]
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


@njit(**UNCOUNTED)
def turn(m):  # type: ignore[no-untyped-def]
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
