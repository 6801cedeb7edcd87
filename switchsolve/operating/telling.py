"""A session in words: what a crew does, for whom it clears the main, what a car less saves, what clashes."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import replace

from switchsolve.operating.loosening import with_crews
from switchsolve.operating.records import Played
from switchsolve.operating.results import CrewsRow, Operation, SessionResult, Skip
from switchsolve.scheduling import Clash, Problem
from switchsolve.timetable.building import problem_of
from switchsolve.timetable.names import work
from switchsolve.timetable.reading import YARD, Cleared, Entry, Timetable
from switchsolve.timetable.telling import demand_text
from switchsolve.words import counted

__all__ = [
    "clear_texts",
    "cleared_once",
    "cleared_texts",
    "crews_cell",
    "crews_troubles",
    "entry_text",
    "minutes_cell",
    "session_cells",
    "skip_text",
    "troubles",
]


def entry_text(played: Played, entry: Entry) -> str:
    """What is done in one entry of a timetable; the train, if it is one's, is not named."""
    if entry.kind == YARD:
        return _yard(played, entry)
    if entry.kind == "run":
        return entry.where
    if entry.kind == "passing":
        return f"past {entry.where}"
    if entry.kind == "stop":
        return f"stands at {entry.where}{_set_out(played, entry)}"
    return f"works {entry.where}{_work(played, entry)}"


def _yard(played: Played, entry: Entry) -> str:
    task = next(one for one in played.yard_tasks if one.name == entry.task)
    moves = counted(task.worked.moves or 0, "move")
    cars = task.worked.train if task.is_make_up else task.cars
    verb = "make up for" if task.is_make_up else "put away from"
    train = task.train or "an earlier session"
    return f"yard: {verb} {train} {', '.join(cars)} ({moves})"


def _set_out(played: Played, entry: Entry) -> str:
    """What a through train sets out and picks up."""
    out = [one.car for one in played.moved if one.task == entry.task and one.source.place == entry.train]
    taken = [one.car for one in played.moved if one.task == entry.task and one.target.place == entry.train]
    parts = [f"set out {', '.join(out)}"] if out else []
    parts += [f"pick up {', '.join(taken)}"] if taken else []
    return f": {'; '.join(parts)}" if parts else ""


def _work(played: Played, entry: Entry) -> str:
    """What a local spots and picks up."""
    here = [one for one in played.works if (one.train, one.place) == (entry.train, entry.where)]
    parts = []
    for one in here:
        moved = [move for move in played.moved if move.task == entry.task]
        spots = [f"{move.car} to {move.target.track}" for move in moved if move.target.place == one.place]
        takes = [move.car for move in moved if move.source.place == one.place]
        parts += [f"spot {', '.join(spots)}"] if spots else []
        parts += [f"pick up {', '.join(takes)}"] if takes else []
        parts.append(counted(one.worked.moves or 0, "move"))
    return f": {'; '.join(parts)}" if parts else ""


def skip_text(skip: Skip) -> str:
    """The one car to skip when late."""
    saved = f"{counted(skip.moves, 'move')} and {counted(skip.minutes, 'minute')} less"
    return f"if late, skip {skip.car}: {saved}"


def cleared_texts(cleared: Iterable[Cleared]) -> Iterator[str]:
    """Crews that clear the main: a sentence for each time, with all trains that pass meanwhile."""
    for one, passing in cleared_once(cleared).items():
        by = f" ({counted(one.moves, 'move')} and as many back)"
        how = f"clears the main{by}" if one.moves else "is clear of the main with no move more"
        for_whom = f"for {' and '.join(passing)}, minutes {one.start} to {one.end}"
        yield f"{one.train} at {one.place} {how} after move {one.after} {for_whom}."


def clear_texts(timetable: Timetable, entry: Entry) -> Iterator[str]:
    """What the crew at work is told of it on its sheet."""
    at_work = [one for one in timetable.cleared if (one.train, one.place) == (entry.train, entry.where)]
    for one, passing in cleared_once(at_work if entry.kind == "work" else ()).items():
        by = f" ({counted(one.moves, 'move')}, and as many back)" if one.moves else ""
        clear = "clear the main" if one.moves else "be clear of the main"
        yield f"after move {one.after} {clear} for {' and '.join(passing)}{by}"


def cleared_once(cleared: Iterable[Cleared]) -> Mapping[Cleared, list[str]]:
    """Each time that the main was cleared, for whomever, with the trains that passed: one clearing may serve
    several."""
    found: dict[Cleared, list[str]] = {}
    for one in cleared:
        found.setdefault(replace(one, passing="", until=one.end), []).append(one.passing)
    return found


# -- all sessions, a row each


def session_cells(one: SessionResult) -> Mapping[str, str]:
    """The figures of a session by their heads."""
    played = one.played
    works = {work(done.train, done.place): done.place for done in played.works}
    moved = [move for move in played.moved if move.task in works]
    cells = {
        "session": played.number,
        "minutes": minutes_cell(one),
        "moves": one.moves,
        "spotted": sum(move.target.place == works[move.task] for move in moved),
        "picked up": sum(move.source.place == works[move.task] for move in moved),
        "waited": len(played.waited),
        "short": sum(short.count for short in played.shortages),
        "by hand": played.by_hand,
    }
    return {head: str(cell) for head, cell in cells.items()}


def minutes_cell(one: SessionResult) -> str:
    """Its length, or what it cannot be under and what was found."""
    if one.minutes is None:
        return "none"
    return str(one.minutes) if one.answer.gap == 0 else f"{one.answer.bound}-{one.minutes}"


def crews_cell(row: CrewsRow) -> str:
    """The same with so many crews."""
    if row.minutes is None:
        return "none"
    return str(row.minutes) if row.minutes == row.bound else f"{row.bound}-{row.minutes}"


# -- why not: a sentence, and the demands that clash


def troubles(one: SessionResult, found: Operation) -> Iterator[tuple[str, Sequence[str]]]:
    """Why a session, or a train of it, cannot be run, or must be longer than it may be."""
    number = one.played.number
    for train, why in one.played.annulled.items():
        yield f"Session {number}: {train} does not run: {why}.", ()
    if one.nobody:
        yield f"Session {number} cannot be run: {one.nobody}.", ()
    elif one.answer.clash is not None:
        clash, problem = one.answer.clash, problem_of(one.work)
        text = f"Session {number} cannot be run. These clash{_minimal(clash)}:"
        yield text, _demands(clash, problem, found)
    if one.too_long is not None:
        limit = found.layout.minutes
        text = f"Session {number} takes longer than {limit} minutes. These clash{_minimal(one.too_long)}:"
        yield text, _demands(one.too_long, problem_of(one.work, limit), found)


def crews_troubles(found: Operation, result: SessionResult) -> Iterator[tuple[str, Sequence[str]]]:
    """Why the session cannot be run by so many crews."""
    for row in found.crews:
        if row.clash is not None:
            problem = problem_of(with_crews(found.layout, result.work, row.crews))
            text = f"With {counted(row.crews, 'crew')} these clash{_minimal(row.clash)}:"
            yield text, _demands(row.clash, problem, found)
        elif row.minutes is None:
            yield f"{counted(row.crews, 'crew')}: {row.why}.", ()


def _minimal(clash: Clash) -> str:
    return " (without any one the rest can be met)" if clash.is_minimal else " (perhaps fewer would do)"


def _demands(clash: Clash, problem: Problem, found: Operation) -> list[str]:
    return [demand_text(demand, problem, found.layout) for demand in clash.demands]
