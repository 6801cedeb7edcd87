"""A plan as a row of scenes: one at the start, and one after each move."""

from __future__ import annotations

from dataclasses import dataclass

from switchsolve.drawing.scene import Scene, lined_after, make_scene
from switchsolve.drawing.schematic import Schematic
from switchsolve.plan import Placed, Plan
from switchsolve.puzzle import Puzzle
from switchsolve.referee import replay

__all__ = ["Still", "scenes_of", "stills_of"]


@dataclass(frozen=True, slots=True)
class Still:
    """A standing at rest, and how each table then lies."""

    standing: tuple[Placed, ...]
    lined: dict[str, int]


def stills_of(puzzle: Puzzle, plan: Plan) -> list[Still]:
    """The start, and the standing after each run; the last one with its final cuts made.

    Raises :class:`~switchsolve.errors.PlanError` if the referee finds anything wrong with the plan.
    """
    frames = replay(puzzle, plan).frames
    lies = lined_after(puzzle, plan)
    kept = [*frames[: len(plan.runs)], frames[-1]] if plan.runs else [frames[0]]
    return [Still(frame.standing, lined) for frame, lined in zip(kept, lies, strict=False)]


def scenes_of(schematic: Schematic, puzzle: Puzzle, plan: Plan) -> list[Scene]:
    """The scenes of a plan, as :func:`stills_of`."""
    return [make_scene(schematic, puzzle, still.standing, still.lined) for still in stills_of(puzzle, plan)]
