"""How long work may still take, by how it has gone so far."""

from __future__ import annotations

import time
from collections.abc import Callable

__all__ = ["Pace"]


class Pace:
    """Time left, by the pace since the first question that had to be solved: what was known before (rows of
    a file) takes no time, and says nothing of what the rest takes.
    """

    def __init__(self, clock: Callable[[], float] = time.monotonic) -> None:
        self._clock = clock
        self._began = clock()
        self._known = 0

    def left(self, done: int, asked: int, solved: int) -> str:
        """In words; ``solved`` of those ``done`` had to be."""
        if not solved:
            self._known, self._began = done, self._clock()
            return "time left not known yet"
        seconds = (self._clock() - self._began) / max(done - self._known, 1) * (asked - done)
        return f"about {_words(seconds)} left"


def _words(seconds: float) -> str:
    """A span of time, no finer than it is known."""
    if seconds < 90:
        return "1 second" if seconds < 1.5 else f"{round(seconds)} seconds"
    if seconds < 90 * 60:
        return f"{round(seconds / 60)} minutes"
    return f"{round(seconds / 3600)} hours"
