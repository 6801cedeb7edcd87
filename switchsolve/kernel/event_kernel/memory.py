# jitted functions have no annotations: numba finds their types
# mypy: disable-error-code="no-untyped-call"
"""What lies where in the one array of a set-up.

Everything about the set-up, and the drafts, lies in one array ``m`` of int64: first :data:`SCALARS` numbers,
then for each table of :data:`TABLE_NAMES` where it begins and its two row lengths, then the tables.  (Passing
dozens of arrays to each function makes compiling take minutes.)  Other files know this one as ``where``:
``m[where.CELLS]`` is one of the numbers, and ``m[where.path(m, layer, slot, k)]`` a number of a table.

A **draft** is one layer: layer 0 the standing that is expanded, 1 the same with its directions set, 2 after a
cut, 3 after an event, 4 for tries.  Zones are difference-bound matrices with a fixed row length; ``zone``
is where one begins in ``m``.
"""

from __future__ import annotations

from typing import Any

from numba.extending import register_jitable

__all__ = [
    "ANY_CLEAR", "ANY_WAY", "CELLS", "COARSELY", "DIRECTIONS_MAY_DIFFER", "DIRECTORY", "HAS_EXEMPT",
    "HAS_LIMITS", "HAS_ORIENTATION", "LOCOS", "LOOSELY", "MIRRORED", "MOST_AT_ONCE", "NODES",
    "PER_COUPLING", "PER_CUT", "PER_LINING", "PER_MOVE", "SCALARS", "SEEN", "SEVERAL", "TABLES",
    "TABLE_NAMES", "WIDTH", "ZONES_AT_ONCE",
    "ahead", "ahead_start", "alive", "all_may_touch", "bound", "clear_always", "conflict_start",
    "conflicts", "count", "counts_as_car", "exempt", "inside", "inside_len", "is_loco", "last", "length",
    "limits", "lined", "lining_stride", "loco_index", "may_touch", "moved", "moving", "order",
    "orientation", "out", "path", "path_len", "per_entry", "place", "rear_only", "scratch", "sides",
    "sides_len", "table_cells", "table_meets", "token_len", "token_length", "tokens", "wanted", "zone",
]  # fmt: skip

SCALARS = (
    "cells", "tables", "locos", "nodes", "width", "has orientation", "mirrored", "several", "has limits",
    "has exempt", "directions may differ", "any clear", "per move", "per coupling", "per cut", "per lining",
    "seen", "most at once", "zones at once",
)  # fmt: skip
"""The first numbers of ``m``: how many cells, tables (turntables and the like) and locomotives; row length
of a zone; length of a place; then what is true of the set-up; then what is charged for one of each; then
how the law is seen (:data:`LOOSELY`, :data:`COARSELY`, or 0), and the most standings that one expansion can
make, with the numbers that their zones take."""
LOOSELY, COARSELY = 1, 2
"""As :class:`switchsolve.rules.LooseRules` see it, or :class:`switchsolve.rules.CoarseRules`."""
CELLS, TABLES, LOCOS, NODES, WIDTH, HAS_ORIENTATION, MIRRORED, SEVERAL = 0, 1, 2, 3, 4, 5, 6, 7
HAS_LIMITS, HAS_EXEMPT, DIRECTIONS_MAY_DIFFER, ANY_CLEAR = 8, 9, 10, 11
PER_MOVE, PER_COUPLING, PER_CUT, PER_LINING, SEEN = 12, 13, 14, 15, 16
MOST_AT_ONCE, ZONES_AT_ONCE = 17, 18
DIRECTORY = len(SCALARS)
"""Where the first table is told of: after those numbers."""
ANY_WAY = 2
"""A last direction that lets the locomotive set out either way for nothing: at the end of a plan, from which
a search goes backwards."""

TABLE_NAMES = (
    "length",  # [C]
    "token_length",  # [T]
    "is_loco",  # [T]
    "loco_index",  # [T]: -1 for cars
    "rear_only",  # [T]
    "counts_as_car",  # [T]
    "moved",  # [K]
    "exempt",  # [K]
    "conflict_start",  # [C + 1]
    "conflicts",
    "may_touch",  # [C, T]
    "all_may_touch",  # [C]
    "ahead_start",  # [G, 2 * C + 1]
    "ahead",
    "clear_always",  # [C]
    "limits",  # [C + 1, 3]: most cars, longest, most shoved, -1 none; the last row holds everywhere
    "orientation",  # [C]
    "table_cells",  # [N, C]
    "table_meets",  # [N]
    "lining_stride",  # [N]
    "wanted",  # [K, C]
    "per_entry",  # [C]: charged for entering a cell
    "count",  # [L]: slots used
    "alive",  # [L, S]
    "path_len",  # [L, S]
    "path",  # [L, S, P]
    "token_len",  # [L, S]
    "tokens",  # [L, S, V]
    "inside_len",  # [L, C]
    "inside",  # [L, C, S]
    "last",  # [L, J]
    "lined",  # [L, N]
    "moving",  # [L, 2]
    "zone",  # [L, M, M]
    "sides",  # [3, P * V]: cell of the path, vehicle, whether it is before
    "sides_len",  # [2]
    "scratch",  # [4, ...]
    "place",  # [width]
    "order",  # [3, S]: slots in order; rank and whether turned, by slot
    "out",  # [M, M]
)  # fmt: skip
"""The tables in ``m``, with their shapes: C cells, T tokens, K classes, N tables, G linings, L layers, S
slots, P cells of a path, V vehicles, M zone nodes, J locomotives.  Those from ``count`` on are modified in
place."""


def _named(place: Any, name: str) -> Any:
    """``place`` under the name of its table, by which compilers and debuggers call it."""
    place.__name__ = place.__qualname__ = name
    place.__doc__ = f"Where in ``m`` the number of table ``{name}`` with these indexes is."
    return place


def _directory(name: str) -> int:
    """Where in ``m`` the table is told of."""
    return DIRECTORY + 3 * TABLE_NAMES.index(name)


def _row(name: str) -> Any:
    """The function that finds the numbers of a table with one index."""
    begin = _directory(name)

    @register_jitable
    def place(m, i):  # type: ignore[no-untyped-def]
        return m[begin] + i

    return _named(place, name)


def _rows(name: str) -> Any:
    """The same with two indexes."""
    begin = _directory(name)

    @register_jitable
    def place(m, i, j):  # type: ignore[no-untyped-def]
        return m[begin] + i * m[begin + 1] + j

    return _named(place, name)


def _layers(name: str) -> Any:
    """The same with three."""
    begin = _directory(name)

    @register_jitable
    def place(m, i, j, k):  # type: ignore[no-untyped-def]
        return m[begin] + i * m[begin + 1] + j * m[begin + 2] + k

    return _named(place, name)


length = _row("length")
token_length = _row("token_length")
is_loco = _row("is_loco")
loco_index = _row("loco_index")
rear_only = _row("rear_only")
counts_as_car = _row("counts_as_car")
moved = _row("moved")
exempt = _row("exempt")
conflict_start = _row("conflict_start")
conflicts = _row("conflicts")
may_touch = _rows("may_touch")
all_may_touch = _row("all_may_touch")
ahead_start = _rows("ahead_start")
ahead = _row("ahead")
clear_always = _row("clear_always")
limits = _rows("limits")
orientation = _row("orientation")
table_cells = _rows("table_cells")
table_meets = _row("table_meets")
lining_stride = _row("lining_stride")
wanted = _rows("wanted")
per_entry = _row("per_entry")
count = _row("count")
alive = _rows("alive")
path_len = _rows("path_len")
path = _layers("path")
token_len = _rows("token_len")
tokens = _layers("tokens")
inside_len = _rows("inside_len")
inside = _layers("inside")
last = _rows("last")
lined = _rows("lined")
moving = _rows("moving")
zone = _layers("zone")
sides = _rows("sides")
sides_len = _row("sides_len")
scratch = _rows("scratch")
place = _row("place")
order = _rows("order")
out = _rows("out")


@register_jitable
def bound(m, zone, u, v):  # type: ignore[no-untyped-def]
    """Where in ``m`` the bound from node ``u`` to ``v`` of a zone is."""
    return zone + u * m[NODES] + v
