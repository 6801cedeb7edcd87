"""Plans of one run over a table that is lined otherwise on the way.

Such a run is a row of longest runs (:meth:`~switchsolve.search.runs.LongestRuns.steps`), each but the last to
a table.  Undone from the end of the work, its last part is a longest run to the same table.
"""

from __future__ import annotations

from collections.abc import Iterable

from switchsolve.rules import reverse_string
from switchsolve.search.runs import LongestRuns, RunState

__all__ = ["does_over_table"]


def does_over_table(runs: LongestRuns, first: Iterable[RunState], goals: Iterable[RunState]) -> bool:
    """Whether one run leads from a state of ``first`` to one of ``goals`` over a table on which it stops."""
    is_loco = runs.rules.is_loco
    there = {(others, reverse_string(mine, is_loco)) for others, mine in _on_tables(runs, first)}
    return bool(there) and any(state in there for state in _on_tables(runs, goals))


def _on_tables(runs: LongestRuns, states: Iterable[RunState]) -> Iterable[RunState]:
    """Where the locomotive's string may stand on a table, and on nothing else, in one run from ``states``."""
    near = _ways_to_tables(runs)
    for state in states:
        if state[1].ways[-1] in near:
            for following in runs.steps(state):
                if runs.is_on_table(following[1]):
                    yield following


def _ways_to_tables(runs: LongestRuns) -> set[int]:
    """The ways from which a run may come to a table."""
    p = runs.p
    found = {2 * cell + side for cell in p.table_cells for side in (0, 1)}
    before: dict[int, list[int]] = {}
    for way, following in enumerate(p.ways_on):
        for one in following:
            before.setdefault(one, []).append(way)
    stack = list(found)
    while stack:
        for way in before.get(stack.pop(), ()):
            if way not in found:
                found.add(way)
                stack.append(way)
    return found
