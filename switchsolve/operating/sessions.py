"""Sessions one after the other, each with its schedule, checked; and what they come to.

Cars move on from session to session, so they are played in order; what is to be solved for one session, and
the schedules of those before it, go to the executor together.
"""

from __future__ import annotations

import time
from collections.abc import Callable
from concurrent.futures import Executor, Future
from dataclasses import dataclass, replace

from switchsolve.layout import Layout
from switchsolve.operating.asking import Solver
from switchsolve.operating.balancing import balance_of, needs_of
from switchsolve.operating.checking import session_faults
from switchsolve.operating.filling import yard_fill
from switchsolve.operating.loosening import bindings_of, crews_rows
from switchsolve.operating.plainly import by_plain_crews
from switchsolve.operating.railroad import begin
from switchsolve.operating.records import Played, Where
from switchsolve.operating.results import Operation, SessionResult
from switchsolve.operating.running import play
from switchsolve.operating.skipping import skips_of
from switchsolve.operating.timing import session_work
from switchsolve.operating.trimming import leasts_of
from switchsolve.scheduling import Answer, Clash, Effort, Outcome, clash_of, make_schedule
from switchsolve.timetable.building import NobodyCan, problem_of
from switchsolve.timetable.reading import read
from switchsolve.timetable.sessionwork import SessionWork

__all__ = ["Limits", "operate", "schedule"]

Tell = Callable[[str], None] | None


@dataclass(frozen=True, slots=True)
class Limits:
    """Seconds for one piece of work, and for one schedule (``None``: as long as it takes)."""

    work: float | None = 4.0
    schedule: float | None = 10.0


@dataclass(frozen=True, slots=True)
class _Open:
    """A session that has been played and whose schedule is asked for."""

    played: Played
    work: SessionWork
    before: dict[str, Where]
    future: Future[tuple[Answer, str, Clash | None]]


def operate(
    layout: Layout,
    sessions: int,
    seed: int,
    executor: Executor,
    *,
    limits: Limits | None = None,
    closely: bool = True,
    shown: int | None = None,
    tell: Tell = None,
) -> Operation:
    """Play ``sessions`` sessions; Ctrl-C ends it, and what there is is returned.

    ``closely``: also look at session ``shown`` (the longest one: crews, what binds, what to skip), and at
    what lengths the traffic asks for.
    ``executor`` calls functions of this package.  Raises ``AssertionError`` if the checker finds fault with
    a session (a defect in this package).
    """
    limits = limits or Limits()
    solver = Solver(executor, limits.work)
    found = Operation(layout, seed, sessions)
    try:
        _play_all(found, solver, limits, tell)
        if closely and found.sessions:
            _look_closely(found, solver, limits, shown, tell)
        found.is_complete = True
    except KeyboardInterrupt:
        pass
    if found.sessions and found.balance is None:
        found.balance = balance_of(layout, seed, [one.played for one in found.sessions])
    found.solved = solver.solved
    return found


def _play_all(found: Operation, solver: Solver, limits: Limits, tell: Tell) -> None:
    railroad, waiting, began = begin(found.layout, found.seed), [], time.monotonic()
    for number in range(1, found.asked + 1):
        before = dict(railroad.where)
        played = play(railroad, number, solver)
        work = session_work(found.layout, played)
        future = solver.executor.submit(schedule, work, found.layout.minutes, limits.schedule)
        waiting.append(_Open(played, work, before, future))
        while waiting and (waiting[0].future.done() or number == found.asked):
            found.sessions.append(_closed(found.layout, waiting.pop(0)))
        if tell is not None:
            left = (time.monotonic() - began) / number * (found.asked - number)
            tell(f"{number} of {found.asked} sessions played; about {left:.0f} seconds left")


def _closed(layout: Layout, one: _Open) -> SessionResult:
    """A session with its schedule, checked."""
    answer, nobody, too_long = one.future.result()
    timetable = read(one.work, answer.schedule) if answer.schedule else None
    faults = session_faults(layout, one.played, timetable, one.before)
    assert not faults, "; ".join(faults)
    fill = yard_fill(layout, one.played, timetable)
    return SessionResult(one.played, one.work, answer, timetable, fill, nobody, too_long)


def schedule(
    work: SessionWork, minutes: int | None, seconds: float | None
) -> tuple[Answer, str, Clash | None]:
    """The schedule of a session; why nobody can run it; and if it must be longer than ``minutes``, what
    clashes."""
    try:
        problem = problem_of(work)
    except NobodyCan as nobody:
        return Answer(Outcome.IMPOSSIBLE), str(nobody), None
    answer = make_schedule(problem, Effort(seconds=seconds))
    if minutes is None or answer.bound is None or answer.bound <= minutes:
        return answer, "", None
    return answer, "", clash_of(replace(problem, length=minutes), Effort(seconds=seconds))


def _look_closely(
    found: Operation, solver: Solver, limits: Limits, shown: int | None, tell: Tell
) -> None:
    """One session, and the balance."""
    layout = found.layout
    found.balance = balance_of(layout, found.seed, [one.played for one in found.sessions])
    found.needs = needs_of(layout, found.seed, len(found.sessions))
    found.leasts = leasts_of(layout, found.seed, len(found.sessions))
    done = [one for one in found.sessions if one.minutes is not None]
    done = [one for one in done if one.played.number == shown] or done
    if not done:
        return
    longest = max(done, key=lambda one: (one.minutes or 0, -one.played.number))
    found.shown = longest.played.number
    if tell is not None:
        tell(f"session {found.shown}: crews, what binds, what to skip")
    found.crews = crews_rows(layout, longest.work, solver.executor, limits.schedule)
    found.bindings, found.chain = bindings_of(longest, solver.executor, limits.schedule)
    found.skips = skips_of(layout, longest.played, solver)
    if tell is not None:
        tell(f"session {found.shown}: the same by plain crews")
    found.plain = by_plain_crews(layout, longest, solver.executor, limits.schedule)
