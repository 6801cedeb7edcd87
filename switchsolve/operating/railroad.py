"""The state of a whole layout between two sessions, and how it begins."""

from __future__ import annotations

from dataclasses import dataclass, field, replace

from switchsolve.layout import PASSENGER, Layout
from switchsolve.operating.placing import DistrictState
from switchsolve.operating.records import FAR_SHORE, CarRecord, Where
from switchsolve.operating.world import Set, StagingState
from switchsolve.operating.yarding import YardState
from switchsolve.puzzle import Puzzle
from switchsolve.traffic.cars import Visitor, car_name, roads_of
from switchsolve.traffic.draws import standing_at_first

__all__ = ["Order", "Railroad", "begin"]


@dataclass(frozen=True, slots=True)
class Order:
    """A car that an industry waits for.  ``asked``: in the session of this number."""

    where: Where
    kind: str
    stay: int
    is_loaded: bool
    origin: str
    asked: int


@dataclass(slots=True)
class Railroad:
    """Where every car is, and who waits for one."""

    layout: Layout
    seed: int
    cars: dict[str, CarRecord] = field(default_factory=dict)
    where: dict[str, Where] = field(default_factory=dict)
    lengths: dict[str, int] = field(default_factory=dict)
    staging: dict[str, StagingState] = field(default_factory=dict)
    districts: dict[str, DistrictState] = field(default_factory=dict)
    yard: YardState = field(init=False)
    orders: list[Order] = field(default_factory=list)
    homeless: list[str] = field(default_factory=list)
    """Cars of the stock for which staging had no room at the very beginning: they are on the shelf."""
    roads: tuple[str, ...] = ()

    def __post_init__(self) -> None:
        self.yard = YardState.empty(self.layout.yard)
        self.staging = {one.name: StagingState(one, self.lengths) for one in self.layout.staging}
        self.districts = {one.name: DistrictState(one) for one in self.layout.districts}
        found = {road for puzzle in self._puzzles() for road in roads_of(puzzle)} - {"car"}
        self.roads = tuple(sorted(found)) or ("car",)

    @property
    def kinds(self) -> dict[str, str]:
        """The kind of each car."""
        return {name: car.kind for name, car in self.cars.items()}

    def new_car(self, kind: str, is_loaded: bool, road: int | None = None) -> str:
        """A new car, standing nowhere yet; returns its name."""
        serial = len(self.cars) + len(self.homeless) + 1
        taken = [one.name for puzzle in self._puzzles() for one in puzzle.locomotives]
        name = car_name(self.roads, serial % len(self.roads) if road is None else road, serial, taken)
        self.cars[name] = CarRecord(name, kind, is_loaded)
        self.lengths[name] = self.layout.kinds[kind]
        return name

    def _puzzles(self) -> list[Puzzle]:
        return [self.layout.yard.puzzle, *(one.puzzle for one in self.layout.districts)]

    def in_world(self, place: str) -> list[str]:
        """Cars that stand at a place of the world, those of a float on the far shore."""
        return [name for name, where in self.where.items() if where.place == place and self._is_idle(where)]

    def _is_idle(self, where: Where) -> bool:
        return where.place in self.staging or where.track == FAR_SHORE

    def visitor(self, name: str, due: int | None = None) -> Visitor:
        """A car as its district sees it."""
        car = self.cars[name]
        track = car.bound.track if car.bound else ""
        return Visitor(name, car.kind, track, car.stay, due=due)


def begin(layout: Layout, seed: int) -> Railroad:
    """The layout before its first session: sets and stock in staging, some cars at industries."""
    railroad = Railroad(layout, seed)
    _sets(railroad)
    _industries(railroad)
    _stock(railroad)
    return railroad


def _sets(railroad: Railroad) -> None:
    """Each train from staging has its set on a track of its own there, passenger trains first."""
    trains = [one for one in railroad.layout.trains if one.origin in railroad.staging]
    for train in sorted(trains, key=lambda one: (one.kind != PASSENGER, -one.equipment)):
        state = railroad.staging[train.origin]
        taken = [track for track, sets in state.sets.items() if sets]
        length = train.equipment + train.most_cars * max(railroad.layout.kinds.values())
        track = state.best_track(length, taken) or state.best_track(train.equipment, taken)
        if track is not None:
            state.sets[track].append(Set(train.kind, train.equipment))


def _industries(railroad: Railroad) -> None:
    """Who stands at the industries before the first session, by the shares of the district files."""
    for number, state in enumerate(railroad.districts.values()):
        if state.place.is_float:
            continue
        for index, item in enumerate(state.traffic.industries):
            spots = state.spots(item.track)
            key = (railroad.seed, number, 0, index)
            drawn = standing_at_first(item, len(spots), len(railroad.roads), *key)
            for spot, asked in zip(spots, drawn, strict=True):
                if asked is None:
                    continue
                flow = state.place.flow(item.track, asked.kind)
                name = railroad.new_car(asked.kind, flow.comes == "loaded", asked.road)
                where = Where(state.place.name, item.track)
                railroad.cars[name] = replace(railroad.cars[name], bound=where, stay=asked.stay)
                railroad.where[name] = where
                state.standing.append(replace(railroad.visitor(name, asked.stay), spot=spot))


def _stock(railroad: Railroad) -> None:
    """The cars of the world.  Those for which no track has room stay on the shelf."""
    for place, stock in railroad.layout.stocks():
        for kind, number in stock.items():
            for is_loaded in [True] * number.loaded + [False] * number.empty:
                name = railroad.new_car(kind, is_loaded)
                if place not in railroad.staging:
                    railroad.where[name] = Where(place, FAR_SHORE)
                    continue
                state = railroad.staging[place]
                with_sets = [track for track, sets in state.sets.items() if sets]
                length = railroad.lengths[name]
                track = state.best_track(length, with_sets) or state.best_track(length)
                if track is None:
                    railroad.homeless.append(name)
                    del railroad.cars[name]
                    continue
                state.cars[track].append(name)
                railroad.where[name] = Where(place, track)


