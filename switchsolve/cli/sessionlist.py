"""What sessions come to, in words: all of them, the one that is looked at, and what changes would do."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from textwrap import fill

from switchsolve.cli.sessionchart import chart_lines
from switchsolve.cli.sessionsheet import sheet_lines
from switchsolve.operating import Operation, SessionResult
from switchsolve.operating.loosening import with_crews
from switchsolve.operating.results import CrewsRow
from switchsolve.scheduling import Clash, Outcome, Problem
from switchsolve.timetable.building import problem_of
from switchsolve.timetable.names import work
from switchsolve.timetable.telling import demand_text
from switchsolve.words import counted

__all__ = ["compare_lines", "head_lines", "looked_at_lines", "wrapped"]


def wrapped(text: str) -> list[str]:
    """A sentence in lines of 79 letters, those after the first set in."""
    return fill(text, 79, subsequent_indent="  ", break_on_hyphens=False).splitlines()


def head_lines(found: Operation) -> Iterator[str]:
    """All sessions, a line for each."""
    asked = "" if len(found.sessions) == found.asked else f" of {found.asked} (stopped by Ctrl-C)"
    crews = counted(len(found.layout.crews), "crew")
    yield from wrapped(
        f"{counted(len(found.sessions), 'session')}{asked}, seed {found.seed}, {crews}: {_proofs(found)}."
    )
    yield ""
    yield "session  minutes  moves  spotted  picked up  waited  short  by hand"
    for one in found.sessions:
        yield _session_row(one)
    yield from wrapped(
        "minutes: the shortest schedule (a gap is told); moves: of districts and yard, each plan the fewest "
        "unless told; waited: cars that were to go on and did not; short: cars asked for that were not "
        "there; by hand: cars the host moved before it."
    )
    yield from _not_proved(found)
    yield from _cleared(found)
    for one in found.sessions:
        yield from _trouble(one, found)


def _proofs(found: Operation) -> str:
    outcomes = [one.answer.outcome for one in found.sessions]
    names = {
        Outcome.PROVED: "proved the shortest",
        Outcome.BEST_FOUND: "with a gap",
        Outcome.IMPOSSIBLE: "that cannot be run",
        Outcome.GAVE_UP: "without a schedule in time",
    }
    parts = [f"{outcomes.count(one)} {text}" for one, text in names.items() if one in outcomes]
    return f"schedules: {', '.join(parts)}"


def _session_row(one: SessionResult) -> str:
    played = one.played
    works = {work(done.train, done.place): done.place for done in played.works}
    moved = [move for move in played.moved if move.task in works]
    spotted = sum(move.target.place == works[move.task] for move in moved)
    taken = sum(move.source.place == works[move.task] for move in moved)
    short = sum(short.count for short in played.shortages)
    cells = (played.number, _minutes(one), one.moves, spotted, taken, len(played.waited), short)
    widths = (7, 9, 7, 9, 11, 8, 7)
    row = "".join(f"{cell!s:>{width}}" for cell, width in zip(cells, widths, strict=True))
    return f"{row}{played.by_hand:>9}"


def _minutes(one: SessionResult) -> str:
    if one.minutes is None:
        return "none"
    return str(one.minutes) if one.answer.gap == 0 else f"{one.answer.bound}-{one.minutes}"


def _not_proved(found: Operation) -> Iterator[str]:
    """Pieces of work whose moves are not proved the fewest, or that had no plan in time."""
    works = [done.worked for one in found.sessions for done in one.played.works]
    works += [task.worked for one in found.sessions for task in one.played.yard_tasks]
    gaps = sum(
        worked.moves is not None and not (worked.moves == worked.bound and worked.is_most) for worked in works
    )
    none = sum(worked.moves is None for worked in works)
    if gaps or none:
        yield from wrapped(
            f"Of {len(works)} pieces of work {gaps} have a plan that is not proved the fewest moves for the "
            f"most that can be done, and {none} had none in time (or none exists): their cars waited."
        )


def _cleared(found: Operation) -> Iterator[str]:
    """How often a crew at work let a train pass in the midst of it."""
    cleared = [one for result in found.sessions if result.timetable for one in result.timetable.cleared]
    if cleared:
        times, moves = counted(len(cleared), "time"), counted(2 * sum(one.moves for one in cleared), "move")
        waits = counted(sum(one.end - one.start for one in cleared), "minute")
        yield from wrapped(
            f"A crew at work let a train pass in the midst of it {times}: {moves} to clear the main and come "
            f"back, {waits} in all."
        )


def _trouble(one: SessionResult, found: Operation) -> Iterator[str]:
    """Why a session cannot be run, or must be longer than it may be."""
    number = one.played.number
    for train, why in one.played.annulled.items():
        yield from wrapped(f"Session {number}: {train} does not run: {why}.")
    if one.nobody:
        yield from wrapped(f"Session {number} cannot be run: {one.nobody}.")
    elif one.answer.clash is not None:
        yield f"Session {number} cannot be run. These clash{_minimal(one.answer.clash)}:"
        yield from _clash_lines(one.answer.clash, problem_of(one.work), found)
    if one.too_long is not None:
        limit = found.layout.minutes
        yield f"Session {number} takes longer than {limit} minutes. These clash{_minimal(one.too_long)}:"
        yield from _clash_lines(one.too_long, problem_of(one.work, limit), found)


def _minimal(clash: Clash) -> str:
    return " (without any one the rest can be met)" if clash.is_minimal else " (perhaps fewer would do)"


def _clash_lines(clash: Clash, problem: Problem, found: Operation) -> Iterator[str]:
    for demand in clash.demands:
        yield from wrapped(f"  - {demand_text(demand, problem, found.layout)}")


def looked_at_lines(found: Operation) -> Iterator[str]:
    """The session that is looked at closely."""
    result = found.looked_at
    if result is None or result.timetable is None:
        return
    yield ""
    lasts = f"{result.minutes} minutes of {found.layout.minutes}"
    yield f"Session {found.shown}: {lasts}, {_even(result)}."
    yield from _crews(found, result)
    yield from _bindings(found)
    yield ""
    yield from chart_lines(found.layout, result)
    for one in result.timetable.cleared:
        how = "is clear of the main" if not one.moves else f"clears the main ({counted(one.moves, 'move')} "
        back = "" if not one.moves else "and as many back)"
        yield from wrapped(
            f"{one.train} at {one.place} {how}{back} for {one.passing}, minutes {one.start} to {one.end}."
        )
    yield from sheet_lines(found.layout, result, found.skips)


def _even(result: SessionResult) -> str:
    return "loads as even as can be (proved)" if result.answer.is_evenness_proved else "loads not proved even"


def _crews(found: Operation, result: SessionResult) -> Iterator[str]:
    """The session against the number of crews."""
    rows = found.crews
    yield "crews    " + "".join(f"{row.crews:>7}" for row in rows)
    cells = [_crews_cell(row) for row in rows]
    yield "minutes  " + "".join(f"{cell:>7}" for cell in cells)
    for row in rows:
        if row.clash is not None:
            yield f"With {counted(row.crews, 'crew')} these clash{_minimal(row.clash)}:"
            problem = problem_of(with_crews(found.layout, result.work, row.crews))
            yield from _clash_lines(row.clash, problem, found)
        elif row.minutes is None:
            yield from wrapped(f"{counted(row.crews, 'crew')}: {row.why}.")


def _crews_cell(row: CrewsRow) -> str:
    if row.minutes is None:
        return "none"
    return str(row.minutes) if row.minutes == row.bound else f"{row.bound}-{row.minutes}"


def _bindings(found: Operation) -> Iterator[str]:
    """What binds, the most first."""
    result = found.looked_at
    assert result is not None
    for one in found.bindings:
        proof = "" if one.minutes == one.bound else f", perhaps {one.bound}"
        yield from wrapped(f"It binds: with {one.change} it takes {one.minutes} minutes{proof}.")
    if not found.bindings:
        yield "No single thing binds: with any one loosened it takes as long."
    if found.chain is not None:
        yield from wrapped(f"What must follow each other takes {found.chain} minutes, whatever there is.")


def compare_lines(found: Operation, others: Mapping[str, Operation]) -> Iterator[str]:
    """The same traffic with each change."""
    if not others:
        return
    yield ""
    yield "what if                     longest    all  moves  waited  short  by hand"
    for name, one in {"as it is": found, **others}.items():
        minutes = [result.minutes for result in one.sessions if result.minutes is not None]
        played = [result.played for result in one.sessions]
        cells = (
            max(minutes, default=0),
            sum(minutes),
            sum(result.moves for result in one.sessions),
            sum(len(each.waited) for each in played),
            sum(short.count for each in played for short in each.shortages),
            sum(each.by_hand for each in played),
        )
        widths = (9, 7, 7, 8, 7, 9)
        row = "".join(f"{cell:>{width}}" for cell, width in zip(cells, widths, strict=True))
        none = len(one.sessions) - len(minutes)
        yield f"{name[:26]:<26}{row}" + (f"  {none} cannot be run" if none else "")
    yield "longest, all: minutes of the longest session, and of all together."
