"""What makes a set-up hard: the figures that its difficulty is made of.

- **moves**: the proved minimum.
- **ways, forced, wrong, luck**: see :mod:`switchsolve.setups.turnings`; not for every set-up.
- **trips**: how often, in the plan found, the locomotive goes around cars: in a standing at rest it holds cars
  at its other end than when it last held them; all cars that change ends at once are one trip.
- **moved**: cars that stand right at the start and must leave their place all the same.  A car is only counted
  if, were it not to be touched where it stands, more moves would be needed or the work could not be done: that
  is asked of the solver for each car that the plan moves.
- **spare**: what is left on the fullest track at the tightest place of the plan found, in lengths of the
  shortest car.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from fractions import Fraction

from switchsolve.district import End
from switchsolve.plan import Plan, Solution, Verdict
from switchsolve.puzzle import Puzzle, StartString
from switchsolve.referee import Replay, replay
from switchsolve.setups.turnings import Turnings, turnings_of
from switchsolve.solving import solve
from switchsolve.work import DoNotTouch, EndsIn, Hold, Place, Work

__all__ = ["Figures", "figures_of", "must_move", "trips_in"]


@dataclass(frozen=True, slots=True)
class Figures:
    """As above.  ``turnings`` is ``None`` where they are not known; ``spare`` if no track is filled."""

    moves: int
    trips: int
    moved: tuple[str, ...]
    spare: Fraction | None
    turnings: Turnings | None
    is_sure: bool = True
    """Whether each car of ``moved`` is proved to have to leave (else time ran out, and it is counted)."""


def figures_of(
    puzzle: Puzzle,
    solution: Solution,
    *,
    seconds: float | None = None,
    most: int = 40_000,
    stop: Callable[[], str | None] | None = None,
) -> Figures:
    """The figures of a set-up with its proved solution.

    ``seconds`` limit each question about a car, ``most`` the standings looked at for the turnings.  Raises
    ``ValueError`` if the minimum is not proved.
    """
    if solution.verdict is not Verdict.PROVED or solution.plan is None or solution.counts is None:
        raise ValueError("figures are those of a proved minimum")
    moves = solution.counts.moves
    replayed = replay(puzzle, solution.plan)
    answers = {
        car: must_move(puzzle, car, moves, seconds=seconds, stop=stop)
        for car in _right_and_moved(puzzle, solution.plan, replayed)
    }
    moved = tuple(car for car, must in answers.items() if must is not False)
    return Figures(
        moves,
        trips_in(puzzle, replayed),
        moved,
        _spare(puzzle, solution),
        turnings_of(puzzle, moves, most=most, stop=stop),
        None not in answers.values(),
    )


def _spare(puzzle: Puzzle, solution: Solution) -> Fraction | None:
    if solution.tightest is None or not puzzle.cars:
        return None
    return Fraction(solution.tightest.spare, min(car.length for car in puzzle.cars))


# ---- trips


def trips_in(puzzle: Puzzle, replayed: Replay) -> int:
    """How often a locomotive goes around cars (see above)."""
    side_of: dict[tuple[str, str], bool] = {}
    trips = 0
    for frame in replayed.frames[:-1]:
        held = dict(_held(puzzle, replayed, frame.standing))
        trips += any(side_of.get(pair, side) != side for pair, side in held.items())
        side_of |= held
    return trips


def _held(
    puzzle: Puzzle, replayed: Replay, standing: tuple[object, ...]
) -> Iterator[tuple[tuple[str, str], bool]]:
    raise NotImplementedError
