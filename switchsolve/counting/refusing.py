"""What is not counted is refused: never a part of a number for the whole."""

from __future__ import annotations

from collections.abc import Callable

from switchsolve.errors import SwitchsolveError

__all__ = ["Meter", "Refused", "TooManyEnds"]


class Refused(SwitchsolveError):
    """There is more to count than was allowed, or it has no number; the message says which."""


class TooManyEnds(Refused):
    """There are too many standings in which the work is done to go back from."""


class Meter:
    """Counts standings looked at: more than ``most`` are refused.  ``tell`` hears of progress; ``stop``,
    asked now and then, gives a reason to refuse, or ``None``; ``most_bytes`` is what may be taken at a time.
    """

    def __init__(
        self,
        most: int,
        tell: Callable[[str], None] | None,
        stop: Callable[[], str | None] | None = None,
        most_bytes: int | None = None,
    ) -> None:
        self.most = most
        self.most_bytes = most_bytes
        self.looked_at = 0
        self.doing = ""
        self.tell = tell
        self.stop = stop

    def __call__(self) -> None:
        """One more.  Raises :class:`Refused`."""
        self.looked_at += 1
        if self.looked_at > self.most:
            raise Refused(f"{self.doing}: more than {self.most:,} standings would have to be looked at")
        if not self.looked_at % 64:
            self.pause(f"{self.looked_at:,} standings looked at")

    def have_looked_at(self, number: int) -> None:
        """So many by now.  Raises :class:`Refused`."""
        self.looked_at = number
        if number > self.most:
            raise Refused(f"{self.doing}: more than {self.most:,} standings would have to be looked at")
        self.pause(f"{number:,} standings looked at")

    def take(self, number_of_bytes: int) -> None:
        """So many bytes are about to be held.  Raises :class:`Refused`."""
        if self.most_bytes is not None and number_of_bytes > self.most_bytes:
            raise Refused(f"{self.doing}: stopped by the limit of memory ({number_of_bytes >> 20:,} MiB)")

    def pause(self, how_far: str) -> None:
        """Tell how far it is, and ask whether to stop.  Raises :class:`Refused`."""
        if self.tell is not None:
            self.tell(f"{self.doing}: {how_far}")
        reason = self.stop() if self.stop is not None else None
        if reason is not None:
            raise Refused(f"{self.doing}: stopped by {reason} ({how_far})")
