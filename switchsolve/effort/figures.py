"""Figures of one plan: shuttles, running light, and the longest spell in which nothing is finished.

place
    The track, junction or table over which the middle of a locomotive stands.
shuttle
    A run that ends at another place than it began.  It is a **repeated** one if the same locomotive has run
    between the same two places twice before, there or back (so the first time there and back is none).
light
    A locomotive runs light while no car is in its string.  A **light run** is light all the way; it may end
    by coupling to cars.  Distance is the nominal one, as the referee counts it.
finished
    A run finishes a car if it is the last one in which the car moves; for a car that ends coupled to a
    locomotive, the last one in which a string with that car was coupled to.  A car that is never left and
    never coupled to (it came with the train and goes with it) is finished by no run.
spell
    Runs in a row of which none finishes a car: no car spotted, picked up or set out for good.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass

from switchsolve.effort.passing import trips_around
from switchsolve.effort.rail import point_of
from switchsolve.plan import Advance, Couple, Cut, Placed, Plan, Run
from switchsolve.puzzle import Puzzle
from switchsolve.referee import Replay

__all__ = ["Effort", "Shuttle", "effort_of"]


@dataclass(frozen=True, slots=True)
class Shuttle:
    """So many runs of one locomotive between two places."""

    places: tuple[str, str]
    runs: int


@dataclass(frozen=True, slots=True)
class Effort:
    """What a plan asks of its crew, counted in ``runs``: what one locomotive does in one direction.

    ``trips_around``: see :mod:`switchsolve.effort.passing`.  ``shuttles``: repeated ones; ``busiest``: the
    two places between which most runs go (``None``: no run changes place).  ``light_distance`` of
    ``distance``, grid units.  ``longest_spell``: runs in a row that finish no car, the first of them being
    run ``spell_begins`` (counted from 1; ``None``: every run finishes one).
    """

    runs: int
    trips_around: int
    shuttles: int
    busiest: Shuttle | None
    light_runs: int
    light_distance: int
    distance: int
    longest_spell: int
    spell_begins: int | None

    @property
    def light_share(self) -> float:
        """Distance run light over all distance; 0 if nothing new was entered at all."""
        return self.light_distance / self.distance if self.distance else 0.0


def effort_of(puzzle: Puzzle, plan: Plan, replayed: Replay) -> Effort:
    """The figures of ``plan``, which the referee has ``replayed``."""
    between = _between_places(puzzle, plan, replayed)
    busiest = max(between.items(), key=lambda one: one[1], default=None)
    light_runs, light, distance = _running_light(puzzle, plan, replayed)
    length, begins = _longest_spell(len(plan.runs), _finishing_runs(puzzle, plan, replayed))
    return Effort(
        runs=len(plan.runs),
        trips_around=trips_around(puzzle, replayed),
        shuttles=sum(max(0, runs - 2) for runs in between.values()),
        busiest=None if busiest is None else Shuttle(busiest[0][1:], busiest[1]),
        light_runs=light_runs,
        light_distance=light,
        distance=distance,
        longest_spell=length,
        spell_begins=begins,
    )


# ---- places


def _between_places(puzzle: Puzzle, plan: Plan, replayed: Replay) -> Counter[tuple[str, str, str]]:
    """Runs by locomotive and the two places, in the order in which they are first run."""
    found: Counter[tuple[str, str, str]] = Counter()
    for number, run in enumerate(plan.runs):
        before, after = (
            _place_of(puzzle, replayed.frames[at].standing, run.locomotive) for at in (number, number + 1)
        )
        if before != after:
            low, high = sorted((before, after))
            found[run.locomotive, low, high] += 1
    return found


def _place_of(puzzle: Puzzle, standing: tuple[Placed, ...], locomotive: str) -> str:
    """The place over which the middle of the locomotive stands (at an edge: the one listed first)."""
    string = next(string for string in standing if locomotive in string.vehicles)
    lengths = [puzzle.vehicles[name].length for name in string.vehicles]
    at = string.vehicles.index(locomotive)
    return point_of(puzzle.district, string, sum(lengths[:at]) + lengths[at] // 2).cell.place


# ---- light


def _running_light(puzzle: Puzzle, plan: Plan, replayed: Replay) -> tuple[int, int, int]:
    """Runs that are light all the way, distance run light, and all distance, grid units."""
    runs = light = total = 0
    for run, frame in zip(plan.runs, replayed.frames, strict=False):
        with_cars, without = _distances(puzzle, run, _cars_held(puzzle, frame.standing, run.locomotive))
        runs += with_cars is None
        light += without
        total += without + (with_cars or 0)
    return runs, light, total


def _distances(puzzle: Puzzle, run: Run, held: set[str]) -> tuple[int | None, int]:
    """Distance with cars (``None``: never moved with any), and without."""
    with_cars: int | None = None
    without = 0
    for step in run.steps:
        if isinstance(step, Couple):
            held |= _cars(puzzle, step.vehicles)
        elif isinstance(step, Cut):
            held -= set(step.vehicles)
        elif isinstance(step, Advance):
            entered = sum(puzzle.district.cell_length(way.cell) for way in step.enters)
            with_cars, without = (
                ((with_cars or 0) + entered, without) if held else (with_cars, without + entered)
            )
    return with_cars, without


def _cars(puzzle: Puzzle, vehicles: tuple[str, ...]) -> set[str]:
    engines = {locomotive.name for locomotive in puzzle.locomotives}
    return {name for name in vehicles if name not in engines}


def _cars_held(puzzle: Puzzle, standing: tuple[Placed, ...], locomotive: str) -> set[str]:
    """The cars coupled to the locomotive in a standing."""
    return next(_cars(puzzle, string.vehicles) for string in standing if locomotive in string.vehicles)


# ---- spells


def _finishing_runs(puzzle: Puzzle, plan: Plan, replayed: Replay) -> set[int]:
    """The runs (counted from 0) that finish a car."""
    moved: dict[str, int] = {}
    coupled: dict[str, int] = {}
    for number, (run, frame) in enumerate(zip(plan.runs, replayed.frames, strict=False)):
        held = _cars_held(puzzle, frame.standing, run.locomotive)
        for step in run.steps:
            if isinstance(step, Couple):
                taken = _cars(puzzle, step.vehicles)
                held |= taken
                coupled |= dict.fromkeys(taken, number)
            elif isinstance(step, Cut):
                held -= set(step.vehicles)
            elif isinstance(step, Advance):
                moved |= dict.fromkeys(held, number)
    gone = set[str]()
    for locomotive in puzzle.locomotives:
        gone |= _cars_held(puzzle, replayed.frames[-1].standing, locomotive.name)
    left = {run for car, run in moved.items() if car not in gone}
    return left | {run for car, run in coupled.items() if car in gone}


def _longest_spell(runs: int, finishing: set[int]) -> tuple[int, int | None]:
    """The longest row of runs that finish nothing, the first one of several, and its first run from 1."""
    best, begins, length = 0, None, 0
    for number in range(runs):
        length = 0 if number in finishing else length + 1
        if length > best:
            best, begins = length, number - length + 2
    return best, begins
