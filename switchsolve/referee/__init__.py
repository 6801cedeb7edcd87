"""The referee: replays a plan on real positions and can say no.

A slow, plain program that knows the physical model and nothing of any solver.
"""

from __future__ import annotations

from switchsolve.referee.rail import Piece, occupied
from switchsolve.referee.replay import Frame, Replay, replay, replay_so_far

__all__ = ["Frame", "Piece", "Replay", "occupied", "replay", "replay_so_far"]
