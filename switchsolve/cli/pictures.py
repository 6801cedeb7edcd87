"""Pictures in letters, on the screen.

A module of its own: what prints a picture need not load what finds a plan, or writes to a file.
"""

from __future__ import annotations

import sys
from textwrap import fill

from switchsolve.drawing import placed_at_start, terminal_pictures
from switchsolve.plan import Plan
from switchsolve.puzzle import Puzzle

__all__ = ["can_show_lines", "print_pictures"]


def print_pictures(puzzle: Puzzle, plan: Plan | None = None, *, ascii_only: bool = False) -> None:
    """The picture in letters; with a plan one for the start and one after each move."""
    plain = ascii_only or not can_show_lines()
    if plan is None:
        captions = [""]
        pictures = terminal_pictures(puzzle, [(placed_at_start(puzzle), {})], ascii_only=plain)
    else:  # what replays a plan is loaded only now
        from switchsolve.drawing import stills_of
        from switchsolve.words import still_captions

        captions = still_captions(puzzle, plan)
        stills = stills_of(puzzle, plan)
        frames = [(still.standing, still.lined) for still in stills]
        pictures = terminal_pictures(puzzle, frames, ascii_only=plain)
    for number, (caption, picture) in enumerate(zip(captions, pictures, strict=True)):
        if number:
            print()
        if caption:
            _print_caption(caption, plain=plain)
        print(picture)


def _print_caption(caption: str, *, plain: bool) -> None:
    text = fill(caption, 79, subsequent_indent="   ")
    print(text.encode("ascii", "replace").decode() if plain else text)


def can_show_lines() -> bool:
    """Whether the screen's encoding has the letters that lines are made of."""
    try:
        "━╲┬«…".encode(sys.stdout.encoding or "ascii")
    except (UnicodeEncodeError, LookupError):
        return False
    return True
