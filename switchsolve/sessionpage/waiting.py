"""What a crew's day is made of: its duties in a row, and the minutes of each entry in which it only waits."""

from __future__ import annotations

from itertools import groupby

from switchsolve.timetable.reading import YARD, Entry, Timetable

__all__ = ["busy_spans", "duties_of", "waits_of"]


def duties_of(timetable: Timetable, crew: str) -> list[tuple[Entry, ...]]:
    """The entries of a crew by duty: a train with all its steps, or one task of the yard."""
    entries = timetable.of_crew(crew)
    groups = groupby(entries, key=lambda one: one.task if one.kind == YARD else f"train {one.train}")
    return [tuple(group) for _, group in groups]


def waits_of(timetable: Timetable, entry: Entry) -> list[tuple[int, int]]:
    """Start and end of each wait: while it is clear of the main for others, and the rest at the end."""
    spans = {
        (one.start, one.end)
        for one in timetable.cleared
        if (one.train, one.place) == (entry.train, entry.where) and entry.kind == "work"
    }
    rest = entry.waits - sum(end - start for start, end in spans)
    return sorted(spans | ({(entry.end - rest, entry.end)} if rest > 0 else set()))


def busy_spans(timetable: Timetable, entry: Entry) -> list[tuple[int, int]]:
    """Start and end of what is between its waits."""
    waits = waits_of(timetable, entry)
    starts = [entry.start, *(end for _, end in waits)]
    ends = [*(start for start, _ in waits), entry.end]
    return [(start, end) for start, end in zip(starts, ends, strict=True) if start < end]
