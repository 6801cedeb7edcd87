"""The fewest moves of one set-up at many lengths of its tracks, within the time there is."""

from __future__ import annotations

import time
from collections.abc import Callable
from dataclasses import dataclass, field

from switchsolve.lengths import format_length
from switchsolve.measuring.pieces import NO_PLAN, Minimum, PieceSteps, resized
from switchsolve.plan import Verdict
from switchsolve.puzzle import Puzzle
from switchsolve.solving import fewest_moves

__all__ = ["Minima"]

_MOST_SHARE = 0.5
"""The share of the time left that one solution may take."""
_UNKNOWN = Minimum(0, NO_PLAN)


@dataclass(slots=True)
class Minima:
    """Solves one set-up at many lengths, in ``seconds`` from now on (``None``: as long as it takes).

    ``now``: the minimum as it is, once it is known.  ``limit``: what stopped a proof, if anything;
    ``out_of_time`` if it was the time.
    """

    puzzle: Puzzle
    seconds: float | None
    most_bytes: int | None
    tell: Callable[[str], None] | None
    stop: Callable[[], str | None] | None
    out_of_time: str = "the limit of time"
    now: Minimum | None = None
    limit: str | None = None
    solved: int = 0
    _began: float = field(default_factory=time.monotonic)

    def as_it_is(self) -> Minimum:
        """The minimum at the lengths of now."""
        self.now = self._solve(self.puzzle, "as it is")
        return self.now

    def at(self, piece: PieceSteps, length: int) -> Minimum:
        """The minimum with ``piece`` so long."""
        if length == piece.length and self.now is not None:
            return self.now
        told = f"{piece.name}, if {format_length(length, self.puzzle)} long"
        return self._solve(resized(self.puzzle, piece, length), told)

    def _solve(self, puzzle: Puzzle, told: str) -> Minimum:
        reason = self.stop() if self.stop is not None else None
        left = None if self.seconds is None else (self._began + self.seconds - time.monotonic()) * _MOST_SHARE
        if reason is not None or (left is not None and left <= 0):
            self.limit = reason or self.out_of_time
            return _UNKNOWN
        self.solved += 1
        if self.tell is not None:
            self.tell(f"{told} ({self.solved} lengths so far)")
        found = fewest_moves(puzzle, seconds=left, most_bytes=self.most_bytes, tell=self.tell, stop=self.stop)
        if found.verdict is Verdict.IMPOSSIBLE:
            return Minimum(NO_PLAN, NO_PLAN)
        if found.verdict is not Verdict.PROVED:
            is_time = left is not None and (self.stop is None or self.stop() is None)
            self.limit = self.out_of_time if is_time else found.limit
        assert found.bound is not None
        return Minimum(found.bound, NO_PLAN if found.moves is None else found.moves)
