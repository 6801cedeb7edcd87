"""The text of the page of a walk.  What changes is filled in by its script, ``walk.js``."""

from __future__ import annotations

import json
from collections.abc import Iterator
from html import escape
from typing import Any

from switchsolve.drawing.text import clean
from switchsolve.puzzle import Puzzle
from switchsolve.puzzlefile import start_text

__all__ = ["walk_html"]

_CAUTION = "For models only: never plan or direct real train movements with this page."
_DEFINITION = "A move is what a locomotive does between two reversals."
_READING = (
    "A vehicle with a point is a locomotive, and the point is its front. A wide band under a rail: the"
    " locomotive can stop there with the way chosen now; click the rail to go there. Where in its track a"
    " string stands is left open until it matters, so what is shown is one of the places it can have, and it"
    " may be seen to shift a little when a later step wants it elsewhere."
)
_KEYS = (
    ("1 to 9", "go to that stop"),
    ("up, down", "go through the stops; Enter goes there"),
    ("left, right", "the other ways to set off"),
    ("L", "leave more, or less, behind"),
    ("U, R", "undo, redo"),
    ("M", "how many moves from here"),
    ("H", "a good next step; H again makes it"),
)
_FIGURES = (
    ("moves", "moves so far"),
    ("minimum", "fewest moves from the start"),
    ("couplings", "couplings"),
    ("cuts", "cuts"),
)


def walk_html(puzzle: Puzzle, ground: str) -> str:
    """The page, with ``ground`` as its picture."""
    title = _text(puzzle.title or "A switching district")
    lines = [
        "<!DOCTYPE html>",
        '<html lang="en" dir="ltr">',
        "<head>",
        '<meta charset="utf-8">',
        '<meta name="viewport" content="width=device-width, initial-scale=1">',
        f"<title>Walk: {title}</title>",
        '<link rel="icon" href="data:,">',
        '<link rel="stylesheet" href="walk.css">',
        "</head>",
        "<body>",
        f'<header><p class="caution">{_CAUTION}</p><h1>{title}</h1>',
        *_figures(),
        "</header>",
        "<main>",
        '<div class="picture" id="picture" tabindex="0" role="region" aria-label="Schematic">',
        ground,
        "</div>",
        *_stage(),
        *_list(),
        "</main>",
        *_form(puzzle),
        f"<details><summary>How to read the picture</summary><p>{_READING}</p></details>",
        *_keys(),
        '<noscript><p class="problem">This page needs its script.</p></noscript>',
        '<script src="walk.js"></script>',
        "</body>",
        "</html>",
    ]
    return "\n".join(lines) + "\n"


def _figures() -> Iterator[str]:
    yield '<dl class="figures">'
    for name, words in _FIGURES:
        yield f'<div><dt>{words}</dt><dd id="{name}">0</dd></div>'
    yield f'</dl><p class="small">{_DEFINITION}</p>'


def _stage() -> Iterator[str]:
    yield '<div class="stage">'
    yield '<div class="now" id="now" role="status" aria-live="polite"></div>'
    yield '<div class="bar" role="group" aria-label="Back and help">'
    for name, words in (
        ("undo", "Undo"),
        ("redo", "Redo"),
        ("restart", "Start anew"),
        ("ahead", "How many moves from here?"),
        ("hint", "A good next step"),
    ):
        yield f'<button type="button" id="{name}">{words}</button>'
    yield "</div>"
    yield '<div class="told" id="told" role="status" aria-live="polite" hidden><p id="told-text"></p>'
    yield '<button type="button" id="do" hidden>Make this step</button></div>'
    yield '<label id="starts-row" hidden>Standing at the start <select id="starts"></select></label>'
    yield '<fieldset><legend id="who-name">Which way?</legend><div id="who" class="ways"></div></fieldset>'
    yield '<fieldset id="leaves-row"><legend>Leave anything behind?</legend><div id="leaves" class="ways">'
    yield "</div></fieldset>"
    yield '<fieldset><legend id="goes-name">Where to?</legend><ol id="goes" class="stops" role="list"></ol>'
    yield '<details id="foul"><summary id="foul-name">Stops across a junction</summary>'
    yield '<ol id="across" class="stops" role="list"></ol></details>'
    yield '<button type="button" id="all" hidden>Show all stops</button></fieldset>'
    yield "</div>"


def _list() -> Iterator[str]:
    yield '<section class="list" aria-labelledby="list-name"><h2 id="list-name">Done so far</h2>'
    yield '<p id="none" class="small">Nothing yet.</p><ol id="steps" role="list"></ol>'
    yield '<details><summary>Who stands where now</summary><p id="standing" class="small"></p></details>'
    yield "</section>"


def _form(puzzle: Puzzle) -> Iterator[str]:
    text = start_text(puzzle)
    rows = min(max(text.count("\n") + 1, 4), 20)
    yield '<details id="typed"><summary>Begin from where your cars stand now</summary>'
    yield (
        '<p class="small" id="typed-help">One line for each track, read from its from end to its to end, as'
        " under [start] of the file: a | between two cars parts them, and @ puts a car at a spot. The work"
        " stays that of the file.</p>"
    )
    yield '<form id="form"><label for="lines">Where cars stand now</label>'
    yield (
        f'<textarea id="lines" rows="{rows}" spellcheck="false" aria-describedby="typed-help problems">'
        f"\n{escape(text)}</textarea>"
    )
    for loco in puzzle.locomotives:
        yield from _locomotive(loco.name, puzzle.start.heads[loco.name])
    for table in puzzle.district.tables:
        meets = [f"{outside.place}, by its {side} end" for side, outside in table.meets]
        yield _select(f"{table.name} is lined to", "lined", table.name, list(enumerate(meets)), table.lined)
    yield '<ul id="problems" role="alert"></ul>'
    yield '<button type="submit" id="stand">Begin from there</button></form></details>'


def _locomotive(name: str, heads: str) -> Iterator[str]:
    ends = [("from", "from"), ("to", "to")]
    yield _select(f"{name} heads for the end of its track called", "heads", name, ends, heads)
    ways = [("", "not yet"), ("forward", "forward"), ("back", "back")]
    yield _select(f"{name} last ran", "ran", name, ways, "")


def _select(words: str, kind: str, name: str, options: list[tuple[Any, str]], chosen: Any) -> str:
    inside = "".join(
        f'<option value="{escape(str(value))}"{" selected" if value == chosen else ""}>{_text(word)}</option>'
        for value, word in options
    )
    data = escape(json.dumps(name), quote=True)
    return f'<label>{_text(words)} <select data-kind="{kind}" data-name="{data}">{inside}</select></label>'


def _keys() -> Iterator[str]:
    yield '<details><summary>Keys</summary><dl class="keys">'
    for key, words in _KEYS:
        yield f"<dt>{key}</dt><dd>{words}</dd>"
    yield "</dl></details>"


def _text(text: str) -> str:
    return escape(clean(text))
