"""The world outside: staging with its tracks, and the host, who moves cars by hand between sessions.

A staging track holds what stands on it by length: cars, and the sets of trains (locomotive and caboose, or a
whole passenger train).  A train leaves from the track of its set, and comes to one on which it fits whole.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, field

from switchsolve.layout import StagingPlace, TrainPlan

__all__ = ["Set", "StagingState"]


@dataclass(frozen=True, slots=True)
class Set:
    """What runs a train: its kind of train and its length."""

    kind: str
    length: int


@dataclass(slots=True)
class StagingState:
    """Who stands where in one staging place."""

    place: StagingPlace
    lengths: Mapping[str, int]
    """Length of every car of the layout, by name; grows as cars come."""
    cars: dict[str, list[str]] = field(default_factory=dict)
    sets: dict[str, list[Set]] = field(default_factory=dict)

    def __post_init__(self) -> None:
        self.cars = self.cars or {track: [] for track in self.place.tracks}
        self.sets = self.sets or {track: [] for track in self.place.tracks}

    @property
    def usable(self) -> list[str]:
        """Tracks on which something may stand."""
        return [track for track in self.place.tracks if track not in self.place.keep_empty]

    @property
    def all_cars(self) -> list[str]:
        """Every car there."""
        return [car for row in self.cars.values() for car in row]

    def room(self, track: str) -> int:
        """Length that is left on a track."""
        taken = sum(self.lengths[car] for car in self.cars[track])
        return self.place.tracks[track] - taken - sum(one.length for one in self.sets[track])

    def track_of(self, car: str) -> str:
        """Where a car stands.  Raises ``StopIteration`` if it is not there."""
        return next(track for track, row in self.cars.items() if car in row)

    def best_track(self, length: int, but: Collection[str] = ()) -> str | None:
        """Of the usable tracks with so much room the one with the least; ``None``: there is none."""
        fit = [track for track in self.usable if track not in but and self.room(track) >= length]
        return min(fit, key=lambda track: (self.room(track), track), default=None)

    def longest_room(self, leaving: Mapping[str, int]) -> int:
        """The longest train that could come; ``leaving``: lengths that will have left a track by then."""
        return max((self.room(track) + leaving.get(track, 0) for track in self.usable), default=0)

    def arrival_track(self, length: int, leaving: Mapping[str, int]) -> str | None:
        """A track for a train of this length: one where nothing need leave before, if there is any."""
        free = [track for track in self.usable if self.room(track) >= length]
        later = [track for track in self.usable if self.room(track) + leaving.get(track, 0) >= length]
        chosen = free or later
        return min(chosen, key=lambda track: (bool(self.sets[track]), self.room(track), track), default=None)

    def ready(self, train: TrainPlan, taken: Collection[str]) -> str | None:
        """The track of a set that can run ``train``, not one of ``taken``."""
        for track, sets in self.sets.items():
            if track not in taken and any(one.kind == train.kind for one in sets):
                return track
        return None

    def load(self, track: str, wanted: Sequence[str]) -> tuple[list[str], list[tuple[str, str]]]:
        """By hand: cars that are ``wanted`` next to the set on ``track``, as far as there is room.

        Returns the cars of the train, and each car that was lifted with the track it came from.  Who is not
        wanted stays on its track, behind the train, or is lifted to another one if the train needs the room.
        """
        consist, lifted = [], []
        for car in wanted:
            source = self.track_of(car)
            if source != track:
                lifted += self._make_room(track, self.lengths[car], wanted)
                if self.room(track) < self.lengths[car]:
                    continue
                self.cars[source].remove(car)
                self.cars[track].append(car)
                lifted.append((car, source))
            consist.append(car)
        brought = {car for car, _ in lifted}
        row = [car for car in self.cars[track] if car not in brought]
        in_the_way = _in_the_way(row, consist)
        lifted += [(car, track) for car in in_the_way]
        self.cars[track] = consist + [car for car in self.cars[track] if car not in consist]
        return consist, lifted


    def _make_room(self, track: str, length: int, wanted: Collection[str]) -> list[tuple[str, str]]:
        """Lift cars that are not wanted to other tracks until there is so much room, if that can be."""
        lifted = []
        for car in [car for car in self.cars[track] if car not in wanted]:
            if self.room(track) >= length:
                break
            others = [name for name in self.usable if name != track and self.room(name) >= self.lengths[car]]
            if others:
                target = min(others, key=lambda name: (bool(self.sets[name]), self.room(name), name))
                self.cars[track].remove(car)
                self.cars[target].append(car)
                lifted.append((car, track))
        return lifted


def _in_the_way(row: Sequence[str], consist: Collection[str]) -> list[str]:
    """The fewest cars to be lifted so that those of the train stand first in ``row``."""
    last = max((place for place, car in enumerate(row) if car in consist), default=-1)
    first = next((place for place, car in enumerate(row) if car not in consist), len(row))
    others = [car for car in row[: last + 1] if car not in consist]
    own = [car for car in row[first:] if car in consist]
    return min(others, own, key=len)
