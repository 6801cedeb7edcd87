"""Whether the compiled searches have room for a set-up; asked without importing them."""

from __future__ import annotations

from switchsolve.rules import Rules
from switchsolve.search.exact import has_kept_in_place

__all__ = ["is_compilable", "is_packable", "most_at_once", "path_room", "rows_of_cells"]

_LONGEST_PATH = 200
_MOST_CELLS = 16_000
"""Ways are kept as numbers of 16 bits."""
_MOST_CARS = 60
_MOST_ROWS = 30_000
_MOST_AT_ONCE = 100_000
"""The kernel keeps room for as many standings as one expansion can make."""


def path_room(rules: Rules) -> int:
    """Cells that a string may come to touch, at most: all vehicles in one string, over the shortest cells."""
    vehicles = sum(rules.token_lengths[2 * number] for number in rules.p.class_of.values())
    return 6 + vehicles // min(rules.lengths)


def most_at_once(rules: Rules) -> int:
    """Standings that one expansion can make, at most: for each string with a locomotive and each side, whole
    or cut at any joint, to go, to leave a cell, to enter the next ones and to meet what stands there.
    """
    ways = range(2 * len(rules.lengths))
    branches = max(len(rules.p.ahead(way, rules.p.start_lined)) for way in ways)
    beginnings = 2 * (1 + (len(rules.p.class_of) - 1) * path_room(rules))
    tables = sum(len(table.meets) for table in rules.p.puzzle.district.tables)
    return len(rules.p.loco_names) * beginnings * (2 + 2 * max(1, branches)) + tables


def is_compilable(rules: Rules) -> bool:
    """Whether the kernel has room: no string can span too many cells, no expansion can make too much."""
    if len(rules.lengths) > _MOST_CELLS:
        return False
    return path_room(rules) <= _LONGEST_PATH and most_at_once(rules) <= _MOST_AT_ONCE


def rows_of_cells(
    rules: Rules, most: int | None = None, longest: int | None = None
) -> list[tuple[int, ...]]:
    """Every row of ways over which a string can stand, shorter ones first; not many more than ``most``.

    ``longest``: the length of the longest string, in grid units (``None``: of all vehicles together).
    """
    if longest is None:
        longest = sum(rules.token_lengths[2 * number] for number in rules.p.class_of.values())
    rows: list[tuple[int, ...]] = [(way,) for way in range(2 * len(rules.lengths))]
    inner = [0] * len(rows)
    at = 0
    while at < len(rows) and (most is None or len(rows) <= most):
        ways = rows[at]
        between = inner[at] + (rules.lengths[ways[-1] >> 1] if len(ways) > 1 else 0)
        if between + 2 <= longest:
            following = rules.p.beyond(ways)
            rows.extend((*ways, way) for way in following)
            inner.extend(between for _ in following)
        at += 1
    return rows


def is_packable(rules: Rules) -> bool:
    """Whether the compiled search by longest runs has room: few enough cars, and rows of cells; and leaves
    strings in all places that matter.
    """
    cars = len(rules.p.class_of) - len(rules.p.loco_names)
    has_room = cars <= _MOST_CARS and len(rows_of_cells(rules, _MOST_ROWS)) <= _MOST_ROWS
    return has_room and not has_kept_in_place(rules)
