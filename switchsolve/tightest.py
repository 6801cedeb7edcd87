"""The tightest place of a plan: the move and the piece of rail with the least length to spare.

The spare length of a track is how much shorter it could be with every vehicle of the plan still where it
must be: what stands on it at once, put together, against its length.
"""

from __future__ import annotations

from switchsolve.district import Track
from switchsolve.plan import Plan, TightestPlace
from switchsolve.puzzle import Puzzle
from switchsolve.referee import replay

__all__ = ["tightest_place"]


def tightest_place(puzzle: Puzzle, plan: Plan) -> TightestPlace | None:
    """The end of a move at which a track is fullest; ``None`` for a plan in which no track is ever used
    whole.

    Only strings that stand wholly on the track count, and only at the ends of moves.
    """
    best: TightestPlace | None = None
    vehicles = puzzle.vehicles
    for number, frame in enumerate(replay(puzzle, plan).frames):
        filled: dict[str, int] = {}
        for placed in frame.standing:
            places = {way.cell.place for way in placed.ways}
            if len(places) == 1:
                name = next(iter(places))
                filled[name] = filled.get(name, 0) + sum(vehicles[one].length for one in placed.vehicles)
        for name, length in filled.items():
            place = puzzle.district.place(name)
            if isinstance(place, Track) and not place.entrances:
                spare = place.length - length
                if best is None or spare < best.spare:
                    best = TightestPlace(number, name, spare)
    return best
