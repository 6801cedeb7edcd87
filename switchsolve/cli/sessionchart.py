"""A session as pictures in letters: trains by place and time, crews as bars, the fill of the yard."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping

from switchsolve.layout import Layout
from switchsolve.operating import SessionResult
from switchsolve.operating.filling import yard_room
from switchsolve.timetable.reading import YARD, Entry, Timetable
from switchsolve.timetable.routes import route

__all__ = ["chart_lines", "letters_of"]

_NAMES = 18
_COLUMNS = 60
_WAITS, _IDLE, _YARD, _MANY = "-", ".", "y", "+"


def letters_of(names: Iterable[str]) -> dict[str, str]:
    """A letter for each train: the first of its name that no train before it has."""
    letters: dict[str, str] = {}
    for name in names:
        fresh = [one for one in name.upper() if one.isalpha() and one not in letters.values()]
        spare = [chr(code) for code in range(ord("A"), ord("Z") + 1) if chr(code) not in letters.values()]
        letters[name] = (fresh or spare or ["?"])[0]
    return letters


def chart_lines(layout: Layout, result: SessionResult) -> Iterator[str]:
    """The train graph, the bars of the crews, and the fill of the yard, all on one scale of time."""
    timetable = result.timetable
    assert timetable is not None
    letters = letters_of(dict.fromkeys(entry.train for entry in timetable.entries if entry.kind != YARD))
    step = -(-max(1, timetable.minutes) // _COLUMNS)
    columns = -(-max(1, timetable.minutes) // step)
    each = "one minute a column" if step == 1 else f"{step} minutes a column"
    yield f"Trains, place by time ({each}; {_WAITS} waits, {_MANY} several):"
    yield _ruler(step, columns)
    for where in _rows(layout, timetable):
        yield _row(where, _at(timetable, where, letters, step, columns))
    yield ""
    yield f"Crews ({_YARD} yard, {_WAITS} waits, {_IDLE} free):"
    for crew in result.work.crews:
        yield _row(crew, _busy(timetable, crew, letters, step, columns))
    yield from _fill(layout, result, step, columns)
    for name, letter in letters.items():
        yield f"  {letter}  {name}"


def _row(name: str, cells: str) -> str:
    return f"{name[:_NAMES]:<{_NAMES}} {cells}".rstrip()


def _ruler(step: int, columns: int) -> str:
    """Every tenth column with its minute."""
    marks = "".join(f"{column * step:<10}" for column in range(0, columns, 10))
    return " " * (_NAMES + 1) + marks.rstrip()


def _rows(layout: Layout, timetable: Timetable) -> list[str]:
    """Places and links: along the way of the through trains, then the others; but those never used."""
    names: list[str] = []
    ends = [place.name for place in layout.staging]
    for end in ends[1:]:
        way = route(layout, ends[0], end)
        names += [ends[0], *(one for link, there in way for one in (link.name, there))]
    for link in layout.links:
        names += [link.name, *link.ends]
    used = {entry.where for entry in timetable.entries}
    return [name for name in dict.fromkeys(names) if name in used]


def _at(timetable: Timetable, where: str, letters: Mapping[str, str], step: int, columns: int) -> str:
    """Which train is there in each column."""
    cells = [" "] * columns
    for entry in timetable.entries:
        if entry.where == where and entry.kind != YARD:
            for column in _columns(entry.start, entry.end, step):
                own = letters[entry.train]
                cells[column] = own if cells[column] in (" ", own) else _MANY
    return "".join(cells)


def _columns(start: int, end: int, step: int) -> range:
    return range(start // step, max(start // step + 1, -(-end // step)))


def _busy(timetable: Timetable, crew: str, letters: Mapping[str, str], step: int, columns: int) -> str:
    cells = [_IDLE] * columns
    for entry in timetable.of_crew(crew):
        for column in _columns(entry.start, entry.end - entry.waits, step):
            cells[column] = _letter(entry, letters)
        for column in range(-(-(entry.end - entry.waits) // step), -(-entry.end // step)):
            cells[column] = _WAITS
    return "".join(cells)


def _letter(entry: Entry, letters: Mapping[str, str]) -> str:
    return _YARD if entry.kind == YARD else letters[entry.train]


def _fill(layout: Layout, result: SessionResult, step: int, columns: int) -> Iterator[str]:
    """Tenths of the yard's length that are taken, at the end of each column."""
    room = yard_room(layout)
    if not result.yard_fill:
        return
    cells = []
    for column in range(columns):
        last = [level for level in result.yard_fill if level.minute <= (column + 1) * step][-1]
        cells.append(str(min(9, last.length * 10 // max(1, room))))
    most = max(level.cars for level in result.yard_fill)
    yield ""
    yield f"Yard, tenths of its tracks that are taken (most at once: {most} cars):"
    yield _row(layout.yard.name, "".join(cells))
    yield ""
