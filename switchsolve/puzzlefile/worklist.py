"""The work of a file: the section ``[work]``, item by item."""

from __future__ import annotations

from collections.abc import Mapping

from switchsolve.puzzlefile.problems import Path, Problems, suggestion
from switchsolve.puzzlefile.references import BadReference, Places
from switchsolve.puzzlefile.schema import AnyLine, TrainLine, WorkLines
from switchsolve.puzzlefile.tomltext import value_text
from switchsolve.vehicles import Car, Locomotive
from switchsolve.work import (
    AnyCars,
    DoNotTouch,
    EndsIn,
    Free,
    Hold,
    Item,
    LocomotiveEnds,
    Place,
    Train,
    Work,
)

__all__ = ["WorkReader"]


class WorkReader:
    """Reads the items, and checks that each names what there is, and each car once."""

    def __init__(
        self,
        cars: Mapping[str, Car],
        locomotives: Mapping[str, Locomotive],
        places: Places,
        problems: Problems,
    ) -> None:
        self._cars = cars
        self._locomotives = locomotives
        self._places = places
        self._problems = problems
        self._named: dict[str, str] = {}
        """What the work says of each car so far, as the key of its section."""

    def read(self, work: WorkLines) -> Work:
        """All items, section by section."""
        items: list[Item] = []
        items += self._spots(work)
        items += [DoNotTouch(car) for car in self._list("do_not_touch", work.do_not_touch)]
        items += [Hold(car) for car in self._list("hold", work.hold)]
        items += [Free(car) for car in self._list("free", work.free)]
        items += self._trains(work)
        items += [self._any(index, line) for index, line in enumerate(work.any)]
        items += self._endings(work)
        return Work(tuple(items))

    def _spots(self, work: WorkLines) -> list[Item]:
        """Cars with one place, or several to choose from."""
        items: list[Item] = []
        for car, text in work.spot.items():
            path: Path = ("work", "spot", car)
            self._name(path, car, "spot")
            items.append(EndsIn(car, (self._place(path, text),)))
        for car, texts in work.set_to_any_of.items():
            path = ("work", "set_to_any_of", car)
            self._name(path, car, "set_to_any_of")
            places = [self._place((*path, index), text) for index, text in enumerate(texts)]
            items.append(EndsIn(car, tuple(places)))
        return items

    def _list(self, key: str, cars: list[str]) -> list[str]:
        """The cars of a plain list."""
        for index, car in enumerate(cars):
            self._name(("work", key, index), car, key)
        return cars

    def _name(self, path: Path, car: str, says: str) -> None:
        """Check that ``car`` is a car and has no other item."""
        if car in self._locomotives:
            cure = "leave it out; how a locomotive ends stands under [work.locomotive]"
            self._problems.add(path, "this is a locomotive, not a car", cure)
        elif car not in self._cars:
            cure = suggestion(car, self._cars, "add it under [cars]")
            self._problems.add(path, "there is no such car", cure)
        elif car in self._named:
            before = self._named[car]
            if "do_not_touch" in (before, says) and before != says:
                what = f"{value_text(car)} is not to be touched, and this gives it other work"
            else:
                what = f"{value_text(car)} has an item under {value_text(before)} already"
            self._problems.add(path, what, "keep one of the two")
        self._named.setdefault(car, says)

    def _place(self, path: Path, text: str) -> Place:
        """A track, or a track and spot."""
        try:
            return self._places.place(text)
        except BadReference as bad:
            self._problems.add(path, bad.what, bad.cure)
            return Place(text)

    def _track(self, path: Path, text: str, known: list[str]) -> None:
        """Check the name of a track."""
        if text not in known:
            cure = suggestion(text, known, "name one of [tracks]")
            self._problems.add(path, "there is no such track", cure)

    def _any(self, index: int, line: AnyLine) -> AnyCars:
        """So many cars of a kind to a place."""
        path: Path = ("work", "any", index)
        place = self._place((*path, "to"), line.to)
        of_kind = [car.name for car in self._cars.values() if car.kind == line.kind]
        able = [car for car in of_kind if car not in self._named]
        if not of_kind:
            kinds = sorted({car.kind for car in self._cars.values()})
            cure = suggestion(line.kind, kinds, "name the kind of a car")
            self._problems.add((*path, "kind"), "no car is of this kind", cure)
        elif len(able) < line.count:
            what = f"only {len(able)} of these cars {'has' if len(able) == 1 else 'have'} no other item"
            self._problems.add((*path, "count"), what, "ask for fewer, or take another item away")
        if place.spot is not None and line.count > 1:
            self._problems.add((*path, "count"), "a spot takes one car", "write 1, or name the track alone")
        return AnyCars(line.kind, line.count, place)

    def _endings(self, work: WorkLines) -> list[Item]:
        """How locomotives end."""
        items: list[Item] = []
        for name, line in work.locomotive.items():
            path: Path = ("work", "locomotive", name)
            self._check_locomotive(path, name)
            if line.ends_in is not None:
                self._track((*path, "ends_in"), line.ends_in, [*self._places.spots, *self._places.tables])
            if line.ends_in is None and line.heads is not None:
                self._problems.add((*path, "heads"), "this needs the track it ends in", "add `ends_in`")
            if line.ends_in is None and line.heads is None:
                self._problems.add(path, "this asks for nothing", "add `ends_in`, or leave the line out")
            items.append(LocomotiveEnds(name, line.ends_in, line.heads))
        return items

    def _check_locomotive(self, path: Path, name: str) -> None:
        """Check the name of a locomotive."""
        if name not in self._locomotives:
            cure = suggestion(name, self._locomotives, f"name one of {', '.join(self._locomotives)}")
            self._problems.add(path, "there is no such locomotive", cure)

    def _trains(self, work: WorkLines) -> list[Item]:
        """Trains that depart, with the cars that they pick up."""
        trains: list[Item] = []
        taken: dict[str, str] = {}
        for index, line in enumerate(work.train):
            path: Path = ("work", "train", index)
            locomotive = self._locomotive_of(path, line)
            if locomotive in taken:
                what = f"{value_text(locomotive)} departs with another train already"
                self._problems.add((*path, "locomotive"), what, "give each train a locomotive of its own", "")
            taken[locomotive] = line.departs_on
            self._check_ending(work, path, locomotive, line)
            trains.append(self._train(path, locomotive, line))
        return trains

    def _locomotive_of(self, path: Path, line: TrainLine) -> str:
        """The locomotive of a train."""
        if line.locomotive is not None:
            self._check_locomotive((*path, "locomotive"), line.locomotive)
            return line.locomotive
        if len(self._locomotives) > 1:
            cure = f"add `locomotive`, one of {', '.join(map(value_text, self._locomotives))}"
            self._problems.add(path, "this train does not say which locomotive it has", cure, "")
        return next(iter(self._locomotives), "")

    def _check_ending(self, work: WorkLines, path: Path, locomotive: str, line: TrainLine) -> None:
        """Note it if the locomotive of a train is to end elsewhere."""
        ending = work.locomotive.get(locomotive)
        if ending is not None and ending.ends_in not in (None, line.departs_on):
            what = f"{value_text(locomotive)} is to end in {value_text(ending.ends_in)}"
            self._problems.add((*path, "departs_on"), what, "let both name one track")

    def _train(self, path: Path, locomotive: str, line: TrainLine) -> Train:
        """One train."""
        self._track((*path, "departs_on"), line.departs_on, list(self._places.spots))
        for index, car in enumerate(line.pick_up):
            self._name((*path, "pick_up", index), car, "pick_up")
        blocks = self._blocks(path, line)
        if line.last is not None and line.last not in line.pick_up:
            self._problems.add((*path, "last"), "this car is not under `pick_up`", "add it there")
        cars = frozenset(line.pick_up)
        return Train(locomotive, line.departs_on, cars, line.locomotive_at, blocks, line.last)

    def _blocks(self, path: Path, line: TrainLine) -> tuple[frozenset[str], ...]:
        """The blocks of a train; the last car is a block of its own if it is in none."""
        if not line.blocks:
            return ()
        blocks = list(line.blocks)
        seen: set[str] = set()
        for index, block in enumerate(blocks):
            for place, car in enumerate(block):
                here = (*path, "blocks", index, place)
                if car not in line.pick_up:
                    self._problems.add(here, "this car is not under `pick_up`", "add it there")
                elif car in seen:
                    self._problems.add(here, "this car is in a block already", "leave it out here")
                seen.add(car)
        if line.last is not None and line.last not in seen:
            blocks.append([line.last])
            seen.add(line.last)
        elif line.last is not None and line.last not in blocks[-1]:
            self._problems.add(
                (*path, "last"), "this car is not in the last block", "move it to the last block"
            )
        for index, car in enumerate(line.pick_up):
            if car not in seen:
                cure = "add it to a block, or leave `blocks` out"
                self._problems.add((*path, "pick_up", index), "this car is in no block", cure)
        return tuple(frozenset(block) for block in blocks)
