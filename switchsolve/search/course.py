"""One compiled search by longest runs: what it works on, and what is known so far."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import numpy as np

from switchsolve.rules import Rules
from switchsolve.search.bank import bank_for
from switchsolve.search.beam import beam
from switchsolve.search.ends import Ends, Within
from switchsolve.search.hands import Hands
from switchsolve.search.patterns import opened
from switchsolve.search.reached import Budget
from switchsolve.search.runs import RunState
from switchsolve.search.space import Space
from switchsolve.search.tables import Tables

__all__ = ["BACK", "Course", "Stopped", "next_side", "smaller"]

_Array = np.ndarray[Any, Any]
BACK = 1_500
"""A layer from the goal with more states than this is not expanded: from there on the start's turn pays."""


class Stopped(Exception):
    """The caller, or the memory allowed, stopped the search."""


class Course:
    """``least``: no plan has fewer runs.  ``best``: the states at the reversals of the best plan known."""

    def __init__(
        self,
        rules: Rules,
        first: list[RunState],
        goals: list[RunState],
        most_bytes: int | None,
        name: Callable[[str], object],
        same_district: bool,
    ) -> None:
        """The arguments are those of :func:`~switchsolve.search.compiled_runs.search_runs`."""
        self.rules = rules
        self.space = Space(rules, states=[*first, *goals])
        self.budget = Budget(most_bytes)
        self.bank = bank_for(opened(rules)) if same_district else None
        self.hands = Hands() if self.bank is None else None
        self.first, self.goals = first, goals
        self.name = name
        self.tables: Tables | None = None
        self.least = 2
        self.best: list[RunState] | None = None
        self.stats = {
            "expanded": 0,
            "generated": 0,
            "stored": 0,
            "pruned": 0,
            "tables": 0,
            "looks": 0,
            "bytes": 0,
        }

    def both_ends(self) -> Ends:
        """Nothing expanded yet."""
        return Ends(self.space, self.budget, self.hands, self.first, self.goals)

    def count(self, ends: Ends) -> None:
        """Add to the figures what was done there, and give the memory back."""
        reached = ends.reached
        self.stats["expanded"] += reached.expanded
        self.stats["pruned"] += ends.pruned
        self.stats["generated"] += reached.generated
        self.stats["stored"] = max(self.stats["stored"], reached.count)
        self.stats["bytes"] = round(reached.bytes_each)
        reached.release()

    def bounds(self, ends: Ends, left: int) -> Within:
        """Which states of each part of a layer to expand: on the first part all patterns are tried."""
        tables = self.tables
        assert tables is not None

        def within(number: int, part: _Array) -> _Array:
            if number == 0 or tables.has_untried:
                tables.try_all()
            stay, gone, may_reach = tables.within(ends.reached, part, left)
            ends.pruned += gone
            ends.may_reach += may_reach
            return stay

        return within

    def beam(
        self, ends: Ends, most: int, width: int, look: Callable[[Ends], None]
    ) -> list[RunState] | None:
        """A plan of at most ``most`` runs, if the likeliest standings lead to one."""
        assert self.tables is not None
        self.name(f"at least {self.least} moves, looking for a plan of {most}")
        return beam(ends, self.tables, most, width, self.bounds, look)


def smaller(ends: Ends) -> int:
    """The smaller frontier; but each side goes one run first: only then are its standings farthest ones."""
    for side in (0, 1):
        if not ends.depth[side]:
            return side
    return 0 if len(ends.layers[0]) <= len(ends.layers[1]) else 1


def next_side(ends: Ends) -> int:
    """The start's turn, but for the first small layers from the goal."""
    for side in (0, 1):
        if not ends.depth[side]:
            return side
    back = len(ends.layers[1])
    return 1 if back < BACK and back < len(ends.layers[0]) else 0
