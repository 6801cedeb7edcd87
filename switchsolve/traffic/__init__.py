"""Sessions drawn from the traffic of a puzzle, each a set-up of its own, one following the other."""

from __future__ import annotations

from switchsolve.traffic.season import Season, Session, sessions

__all__ = ["Season", "Session", "sessions"]
