"""What binds: a session scheduled again with one thing loosened at a time; and with one to six crews."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from concurrent.futures import Executor
from dataclasses import replace

from switchsolve.layout import Layout
from switchsolve.operating.results import Binding, CrewsRow, SessionResult
from switchsolve.scheduling import Answer, Effort, Problem, Reservoir, make_schedule
from switchsolve.timetable.building import LEAD, NobodyCan, problem_of
from switchsolve.timetable.sessionwork import SessionWork

__all__ = ["MOST_CREWS", "bindings_of", "crews_rows", "with_crews"]

MOST_CREWS = 6
_ROOMY = 100


def crews_rows(
    layout: Layout, work: SessionWork, executor: Executor, seconds: float | None
) -> tuple[CrewsRow, ...]:
    """The session with one crew, two, up to six: those of the file in its order, then some that can do
    everything."""
    asked = {}
    rows: dict[int, CrewsRow] = {}
    for number in range(1, MOST_CREWS + 1):
        try:
            problem = problem_of(with_crews(layout, work, number))
            asked[number] = executor.submit(_scheduled, problem, seconds)
        except NobodyCan as nobody:
            rows[number] = CrewsRow(number, None, None, str(nobody))
    for number, future in asked.items():
        answer = future.result()
        minutes = answer.schedule.length if answer.schedule else None
        why = "" if answer.schedule else str(answer.outcome)
        rows[number] = CrewsRow(number, minutes, answer.bound, why, answer.clash)
    return tuple(rows[number] for number in sorted(rows))


def with_crews(layout: Layout, work: SessionWork, number: int) -> SessionWork:
    """The same session with so many crews."""
    own = tuple(crew.name for crew in layout.crews[:number])
    more = tuple(f"crew {count}" for count in range(len(own) + 1, number + 1))
    trains = tuple(
        replace(train, crews=(*(crew for crew in train.crews if crew in own), *more)) for train in work.trains
    )
    yard = (*(crew for crew in work.yard_crews if crew in own), *more)
    return replace(work, crews=(*own, *more), trains=trains, yard_crews=yard)


def bindings_of(
    result: SessionResult, executor: Executor, seconds: float | None
) -> tuple[tuple[Binding, ...], int | None]:
    """Each thing that, loosened by itself, makes the session shorter, the most first; and how long what must
    follow each other takes with room for everything (``None``: not known)."""
    problem, now = problem_of(result.work), result.minutes
    assert now is not None
    loosened = dict(_loosened(problem, result.work))
    asked = {name: executor.submit(_scheduled, one, seconds) for name, one in loosened.items()}
    chain = executor.submit(_scheduled, _with_room(problem), seconds)
    found = []
    for name, future in asked.items():
        answer = future.result()
        if answer.schedule is not None and answer.schedule.length < now and answer.bound is not None:
            found.append(Binding(name, answer.schedule.length, answer.bound))
    return tuple(sorted(found, key=lambda one: (one.minutes, one.change))), chain.result().bound


def _scheduled(problem: Problem, seconds: float | None) -> Answer:
    """The shortest schedule, with no thought for even loads."""
    return make_schedule(problem, Effort(seconds=seconds))


def _loosened(problem: Problem, work: SessionWork) -> Iterator[tuple[str, Problem]]:
    """The problem with one thing loosened, and what that is."""
    yield "one crew more", problem_of(_one_crew_more(work))
    for name in problem.resources:
        more = {**problem.resources, name: problem.resources[name] + 1}
        yield _resource_text(name, work), replace(problem, resources=more)
    for reservoir in problem.reservoirs:
        longer = tuple(_roomy(one) if one is reservoir else one for one in problem.reservoirs)
        yield f"a longer {reservoir.name}", replace(problem, reservoirs=longer)
    for train in work.trains:
        if train.leaves is not None:
            first = train.steps[0].name
            tasks = tuple(
                replace(task, starts_at=None) if task.name == first else task for task in problem.tasks
            )
            yield f"{train.name} at any time", replace(problem, tasks=tasks)


def _roomy(reservoir: Reservoir) -> Reservoir:
    """The same with more room than could ever be filled."""
    return replace(reservoir, capacity=reservoir.capacity * _ROOMY)


def _one_crew_more(work: SessionWork) -> SessionWork:
    name = "one more"
    trains = tuple(replace(train, crews=(*train.crews, name)) for train in work.trains)
    return replace(work, crews=(*work.crews, name), trains=trains, yard_crews=(*work.yard_crews, name))


def _resource_text(name: str, work: SessionWork) -> str:
    kinds: Mapping[str, str] = {
        **{link: f"one track more on {link}" for link in work.links},
        **{aisle: f"room for one more in {aisle}" for aisle in work.aisles},
        f"{work.yard} {LEAD}": "a second lead in the yard",
    }
    return kinds.get(name, f"room for one more at {name}")


def _with_room(problem: Problem) -> Problem:
    """As many crews, tracks and people as anyone could want: only what follows what is left."""
    many = len(problem.tasks)
    crews = tuple(f"crew {number}" for number in range(len(problem.duties)))
    duties = tuple(
        replace(duty, crews=(crew,)) for duty, crew in zip(problem.duties, crews, strict=True)
    )
    resources = dict.fromkeys(problem.resources, many)
    reservoirs = tuple(_roomy(one) for one in problem.reservoirs)
    return replace(problem, resources=resources, reservoirs=reservoirs, crews=crews, duties=duties)
