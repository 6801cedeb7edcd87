"""The search of the brute force, compiled; for tests only.

Costs are small whole numbers, so standings wait in one bucket for each cost, and the cheapest bucket is
emptied first.  What a string can do is asked of :class:`tests.brute_graph.Graph` once and kept in tables.
The compiled loop runs until it needs something that is not in the tables, puts such standings aside, and
comes back with the list of what is missing.

Arrays, all ``int64``; S strings, L linings, W = vehicles + 1:

=============  =======  ================================================================================
``rows``       (n, W)   standings: lining, string numbers rising, -1 for none
``cost``       (n,)     cheapest way to each known so far
``asked``      (n,)     1 when Python has been asked whether its work is done
``slots``      (m,)     hash table of rows; -1 free
``waiting``    (k, 2)   entries of the buckets: standing, next entry
``heads``      (c,)     first entry of the bucket of each cost; -1 none
``aside``      (n,)     standings put aside
``strings``    (S, 6)   mask, live, clear, done, mask of tables it stands on partly, spare
``touches``    (L, S)   mask of the units that its ends touch
``step_at``    (L, S)   first row in ``steps``; -1 unknown, -2 asked for
``step_count`` (L, S)   number of rows there
``steps``      (t, 7)   as ``Step`` of the graph
``pairs``      (p, 2)   hash table: key of a pair, answer; -1 free
``relinings``  (L, q, 2)  other linings one table away, and that table; -1 none
``missing``    (r, 4)   what is wanted: kind, lining, first, second
``counts``     (8,)     see the names below
=============  =======  ================================================================================
"""

from __future__ import annotations

from typing import NamedTuple

import numba
import numpy as np
from numpy.typing import NDArray

__all__ = [
    "ASIDE",
    "ASK",
    "COST",
    "COUPLE",
    "EMPTY",
    "ENTRIES",
    "FILL",
    "FOUND",
    "GROW",
    "LEAST",
    "MISSING",
    "PAIRS",
    "ROOM",
    "STATES",
    "STEPS",
    "Ints",
    "Space",
    "answer",
    "explore",
    "reach",
    "rehash",
    "repair",
    "wait_again",
]

Ints = NDArray[np.int64]

STATES, ENTRIES, COST, ASIDE, MISSING, LEAST, FOUND, PAIRS = range(8)
"""Places in ``counts``."""
EMPTY, GROW, ASK, FILL = range(4)
"""Why the compiled loop came back: nothing left, arrays full, a standing to judge, tables to fill."""
STEPS, COUPLE, LINED = range(3)
"""Kinds of what is missing: steps of a string, a contact ahead, a contact after lining a table."""
UNKNOWN, ASKED = -1, -2
PENDING = -9
ROOM = 512
"""Free places that one standing may need."""


class Space(NamedTuple):
    rows: Ints
    cost: Ints
    asked: Ints
    slots: Ints
    waiting: Ints
    heads: Ints
    aside: Ints
    strings: Ints
    touches: Ints
    step_at: Ints
    step_count: Ints
    steps: Ints
    pairs: Ints
    relinings: Ints
    missing: Ints
    counts: Ints


@numba.njit(cache=True)
def _bounded(mixed, size):  # type: ignore[no-untyped-def]
    """A place below ``size`` for an unsigned number."""
    return np.int64(mixed % np.uint64(size))


@numba.njit(cache=True)
def _home(key, size):  # type: ignore[no-untyped-def]
    """Where in a table of ``size`` places the search for the key of a pair begins."""
    return _bounded(np.uint64(key) * np.uint64(11400714819323198485) >> np.uint64(20), size)


@numba.njit(cache=True)
def _slot(rows, slots, row):  # type: ignore[no-untyped-def]
    """Place in ``slots`` of a row, or of the free place where it would stand."""
    mixed = np.uint64(1469598103934665603)
    for value in row:
        mixed = (mixed ^ np.uint64(value + 2)) * np.uint64(1099511628211)
        mixed ^= mixed >> np.uint64(29)
    at = _bounded(mixed, slots.size)
    while slots[at] >= 0:
        state = slots[at]
        same = True
        for i in range(row.size):
            if rows[state, i] != row[i]:
                same = False
                break
        if same:
            break
        at += 1
        if at == slots.size:
            at = 0
    return at


@numba.njit(cache=True)
def reach(space, row, cost):  # type: ignore[no-untyped-def]
    """Notes that the standing ``row`` is reached at ``cost``; ``False`` if there is no bucket for it."""
    if cost >= space.heads.size:
        return False
    at = _slot(space.rows, space.slots, row)
    state = space.slots[at]
    if state < 0:
        state = space.counts[STATES]
        space.counts[STATES] += 1
        space.slots[at] = state
        space.rows[state] = row
    elif space.cost[state] <= cost:
        return True
    space.cost[state] = cost
    _wait(space, state, cost)
    return True


@numba.njit(cache=True)
def _wait(space, state, cost):  # type: ignore[no-untyped-def]
    entry = space.counts[ENTRIES]
    space.counts[ENTRIES] += 1
    space.waiting[entry, 0] = state
    space.waiting[entry, 1] = space.heads[cost]
    space.heads[cost] = entry


@numba.njit(cache=True)
def _key(kind, lining, first, second):  # type: ignore[no-untyped-def]
    return (((np.int64(kind) << 14 | lining) << 23) | first) << 22 | second


@numba.njit(cache=True)
def _pair(space, kind, lining, first, second):  # type: ignore[no-untyped-def]
    """The answer for a pair; ``PENDING`` if it is yet to come (asked for, if it was not)."""
    key = _key(kind, lining, first, second)
    pairs = space.pairs
    at = _home(key, len(pairs))
    while pairs[at, 0] >= 0:
        if pairs[at, 0] == key:
            return pairs[at, 1]
        at += 1
        if at == len(pairs):
            at = 0
    pairs[at, 0] = key
    pairs[at, 1] = PENDING
    space.counts[PAIRS] += 1
    _want(space, kind, lining, first, second)
    return PENDING


@numba.njit(cache=True)
def _want(space, kind, lining, first, second):  # type: ignore[no-untyped-def]
    at = space.counts[MISSING]
    space.counts[MISSING] += 1
    space.missing[at, 0] = kind
    space.missing[at, 1] = lining
    space.missing[at, 2] = first
    space.missing[at, 3] = second


@numba.njit(cache=True)
def answer(space, kind, lining, first, second, value):  # type: ignore[no-untyped-def]
    """Puts the answer of a pair that was asked for into the table."""
    key = _key(kind, lining, first, second)
    at = _home(key, len(space.pairs))
    while space.pairs[at, 0] != key:
        at += 1
        if at == len(space.pairs):
            at = 0
    space.pairs[at, 1] = value


@numba.njit(cache=True)
def _known(space, row):  # type: ignore[no-untyped-def]
    """Whether the steps of all its strings are in the table; asks for those that are not."""
    known = True
    for i in range(1, row.size):
        number = row[i]
        if number >= 0 and space.strings[number, 1] and space.step_at[row[0], number] < 0:
            if space.step_at[row[0], number] == UNKNOWN:
                space.step_at[row[0], number] = ASKED
                _want(space, STEPS, row[0], number, 0)
            known = False
    return known


@numba.njit(cache=True)
def _stands(space, row, column):  # type: ignore[no-untyped-def]
    """Whether all strings have the flag in ``column``."""
    for i in range(1, row.size):  # noqa: SIM110 - a plain loop is what compiles
        if row[i] >= 0 and not space.strings[row[i], column]:
            return False
    return True


@numba.njit(cache=True)
def _step(space, row, moving, step, after):  # type: ignore[no-untyped-def]
    """Puts the standing after a step into ``after``; couplings + cuts, or -1 refused, ``PENDING``."""
    size = 1
    met = -1
    after[:] = -1
    after[0] = row[0]
    for i in range(1, row.size + 1):
        number = step[0] if i == row.size else row[i]
        if number < 0 or number == moving:
            continue
        if space.strings[number, 0] & step[3]:
            met = number
        else:
            after[size] = number
            size += 1
    result = step[1] >> 1
    handlings = step[6]
    if met >= 0:
        coupled = _pair(space, COUPLE, row[0], step[1], met)
        if coupled == PENDING:
            return PENDING
        if coupled == -2:
            return -1
        if coupled == -1:
            after[size] = met
            size += 1
        else:
            result = coupled
            handlings += 1
    after[size] = result
    after[1 : size + 1].sort()
    return handlings


@numba.njit(cache=True)
def _line(space, row, lining, table):  # type: ignore[no-untyped-def]
    """1 if the table may be lined so, 0 if not, ``PENDING``."""
    for i in range(1, row.size):
        if row[i] >= 0 and space.strings[row[i], 4] >> table & 1:
            return 0
    for i in range(1, row.size):
        for j in range(1, row.size):
            if row[i] >= 0 and row[j] >= 0 and space.touches[lining, row[i]] & space.strings[row[j], 0]:
                verdict = _pair(space, LINED, lining, row[i], row[j])
                if verdict <= 0:
                    return verdict
    return 1


@numba.njit(cache=True)
def _expand(space, row, cost, move, handling):  # type: ignore[no-untyped-def]
    """Reaches all that follows; 1 all done, 0 something is missing, -1 a cost without a bucket."""
    everything = np.int64(0)
    for i in range(1, row.size):
        if row[i] >= 0:
            everything |= space.strings[row[i], 0]
    clear = _stands(space, row, 2)
    after = np.empty_like(row)
    whole = 1
    for i in range(1, row.size):
        if row[i] < 0 or not space.strings[row[i], 1]:
            continue
        others = everything ^ space.strings[row[i], 0]
        first = space.step_at[row[0], row[i]]
        for s in range(first, first + space.step_count[row[0], row[i]]):
            step = space.steps[s]
            if others & step[2] or (step[4] and not clear):
                continue
            handlings = _step(space, row, row[i], step, after)
            if handlings == PENDING:
                whole = 0
            elif handlings >= 0 and not reach(space, after, cost + move * step[5] + handling * handlings):
                return -1
    for q in range(space.relinings.shape[1]):
        lining = space.relinings[row[0], q, 0]
        if lining >= 0:
            verdict = _line(space, row, lining, space.relinings[row[0], q, 1])
            if verdict == PENDING:
                whole = 0
            elif verdict == 1:
                after[:] = row
                after[0] = lining
                reach(space, after, cost)
    return whole


@numba.njit(cache=True)
def explore(space, move, handling):  # type: ignore[no-untyped-def]
    """Empties the buckets; one of ``EMPTY``, ``GROW``, ``ASK``, ``FILL``, or -1 for a cost without a
    bucket.
    """
    counts = space.counts
    while True:
        cost = counts[COST]
        if space.heads[cost] < 0 or counts[MISSING] + ROOM > len(space.missing):
            if counts[ASIDE]:
                return FILL
            counts[COST] += 1
            if counts[COST] >= min(space.heads.size, counts[LEAST]):
                return EMPTY
            continue
        if (
            counts[STATES] + ROOM > len(space.cost)
            or counts[ENTRIES] + ROOM > len(space.waiting)
            or 2 * counts[PAIRS] + ROOM > len(space.pairs)
        ):
            return GROW
        entry = space.heads[cost]
        state = space.waiting[entry, 0]
        if space.cost[state] == cost:
            row = space.rows[state]
            if not space.asked[state] and _stands(space, row, 3):
                space.asked[state] = 1
                counts[FOUND] = state
                return ASK
        space.heads[cost] = space.waiting[entry, 1]
        if space.cost[state] != cost:
            continue
        whole = _expand(space, row, cost, move, handling) if _known(space, row) else 0
        if whole < 0:
            return -1
        if whole == 0:
            space.aside[counts[ASIDE]] = state
            counts[ASIDE] += 1


@numba.njit(cache=True)
def wait_again(space):  # type: ignore[no-untyped-def]
    """What was put aside waits again."""
    for i in range(space.counts[ASIDE]):
        _wait(space, space.aside[i], space.counts[COST])
    space.counts[ASIDE] = 0


@numba.njit(cache=True)
def rehash(space):  # type: ignore[no-untyped-def]
    for state in range(space.counts[STATES]):
        space.slots[_slot(space.rows, space.slots, space.rows[state])] = state


@numba.njit(cache=True)
def repair(old, new):  # type: ignore[no-untyped-def]
    """Moves the pairs to a larger table."""
    for i in range(len(old)):
        if old[i, 0] >= 0:
            at = _home(old[i, 0], len(new))
            while new[at, 0] >= 0:
                at = at + 1 if at + 1 < len(new) else 0
            new[at] = old[i]
