"""Whether the compiled search has room for a set-up, and getting it ready; asked without importing it."""

from __future__ import annotations

from collections.abc import Callable
from importlib import import_module

from switchsolve.rules import Rules

__all__ = ["is_compilable", "make_ready", "path_room"]

_LONGEST_PATH = 200
_MOST_AT_ONCE = 4096
"""The kernel keeps room for so many standings from one expansion, and does not look again while it lasts."""


def path_room(rules: Rules) -> int:
    """Cells that a string may come to touch, at most: all vehicles in one string, over the shortest cells."""
    vehicles = sum(rules.token_lengths[2 * number] for number in rules.p.class_of.values())
    return 6 + vehicles // min(rules.lengths)


def _most_at_once(rules: Rules) -> int:
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
    return path_room(rules) <= _LONGEST_PATH and _most_at_once(rules) <= _MOST_AT_ONCE


def make_ready(tell: Callable[[str], None] | None) -> None:
    """Import the compiled search: half a second, but for the first time after an installation."""
    if tell is not None:
        tell("making the compiled search ready (the first time after an installation takes a minute or two)")
    import_module("switchsolve.search.compiled")
