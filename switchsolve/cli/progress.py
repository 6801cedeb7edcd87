"""Progress on stderr."""

from __future__ import annotations

import sys
import time

__all__ = ["Progress"]


class Progress:
    """A line on stderr at most every ``seconds``, and none before the work has taken two."""

    def __init__(self, seconds: float = 1.0) -> None:
        self._seconds = seconds
        self._next = time.monotonic() + 2

    def __call__(self, text: str) -> None:
        """Show ``text``, if it is time to."""
        now = time.monotonic()
        if now >= self._next:
            print(text, file=sys.stderr)
            self._next = now + self._seconds
