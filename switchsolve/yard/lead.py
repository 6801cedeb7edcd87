"""An arriving cut on the lead of a yard: which cars, which blocks, which tracks; and the moves by the solver.

The yard is a puzzle file like any other.  The cut is what stands coupled to its one locomotive at the start,
and the block of a car is the road in its name, the first word: ``QLV`` of ``QLV 214``.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from itertools import permutations

from switchsolve.plan import Solution, Verdict
from switchsolve.puzzle import Puzzle, StartString
from switchsolve.solving import solve
from switchsolve.work import DoNotTouch, Hold, Item, Train, Work

__all__ = ["Arrival", "CannotClassify", "Classified", "arrival_of", "classify", "made_up", "yard_tracks"]

_MOST_ORDERS = 24


class CannotClassify(ValueError):
    """The set-up is no yard with an arriving cut: the ``key`` at fault, its ``value``, what, and the cure."""

    def __init__(self, key: str, value: str, what: str, cure: str) -> None:
        self.key, self.value, self.what, self.cure = key, value, what, cure
        super().__init__(f"{key}: {what}; {cure}")


@dataclass(frozen=True, slots=True)
class Arrival:
    """The cut: its cars from the locomotive outwards, and the block of each."""

    locomotive: str
    track: str
    cars: tuple[str, ...]
    blocks: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Classified:
    """The fewest moves found, over the orders of blocks that were asked for.

    ``solution`` is that of the best order ``blocks``; ``lower_bound``: no order can be had in fewer moves
    (``None``: none can be had at all, proved).  ``verdict`` speaks of all the orders together.
    """

    verdict: Verdict
    blocks: tuple[str, ...]
    solution: Solution
    lower_bound: int | None
    puzzle: Puzzle


def arrival_of(puzzle: Puzzle) -> Arrival:
    """The cut that stands coupled to the one locomotive.  Raises :class:`CannotClassify`."""
    if len(puzzle.locomotives) != 1:
        names = ", ".join(locomotive.name for locomotive in puzzle.locomotives)
        raise CannotClassify("locomotives", names, "a yard is worked by one locomotive", "name just one")
    name = puzzle.locomotives[0].name
    string = next(string for string in puzzle.start.strings if name in string.vehicles)
    cars = _outwards(string, name)
    return Arrival(name, string.track, cars, tuple(car.split()[0] for car in cars))


def _outwards(string: StartString, locomotive: str) -> tuple[str, ...]:
    """The cars from the locomotive outwards."""
    vehicles, value = string.vehicles, ", ".join(string.vehicles)
    key = f"start.{string.track}"
    if len(vehicles) == 1:
        raise CannotClassify(key, value, "no cut stands at the locomotive", "put the cars next to it")
    if vehicles[0] == locomotive:
        return vehicles[1:]
    if vehicles[-1] == locomotive:
        return vehicles[-2::-1]
    raise CannotClassify(key, value, "cars stand at both ends of the locomotive", "put it at one end")


def yard_tracks(puzzle: Puzzle) -> dict[str, int]:
    """The tracks on which the cut can be set: those that are empty, are no entrance, need not be kept clear
    and bar none of its cars; with what each holds, grid units.  Raises :class:`CannotClassify`."""
    arrival = arrival_of(puzzle)
    taken = {string.track for string in puzzle.start.strings}
    kinds = {car.kind for car in puzzle.cars if car.name in arrival.cars}
    return {
        track.name: track.length
        for track in puzzle.district.tracks
        if track.name not in taken
        and not track.entrances
        and all(part.marks.keep_clear.value == "no" and not part.marks.barred & kinds for part in track.parts)
    }


def made_up(puzzle: Puzzle, blocks: Sequence[str]) -> Puzzle:
    """The same set-up with the work to make the cut up on its track, blocks in order from the locomotive.

    Every other car is held, or not touched if the file says so.  Raises :class:`CannotClassify`.
    """
    arrival = arrival_of(puzzle)
    if sorted(blocks) != sorted(set(arrival.blocks)):
        there = ", ".join(dict.fromkeys(arrival.blocks))
        raise CannotClassify("blocks", ", ".join(blocks), f"the cut has {there}", "name each block once")
    members = tuple(
        frozenset(car for car, block in zip(arrival.cars, arrival.blocks, strict=True) if block == one)
        for one in blocks
    )
    items: list[Item] = [Train(arrival.locomotive, arrival.track, frozenset(arrival.cars), blocks=members)]
    for car in puzzle.cars:
        if car.name not in arrival.cars:
            item = puzzle.work.of_car(car.name)
            items.append(item if isinstance(item, DoNotTouch) else Hold(car.name))
    return replace(puzzle, work=Work(tuple(items)), stated_minimum=None, stated_verdict=None)


def classify(
    puzzle: Puzzle,
    blocks: Sequence[str] | None = None,
    *,
    seconds: float | None = None,
    tell: Callable[[str], None] | None = None,
    stop: Callable[[], str | None] | None = None,
) -> Classified:
    """The fewest locomotive moves that put the cut into blocks on the track where it stands.

    ``blocks``: the order wanted, from the locomotive; left out: any, and each order is tried.  ``seconds``
    limits the search, all orders together; ``stop`` gives a reason to stop, or ``None``.  Raises
    :class:`CannotClassify`, also for so many blocks that there are more than 24 orders.
    """
    names = tuple(dict.fromkeys(arrival_of(puzzle).blocks))
    orders = [tuple(blocks)] if blocks is not None else list(permutations(names)) if len(names) < 5 else []
    if not orders:
        value, most = ", ".join(names), f"more than {_MOST_ORDERS} orders to try"
        raise CannotClassify("blocks", value, f"in any order there are {most}", "give the order (--blocks)")
    share = None if seconds is None else seconds / len(orders)
    answers = []
    for order in orders:
        asked = made_up(puzzle, order)
        told = _of_order(order, tell) if len(orders) > 1 else tell
        answers.append((solve(asked, seconds=share, tell=told, stop=stop), order, asked))
    return _best(answers)


def _of_order(order: Sequence[str], tell: Callable[[str], None] | None) -> Callable[[str], None] | None:
    """What is told of one order of several says which: its bound is not that of all."""
    return tell and (lambda text: tell(f"in the order {', '.join(order)}: {text}"))


def _best(answers: list[tuple[Solution, tuple[str, ...], Puzzle]]) -> Classified:
    """The order with the fewest moves, and what is true of all."""
    solution, order, puzzle = min(answers, key=lambda answer: _rank(answer[0]))
    bounds = [one.lower_bound for one, _, _ in answers if one.lower_bound is not None]
    bound = min(bounds, default=None)
    verdict = solution.verdict
    if solution.counts is not None:
        is_least = bound is not None and solution.counts.moves <= bound
        verdict = Verdict.PROVED if is_least else Verdict.BEST_FOUND
    return Classified(verdict, order, solution, bound, puzzle)


def _rank(solution: Solution) -> tuple[bool, bool, int]:
    """Plans first, the fewest moves first; what is not known to be impossible before what is."""
    moves = solution.counts.moves if solution.counts is not None else 0
    return solution.counts is None, solution.verdict is Verdict.IMPOSSIBLE, moves
