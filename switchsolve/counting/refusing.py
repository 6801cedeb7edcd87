"""What is not counted is refused: never a part of a number for the whole."""

from __future__ import annotations

from collections.abc import Callable

from switchsolve.errors import SwitchsolveError

__all__ = ["Meter", "Refused"]


class Refused(SwitchsolveError):
    """There is more to count than was allowed, or it has no number; the message says which."""


class Meter:
    """Counts standings looked at: more than ``most`` are refused.  ``tell`` hears of progress; ``stop``,
    asked now and then, gives a reason to refuse, or ``None``.
    """

    def __init__(
        self, most: int, tell: Callable[[str], None] | None, stop: Callable[[], str | None] | None = None
    ) -> None:
        self.most = most
        self.looked_at = 0
        self.doing = ""
        self._tell = tell
        self._stop = stop

    def __call__(self) -> None:
        """One more.  Raises :class:`Refused`."""
        self.looked_at += 1
        if self.looked_at > self.most:
            raise Refused(f"{self.doing}: more than {self.most:,} standings would have to be looked at")
        if not self.looked_at % 64:
            self.pause(f"{self.looked_at:,} standings looked at")

    def pause(self, how_far: str) -> None:
        """Tell how far it is, and ask whether to stop.  Raises :class:`Refused`."""
        if self._tell is not None:
            self._tell(f"{self.doing}: {how_far}")
        reason = self._stop() if self._stop is not None else None
        if reason is not None:
            raise Refused(f"{self.doing}: stopped by {reason} ({how_far})")
