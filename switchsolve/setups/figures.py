"""What makes a set-up hard: the figures that its difficulty is made of.

- **moves**: the proved minimum.
- **work**: how many cars are to be spotted, set out or picked up.
- **trips** around cars, in the plan found: see :mod:`switchsolve.effort.passing`.
- **moved**: cars that stand right at the start and must leave their place all the same.  A car is counted if,
  were it not to be touched where it stands, more moves would be needed or the work could not be done; that is
  asked of the solver for each car that the plan moves.  In a dead end it is thought to stand as far in as may
  be; on a track open at both ends the least bad of both ends counts.
- **spare**: what is left on the fullest track at the tightest place of the plan found, in lengths of the
  shortest car.
- **forced** moves: see :mod:`switchsolve.effort.forced`.
- **ways, wrong, luck**: see :mod:`switchsolve.setups.turnings`.

The last two lines are not to be had for every set-up.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from fractions import Fraction

from switchsolve.effort import effort_of, forced_moves
from switchsolve.plan import Solution, Verdict
from switchsolve.puzzle import Puzzle
from switchsolve.referee import replay
from switchsolve.setups.staying import kept_where_it_is, right_at_start
from switchsolve.setups.turnings import Turnings, turnings_of
from switchsolve.solving import solve
from switchsolve.work import AnyCars, EndsIn, Item, Train

__all__ = ["Figures", "figures_of", "must_move"]


@dataclass(frozen=True, slots=True)
class Figures:
    """As above.  ``moved``: names; ``spare``: ``None`` if no track is ever filled; ``forced`` and
    ``turnings``: ``None`` where they are not to be had.

    ``is_sure``: each car of ``moved`` is proved to have to leave (else time ran out, and it is counted).
    """

    moves: int
    work: int
    trips: int
    moved: tuple[str, ...]
    spare: Fraction | None
    forced: int | None
    turnings: Turnings | None
    is_sure: bool = True


def figures_of(
    puzzle: Puzzle,
    solution: Solution,
    *,
    seconds: float | None = None,
    most: int = 20_000,
    stop: Callable[[], str | None] = lambda: None,
) -> Figures:
    """The figures of a set-up with its proved solution.

    ``seconds`` limit each question about a car, ``most`` the standings looked at for forced moves and
    turnings.  Raises ``ValueError`` if the minimum is not proved.
    """
    if solution.verdict is not Verdict.PROVED or solution.plan is None or solution.counts is None:
        raise ValueError("figures are those of a proved minimum")
    moves, replayed = solution.counts.moves, replay(puzzle, solution.plan)
    travelled = {name for frame in replayed.frames for name in frame.moving}
    cars = [car for car in right_at_start(puzzle) if car in travelled]
    answers = {car: must_move(puzzle, car, moves, seconds=seconds, stop=stop) for car in cars}
    forced = forced_moves(puzzle, most=most, stop=stop)
    return Figures(
        moves,
        sum(map(_cars_of, puzzle.work.items)),
        effort_of(puzzle, solution.plan, replayed).trips_around,
        tuple(car for car, must in answers.items() if must is not False),
        _spare(puzzle, solution),
        None if forced.refused is not None else len(forced.numbers),
        turnings_of(puzzle, moves, most=most, stop=stop),
        None not in answers.values(),
    )


def _cars_of(item: Item) -> int:
    """How many cars an item is work with."""
    if isinstance(item, Train):
        return len(item.cars)
    return item.count if isinstance(item, AnyCars) else int(isinstance(item, EndsIn))


def _spare(puzzle: Puzzle, solution: Solution) -> Fraction | None:
    if solution.tightest is None or not puzzle.cars:
        return None
    return Fraction(solution.tightest.spare, min(car.length for car in puzzle.cars))


def must_move(
    puzzle: Puzzle,
    car: str,
    moves: int,
    *,
    seconds: float | None = None,
    stop: Callable[[], str | None] = lambda: None,
) -> bool | None:
    """Whether no plan of ``moves`` moves leaves ``car`` where it stands; ``None``: time did not decide it."""
    answers = list(_answers(puzzle, car, moves, seconds, stop))
    if False in answers:
        return False
    return None if None in answers else True


def _answers(
    puzzle: Puzzle, car: str, moves: int, seconds: float | None, stop: Callable[[], str | None]
) -> Iterator[bool | None]:
    """The same for each place in which the car may be left."""
    for fixed in kept_where_it_is(puzzle, car):
        found = solve(fixed, seconds=seconds, tie_standings=0, stop=stop)
        if found.counts is not None and found.counts.moves <= moves:
            yield False
        elif found.verdict is Verdict.IMPOSSIBLE or (found.lower_bound or 0) > moves:
            yield True
        else:
            yield None
