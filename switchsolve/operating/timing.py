"""From what was played to the work of the timetable: minutes of moves, lengths of cuts.

Minutes of work are the seconds of its plan by the ``[times]`` of its file, times the pace of the layout, in
whole minutes, rounded up, one at the least.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from itertools import pairwise

from switchsolve.layout import FREIGHT, SWITCHER, Layout, TrainPlan
from switchsolve.operating.records import ARRIVALS, Played, Where, YardTask
from switchsolve.operating.working import Worked
from switchsolve.timetable.names import last_run, passing, put_away, run, stop, work
from switchsolve.timetable.routes import calls, route
from switchsolve.timetable.sessionwork import Piece, SessionWork, Step, StepKind, TrainRun, YardStep

__all__ = ["PASSING_MINUTES", "minutes_of", "session_work", "track_name"]

PASSING_MINUTES = 1
"""A train takes so long through a district that it only passes: common practice, no source."""


def minutes_of(seconds: Iterable[float], pace: float) -> int:
    """Whole minutes that a crew takes for moves of so many seconds: rounded up, one at the least."""
    return max(1, -int(-sum(seconds) * pace // 60))


def track_name(where: Where) -> str:
    """What a staging track is called in a schedule."""
    return str(where)


def session_work(layout: Layout, played: Played) -> SessionWork:
    """The work of a session that was played."""
    return _Timing(layout, played).work()


class _Timing:
    def __init__(self, layout: Layout, played: Played) -> None:
        self._layout, self._played = layout, played

    def work(self) -> SessionWork:
        layout = self._layout
        running = [train for train in layout.trains if self._runs(train)]
        return SessionWork(
            crews=tuple(crew.name for crew in layout.crews),
            yard=layout.yard.name,
            yard_crews=layout.crews_of(layout.switcher.name),
            trains=tuple(self._train(train) for train in running),
            yard_steps=tuple(self._yard_steps()),
            links={link.name: link.tracks for link in layout.links},
            aisles={aisle.name: aisle.people for aisle in layout.aisles},
            aisle_of={place: aisle.name for aisle in layout.aisles for place in aisle.places},
            tracks=dict(self._tracks()),
            room=(layout.yard.room, self._standing(ARRIVALS)),
        )

    def _runs(self, train: TrainPlan) -> bool:
        name = train.name
        return name in self._played.consists and train.kind != SWITCHER and name not in self._played.annulled

    # -- lengths -------------------------------------------------------------------------------------------

    def _length(self, cars: Iterable[str]) -> int:
        kinds = self._layout.kinds
        return sum(kinds[self._played.cars[car].kind] for car in cars)

    def _standing(self, track: str) -> int:
        where = Where(self._layout.yard.name, track)
        return self._length(car for car, at in self._played.at_start.items() if at == where)

    def _tracks(self) -> Iterator[tuple[str, tuple[int, int]]]:
        for place in self._layout.staging:
            for track, length in place.tracks.items():
                where = Where(place.name, track)
                cars = [car for car, at in self._played.at_start.items() if at == where]
                level = self._length(cars) + self._played.sets_at_start.get(where, 0)
                yield track_name(where), (length, level)

    # -- trains --------------------------------------------------------------------------------------------

    def _train(self, train: TrainPlan) -> TrainRun:
        played, layout = self._played, self._layout
        staging = played.staging.get(train.name)
        origin, to = train.ends(played.number)
        home = [one for one in played.yard_tasks if one.train == train.name]
        made = [one for one in home if one.is_make_up and one.worked.is_done]
        on_arrivals = Where(layout.yard.name, ARRIVALS)
        tasks = stop(train.name), last_run(train.name)
        brought = [m.car for m in played.moved if m.target == on_arrivals and m.task in tasks]
        arriving = [m.car for m in played.moved if m.task == last_run(train.name)]
        leaving = played.consists[train.name]
        return TrainRun(
            train.name,
            layout.crews_of(train.name),
            tuple(self._steps(train)),
            train.leaves,
            staging and (track_name(Where(origin, staging[0])), self._with_set(train, leaving)),
            staging and (track_name(Where(to, staging[1])), self._with_set(train, arriving)),
            cut_out=sum(self._length(one.worked.train) for one in made),
            cut_in=self._length(brought),
        )

    def _with_set(self, train: TrainPlan, cars: Sequence[str]) -> int:
        return self._length(cars) + train.equipment

    def _steps(self, train: TrainPlan) -> Iterator[Step]:
        """Runs over links, places passed, the stop or the works, in a row."""
        layout, played = self._layout, self._played
        worked = {one.place: one.worked for one in played.works if one.train == train.name}
        places = tuple(place for place in train.works if place in worked)
        stops = calls(layout, train, played.number, places)
        hops = [(link, there, to) for here, to in pairwise(stops) for link, there in route(layout, here, to)]
        for number, (link, there, to) in enumerate(hops):
            is_last = number == len(hops) - 1
            name = last_run(train.name) if is_last else run(train.name, number + 1)
            yield Step(name, StepKind.RUN, link.name, link.minutes)
            if is_last:
                return
            if there != to:
                if there in {one.name for one in layout.districts}:
                    yield Step(passing(train.name, there), StepKind.PASSING, there, PASSING_MINUTES)
            elif there in worked:
                yield self._work_step(train, there, worked[there])
            else:
                minutes = layout.yard.stop if train.kind == FREIGHT else PASSING_MINUTES
                yield Step(stop(train.name), StepKind.STOP, there, minutes)

    def _work_step(self, train: TrainPlan, place: str, worked: Worked) -> Step:
        seconds, pace = worked.move_seconds, self._layout.pace
        minutes = minutes_of(seconds, pace)
        pieces = tuple(_pieces(worked, pace)) if self._is_passed(place) else ()
        name = work(train.name, place)
        return Step(name, StepKind.WORK, place, minutes, pieces if len(pieces) > 1 else ())

    def _is_passed(self, place: str) -> bool:
        return bool(self._layout.district(place).main)

    # -- the yard ------------------------------------------------------------------------------------------

    def _yard_steps(self) -> Iterator[YardStep]:
        for task in self._played.yard_tasks:
            cars = self._that_moved(task)
            if task.worked.is_done and cars:
                minutes = minutes_of(task.worked.move_seconds, self._layout.pace)
                length = self._length(cars)
                yield YardStep(task.name, task.train, minutes, task.is_make_up, length)

    def _that_moved(self, task: YardTask) -> list[str]:
        """The cars that left the arrival track, or came to the departure track."""
        assert task.is_make_up or task.name == put_away(task.train)
        if task.is_make_up:
            return list(task.worked.train)
        return [car for car in task.cars if car not in task.worked.left_over]


def _pieces(worked: Worked, pace: float) -> Iterator[Piece]:
    """The work cut where the crew can clear the main.  Together they last as long as the whole."""
    done, last = 0, 0
    total = minutes_of(worked.move_seconds, pace)
    for number, clearing in enumerate(worked.clearings):
        if clearing is None:
            continue
        done = min(minutes_of(worked.move_seconds[: number + 1], pace), total - 1)
        if done > last:
            clear = minutes_of((clearing.seconds / 2,), pace) if clearing.seconds else 0
            yield Piece(done - last, clear, clearing.moves, number + 1)
            last = done
    yield Piece(total - last)
