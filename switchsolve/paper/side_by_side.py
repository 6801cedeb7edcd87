"""Several districts on one sheet, each with its schematic and what there is to say of it."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from switchsolve.paper.document import document, header_lines, words_of
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
    return document(f"Side by side: {words_of(title)}", list(_sheet(title, told, columns)))


def _sheet(title: str, told: Sequence[str], columns: Sequence[Column]) -> Iterator[str]:
    yield '<section class="sheet all" aria-label="Side by side">'
    yield from header_lines("Side by side", words_of(title))
    yield from (f"<p>{words_of(line)}</p>" for line in told)
    yield '<div class="columns">'
    for column in columns:
        yield from _column(column)
    yield "</div></section>"


def _column(column: Column) -> Iterator[str]:
    picture = picture_of(column.puzzle)
    yield f'<article class="column"><h2>{words_of(column.heading)}</h2>'
    yield f'<figure><img src="{picture.source}" alt="{words_of(picture.words)}"></figure>'
    yield "<table><tbody>"
    for what, value in column.rows:
        yield f'<tr><th scope="row">{words_of(what)}</th><td>{words_of(value)}</td></tr>'
    yield "</tbody></table></article>"
