"""The two printed pages of a survey, for a client who never saw the program.

The first page shows the district: the drawing, what it holds, the standards.  The second one tells of the
work: spot by spot, a session, the weakest points, and one recommendation.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from importlib.resources import files

from switchsolve.paper.document import document, header_lines, words_of
from switchsolve.paper.picture import Strip, ground_of, strips_of
from switchsolve.surveying import advising, weakest
from switchsolve.surveying.asking import Survey
from switchsolve.surveying.rows import (
    holding_rows,
    measured_by,
    session_lines,
    spot_rows,
    standard_rows,
)

__all__ = ["survey_html"]

_DENSE, _DENSEST = 14, 32
"""More rows on a page than so many are set in smaller type."""
_PICTURE = 62
_PAGE, _ROW, _NAME = 174, 6.7, 5.5
"""Millimeters: the height that the drawing may have in any case; what a page without rows leaves to it; what
a row, and the name of a strip, take of that."""
_SAFETY = (
    "A plan that operates is not yet a safe room: wiring that carries line voltage belongs to a licensed "
    "electrician; swing gates, duck-unders and the ways out are under your local building and fire codes."
)
_HOLDS = (
    "Cars: so many go in and the work can be done; one more and it cannot, or the page says “not proved”. "
    "Facing: the locomotive runs straight in, so cars go in ahead of it; trailing: it backs in. A run-around "
    "is where the locomotive passes its cars; a tail is rail beyond the last turnout."
)
_MOVES = (
    "A move is what a locomotive does between two reversals. First the fewest that do it (proved, unless "
    "marked ?), in brackets those of a plain crew that never looks ahead (-: it gives up). One car, no other "
    "car in the way: to spot it, or to exchange it for the one that stands there. Behind, ahead: where the "
    "train has its cars, seen from its locomotive."
)


def survey_html(found: Survey) -> str:
    """Both pages, self-contained, without script.  Raises as :func:`~switchsolve.drawing.draw`."""
    title = words_of(found.puzzle.title) or "A switching district"
    style = files("switchsolve.surveying").joinpath("survey.css").read_text(encoding="utf-8")
    strips = strips_of(found.puzzle, ground_of(found.puzzle))
    height = _height(len(holding_rows(found)) + len(standard_rows(found)), len(strips))
    style += f".survey figure img {{ max-height: {height:.0f}mm; }}\n"
    return document(f"Survey: {title}", [*_first(found, title, strips), *_second(found, title)], style)


def _height(rows: int, strips: int) -> float:
    """Of each strip of the drawing, at the most: what the rows leave of the page, shared out."""
    names = _NAME * strips if strips > 1 else 0.0
    return max(_PICTURE, _PAGE - _ROW * rows - names) / strips


def _sheet(number: int, rows: int) -> str:
    size = " densest" if rows > _DENSEST else " dense" if rows > _DENSE else ""
    return f'<section class="sheet survey{size}" aria-label="Page {number} of 2">'


# ---- the first page


def _first(found: Survey, title: str, strips: Sequence[Strip]) -> Iterator[str]:
    holding, standards = holding_rows(found), standard_rows(found)
    yield _sheet(1, len(holding) + len(standards))
    yield from header_lines("Survey of the district, page 1 of 2", title)
    if found.stopped is not None:
        yield "<p><b>This survey was stopped early: what is missing here was not asked.</b></p>"
    yield from _figure(strips)
    yield "<h2>What it holds</h2>"
    yield f"<p>{words_of(measured_by(found))}</p>"
    yield from _table(("Track", "Reached", "Holds", "Rail to spare"), holding)
    yield "<h2>Your standards</h2>"
    if standards:
        yield from _table(("Standard", "Met, or short by how much"), standards)
    else:
        yield "<p>The file states none.</p>"
    yield f'<p class="small">{_HOLDS}</p>'
    yield "</section>"


def _figure(strips: Sequence[Strip]) -> Iterator[str]:
    yield "<figure>"
    for strip in strips:
        words = f"{strip.name}. {strip.words}" if strip.name else strip.words
        if strip.name:
            yield f'<p class="part">{words_of(strip.name)}</p>'
        yield f'<img src="{strip.source}" alt="{words_of(words)}">'
    yield "<figcaption>The tracks, and who stands where when the work of the file begins.</figcaption>"
    yield "</figure>"


# ---- the second page


def _second(found: Survey, title: str) -> Iterator[str]:
    spots = spot_rows(found)
    yield _sheet(2, len(spots) + 4)
    yield from header_lines("Survey of the district, page 2 of 2", title)
    yield "<h2>Work at each spot</h2>"
    if spots:
        yield from _table(("Spot", *_columns(found)), spots)
    else:
        yield "<p>No spot was measured.</p>"
    yield from _open_spots(found)
    yield f'<p class="small">{_MOVES}</p>'
    yield "<h2>A session</h2>"
    yield from (f"<p>{words_of(line)}</p>" for line in session_lines(found))
    yield from _points(found)
    yield from _advice(found)
    yield f'<p class="small">{_SAFETY}</p>'
    yield "</section>"


def _columns(found: Survey) -> Sequence[str]:
    """What is done from where: as many as the rows of a spot have."""
    arrivals = dict.fromkeys((row.arrival, row.task) for row in found.spots.rows)
    several = len({arrival.entry for arrival, _ in arrivals}) > 1
    return [
        f"{task.capitalize()}, {arrival.order}" + (f", from {arrival.entry.track}" if several else "")
        for arrival, task in arrivals
    ]


def _open_spots(found: Survey) -> Iterator[str]:
    missing = found.spots.wanted - len(found.spots.rows)
    if missing:
        yield f"<p>{missing} of {found.spots.wanted} figures were not come to in the time there was.</p>"


def _points(found: Survey) -> Iterator[str]:
    points = weakest.weakest(found)
    yield "<h2>The three weakest points</h2>" if len(points) > 2 else "<h2>The weakest points</h2>"
    told = (f"<li><b>{words_of(one.name)}</b>: {words_of(one.told)}.</li>" for one in points)
    yield f"<ol>{''.join(told)}</ol>"
    if len(points) < weakest.MOST_POINTS:
        yield f"<p>{'No more were' if points else 'None was'} found for certain.</p>"
    yield f'<p class="small">{words_of(weakest.RULE)}</p>'


def _advice(found: Survey) -> Iterator[str]:
    one = advising.advise(found)
    yield "<h2>What we recommend</h2>"
    yield f'<p class="advice">{words_of(one.told)} <span class="proof">{words_of(one.proof)}</span></p>'
    yield f'<p class="small">{words_of(advising.RULE)}</p>'


def _table(heads: Sequence[str], rows: Sequence[Sequence[str]]) -> Iterator[str]:
    head = "".join(f'<th scope="col">{words_of(one)}</th>' for one in heads)
    yield f'<div class="wide"><table><thead><tr>{head}</tr></thead><tbody>'
    for row in rows:
        cells = "".join(f"<td>{words_of(cell)}</td>" for cell in row[1:])
        yield f'<tr><th scope="row">{words_of(row[0])}</th>{cells}</tr>'
    yield "</tbody></table></div>"
