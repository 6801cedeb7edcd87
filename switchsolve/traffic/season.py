"""A season: sessions that follow each other.

Who is spotted in one session is picked up in a later one; the next session starts from **canonical
standings** (each car at its spot, the train on its entrance track); what was left undone comes again.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator
from dataclasses import dataclass, replace
from itertools import zip_longest

from switchsolve.puzzle import Puzzle, Traffic
from switchsolve.puzzlefile.trafficlist import places_of
from switchsolve.traffic.cars import Visitor, car_name, roads_of
from switchsolve.traffic.draws import Asked, asked_for, order_of, standing_at_first
from switchsolve.traffic.setting import set_up

__all__ = ["Season", "Session", "sessions"]


@dataclass(frozen=True, slots=True)
class Session:
    """One session of a season (both numbered from 1), as a set-up with its work.

    ``arrived``: the cars that the train brings, from the locomotive outwards; ``picked_up``: those that it is
    to take away; ``rolled_over``: those of both that an earlier session left undone.  ``waiting``: cars whose
    turn it is, but the train has no room for more, or there is no free place.  ``turned_away``: how many
    cars were asked for that no place will be free for; they do not come.
    """

    season: int
    number: int
    puzzle: Puzzle
    arrived: tuple[str, ...]
    picked_up: tuple[str, ...]
    rolled_over: tuple[str, ...]
    waiting: tuple[str, ...]
    turned_away: int


def sessions(puzzle: Puzzle, count: int, seed: int, season: int = 1) -> Iterator[Session]:
    """``count`` sessions of one season, the work of each one done.  Raises as :class:`Season`."""
    chain = Season(puzzle, seed, season)
    for _ in range(count):
        yield chain.draw()
        chain.close()


class Season:
    """Draws one session after the other; between two of them it is told what was left undone.

    Raises ``ValueError`` for a puzzle without traffic, or numbers below zero.
    """

    def __init__(self, puzzle: Puzzle, seed: int, number: int = 1) -> None:
        if puzzle.traffic is None:
            raise ValueError("this puzzle has no traffic")
        self._puzzle = puzzle
        self._traffic: Traffic = puzzle.traffic
        self._key = (seed, number)
        self._roads = self._traffic.roads or roads_of(puzzle)
        self._serial = 0
        self._places = {
            item.track: places_of(
                puzzle.district.track(item.track), max(puzzle.kinds[kind] for kind in item.kinds)
            )
            for item in self._traffic.industries
        }
        self._standing: list[Visitor] = []
        """Who stands at the industries, in order of arrival."""
        self._queue: list[Visitor] = []
        """Who is to come, the first in line first."""
        self._number = 0
        self._train: list[Visitor] = []
        self._due: list[Visitor] = []
        self._open: Session | None = None
        self._fill()

    def draw(self) -> Session:
        """The next session.  Raises ``ValueError`` while the last one is not closed."""
        if self._open is not None:
            raise ValueError("the last session is not closed yet")
        self._number += 1
        ready = sorted((one for one in self._standing if self._is_due(one)), key=_due)
        self._due = ready[: self._traffic.most_cars]
        staying = [one for one in self._standing if one not in self._due]
        turned_away = self._ask(staying)
        self._load(staying)
        waiting = (*self._queue, *ready[self._traffic.most_cars :])
        self._open = Session(
            season=self._key[1],
            number=self._number,
            puzzle=self._set_up(),
            arrived=tuple(one.name for one in self._train),
            picked_up=tuple(one.name for one in self._due),
            rolled_over=tuple(one.name for one in (*self._train, *self._due) if one.was_left),
            waiting=tuple(one.name for one in waiting),
            turned_away=turned_away,
        )
        return self._open

    def close(self, left_over: Collection[str] = ()) -> None:
        """Tell what was left undone: an arrived car of ``left_over`` went back with the train and comes
        again, first in line; a car that was to be picked up is still there.  Raises ``ValueError`` if no
        session is open, or for cars that are not in its work.
        """
        if self._open is None:
            raise ValueError("there is no session to close")
        strange = set(left_over) - set(self._open.arrived) - set(self._open.picked_up)
        if strange:
            raise ValueError(f"not in the work of this session: {', '.join(sorted(strange))}")
        gone = {one.name for one in self._due if one.name not in left_over}
        stayed = [one for one in self._standing if one.name not in gone]
        self._standing = [replace(one, was_left=one.name in left_over or one.was_left) for one in stayed]
        back = [one for one in self._train if one.name in left_over]
        self._queue = [replace(one, spot=None, was_left=True) for one in back] + self._queue
        self._standing += [
            replace(one, due=self._number + one.stay, was_left=False)
            for one in self._train
            if one.name not in left_over
        ]
        self._open = None

    def _is_due(self, one: Visitor) -> bool:
        return one.due is not None and one.due <= self._number

    def _fill(self) -> None:
        """Who stands where before the first session."""
        for index, item in enumerate(self._traffic.industries):
            spots: list[str | None] = list(self._spots(item.track))
            asked = standing_at_first(item, len(spots), len(self._roads), *self._key, 0, index)
            for spot, one in zip(spots, asked, strict=True):
                if one is not None:
                    self._standing.append(replace(self._visitor(one, item.track), spot=spot, due=one.stay))

    def _spots(self, track: str) -> list[str] | list[None]:
        """The places of an industry: the names of its spots in the order of the file, or ``None`` each."""
        named = [spot.name for spot in self._puzzle.district.track(track).spots]
        return named or [None] * self._places[track]

    def _visitor(self, asked: Asked, track: str) -> Visitor:
        """A new car, with a name of its own."""
        self._serial += 1
        taken = [item.name for item in self._puzzle.locomotives]
        return Visitor(car_name(self._roads, asked.road, self._serial, taken), asked.kind, track, asked.stay)

    def _ask(self, staying: list[Visitor]) -> int:
        """Put the cars that are asked for in line, one for each industry in turn; returns how many find no
        place that is free or will be, and so do not come.
        """
        turned_away = 0
        asked: list[list[Visitor]] = []
        for index, item in enumerate(self._traffic.industries):
            drawn = asked_for(item, len(self._roads), *self._key, self._number, index)
            new = [self._visitor(one, item.track) for one in drawn]
            taken = sum(one.track == item.track for one in (*staying, *self._queue))
            room = max(0, self._places[item.track] - taken)
            turned_away += len(new[room:])
            asked.append(new[:room])
        self._queue += [one for turn in zip_longest(*asked) for one in turn if one is not None]
        return turned_away

    def _load(self, staying: list[Visitor]) -> None:
        """Make up the train of those first in line for which there is a place, and order it."""
        free = {item.track: list(self._spots(item.track)) for item in self._traffic.industries}
        for one in staying:
            free[one.track].remove(one.spot)
        self._train, left = [], []
        for one in self._queue:
            if free[one.track] and len(self._train) < self._traffic.most_cars:
                self._train.append(replace(one, spot=free[one.track].pop(0)))
            else:
                left.append(one)
        self._queue = left
        if self._traffic.blocking == "by industry":
            order = [item.track for item in self._traffic.industries]
            self._train.sort(key=lambda one: order.index(one.track))
        elif self._traffic.blocking == "random":
            key = (*self._key, self._number, len(self._traffic.industries))
            self._train = [self._train[index] for index in order_of(len(self._train), *key)]

    def _set_up(self) -> Puzzle:
        """The session as a puzzle."""
        title = f"{self._puzzle.title or 'District'}: season {self._key[1]}, session {self._number}"
        return set_up(self._puzzle, self._traffic, title, self._standing, self._train, self._due)


def _due(one: Visitor) -> int:
    """The session in which a car that stands is to be picked up."""
    return one.due or 0
