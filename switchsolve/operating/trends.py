"""What lasts and what grows, told from a row of sessions by two stated rules.

**Out for good.**  A tally of short sessions: one up for a session that was short, one down for one that was
not, never under 0 nor over 3.  At 3 the place is out of cars, since the session at which the tally last
left 0; it is so until the tally is back at 0.  So no session by itself changes what is said: between two
changes lie three at least.  (A cumulative sum test, as in E. S. Page, Continuous inspection schemes, 1954;
from memory.)

**A backlog that grows.**  A row of cars that wait comes and goes, and now and then it is short.  So the
sessions are halved and the shortest rows compared: where that of the later half is two cars longer than
that of the earlier half, what waits is never cleared any more.  (A rule of this project.)
"""

from __future__ import annotations

from collections.abc import Collection, Sequence

__all__ = ["FEWEST_SESSIONS", "grows", "out_since"]

FEWEST_SESSIONS = 4
"""With fewer nothing is said of balance."""
_LASTING = 3
"""So many more sessions short than not, and a place is out of cars."""
_CARS = 2


def out_since(short: Collection[int], sessions: int) -> int | None:
    """The session since which a place is out of cars, as it stands after so many ``sessions``; ``None``: it
    is not.  ``short``: the numbers of the sessions that were short, from 1 on."""
    tally, left, is_out = 0, 0, False
    for number in range(1, sessions + 1):
        if number in short:
            left = left if tally else number
            tally = min(tally + 1, _LASTING)
        else:
            tally = max(tally - 1, 0)
        is_out = tally == _LASTING or (is_out and tally > 0)
    return left if is_out else None


def grows(waiting: Sequence[int]) -> bool:
    """Whether the cars that wait, session by session, are a backlog that grows."""
    half = len(waiting) // 2
    return len(waiting) >= FEWEST_SESSIONS and min(waiting[-half:]) >= min(waiting[:half]) + _CARS
