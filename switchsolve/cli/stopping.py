"""Ctrl-C while a command works."""

from __future__ import annotations

import signal
import sys
import threading

__all__ = ["Stop"]


class Stop:
    """Ctrl-C: the first one stops the search, which says what it has; the second one ends the program."""

    def __init__(self) -> None:
        self._is_asked = False
        self._before: object = None

    def __enter__(self) -> Stop:
        if threading.current_thread() is threading.main_thread():
            self._before = signal.signal(signal.SIGINT, self._ask)
        return self

    def __exit__(self, *_: object) -> None:
        if self._before is not None:
            signal.signal(signal.SIGINT, signal.default_int_handler)

    def _ask(self, *_: object) -> None:
        if self._is_asked:
            raise KeyboardInterrupt
        self._is_asked = True
        print("stopping; what there is follows (Ctrl-C again ends at once)", file=sys.stderr)

    def __call__(self) -> str | None:
        """The reason to stop, once it was asked for."""
        return "Ctrl-C" if self._is_asked else None
