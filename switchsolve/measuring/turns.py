"""A turn goes out and comes back: on which leg is each spot worked with fewer moves?

With two entrances (the first two of the file) the turn comes *outbound* from the first and *homebound* from
the other, its cars behind the locomotive both times.  With one entrance it goes out and back by the same:
outbound its cars are behind the locomotive, homebound, after it has run around them, ahead of it.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from switchsolve.measuring.arrivals import Arrival, Task
from switchsolve.measuring.spots import Row, SpotWork
from switchsolve.work import Place

__all__ = ["Turn", "TurnSpot", "turn_of"]


@dataclass(frozen=True, slots=True)
class TurnSpot:
    """The proved minima of one spot on both legs (``None``: impossible, or not proved)."""

    place: Place
    outbound: int | None
    homebound: int | None

    @property
    def better(self) -> str:
        """``outbound``, ``homebound``, ``either`` (as few moves), or ``neither`` (none is known)."""
        if self.outbound is None and self.homebound is None:
            return "neither"
        if self.outbound == self.homebound:
            return "either"
        if self.homebound is None or (self.outbound is not None and self.outbound < self.homebound):
            return "outbound"
        return "homebound"

    @property
    def least(self) -> int | None:
        """The fewer of the two."""
        return min((moves for moves in (self.outbound, self.homebound) if moves is not None), default=None)


@dataclass(frozen=True, slots=True)
class Turn:
    """One task at every spot; a total is ``None`` if a spot has no figure for it.

    The totals add up spots worked one at a time: they compare legs, and are no minimum for all spots at once.
    """

    task: Task
    legs: tuple[Arrival, Arrival]
    spots: tuple[TurnSpot, ...]

    @property
    def outbound(self) -> int | None:
        """All spots worked on the way out."""
        return _sum(spot.outbound for spot in self.spots)

    @property
    def homebound(self) -> int | None:
        """All spots worked on the way home."""
        return _sum(spot.homebound for spot in self.spots)

    @property
    def split(self) -> int | None:
        """Each spot worked on its better leg."""
        return _sum(spot.least for spot in self.spots)


def turn_of(work: SpotWork, task: Task) -> Turn | None:
    """The turn by the rows of ``work`` in the empty district; ``None`` without an entrance or spots."""
    ways = [entry for entry in work.entries if entry.is_entrance]
    if not ways or not work.places:
        return None
    out = Arrival(ways[0], False)
    home = Arrival(ways[1], False) if len(ways) > 1 else Arrival(ways[0], True)
    rows = {(row.place, row.arrival): row for row in work.rows if row.task is task}
    spots = tuple(
        TurnSpot(place, _proved(rows.get((place, out))), _proved(rows.get((place, home))))
        for place in work.places
    )
    return Turn(task, (out, home), spots)


def _proved(row: Row | None) -> int | None:
    return None if row is None else row.alone.proved


def _sum(numbers: Iterable[int | None]) -> int | None:
    known = list(numbers)
    return None if any(number is None for number in known) else sum(number or 0 for number in known)
