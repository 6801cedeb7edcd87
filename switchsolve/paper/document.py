"""What every sheet of paper has: the page around it, its head, and blanks to fill in.

Whatever a puzzle file holds is cleaned (no control letters) and escaped.  There is no script, and the policy
of :mod:`~switchsolve.onefile` lets none be added, nor anything be loaded from anywhere.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from html import escape
from importlib.resources import files

from switchsolve import onefile
from switchsolve.drawing.text import clean

__all__ = ["CAUTION", "document", "field_lines", "header_lines", "words_of"]

CAUTION = "For models only: never plan or direct real train movements with this paper."


def document(title: str, body: Sequence[str], style: str = "") -> str:
    """The whole page; ``title`` and ``body`` are HTML; ``style`` goes behind the style sheet of all paper."""
    return onefile.document(title, f"\n{_style()}{style}", body)


def _style() -> str:
    return files("switchsolve.paper").joinpath("paper.css").read_text(encoding="utf-8")


def words_of(text: str) -> str:
    """A text of the file as HTML: cleaned and escaped."""
    return escape(clean(text))


def header_lines(what: str, title: str) -> Iterator[str]:
    """What the sheet is, its title (both HTML), and the caution."""
    yield f'<header><p class="what">{what}</p><h1>{title}</h1></header>'
    yield f'<p class="caution">{CAUTION}</p>'


def field_lines(*names: str) -> Iterator[str]:
    """Blanks to be filled in by hand; the first one is the longest."""
    yield '<p class="fields">'
    for name in names:
        yield f'<span class="field">{name} <span class="blank"></span></span>'
    yield "</p>"
