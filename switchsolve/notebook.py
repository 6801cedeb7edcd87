"""Pictures in a notebook.

::

    from switchsolve import load, notebook, solve

    notebook.enable()
    puzzle = load("puzzles/cask_lane_facing.toml")
    puzzle                                      # shows itself: the schematic, and who stands where

    solution = solve(puzzle)
    notebook.show(puzzle, solution)             # the plan as a filmstrip
    notebook.show(puzzle, solution, after=2)    # who stands where after two moves

A plan, or a standing of it, names tracks and knows none of them; so it is shown together with its puzzle.
The rooms below know nothing of notebooks: :func:`enable` tells IPython how to show what they make.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from html import escape
from importlib import import_module
from typing import Any

from switchsolve.district import District
from switchsolve.drawing import (
    Still,
    data_url,
    draw,
    film_svg,
    make_scene,
    placed_at_start,
    scene_svg,
    stills_of,
    terminal_pictures,
)
from switchsolve.drawing.text import clean
from switchsolve.errors import DrawingError
from switchsolve.plan import Plan, Solution
from switchsolve.puzzle import Puzzle, Start
from switchsolve.referee import Frame
from switchsolve.words import still_captions
from switchsolve.work import Work

__all__ = ["Picture", "enable", "show", "show_district"]


@dataclass(frozen=True, slots=True, repr=False)
class Picture:
    """Something drawn: as ``svg``, in letters (``text``), and told in ``words``.

    A notebook shows it by itself.  It is put there as an image, so that neither the style nor the ids of one
    picture reach the page, or another picture on it.
    """

    svg: str
    text: str
    words: str

    def __repr__(self) -> str:
        return f"<Picture: {self.words}>"

    def __str__(self) -> str:
        return self.text

    def _repr_mimebundle_(self, include: object = None, exclude: object = None) -> dict[str, str]:
        """What IPython asks for; it picks what it can show."""
        style = "max-width: 100%; height: auto"
        image = f'<img src="{data_url(self.svg)}" alt="{escape(self.words)}" style="{style}">'
        return {"text/html": image, "text/plain": self.text}


def show(
    puzzle: Puzzle,
    what: Plan | Solution | Frame | None = None,
    *,
    after: int | None = None,
    to_scale: bool = True,
) -> Picture:
    """The picture of a puzzle at its start; of a plan for it, as a filmstrip; or of one standing.

    With a plan, ``after`` picks the standing after so many of its runs (0: the start).  A frame of a replay
    is a standing too, where no table can be lined anew.  ``to_scale`` is that of
    :func:`switchsolve.drawing.draw`.

    Raises :class:`~switchsolve.errors.DrawingError` for a solution without a plan, and for a standing that
    there is not, or whose tables are not known.
    """
    if isinstance(what, Frame):
        return _stills(puzzle, [_still_of(puzzle, what, after)], [], to_scale)
    plan = _plan_of(what)
    if plan is None:
        if after is not None:
            raise DrawingError(
                f"after={after}: there is no plan to follow; show(puzzle, plan, after={after})"
            )
        return _stills(puzzle, [Still(placed_at_start(puzzle), {})], [], to_scale)
    stills = stills_of(puzzle, plan)
    if after is None:
        return _stills(puzzle, stills, still_captions(puzzle, plan), to_scale)
    if not 0 <= after < len(stills):
        raise DrawingError(
            f"after={after}: the plan has {len(stills) - 1} runs; give a number from 0 to that"
        )
    return _stills(puzzle, [stills[after]], [], to_scale)


def show_district(district: District) -> Picture:
    """The picture of a district by itself, empty, all tracks alike: it does not know its unit."""
    empty = Puzzle(district, (), (), Start((), {}), Work())
    ground = draw(empty, to_scale=False)
    ground = replace(ground, lengths=dict.fromkeys(ground.lengths, "not to scale"))
    scene = make_scene(ground, empty, ())
    words = (
        f"A district of {len(district.tracks)} tracks: {', '.join(track.name for track in district.tracks)}."
    )
    return Picture(scene_svg(scene), terminal_pictures(empty, [((), {})])[0], clean(words))


def enable() -> None:
    """Have puzzles and districts show themselves as pictures from now on, in this notebook or IPython.

    Raises :class:`~switchsolve.errors.DrawingError` if it is called anywhere else.
    """
    shell = _shell()
    if shell is None:
        raise DrawingError("notebook.enable: this is no notebook, nor IPython; print(notebook.show(puzzle))")
    formatter = shell.display_formatter.mimebundle_formatter
    formatter.for_type(Puzzle, lambda puzzle, **_: show(puzzle)._repr_mimebundle_())
    formatter.for_type(District, lambda district, **_: show_district(district)._repr_mimebundle_())


def _shell() -> Any:
    """The IPython that runs this, if any does."""
    try:
        return import_module("IPython").get_ipython()
    except ImportError:
        return None


def _plan_of(what: Plan | Solution | None) -> Plan | None:
    """The plan, if one is to be shown."""
    if isinstance(what, Solution) and what.plan is None:
        raise DrawingError(f"there is no plan to show ({what.verdict.value}); show(puzzle) shows the start")
    return what.plan if isinstance(what, Solution) else what


def _still_of(puzzle: Puzzle, frame: Frame, after: int | None) -> Still:
    if after is not None:
        raise DrawingError(f"after={after}: a frame is one standing already; leave it out")
    if any(len(table.meets) > 1 for table in puzzle.district.tables):
        raise DrawingError("a frame does not say how tables lie; show(puzzle, plan, after=...) does")
    return Still(frame.standing, {})


def _stills(puzzle: Puzzle, stills: Sequence[Still], captions: Sequence[str], to_scale: bool) -> Picture:
    """One picture, or a filmstrip if there are captions."""
    ground = draw(puzzle, to_scale=to_scale)
    scenes = [make_scene(ground, puzzle, still.standing, still.lined) for still in stills]
    letters = terminal_pictures(puzzle, [(still.standing, still.lined) for still in stills])
    if not captions:
        return Picture(scene_svg(scenes[0]), letters[0], _words(puzzle, [scenes[0].words]))
    text = "\n\n".join(f"{caption}\n{picture}" for caption, picture in zip(captions, letters, strict=True))
    return Picture(film_svg(scenes, captions), text, _words(puzzle, captions))


def _words(puzzle: Puzzle, sentences: Iterable[str]) -> str:
    title = f"{puzzle.title}." if puzzle.title else ""
    return clean(" ".join([title, *sentences]))
