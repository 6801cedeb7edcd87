"""Whether the compiled search has room for a set-up, and getting it ready; asked without importing it."""

from __future__ import annotations

from collections.abc import Callable
from importlib import import_module

from switchsolve.rules import Rules

__all__ = ["is_compilable", "make_ready", "path_room"]

_LONGEST_PATH = 200


def path_room(rules: Rules) -> int:
    """Cells that a string may come to touch, at most: all vehicles in one string, over the shortest cells."""
    vehicles = sum(rules.token_lengths[2 * number] for number in rules.p.class_of.values())
    return 6 + vehicles // min(rules.lengths)


def is_compilable(rules: Rules) -> bool:
    """Whether no string can span more cells than the kernel has room for."""
    return path_room(rules) <= _LONGEST_PATH


def make_ready(tell: Callable[[str], None] | None) -> None:
    """Import the compiled search: half a second, but for the first time after an installation."""
    if tell is not None:
        tell("making the compiled search ready (the first time after an installation takes a minute or two)")
    import_module("switchsolve.search.compiled")
