"""Sessions drawn from the traffic of a puzzle, each a set-up of its own, one following the other."""

from __future__ import annotations

from switchsolve.traffic.cars import roads_of
from switchsolve.traffic.season import Season, Session, sessions

__all__ = ["Season", "Session", "roads_of", "sessions"]
