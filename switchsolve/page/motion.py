"""A plan as a row of beats: what moves in each step, how far, and what stands still meanwhile.

The steps are made with the referee's own operations on strings, one by one, so that after each run everything
stands where the referee says.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from switchsolve.district import Way
from switchsolve.plan import Advance, Couple, Cut, Line, Placed, Plan, Run
from switchsolve.puzzle import Puzzle
from switchsolve.referee.rail import Ground, contacts, joined, leading_offset, moved, split, turned

__all__ = ["Beat", "beats_of"]


@dataclass(frozen=True, slots=True)
class Beat:
    """One step of a plan, or a last cut.

    ``still`` are the strings that do not move, ``moving`` is the one that does (an advance only): at the
    start of the beat, with the ways that it enters after its own, and ``free`` is what its leading end goes
    on before it enters the first of them (grid units).  ``after`` is the whole standing at the end of the
    beat, the string that the locomotive runs with last; ``lined`` says how tables then lie.
    """

    step: Advance | Couple | Cut | Line
    still: tuple[Placed, ...]
    after: tuple[Placed, ...]
    lined: dict[str, int]
    moving: Placed | None = None
    free: int = 0

    @property
    def distance(self) -> int:
        """How far the moving string goes, grid units."""
        return self.step.distance if isinstance(self.step, Advance) else 0

    @property
    def enters(self) -> tuple[Way, ...]:
        """The ways that the leading end newly enters."""
        return self.step.enters if isinstance(self.step, Advance) else ()


def beats_of(puzzle: Puzzle, plan: Plan, start: Sequence[Placed]) -> list[list[Beat]]:
    """The beats of every run, the last cuts with those of the last run.

    ``plan`` is one that the referee has replayed, ``start`` the first standing of that replay.
    """
    walk = _Walk(puzzle, start)
    beats = [walk.run(run) for run in plan.runs]
    if beats:
        beats[-1] += [walk.final_cut(set(pair)) for pair in plan.final_cuts]
    return beats


class _Walk:
    """Where everything is while a plan is followed."""

    def __init__(self, puzzle: Puzzle, start: Sequence[Placed]) -> None:
        self._ground = Ground.of(puzzle)
        self._standing = list(start)
        self._lined = {table.name: table.lined for table in puzzle.district.tables}
        self._moving: Placed

    def run(self, run: Run) -> list[Beat]:
        """Follow one run."""
        string = next(one for one in self._standing if run.locomotive in one.vehicles)
        self._standing.remove(string)
        goes_along = (string.noses[run.locomotive] > 0) == run.forward
        self._moving = string if goes_along else turned(self._ground, string)
        beats = [self._beat(step) for step in run.steps]
        self._standing.append(self._moving)
        return beats

    def final_cut(self, pair: set[str]) -> Beat:
        """Uncouple two vehicles at the very end."""
        for index, string in enumerate(self._standing):
            for count, both in enumerate(zip(string.vehicles, string.vehicles[1:], strict=False), 1):
                if set(both) == pair:
                    self._standing[index : index + 1] = split(self._ground, string, count)
                    after = tuple(self._standing)
                    return Beat(Cut(string.vehicles[:count]), after, after, dict(self._lined))
        raise AssertionError("the referee has found these two coupled")

    def _beat(self, step: Advance | Couple | Cut | Line) -> Beat:
        if isinstance(step, Advance):
            return self._advance(step)
        if isinstance(step, Couple):
            self._couple(step)
        elif isinstance(step, Cut):
            left, self._moving = split(self._ground, self._moving, len(step.vehicles))
            self._standing.append(left)
        else:
            self._lined[step.table] = step.index
        after = (*self._standing, self._moving)
        return Beat(step, after, after, dict(self._lined))

    def _advance(self, step: Advance) -> Beat:
        before = self._moving
        longer = Placed(before.vehicles, (*before.ways, *step.enters), before.offset, before.noses)
        self._moving = moved(self._ground, before, step.distance, step.enters)
        last = self._ground.district.cell_length(before.ways[-1].cell)
        free = last - leading_offset(self._ground, before)
        still = tuple(self._standing)
        return Beat(step, still, (*still, self._moving), dict(self._lined), longer, free)

    def _couple(self, step: Couple) -> None:
        strings = [*self._standing, self._moving]
        met = next(
            other
            for one, other in contacts(self._ground, strings, self._lined)
            if one == self._moving and other.vehicles == step.vehicles
        )
        self._standing = [one for one in self._standing if {*one.vehicles} != {*met.vehicles}]
        self._moving = joined(self._ground, self._moving, met)
