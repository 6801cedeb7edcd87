"""How long a session takes, as far as its row tells."""

from __future__ import annotations

from switchsolve.objectives import objective_of
from switchsolve.plan import Counts
from switchsolve.puzzle import Puzzle
from switchsolve.study import Row

__all__ = ["seconds_of"]


def seconds_of(puzzle: Puzzle, row: Row) -> float | None:
    """Seconds of the moves, couplings and cuts of the plan of ``row``, by the time figures of the file; the
    running between them is not known here.  ``None`` without a plan.
    """
    if row.moves is None or row.couplings is None or row.cuts is None:
        return None
    counts = Counts(row.moves, 0, row.couplings, row.cuts, 0, 0, 0, 0)
    objective = objective_of(puzzle, "minutes")
    return float(objective.shown(objective.rows[0].of(counts)))
