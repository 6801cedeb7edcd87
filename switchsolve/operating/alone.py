"""One district by itself: its train comes in at the entrance with what its industries ask for, session after
session, and leaves again; no yard, no other train.

And its interchange: how many cars each way it supports, when a train brings so many and takes as many away,
and two crews in turn go on so for a session.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import Executor
from dataclasses import dataclass, replace

from switchsolve.layout import DistrictPlace, Layout
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

__all__ = ["Alone", "EachWay", "PerSession", "alone", "each_way", "per_session", "unequal_ways"]


@dataclass(frozen=True, slots=True)
class Alone:
    """A session of one district, what came out, and its minutes (``None``: no plan)."""

    session: Session
    worked: Worked
    minutes: int | None


@dataclass(frozen=True, slots=True)
class EachWay:
    """So many cars brought and so many ``taken``: what came out, and its minutes."""

    cars: int
    taken: int
    worked: Worked
    minutes: int | None


@dataclass(frozen=True, slots=True)
class PerSession:
    """Two crews in turn: each of ``visits`` (an even number) brings ``each`` cars and takes as many, in
    ``minutes`` with coming and going, so that ``cars`` go each way in a session."""

    cars: int
    each: int
    visits: int
    minutes: int


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
    exchange = _Interchange(place, executor, pace, seconds)
    for number in range(1, exchange.most + 1):
        found = exchange.ask(number, number)
        yield found
        if not _is_whole(found):
            return


def unequal_ways(
    place: DistrictPlace, executor: Executor, pace: float, seconds: float | None = None
) -> Iterator[EachWay]:
    """For each number of cars brought the most that can be taken away in the same visit, all of it done.

    More cars brought are taken never to let more be taken away, so that each row begins at the one before; a
    row of which nothing can be done ends it.
    """
    exchange = _Interchange(place, executor, pace, seconds)
    take = exchange.most
    for bring in range(1, exchange.most + 1):
        best = None
        while best is None and take >= 0:
            found = exchange.ask(bring, take)
            best, take = (found, take) if _is_whole(found) else (None, take - 1)
        if best is None:
            return
        yield best


def per_session(rows: Sequence[EachWay], layout: Layout, place: str) -> PerSession | None:
    """The most cars each way in a session, and the fewest visits for it; ``None``: there is no time for a
    visit of each crew, or no row of which all can be done.

    One crew is at work at a time: the other one comes when it has gone, over the shortest link.  What one
    leaves the other takes on its next visit, so that two visits bring so many cars each way.
    """
    way = min((link.minutes for link in layout.links if place in link.ends), default=0)
    found = [
        PerSession(one.cars * pairs, one.cars, 2 * pairs, one.minutes + 2 * way)
        for one in rows
        if _is_whole(one) and one.minutes is not None
        for pairs in [layout.minutes // (2 * (one.minutes + 2 * way))]
        if pairs
    ]
    return max(found, key=lambda one: (one.cars, -one.visits), default=None)


def _is_whole(found: EachWay) -> bool:
    return found.worked.is_done and not found.worked.left_over


class _Interchange:
    """Cars brought to the tracks of all industries, and others taken from there."""

    def __init__(self, place: DistrictPlace, executor: Executor, pace: float, seconds: float | None) -> None:
        self._state, self._pace, self._solver = DistrictState(place), pace, Solver(executor, seconds)
        traffic, spots = self._state.traffic, self._state.spots
        self._spots = [(one.track, spot) for one in traffic.industries for spot in spots(one.track)]
        self._kind = next(iter(traffic.industries[0].kinds))
        self.most = min(len(self._spots), traffic.most_cars)

    def ask(self, bring: int, take: int) -> EachWay:
        """What comes out of such a visit.  Those that are taken stand on the first places; those that are
        brought go there too, since they are free by then, and on to the next ones."""
        there = [
            Visitor(f"out {index + 1}", self._kind, track, 1, spot=spot, due=1)
            for index, (track, spot) in enumerate(self._spots[:take])
        ]
        come = [
            Visitor(f"in {index + 1}", self._kind, track, 1, spot=spot)
            for index, (track, spot) in enumerate(self._spots[:bring])
        ]
        self._state.standing = there
        worked = self._solver.ask(self._state.set_up(f"{bring} in, {take} out", come, there))()
        return EachWay(bring, take, worked, _minutes(worked, self._pace))


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
