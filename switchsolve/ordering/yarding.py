"""What it costs a yard to bring a train from one order into another.

Both orders are read from the locomotive outwards, and the yard's locomotive is taken to stand at the end at
which the train's will.  Like cars may stand for each other: every way to choose which of them comes where
is tried, up to :data:`_MOST_CHOICES` of them; beyond that the first one holds, and the answer says that it
may be bettered.

By counting, tracks are pulled whole (:mod:`switchsolve.yard.marshalling`).  With a yard in a file, its own
arriving cut is replaced by the train, and the solver finds the moves.
"""

from __future__ import annotations

import time
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from itertools import islice

from switchsolve.lengths import MM_PER_UNIT, on_grid_up
from switchsolve.ordering.listing import CannotReorder, TrainCars
from switchsolve.plan import Verdict
from switchsolve.puzzle import Puzzle
from switchsolve.solving import solve
from switchsolve.vehicles import Car
from switchsolve.yard import arrival_of, fewest_laps, fewest_passes, made_up

__all__ = ["YardCost", "YardMoves", "with_train", "yard_cost", "yard_moves"]

_MOST_CHOICES = 720
_MOST_SOLVED = 24
"""Choices of like cars that are put to the solver, one search each."""
_TRACKS = (2, 3, 4)


@dataclass(frozen=True, slots=True)
class YardCost:
    """By counting: ``tracks`` for one pass (1: it stands so already), and the passes over 2, 3 and 4 tracks.

    ``is_least``: no fewer will do (proved).
    """

    tracks: int
    passes: Mapping[int, int]
    is_least: bool


@dataclass(frozen=True, slots=True)
class YardMoves:
    """The locomotive moves found in a yard (``None``: none found, or impossible), and what no plan is
    under.
    """

    verdict: Verdict
    moves: int | None
    bound: int | None


def yard_cost(train: TrainCars, order: Sequence[str]) -> YardCost:
    """What it takes to bring the train from the order of its file into ``order``.

    Raises ``ValueError`` if ``order`` has not the cars of the train.
    """
    choices = list(islice(_choices(train, order), _MOST_CHOICES + 1))
    tried = choices if len(choices) <= _MOST_CHOICES else choices[:1]
    tracks = min(fewest_laps(train.cars, choice).tracks for choice in tried)
    passes = {number: fewest_passes(tracks, number) or 0 for number in _TRACKS}
    return YardCost(tracks, passes, len(tried) == len(choices))


def _choices(train: TrainCars, order: Sequence[str]) -> Iterator[tuple[str, ...]]:
    """Every row of the train's cars that looks like ``order``; like cars in the order of the file first."""
    if sorted(order) != sorted(train.cars):
        raise ValueError(f"the train has the cars {', '.join(train.cars)}")
    like = dict(zip(train.cars, train.like, strict=True))
    wanted = [like[car] for car in order]

    def choose(place: int, left: tuple[str, ...]) -> Iterator[tuple[str, ...]]:
        if place == len(wanted):
            yield ()
        for car in (car for car in left if place < len(wanted) and like[car] == wanted[place]):
            for more in choose(place + 1, tuple(one for one in left if one != car)):
                yield (car, *more)

    return choose(0, train.cars)


def yard_moves(
    yard: Puzzle,
    puzzle: Puzzle,
    train: TrainCars,
    order: Sequence[str],
    *,
    seconds: float | None = None,
    tell: Callable[[str], None] | None = None,
    stop: Callable[[], str | None] | None = None,
) -> YardMoves:
    """The fewest moves that bring the train of ``puzzle`` into ``order`` in ``yard``, in place of its own
    cut.

    Raises :class:`~switchsolve.yard.CannotClassify` if the yard has no arriving cut, :class:`CannotReorder`
    if its unit cannot be compared, ``ValueError`` as :func:`yard_cost` does.
    """
    given = with_train(yard, puzzle, train)
    choices = list(islice(_choices(train, order), _MOST_SOLVED + 1))
    tried = choices if len(choices) <= _MOST_SOLVED else choices[:1]
    end = None if seconds is None else time.monotonic() + seconds
    answers = []
    for number, choice in enumerate(tried):
        blocks = [f"#{train.cars.index(car)}" for car in choice]
        left = None if end is None else max(0.01, (end - time.monotonic()) / (len(tried) - number))
        answers.append(solve(made_up(given, blocks), seconds=left, tie_standings=0, tell=tell, stop=stop))
    moves = min((one.counts.moves for one in answers if one.counts is not None), default=None)
    bounds = [one.lower_bound or 0 for one in answers if one.verdict is not Verdict.IMPOSSIBLE]
    bound = min(bounds, default=None) if len(tried) == len(choices) else 0
    return YardMoves(_verdict(moves, bound), moves, bound)


def _verdict(moves: int | None, bound: int | None) -> Verdict:
    if moves is None:
        return Verdict.IMPOSSIBLE if bound is None else Verdict.GAVE_UP
    return Verdict.PROVED if bound == moves else Verdict.BEST_FOUND


def with_train(yard: Puzzle, puzzle: Puzzle, train: TrainCars) -> Puzzle:
    """The yard with the train's cars in place of its arriving cut, each in a block of its own: ``#0``, ``#1``
    and so on.

    Raises :class:`~switchsolve.yard.CannotClassify` and :class:`CannotReorder` as :func:`yard_moves` does.
    """
    arrival = arrival_of(yard)
    lengths, kinds = _lengths(yard, puzzle, train), {car.name: car.kind for car in puzzle.cars}
    names = [f"#{number} {car}" for number, car in enumerate(train.cars)]
    cars = tuple(
        Car(name, length, kinds[car]) for name, length, car in zip(names, lengths, train.cars, strict=True)
    )
    strings = []
    for string in yard.start.strings:
        if arrival.locomotive in string.vehicles:
            is_first = string.vehicles[0] == arrival.locomotive
            row = (arrival.locomotive, *names) if is_first else (*reversed(names), arrival.locomotive)
            string = replace(string, vehicles=row, spots={}, fixed_at=None)
        strings.append(string)
    others = tuple(car for car in yard.cars if car.name not in arrival.cars)
    return replace(yard, cars=(*others, *cars), start=replace(yard.start, strings=tuple(strings)))


def _lengths(yard: Puzzle, puzzle: Puzzle, train: TrainCars) -> list[int]:
    """The lengths of the train's cars in the yard's grid units, rounded up."""
    found = [puzzle.vehicles[car].length for car in train.cars]
    if (yard.unit, yard.grid) == (puzzle.unit, puzzle.grid):
        return found
    if not {yard.unit, puzzle.unit} <= MM_PER_UNIT.keys():
        cure = f"write both files in one unit (this one is in {puzzle.unit})"
        raise CannotReorder(
            "unit", yard.unit, "its lengths cannot be compared with those of the district", cure
        )
    one = Fraction(MM_PER_UNIT[puzzle.unit]) / Fraction(MM_PER_UNIT[yard.unit])
    return [on_grid_up(Fraction(length, puzzle.grid) * one, yard.grid) for length in found]
