"""The text of the page of a session."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import replace
from importlib.resources import files

from switchsolve.onefile import document
from switchsolve.operating import Operation, SessionResult
from switchsolve.operating.results import Balance
from switchsolve.operating.summing import (
    ALL_TOGETHER,
    ASKS,
    LEAST_HEADS,
    LEASTS,
    READING,
    balance_texts,
    binding_texts,
    change_cells,
    even_text,
    head_text,
    lasts_text,
    least_cells,
    let_pass_text,
    level_cells,
    needs_texts,
    not_proved_text,
    plain_text,
    waited_texts,
)
from switchsolve.operating.telling import (
    cleared_texts,
    crews_cell,
    crews_troubles,
    entry_text,
    session_cells,
    troubles,
)
from switchsolve.sessionpage.bars import bar_lines, bars_right, key_lines
from switchsolve.sessionpage.fill import fill_lines, fill_rows
from switchsolve.sessionpage.graph import graph_lines, graph_right
from switchsolve.sessionpage.marks import Axis, axis_of, words_of
from switchsolve.sessionpage.sheets import CAUTION, sheet_lines
from switchsolve.sessionpage.tables import folded, items, table
from switchsolve.timetable.reading import YARD
from switchsolve.words import counted

__all__ = ["session_html"]


def session_html(found: Operation, others: Mapping[str, Operation] | None = None) -> str:
    """The page of sessions that were played; ``others``: the same traffic with each change of the file."""
    result = found.looked_at
    body = [*_header(found), "<main>"]
    if result is not None and result.timetable is not None:
        body += [*_shown(found, result), *_charts(found, result), *sheet_lines(found, result)]
    body += [*_sessions(found), *_balance(found), *_needs(found), *_changes(found, others or {}), "</main>"]
    title = words_of(found.layout.title or "Layout")
    return document(title, f"\n{_style()}", body)


def _style() -> str:
    return files("switchsolve.sessionpage").joinpath("session.css").read_text(encoding="utf-8")


def _header(found: Operation) -> Iterator[str]:
    yield "<header>"
    yield f'<p class="small">{CAUTION}</p>'
    yield f"<h1>{words_of(found.layout.title or 'Layout')}</h1>"
    yield f'<p class="answer">{words_of(head_text(found))}</p>'
    if found.balance is not None:
        yield f'<p class="answer">{"In balance." if found.balance.is_kept else "Not in balance."}</p>'
    yield "</header>"


# ---- the session that is looked at


def _shown(found: Operation, result: SessionResult) -> Iterator[str]:
    yield f'<section><h2>Session {found.shown}</h2><p class="answer">'
    yield f"{lasts_text(found, result)}, {even_text(result)}.</p>"
    if found.crews:
        heads = ["crews", *(str(row.crews) for row in found.crews)]
        row = ["minutes", *(crews_cell(row) for row in found.crews)]
        yield from table("Its length against the number of crews", heads, [row], len(found.crews))
    yield from _told(crews_troubles(found, result))
    yield from items([*filter(None, [plain_text(found)]), *binding_texts(found)])
    if result.played.waited:
        rows = [(one.car, one.at, one.why) for one in result.played.waited]
        yield from table("Cars that waited in this session", ("car", "at", "why"), rows)
    yield "</section>"


def _told(troubles: Iterable[tuple[str, Sequence[str]]]) -> Iterator[str]:
    """Sentences, each with its list of demands."""
    for text, demands in troubles:
        yield f"<p>{words_of(text)}</p>"
        yield from items(demands)


def _charts(found: Operation, result: SessionResult) -> Iterator[str]:
    """Three charts on one scale of time, each with its table."""
    timetable, layout = result.timetable, found.layout
    assert timetable is not None
    axis = axis_of(layout, max(1, timetable.minutes))
    axis = replace(axis, least=max(bars_right(result, axis), graph_right(layout, result, axis)))
    yield '<section class="charts"><h2>Trains</h2><figure>'
    yield from graph_lines(layout, result, axis)
    yield '<figcaption class="small">A thick line: at work, or stands at the yard. Dots: waits. A'
    yield " diamond: a train with a fixed time.</figcaption></figure>"
    yield from items(cleared_texts(timetable.cleared))
    yield from folded("Trains as a table", table("Trains", _ENTRIES, _entries(result), 3))
    yield "<h2>Crews</h2><figure>"
    yield from bar_lines(result, axis)
    yield "<figcaption>"
    yield from key_lines()
    yield "</figcaption></figure>"
    yield from folded("Crews as a table", table("Crews", _DUTIES, _duties(result), 3))
    yield from _fill(found, result, axis)
    yield "</section>"


_ENTRIES = ("train", "where", "what", "crew", "from minute", "to", "waits")
_DUTIES = ("crew", "what", "from minute", "to", "waits")


def _entries(result: SessionResult) -> Iterator[tuple[str, ...]]:
    """Trains one after the other, each in the order of time."""
    assert result.timetable is not None
    entries = [entry for entry in result.timetable.entries if entry.kind != YARD]
    for name in dict.fromkeys(entry.train for entry in entries):
        for one in entries:
            if one.train == name:
                times = (str(one.start), str(one.end), str(one.waits))
                yield one.train, one.where, one.kind, one.crew, *times


def _duties(result: SessionResult) -> Iterator[tuple[str, ...]]:
    """What each crew does, in the order of time."""
    assert result.timetable is not None
    for crew in result.work.crews:
        for one in result.timetable.of_crew(crew):
            whose = "" if one.kind == YARD else f"{one.train}: "
            text = f"{whose}{entry_text(result.played, one)}"
            yield crew, text, str(one.start), str(one.end), str(one.waits)


def _fill(found: Operation, result: SessionResult, axis: Axis) -> Iterator[str]:
    lines = list(fill_lines(found.layout, result, axis))
    if not lines:
        return
    yield "<h2>Yard</h2><figure>"
    yield from lines
    yield '<figcaption class="small">Figures: cars on its tracks. The arrival and departure tracks are not'
    yield " among them.</figcaption></figure>"
    rows = fill_rows(found.layout, result, axis.minutes)
    heads = ("from minute", "to", "cars", "length")
    yield from folded("Yard as a table", table("Fill of the yard", heads, rows, 4))


# ---- all sessions


def _sessions(found: Operation) -> Iterator[str]:
    yield '<section class="all"><h2>All sessions</h2>'
    rows = [session_cells(one) for one in found.sessions]
    if rows:
        heads = tuple(rows[0])
        yield from table("Sessions", heads, [tuple(row.values()) for row in rows], len(heads))
    yield f'<p class="small">{words_of(READING)}</p>'
    yield from (f"<p>{words_of(text)}</p>" for text in (not_proved_text(found), let_pass_text(found)) if text)
    for one in found.sessions:
        yield from _told(troubles(one, found))
    yield "</section>"


def _balance(found: Operation) -> Iterator[str]:
    if found.balance is None:
        return
    yield "<section><h2>Balance</h2>"
    yield from items(balance_texts(found.balance))
    if found.balance.waited:
        yield "<h3>Cars waited</h3>"
        yield from items(waited_texts(found.balance))
    yield from _levels(found.balance)
    yield "</section>"


def _levels(balance: Balance) -> Iterator[str]:
    heads = ("place", "kind", "loaded or empty", "first", "last", "least")
    rows = [(*map(str, row),) for row in level_cells(balance)]
    yield from table("Cars before the first session, before the last, and the least", heads, rows, 3)


def _needs(found: Operation) -> Iterator[str]:
    if found.needs is None:
        return
    yield f"<section><h2>What the traffic asks for</h2><p>{words_of(ASKS)}</p>"
    yield from table("Yard, staging, trains", ("what", "most"), needs_texts(found, found.needs))
    if found.leasts:
        yield f"<p>{words_of(LEASTS)}</p>"
        yield from table("How little would do", LEAST_HEADS, least_cells(found))
    yield "</section>"


def _changes(found: Operation, others: Mapping[str, Operation]) -> Iterator[str]:
    """The same traffic with each change of the file."""
    if not others:
        return
    cells = {name: change_cells(one) for name, one in {"as it is": found, **others}.items()}
    heads = ["what if", *(head.replace("none", "cannot be run") for head in change_cells(found))]
    rows = [(name, *map(str, row.values())) for name, row in cells.items()]
    yield f"<section><h2>What if</h2><p>{counted(len(others), 'change')}, on the same traffic.</p>"
    yield from table("What if", heads, rows, len(heads) - 1)
    yield f'<p class="small">{words_of(ALL_TOGETHER)}</p></section>'
