"""The longest train that a district takes with one trip around, with two.

A train of the standard locomotive and standard cars behind it comes in by an entrance of the emptied
district, and is to stand there again with the locomotive at the other end of its cars.  **One trip**: the
cars stay together, so that the locomotive passes all of them at once.  **Two trips**: the train may be cut
at one place, and each of its two cuts stays together; and so on.  A cut that stays together is one long car
to the rules, so every answer is one of the solver, proved.  Fewer cars never make it harder, so the first
train that is impossible ends the row.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from itertools import combinations, pairwise

from switchsolve.district import Limits
from switchsolve.facts.probes import Bench, Entry, bench, entries, train_probe, unused_names
from switchsolve.marking import remarked
from switchsolve.plan import Verdict
from switchsolve.puzzle import Puzzle
from switchsolve.solving import Allowance, solve
from switchsolve.work import Train

__all__ = ["LongTrains", "TrainRow", "long_trains"]

_MOST_CARS = 40
"""Longer trains are not looked at; the answer says so."""


@dataclass(frozen=True, slots=True)
class TrainRow:
    """A train of so many cars, in so many cuts (or fewer): the fewest moves found that take the locomotive
    round.

    ``sizes``: cars in each cut, the nearest to the locomotive first.  ``moves`` is ``None`` if no plan was
    found; ``verdict`` speaks of the moves, over all sizes and entrances.
    """

    cars: int
    cuts: int
    verdict: Verdict
    moves: int | None
    sizes: tuple[int, ...] = ()


@dataclass(frozen=True, slots=True)
class LongTrains:
    """What was found, train by train; ``bench`` says with which car and locomotive (``None``: the file has
    none to go by).  ``refused``: why nothing can be said.  ``stopped``: what stopped it, if anything.
    """

    bench: Bench | None
    rows: tuple[TrainRow, ...] = ()
    refused: str = ""
    stopped: str | None = None

    def longest(self, cuts: int) -> TrainRow | None:
        """The longest train that goes in so many cuts or fewer; ``None`` if none does."""
        found = [row for row in self.rows if row.cuts <= cuts and row.moves is not None]
        return max(found, key=lambda row: row.cars, default=None)

    def is_proved(self, cuts: int) -> bool:
        """Whether one car more is proved to be impossible in so many cuts."""
        longest = self.longest(cuts)
        beyond = 1 if longest is None else longest.cars + 1
        no = Verdict.IMPOSSIBLE
        return any((row.cars, row.cuts, row.verdict) == (beyond, cuts, no) for row in self.rows)


def long_trains(
    puzzle: Puzzle,
    *,
    cuts: int = 2,
    seconds: float | None = None,
    seconds_each: float = 20.0,
    tell: Callable[[str], None] | None = None,
    stop: Callable[[], str | None] | None = None,
) -> LongTrains:
    """The longest train in one cut, in two, up to ``cuts``.

    ``seconds`` limits the computing, all together, and ``seconds_each`` each solution; ``tell`` hears of
    progress, ``stop`` gives a reason to stop, or ``None``.  Refused where a limit on cars ahead of the
    locomotive would bind, for a cut counts as one car then.
    """
    found = bench(puzzle)
    if found is None:
        return LongTrains(None, refused="it has no locomotive, or no car, to go by")
    if any(limits.most_shoved is not None for limits in _all_limits(found)):
        return LongTrains(found, refused="it limits the cars ahead of a locomotive")
    ways = entries(puzzle, found.locomotive.name)
    return _Trains(found, ways, seconds, seconds_each, tell, stop).up_to(cuts)


def _all_limits(found: Bench) -> Iterator[Limits]:
    yield found.district.limits
    yield from (found.district.cell_marks(cell).limits for cell in found.district.cells())


class _Trains:
    """Trains in one emptied district."""

    def __init__(
        self,
        found: Bench,
        ways: tuple[Entry, ...],
        seconds: float | None,
        seconds_each: float,
        tell: Callable[[str], None] | None,
        stop: Callable[[], str | None] | None,
    ) -> None:
        self._bench = found
        self._ways = ways
        self._each = seconds_each
        self._allowed = Allowance(seconds, tell, stop)

    def up_to(self, cuts: int) -> LongTrains:
        """For each number of cuts, trains of one car more until one is impossible."""
        rows: list[TrainRow] = []
        cars = 0
        for number in range(1, cuts + 1):
            while cars < _MOST_CARS and not self._allowed.is_over():
                row = self._row(cars + 1, number)
                rows.append(row)
                if row.moves is None:
                    break
                cars += 1
        if cars >= _MOST_CARS:
            self._allowed.stopped = self._allowed.stopped or f"the end of the looking, at {_MOST_CARS} cars"
        return LongTrains(self._bench, tuple(rows), stopped=self._allowed.stopped)

    def _row(self, cars: int, cuts: int) -> TrainRow:
        """The best of all ways to cut the train, and of all entrances."""
        self._allowed.say(f"a train of {cars} in {cuts} cuts")
        moves: int | None = None
        best: tuple[int, ...] = ()
        bounds: list[int] = []
        for sizes in _sizes(cars, min(cuts, cars)):
            for entry in self._ways:
                if self._allowed.is_over():
                    bounds.append(0)
                    continue
                probe = _in_cuts(self._bench, entry, sizes)
                share = self._allowed.share(most=self._each)
                answer = solve(probe, seconds=share, tie_standings=0, stop=self._allowed.stop)
                if answer.verdict is not Verdict.IMPOSSIBLE:
                    bounds.append(answer.lower_bound or 0)
                if answer.counts is not None and (moves is None or answer.counts.moves < moves):
                    moves, best = answer.counts.moves, sizes
        return TrainRow(cars, cuts, _verdict(moves, bounds), moves, best)


def _verdict(moves: int | None, bounds: list[int]) -> Verdict:
    if moves is None:
        return Verdict.GAVE_UP if bounds else Verdict.IMPOSSIBLE
    return Verdict.PROVED if moves <= min(bounds) else Verdict.BEST_FOUND


def _sizes(cars: int, cuts: int) -> Iterator[tuple[int, ...]]:
    """Every way to cut the train into so many cuts."""
    for places in combinations(range(1, cars), cuts - 1):
        yield tuple(after - before for before, after in pairwise((0, *places, cars)))


def _in_cuts(found: Bench, entry: Entry, sizes: tuple[int, ...]) -> Puzzle:
    """The train in cuts that stay together, to stand where it came from, the locomotive at the other end."""
    names = unused_names(found, "cut", len(sizes))
    item = Train(found.locomotive.name, entry.track, frozenset(names), locomotive_at=entry.outward)
    more = sum(sizes) - len(sizes)
    probe = train_probe(found, entry, names, (item,), is_ahead=False, more=more)
    long = {name: size * found.car_length for name, size in zip(names, sizes, strict=True)}
    cars = tuple(replace(car, length=long.get(car.name, car.length)) for car in probe.cars)
    return _by_length(replace(probe, cars=cars), found.car_length)


def _by_length(probe: Puzzle, car_length: int) -> Puzzle:
    """The probe with its limits on cars told as limits on their length: all cars that move are alike."""
    district = probe.district

    def told(limits: Limits) -> Limits:
        if limits.most_cars is None:
            return limits
        length = limits.most_cars * car_length
        return Limits(longest=length if limits.longest is None else min(length, limits.longest))

    changed = remarked(district, lambda marks: replace(marks, limits=told(marks.limits)))
    return replace(probe, district=replace(changed, limits=told(district.limits)))
