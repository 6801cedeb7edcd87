"""What is not counted is refused: never a part of a number for the whole."""

from __future__ import annotations

from collections.abc import Callable

from switchsolve.errors import SwitchsolveError

__all__ = ["Meter", "Refused"]


class Refused(SwitchsolveError):
    """There is more to count than was allowed, or it has no number; the message says which."""


class Meter:
    """Counts standings looked at: more than ``most`` are refused.  ``tell`` hears of progress."""

    def __init__(self, most: int, tell: Callable[[str], None] | None) -> None:
        self.most = most
        self.looked_at = 0
        self.doing = ""
        self._tell = tell

    def __call__(self) -> None:
        """One more.  Raises :class:`Refused`."""
        self.looked_at += 1
        if self.looked_at > self.most:
            raise Refused(f"{self.doing}: more than {self.most:,} standings would have to be looked at")
        if self._tell is not None and not self.looked_at % 64:
            self._tell(f"{self.doing}: {self.looked_at:,} standings looked at")
