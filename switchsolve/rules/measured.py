"""The law, with each entry into a cell told exactly, for objectives that count distance."""

from __future__ import annotations

from collections.abc import Container, Iterator

from switchsolve.packing import PackedPuzzle
from switchsolve.puzzle import StartString
from switchsolve.rules.actions import Rules
from switchsolve.rules.standing import Action, Cost, Draft, Standing, String, Wanted
from switchsolve.zone import Zone

__all__ = ["MeasuredRules"]


class MeasuredRules(Rules):
    """The same standings and actions, but that no cell is entered for nothing.

    An end that stands exactly at the edge of a cell may be listed with that cell or without it.  Listed with
    it, it could set out into the cell and never pay for the entry.  So here positions are told apart when an
    end begins to lead in a new direction: if it lies in its cell by more than zero, nothing is to pay; if it
    stands at the edge (``Action.at_edge``), it enters now.  A lead that has just entered a cell may go on
    from its edge: that entry is paid.

    What is coupled to leads with its far end, and what stands at the start may too: those must be listed
    without a cell in which they do not lie.  Nothing is lost by that.  A string that starts at an edge is
    listed both ways; one that was left somewhere was the trailing part, and its tail could leave the cell
    as soon as it stood at the edge, before the cut.

    Lengths are those of whole cells: a track with a do-not-touch car in it is several pieces to the law, but
    who enters one of them enters the track.
    """

    def __init__(self, packed: PackedPuzzle) -> None:
        super().__init__(packed)
        district = packed.puzzle.district
        self._whole = [district.cell_length(cell.cell) for cell in packed.cells]

    def _of_string(
        self, standing: Standing, slot: int, side: int, spare: Container[str], wanted: Wanted
    ) -> Iterator[tuple[Action, Draft, Cost]]:
        string = standing.strings[slot]
        found = super()._of_string(standing, slot, side, spare, wanted)
        if len(string.ways) == 1 or not self._may_turn(standing, string, side):
            yield from self._whole_cells(found)
            return
        if self.several:  # some of its locomotives may go on as before, without those that would turn
            for action, draft, cost in self._whole_cells(found):
                if not cost.moves:
                    yield action, draft, cost
        for at_edge in (False, True):
            zone = self._zone(standing)
            if not self._narrow(zone, slot, string, side, at_edge):
                continue
            here = standing._replace(zone=tuple(zone.d))
            entry = self._whole[self._facing(string, side) >> 1] if at_edge else 0
            found = super()._of_string(here, slot, side, spare, wanted)
            for action, draft, cost in self._whole_cells(found):
                if cost.moves:
                    yield (
                        action._replace(at_edge=at_edge),
                        draft,
                        cost._replace(distance=cost.distance + entry),
                    )

    def _whole_cells(
        self, found: Iterator[tuple[Action, Draft, Cost]]
    ) -> Iterator[tuple[Action, Draft, Cost]]:
        """The same, each entry at the length of the whole cell."""
        for action, draft, cost in found:
            if action.event == "enter":
                cost = cost._replace(distance=self._whole[action.way >> 1])
            yield action, draft, cost

    def _may_turn(self, standing: Standing, string: String, side: int) -> bool:
        """Whether a motion towards ``side`` is a new one for any locomotive of the string."""
        return any(
            standing.last[self.p.loco_index[token]] != (1 if bool(side) != bool(token & 1) else -1)
            for token in string.tokens
            if self.is_loco[token]
        )

    def _join(
        self,
        draft: Draft,
        slot: int,
        side: int,
        sides: list[tuple[int, int, bool]],
        other: int,
        other_side: int,
        way: int,
    ) -> Draft | None:
        joined = super()._join(draft, slot, side, sides, other, other_side, way)
        if joined is None:
            return None
        whole = joined.strings[slot]
        assert whole is not None
        return joined if self._narrow(joined.zone, slot, whole, side, False) else None

    def _laid_out(
        self,
        lanes: list[tuple[StartString, tuple[tuple[int, ...], ...], bool]],
        paths: list[tuple[int, ...]],
    ) -> Iterator[Draft]:
        for draft in super()._laid_out(lanes, paths):
            strings = [string for string in draft.strings if string is not None]
            ends = [(slot, string, side) for slot, string in enumerate(strings) for side in (0, 1)]
            if all(self._narrow(draft.zone, slot, string, side, False) for slot, string, side in ends):
                yield draft

    def before(self, standing: Standing, action: Action) -> Zone:
        """The positions in a standing from which ``action``, a motion, can begin."""
        zone = super().before(standing, action)
        string = standing.strings[action.string]
        going = string
        if action.cut:
            tokens = string.tokens[-action.cut :] if action.side else string.tokens[: action.cut]
            going = String(string.ways, tokens)
        if self._may_turn(standing, going, action.side):
            self._narrow(zone, action.string, string, action.side, action.at_edge)
        return zone

    def _zone(self, standing: Standing) -> Zone:
        """A copy of the zone of a standing, to be narrowed."""
        n = 1 + len(standing.strings) * (2 if self.mirrored else 1)
        return Zone(list(standing.zone), n, self.mirrored)
