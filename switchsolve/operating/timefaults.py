"""Can a timetable be run?  Asked of places, links, aisles and people, without the code that makes one."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Mapping
from itertools import pairwise

from switchsolve.layout import Layout
from switchsolve.operating.records import Played
from switchsolve.timetable.reading import YARD, Entry, Timetable

__all__ = ["time_faults"]

_Spans = list[tuple[int, int, str]]


def time_faults(layout: Layout, played: Played, timetable: Timetable) -> list[str]:
    """Everything that is wrong with when and by whom things are done."""
    entries = timetable.entries
    return [
        *_trains(layout, entries),
        *_crews(layout, entries),
        *_too_many(layout, entries),
        *_yard_order(played, timetable),
        *_passing(entries, timetable),
    ]


def _trains(layout: Layout, entries: tuple[Entry, ...]) -> Iterator[str]:
    """A train is somewhere at any time: each step begins where the last one ended; fixed times are kept."""
    for train in layout.trains:
        steps = [entry for entry in entries if entry.train == train.name and entry.kind != YARD]
        for sooner, later in pairwise(steps):
            if later.start != sooner.end:
                yield f"{train.name} is nowhere between {sooner.task} and {later.task}"
        if steps and train.leaves is not None and steps[0].start != train.leaves:
            yield f"{train.name} leaves at {steps[0].start} and not at {train.leaves}"


def _crews(layout: Layout, entries: tuple[Entry, ...]) -> Iterator[str]:
    """Nobody does two things at once, nor what he cannot do."""
    spans: dict[str, dict[str, tuple[int, int]]] = defaultdict(dict)
    for entry in entries:
        is_yard = entry.kind == YARD
        if entry.crew not in layout.crews_of(layout.switcher.name if is_yard else entry.train):
            yield f"{entry.crew} may not do {entry.task}"
        duty = entry.task if is_yard else entry.train
        start, end = spans[entry.crew].get(duty, (entry.start, entry.end))
        spans[entry.crew][duty] = min(start, entry.start), max(end, entry.end)
    for crew, duties in spans.items():
        for (one, (_, end)), (other, (start, _)) in pairwise(sorted(duties.items(), key=lambda row: row[1])):
            if start < end:
                yield f"{crew} does {one} and {other} at once"


def _too_many(layout: Layout, entries: tuple[Entry, ...]) -> Iterator[str]:
    """Links, districts, the lead, the main of a place, and aisles hold no more than they have room for."""
    room: dict[str, int] = {}
    spans: dict[str, _Spans] = defaultdict(list)
    aisles = {place: aisle for aisle in layout.aisles for place in aisle.places}
    tracks = {link.name: link.tracks for link in layout.links}
    for entry in entries:
        what = entry.where if entry.kind == "run" else f"{entry.where} ({_part_of(entry)})"
        room[what] = tracks[entry.where] if entry.kind == "run" else 1
        spans[what].append((entry.start, entry.end, entry.task))
        if entry.where in aisles and entry.kind not in ("run", "passing"):
            aisle = aisles[entry.where]
            room[aisle.name] = aisle.people
            spans[aisle.name].append((entry.start, entry.end, entry.task))
    yield from _overlaps(room, spans)


def _part_of(entry: Entry) -> str:
    return {YARD: "lead", "work": "district"}.get(entry.kind, "main")


def _overlaps(room: Mapping[str, int], spans: Mapping[str, _Spans]) -> Iterator[str]:
    for what, rows in spans.items():
        for start, _, _ in rows:
            now = [task for first, last, task in rows if first <= start < last]
            if len(now) > room[what]:
                yield f"{what} has room for {room[what]}; at {start} there are {', '.join(sorted(now))}"
                break


def _yard_order(played: Played, timetable: Timetable) -> Iterator[str]:
    """The yard works in the order in which its moves were found: each starts from the last one's standing."""
    times = timetable.times()
    tasks = [task.name for task in played.yard_tasks if task.name in times]
    for sooner, later in pairwise(tasks):
        if times[later][0] < times[sooner][1]:
            yield f"{later} starts before {sooner} has ended"


def _passing(entries: tuple[Entry, ...], timetable: Timetable) -> Iterator[str]:
    """A train passes a crew at work only while that has cleared the main."""
    for passing in entries:
        for work in entries:
            if passing.kind != "passing" or work.kind != "work" or passing.where != work.where:
                continue
            if passing.end <= work.start or work.end <= passing.start:
                continue
            cleared = [
                one
                for one in timetable.cleared
                if (one.train, one.place, one.passing) == (work.train, work.where, passing.train)
            ]
            if not any(one.start <= passing.start and passing.end <= one.until <= one.end for one in cleared):
                yield f"{passing.task} while {work.train} is not clear of the main"
