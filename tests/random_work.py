"""Vehicles, work and features of the random small districts; for tests only."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from random import Random

from switchsolve.district import KeepClear, Limits, Marks, Part, Spot
from switchsolve.vehicles import Car, Locomotive, Vehicle
from switchsolve.work import AnyCars, DoNotTouch, EndsIn, Free, Hold, Item, LocomotiveEnds, Place, Train, Work
from tests.random_rail import Draft

__all__ = [
    "MAKERS",
    "SetUp",
    "draw_vehicles",
    "draw_work",
    "end_of_locomotive",
    "item_of",
    "place_vehicles",
]


@dataclass
class SetUp:
    """Vehicles, start and work that are being drawn for a district."""

    random: Random
    draft: Draft
    wanted: set[str]
    cars: list[Car] = field(default_factory=list)
    locomotives: list[Locomotive] = field(default_factory=list)
    rows: dict[str, list[str]] = field(default_factory=dict)
    """Who stands on each track, in order."""
    items: list[Item] = field(default_factory=list)
    marked: set[str] = field(default_factory=set)

    @property
    def vehicles(self) -> list[Vehicle]:
        """Locomotives first, they need room to move."""
        return [*self.locomotives, *self.cars]

    def length(self, name: str) -> int:
        """Length of a vehicle."""
        return next(vehicle.length for vehicle in self.vehicles if vehicle.name == name)

    def room(self, track: str) -> int:
        """What is free on a track, if a gap is left between all that stands there."""
        row = self.rows.get(track, [])
        return self.draft.tracks[track].length - sum(self.length(name) for name in row)

    def home(self, name: str) -> str:
        """Where a vehicle starts."""
        return next(track for track, row in self.rows.items() if name in row)


def draw_vehicles(up: SetUp) -> None:
    random = up.random
    two = "two locomotives" in up.wanted
    count = 4 if "four cars" in up.wanted and not two else random.choice((2, 2, 3) if two else (2, 3, 3, 3))
    lengths = random.choice(((1, 2), (1, 2), (1, 1, 2, 3))) if "mixed lengths" in up.wanted else (1,)
    up.cars = [
        Car(f"c{n}", random.choice(lengths), random.choice(("box", "tank"))) for n in range(1, count + 1)
    ]
    if "dead locomotive" in up.wanted:
        up.cars[0] = replace(up.cars[0], is_dead_locomotive=True)
    for name in ("A", "B")[: 2 if two else 1]:
        rear_only = "rear only" in up.wanted and name == "A"
        up.locomotives.append(Locomotive(name, random.choice((1, 1, max(lengths))), rear_only))


def place_vehicles(up: SetUp) -> bool:
    """Gives every vehicle a track; ``False`` if there is no room."""
    up.rows = {}
    tracks = list(up.draft.tracks)
    for vehicle in up.vehicles:
        fitting = [track for track in tracks if up.room(track) >= vehicle.length]
        if not fitting:
            return False
        roomy = [track for track in fitting if up.room(track) > vehicle.length]
        track = up.random.choice(roomy if roomy and isinstance(vehicle, Locomotive) else fitting)
        up.rows.setdefault(track, []).insert(up.random.randint(0, len(up.rows.get(track, []))), vehicle.name)
    return True


def draw_work(up: SetUp) -> None:
    """An item for most cars, with a liking for tracks that others stand on (that is the hard work)."""
    random, draft = up.random, up.draft
    crowded = [track for track in up.rows if any(name.startswith("c") for name in up.rows[track])]
    left = {track.name: track.length for track in draft.tracks.values()}
    for car in random.sample(up.cars, len(up.cars)):
        if random.random() < 0.12:
            up.items += random.choice(([], [Hold(car.name)], [Free(car.name)]))
            continue
        away = [t for t in left if t != up.home(car.name) and left[t] >= car.length]
        if not away:
            up.items.append(Free(car.name))
            continue
        liked = [track for track in away if track in crowded]
        choice = random.choice(liked) if liked and random.random() < 0.75 else random.choice(away)
        left[choice] -= car.length
        places = [Place(choice)]
        if random.random() < 0.08 and len(away) > 1:
            places.append(Place(random.choice([track for track in away if track != choice])))
        up.items.append(EndsIn(car.name, tuple(places)))


def item_of(up: SetUp, car: str) -> Item | None:
    return Work(tuple(up.items)).of_car(car)


def end_of_locomotive(up: SetUp) -> None:
    random = up.random
    if random.random() < 0.45:
        locomotive = random.choice(up.locomotives)
        fitting = [name for name, track in up.draft.tracks.items() if track.length >= locomotive.length]
        track = up.home(locomotive.name) if random.random() < 0.5 else random.choice(fitting)
        turn = 0.6 if up.draft.features & {"wye or balloon", "table"} else 0.1
        heads = random.choice(("from", "to")) if random.random() < turn else None
        up.items.append(LocomotiveEnds(locomotive.name, track, heads))


# -- features ----------------------------------------------------------------------------------------


def _mark_part(up: SetUp, marks: Marks, *, whole: float, seam_only: bool = False) -> bool:
    """Gives ``marks`` to one piece of a plain track, behind a new seam or the whole of it."""
    plain = [
        track for track in up.draft.tracks.values() if len(track.parts) == 1 and track.name not in up.marked
    ]
    if marks.no_locomotives:
        engines = {up.home(locomotive.name) for locomotive in up.locomotives}
        plain = [track for track in plain if track.name not in engines or track.length > 2]
    if seam_only:
        plain = [track for track in plain if track.length > 1]
    if not plain:
        return False
    busy = [t for t in plain if t.name in up.rows or any(_goes_to(item, t.name) for item in up.items)]
    track = up.random.choice(busy or plain)
    up.marked.add(track.name)
    if track.length == 1 or (not seam_only and up.random.random() < whole):
        parts: tuple[Part, ...] = (Part(track.length, marks),)
    else:
        first = up.random.randint(1, track.length - 1)
        parts = (Part(first), Part(track.length - first, marks))
        if up.random.random() < 0.5:
            parts = (Part(track.length - first, marks), Part(first))
    up.draft.tracks[track.name] = replace(track, parts=parts)
    return True


def _goes_to(item: Item, track: str) -> bool:
    return isinstance(item, EndsIn) and any(place.track == track for place in item.places)


def _mark_junction(up: SetUp, marks: Marks) -> bool:
    junction = up.random.choice(list(up.draft.junctions.values()))
    if junction.marks != Marks():
        return False
    up.draft.junctions[junction.name] = replace(junction, marks=marks)
    return True


def _closed(up: SetUp) -> bool:
    return _mark_part(up, Marks(no_locomotives=True), whole=0.5)


def _keep_clear(up: SetUp) -> bool:
    always = KeepClear.ALWAYS if up.random.random() < 0.7 else KeepClear.AT_END
    if up.random.random() < 0.35:
        return _mark_junction(up, Marks(keep_clear=always)) or _mark_part(
            up, Marks(keep_clear=always), whole=0
        )
    return _mark_part(up, Marks(keep_clear=always), whole=0.1, seam_only=True)


def _barred(up: SetUp) -> bool:
    marks = Marks(barred=frozenset({up.random.choice(("box", "tank"))}))
    return _mark_junction(up, marks) if up.random.random() < 0.3 else _mark_part(up, marks, whole=0.4)


def _limits(up: SetUp) -> bool:
    choice = up.random.random()
    if choice < 0.4:
        limits = Limits(most_cars=up.random.choice((1, 1, 2)))
    elif choice < 0.65:
        limits = Limits(longest=max(car.length for car in up.cars) + up.random.choice((0, 0, 1)))
    else:
        limits = Limits(most_shoved=up.random.choice((0, 1, 1)))
    if up.random.random() < 0.55:
        up.draft.limits = limits
        return True
    marks = Marks(limits=limits)
    return _mark_junction(up, marks) if up.random.random() < 0.5 else _mark_part(up, marks, whole=0.5)


def _do_not_touch(up: SetUp) -> bool:
    """One car stands fixed; the rest of the row keeps its order."""
    car = up.random.choice(up.cars)
    item = item_of(up, car.name)
    if isinstance(item, Train) or car.is_dead_locomotive:
        return False
    up.items = [other for other in up.items if other is not item]
    up.items.append(DoNotTouch(car.name))
    return True


def _spots(up: SetUp) -> bool:
    """Spots on a track that a car goes to, and the car at one of them."""
    items = [item for item in up.items if isinstance(item, EndsIn)]
    if not items:
        return False
    item = up.random.choice(items)
    track = up.draft.tracks[item.places[0].track]
    ats = sorted(up.random.sample(range(track.length + 1), min(2, track.length + 1)))
    up.draft.tracks[track.name] = replace(track, spots=tuple(Spot(str(n), at) for n, at in enumerate(ats, 1)))
    spotted = EndsIn(item.car, (Place(track.name, str(up.random.randint(1, len(ats)))), *item.places[1:]))
    up.items[up.items.index(item)] = spotted
    return True


def _train(up: SetUp) -> bool:
    """One locomotive leaves with some of the cars, made up as asked."""
    random = up.random
    locomotive = random.choice(up.locomotives)
    cars = random.sample(up.cars, random.randint(1, min(3, len(up.cars))))
    length = locomotive.length + sum(car.length for car in cars)
    fitting = [track.name for track in up.draft.tracks.values() if track.length >= length]
    if not fitting:
        return False
    names = [car.name for car in cars]
    up.items = [item for item in up.items if getattr(item, "car", "") not in names]
    cut = random.randint(1, len(names))
    blocks = (frozenset(names[:cut]), *((frozenset(names[cut:]),) if cut < len(names) else ()))
    up.items.append(
        Train(
            locomotive.name,
            random.choice(fitting),
            frozenset(names),
            random.choice((None, "from", "to")),
            random.choice(((), blocks)),
            random.choice((None, names[-1])),
        )
    )
    return True


def _any_cars(up: SetUp) -> bool:
    kind = up.random.choice(up.cars).kind
    cars = [
        car
        for car in up.cars
        if car.kind == kind and not isinstance(item_of(up, car.name), DoNotTouch | Train)
    ]
    if not cars:
        return False
    count = up.random.randint(1, len(cars))
    fitting = [
        t.name for t in up.draft.tracks.values() if t.length >= count * min(car.length for car in cars)
    ]
    if not fitting:
        return False
    names = {car.name for car in cars}
    up.items = [item for item in up.items if getattr(item, "car", "") not in names]
    up.items.append(AnyCars(kind, count, Place(up.random.choice(fitting))))
    return True


MAKERS = {
    "train made up": _train,
    "do not touch": _do_not_touch,
    "any cars": _any_cars,
    "spots": _spots,
    "closed": _closed,
    "keep clear": _keep_clear,
    "limits": _limits,
    "barred": _barred,
}
