"""How many moves a passing takes at the least where limits let no more than some cars come along at once."""

from __future__ import annotations

from switchsolve.district import Cell, End
from switchsolve.facts.probes import Bench, Entry
from switchsolve.packing import pack
from switchsolve.puzzle import Puzzle
from switchsolve.rules import Rules
from switchsolve.search.exact import bounds

__all__ = ["least_moves"]


def least_moves(bench: Bench, entry: Entry, probe: Puzzle) -> int:
    """No plan has fewer moves, in which the locomotive gets to the other end of the cars of ``probe``, a
    train on the track of ``entry``, and stands there with all of them.

    Let the track lead nowhere but inwards, at most ``m`` cars come along over its inner part, and no run come
    back to where it was.  The vehicles of a dead end keep their order, so every car goes out before the
    locomotive comes in for good, and in after that.  Who goes over the inner end in one move is in one string
    on the inner part: it goes over it once, and only one way.  So there are ``t`` = cars / ``m``, rounded up,
    moves out, then as many in.  And two moves out do not follow each other: what has gone out goes in again,
    or stays out, if the locomotive reverses, and more cars are met by going in.  That makes 2 t - 1 moves for
    going out, and as many for coming in.
    """
    together = _most_together(bench, entry, probe)
    cars = len(probe.cars) - len(bench.puzzle.cars)
    if not 0 < together < cars or _leads_on(bench, entry) or bounds(Rules(pack(probe))) is not None:
        return 0
    trips = -(-cars // together)
    return 4 * trips - 2


def _most_together(bench: Bench, entry: Entry, probe: Puzzle) -> int:
    """How many cars may come along over the inner part of the track."""
    parts = len(probe.district.track(entry.track).parts)
    inner = Cell(entry.track, parts - 1 if entry.inward == "to" else 0)
    found = []
    for limits in (probe.district.limits, probe.district.cell_marks(inner).limits):
        if limits.most_cars is not None:
            found.append(limits.most_cars)
        if limits.longest is not None:
            found.append(limits.longest // bench.car_length)
    return min(found, default=len(probe.cars))


def _leads_on(bench: Bench, entry: Entry) -> bool:
    """Whether there is rail beyond the outer end of the track."""
    outer = End(entry.track, entry.outward)
    meets = (outside for table in bench.district.tables for _, outside in table.meets)
    return bench.district.mate(outer) is not None or outer in meets
