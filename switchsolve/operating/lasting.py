"""How long the moves of a plan last, by the figures of its file."""

from __future__ import annotations

from fractions import Fraction

from switchsolve.objectives import objective_of
from switchsolve.plan import Line, Plan
from switchsolve.puzzle import Puzzle
from switchsolve.referee import Replay

__all__ = ["seconds_of_moves"]


def seconds_of_moves(puzzle: Puzzle, plan: Plan, replayed: Replay) -> tuple[float, ...]:
    """How long each run takes, last cuts with the last."""
    objective = objective_of(puzzle, "minutes")
    weights, found = objective.rows[0], []
    for run, frame in zip(plan.runs, replayed.frames[1:], strict=False):
        distance = sum(puzzle.district.cell_length(way.cell) for way in frame.entered)
        tables = sum(isinstance(step, Line) for step in run.steps)
        ticks = weights.move + weights.coupling * len(frame.coupled) + weights.cut * len(frame.cut)
        found.append(ticks + weights.table * tables + weights.distance * distance)
    if found:
        found[-1] += weights.cut * len(plan.final_cuts)
    return tuple(float(Fraction(ticks, objective.to_one)) for ticks in found)
