"""Is what was played possible?  Asked without any of the code that plays or schedules.

The movements are replayed in the order of the timetable: a car is where it is said to leave from, whoever a
task needs is there when it starts, no track is ever overfull, in real lengths, and no car is lost or made.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterator, Mapping

from switchsolve.layout import Layout
from switchsolve.operating.lastfaults import last_faults
from switchsolve.operating.records import ARRIVALS, FAR_SHORE, Moved, Played, Where
from switchsolve.operating.timefaults import time_faults
from switchsolve.timetable.reading import Timetable

__all__ = ["session_faults"]


def session_faults(
    layout: Layout,
    played: Played,
    timetable: Timetable | None,
    before: Mapping[str, Where] | None = None,
) -> tuple[str, ...]:
    """Everything that is wrong with a session; nothing: it can be.

    ``before``: where each car was when the session before ended (``None``: not known).  Without a timetable
    the movements are replayed in the order in which they were decided.
    """
    faults = [] if before is None else list(_between(played, before))
    faults += _Replay(layout, played, timetable).faults()
    if timetable is not None:
        faults += [*time_faults(layout, played, timetable), *last_faults(layout, played, timetable)]
    return tuple(faults)


def _between(played: Played, before: Mapping[str, Where]) -> Iterator[str]:
    """What happens between two sessions leads from the end of one to the start of the next."""
    where = dict(before)
    for one in played.between:
        if where.get(one.car) != one.source:
            yield f"between sessions: {one.car} is not at {one.source} but at {where.get(one.car)}"
        where[one.car] = one.target
    for car in sorted(set(where) | set(played.at_start)):
        if where.get(car) != played.at_start.get(car):
            yield f"{car} ended at {where.get(car)} and starts at {played.at_start.get(car)}"


class _Replay:
    """One session, movement by movement."""

    def __init__(self, layout: Layout, played: Played, timetable: Timetable | None) -> None:
        self._layout, self._played = layout, played
        self._times = timetable.times() if timetable else None
        runs = [entry for entry in (timetable.entries if timetable else ()) if entry.kind == "run"]
        self._runs = {entry.task: (entry.train, entry.where) for entry in runs}
        self._where = dict(played.at_start)
        self._sets = Counter(played.sets_at_start)
        self._coming: Counter[Where] = Counter()
        """Length of trains that have set out for a staging track, which must be free for them."""
        self._found: list[str] = []

    def faults(self) -> list[str]:
        """All that is found."""
        self._names()
        self._tracks("at the start")
        last = -1
        for moment, at_end, task, moves in self._groups():
            if moment > last >= 0:
                self._tracks(f"minute {last}")  # once all has happened that happens then
            last = moment
            told = f"{task or 'at once'}" if self._times is None else f"minute {moment}, {task}"
            if not at_end and self._times is not None:
                self._causes(task, told)
            for one in moves:
                self._go(one, told)
            if not at_end and task in self._runs:
                self._train(*self._runs[task], told)
            self._equipment(task, at_end)
        self._tracks(f"minute {last}")
        return self._found

    def _names(self) -> None:
        """Each car that moves is known, and stands in one place at the start."""
        for one in self._played.moved:
            if one.car not in self._where:
                self._found.append(f"{one.car} moves and was nowhere at the start")
        for train, cars in self._played.consists.items():
            for car, times in Counter(cars).items():
                if times > 1:
                    self._found.append(f"{car} is {times} times in {train}")

    def _groups(self) -> Iterator[tuple[int, bool, str, list[Moved]]]:
        """Movements by the starts and ends of tasks, in order of time; what ends comes before what starts."""
        if self._times is None:
            for one in self._played.moved:
                yield 0, one.at_end, one.task, [one]
            return
        groups: dict[tuple[str, bool], list[Moved]] = defaultdict(list)
        for task in self._times:
            groups[task, False], groups[task, True] = [], []
        for one in self._played.moved:
            if one.task not in self._times:
                self._found.append(f"{one.car} moves in {one.task}, which is not in the timetable")
            else:
                groups[one.task, one.at_end].append(one)
        moments = [(self._times[task][at_end], not at_end, task) for task, at_end in groups]
        for moment, starts, task in sorted(moments):
            yield moment, not starts, task, groups[task, not starts]

    def _go(self, one: Moved, told: str) -> None:
        at = self._where.get(one.car)
        if at != one.source:
            self._found.append(f"{told}: {one.car} is not at {one.source} but at {at}")
        self._where[one.car] = one.target

    def _causes(self, task: str, told: str) -> None:
        """When work starts its cars are there: those brought with the train, those to be taken on the spot;
        a cut to be made up in the yard, one to be put away on the arrival tracks."""
        for work in self._played.works:
            if task == f"{work.train}: works {work.place}":
                self._all_at(work.brought, Where(work.train), told)
                for car in work.to_take:
                    self._at_place(car, work.place, told)
        for cut in self._played.yard_tasks:
            if task == cut.name:
                for car in cut.cars:
                    self._at_place(car, self._layout.yard.name, told)
                    on_arrivals = self._where.get(car) == Where(self._layout.yard.name, ARRIVALS)
                    if on_arrivals == cut.is_make_up:
                        self._found.append(f"{told}: {car} is at {self._where.get(car)}")

    def _all_at(self, cars: tuple[str, ...], where: Where, told: str) -> None:
        for car in cars:
            if self._where.get(car) != where:
                self._found.append(f"{told}: {car} is not at {where} but at {self._where.get(car)}")

    def _at_place(self, car: str, place: str, told: str) -> None:
        at = self._where.get(car)
        if at is None or at.place != place or not at.track:
            self._found.append(f"{told}: {car} is not at {place} but at {at}")

    def _train(self, name: str, over: str, told: str) -> None:
        """A train that sets out over a link has no more cars than it may, and is no longer than the link
        takes."""
        train = next(one for one in self._layout.trains if one.name == name)
        longest = next(link.longest for link in self._layout.links if link.name == over)
        aboard = [car for car, where in self._where.items() if where == Where(name)]
        length = train.equipment + sum(self._layout.kinds[self._played.cars[car].kind] for car in aboard)
        if len(aboard) > train.most_cars:
            self._found.append(f"{told}: {name} has {len(aboard)} cars, and may have {train.most_cars}")
        if longest is not None and length > longest:
            self._found.append(f"{told}: {name} is too long for {over}")

    def _equipment(self, task: str, at_end: bool) -> None:
        """Locomotives and passenger trains on staging tracks."""
        for train in self._layout.trains:
            if train.name not in self._played.staging:
                continue
            origin, to = train.ends(self._played.number)
            out, into = self._played.staging[train.name]
            if task == f"{train.name}: run 1" and not at_end:
                self._sets[Where(origin, out)] -= train.equipment
            if task == f"{train.name}: last run":
                aboard = [car for car, where in self._where.items() if where == Where(train.name)]
                if at_end:
                    self._sets[Where(to, into)] += train.equipment
                    self._coming[Where(to, into)] = 0
                else:
                    kinds = [self._played.cars[car].kind for car in aboard]
                    own = sum(self._layout.kinds[kind] for kind in kinds)
                    self._coming[Where(to, into)] = own + train.equipment

    def _tracks(self, told: str) -> None:
        """No track holds more than its length, none that is kept empty holds anything."""
        if self._times is None and told != "at the start":
            return  # order of decision is no order of time
        on: dict[Where, list[str]] = defaultdict(list)
        for car, where in self._where.items():
            on[where].append(self._played.cars[car].kind)
        for fault in (*self._staging(on), *self._yard(on), *self._industries(on)):
            if fault not in self._found:
                self._found.append(f"{told}: {fault}")

    def _staging(self, on: Mapping[Where, list[str]]) -> Iterator[str]:
        kinds = self._layout.kinds
        for place in self._layout.staging:
            empty = 0
            for track, length in place.tracks.items():
                where = Where(place.name, track)
                used = sum(kinds[kind] for kind in on.get(where, ())) + self._sets[where]
                used += self._coming[where]
                empty += not used
                if used > length:
                    yield f"{where} is overfull"
                if used and track in place.keep_empty:
                    yield f"{where} is to be kept empty"
                if self._sets[where] < 0:
                    yield f"a train leaves {where} that is not there"
            if place.is_through and not empty:
                yield f"no track of {place.name} is empty, and trains pass through it"

    def _yard(self, on: Mapping[Where, list[str]]) -> Iterator[str]:
        yard, kinds = self._layout.yard, self._layout.kinds
        where = Where(yard.name, ARRIVALS)
        if sum(kinds[kind] for kind in on.get(where, ())) > yard.room:
            yield f"{where} is overfull"
        for track in yard.tracks:
            where = Where(yard.name, track)
            used = sum(yard.puzzle.kinds[kind] for kind in on.get(where, ()))
            if used > yard.puzzle.district.track(track).length:
                yield f"{where} is overfull"

    def _industries(self, on: Mapping[Where, list[str]]) -> Iterator[str]:
        for place in self._layout.districts:
            for track in place.puzzle.district.tracks:
                kinds = on.get(Where(place.name, track.name), ())
                used = sum(place.puzzle.kinds[kind] for kind in kinds)
                if used > track.length or (track.spots and len(kinds) > len(track.spots)):
                    yield f"{place.name}: {track.name} is overfull"
            for where in on:
                known = {track.name for track in place.puzzle.district.tracks} | {FAR_SHORE}
                if where.place == place.name and where.track not in known:
                    yield f"there is no {where}"
