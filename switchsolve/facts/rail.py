"""The rail as a train finds it that comes in from a track with one way out."""

from __future__ import annotations

from switchsolve.district import End, Table
from switchsolve.facts.probes import Entry
from switchsolve.packing import PackedPuzzle
from switchsolve.puzzle import Puzzle

__all__ = ["MOST_PATHS", "Rail", "is_one_train"]

MOST_PATHS = 200
"""Ways in from the entry that are looked at."""


def is_one_train(probe: Puzzle, entry: Entry) -> bool:
    """Whether there is nothing but one train with one locomotive, at rest on the track of ``entry``."""
    if len(probe.locomotives) != 1 or len(probe.start.strings) != 1 or not probe.cars:
        return False
    return not probe.start.under_way and probe.start.strings[0].track == entry.track


class Rail:
    """The rail of a set-up, as one comes to it from the track of ``entry``.

    ``inwards``: the way that leads in from there.  ``meets``: by the way that leads onto a table, the table
    and the end of track that meets it.
    """

    def __init__(self, p: PackedPuzzle, entry: Entry) -> None:
        self.p = p
        self._known: dict[int, tuple[int, ...]] = {}
        self.inwards = self._last_way(End(entry.track, entry.inward))
        self.meets = {
            self._last_way(outside): (table, outside)
            for table in p.puzzle.district.tables
            for _, outside in table.meets
        }
        outer = self._last_way(End(entry.track, entry.outward))
        self._is_dead_end = not self.after(outer) and outer not in self.meets

    def _last_way(self, end: End) -> int:
        """The way that leads out of a track at ``end``."""
        cells = sorted(self.p.cells_of_track[end.place])
        return 2 * cells[-1] if end.end == "to" else 2 * cells[0] + 1

    def after(self, way: int) -> tuple[int, ...]:
        """The ways that follow, but for those onto a table."""
        found = self._known.get(way)
        if found is None:
            following = self.p.ahead(way, self.p.start_lined)
            found = self._known[way] = tuple(one for one in following if not self._is_table(one >> 1))
        return found

    def _is_table(self, cell: int) -> bool:
        return isinstance(self.p.puzzle.district.place(self.p.cells[cell].cell.place), Table)

    def reached(self, ways: set[int]) -> set[int]:
        """``ways``, and all that follow."""
        found = set(ways)
        waiting = list(ways)
        while waiting:
            for following in self.after(waiting.pop()):
                if following not in found:
                    found.add(following)
                    waiting.append(following)
        return found

    def goes_one_way(self) -> bool:
        """Whether nothing but a table turns anybody, no run comes back, and routes that part exclude each
        other.
        """
        p = self.p
        inwards = self.reached({self.inwards})
        outwards = self.reached({way ^ 1 for way in (*inwards, *self.meets)})
        if not self._is_dead_end or inwards & outwards:
            return False
        for way in range(2 * len(p.cells)):
            if self._is_table(way >> 1):
                continue
            after = self.after(way)
            own = {way >> 1, *p.conflicts[way >> 1]}
            if any(following >> 1 in own for following in self.reached(set(after))):
                return False
            if any(a != b and b >> 1 not in p.conflicts[a >> 1] for a in after for b in after):
                return False
        return True
