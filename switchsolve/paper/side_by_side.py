"""Several districts on one sheet, each with its schematic and what there is to say of it."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from switchsolve.drawing.text import escaped
from switchsolve.paper.html import CAUTION, document
from switchsolve.paper.picture import picture_of
from switchsolve.puzzle import Puzzle

__all__ = ["Column", "side_by_side_html"]


@dataclass(frozen=True, slots=True)
class Column:
    """One district: its heading, its set-up, and lines of what and how much."""

    heading: str
    puzzle: Puzzle
    rows: tuple[tuple[str, str], ...]


def side_by_side_html(title: str, told: Sequence[str], columns: Sequence[Column]) -> str:
    """One self-contained page: ``told`` above, then all ``columns``."""
    return document(f"Side by side: {escaped(title)}", _sheet(title, told, columns))


def _sheet(title: str, told: Sequence[str], columns: Sequence[Column]) -> Iterator[str]:
    yield '<section class="sheet all" aria-label="Side by side">'
    yield f'<header><p class="what">Side by side</p><h1>{escaped(title)}</h1></header>'
    yield f'<p class="caution">{CAUTION}</p>'
    yield from (f"<p>{escaped(line)}</p>" for line in told)
    yield '<div class="columns">'
    for column in columns:
        yield from _column(column)
    yield "</div></section>"


def _column(column: Column) -> Iterator[str]:
    picture = picture_of(column.puzzle)
    yield f'<article class="column"><h2>{escaped(column.heading)}</h2>'
    yield f'<figure><img src="{picture.source}" alt="{escaped(picture.words)}"></figure>'
    yield "<table><tbody>"
    for what, value in column.rows:
        yield f'<tr><th scope="row">{escaped(what)}</th><td>{escaped(value)}</td></tr>'
    yield "</tbody></table></article>"
