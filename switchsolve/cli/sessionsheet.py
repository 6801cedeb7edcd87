"""Each crew's sheet of work: what it does, when, with which cars."""

from __future__ import annotations

from collections.abc import Iterator
from textwrap import fill

from switchsolve.layout import Layout
from switchsolve.operating import SessionResult
from switchsolve.operating.records import Played
from switchsolve.operating.results import Skip
from switchsolve.timetable.reading import YARD, Entry
from switchsolve.words import counted

__all__ = ["sheet_lines"]


def sheet_lines(layout: Layout, result: SessionResult, skips: tuple[Skip, ...]) -> Iterator[str]:
    """The sheets of all crews that have work."""
    assert result.timetable is not None
    for crew in result.work.crews:
        entries = result.timetable.of_crew(crew)
        if not entries:
            continue
        work = sum(entry.end - entry.start - entry.waits for entry in entries)
        yield ""
        yield f"{crew}: {work} minutes of work"
        for entry in entries:
            yield from _entry_lines(layout, result.played, entry, skips)


def _entry_lines(layout: Layout, played: Played, entry: Entry, skips: tuple[Skip, ...]) -> Iterator[str]:
    when = f"  {layout.fast_time(entry.start)} {entry.start:>4}-{entry.end:<4}"
    text = f"{when}{_what(played, entry)}"
    if entry.waits:
        text += f", waits {counted(entry.waits, 'minute')}"
    yield from fill(text, 79, subsequent_indent=" " * 18, break_on_hyphens=False).splitlines()
    for skip in skips:
        if entry.kind == "work" and (skip.train, skip.place) == (entry.train, entry.where):
            saved = f"{counted(skip.moves, 'move')} and {counted(skip.minutes, 'minute')} less"
            yield " " * 18 + f"if late, skip {skip.car}: {saved}"


def _what(played: Played, entry: Entry) -> str:
    """What is done, in words."""
    if entry.kind == YARD:
        return _yard(played, entry)
    if entry.kind == "run":
        return f"{entry.train}: {entry.where}"
    if entry.kind == "passing":
        return f"{entry.train}: past {entry.where}"
    if entry.kind == "stop":
        return f"{entry.train}: stands at {entry.where}{_set_out(played, entry)}"
    return f"{entry.train}: works {entry.where}{_work(played, entry)}"


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
