# jitted functions have no annotations: numba finds their types
# mypy: disable-error-code="no-untyped-call"
"""What Python calls.

Only these functions are kept on disk, with their types named; all others are compiled into them.
"""

from __future__ import annotations

from numba import types

from switchsolve.kernel.keeping import kept
from switchsolve.kernel.run_kernel.bounding import bound_of
from switchsolve.kernel.run_kernel.memory import (
    I64,
    KEY,
    KEYS,
    MEMORY,
    SIGNS,
    SMALL,
    UNCOUNTED,
    pointer,
)
from switchsolve.kernel.run_kernel.runs import steps_of
from switchsolve.kernel.run_kernel.states import decode, turn, wipe
from switchsolve.kernel.run_kernel.store import depth_of, entry_of, find, hash_of

__all__ = [
    "DONE",
    "FULL",
    "MET",
    "begin",
    "bounds",
    "expand",
    "keep",
    "look_up",
    "rehash",
]

DONE, FULL, MET = 0, 1, 2
"""Why :func:`expand` came back: all are expanded; no room for more; a state reached from the other end."""


@kept(I64(MEMORY, SMALL, I64, I64, I64, KEYS, SMALL, SIGNS, MEMORY, MEMORY), nogil=True, **UNCOUNTED)
def keep(out, out_parents, first, count, depth, keys, parents, depths, table, sizes):  # type: ignore[no-untyped-def]
    """Keep the rows of ``out`` from ``first`` up to ``count``, but for those kept already, with ``depth``.

    How many rows it came to: fewer than ``count`` if there is no room for more.
    """
    words = keys.shape[1]
    mask = len(table) - 1
    for row in range(first, count):
        at = row * words
        if find(out, at, words, keys, table, -1) >= 0:
            continue
        number = sizes[0]
        if number >= len(keys):
            return row
        sizes[0] = number + 1
        h = hash_of(out, at, words)
        slot = h & mask
        while table[slot] >= 0:
            slot = (slot + 1) & mask
        table[slot] = entry_of(h, depth, number)
        for i in range(words):
            keys[number, i] = out[at + i]
        parents[number] = out_parents[row]
        depths[number] = depth
    return count


@kept(types.void(MEMORY, KEYS, SIGNS, MEMORY, MEMORY), **UNCOUNTED)
def rehash(raw, keys, depths, table, sizes):  # type: ignore[no-untyped-def]
    """Fill an empty (-1) ``table`` with the states kept."""
    m = pointer(raw)
    key_ = m[KEY]
    words = m[5]
    mask = len(table) - 1
    for number in range(sizes[0]):
        if abs(depths[number]) == 1:
            continue  # where the search began
        for i in range(words):
            m[key_ + i] = keys[number, i]
        h = hash_of(m, key_, words)
        slot = h & mask
        while table[slot] >= 0:
            slot = (slot + 1) & mask
        table[slot] = entry_of(h, depths[number], number)


@kept(
    types.void(MEMORY, KEYS, *[MEMORY] * 4, KEYS, MEMORY, KEYS, *[MEMORY] * 2, I64, I64),
    nogil=True,
    **UNCOUNTED,
)
def bounds(raw, keys, chosen, fewer, token_of, node_of, f_keys, f_table, patterns, work, found, enough, adds):  # type: ignore[no-untyped-def]
    """What :func:`bound_of` says of each state ``chosen``, into ``found`` (modified in place).

    ``fewer``, ``f_keys``, ``f_table``: the space of the tables, and what they hold; ``token_of``,
    ``node_of``: the numbers that tokens and nodes of ``m`` have there (a node may have none: -1).
    """
    m = pointer(raw)
    left = pointer(fewer)
    key_ = m[KEY]
    for number in range(len(chosen)):
        for i in range(m[5]):
            m[key_ + i] = keys[chosen[number], i]
        strings = decode(m)
        found[number] = bound_of(
            m, strings, left, token_of, node_of, f_keys, f_table, enough, patterns, work, adds
        )
        wipe(m, strings)


@kept(I64(MEMORY, KEYS, MEMORY, MEMORY, SMALL, I64, MEMORY, SMALL, MEMORY), nogil=True, **UNCOUNTED)
def expand(raw, keys, table, chosen, onward_from, depth, out, parents, info):  # type: ignore[no-untyped-def]
    """Expand the states ``chosen`` and write to ``out`` and ``parents`` what is not kept yet (some of it more
    than once); the sign of ``depth``: from which end.  What is kept is only read, so that two threads can do
    this at once.

    ``onward_from``: nothing; or, by state kept, what it was reached from: then the runs that led to the
    states chosen go on, from there, instead of a next one.

    ``info``, modified in place: rows written; states expanded; generated; state met, and the one it was met
    from.
    """
    m = pointer(raw)
    key_ = m[KEY]
    for place in range(len(chosen)):
        number = chosen[place]
        for i in range(m[5]):
            m[key_ + i] = keys[number, i]
        rows, generated = info[0], info[2]
        strings = decode(m)
        source = number
        if len(onward_from):
            turn(m)
            source = onward_from[number]
        found = steps_of(m, keys, table, out, parents, info, source, depth, strings, len(onward_from) > 0)
        wipe(m, strings)
        if found == -2:  # as if it had not been begun
            info[0], info[2] = rows, generated
            return FULL
        info[1] += 1
        if found >= 0:
            info[3] = found
            info[4] = source
            return MET
    return DONE


@kept(types.void(MEMORY, KEYS, KEYS, MEMORY, MEMORY), **UNCOUNTED)
def look_up(raw, rows, keys, table, found):  # type: ignore[no-untyped-def]
    """Of each state of ``rows``: how many runs from where the table was begun, or -1, into ``found``
    (modified in place).
    """
    m = pointer(raw)
    key_ = m[KEY]
    for number in range(len(rows)):
        for i in range(m[5]):
            m[key_ + i] = rows[number, i]
        entry = find(m, key_, m[5], keys, table, -1)
        found[number] = -1 if entry < 0 else abs(depth_of(entry)) - 1


@kept(I64(MEMORY, KEYS, SMALL, SIGNS, MEMORY, KEYS, I64), **UNCOUNTED)
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
