"""What is not counted is refused: never a part of a number for the whole."""

from __future__ import annotations

from collections.abc import Callable

from switchsolve.errors import SwitchsolveError

__all__ = ["Meter", "Refused"]


class Refused(SwitchsolveError):
    """There is more to count than was allowed, or it has no number; the message says which."""


class Meter:
    """Counts standings looked at.

    ``most``: more are refused.  ``tell`` hears of progress; ``stop`` gives the reason to stop, or ``None``.
    """

    def __init__(
        self, most: int, tell: Callable[[str], None] | None, stop: Callable[[], str | None] | None
    ) -> None:
        self.most = most
        self.looked_at = 0
        self.doing = ""
        self._tell = tell
        self._stop = stop

    def __call__(self, of: str = "") -> None:
        """One more.  Raises :class:`Refused`."""
        self.looked_at += 1
        if self.looked_at > self.most:
            raise Refused(
                f"more than {self.most:,} standings of the search would have to be looked at ({self.doing})"
            )
        if self.looked_at % 256:
            return
        if self._tell is not None:
            self._tell(f"{self.doing}: {self.looked_at:,} standings looked at{of}")
        reason = self._stop() if self._stop is not None else None
        if reason is not None:
            raise Refused(f"stopped by {reason} ({self.doing})")
