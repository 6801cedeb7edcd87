"""The time allowed for a row of questions, each of which is a solution of its own."""

from __future__ import annotations

import time
from collections.abc import Callable
from dataclasses import dataclass, field

__all__ = ["Allowance"]

_LEAST = 0.01
"""Seconds that a question gets at least, once it is asked."""


@dataclass(slots=True)
class Allowance:
    """``seconds`` from now on for all questions (``None``: as long as they take); ``tell`` hears of progress,
    ``stop`` gives a reason to stop, or ``None``.  ``stopped``: why no more is asked, once that is so.
    """

    seconds: float | None
    tell: Callable[[str], None] | None = None
    stop: Callable[[], str | None] | None = None
    stopped: str | None = None
    _began: float = field(default_factory=time.monotonic)

    def is_over(self) -> bool:
        """Whether to ask no more; then ``stopped`` says why."""
        if self.stopped is None and self.stop is not None:
            self.stopped = self.stop()
        if self.stopped is None and self._left() == 0:
            self.stopped = f"the limit of {self.seconds:g} seconds"
        return self.stopped is not None

    def share(self, questions: int = 1, most: float | None = None) -> float | None:
        """Seconds for the next of so many questions, ``most`` at the most."""
        left = self._left()
        if left is None:
            return most
        share = left / questions if most is None else min(most, left / questions)
        return max(_LEAST, share)

    def say(self, what: str) -> None:
        """Tell, if anybody listens."""
        if self.tell is not None:
            self.tell(what)

    def _left(self) -> float | None:
        if self.seconds is None:
            return None
        return max(0.0, self._began + self.seconds - time.monotonic())
