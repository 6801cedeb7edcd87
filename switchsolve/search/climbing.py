"""A plan, soon: from where it is the search goes on to the nearest standing that is nearer to the end.

How near a standing is, is said by all choices of two cars together: the sum of the fewest runs still to go
for each.  What is found is a plan, with no claim about how good it is.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import numpy as np

from switchsolve.kernel import run_kernel as kernel
from switchsolve.search.ends import Ends
from switchsolve.search.patterns import Patterns
from switchsolve.search.runs import RunState

__all__ = ["CHOICES", "climb"]

_Array = np.ndarray[Any, Any]
CHOICES = 2
"""Cars in a choice; all choices of so many must have their tables."""


def climb(ends: Ends, patterns: Patterns, width: int, look: Callable[[Ends], None]) -> list[RunState] | None:
    """The standings at the reversals of some plan, or ``None`` if none was found.

    ``ends``: where it begins, with what is known from the goal.  ``width``: standings of a layer to go on
    from; with each layer that is no nearer as many more.  ``look`` is called now and then, and may raise.
    """
    nearest, wide = kernel.UNREACHABLE, width
    while len(ends.layers[0]):
        chain = ends.expand(0, look)
        if chain is not None:
            return chain
        fresh = ends.layers[0]
        sums = patterns.sums(ends.reached, fresh, CHOICES)
        order = np.argsort(sums, kind="stable")[: int((sums < kernel.UNREACHABLE).sum())]
        if len(order) and sums[order[0]] < nearest:
            nearest, wide = int(sums[order[0]]), width
            ends.layers[0] = fresh[order[:1]]
        else:
            ends.layers[0] = np.sort(fresh[order[:wide]])
            wide += width
    return None
