"""The text of the sheets of a crew: the switch list, and the solution."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

from switchsolve.drawing import Schematic
from switchsolve.paper.document import document, field_lines, header_lines, words_of
from switchsolve.paper.picture import ground_of, strips_of
from switchsolve.paper.standing_rules import standing_rules
from switchsolve.paper.worklist import (
    LocomotiveRow,
    Row,
    Section,
    Sign,
    locomotive_rows,
    sections_of,
    train_texts,
)
from switchsolve.plan import Plan, Solution
from switchsolve.puzzle import Puzzle
from switchsolve.referee import replay
from switchsolve.words import counts_text, move_texts, tightest_text, verdict_text

__all__ = ["asked_lines", "paper_html", "plan_lines"]

_OF_CAR = {
    "car": "Car",
    "sort": "Kind",
    "stands": "Stands at",
    "rank": "In its row, from left",
    "goes": "Goes to",
    "done": "Done",
}
_OF_LOCOMOTIVE = {
    "car": "Locomotive",
    "stands": "Stands at",
    "rank": "In its row, from left",
    "heads": "Heads",
    "goes": "Ends",
    "done": "Done",
}
"""The columns of the two tables: their classes and their heads."""
_READING = (
    "At the start. Left and right in this list are those of the picture; a locomotive's point is its front."
    " On a track the order of the vehicles counts, not the inches."
)
_PIXELS = 1.15
"""Pixels for each drawing unit, at the most."""
_MOST_NOTES, _LEAST_NOTES = 10, 3
"""Lines for notes: fewer below a long plan, so that it stays on one sheet."""


def paper_html(puzzle: Puzzle, solution: Solution | None = None, remarks: Sequence[str] = ()) -> str:
    """The switch list; with a solution of the puzzle a second sheet that holds it.

    ``remarks`` are sentences to be said after its verdict, such as why the work is impossible.
    Raises :class:`~switchsolve.errors.PlanError` if the referee finds anything wrong with the plan.
    """
    title = words_of(puzzle.title) or "A switching district"
    solved = _solution_sheet(puzzle, solution, title, remarks) if solution is not None else ()
    return document(f"Switch list: {title}", [*_list_sheet(puzzle, title), *solved])


# ---- the first sheet


def _list_sheet(puzzle: Puzzle, title: str) -> Iterator[str]:
    yield '<section class="sheet" aria-label="Switch list">'
    yield from header_lines("Switch list", title)
    yield from field_lines("Crew", "Date", "Begun", "Finished")
    yield from asked_lines(puzzle)
    yield "</section>"


def asked_lines(puzzle: Puzzle) -> Iterator[str]:
    """Where all stand, what is asked, and the standing rules."""
    ground = ground_of(puzzle)
    yield from _figure(puzzle, ground)
    yield from _work(sections_of(puzzle, ground))
    yield from _trains(train_texts(puzzle, ground))
    yield from _locomotives(locomotive_rows(puzzle, ground))
    yield from _rules(standing_rules(puzzle, ground))


def _figure(puzzle: Puzzle, ground: Schematic) -> Iterator[str]:
    yield "<figure>"
    for strip in strips_of(puzzle, ground):
        if strip.name:
            yield f'<p class="part">{strip.name}</p>'
        words = f"{strip.name}. {strip.words}" if strip.name else strip.words
        width = f"{strip.width * _PIXELS:.0f}"
        picture = f'<img src="{strip.source}" alt="{words_of(words)}" width="{width}">'
        yield f'<div class="wide">{picture}</div>'
    yield f"<figcaption>{_READING}</figcaption>"
    yield "</figure>"


def _work(sections: Sequence[Section]) -> Iterator[str]:
    yield "<h2>Work</h2>"
    if not sections:
        yield "<p>There are no cars.</p>"
        return
    yield f'<div class="wide"><table class="work">{_columns(_OF_CAR)}'
    for section in sections:
        yield "<tbody>"
        note = f' <span class="note">{words_of(section.note)}</span>' if section.note else ""
        head = f"{_sign(section.sign)}<b>{words_of(section.heading)}</b>{note}"
        yield f'<tr class="kind"><th colspan="{len(_OF_CAR)}" scope="rowgroup">{head}</th></tr>'
        for row in section.rows:
            yield _row(row, section)
        yield "</tbody>"
    yield "</table></div>"


def _columns(columns: Mapping[str, str]) -> str:
    """The head of a table; it is printed again at the top of each page."""
    widths = "".join(f'<col class="{name}">' for name in columns)
    heads = "".join(f'<th scope="col">{head}</th>' for head in columns.values())
    return f"<colgroup>{widths}</colgroup><thead><tr>{heads}</tr></thead>"


def _row(row: Row, section: Section) -> str:
    cells = (row.kind, row.stands, row.rank, row.goes)
    done = _tick(row.car) if section.has_ticks else ""
    told = "".join(f"<td>{words_of(cell)}</td>" for cell in cells)
    head = f'<th scope="row">{_sign(section.sign)}{words_of(row.car)}{_said(section.sign)}</th>'
    return f'<tr>{head}{told}<td class="done">{done}</td></tr>'


def _tick(name: str) -> str:
    return f'<input type="checkbox" aria-label="{words_of(name)}: done">'


_SHAPES = {
    Sign.HOLD: '<circle cx="8" cy="8" r="6.6"/><path d="M6 5v6M10 5v6"/>',
    Sign.DO_NOT_TOUCH: '<path d="M5.2 1h5.6L15 5.2v5.6L10.8 15H5.2L1 10.8V5.2ZM5 5l6 6M11 5l-6 6"/>',
}
"""Two bars in a ring; a cross in an octagon."""


def _sign(sign: Sign) -> str:
    """The shape that goes with a word."""
    if sign is Sign.NONE:
        return ""
    return f'<svg class="sign" viewBox="0 0 16 16" aria-hidden="true">{_SHAPES[sign]}</svg>'


def _said(sign: Sign) -> str:
    return f' <span class="word">{sign.value}</span>' if sign is not Sign.NONE else ""


def _trains(trains: Sequence[Sequence[str]]) -> Iterator[str]:
    if trains:
        yield f"<h2>{'Train' if len(trains) == 1 else 'Trains'} to depart</h2>"
    for texts in trains:
        yield '<ul class="train">'
        yield from (f"<li>{words_of(text)}</li>" for text in texts)
        yield "</ul>"


def _locomotives(rows: Sequence[LocomotiveRow]) -> Iterator[str]:
    yield f"<h2>{'Locomotive' if len(rows) == 1 else 'Locomotives'}</h2>"
    yield f'<div class="wide"><table class="locomotives">{_columns(_OF_LOCOMOTIVE)}<tbody>'
    for row in rows:
        cells = (row.stands, row.rank, row.heads, row.ends)
        told = "".join(f"<td>{words_of(cell)}</td>" for cell in cells)
        name, done = words_of(row.name), _tick(row.name)
        yield f'<tr><th scope="row">{name}</th>{told}<td class="done">{done}</td></tr>'
    yield "</tbody></table></div>"


def _rules(rules: Sequence[tuple[str, str]]) -> Iterator[str]:
    if not rules:
        return  # a line that says so took a sheet of its own
    yield "<h2>Standing rules</h2>"
    yield '<ul class="rules">'
    yield from (f"<li><b>{words_of(place)}:</b> {words_of(rule)}</li>" for place, rule in rules)
    yield "</ul>"


# ---- the second sheet


def _solution_sheet(
    puzzle: Puzzle, solution: Solution, title: str, remarks: Sequence[str]
) -> Iterator[str]:
    yield '<section class="sheet solution" aria-label="Solution">'
    yield from header_lines("Solution", title)
    yield from plan_lines(puzzle, solution, remarks)
    yield "<h2>Notes</h2>"
    runs = len(solution.plan.runs) if solution.plan is not None else 0
    lines = max(_LEAST_NOTES, _MOST_NOTES - runs)
    yield f'<div class="notes">{"<i></i>" * lines}</div>'
    yield "</section>"


def plan_lines(puzzle: Puzzle, solution: Solution, remarks: Sequence[str] = ()) -> Iterator[str]:
    """Verdict, remarks on it, moves, counts and tightest place."""
    yield f'<p class="verdict">{words_of(verdict_text(solution))}</p>'
    yield from (f"<p>{words_of(remark)}</p>" for remark in remarks)
    if solution.plan is None:
        yield "<p>There is no plan to show.</p>"
    else:
        yield from _moves(puzzle, solution.plan)
        yield f"<p>{words_of(counts_text(puzzle, solution))}</p>"
    tightest = tightest_text(puzzle, solution)
    if tightest:
        yield f"<p>{words_of(tightest)}</p>"


def _moves(puzzle: Puzzle, plan: Plan) -> Iterator[str]:
    """The runs by number, each with a box to tick; what is uncoupled at the end below them."""
    texts = move_texts(puzzle, plan, replay(puzzle, plan))
    count = len(plan.runs)
    yield '<ol class="moves">'
    for number, text in enumerate(texts[:count], 1):
        yield f"<li>{_tick(f'Move {number}')}<span>{words_of(text)}</span></li>"
    yield "</ol>"
    yield from (f"<p>{words_of(text)}</p>" for text in texts[count:])
    if not count:
        yield "<p>Nothing has to be moved.</p>"
