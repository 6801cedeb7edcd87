"""The same session by plain crews: one item at a time, by a stated policy, without looking ahead (``crew``).

The plans with the fewest moves are what a session can be; this is what it comes to with crews that plan
nothing.  Cars end where the plans say; only minutes differ.  Nobody clears the main in the midst of such
work, so trains pass before it or after it.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from concurrent.futures import Executor, Future
from dataclasses import replace

from switchsolve.crew import plain_crew
from switchsolve.layout import Layout
from switchsolve.operating.lasting import seconds_of_moves
from switchsolve.operating.records import Played
from switchsolve.operating.results import PlainCrews, SessionResult
from switchsolve.operating.timing import minutes_of
from switchsolve.puzzle import Puzzle
from switchsolve.referee import replay
from switchsolve.scheduling import Effort, make_schedule
from switchsolve.study.answering import without
from switchsolve.timetable.building import problem_of
from switchsolve.timetable.names import work
from switchsolve.timetable.sessionwork import SessionWork

__all__ = ["by_plain_crews", "plain_seconds"]

_SECONDS_EACH = 1.0
"""For one question of a crew; one that is not answered by then is an item put off."""


def plain_seconds(puzzle: Puzzle) -> float | None:
    """How long a plain crew moves for the work of ``puzzle``; ``None``: it gives up."""
    done = plain_crew(puzzle, seconds_each=_SECONDS_EACH)
    if done.plan is None:
        return None
    return sum(seconds_of_moves(puzzle, done.plan, replay(puzzle, done.plan)))


def by_plain_crews(
    layout: Layout, result: SessionResult, executor: Executor, seconds: float | None
) -> PlainCrews:
    """The session scheduled with the minutes of plain crews, no piece of work shorter than its plan."""
    asked = {name: executor.submit(plain_seconds, puzzle) for name, puzzle in _works(result.played)}
    minutes = _minutes(asked, layout.pace)
    problem = problem_of(_with_minutes(result.work, minutes))
    answer = executor.submit(make_schedule, problem, Effort(seconds=seconds)).result()
    length = answer.schedule.length if answer.schedule else None
    return PlainCrews(length, answer.bound, len(asked), len(asked) - len(minutes))


def _works(played: Played) -> Iterator[tuple[str, Puzzle]]:
    """Every piece of work with a plan, and the set-up of what was done of it, by the name of its task."""
    for done in played.works:
        if done.worked.is_done:
            yield work(done.train, done.place), without(done.puzzle, done.worked.left_over)
    for task in played.yard_tasks:
        if task.worked.is_done and task.puzzle is not None and not task.worked.left_over:
            yield task.name, task.puzzle


def _minutes(asked: Mapping[str, Future[float | None]], pace: float) -> dict[str, int]:
    answers = {name: future.result() for name, future in asked.items()}
    return {name: minutes_of((took,), pace) for name, took in answers.items() if took is not None}


def _with_minutes(session: SessionWork, minutes: Mapping[str, int]) -> SessionWork:
    """The session with work that takes so long, if that is longer, and with no clearing in its midst."""
    trains = tuple(
        replace(
            train,
            steps=tuple(
                replace(step, minutes=max(step.minutes, minutes.get(step.name, 0)), pieces=())
                for step in train.steps
            ),
        )
        for train in session.trains
    )
    yard = tuple(
        replace(step, minutes=max(step.minutes, minutes.get(step.name, 0))) for step in session.yard_steps
    )
    return replace(session, trains=trains, yard_steps=yard)
