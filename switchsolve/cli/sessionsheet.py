"""Each crew's sheet of work: what it does, when, with which cars."""

from __future__ import annotations

from collections.abc import Iterator
from textwrap import fill

from switchsolve.layout import Layout
from switchsolve.operating import SessionResult
from switchsolve.operating.results import Skip
from switchsolve.operating.telling import clear_texts, entry_text, skip_text
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
            yield from _entry_lines(layout, result, entry, skips)


def _entry_lines(
    layout: Layout, result: SessionResult, entry: Entry, skips: tuple[Skip, ...]
) -> Iterator[str]:
    assert result.timetable is not None
    whose = "" if entry.kind == YARD else f"{entry.train}: "
    when = f"  {layout.fast_time(entry.start)} {entry.start:>4}-{entry.end:<4}"
    text = f"{when}{whose}{entry_text(result.played, entry)}"
    if entry.waits:
        text += f", waits {counted(entry.waits, 'minute')}"
    yield from fill(text, 79, subsequent_indent=" " * 18, break_on_hyphens=False).splitlines()
    for told in clear_texts(result.timetable, entry):
        yield from fill(told, 79, initial_indent=" " * 18, subsequent_indent=" " * 18).splitlines()
    for skip in skips:
        if entry.kind == "work" and (skip.train, skip.place) == (entry.train, entry.where):
            yield " " * 18 + skip_text(skip)
