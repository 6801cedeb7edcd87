"""Random small districts, the same for the same seed; for tests only.

A district is grown: a base (a fan, an oval, a wye, ...) with open ends, some turnouts more, and a short track at every
end that is still open.  Bases and features are dealt out, not diced: each block of twenty seeds holds each of
them a fixed number of times, so that every two hundred seeds in a row hold their share of all.
Lengths are small whole numbers, one grid unit to the unit, so that brute force can give the true minimum.

``python -m tests.random_districts --count 200 --seed 0`` prints what was drawn, and how hard it is.
"""

from __future__ import annotations

import argparse
import sys
import time
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from random import Random

from switchsolve.district import (
    District,
    End,
    Junction,
    KeepClear,
    Limits,
    Marks,
    Part,
    Route,
    Spot,
    Table,
    Track,
)
from switchsolve.puzzle import Puzzle, Start, StartString
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
from tests.brute_force import TooManyStates, brute_minimum, can_start

__all__ = ["Drawn", "draw_table", "random_puzzle"]

_BLOCK = 20
_BASES = (
    ["oval"] * 4
    + ["wye"] * 2
    + ["balloon"] * 2
    + ["crossing", "slip", "double crossover"]
    + ["run-around"] * 3
    + ["chain"] * 3
    + ["fan", "three-way", "table"]
)
_SHARES = {
    "two locomotives": 4,
    "closed": 4,
    "keep clear": 4,
    "do not touch": 3,
    "limits": 4,
    "mixed lengths": 8,
    "rear only": 2,
    "spots": 3,
    "train made up": 3,
    "barred": 2,
    "any cars": 2,
    "dead locomotive": 1,
    "under way": 8,
    "four cars": 3,
}
"""How many of each block of twenty have the feature."""
_MOST = 2_000_000
"""Bound on units of rail to the power of the vehicles: keeps brute force affordable."""


def _dealt(seed: int) -> tuple[str, set[str]]:
    """Base and features of a seed."""
    block, index = divmod(seed, _BLOCK)
    deck = list(_BASES)
    Random(f"bases {block}").shuffle(deck)
    features = set()
    for name, share in _SHARES.items():
        if index in Random(f"{name} {block}").sample(range(_BLOCK), share):
            features.add(name)
    return deck[index], features


# -- districts ------------------------------------------------------------------------------------------------


@dataclass
class _Draft:
    """A district that is being drawn."""

    random: Random
    tracks: dict[str, Track] = field(default_factory=dict)
    junctions: dict[str, Junction] = field(default_factory=dict)
    tables: dict[str, Table] = field(default_factory=dict)
    links: list[tuple[End, End]] = field(default_factory=list)
    open: list[End] = field(default_factory=list)
    features: set[str] = field(default_factory=set)
    limits: Limits = Limits()

    def district(self) -> District:
        """The district as drawn so far."""
        parts = (self.tracks, self.junctions, self.tables)
        tracks, junctions, tables = (tuple(part.values()) for part in parts)
        return District(tracks, junctions, tables, tuple(self.links), self.limits)  # type: ignore[arg-type]

    def units(self) -> int:
        """Units of rail."""
        routes = sum(route.length for junction in self.junctions.values() for route in junction.routes)
        tables = sum(table.length for table in self.tables.values())
        return routes + tables + sum(track.length for track in self.tracks.values())

    def junction(self, kind: str, pairs: Sequence[tuple[str, str]], compatible: Sequence[Sequence[int]] = ()) -> str:
        """A new junction, all its ends open; its name."""
        name = f"J{len(self.junctions) + 1}"
        common = self.random.choice((1, 1, 1, 2))
        routes = tuple(Route(a, b, self._route_length(common)) for a, b in pairs)
        ends = tuple(dict.fromkeys(end for pair in pairs for end in pair))
        sets = frozenset(frozenset(pair) for pair in compatible)
        self.junctions[name] = Junction(name, kind, ends, routes, sets)
        self.open += [End(name, end) for end in ends]
        return name

    def _route_length(self, common: int) -> int:
        return self.random.randint(1, 3) if self.random.random() < 0.15 else common

    def turnout(self) -> str:
        """A new turnout."""
        return self.junction("turnout", (("points", "straight"), ("points", "diverging")))

    def track(self, length: int, *ends: End) -> str:
        """A new track between the one or two ``ends``."""
        name = f"T{len(self.tracks) + 1}"
        self.tracks[name] = Track(name, (Part(length),))
        own = [End(name, "from"), End(name, "to")]
        self.random.shuffle(own)
        for end in ends:
            self.link(end, own.pop())
        return name

    def link(self, one: End, other: End) -> None:
        """The two ends meet."""
        self.links.append((one, other))
        self.open = [end for end in self.open if end not in (one, other)]

    def join(self, one: str, other: str, direct: float = 0.25) -> None:
        """Joins two ends (``"J1.points"``) through a track, or now and then directly."""
        ends = [End(*text.split(".")) for text in (one, other)]
        if ends[0].place != ends[1].place and self.random.random() < direct:
            self.link(*ends)
            self.features.add("crossing or back-to-back")
        else:
            self.track(self.random.randint(1, 3), *ends)

    def attach(self, name: str, end: str) -> None:
        """Puts the junction just made, by its ``end``, to an end that was open before."""
        free = [other for other in self.open if other.place != name]
        other = self.random.choice(free)
        self.join(f"{other.place}.{other.end}", f"{name}.{end}", direct=0.15)


def _base(draft: _Draft, base: str) -> None:
    """Draws the base, with open ends."""
    {
        "oval": _oval,
        "wye": _wye,
        "balloon": _balloon,
        "crossing": _crossing,
        "slip": _crossing,
        "double crossover": _crossing,
        "run-around": _run_around,
        "chain": _chain,
        "fan": _fan,
        "three-way": _three_way,
        "table": _table,
    }[base](draft, base)


def _oval(draft: _Draft, base: str) -> None:
    draft.features.add("oval")
    one = draft.turnout()
    if draft.random.random() < 0.5:
        draft.track(draft.random.randint(3, 7), End(one, "points"), End(one, "straight"))
        return
    other = draft.turnout()
    draft.track(draft.random.randint(2, 4), End(one, "points"), End(other, "points"))
    draft.track(draft.random.randint(1, 4), End(one, "straight"), End(other, "straight"))


def _wye(draft: _Draft, base: str) -> None:
    draft.features.add("wye or balloon")
    one, other, third = draft.turnout(), draft.turnout(), draft.turnout()
    draft.join(f"{one}.straight", f"{other}.straight", 0.5)
    draft.join(f"{one}.diverging", f"{third}.diverging", 0.5)
    draft.join(f"{other}.diverging", f"{third}.straight", 0.5)


def _balloon(draft: _Draft, base: str) -> None:
    draft.features.add("wye or balloon")
    one = draft.turnout()
    draft.track(draft.random.randint(2, 6), End(one, "straight"), End(one, "diverging"))


def _crossing(draft: _Draft, base: str) -> None:
    draft.features.add("crossing or back-to-back")
    pairs = [("a", "b"), ("c", "d")]
    compatible: list[tuple[int, int]] = []
    if base == "slip":
        pairs += [("a", "d"), ("c", "b")][: draft.random.choice((1, 1, 2))]
    if base == "double crossover":
        pairs += [("a", "d"), ("c", "b")]
        compatible = [(0, 1)]
    name = draft.junction(base, pairs, compatible)
    throat = draft.turnout()
    draft.join(f"{throat}.straight", f"{name}.a", 0.5)
    draft.join(f"{throat}.diverging", f"{name}.c", 0.5)


def _run_around(draft: _Draft, base: str) -> None:
    draft.features.add("run-around")
    one, other = draft.turnout(), draft.turnout()
    draft.track(draft.random.randint(1, 4), End(one, "straight"), End(other, "straight"))
    draft.join(f"{one}.diverging", f"{other}.diverging", 0.15)


def _chain(draft: _Draft, base: str) -> None:
    draft.features.add("chain")
    draft.turnout()
    for _ in range(draft.random.choice((1, 1, 2))):
        draft.attach(draft.turnout(), draft.random.choice(("points", "straight", "straight")))


def _fan(draft: _Draft, base: str) -> None:
    draft.features.add("fan")
    draft.turnout()
    for _ in range(draft.random.choice((1, 2))):
        draft.attach(draft.turnout(), "points")


def _three_way(draft: _Draft, base: str) -> None:
    draft.features.add("three-way")
    draft.junction("three-way", [("points", leg) for leg in ("left", "middle", "right")])


def _table(draft: _Draft, base: str) -> None:
    """A transfer table or a turntable that joins two or three tracks, one of them with a turnout behind it."""
    draft.features.add("table")
    draft.turnout()
    names = [draft.track(draft.random.randint(1, 3), draft.open[0])]
    names += [draft.track(draft.random.randint(1, 3)) for _ in range(draft.random.choice((1, 2)))]
    used = {end for link in draft.links for end in link}
    ends = [next(end for end in (End(n, "from"), End(n, "to")) if end not in used) for n in names]
    turns = draft.random.random() < 0.6
    first = [("from", end) for end in ends]
    meets = first + [("to", end) for end in ends] if turns else [("from", ends[0]), *(("to", e) for e in ends[1:])]
    kind = "turntable" if turns else "transfer table"
    draft.tables["table"] = Table("table", kind, draft.random.randint(2, 3), tuple(meets))


def _grow(draft: _Draft) -> None:
    """A turnout more, where there is rail to spare, and a track at every end that is open."""
    if draft.random.random() < 0.35 and len(draft.junctions) < 3 and draft.open:
        draft.attach(draft.turnout(), draft.random.choice(("points", "straight", "diverging")))
    ends = list(draft.open)
    draft.random.shuffle(ends)
    ends.sort(key=lambda end: end.end != "points")
    for number, end in enumerate(ends):
        lead = number == 0 or end.end == "points"
        draft.track(draft.random.choice((2, 3, 4, 4, 5) if lead else (1, 1, 2, 2, 2, 3)), end)


# -- vehicles, start and work ------------------------------------------------------------------------------------


@dataclass
class _SetUp:
    """Vehicles, start and work that are being drawn for a district."""

    random: Random
    draft: _Draft
    wanted: set[str]
    cars: list[Car] = field(default_factory=list)
    locomotives: list[Locomotive] = field(default_factory=list)
    rows: dict[str, list[str]] = field(default_factory=dict)
    """Who stands on each track, in order."""
    items: list[Item] = field(default_factory=list)
    marked: set[str] = field(default_factory=set)

    def length(self, name: str) -> int:
        """Length of a vehicle."""
        return next(v.length for v in [*self.cars, *self.locomotives] if v.name == name)

    def room(self, track: str) -> int:
        """What is free on a track, if a gap is left between all that stands there."""
        row = self.rows.get(track, [])
        return self.draft.tracks[track].length - sum(self.length(name) for name in row)

    def home(self, name: str) -> str:
        """Where a vehicle starts."""
        return next(track for track, row in self.rows.items() if name in row)


def _draw_vehicles(up: _SetUp) -> None:
    random = up.random
    two = "two locomotives" in up.wanted
    count = 4 if "four cars" in up.wanted and not two else random.choice((2, 2, 3) if two else (2, 3, 3, 3))
    lengths = random.choice(((1, 2), (1, 2), (1, 1, 2, 3))) if "mixed lengths" in up.wanted else (1,)
    up.cars = [Car(f"c{n}", random.choice(lengths), random.choice(("box", "tank"))) for n in range(1, count + 1)]
    if "dead locomotive" in up.wanted:
        up.cars[0] = replace(up.cars[0], is_dead_locomotive=True)
    for name in ("A", "B")[: 2 if two else 1]:
        rear_only = "rear only" in up.wanted and name == "A"
        up.locomotives.append(Locomotive(name, random.choice((1, 1, max(lengths))), rear_only))


def _place_vehicles(up: _SetUp) -> bool:
    """Gives every vehicle a track; ``False`` if there is no room."""
    up.rows = {}
    tracks = list(up.draft.tracks)
    for vehicle in [*up.locomotives, *up.cars]:
        fitting = [track for track in tracks if up.room(track) >= vehicle.length]
        if not fitting:
            return False
        roomy = [track for track in fitting if up.room(track) > vehicle.length]
        track = up.random.choice(roomy if roomy and isinstance(vehicle, Locomotive) else fitting)
        up.rows.setdefault(track, []).insert(up.random.randint(0, len(up.rows.get(track, []))), vehicle.name)
    return True


def _draw_work(up: _SetUp) -> None:
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


def _item_of(up: _SetUp, car: str) -> Item | None:
    return Work(tuple(up.items)).of_car(car)


def _end_of_locomotive(up: _SetUp) -> None:
    random = up.random
    if random.random() < 0.45:
        locomotive = random.choice(up.locomotives)
        fitting = [name for name, track in up.draft.tracks.items() if track.length >= locomotive.length]
        track = up.home(locomotive.name) if random.random() < 0.5 else random.choice(fitting)
        turn = 0.6 if up.draft.features & {"wye or balloon", "table"} else 0.1
        heads = random.choice(("from", "to")) if random.random() < turn else None
        up.items.append(LocomotiveEnds(locomotive.name, track, heads))


# -- features ------------------------------------------------------------------------------------------------------


def _mark_part(up: _SetUp, marks: Marks, *, whole: float, seam_only: bool = False) -> bool:
    """Gives ``marks`` to one piece of a plain track, behind a new seam or the whole of it."""
    plain = [track for track in up.draft.tracks.values() if len(track.parts) == 1 and track.name not in up.marked]
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


def _mark_junction(up: _SetUp, marks: Marks) -> bool:
    junction = up.random.choice(list(up.draft.junctions.values()))
    if junction.marks != Marks():
        return False
    up.draft.junctions[junction.name] = replace(junction, marks=marks)
    return True


def _closed(up: _SetUp) -> bool:
    return _mark_part(up, Marks(no_locomotives=True), whole=0.5)


def _keep_clear(up: _SetUp) -> bool:
    always = KeepClear.ALWAYS if up.random.random() < 0.7 else KeepClear.AT_END
    if up.random.random() < 0.35:
        return _mark_junction(up, Marks(keep_clear=always)) or _mark_part(up, Marks(keep_clear=always), whole=0)
    return _mark_part(up, Marks(keep_clear=always), whole=0.1, seam_only=True)


def _barred(up: _SetUp) -> bool:
    marks = Marks(barred=frozenset({up.random.choice(("box", "tank"))}))
    return _mark_junction(up, marks) if up.random.random() < 0.3 else _mark_part(up, marks, whole=0.4)


def _limits(up: _SetUp) -> bool:
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


def _do_not_touch(up: _SetUp) -> bool:
    """One car stands fixed; the rest of the row keeps its order."""
    car = up.random.choice(up.cars)
    item = _item_of(up, car.name)
    if isinstance(item, Train) or car.is_dead_locomotive:
        return False
    up.items = [other for other in up.items if other is not item]
    up.items.append(DoNotTouch(car.name))
    return True


def _spots(up: _SetUp) -> bool:
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


def _train(up: _SetUp) -> bool:
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
        Train(locomotive.name, random.choice(fitting), frozenset(names),
              random.choice((None, "from", "to")), random.choice(((), blocks)),
              random.choice((None, names[-1])))  # fmt: skip
    )
    return True


def _any_cars(up: _SetUp) -> bool:
    kind = up.random.choice(up.cars).kind
    cars = [car for car in up.cars if car.kind == kind and not isinstance(_item_of(up, car.name), DoNotTouch | Train)]
    if not cars:
        return False
    count = up.random.randint(1, len(cars))
    fitting = [t.name for t in up.draft.tracks.values() if t.length >= count * min(car.length for car in cars)]
    if not fitting:
        return False
    names = {car.name for car in cars}
    up.items = [item for item in up.items if getattr(item, "car", "") not in names]
    up.items.append(AnyCars(kind, count, Place(up.random.choice(fitting))))
    return True


_MAKERS = {
    "train made up": _train,
    "do not touch": _do_not_touch,
    "any cars": _any_cars,
    "spots": _spots,
    "closed": _closed,
    "keep clear": _keep_clear,
    "limits": _limits,
    "barred": _barred,
}


# -- putting together ----------------------------------------------------------------------------------------------


def _strings(up: _SetUp) -> tuple[StartString, ...]:
    """The rows as strings: neighbours coupled or not as the dice fall, a car not to be touched by itself."""
    strings = []
    for track, row in up.rows.items():
        groups: list[list[str]] = []
        for name in row:
            apart = up.random.random() < 0.4 or not groups
            if apart or any(isinstance(_item_of(up, n), DoNotTouch) for n in (name, groups[-1][-1])):
                groups.append([name])
            else:
                groups[-1].append(name)
        strings += [StartString(track, tuple(group)) for group in groups]
    return tuple(string if not _fixed(up, string) else _fix(up, string) for string in strings)


def _fixed(up: _SetUp, string: StartString) -> bool:
    return isinstance(_item_of(up, string.vehicles[0]), DoNotTouch)


def _fix(up: _SetUp, string: StartString) -> StartString:
    row = up.rows[string.track]
    before = sum(up.length(name) for name in row[: row.index(string.vehicles[0])])
    after = sum(up.length(name) for name in row[row.index(string.vehicles[0]) :])
    last = max(before, up.draft.tracks[string.track].length - after)
    return replace(string, fixed_at=up.random.randint(before, last))


def _start(up: _SetUp) -> Start:
    heads = {locomotive.name: up.random.choice(("from", "to")) for locomotive in up.locomotives}
    under_way = {}
    if "under way" in up.wanted:
        under_way = {name: up.random.choice(("from", "to")) for name in heads}
    return Start(_strings(up), heads, under_way)


def _rear_only_coupled(up: _SetUp, start: Start) -> bool:
    """A locomotive whose front does not couple stands coupled at its front."""
    for locomotive in up.locomotives:
        for string in start.strings:
            if locomotive.rear_only and locomotive.name in string.vehicles:
                outer = string.vehicles[-1 if start.heads[locomotive.name] == "to" else 0]
                return outer != locomotive.name
    return False


def random_puzzle(seed: int) -> tuple[Puzzle, frozenset[str]]:
    """A small puzzle, and the names of the features in it.  The same for the same ``seed`` >= 0."""
    base, wanted = _dealt(seed)
    attempt = 0
    while True:
        drawn = _attempt(Random(f"{seed} {attempt}"), base, wanted)
        if drawn is not None:
            return drawn
        attempt += 1


def _attempt(random: Random, base: str, wanted: set[str]) -> tuple[Puzzle, frozenset[str]] | None:
    draft = _Draft(random)
    _base(draft, base)
    _grow(draft)
    up = _SetUp(random, draft, wanted)
    _draw_vehicles(up)
    vehicles = len(up.cars) + len(up.locomotives) - ("do not touch" in wanted)
    if len(draft.tracks) < 3 or draft.units() ** vehicles > _MOST or not _place_vehicles(up):
        return None
    _draw_work(up)
    if not all(make(up) for name, make in _MAKERS.items() if name in wanted):
        return None
    _end_of_locomotive(up)
    return _finished(up)


def _finished(up: _SetUp) -> tuple[Puzzle, frozenset[str]] | None:
    start = _start(up)
    if _rear_only_coupled(up, start):
        return None
    puzzle = Puzzle(
        up.draft.district(), tuple(up.cars), tuple(up.locomotives), start, Work(tuple(up.items)), unit="unit", grid=1
    )
    if not can_start(puzzle):
        return None
    return puzzle, frozenset(_features(up, puzzle))


def _features(up: _SetUp, puzzle: Puzzle) -> set[str]:
    """What is really in the puzzle: dealt, or come about by the drawing."""
    features = up.draft.features | (up.wanted - {"mixed lengths", "four cars"})
    if len({car.length for car in puzzle.cars}) > 1:
        features.add("mixed lengths")
    if any(len(track.parts) > 1 for track in puzzle.district.tracks):
        features.add("seams")
    if any(junction.kind in ("crossing", "slip") for junction in puzzle.district.junctions):
        features.add("crossing or back-to-back")
    return features


# -- what was drawn ------------------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Drawn:
    """One seed: its features, its minimum in moves (``None``: impossible), its locomotives, and the time it took."""

    seed: int
    features: frozenset[str]
    moves: int | None
    locomotives: int
    seconds: float = 0.0

    @property
    def reversals(self) -> int | None:
        """Least number of reversals that so many moves stand for."""
        return None if self.moves is None else max(0, self.moves - self.locomotives)


def draw_table(rows: Sequence[Drawn]) -> str:
    """What was drawn, with shares, and how the minima are spread."""
    counts = Counter(feature for row in rows for feature in row.features)
    counts["impossible"] = sum(row.moves is None for row in rows)
    counts["six reversals or more"] = sum((row.reversals or 0) >= 6 for row in rows)
    lines = [f"{'feature':<28}{'drawn':>7}{'share':>8}"]
    lines += [f"{name:<28}{counts[name]:>7}{counts[name] / len(rows):>8.1%}" for name in sorted(counts)]
    lines += ["", f"{'minimum, moves':<28}{'drawn':>7}{'share':>8}"]
    minima = Counter(-1 if row.moves is None else row.moves for row in rows)
    for moves in sorted(minima):
        name = "impossible" if moves < 0 else str(moves)
        lines.append(f"{name:<28}{minima[moves]:>7}{minima[moves] / len(rows):>8.1%}")
    return "\n".join(lines)


def _draw(seeds: range, most_states: int) -> list[Drawn]:
    rows = []
    for seed in seeds:
        begun = time.perf_counter()
        puzzle, features = random_puzzle(seed)
        try:
            moves = brute_minimum(puzzle, most_states=most_states)
        except TooManyStates:
            print(f"seed {seed}: more than {most_states} standings, left out", file=sys.stderr)
            continue
        rows.append(Drawn(seed, features, moves, len(puzzle.locomotives), time.perf_counter() - begun))
        if len(rows) % 20 == 0:
            print(f"{len(rows)} of {len(seeds)}, {sum(row.seconds for row in rows):.1f} s", file=sys.stderr)
    return rows


def main() -> None:
    """The command."""
    parser = argparse.ArgumentParser(description="random small districts: what is drawn, and how hard it is")
    parser.add_argument("--count", type=int, default=200)
    parser.add_argument("--seed", type=int, default=0)
    parser.add_argument("--most-states", type=int, default=5_000_000)
    given = parser.parse_args()
    rows = _draw(range(given.seed, given.seed + given.count), given.most_states)
    slowest = sorted(rows, key=lambda row: -row.seconds)[:5]
    print(draw_table(rows))
    print("\nslowest:", ", ".join(f"seed {row.seed} {row.seconds:.1f} s" for row in slowest))


if __name__ == "__main__":
    main()
