"""Plans for the same work that trade one figure against another."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from fractions import Fraction

from switchsolve.objectives import BY_CHOICE, objective_of
from switchsolve.plan import Solution, Verdict
from switchsolve.puzzle import Puzzle
from switchsolve.referee import Replay, replay
from switchsolve.solving.by_figures import solve_by_figures
from switchsolve.solving.by_moves import solve_by_moves

__all__ = ["CHOICES", "Choice", "choices"]

CHOICES = BY_CHOICE
"""What the plans of a table are best in."""
SECONDS_EACH = 10.0
"""For each plan of a table but the first, if nobody says how long it may take."""


@dataclass(frozen=True, slots=True)
class Choice:
    """A plan, and the figures that it was chosen for.

    ``best_in``: those of :data:`CHOICES` of which no plan of the table has less; ``proved``: those of them of
    which no plan at all has less.  ``seconds``: by the time figures of the file.
    """

    best_in: tuple[str, ...]
    proved: tuple[str, ...]
    replayed: Replay
    seconds: Fraction


def choices(
    puzzle: Puzzle,
    *,
    seconds: float | None = None,
    most_bytes: int | None = None,
    tell: Callable[[str], None] | None = None,
    stop: Callable[[], str | None] | None = None,
) -> tuple[Solution, tuple[Choice, ...]]:
    """The answer by moves, and a short table: plans that are best in one of :data:`CHOICES` each, fewest
    moves first; one that is no better in anything than another is left out.

    ``seconds`` are for all of it, in equal parts (``None``: as long as it takes for moves, and
    :data:`SECONDS_EACH` for each of the others).  *Cars in hand* is asked for with one locomotive only.
    The table is empty if there is no plan.
    """
    names = [name for name in CHOICES if name != "cars in hand" or len(puzzle.locomotives) == 1]
    part = SECONDS_EACH if seconds is None else seconds / len(names)
    first = solve_by_moves(
        puzzle,
        seconds=None if seconds is None else part,
        most_bytes=most_bytes,
        tell=tell,
        stop=stop,
    )
    found = {"moves": first}
    for name in names[1:]:
        if first.verdict is Verdict.IMPOSSIBLE or (stop is not None and stop() is not None):
            break
        found[name] = solve_by_figures(
            puzzle,
            name,
            seconds=part,
            tie_standings=0,
            most_bytes=most_bytes,
            tell=tell,
            stop=stop,
            known=first,
        )
    return first, _table(puzzle, names, found)


def _table(puzzle: Puzzle, names: list[str], found: dict[str, Solution]) -> tuple[Choice, ...]:
    """The plans, with what each is best in."""
    plans = {}
    for solution in found.values():
        if solution.plan is not None:
            replayed = replay(puzzle, solution.plan)
            plans[_figures(puzzle, names, replayed)] = replayed
    least = [min(column) for column in zip(*plans, strict=True)]
    time = objective_of(puzzle, "minutes")
    rows: dict[tuple[int, ...], Choice] = {}
    for mine, replayed in sorted(plans.items(), key=lambda item: item[0]):
        if any(all(a <= b for a, b in zip(other, mine, strict=True)) for other in rows):
            continue  # no better in anything than a row before it
        best = [name for name, figure, low in zip(names, mine, least, strict=True) if figure == low]
        proved = [name for name in best if name in found and found[name].verdict is Verdict.PROVED]
        rows[mine] = Choice(
            tuple(best),
            tuple(proved),
            replayed,
            Fraction(time.shown(time.rows[0].of(replayed.counts))),
        )
    return tuple(rows.values())


def _figures(puzzle: Puzzle, names: list[str], replayed: Replay) -> tuple[int, ...]:
    rows = [objective_of(puzzle, name).rows[0] for name in names]
    return tuple(row.of(replayed.counts, replayed.cars_in_hand) for row in rows)
