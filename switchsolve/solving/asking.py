"""What is asked for, and who answers it."""

from __future__ import annotations

from collections.abc import Callable

from switchsolve.objectives import OBJECTIVES
from switchsolve.plan import Solution
from switchsolve.puzzle import Puzzle
from switchsolve.solving.by_figures import solve_by_figures
from switchsolve.solving.by_moves import solve_by_moves

__all__ = ["solve"]


def solve(
    puzzle: Puzzle,
    *,
    objective: str = "moves",
    seconds: float | None = None,
    search: str = "auto",
    tie_standings: int = 1500,
    most_bytes: int | None = None,
    many: bool = False,
    same_district: bool = False,
    tell: Callable[[str], None] | None = None,
    stop: Callable[[], str | None] | None = None,
) -> Solution:
    """The best plan for the work by ``objective``, with proof, or what can honestly be said instead.

    ``objective`` is one of :data:`~switchsolve.objectives.OBJECTIVES`: the fewest locomotive moves, the
    fewest couplings and cuts, or the least time by the time figures of the file.

    ``seconds`` limits the search (a fifth of it is kept for finding some plan if no best one is proved);
    ``search`` is one of :data:`~switchsolve.solving.SEARCHES`, for moves only; ``tie_standings`` is how many
    standings the proof of the tie-breaks may expand (fewer with more than two vehicles); ``most_bytes`` is
    what the standings kept by a compiled search may take (it stops before it takes more); ``many`` says that
    this is one question of very many, so that the compiled search for moves is taken at once, whose start is
    paid only once; ``tell`` receives lines of progress; ``stop`` is asked often whether to stop, and gives
    the reason, or ``None``.

    Raises ``ValueError`` for an unknown objective, an unknown search or one that is not exact for this
    set-up, :class:`~switchsolve.errors.PlanError` if the referee rejects the plan (a defect in this package).
    """
    if objective not in OBJECTIVES:
        raise ValueError(f"no objective is called {objective!r}: it is one of {', '.join(OBJECTIVES)}")
    if objective == "moves":
        return solve_by_moves(
            puzzle,
            seconds=seconds,
            search=search,
            tie_standings=tie_standings,
            most_bytes=most_bytes,
            many=many,
            same_district=same_district,
            tell=tell,
            stop=stop,
        )
    if search != "auto":
        raise ValueError(f"a search is named for moves only, and this asks for {objective}")
    return solve_by_figures(
        puzzle,
        objective,
        seconds=seconds,
        tie_standings=tie_standings,
        most_bytes=most_bytes,
        tell=tell,
        stop=stop,
    )
