"""Two pieces of work at once, on two threads."""

from __future__ import annotations

from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor

__all__ = ["Hands"]


class Hands:
    """The caller's thread, and one more."""

    def __init__(self) -> None:
        self._other = ThreadPoolExecutor(1)

    def both(self, one: Callable[[], object], other: Callable[[], object]) -> None:
        """Do both, and come back when both are done (whatever they read must not change before)."""
        waiting = self._other.submit(other)
        try:
            one()
        finally:
            waiting.result()

    def close(self) -> None:
        """Let the thread go."""
        self._other.shutdown(wait=False, cancel_futures=True)
