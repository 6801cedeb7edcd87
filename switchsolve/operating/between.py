"""Between two sessions: the world unloads and loads, industries ask for cars, the host makes up trains.

Loads that have arrived in the world are unloaded; then empty cars are loaded, of each kind as many as are
short of the number that the file keeps ready.  What stands on a float leaves with it, and it brings what is
wanted.  An industry asks for a car only if there will be a place for it.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import replace

from switchsolve.layout import FREIGHT, PASSENGER, SWITCHER, TrainPlan
from switchsolve.operating.railroad import Order, Railroad
from switchsolve.operating.records import FAR_SHORE, Moved, Played, Shortage, Waited, Where
from switchsolve.timetable.routes import longest_train
from switchsolve.traffic.draws import asked_for

__all__ = ["prepare"]


def prepare(railroad: Railroad, played: Played, helps: bool) -> dict[str, tuple[str, list[str]]]:
    """Everything before session ``played.number``; returns for each train that can leave staging its track
    and its cars.  ``helps``: the host also carries cars from one place of the world to another."""
    _floats_leave(railroad, played)
    _world(railroad)
    _industries_are_done(railroad, played.number)
    _ask(railroad, played)
    _fill_orders(railroad, played, helps)
    _floats_come(railroad, played)
    return _make_up(railroad, played)


def _world(railroad: Railroad) -> None:
    """Arrived loads are unloaded, then empty cars are loaded, up to what is kept ready."""
    for place, stock in railroad.layout.stocks():
        idle = [name for name in railroad.in_world(place) if railroad.cars[name].bound is None]
        for name in idle:
            railroad.cars[name] = replace(railroad.cars[name], is_loaded=False)
        for kind, number in stock.items():
            of_kind = [name for name in idle if railroad.cars[name].kind == kind]
            for name in of_kind[: number.loaded]:
                railroad.cars[name] = replace(railroad.cars[name], is_loaded=True)


def _industries_are_done(railroad: Railroad, session: int) -> None:
    """A car whose time is over has been loaded or unloaded, and is bound for the world."""
    for name, state in railroad.districts.items():
        for one in state.due(session):
            car = railroad.cars[one.name]
            if not state.place.is_float and car.bound is not None and car.bound.place == name:
                to = Where(state.place.flow(one.track, car.kind).to)
                railroad.cars[one.name] = replace(car, is_loaded=not car.is_loaded, bound=to)


def _ask(railroad: Railroad, played: Played) -> None:
    """The cars that industries ask for in this session."""
    for number, (name, state) in enumerate(railroad.districts.items()):
        for index, item in enumerate(state.traffic.industries if not state.place.is_float else ()):
            where = Where(name, item.track)
            due = {one.name for one in state.due(played.number)}
            standing = [one for one in state.standing if one.track == item.track and one.name not in due]
            coming = [car for car in railroad.cars.values() if car.bound == where]
            under_way = [car for car in coming if railroad.where[car.name] != where]
            waiting = [order for order in railroad.orders if order.where == where]
            room = len(state.spots(item.track)) - len(standing) - len(under_way) - len(waiting)
            key = (railroad.seed, number, played.number, index)
            asked = asked_for(item, len(railroad.roads), *key)
            played.turned_away += max(0, len(asked) - max(0, room))
            for one in asked[: max(0, room)]:
                flow = state.place.flow(item.track, one.kind)
                order = Order(where, one.kind, one.stay, flow.comes == "loaded", flow.origin, played.number)
                railroad.orders.append(order)


def _fill_orders(railroad: Railroad, played: Played, helps: bool) -> None:
    """Each order gets a car that stands at its origin, the first that is there; else it waits."""
    short: Counter[tuple[str, str, bool]] = Counter()
    left = []
    for order in railroad.orders:
        name = _found(railroad, order, order.origin)
        if name is None and helps:
            name = _carried(railroad, played, order)
        if name is None:
            short[order.origin, order.kind, order.is_loaded] += 1
            left.append(order)
        else:
            car = railroad.cars[name]
            railroad.cars[name] = replace(car, bound=order.where, stay=order.stay)
    railroad.orders = left
    played.shortages += [Shortage(*key, count) for key, count in short.items()]


def _found(railroad: Railroad, order: Order, place: str) -> str | None:
    for name in railroad.in_world(place):
        car = railroad.cars[name]
        if car.bound is None and (car.kind, car.is_loaded) == (order.kind, order.is_loaded):
            return name
    return None


def _carried(railroad: Railroad, played: Played, order: Order) -> str | None:
    """The host carries a car of the kind from another place, and loads or empties it if need be."""
    for place, _ in railroad.layout.stocks():
        for name in railroad.in_world(place) if place != order.origin else ():
            car = railroad.cars[name]
            if car.bound is None and car.kind == order.kind and _put(railroad, played, name, order.origin):
                railroad.cars[name] = replace(car, is_loaded=order.is_loaded)
                return name
    return None


def _put(railroad: Railroad, played: Played, name: str, place: str) -> bool:
    """Carry a car to another place of the world; whether there was room."""
    source, target = railroad.where[name], Where(place, FAR_SHORE)
    if place in railroad.staging:
        track = railroad.staging[place].best_track(railroad.lengths[name])
        if track is None:
            return False
        target = Where(place, track)
        railroad.staging[place].cars[track].append(name)
    if source.place in railroad.staging:
        railroad.staging[source.place].cars[source.track].remove(name)
    _move(railroad, played, Moved(name, source, target, by_hand=True))
    return True


def _floats_leave(railroad: Railroad, played: Played) -> None:
    """Cars bound for a float that stand on it leave; they are at the far shore from now on."""
    for name, state in railroad.districts.items():
        for one in list(state.standing) if state.place.is_float else ():
            car = railroad.cars[one.name]
            if car.bound == Where(name):
                state.standing.remove(one)
                railroad.cars[one.name] = replace(car, bound=None)
                _move(railroad, played, Moved(one.name, Where(name, one.track), Where(name, FAR_SHORE)))


def _floats_come(railroad: Railroad, played: Played) -> None:
    """A float comes with the cars that are wanted, as many as it has places."""
    for name, state in railroad.districts.items():
        if not state.place.is_float:
            continue
        wanted = [car for car in railroad.in_world(name) if railroad.cars[car].bound is not None]
        coming = [replace(railroad.visitor(car, played.number), track="") for car in wanted]
        for one in state.placed(coming, ()):
            state.standing.append(one)
            _move(railroad, played, Moved(one.name, Where(name, FAR_SHORE), Where(name, one.track)))
        on_it = {one.name for one in state.standing}
        played.waited += [Waited(car, name, "no place on the float") for car in wanted if car not in on_it]


def _make_up(railroad: Railroad, played: Played) -> dict[str, tuple[str, list[str]]]:
    """The trains that leave staging, each with its track and its cars."""
    made: dict[str, tuple[str, list[str]]] = {}
    for train in railroad.layout.trains:
        origin, _ = train.ends(played.number)
        if train.kind == SWITCHER or origin not in railroad.staging:
            continue
        state = railroad.staging[origin]
        taken = [track for name, (track, _) in made.items() if _origin(railroad, name, played) == origin]
        track = state.ready(train, taken) or _set_carried(railroad, played, train, origin, taken)
        if track is None:
            played.annulled[train.name] = f"no track at {origin} has room for it"
            continue
        taken_cars = {car for _, row in made.values() for car in row}
        wanted = [] if train.kind == PASSENGER else _wanted(railroad, train, origin, taken_cars)
        consist, lifted = state.load(track, wanted)
        for car, source in lifted:
            now = Where(origin, state.track_of(car))
            _move(railroad, played, Moved(car, Where(origin, source), now, by_hand=True))
        made[train.name] = track, consist
    _who_waits(railroad, played, made)
    return made


def _who_waits(railroad: Railroad, played: Played, made: dict[str, tuple[str, list[str]]]) -> None:
    """Cars in staging that are wanted and that no train takes."""
    taken = {car for _, consist in made.values() for car in consist}
    for place, state in railroad.staging.items():
        freights = [one for one in railroad.layout.trains if one.kind == FREIGHT and one.name in made]
        leaves = any(one.ends(played.number)[0] == place for one in freights)
        why = "the freight has no room for more" if leaves else "no freight leaves there"
        late = [car for car in state.all_cars if railroad.cars[car].bound is not None and car not in taken]
        played.waited += [Waited(car, place, why) for car in late]


def _origin(railroad: Railroad, name: str, played: Played) -> str:
    train = next(one for one in railroad.layout.trains if one.name == name)
    return train.ends(played.number)[0]


def _wanted(railroad: Railroad, train: TrainPlan, origin: str, taken: set[str]) -> list[str]:
    """Cars of a place that are bound for the layout and not ``taken`` yet, as many as the train can have."""
    longest = longest_train(railroad.layout, train)
    chosen: list[str] = []
    for name in railroad.staging[origin].all_cars:
        if railroad.cars[name].bound is None or name in taken or len(chosen) == train.most_cars:
            continue
        length = sum(railroad.lengths[car] for car in (*chosen, name)) + train.equipment
        if longest is None or length <= longest:
            chosen.append(name)
    return chosen


def _set_carried(
    railroad: Railroad, played: Played, train: TrainPlan, origin: str, taken: list[str]
) -> str | None:
    """The host carries a set that can run the train from where one stands; ``None``: no room or no set."""
    for place, state in railroad.staging.items():
        if place == origin:
            continue
        for sets in state.sets.values():
            found = next((one for one in sets if one.kind == train.kind), None)
            target = railroad.staging[origin].best_track(train.equipment, taken)
            if found is not None and target is not None:
                sets.remove(found)
                railroad.staging[origin].sets[target].append(found)
                played.sets_by_hand += 1
                return target
    return None


def _move(railroad: Railroad, played: Played, moved: Moved) -> None:
    railroad.where[moved.car] = moved.target
    played.between.append(moved)
