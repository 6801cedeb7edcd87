"""The bar chart of the crews: what each does when, hatched by what it is, so that it reads without colour."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from switchsolve.drawing.text import clean, shortened, text_width
from switchsolve.operating import SessionResult
from switchsolve.sessionpage.marks import RULER, Axis, Label, chart, line, rect
from switchsolve.sessionpage.placing import raised
from switchsolve.sessionpage.waiting import busy_spans, duties_of, waits_of
from switchsolve.timetable.reading import YARD, Entry, Timetable
from switchsolve.words import counted

__all__ = ["KINDS", "bar_lines", "bars_right", "duty_name", "key_lines", "work_minutes"]

_BAR, _LANE, _GAP = 24.0, 15.0, 14.0
_LONGEST = 210.0
"""Widest name of a duty."""
KINDS: Mapping[str, str] = {
    "work": "works a place",
    "run": "runs, or passes a place",
    "stop": "stands at the yard",
    YARD: "works the yard",
    "wait": "waits",
    "free": "free",
}
"""What the hatchings mean."""


def work_minutes(entries: tuple[Entry, ...]) -> int:
    """Minutes of work of a crew, waiting apart."""
    return sum(entry.end - entry.start - entry.waits for entry in entries)


def duty_name(duty: tuple[Entry, ...]) -> str:
    """A train, or what the yard does."""
    return duty[0].task if duty[0].kind == YARD else duty[0].train


def bars_right(result: SessionResult, axis: Axis) -> float:
    """How far the names over the bars go."""
    timetable = result.timetable
    assert timetable is not None
    labels = [label for crew in result.work.crews for label, _ in _labels(timetable, crew, axis)]
    return max((label.box.right for label in labels), default=0.0)


def bar_lines(result: SessionResult, axis: Axis) -> Iterator[str]:
    """The chart of a session that has a timetable: a bar for each crew, each duty with number and name."""
    timetable = result.timetable
    assert timetable is not None
    names: list[Label] = []
    body = list(_patterns())
    y = RULER + 6
    for crew in result.work.crews:
        labels = _labels(timetable, crew, axis)
        top = y + _LANE * (1 + max((lane for _, lane in labels), default=0))
        work = counted(work_minutes(timetable.of_crew(crew)), "minute")
        names.append(Label(crew, 0, top + 11, 12, "start", "place"))
        names.append(Label(f"{work} of work", 0, top + 24, 10))
        body += _bar(timetable, crew, axis, top)
        body += _names(labels, top)
        y = top + _BAR + _GAP
    told = f"{counted(len(result.work.crews), 'crew')} over {axis.minutes} minutes; their sheets have it all."
    yield from chart("Bar chart of the crews", told, axis, y, bars_right(result, axis), names, body)


def _labels(timetable: Timetable, crew: str, axis: Axis) -> list[tuple[Label, int]]:
    """Number and name of each duty, and how many lanes above the bar it stands."""
    found = []
    for number, duty in enumerate(duties_of(timetable, crew), 1):
        text = shortened(clean(f"{number} {duty_name(duty)}"), _LONGEST, 11)
        found.append(Label(text, axis.x(duty[0].start) + 3, 0))
    lanes = raised([(label.x - 3, text_width(label.text, label.size) + 8) for label in found])
    return list(zip(found, lanes, strict=True))


def _names(labels: list[tuple[Label, int]], top: float) -> Iterator[str]:
    for label, lane in labels:
        y = top - 4 - _LANE * lane
        yield line("hang", label.x - 3, y - 9, label.x - 3, top)
        yield Label(label.text, label.x, y, label.size).svg()


def _bar(timetable: Timetable, crew: str, axis: Axis, top: float) -> Iterator[str]:
    at = 0
    for entry in timetable.of_crew(crew):
        yield from _free(axis, at, entry.start, top)
        yield from _entry(timetable, entry, axis, top)
        at = entry.end
    yield from _free(axis, at, axis.minutes, top)


def _entry(timetable: Timetable, entry: Entry, axis: Axis, top: float) -> Iterator[str]:
    """One box, with those of its waits over it; the place in it, where there is room."""
    kind = "run" if entry.kind == "passing" else entry.kind
    x, width = axis.x(entry.start), (entry.end - entry.start) * axis.per_minute
    yield rect(f"bar {kind}", x, top, width, _BAR)
    for start, end in waits_of(timetable, entry):
        yield rect("bar wait", axis.x(start), top, (end - start) * axis.per_minute, _BAR)
    spans = busy_spans(timetable, entry)
    start, end = max(spans, key=lambda span: span[1] - span[0], default=(entry.start, entry.start))
    room = (end - start) * axis.per_minute
    if entry.kind == "work" and text_width(clean(entry.where), 10) + 6 <= room:
        yield Label(clean(entry.where), axis.x(start) + room / 2, top + 15.5, 10, "middle", "inside").svg()


def _free(axis: Axis, start: int, end: int, top: float) -> Iterator[str]:
    """A thin line while a crew has nothing to do, and for how long."""
    if end <= start:
        return
    middle = top + _BAR / 2
    yield line("free", axis.x(start), middle, axis.x(end), middle)
    text = f"{end - start} free"
    if text_width(text, 10) + 4 <= (end - start) * axis.per_minute:
        yield Label(text, (axis.x(start) + axis.x(end)) / 2, middle - 3, 10, "middle", "idle").svg()


def _patterns() -> Iterator[str]:
    """Hatchings: lines one way, crossed lines, dots."""
    yield "<defs>"
    yield _pattern("run", '<path d="M-1 7L7-1M2 10L10 2M-4 4L4-4"/>')
    yield _pattern(YARD, '<path d="M0 0L6 6M6 0L0 6"/>')
    yield _pattern("stop", '<circle cx="3" cy="3" r="1.1"/>')
    yield "</defs>"


def _pattern(kind: str, drawn: str) -> str:
    size = 'patternUnits="userSpaceOnUse" width="6" height="6"'
    ground = '<rect width="6" height="6"/>'
    return f'<pattern id="hatch-{kind}" class="hatch {kind}" {size}>{ground}{drawn}</pattern>'


def key_lines() -> Iterator[str]:
    """What the hatchings mean."""
    yield '<ul class="key">'
    for kind, told in KINDS.items():
        mark = line("free", 0, 8, 26, 8) if kind == "free" else rect(f"bar {kind}", 0.5, 0.5, 25, 15)
        box = 'width="26" height="16" viewBox="0 0 26 16"'
        yield f'<li><svg {box} aria-hidden="true">{mark}</svg> {told}</li>'
    yield "</ul>"
