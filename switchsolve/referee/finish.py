"""Is the work done?  Every item is looked up at the real positions of the last standing."""

from __future__ import annotations

from collections.abc import Sequence
from typing import NoReturn

from switchsolve.district import Junction
from switchsolve.errors import PlanError
from switchsolve.plan import Placed
from switchsolve.puzzle import Puzzle
from switchsolve.referee.rail import Ground, Piece, has_locomotive, names, pieces, turned
from switchsolve.work import AnyCars, EndsIn, Free, LocomotiveEnds, Place, Train

__all__ = ["Finish"]


class Finish:
    """The last standing, after the final cuts, with the work of the puzzle."""

    def __init__(self, ground: Ground, puzzle: Puzzle, strings: Sequence[Placed]) -> None:
        self._ground, self._puzzle = ground, puzzle
        self._strings = {vehicle: string for string in strings for vehicle in string.vehicles}
        self._pieces: dict[str, list[Piece]] = {vehicle: [] for vehicle in self._strings}
        for string in strings:
            for piece in pieces(ground, string):
                self._pieces[piece.vehicle].append(piece)
        self._homes = _homes(puzzle)

    def check(self) -> None:
        """Raise ``PlanError`` naming the first item of the work that is not done."""
        for item in self._puzzle.work.items:
            if isinstance(item, Train):
                self._check_train(item)
            elif isinstance(item, LocomotiveEnds):
                self._check_locomotive(item)
        self._check_uncoupled()
        for car in self._puzzle.cars:
            self._check_car(car.name)
        self._check_any_cars()

    def _no(self, what: str) -> NoReturn:
        raise PlanError("end", what)

    def _whole_on(self, vehicle: str) -> str | None:
        """The one track or table on which all of the vehicle stands, or ``None``."""
        places = {piece.cell.place for piece in self._pieces[vehicle]}
        name = places.pop()
        return None if places or isinstance(self._ground.district.place(name), Junction) else name

    def _is_at(self, vehicle: str, place: Place) -> bool:
        if self._whole_on(vehicle) != place.track:
            return False
        return place.spot is None or self._stands_over(vehicle, place)

    def _stands_over(self, vehicle: str, place: Place) -> bool:
        track = self._ground.district.track(place.track)
        at = track.spot(place.spot or "").at
        for piece in self._pieces[vehicle]:
            seam = sum(part.length for part in track.parts[: piece.cell.index])
            if seam + piece.start <= at <= seam + piece.end:
                return True
        return False

    def _is_held(self, car: str) -> bool:
        return self._is_at(car, self._homes[car])

    def _check_uncoupled(self) -> None:
        in_trains = {car for item in self._puzzle.work.items if isinstance(item, Train) for car in item.cars}
        for car in self._puzzle.cars:
            if car.name not in in_trains and has_locomotive(self._ground, self._strings[car.name]):
                self._no(f"{car.name} is still coupled to a locomotive")

    def _check_car(self, car: str) -> None:
        # A do-not-touch car is coupled to nothing from start to end: it has not moved, and passes as held.
        item = self._puzzle.work.of_car(car)
        if isinstance(item, EndsIn):
            if not any(self._is_at(car, place) for place in item.places):
                self._no(f"{car} is not at {' or '.join(map(str, item.places))}")
        elif isinstance(item, Free):
            self._check_in_the_clear(car)
        elif not isinstance(item, Train) and not self._is_candidate(car) and not self._is_held(car):
            self._no(f"{car} is not back at {self._homes[car]}")

    def _check_in_the_clear(self, car: str) -> None:
        for piece in self._pieces[car]:
            if isinstance(self._ground.district.place(piece.cell.place), Junction):
                self._no(f"{car} is foul of {piece.cell.place}")

    def _any_items(self) -> list[AnyCars]:
        return [item for item in self._puzzle.work.items if isinstance(item, AnyCars)]

    def _is_candidate(self, car: str) -> bool:
        kind = self._ground.vehicles[car].kind
        return self._puzzle.work.of_car(car) is None and any(item.kind == kind for item in self._any_items())

    def _check_any_cars(self) -> None:
        """Each candidate serves one of the items or is held; each item gets just its count."""
        items = self._any_items()
        fillings = {(0,) * len(items)}
        for car in self._puzzle.cars:
            if self._is_candidate(car.name):
                fillings = self._filled(car.name, items, fillings)
        if tuple(item.count for item in items) not in fillings:
            wanted = ", ".join(f"{item.count} {item.kind} at {item.place}" for item in items)
            self._no(f"not done, with all others of the kind held: {wanted}")

    def _filled(self, car: str, items: list[AnyCars], fillings: set[tuple[int, ...]]) -> set[tuple[int, ...]]:
        """The numbers of cars that the items can have when ``car`` is shared out too."""
        found = set(fillings) if self._is_held(car) else set()
        for index, item in enumerate(items):
            if item.kind == self._ground.vehicles[car].kind and self._is_at(car, item.place):
                found |= {(*f[:index], f[index] + 1, *f[index + 1 :]) for f in fillings}
        return found

    def _check_locomotive(self, item: LocomotiveEnds) -> None:
        name, track = item.locomotive, self._whole_on(item.locomotive)
        if item.track is not None and track != item.track:
            self._no(f"{name} is not on {item.track}")
        if item.heads is None:
            return
        string = self._strings[name]
        if track is None or (string.noses[name] * self._sign(name) > 0) != (item.heads == "to"):
            self._no(f"{name} does not head for the {item.heads!r} end of its track")

    def _sign(self, vehicle: str) -> int:
        """The direction in which the vehicle's string is listed, on the cell where the vehicle stands."""
        cell = self._pieces[vehicle][0].cell
        return next(way.sign for way in self._strings[vehicle].ways if way.cell == cell)

    def _check_train(self, train: Train) -> None:
        string, wanted = self._strings[train.locomotive], {train.locomotive, *train.cars}
        if set(string.vehicles) != wanted:
            self._no(
                f"the train of {train.locomotive} is {names(string.vehicles)}, not {names(sorted(wanted))}"
            )
        for vehicle in string.vehicles:
            if self._whole_on(vehicle) != train.track:
                self._no(f"{vehicle} of the train of {train.locomotive} is not wholly on {train.track}")
        if string.ways[0].sign < 0:
            string = turned(self._ground, string)
        self._check_locomotive_at(train, string.vehicles)
        self._check_made_up(train, string.vehicles)

    def _check_locomotive_at(self, train: Train, vehicles: tuple[str, ...]) -> None:
        """``vehicles`` from the ``from`` end of the track to its ``to`` end."""
        if train.locomotive_at is not None:
            nearest = vehicles[0] if train.locomotive_at == "from" else vehicles[-1]
            if nearest != train.locomotive:
                self._no(f"{train.locomotive} is not at the {train.locomotive_at!r} end of its train")

    def _check_made_up(self, train: Train, vehicles: tuple[str, ...]) -> None:
        """Blocks and last car, read from the locomotive outwards; cars of no block come after all blocks."""
        if not train.blocks and train.last is None:
            return
        if vehicles[0] != train.locomotive:
            vehicles = vehicles[::-1]
        if vehicles[0] != train.locomotive:
            self._no(f"{train.locomotive} is in the middle of its train, which has blocks or a last car")
        start = 1
        for number, block in enumerate(train.blocks, 1):
            if set(vehicles[start : start + len(block)]) != set(block):
                self._no(f"block {number} of the train of {train.locomotive} is not in its place")
            start += len(block)
        if train.last is not None and vehicles[-1] != train.last:
            self._no(f"{train.last} is not last in the train of {train.locomotive}")


def _homes(puzzle: Puzzle) -> dict[str, Place]:
    """Where each vehicle started: its track (or table), and its spot if it had one."""
    return {
        vehicle: Place(string.track, string.spots.get(vehicle))
        for string in puzzle.start.strings
        for vehicle in string.vehicles
    }
