"""What a plain crew weighs against each other: errands that can be done now, and how."""

from __future__ import annotations

from dataclasses import dataclass

from switchsolve.crew.errands import Errand
from switchsolve.crew.standing import Standpoint
from switchsolve.plan import Plan
from switchsolve.puzzle import Puzzle
from switchsolve.solving import Proof
from switchsolve.vehicles import Locomotive

__all__ = ["Attempt", "Question"]


@dataclass(frozen=True, slots=True)
class Attempt:
    """The errands done with the fewest moves."""

    number: int
    errands: tuple[Errand, ...]
    moves: int
    runs_around: bool
    plan: Plan
    point: Standpoint

    @property
    def rank(self) -> tuple[bool, int, int]:
        """What the crew does first is least."""
        return self.runs_around, self.moves, self.number


@dataclass(frozen=True, slots=True)
class Question:
    """Errands for one locomotive, and the answer if it may end anywhere: ``least`` moves, no fewer will do.

    ``number``: its place among all questions, in the order of the file.
    """

    number: int
    errands: tuple[Errand, ...]
    worker: Locomotive
    puzzle: Puzzle
    proof: Proof
    least: int

    def is_beaten_by(self, best: Attempt) -> bool:
        """Whether ``best`` comes before anything that this can still come to."""
        return best.rank < (False, self.least, self.number)
