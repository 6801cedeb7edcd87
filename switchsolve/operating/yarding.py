"""The cars of the yard, and its two kinds of work: a cut made up for a train, a cut put away.

The switcher stands at the road end of the lead with the cut between it and the tracks.  Cars that are not in
hand are on hold: they end on the track where they stand, in whatever order the plan leaves them.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace

from switchsolve.layout import YardPlace
from switchsolve.operating.working import Worked
from switchsolve.puzzle import Puzzle, StartString
from switchsolve.puzzlefile.canonical import canonical
from switchsolve.vehicles import Car
from switchsolve.work import EndsIn, Item, Place, Train, Work

__all__ = ["YardState"]


@dataclass(slots=True)
class YardState:
    """Who stands where: on each track from its ``from`` end, and on the arrival tracks."""

    place: YardPlace
    tracks: dict[str, list[str]]
    arrivals: list[str] = field(default_factory=list)

    @classmethod
    def empty(cls, place: YardPlace) -> YardState:
        """A yard with no car."""
        return cls(place, {track: [] for track in place.tracks})

    @property
    def cars(self) -> list[str]:
        """Every car on its tracks."""
        return [car for row in self.tracks.values() for car in row]

    def track_of(self, car: str) -> str:
        """Where a car stands.  Raises ``StopIteration`` if it is not there."""
        return next(track for track, row in self.tracks.items() if car in row)

    def that_fit(self, cars: Sequence[str], kinds: Mapping[str, str]) -> list[str]:
        """The first of ``cars`` for which its tracks have room, each put on the first that has it."""
        puzzle = self.place.puzzle
        room = {track: puzzle.district.track(track).length for track in self.place.tracks}
        for track, row in self.tracks.items():
            room[track] -= sum(puzzle.kinds[kinds[car]] for car in row)
        found: list[str] = []
        for car in cars:
            length = puzzle.kinds[kinds[car]]
            fit = next((name for name, left in room.items() if left >= length), None)
            if fit is None:
                break
            room[fit] -= length
            found.append(car)
        return found

    def make_up(self, cars: Sequence[str], kinds: Mapping[str, str]) -> Puzzle:
        """The work of bringing ``cars`` to the lead."""
        (locomotive,) = (one.name for one in self.place.puzzle.locomotives)
        item = Train(locomotive, self.place.lead, frozenset(cars))
        return self._puzzle((locomotive,), (item,), kinds)

    def put_away(self, cars: Sequence[str], kinds: Mapping[str, str]) -> Puzzle:
        """The work of putting ``cars`` (from the locomotive outwards), which stand on the lead, on any of its
        tracks."""
        (locomotive,) = (one.name for one in self.place.puzzle.locomotives)
        tracks = tuple(Place(track) for track in self.place.tracks)
        items: list[Item] = [EndsIn(car, tracks) for car in cars]
        items.append(Train(locomotive, self.place.lead))
        return self._puzzle((locomotive, *cars), tuple(items), kinds)

    def _puzzle(self, lead: tuple[str, ...], items: tuple[Item, ...], kinds: Mapping[str, str]) -> Puzzle:
        puzzle, place = self.place.puzzle, self.place
        outer = "from" if "from" in puzzle.district.track(place.lead).entrances else "to"
        strings = [StartString(place.lead, lead if outer == "from" else lead[::-1])]
        strings += [StartString(track, tuple(row)) for track, row in self.tracks.items() if row]
        names = [*lead[1:], *self.cars]
        cars = tuple(Car(name, puzzle.kinds[kinds[name]], kinds[name]) for name in names)
        return canonical(
            replace(
                puzzle,
                cars=cars,
                start=replace(puzzle.start, strings=tuple(strings), under_way={}),
                work=Work(items),
                title=place.name,
                stated_minimum=None,
                stated_verdict=None,
                traffic=None,
            )
        )

    def close(self, worked: Worked) -> None:
        """Take the standing that a plan leaves."""
        if worked.is_done:
            self.tracks = {track: list(worked.standing.get(track, ())) for track in self.place.tracks}
