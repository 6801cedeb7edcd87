"""When a search has to stop, and how far it tells that it has come."""

from __future__ import annotations

import time
from collections.abc import Callable
from dataclasses import dataclass, field

__all__ = ["HUNT", "Limit", "allowed", "time_to_hunt"]

HUNT = 0.2
"""The share of the time allowed that is kept for finding some plan, should the proof not come to an end."""
_HUNT_AFTER_STOP = 5.0
"""Seconds for the same after a stop by the caller."""


@dataclass(slots=True)
class Limit:
    """When to stop: ``seconds`` after the start (``None``: never), or when ``stop`` gives a reason.

    ``tell`` is called now and then with a line of progress.
    """

    seconds: float | None = None
    tell: Callable[[str], None] | None = None
    stop: Callable[[], str | None] | None = None
    began: float = field(default_factory=time.monotonic)
    what: str = ""
    reason: str | None = None

    def __call__(self, expanded: int) -> str | None:
        """As :meth:`look`, at every 64th standing only."""
        return None if expanded % 64 else self.look(expanded)

    def look(self, expanded: int) -> str | None:
        """The reason to stop, or ``None``; tells how far it is."""
        spent = time.monotonic() - self.began
        if self.tell is not None:
            rate = f", {expanded / spent:,.0f} a second" if spent > 1 else ""
            self.tell(f"{self.what}: {expanded:,} standings, {spent:.0f} s{rate}")
        if self.stop is not None:
            self.reason = self.stop()
        if self.reason is None and self.seconds is not None and spent > self.seconds:
            self.reason = f"the limit of {self.seconds:g} seconds"
        return self.reason

    def named(self, what: str) -> Limit:
        """The same limit while the search called ``what`` runs."""
        self.what = what
        return self

    def name(self) -> str:
        """What stopped it, as the user knows it: the whole time allowed, the hunt for a plan included."""
        reason = self.reason or "the limit"
        if self.seconds is not None and reason.endswith(" seconds"):
            return f"the limit of {self.seconds / (1 - HUNT):g} seconds"
        return reason


def allowed(
    seconds: float | None, tell: Callable[[str], None] | None, stop: Callable[[], str | None] | None
) -> Limit:
    """The limit of a proof, out of ``seconds`` for proof and hunt."""
    return Limit(None if seconds is None else seconds * (1 - HUNT), tell, stop)


def time_to_hunt(limit: Limit) -> Limit:
    """The limit of the hunt for any plan, once the proof has been stopped by ``limit``."""
    spare = _HUNT_AFTER_STOP if limit.seconds is None else limit.seconds * HUNT / (1 - HUNT)
    return Limit(spare, limit.tell, None).named("looking for any plan")
