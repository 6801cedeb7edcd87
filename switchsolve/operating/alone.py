"""One district by itself: its train comes in at the entrance with what its industries ask for, session after
session, and leaves again; no yard, no other train.

And its interchange: how many cars each way it supports, when a train brings so many and takes as many away.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from concurrent.futures import Executor
from dataclasses import dataclass, replace

from switchsolve.layout import DistrictPlace
from switchsolve.operating.asking import Solver
from switchsolve.operating.placing import DistrictState
from switchsolve.operating.timing import minutes_of
from switchsolve.operating.working import Worked
from switchsolve.puzzle import Puzzle
from switchsolve.puzzlefile.canonical import canonical
from switchsolve.traffic import Season, Session
from switchsolve.traffic.cars import Visitor
from switchsolve.vehicles import Car
from switchsolve.work import Train, Work

__all__ = ["Alone", "EachWay", "alone", "each_way"]


@dataclass(frozen=True, slots=True)
class Alone:
    """A session of one district, what came out, and its minutes (``None``: no plan)."""

    session: Session
    worked: Worked
    minutes: int | None


@dataclass(frozen=True, slots=True)
class EachWay:
    """So many cars brought and as many taken: what came out, and its minutes."""

    cars: int
    worked: Worked
    minutes: int | None


def alone(
    place: DistrictPlace,
    sessions: int,
    seed: int,
    executor: Executor,
    pace: float,
    seconds: float | None = None,
    tell: Callable[[str], None] | None = None,
) -> Iterator[Alone]:
    """The sessions of one district, as they come; ``seconds`` for the work of each."""
    season, solver = Season(place.puzzle, seed), Solver(executor, seconds)
    for number in range(1, sessions + 1):
        session = season.draw()
        worked = solver.ask(_with_idler(session.puzzle, place))()
        all_cars = {*session.arrived, *session.picked_up}
        season.close(all_cars & set(worked.left_over) if worked.is_done else all_cars)
        yield Alone(session, worked, _minutes(worked, pace))
        if tell is not None:
            tell(f"{number} of {sessions} sessions")


def each_way(
    place: DistrictPlace, executor: Executor, pace: float, seconds: float | None = None
) -> Iterator[EachWay]:
    """One car each way, two, and so on, as long as there is room and all of it can be done.

    The cars are of the first kind of the first industry; they are exchanged on the tracks of all industries,
    spread over them in turn: what the one crew left is there when the other one comes with as many.
    """
    state, solver = DistrictState(place), Solver(executor, seconds)
    spots = [(one.track, spot) for one in state.traffic.industries for spot in state.spots(one.track)]
    most = min(len(spots), state.traffic.most_cars)
    kind = next(iter(state.traffic.industries[0].kinds))
    for number in range(1, most + 1):
        there = [
            Visitor(f"out {index + 1}", kind, track, 1, spot=spot, due=1)
            for index, (track, spot) in enumerate(spots[:number])
        ]
        come = [replace(one, name=f"in {index + 1}", due=None) for index, one in enumerate(there)]
        state.standing = there
        worked = solver.ask(state.set_up(f"{number} each way", come, there))()
        found = EachWay(number, worked, _minutes(worked, pace))
        yield found
        if not worked.is_done or worked.left_over:
            return


def _with_idler(puzzle: Puzzle, place: DistrictPlace) -> Puzzle:
    """The set-up with the idler of the place next to the locomotive, on the side of its cars."""
    if place.idler is None or place.puzzle.traffic is None:
        return puzzle
    name, traffic = DistrictState(place).idler, place.puzzle.traffic
    (locomotive,) = (one.name for one in puzzle.locomotives)
    strings = []
    for string in puzzle.start.strings:
        if locomotive in string.vehicles:
            rest = tuple(one for one in string.vehicles if one != locomotive)
            at_from = traffic.locomotive_at == "from"
            row = (locomotive, name, *rest) if at_from else (*rest, name, locomotive)
            string = replace(string, vehicles=row)
        strings.append(string)
    items = tuple(
        replace(item, cars=item.cars | {name}) if isinstance(item, Train) else item
        for item in puzzle.work.items
    )
    cars = (*puzzle.cars, Car(name, puzzle.kinds[place.idler], place.idler))
    start = replace(puzzle.start, strings=tuple(strings))
    return canonical(replace(puzzle, cars=cars, start=start, work=Work(items)))


def _minutes(worked: Worked, pace: float) -> int | None:
    return minutes_of(worked.move_seconds, pace) if worked.is_done else None
