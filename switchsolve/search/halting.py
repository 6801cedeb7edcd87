"""Plans of one run that halts on the way: on a table that is lined then, or where it could come back.

Such a run is a row of longest runs.  From where the work is done its last one would go on to the standing at
which that longest run ends, with nothing left behind: so it has to be one of those that follow a halt.
"""

from __future__ import annotations

from collections.abc import Iterable

from switchsolve.search.runs import LongestRuns, RunState

__all__ = ["may_do_after_a_halt"]


def may_do_after_a_halt(runs: LongestRuns, first: Iterable[RunState], goals: Iterable[RunState]) -> bool:
    """``False``: no run that halts leads from a state of ``first`` to one of ``goals``."""
    after = {following for state in first for following in runs.after_halts(state)}
    return bool(after) and any(end in after for state in goals for end in runs.farthest(state))
