"""Set-ups drawn by chance for the district of a file, with the cars of that file.

A **drawn set-up**: some cars of the file come with the train, in any order, and are to be spotted; of those
that stand in the district some are to be picked up, the others are held.  The train starts and leaves as it
does in the file.  How many of each there are is that of the file, unless the caller says otherwise; who they
are, where they stand and where they are to go is drawn, each with the same chance.  What does not fit is
drawn again.

Chance is that of :func:`switchsolve.traffic.draws.stream_of`: the same seed and number give the same set-up.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from typing import TypeVar

from numpy.random import Generator

from switchsolve.errors import FileError, Problem
from switchsolve.puzzle import Industry, Puzzle, Traffic
from switchsolve.setups.places import Slot, cars_fit, slots_of, takes
from switchsolve.traffic.cars import Visitor
from switchsolve.traffic.draws import stream_of
from switchsolve.traffic.setting import set_up
from switchsolve.work import DoNotTouch, Train, Work

__all__ = ["Cast", "Drawer"]

T = TypeVar("T")

_TRIES = 400
"""How often a set-up is drawn again that does not fit."""


@dataclass(frozen=True, slots=True)
class Cast:
    """Who is where in a drawn set-up, by name.

    ``train``: the arriving cars, from the locomotive outwards.  ``goes``: where each of them is to be
    spotted.  ``stands``: where each other car stands at the start.  ``due``: those of them to be picked up.
    """

    train: tuple[str, ...]
    goes: dict[str, Slot]
    stands: dict[str, Slot]
    due: frozenset[str]


class Drawer:
    """Draws set-ups for one file.

    ``spot`` cars come with the train, and ``pick_up`` leave with it (``None``: as many as in the file).
    Raises :class:`~switchsolve.errors.FileError` with all that keeps set-ups from being drawn.
    """

    def __init__(
        self, puzzle: Puzzle, *, spot: int | None = None, pick_up: int | None = None, file: str = "the file"
    ) -> None:
        self.puzzle = puzzle
        self._file = file
        self._problems: list[Problem] = []
        self._check_locomotive()
        train = next((item for item in puzzle.work.items if isinstance(item, Train)), None)
        self._departs_on = train.track if train is not None else self._home
        self._departs_at = train.locomotive_at if train is not None else None
        kept = {item.last for item in puzzle.work.items if isinstance(item, Train)}
        self.cars = {car.name: car for car in puzzle.cars if car.name not in kept}
        self.slots = slots_of(puzzle, self._home)
        coming = [name for name in self._row if name in self.cars]
        leaving = [] if train is None else [name for name in train.cars if name not in coming]
        self.spot = len(coming) if spot is None else spot
        self.pick_up = len([name for name in leaving if name in self.cars]) if pick_up is None else pick_up
        self._check_counts()
        if self._problems:
            raise FileError(self._problems)
        self._traffic = Traffic(self._home, self._locomotive_at(), self.spot, self._industries())

    # ---- what can go wrong

    def _check_locomotive(self) -> None:
        self._home = ""
        self._row: tuple[str, ...] = ()
        names = [locomotive.name for locomotive in self.puzzle.locomotives]
        if len(names) != 1:
            self._refuse("locomotives", str(len(names)), "set-ups are drawn for one", "leave one in the file")
            return
        string = next(one for one in self.puzzle.start.strings if names[0] in one.vehicles)
        self._home, self._row = string.track, string.vehicles
        if string.track not in {track.name for track in self.puzzle.district.tracks}:
            self._refuse("start", string.track, "the train stands on a table", "have it start on a track")
        for item in self.puzzle.work.items:
            if isinstance(item, DoNotTouch):
                cure = "make its track shorter by the car instead"
                self._refuse("work.do_not_touch", item.car, "this car would stand in no set-up", cure)

    def _check_counts(self) -> None:
        cars, slots = len(self.cars), len(self.slots)
        asked = f"{self.spot} to spot, {self.pick_up} to pick up"
        if self.spot + self.pick_up == 0:
            cure = "ask for some with --spot or --pick-up, or add cars under [cars]"
            self._refuse("work", asked, "there is nothing to do", cure)
        elif self.spot + self.pick_up > cars:
            cure = "ask for fewer with --spot and --pick-up, or add cars under [cars]"
            self._refuse("cars", f"{cars} cars", f"that is too few for {asked}", cure)
        elif max(cars - self.spot, cars - self.pick_up) > slots:
            cure = "ask for more or fewer with --spot and --pick-up, or take out cars"
            self._refuse("cars", f"{cars} cars", f"the district has {slots} places for {asked}", cure)

    def _refuse(self, key: str, value: str, what: str, cure: str) -> None:
        self._problems.append(Problem(self._file, key, value, what, cure))

    # ---- the frame

    def _locomotive_at(self) -> str:
        """The end of its row at which the locomotive stands; alone, that towards the district."""
        name = self.puzzle.locomotives[0].name
        if len(self._row) > 1:
            return "from" if self._row[0] == name else "to"
        return "from" if "to" in self.puzzle.district.track(self._home).entrances else "to"

    def _industries(self) -> tuple[Industry, ...]:
        tracks = dict.fromkeys(slot.track for slot in self.slots)
        return tuple(Industry(track, {}, 1) for track in tracks)

    # ---- drawing

    def draw(self, seed: int, number: int) -> Puzzle | None:
        """The set-up ``number`` of a seed; ``None`` if in many tries nothing fitted."""
        cast = self.cast_of(seed, number)
        return None if cast is None else self.puzzle_of(cast, f"set-up {number} of seed {seed}")

    def cast_of(self, seed: int, number: int) -> Cast | None:
        """Who is where in the set-up ``number`` of a seed; ``None`` if in many tries nothing fitted."""
        stream = stream_of(seed, number)
        tries = (self._cast(stream) for _ in range(_TRIES))
        return next((cast for cast in tries if self.fits(cast)), None)

    def _cast(self, stream: Generator) -> Cast:
        """Draw who is where, whether it fits or not."""
        names = _shuffled(stream, list(self.cars))
        coming, others = names[: self.spot], names[self.spot :]
        stands = dict(zip(others, _shuffled(stream, self.slots), strict=False))
        due = frozenset(others[: self.pick_up])
        taken = {stands[name] for name in others if name not in due}
        free = [slot for slot in self.slots if slot not in taken]
        goes = dict(zip(coming, _shuffled(stream, free), strict=False))
        return Cast(tuple(coming), goes, stands, due)

    def fits(self, cast: Cast) -> bool:
        """Whether every car may stand where it is and where it goes, and all fit there together."""
        held = {name: slot for name, slot in cast.stands.items() if name not in cast.due}
        ending = [*held.values(), *cast.goes.values()]
        if len(set(ending)) < len(ending):
            return False
        if not (self._stand(cast.stands) and self._stand(held | cast.goes)):
            return False
        return self._holds(self._home, cast.train) and self._holds(self._departs_on, cast.due)

    def _holds(self, track: str, names: Iterable[str]) -> bool:
        """Whether the track is long enough for the locomotive and these cars; an entrance track with no
        length of its own is.
        """
        place = self.puzzle.district.track(track)
        engine = self.puzzle.locomotives[0].length
        return engine + sum(self.cars[name].length for name in names) <= place.length

    def _stand(self, where: dict[str, Slot]) -> bool:
        by_track: dict[str, list[tuple[Slot, int]]] = {}
        for name, slot in where.items():
            if not takes(self.puzzle, slot.track, self.cars[name]):
                return False
            by_track.setdefault(slot.track, []).append((slot, self.cars[name].length))
        district = self.puzzle.district
        return all(cars_fit(district.track(track), here) for track, here in by_track.items())

    def puzzle_of(self, cast: Cast, name: str) -> Puzzle:
        """The set-up as a puzzle, in the form of files; ``name`` is added to its title."""
        train = [self._visitor(one, cast.goes[one]) for one in cast.train]
        order = sorted(cast.stands, key=lambda one: cast.stands[one])
        standing = [self._visitor(one, cast.stands[one]) for one in order]
        due = [one for one in standing if one.name in cast.due]
        title = f"{self.puzzle.title or 'District'}: {name}"
        found = set_up(self.puzzle, self._traffic, title, standing, train, due, self.cars)
        items = tuple(self._leaving(item) if isinstance(item, Train) else item for item in found.work.items)
        return replace(found, work=Work(items))

    def _leaving(self, item: Train) -> Train:
        return replace(item, track=self._departs_on, locomotive_at=self._departs_at)

    def _visitor(self, name: str, slot: Slot) -> Visitor:
        return Visitor(name, self.cars[name].kind, slot.track, 1, slot.spot)


def _shuffled(stream: Generator, items: Sequence[T]) -> list[T]:
    return [items[int(index)] for index in stream.permutation(len(items))]
