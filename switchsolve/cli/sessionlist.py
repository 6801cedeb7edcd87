"""What sessions come to, in words: all of them, the one that is looked at, and what changes would do."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from textwrap import fill

from switchsolve.cli.sessionchart import chart_lines
from switchsolve.cli.sessionsheet import sheet_lines
from switchsolve.operating import Operation, SessionResult
from switchsolve.operating.summing import (
    ALL_TOGETHER,
    READING,
    binding_texts,
    change_cells,
    even_text,
    head_text,
    lasts_text,
    let_pass_text,
    not_proved_text,
    plain_text,
)
from switchsolve.operating.telling import crews_cell, crews_troubles, session_cells, troubles

__all__ = ["compare_lines", "head_lines", "looked_at_lines", "wrapped"]

_WIDTHS = {"session": 7, "minutes": 9, "moves": 7, "spotted": 9, "picked up": 11, "waited": 8, "short": 7}
_WIDTHS |= {"by hand": 9, "longest": 9, "all": 7}


def wrapped(text: str) -> list[str]:
    """A sentence in lines of 79 letters, those after the first set in."""
    return fill(text, 79, subsequent_indent="  ", break_on_hyphens=False).splitlines()


def head_lines(found: Operation) -> Iterator[str]:
    """All sessions, a line for each."""
    yield from wrapped(head_text(found))
    yield ""
    rows = [session_cells(one) for one in found.sessions]
    yield from (_row({head: head for head in row}) for row in rows[:1])
    yield from map(_row, rows)
    yield from wrapped(READING)
    yield from wrapped(not_proved_text(found))
    yield from wrapped(let_pass_text(found))
    for one in found.sessions:
        yield from _trouble_lines(troubles(one, found))


def _row(cells: Mapping[str, str]) -> str:
    """Figures in columns, by their heads."""
    return "".join(f"{cell:>{_WIDTHS[head]}}" for head, cell in cells.items())


def _trouble_lines(told: Iterable[tuple[str, Sequence[str]]]) -> Iterator[str]:
    for text, demands in told:
        yield from wrapped(text)
        for demand in demands:
            yield from wrapped(f"  - {demand}")


def looked_at_lines(found: Operation) -> Iterator[str]:
    """The session that is looked at closely."""
    result = found.looked_at
    if result is None or result.timetable is None:
        return
    yield ""
    yield from wrapped(f"Session {found.shown}: {lasts_text(found, result)}, {even_text(result)}.")
    yield from _crews(found, result)
    for text in binding_texts(found):
        yield from wrapped(text)
    yield ""
    yield from chart_lines(found.layout, result)
    yield from sheet_lines(found.layout, result, found.skips)


def _crews(found: Operation, result: SessionResult) -> Iterator[str]:
    """The session against the number of crews."""
    if not found.crews:  # stopped before
        return
    yield "crews    " + "".join(f"{row.crews:>7}" for row in found.crews)
    yield "minutes  " + "".join(f"{crews_cell(row):>7}" for row in found.crews)
    yield from _trouble_lines(crews_troubles(found, result))
    yield from wrapped(plain_text(found))


def compare_lines(found: Operation, others: Mapping[str, Operation]) -> Iterator[str]:
    """The same traffic with each change."""
    if not others:
        return
    yield ""
    rows = {name: dict(change_cells(one)) for name, one in {"as it is": found, **others}.items()}
    none = {name: row.pop("none") for name, row in rows.items()}
    yield f"{'what if':<26}" + _row({head: head for head in rows["as it is"]})
    for name, row in rows.items():
        cells = _row({head: str(cell) for head, cell in row.items()})
        yield f"{name[:26]:<26}{cells}"
        if none[name]:
            yield f"  ({none[name]} of {found.asked} sessions cannot be run)"
    yield ALL_TOGETHER
