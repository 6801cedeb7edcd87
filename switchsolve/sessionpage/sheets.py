"""Each crew's sheet of work, on a page of its own in print."""

from __future__ import annotations

from collections.abc import Iterator

from switchsolve.operating import Operation, SessionResult
from switchsolve.operating.telling import clear_texts, entry_text, skip_text
from switchsolve.sessionpage.bars import duty_name, work_minutes
from switchsolve.sessionpage.marks import words_of
from switchsolve.sessionpage.waiting import duties_of
from switchsolve.timetable.reading import YARD, Entry
from switchsolve.words import counted

__all__ = ["CAUTION", "sheet_lines"]

CAUTION = "For models only: never plan or direct real train movements with this page."


def sheet_lines(found: Operation, result: SessionResult) -> Iterator[str]:
    """The sheets of all crews that have work."""
    timetable = result.timetable
    assert timetable is not None
    for crew in result.work.crews:
        duties = duties_of(timetable, crew)
        if duties:
            yield f'<section class="sheet" aria-label="{words_of(f"Sheet of {crew}")}">'
            yield from _head(found, crew, work_minutes(timetable.of_crew(crew)))
            yield from _table(found, result, duties)
            yield "</section>"


def _head(found: Operation, crew: str, minutes: int) -> Iterator[str]:
    title = words_of(found.layout.title or "Layout")
    yield f"<h2>{words_of(crew)}</h2>"
    yield f'<p class="about">{title}, session {found.shown}: {counted(minutes, "minute")} of work</p>'
    yield f'<p class="small">{CAUTION}</p>'


def _table(found: Operation, result: SessionResult, duties: list[tuple[Entry, ...]]) -> Iterator[str]:
    yield '<table class="work"><thead><tr><th scope="col">Clock</th><th scope="col">Minutes</th>'
    yield '<th scope="col">What to do</th><th scope="col">Done</th></tr></thead>'
    for number, duty in enumerate(duties, 1):
        yield "<tbody>"
        name = words_of(f"{number} {duty_name(duty)}")
        yield f'<tr class="duty"><th colspan="4" scope="rowgroup">{name}</th></tr>'
        for entry in duty:
            yield from _entry(found, result, entry)
        yield "</tbody>"
    yield "</table>"


def _entry(found: Operation, result: SessionResult, entry: Entry) -> Iterator[str]:
    text = entry_text(result.played, entry)
    if entry.kind == YARD:
        text = text.removeprefix("yard: ")
    if entry.waits:
        text += f", waits {counted(entry.waits, 'minute')}"
    told = words_of(f"Over {text}" if entry.kind == "run" else _begun(text))
    assert result.timetable is not None
    for clear in clear_texts(result.timetable, entry):
        told += f'<br><b class="clear">{words_of(_begun(clear))}</b>'
    for skip in found.skips:
        if entry.kind == "work" and (skip.train, skip.place) == (entry.train, entry.where):
            told += f'<br><b class="skip">{words_of(_begun(skip_text(skip)))}</b>'
    clock = found.layout.fast_time(entry.start)
    tick = '<span class="tick"></span>'
    yield f"<tr><td>{clock}</td><td>{entry.start}–{entry.end}</td><td>{told}</td><td>{tick}</td></tr>"


def _begun(text: str) -> str:
    """With a capital at the beginning; names within stay as they are."""
    return text[:1].upper() + text[1:]
