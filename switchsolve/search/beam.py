"""A plan of so many runs, soon: only the likeliest standings of each layer are gone on from.

How likely a standing is, is said by all choices of two cars together: the sum of the fewest runs still to go
for each.  Those from which the bounds leave no way within the runs that are left are dropped before.  Where
no plan has fewer runs, what is found is a best one, and the layers need not be gone through for it.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from switchsolve.search.climbing import CHOICES
from switchsolve.search.ends import Ends, Within
from switchsolve.search.runs import RunState
from switchsolve.search.tables import Tables

__all__ = ["beam"]

_BACK = 4
"""Layers from the goal are made until one holds so many times the width,"""
_DEEPEST = 3
"""or there are so many."""


def beam(
    ends: Ends,
    tables: Tables,
    most: int,
    width: int,
    bounds: Callable[[Ends, int], Within],
    look: Callable[[Ends], None],
) -> list[RunState] | None:
    """The standings at the reversals of a plan of at most ``most`` runs, or ``None`` if none was met.

    ``ends``: where it begins.  ``width``: standings of a layer that are gone on from.  ``bounds``: which of
    a layer may come to the end in so many runs.  ``look`` is called now and then, and may raise.
    """
    while ends.depth[1] < min(_DEEPEST, most - 1) and 0 < len(ends.layers[1]) < _BACK * width:
        chain = ends.expand(1, look)
        if chain is not None:
            return chain
    while sum(ends.depth) < most and len(ends.layers[0]):
        if ends.depth[0]:
            stay = ends.chosen(0, bounds(ends, most - ends.depth[0]), look)
            if len(stay) > width:
                sums = tables.sums(ends.reached, stay, CHOICES)
                stay = np.sort(stay[np.argsort(sums, kind="stable")[:width]])
            ends.layers[0] = stay
        chain = ends.expand(0, look)
        if chain is not None:
            return chain
    return None
