"""One advance of the moving string, followed from event to event.

An event is the next boundary of a cell or the next contact of the leading end.  Between two events nothing
can go wrong: the leading end runs over rail that was found free, and the rear end only leaves rail.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import NoReturn

from switchsolve.district import Way
from switchsolve.errors import PlanError
from switchsolve.plan import Advance, Placed
from switchsolve.referee.marks import broken_limit, closed_to
from switchsolve.referee.rail import Ground, conflict, leading_offset, moved, pieces, say, under

__all__ = ["Sweep"]


@dataclass(frozen=True, slots=True)
class Sweep:
    """What a moving string runs among: the strings that stand, and how the tables are lined."""

    where: str
    ground: Ground
    standing: Sequence[Placed]
    lined: dict[str, int]

    def advance(self, string: Placed, step: Advance) -> Placed:
        """The moving string, listed in its direction of travel, at the end of the step.

        Raises ``PlanError`` if it would run into anything, where it may not, or otherwise than the step says.
        """
        after, left, coming = string, step.distance, list(step.enters)
        while left > 0:
            way, at = after.ways[-1], leading_offset(self.ground, after)
            enters: tuple[Way, ...] = ()
            if at == self._length(way):
                way, at = self._next_way(after, coming, left), 0
                enters = (way,)
            go = min(left, self._free(way, at))
            after = moved(self.ground, after, go, enters)
            left -= go
        if coming:
            self._no(f"does not come as far as {self._say(coming[0])}")
        self._check_marks(string, step)
        return after

    def _no(self, what: str) -> NoReturn:
        raise PlanError(self.where, what)

    def _say(self, way: Way) -> str:
        return say(self.ground.district, way.cell)

    def _length(self, way: Way) -> int:
        return self.ground.district.cell_length(way.cell)

    def _next_way(self, string: Placed, coming: list[Way], left: int) -> Way:
        """The way that the leading end, at the end of its cell, enters next; it must be free to enter."""
        ahead = self.ground.district.ahead(string.ways[-1], self.lined)
        here = self._say(string.ways[-1])
        if not ahead:
            self._no(f"runs {left} beyond the end of {here}, where no rail follows")
        if not coming:
            self._no(f"runs {left} beyond the end of {here} without saying where to")
        way = coming.pop(0)
        if way not in ahead:
            self._no(f"{way.cell.place} (cell {way.cell.index}, sign {way.sign}) does not follow {here}")
        self._check_free_to_enter(string, way)
        return way

    def _check_free_to_enter(self, string: Placed, way: Way) -> None:
        for other in (*self.standing, string):
            for piece in pieces(self.ground, other):
                if conflict(self.ground.district, piece.cell, way.cell):
                    blocking = say(self.ground.district, piece.cell)
                    self._no(f"{self._say(way)} is blocked by {piece.vehicle} on {blocking}")

    def _free(self, way: Way, at: int) -> int:
        """How far (above 0) the leading end can go from the point ``at`` of ``way`` until it reaches the end
        of the cell or a standing vehicle.

        Its own rear end is no obstacle: on a loop it goes ahead at the same speed, so a gap that is there
        stays, and where a loop closes, the turnout is blocked until the rear end is beyond it.
        """
        free = self._length(way) - at
        for other in self.standing:
            for piece in pieces(self.ground, other):
                gap = self._first_end(piece.start, piece.end, way) - at
                if piece.cell == way.cell and 0 <= gap < free:
                    free = gap
                    if gap == 0:
                        self._no(f"runs into {piece.vehicle} on {self._say(way)}")
        return free

    def _first_end(self, start: int, end: int, way: Way) -> int:
        """The end of a piece of rail that comes first along the way, measured along it."""
        return start if way.sign > 0 else self._length(way) - end

    def _check_marks(self, string: Placed, step: Advance) -> None:
        """No vehicle touches what is closed to it, and no limit is broken, anywhere on the way."""
        path = (*string.ways, *step.enters)
        wrong = broken_limit(self.ground, string, [way.cell for way in path])
        if wrong:
            self._no(wrong)
        start = string.offset
        for vehicle in string.vehicles:
            end = start + self.ground.vehicles[vehicle].length
            for way, _, _ in under(self.ground, path, start, end + step.distance):
                reason = closed_to(self.ground, vehicle, way.cell)
                if reason:
                    self._no(f"{vehicle} may not touch {self._say(way)}: {reason}")
            start = end
