"""The tightest place of a plan: the move and the piece of rail with the least length to spare.

The spare length of a track is how much shorter it could be with every vehicle of the plan still where it
must be: what stands on it at once, put together, against its length.
"""

from __future__ import annotations

from switchsolve.district import Track
from switchsolve.plan import TightestPlace
from switchsolve.puzzle import Puzzle
from switchsolve.referee import Replay

__all__ = ["tightest_place"]


def tightest_place(puzzle: Puzzle, replayed: Replay) -> TightestPlace | None:
    """Of a plan replayed to its end: the end of a move at which a track is fullest; ``None`` for a plan in
    which no track is ever used whole.

    Only tracks count on which something stands that the move has brought or left there, with every string
    on the track wholly on it.
    """
    best: TightestPlace | None = None
    vehicles = puzzle.vehicles
    # between the start and what is after the last cuts: the moves
    for number, frame in enumerate(replayed.frames[1:-1], 1):
        used = {*frame.moving, *(name for names in frame.cut for name in names)}
        filled: dict[str, int] = {}
        brought: set[str] = set()
        for placed in frame.standing:
            places = {way.cell.place for way in placed.ways}
            if len(places) == 1:
                name = next(iter(places))
                filled[name] = filled.get(name, 0) + sum(vehicles[one].length for one in placed.vehicles)
                if used & {*placed.vehicles}:
                    brought.add(name)
        for name in brought:
            place = puzzle.district.place(name)
            if isinstance(place, Track) and not place.entrances:
                spare = place.length - filled[name]
                if best is None or (spare, number, name) < (best.spare, best.move, best.place):
                    best = TightestPlace(number, name, spare)
    return best
