"""One session: every train in the order of the file, every car from where it is to where it gets.

The yard works in this order, and so do the movements: for each train its cut is made up, a through freight's
cut is put away; last the cuts that locals bring home are put away, in the order of the file.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace

from switchsolve.layout import FREIGHT, LOCALS, PASSENGER, TrainPlan
from switchsolve.operating.asking import Asked, Asker
from switchsolve.operating.between import prepare
from switchsolve.operating.railroad import Railroad
from switchsolve.operating.records import ARRIVALS, Moved, Played, Waited, Where, WorkDone, YardTask
from switchsolve.operating.working import parted, why_left
from switchsolve.operating.world import Set
from switchsolve.puzzle import Puzzle
from switchsolve.timetable.names import first_run, last_run, make_up, put_away, stop, work
from switchsolve.timetable.routes import longest_train
from switchsolve.traffic.cars import Visitor

__all__ = ["play"]


def play(railroad: Railroad, number: int, asker: Asker, helps: bool = False) -> Played:
    """Play session ``number`` (from 1), and leave ``railroad`` as it is after it."""
    return _Session(railroad, number, asker).play(helps)


@dataclass(slots=True)
class _Turn:
    """A local on its way: its cars from the locomotive outwards, and what is asked at a place."""

    train: TrainPlan
    cars: list[str]
    places: list[str]
    asked: tuple[str, Puzzle, list[Visitor], list[Visitor], Asked] | None = None


class _Session:
    def __init__(self, railroad: Railroad, number: int, asker: Asker) -> None:
        self._railroad, self._asker = railroad, asker
        self._layout = railroad.layout
        self._played = Played(number)
        self._leaving: dict[tuple[str, str], int] = {}
        """Staging place and track of trains that are still to leave, and how long they are."""

    def play(self, helps: bool) -> Played:
        """All of it."""
        railroad, played = self._railroad, self._played
        made = prepare(railroad, played, helps)
        played.at_start, played.cars = dict(railroad.where), dict(railroad.cars)
        for name, state in railroad.staging.items():
            for track, sets in state.sets.items():
                played.sets_at_start[Where(name, track)] = sum(one.length for one in sets)
        trains = {train.name: train for train in self._layout.trains}
        for name, (track, consist) in made.items():
            length = trains[name].equipment + sum(railroad.lengths[car] for car in consist)
            self._leaving[trains[name].ends(played.number)[0], track] = length
        self._put_left_away()
        turns: list[_Turn] = []
        for train in self._layout.trains:
            if train.kind in (FREIGHT, PASSENGER) and train.name in made:
                self._through(train, *made[train.name])
            elif train.kind in LOCALS:
                turns += self._sent_out(train)
        for turn in self._worked(turns):
            self._comes_home(turn)
        self._who_waits()
        return played

    # -- through trains ------------------------------------------------------------------------------------

    def _through(self, train: TrainPlan, track: str, consist: list[str]) -> None:
        """A train from staging to staging, by way of the yard."""
        origin, to = train.ends(self._played.number)
        there = self._railroad.staging[to]
        room = there.longest_room(self._tracks_left(to)) - train.equipment
        if room < 0:
            self._played.annulled[train.name] = f"no track at {to} has room for it when it comes"
            self._played.consists.pop(train.name, None)
            return
        self._leave_staging(train, origin, track, consist)
        aboard = list(consist)
        if train.kind == FREIGHT:
            aboard = self._at_yard(train, to, aboard, room)
        self._arrive(train, to, aboard)

    def _tracks_left(self, place: str) -> dict[str, int]:
        return {track: length for (name, track), length in self._leaving.items() if name == place}

    def _leave_staging(self, train: TrainPlan, origin: str, track: str, consist: list[str]) -> None:
        state = self._railroad.staging[origin]
        own = next(one for one in state.sets[track] if one.kind == train.kind)
        state.sets[track].remove(own)
        del self._leaving[origin, track]
        for car in consist:
            state.cars[track].remove(car)
            self._move(car, Where(train.name), first_run(train.name), at_end=False)
        self._played.consists[train.name] = tuple(consist)
        self._played.staging[train.name] = track, ""

    def _at_yard(self, train: TrainPlan, to: str, aboard: list[str], room: int) -> list[str]:
        """Set out and pick up; returns who is aboard afterwards."""
        cars = self._railroad.cars
        bound = [car for car in self._railroad.yard.cars if cars[car].bound == Where(to)]
        beyond = len(aboard) - len(self._railroad.yard.that_fit(aboard, self._railroad.kinds))
        if beyond:
            bound = []  # what cannot be set out stays aboard
        cut = self._made_up(train, self._that_fit(train, bound, room))
        for car in cut:
            self._move(car, Where(train.name), stop(train.name), at_end=True)
        set_out = self._railroad.yard.that_fit(aboard, self._railroad.kinds)
        rest = [car for car in aboard if car not in set_out]
        self._played.waited += [Waited(car, train.name, "the yard is full") for car in rest]
        for car in set_out:
            self._move(car, Where(self._layout.yard.name, ARRIVALS), stop(train.name), at_end=True)
        left = self._put_away(train, set_out)
        # what the yard has no room for waits on the arrival track
        self._railroad.yard.arrivals += left
        return [*cut, *rest]

    def _that_fit(self, train: TrainPlan, cars: list[str], room: int | None) -> list[str]:
        """The first of ``cars`` that the train may have: by number, by the links, by ``room`` at its end."""
        longest = longest_train(self._layout, train)
        limits = [] if room is None else [room]
        if longest is not None:
            limits.append(longest - train.equipment)
        chosen: list[str] = []
        for car in cars:
            length = sum(self._railroad.lengths[one] for one in (*chosen, car))
            if len(chosen) < train.most_cars and all(length <= limit for limit in limits):
                chosen.append(car)
        return chosen

    def _arrive(self, train: TrainPlan, to: str, aboard: list[str]) -> None:
        """Come to a track of staging; cars that are bound for that place are at their goal."""
        state = self._railroad.staging[to]
        length = train.equipment + sum(self._railroad.lengths[car] for car in aboard)
        track = state.arrival_track(length, self._tracks_left(to))
        assert track is not None, f"{train.name} was not made to fit {to}"
        state.sets[track].append(Set(train.kind, train.equipment))
        for car in aboard:
            state.cars[track].append(car)
            self._move(car, Where(to, track), last_run(train.name), at_end=True)
            if self._railroad.cars[car].bound == Where(to):
                self._railroad.cars[car] = replace(self._railroad.cars[car], bound=None)
        self._played.staging[train.name] = self._played.staging[train.name][0], track

    # -- the yard ------------------------------------------------------------------------------------------

    def _made_up(self, train: TrainPlan, cars: list[str]) -> list[str]:
        """Have a cut made up; returns it from the locomotive outwards, on the departure track."""
        if not cars:
            return []
        yard = self._railroad.yard
        puzzle, blocks = yard.make_up(cars, self._railroad.kinds)
        worked = self._asker.ask(puzzle)()
        yard.close(worked, blocks)
        worked = parted(worked, blocks)
        self._note(YardTask(make_up(train.name), train.name, tuple(cars), True, worked, puzzle))
        if not worked.is_done:
            return []
        for car in worked.train:
            self._move(car, Where(yard.place.name, ARRIVALS), make_up(train.name), at_end=True)
        return list(worked.train)

    def _put_away(self, train: TrainPlan | None, cars: list[str]) -> list[str]:
        """Have a cut put away from the arrival tracks; returns those for which there was no room."""
        if not cars:
            return []
        yard = self._railroad.yard
        name = put_away(train.name if train else "")
        fit = yard.that_fit(cars, self._railroad.kinds)
        self._played.waited += [Waited(car, yard.place.name, "the yard is full") for car in cars[len(fit) :]]
        if not fit:
            return list(cars)
        puzzle, blocks = yard.put_away(fit, self._railroad.kinds)
        worked = self._asker.ask(puzzle)()
        yard.close(worked, blocks)
        worked = parted(worked, blocks)
        self._note(YardTask(name, train.name if train else "", tuple(fit), False, worked, puzzle))
        left = list(worked.left_over) if worked.is_done else list(fit)
        for car in fit:
            if car not in left:  # the arrival track is free once the cut is on the lead
                self._move(car, Where(yard.place.name, yard.place.lead), name, at_end=False)
                self._move(car, Where(yard.place.name, yard.track_of(car)), name, at_end=True)
        self._played.waited += [Waited(car, yard.place.name, why_left(worked)) for car in left]
        return [*left, *cars[len(fit) :]]

    def _put_left_away(self) -> None:
        """First of all, what an earlier session left on the arrival tracks."""
        yard = self._railroad.yard
        yard.arrivals = self._put_away(None, yard.arrivals)

    def _note(self, task: YardTask) -> None:
        self._played.yard_tasks.append(task)
        if task.is_make_up:
            late = task.worked.left_over if task.worked.is_done else task.cars
            why = why_left(task.worked)
            self._played.waited += [Waited(car, self._layout.yard.name, why) for car in late]

    # -- locals --------------------------------------------------------------------------------------------

    def _sent_out(self, train: TrainPlan) -> Iterator[_Turn]:
        """A local with what the yard has for its places, if there is any work."""
        railroad, number = self._railroad, self._played.number
        states = [railroad.districts[place] for place in train.works]
        wanted: list[str] = []
        for state in states:
            due = state.due(number)[: train.most_cars]
            here = [car for car in railroad.yard.cars if self._is_for(car, state.place.name)]
            wanted += [one.name for one in state.placed([railroad.visitor(car) for car in here], due)]
        wanted = self._that_fit(train, wanted, None)
        if not wanted and not any(state.due(number) for state in states):
            return
        cars = self._made_up(train, wanted)
        if not cars and not any(state.due(number) for state in states):
            return  # nothing could be made up: it stays at home
        self._played.consists[train.name] = tuple(cars)
        for car in cars:
            self._move(car, Where(train.name), first_run(train.name), at_end=False)
        turn = _Turn(train, cars, list(train.works))
        self._ask_next(turn)
        yield turn

    def _is_for(self, car: str, place: str) -> bool:
        bound = self._railroad.cars[car].bound
        return bound is not None and bound.place == place

    def _ask_next(self, turn: _Turn) -> None:
        """Put the work at the next place with any to the solver."""
        while turn.places and turn.asked is None:
            place = turn.places.pop(0)
            self._ask(turn, place, self._railroad.districts[place].due(self._played.number))

    def _ask(self, turn: _Turn, place: str, due: list[Visitor]) -> None:
        """Put the work at a place to the solver, if there is any; of ``due`` those for which the train has
        room."""
        state = self._railroad.districts[place]
        brought = [self._railroad.visitor(car) for car in turn.cars if self._is_for(car, place)]
        placed = state.placed(brought, due)
        while due and not self._has_room(turn, placed, due):
            due = due[:-1]
            placed = state.placed(brought, due)
        if brought or due:
            puzzle = state.set_up(f"{turn.train.name} at {place}", placed, due)
            asked = self._asker.ask(puzzle, self._layout.district(place).main)
            turn.asked = place, puzzle, placed, due, asked

    def _has_room(self, turn: _Turn, out: Iterable[Visitor], due: Iterable[Visitor]) -> bool:
        """Whether the train can leave with ``due`` once it has set ``out`` some of its cars."""
        left = {one.name for one in out}
        cars = [*(car for car in turn.cars if car not in left), *(one.name for one in due)]
        return self._that_fit(turn.train, cars, None) == cars

    def _worked(self, turns: list[_Turn]) -> list[_Turn]:
        """Wait for the work of all turns, place by place; returns them in their order."""
        while any(turn.asked for turn in turns):
            for turn in turns:
                if turn.asked is not None:
                    self._take(turn)
                    self._ask_next(turn)
        return turns

    def _take(self, turn: _Turn) -> None:
        """What came out at a place."""
        assert turn.asked is not None
        place, puzzle, brought, due, asked = turn.asked
        turn.asked = None
        worked, train = asked(), turn.train.name
        stays = {one.name for one in brought} & set(worked.left_over)
        out = [one for one in brought if one.name not in stays]
        taken = [one for one in due if one.name not in worked.left_over]
        if worked.is_done and taken and not self._has_room(turn, out, taken):
            # what could not be set out needs the place of one that was to come along
            self._ask(turn, place, due[:-1])
            return self._take(turn) if turn.asked else None
        names = tuple(one.name for one in brought), tuple(one.name for one in due)
        self._played.works.append(WorkDone(train, place, puzzle, *names, worked))
        left = set(worked.left_over) & {*names[0], *names[1]}
        left = left if worked.is_done else {*names[0], *names[1]}
        for one in brought:
            if one.name not in left:
                self._move(one.name, Where(place, one.track), work(train, place), at_end=True)
        for one in due:
            if one.name not in left:
                self._move(one.name, Where(train), work(train, place), at_end=True)
        self._played.waited += [Waited(car, place, why_left(worked)) for car in sorted(left)]
        self._railroad.districts[place].close(self._played.number, brought, due, worked)
        idler = self._railroad.districts[place].idler
        through = [car for car in turn.cars if car not in names[0]]
        picked = [car for car in worked.train if car != idler]
        turn.cars = [*through, *(picked if worked.is_done else names[0])]

    def _comes_home(self, turn: _Turn) -> None:
        """A local's cars come to the arrival track and are put away."""
        for car in turn.cars:
            self._move(car, Where(self._layout.yard.name, ARRIVALS), last_run(turn.train.name), at_end=True)
        self._railroad.yard.arrivals += self._put_away(turn.train, turn.cars)

    # ------------------------------------------------------------------------------------------------------

    def _who_waits(self) -> None:
        """Cars in the yard that were there at the start, and are still there."""
        told = {one.car for one in self._played.waited}
        for car in self._railroad.yard.cars:
            before = self._played.at_start[car]
            if before.place == self._layout.yard.name and car not in told:
                self._played.waited.append(Waited(car, before.place, "no train had room or place for it"))

    def _move(self, car: str, target: Where, task: str, at_end: bool) -> None:
        source = self._railroad.where[car]
        self._railroad.where[car] = target
        self._played.moved.append(Moved(car, source, target, task, at_end))
