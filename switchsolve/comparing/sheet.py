"""The schematics of all arrangements side by side: as one picture, or on a page with the figures."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from html import escape
from xml.sax.saxutils import quoteattr

from switchsolve.comparing.cases import Case
from switchsolve.drawing import data_url, draw, make_scene, placed_at_start, scene_svg
from switchsolve.onefile import document

__all__ = ["Sheet", "page_html", "pictures_svg"]

_GAP = 24.0
_SMALLEST = 0.75
"""Of its own size: what a picture on the page may shrink to, so that its names can be read; if two do not fit
beside each other so, one stands under the other.
"""
_REM = 16.0
_STYLE = """\
body { font: 16px/1.45 "Helvetica Neue", Helvetica, Arial, "Liberation Sans", sans-serif; color: #2b3640;
  background: #fdfcf9; margin: 1.5rem; max-width: 120rem; }
h1 { font-size: 1.4rem; } .answer { font-size: 1.15rem; max-width: 50rem; }
.side { display: grid; grid-template-columns: repeat(auto-fit, minmax(min({least}rem, 100%), 1fr));
  gap: 1rem; }
figure { margin: 0; border: 1px solid #c9c5ba; padding: .5rem; break-inside: avoid; }
figure img { height: auto; display: block; } figcaption { font-weight: 600; }
table { border-collapse: collapse; margin: 1rem 0; } th, td { padding: .2rem .8rem; text-align: right; }
th:first-child, td:first-child { text-align: left; } thead th { border-bottom: 2px solid #2b3640; }
tbody tr { border-bottom: 1px solid #c9c5ba; } p { max-width: 50rem; }
@page { margin: 12mm; } @media print { body { margin: 0; background: none; } }
"""


@dataclass(frozen=True, slots=True)
class Sheet:
    """What stands on a page beside the pictures: heads and rows of the table, answers, and notes."""

    title: str
    answers: Sequence[str]
    heads: Sequence[str]
    rows: Sequence[Sequence[str]]
    notes: Sequence[str]


def _picture(case: Case) -> tuple[str, float, float]:
    """The start of a case as an SVG, its width and its height."""
    ground = draw(case.puzzle)
    scene = make_scene(ground, case.puzzle, placed_at_start(case.puzzle))
    return scene_svg(scene), ground.width, ground.height


def pictures_svg(cases: Sequence[Case]) -> str:
    """One picture: two beside each other, row under row.  Raises
    :class:`~switchsolve.errors.DrawingError` as :func:`~switchsolve.drawing.draw`.
    """
    pictures = [_picture(case) for case in cases]
    wide = max(width for _, width, _ in pictures)
    body, y = [], 0.0
    for begin in range(0, len(pictures), 2):
        row = pictures[begin : begin + 2]
        for number, (svg, width, height) in enumerate(row):
            name = escape(cases[begin + number].name)
            x = number * (wide + _GAP)
            body.append(
                f'<g role="img"><title>{name}</title><image x="{x:g}" y="{y:g}" width="{width:g}" '
                f'height="{height:g}" href={quoteattr(data_url(svg))}/></g>'
            )
        y += max(height for _, _, height in row) + _GAP
    across = wide if len(pictures) == 1 else 2 * wide + _GAP
    box = f'width="{across:g}" height="{y - _GAP:g}" viewBox="0 0 {across:g} {y - _GAP:g}"'
    return "\n".join((f'<svg xmlns="http://www.w3.org/2000/svg" {box}>', *body, "</svg>\n"))


def _figure(case: Case, svg: str, share: float) -> str:
    """One arrangement on the page; ``share``: how wide, of the widest one, so that all have one scale."""
    alt, source = quoteattr(f"Track plan: {case.name}"), quoteattr(data_url(svg))
    image = f'<img width="{100 * share:.0f}%" alt={alt} src={source}>'
    return f"<figure><figcaption>{escape(case.name)}</figcaption>{image}</figure>\n"


def page_html(cases: Sequence[Case], sheet: Sheet) -> str:
    """One page that needs no network: the answers, the pictures, the table.  Raises as
    :func:`pictures_svg`.
    """
    pictures = [_picture(case) for case in cases]
    widest = max(width for _, width, _ in pictures)
    figures = "".join(
        _figure(case, svg, width / widest) for case, (svg, width, _) in zip(cases, pictures, strict=True)
    )
    least = round(_SMALLEST * widest / _REM)
    head = "".join(f'<th scope="col">{escape(one)}</th>' for one in sheet.heads)
    rows = "".join(
        f'<tr><th scope="row">{escape(row[0])}</th>'
        + "".join(f"<td>{escape(cell)}</td>" for cell in row[1:])
        + "</tr>\n"
        for row in sheet.rows
    )
    answers = "".join(f'<p class="answer">{escape(text)}</p>\n' for text in sheet.answers)
    notes = "".join(f"<p>{escape(text)}</p>\n" for text in sheet.notes)
    body = (
        f'<h1>{escape(sheet.title)}</h1>\n{answers}<div class="side">\n{figures}</div>\n'
        f"<table>\n<thead><tr>{head}</tr></thead>\n<tbody>\n{rows}</tbody>\n</table>\n{notes}"
    )
    return document(escape(sheet.title), "\n" + _STYLE.replace("{least}", str(least)), [body])
