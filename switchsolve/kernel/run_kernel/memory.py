"""What lies where in the one array of a set-up, and how a state is written.

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
"""

from __future__ import annotations

from typing import Any

import numpy as np
from numba import njit, types
from numba.core import config
from numba.core.options import DefaultOptions
from numba.extending import intrinsic

__all__ = [
    "AHEAD",
    "AHEAD_COUNT",
    "ALL_MAY",
    "AT",
    "BEGIN",
    "BLOCK",
    "BRANCH",
    "CHILD",
    "CLEAR",
    "CONFLICTS",
    "CONFLICT_START",
    "FAR",
    "FRAME",
    "HALTS",
    "I64",
    "KEY",
    "KEYS",
    "LEFT",
    "LENGTH",
    "LEVEL",
    "LIMITS",
    "MAY",
    "MEMORY",
    "MET",
    "MORE",
    "MOVING",
    "NODE_BRANCHES",
    "NODE_CELLS",
    "NODE_LEAST",
    "NODE_LENGTH",
    "NODE_TURNED",
    "NODE_WAYS",
    "OFFSET",
    "ON_TABLE",
    "ORDER",
    "PATH",
    "REACHED",
    "REST",
    "REST_NODE",
    "ROOT",
    "SCALARS",
    "SIGNS",
    "SMALL",
    "SPANS",
    "STRING_BEGIN",
    "STRING_NODE",
    "TABLE_NAMES",
    "TOKEN",
    "TOKEN_LENGTH",
    "UNCOUNTED",
    "UNREACHABLE",
    "pointer",
]


UNCOUNTED: dict[str, Any] = {"_nrt": False} if hasattr(DefaultOptions, "_nrt") else {}
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


pointer: Any = _begin_of
"""What is as good as the array for who reads and writes in it from its begin on.  In an array a place below
zero counts from its end: to ask for that, each time one was read or written, took a fifth of all time.
"""
if config.DISABLE_JIT:  # type: ignore[attr-defined]
    pointer = _same
elif config.BOUNDSCHECK:  # type: ignore[attr-defined]  # which only arrays know
    pointer = njit(**UNCOUNTED)(_same)

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
    "limits", "offset", "met", "left", "more",
)  # fmt: skip
(
    LENGTH, TOKEN_LENGTH, CONFLICT_START, CONFLICTS, ALL_MAY, MAY, CLEAR,
    AHEAD_COUNT, AHEAD, ROOT, CHILD, NODE_LENGTH, NODE_LEAST, NODE_CELLS, NODE_TURNED,
    NODE_WAYS, NODE_BRANCHES, REST, REST_NODE, ON_TABLE, HALTS,
    AT, TOKEN, STRING_NODE, STRING_BEGIN, PATH, BRANCH, BEGIN, MOVING,
    FRAME, LEVEL, SPANS, BLOCK, KEY, ORDER, REACHED,
    LIMITS, OFFSET, MET, LEFT, MORE,
) = range(len(SCALARS), len(SCALARS) + len(TABLE_NAMES))  # fmt: skip

FAR = 1 << 60
UNREACHABLE = 1_000_000
"""So many runs or more: no plan at all."""
I64 = types.int64
MEMORY = types.int64[::1]
KEYS = types.int64[:, ::1]
SMALL = types.int32[::1]
SIGNS = types.int16[::1]
