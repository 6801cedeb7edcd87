"""Tables as HTML, each in a frame that can be moved sideways on a small screen."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence

from switchsolve.sessionpage.marks import words_of

__all__ = ["folded", "items", "table"]


def table(name: str, heads: Sequence[str], rows: Iterable[Sequence[str]], figures: int = 0) -> Iterator[str]:
    """A table with the caption ``name``; the last ``figures`` columns are set to the right."""
    kinds = ["", *[""] * (len(heads) - figures), *[' class="figure"'] * figures][-len(heads) :]
    yield f'<div class="wide" tabindex="0" role="region" aria-label="{words_of(name)}">'
    yield f"<table><caption>{words_of(name)}</caption><thead><tr>"
    for head, kind in zip(heads, kinds, strict=True):
        yield f'<th scope="col"{kind}>{words_of(head)}</th>'
    yield "</tr></thead><tbody>"
    for row in rows:
        cells = [f"<td{kind}>{words_of(cell)}</td>" for cell, kind in zip(row[1:], kinds[1:], strict=True)]
        yield f'<tr><th scope="row"{kinds[0]}>{words_of(row[0])}</th>{"".join(cells)}</tr>'
    yield "</tbody></table></div>"


def folded(name: str, lines: Iterable[str]) -> Iterator[str]:
    """What is shown when its name is asked for: the same as a picture, as a table."""
    yield f"<details><summary>{words_of(name)}</summary>"
    yield from lines
    yield "</details>"


def items(texts: Iterable[str]) -> Iterator[str]:
    """A list; nothing if it is empty."""
    rows = [f"<li>{words_of(text)}</li>" for text in texts]
    if rows:
        yield f"<ul>{''.join(rows)}</ul>"
