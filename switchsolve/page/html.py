"""The text of the replay page.

Whatever a puzzle file holds is cleaned (no control letters) and escaped, in the markup and in the data.  The
policy in the head names the one style sheet and the one script by their hashes, and allows nothing else: no
request leaves the page, and no text of a file can become a script.
"""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping, Sequence
from html import escape
from importlib.resources import files
from typing import Any

from switchsolve.drawing import Schematic, placed_at_start, standing_in_words
from switchsolve.drawing.svg import STYLE
from switchsolve.drawing.text import clean
from switchsolve.lengths import format_length
from switchsolve.onefile import document
from switchsolve.page.film import film_of
from switchsolve.page.picture import frames_svg, picture_svg
from switchsolve.plan import Solution
from switchsolve.puzzle import Puzzle
from switchsolve.referee import Replay
from switchsolve.words import counted, move_texts, tightest_text, verdict_text

__all__ = ["page_html"]

CAUTION = "For models only: never plan or direct real train movements with this page."
_DEFINITION = "A move is what a locomotive does between two reversals."
_READING = (
    "A vehicle with a point is a locomotive, and the point is its front; a triangle is over"
    " the one that runs. A solid line through a turnout is how it is lined, a dashed one the other way. The"
    " wide band is the rail of this move. A ring is a coupling, a dashed ring a cut. Where rail is not drawn"
    " to scale a vehicle looks longer or shorter; a bar is then the rail that it stands on."
)
_SPEEDS = (("0.5", "half"), ("1", "normal"), ("2", "double"), ("4", "fourfold"))
_BUTTONS = (
    ("first", "First", "Go to the start"),
    ("back", "Back", "One back"),
    ("play", "Play", ""),
    ("forward", "Next", "Show the next one"),
    ("last", "Last", "Go to the end"),
)
_BROAD = 1000.0
"""Width of a schematic from which on the list stands below it, not beside it; drawing units."""


def page_html(
    puzzle: Puzzle,
    solution: Solution,
    replayed: Replay | None,
    schematic: Schematic,
    remarks: Sequence[str] = (),
) -> str:
    """The page of a solution; of one without a plan, too, which shows the start.

    ``replayed`` is the referee's replay of the plan, ``None`` if there is no plan.  ``remarks`` are
    sentences to be said after the verdict, such as why the work is impossible.  Raises ``ValueError`` for a
    plan without its replay, or a replay without a plan.
    """
    if (solution.plan is None) != (replayed is None):
        raise ValueError("a plan and its replay come together")
    noun = _noun(solution)
    texts = _texts(puzzle, solution, replayed)
    film, placed = None, placed_at_start(puzzle)
    if solution.plan is not None and replayed is not None:
        film = film_of(puzzle, solution.plan, replayed, schematic, texts)
        placed = replayed.frames[0].standing
    picture = picture_svg(puzzle, schematic, placed, solution, noun)
    frames = frames_svg(puzzle, schematic, solution, noun)
    body = [*_header(puzzle, solution, noun, remarks), *_main(schematic, picture, film, noun, frames)]
    return _document(puzzle, schematic, body, script=_file("replay.js") if film is not None else "")


def _noun(solution: Solution) -> str:
    """What the entries of the list are called: moves, if there are as many of them as moves are counted."""
    if solution.plan is None or solution.counts is None:
        return "Move"
    return "Move" if len(solution.plan.runs) == solution.counts.moves else "Run"


def _texts(puzzle: Puzzle, solution: Solution, replayed: Replay | None) -> list[str]:
    """What is said at the start, then of each run; the last cuts with the last of them."""
    if solution.plan is None or replayed is None:
        return ["At the start."]
    told = move_texts(puzzle, solution.plan, replayed)
    count = len(solution.plan.runs)
    texts = ["At the start.", *told[:count]]
    texts[-1] = " ".join([texts[-1], *told[count:]])
    if not count:
        texts[-1] += " Nothing has to be moved."
    return texts


# ---- head


def _document(puzzle: Puzzle, schematic: Schematic, body: Sequence[str], script: str) -> str:
    style = f"\n{_file('replay.css')}{STYLE}{_sizes(schematic)}"
    title = _text(puzzle.title or "A switching district")
    return document(title, style, body, script)


def _sizes(schematic: Schematic) -> str:
    """How small and how wide the picture may get: names must be readable, on a small screen too."""
    least, most, whole = (round(schematic.width * share) for share in (0.8, 1.5, 1.0))
    return (
        f"@media screen {{ #picture svg {{ min-width: {least}px; max-width: {most}px; }} }}\n"
        f"@media screen and (max-width: 40rem) {{ #picture svg {{ min-width: {whole}px; }} }}\n"
        "@media screen { #picture.whole svg { min-width: 0; max-height: calc(60vh - 4px); } }\n"
    )


def _file(name: str) -> str:
    return files("switchsolve.page").joinpath(name).read_text(encoding="utf-8")


# ---- what stands above


def _header(puzzle: Puzzle, solution: Solution, noun: str, remarks: Sequence[str]) -> Iterator[str]:
    yield "<header>"
    yield f'<p class="caution">{CAUTION}</p>'
    yield f"<h1>{_text(puzzle.title or 'A switching district')}</h1>"
    yield f'<p class="verdict">{_text(verdict_text(solution))}</p>'
    for remark in remarks:
        yield f"<p>{_text(remark)}</p>"
    if solution.plan is None:
        standing = standing_in_words(puzzle, placed_at_start(puzzle))
        yield f"<p>There is no plan to replay. The picture shows the start. {_text(standing)}</p>"
    else:
        yield from _figures(puzzle, solution, noun)
    tightest = tightest_text(puzzle, solution, noun.lower())
    if tightest:
        yield f'<p class="tightest">{_text(tightest)} It is marked with brackets in the picture.</p>'
    yield "</header>"


def _figures(puzzle: Puzzle, solution: Solution, noun: str) -> Iterator[str]:
    counts, plan = solution.counts, solution.plan
    assert counts is not None and plan is not None
    figures = [
        ("moves", counts.moves),
        ("couplings", counts.couplings),
        ("cuts", counts.cuts),
        ("distance", format_length(counts.distance, puzzle)),
        ("cars moved", counts.cars_moved),
        ("turnouts thrown", counts.turnouts_thrown),
    ]
    if puzzle.district.tables:
        figures.append(("tables turned", counts.tables_turned))
    yield '<dl class="figures">'
    for name, value in figures:
        yield f"<div><dt>{name}</dt><dd>{_text(str(value))}</dd></div>"
    yield "</dl>"
    handling = "proved least for so many moves" if solution.couplings_proved else "best found"
    distance = "proved least" if solution.distance_proved else "best found"
    words = f"{_DEFINITION} Couplings and cuts: {handling}. Distance: {distance}."
    if noun == "Run":
        words += (
            f" The plan has {counted(len(plan.runs), 'run')}, each by one locomotive in one direction; what"
            " other locomotives do in the same string counts too, so there are not as many runs as moves."
        )
    yield f'<p class="small">{words}</p>'


# ---- the picture, the controls, the list


def _main(
    schematic: Schematic,
    picture: Sequence[str],
    film: Mapping[str, Any] | None,
    noun: str,
    frames: Sequence[Sequence[str]],
) -> Iterator[str]:
    """The picture, and with a plan what plays it and the list; a wide picture has the width to itself."""
    kind = "broad" if schematic.width > _BROAD or film is None else "narrow"
    yield f'<main class="{kind}">'
    yield '<div class="picture" id="picture" tabindex="0" role="region" aria-label="Schematic">'
    yield from picture
    yield "</div>"
    if film is not None:
        yield from _stage(film)
        yield from _moves(film, noun, frames)
    yield "</main>"
    if film is not None:
        yield _data(film)


def _stage(film: Mapping[str, Any]) -> Iterator[str]:
    """The controls, and what is said of the move that is shown."""
    yield '<div class="stage">'
    yield from _controls(len(film["moves"]))
    yield from _now(film)
    yield "</div>"


def _controls(count: int) -> Iterator[str]:
    yield '<div class="controls" id="controls" role="group" aria-label="Replay" hidden>'
    yield (
        f'<input type="range" id="slider" min="0" max="{count}" step="0.01" value="0"'
        ' aria-label="Place in the plan" aria-valuetext="At the start">'
    )
    for ident, word, told in _BUTTONS:
        label = f' title="{told}"' if told else ""
        yield f'<button type="button" id="{ident}"{label}>{word}</button>'
    yield '<button type="button" id="whole" aria-pressed="false" hidden>Whole picture</button>'
    yield '<label for="speed">Speed <select id="speed">'
    for value, word in _SPEEDS:
        chosen = " selected" if word == "normal" else ""
        yield f'<option value="{value}"{chosen}>{word}</option>'
    yield "</select></label></div>"


def _now(film: Mapping[str, Any]) -> Iterator[str]:
    start = film["start"]
    yield '<div class="now" id="now" role="status" aria-live="polite" aria-atomic="true">'
    yield f'<p id="number">Start</p><p id="text">{_text(start["text"])}</p></div>'
    yield '<details><summary>Who stands where now</summary><p id="standing" class="small">'
    yield f"{_text(start['standing'])}</p></details>"
    yield f'<details><summary>How to read the picture</summary><p class="small">{_READING}</p></details>'
    yield (
        '<p class="small hint">Keys: right and left arrow for one more and one less, space to play or pause,'
        " home for the start, end for the end.</p>"
    )


def _moves(film: Mapping[str, Any], noun: str, frames: Sequence[Sequence[str]]) -> Iterator[str]:
    """The list; on paper each entry has a picture of how everything stands after it."""
    yield '<section class="list" aria-labelledby="list-name"><h2 id="list-name">The plan</h2>'
    yield f'<ol class="moves" id="moves" data-noun="{noun}" role="list">'
    for number, entry in enumerate([film["start"], *film["moves"]]):
        count = f'<span class="count">{number}</span> ' if number else ""
        current = "" if number else ' aria-current="step"'
        yield f'<li{current}><button type="button">{count}{_text(entry["text"])}</button>'
        yield from frames[number - 1] if number else ()
        yield "</li>"
    yield "</ol></section>"


def _data(film: Mapping[str, Any]) -> str:
    """The film as JSON in which no letter can end the element or start another."""
    text = json.dumps(film, ensure_ascii=False, separators=(",", ":"))
    for letter in "<>&\u2028\u2029":
        text = text.replace(letter, f"\\u{ord(letter):04x}")
    return f'<script type="application/json" id="film">{text}</script>'


def _text(text: str) -> str:
    return escape(clean(text))
