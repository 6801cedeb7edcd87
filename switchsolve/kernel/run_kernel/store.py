# jitted functions have no annotations: numba finds their types
# mypy: disable-error-code="no-untyped-call"
"""States kept: a hash table over them, and what is written out to be kept."""

from __future__ import annotations

from numba import njit

from switchsolve.kernel.run_kernel.memory import (
    KEY,
    UNCOUNTED,
)

__all__ = [
    "depth_of",
    "entry_of",
    "find",
    "hash_of",
    "offer",
]


@njit(forceinline=True, **UNCOUNTED)
def hash_of(a, at, words):  # type: ignore[no-untyped-def]
    """Of the state that begins at ``at``."""
    h = a[at] * -7046029254386353131
    for i in range(1, words):
        h = (h ^ (h >> 32)) * -7046029288634856825 + a[at + i] * -4417276706812531889
    h ^= h >> 29
    h *= -4658895280553007687
    return h ^ (h >> 32)


@njit(**UNCOUNTED)
def entry_of(h, depth, number):  # type: ignore[no-untyped-def]
    """What a hash table holds for a state kept: its number, its depth, and some bits of its hash."""
    return (((h >> 44) & 0x7FFF) << 48) | ((depth & 0xFFFF) << 32) | number


@njit(**UNCOUNTED)
def depth_of(entry):  # type: ignore[no-untyped-def]
    """The depth in an entry, with its sign."""
    depth = (entry >> 32) & 0xFFFF
    return depth - 0x10000 if depth >= 0x8000 else depth


@njit(forceinline=True, **UNCOUNTED)
def find(a, at, words, keys, table, at_most):  # type: ignore[no-untyped-def]
    """The entry of the state that begins at ``at``, or -1.

    An entry with a depth of ``at_most`` or less is taken for it by some bits of the hash alone, for a caller
    to whom it then makes no difference.
    """
    mask = len(table) - 1
    h = hash_of(a, at, words)
    bits = (h >> 44) & 0x7FFF
    slot = h & mask
    while True:
        entry = table[slot]
        if entry < 0:
            return -1
        if entry >> 48 == bits:
            if abs(depth_of(entry)) <= at_most:
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


@njit(forceinline=True, **UNCOUNTED)
def offer(m, keys, table, out, parents, info, parent, depth):  # type: ignore[no-untyped-def]
    """Write the state in ``key`` out, unless it is kept already: -1; -2 no room; or the number of the same
    state reached from the other end.
    """
    words = m[5]
    info[2] += 1
    entry = find(m, m[KEY], words, keys, table, -1)
    if entry >= 0:
        return -1 if (depth_of(entry) > 0) == (depth > 0) else entry & 0xFFFFFFFF
    row = info[0]
    if row >= len(parents):
        return -2
    at = row * words
    for i in range(words):
        out[at + i] = m[m[KEY] + i]
    parents[row] = parent
    info[0] = row + 1
    return -1
