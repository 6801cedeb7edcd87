"""What a standing demands of positions: strings on their cells, gaps between those that face."""

from __future__ import annotations

from functools import cached_property

from switchsolve.packing import PackedPuzzle
from switchsolve.rules.halts import can_come_back, halts_of
from switchsolve.rules.standing import Draft, Standing, String, reverse_string
from switchsolve.zone import Zone

__all__ = ["ENGINES", "Positions"]

ENGINES = (-2, -2)
"""For who may touch what it meets: whatever stands with a locomotive."""


class Positions:
    """The physical model over one packed set-up.

    ``mirrored`` zones are used where some string can come back to a cell turned end for end.
    """

    def __init__(self, packed: PackedPuzzle) -> None:
        self.p = packed
        self.lengths = packed.lengths
        self.token_lengths = packed.token_lengths
        self.is_loco = packed.is_loco
        self.orientation = _orientation(packed)
        self.mirrored = self.orientation is None
        self.several = len(packed.loco_names) > 1
        self._length_cache: dict[tuple[int, ...], int] = {}
        self._path_cache: dict[tuple[int, ...], int] = {}
        self._loco_cache: dict[tuple[int, ...], bool] = {}
        self._turn_cache: dict[String, tuple[String, int, int]] = {}

    # ---- small measures

    def length(self, tokens: tuple[int, ...]) -> int:
        """Length of a row of vehicles, grid units."""
        found = self._length_cache.get(tokens)
        if found is None:
            found = self._length_cache[tokens] = sum(self.token_lengths[token] for token in tokens)
        return found

    @cached_property
    def can_come_back(self) -> bool:
        """Whether a run can come back to where it was."""
        return can_come_back(self.p)

    @cached_property
    def halts(self) -> frozenset[int] | None:
        """The ways at whose end a run halts; ``None``: it can come back, and no halts keep it from that."""
        return halts_of(self.p) if self.can_come_back else frozenset()

    def path_length(self, ways: tuple[int, ...]) -> int:
        """Length of a row of cells, grid units."""
        found = self._path_cache.get(ways)
        if found is None:
            found = self._path_cache[ways] = sum(self.lengths[way >> 1] for way in ways)
        return found

    def has_loco(self, tokens: tuple[int, ...]) -> bool:
        """Whether there is a locomotive in a row of vehicles."""
        found = self._loco_cache.get(tokens)
        if found is None:
            found = self._loco_cache[tokens] = any(self.is_loco[token] for token in tokens)
        return found

    def _room(self, string: String, side: int) -> tuple[int, int]:
        """The room at an end as ``(sign, constant)``: room = sign * x + constant."""
        if side:
            return -1, self.path_length(string.ways) - self.length(string.tokens)
        return 1, 0

    @staticmethod
    def _facing(string: String, side: int) -> int:
        return string.ways[-1] if side else string.ways[0] ^ 1

    def _couples(self, string: String, side: int) -> bool:
        """Whether that end can be coupled to (a rear-only locomotive's front cannot)."""
        token = string.tokens[-1 if side else 0]
        what = self.p.classes[token >> 1]
        if not what.rear_only:
            return True
        front_is_head = not token & 1
        return front_is_head != bool(side)

    # ---- who is where

    @staticmethod
    def _occupied(draft: Draft) -> dict[int, list[tuple[int, int]]]:
        """By cell: the (slot, index in its path) of every string that touches it."""
        found: dict[int, list[tuple[int, int]]] = {}
        for slot, string in enumerate(draft.strings):
            if string is not None:
                for k, way in enumerate(string.ways):
                    cell = way >> 1
                    if cell in found:
                        found[cell].append((slot, k))
                    else:
                        found[cell] = [(slot, k)]
        return found

    def _beyond(
        self, draft: Draft, occupied: dict[int, list[tuple[int, int]]], way: int, me: tuple[int, int]
    ) -> tuple[int, int] | None:
        """The (slot, side) of the string end that protrudes into ``way``'s cell from its far end."""
        for slot, k in occupied.get(way >> 1, ()):
            if (slot, k) == me:
                continue
            string = draft.strings[slot]
            assert string is not None
            if string.ways[k] == way and k == 0 and len(string.ways) > 1:
                return slot, 0
            if string.ways[k] == way ^ 1 and k == len(string.ways) - 1 and len(string.ways) > 1:
                return slot, 1
        return None

    def _neighbour(
        self, draft: Draft, occupied: dict[int, list[tuple[int, int]]], slot: int, side: int
    ) -> tuple[int, int] | None:
        """The (slot, side) of the next string end in the same cell as that end of ``slot``."""
        string = draft.strings[slot]
        assert string is not None
        way = self._facing(string, side)
        order = draft.inside.get(way >> 1)
        if order:
            towards = order if not way & 1 else order[::-1]
            at = towards.index(slot) + 1 if len(string.ways) == 1 else 0
            if at < len(towards):
                other = draft.strings[towards[at]]
                assert other is not None
                return towards[at], (0 if other.ways[0] == way else 1)
        me = (slot, len(string.ways) - 1 if side else 0)
        return self._beyond(draft, occupied, way, me)

    def _first_on(
        self, draft: Draft, occupied: dict[int, list[tuple[int, int]]], way: int
    ) -> tuple[int, int] | None:
        """The (slot, side) of the first string end met when ``way`` is entered."""
        order = draft.inside.get(way >> 1, [])
        if order:
            slot = order[-1] if way & 1 else order[0]
            other = draft.strings[slot]
            assert other is not None
            return slot, (0 if other.ways[0] == way else 1)
        return self._beyond(draft, occupied, way, (-1, -1))

    def _gap(self, one: String, side: int, other: String, other_side: int) -> int:
        """The least gap between two ends that face each other: 0 where a contact does not couple."""
        return 1 if self._couples(one, side) and self._couples(other, other_side) else 0

    # ---- what a standing demands of positions

    def _demand_span(self, zone: Zone, slot: int, string: String) -> bool:
        """The string lies on its path, and reaches (at least up to the edge of) both end cells.

        A string that ends exactly at an edge may be listed with the cell beyond or without it: with it, it
        claims more rail than it touches, which forbids others and allows nothing.  That way an end may
        enter a cell before the other has left one, whatever the lengths.
        """
        ways = string.ways
        slack = self.path_length(ways) - self.length(string.tokens)
        if slack < 0:
            return False
        if not (zone.at_least(slot, 1, 0) and zone.at_least(slot, -1, -slack)):
            return False
        if len(ways) == 1:
            return True
        first, last = self.lengths[ways[0] >> 1], self.lengths[ways[-1] >> 1]
        return zone.at_least(slot, -1, -first) and zone.at_least(slot, 1, slack - last)

    def _demand_end(
        self,
        draft: Draft,
        occupied: dict[int, list[tuple[int, int]]],
        slot: int,
        side: int,
        moving: tuple[int, int] = (-1, -1),
    ) -> bool:
        """That end of the string keeps its gap to whatever it faces (the end ``moving`` ahead may come up
        to what it meets; :data:`ENGINES`: whatever stands with a locomotive may).
        """
        string = draft.strings[slot]
        assert string is not None
        way = self._facing(string, side)
        met = self._neighbour(draft, occupied, slot, side)
        if met is not None:
            return self._demand_gap(draft, slot, side, met, self.lengths[way >> 1], moving)
        for following in self.p.ahead(way, draft.lined):
            met = self._first_on(draft, occupied, following)
            if met is not None and not self._demand_gap(draft, slot, side, met, 0, moving):
                return False
        return True

    def _demand_gap(
        self,
        draft: Draft,
        slot: int,
        side: int,
        met: tuple[int, int],
        overlap: int,
        moving: tuple[int, int],
    ) -> bool:
        string, other = draft.strings[slot], draft.strings[met[0]]
        assert string is not None and other is not None
        sign, constant = self._room(string, side)
        other_sign, other_constant = self._room(other, met[1])
        touches = moving in ((slot, side), met) and met[0] != slot
        if moving == ENGINES:
            touches = self.has_loco(string.tokens) or self.has_loco(other.tokens)
        gap = 0 if touches else self._gap(string, side, other, met[1])
        need = overlap + gap - constant - other_constant
        if met[0] == slot:
            return need <= 0  # head against own tail: the two signs cancel
        return draft.zone.sum_at_least(slot, sign, met[0], other_sign, need)

    def _demand(
        self,
        draft: Draft,
        slot: int,
        leading: int = -1,
        occupied: dict[int, list[tuple[int, int]]] | None = None,
    ) -> bool:
        """All that the present standing demands of string ``slot``, its end ``leading`` still on the move.

        ``occupied``: as :meth:`_occupied` finds it, if the caller knows it.
        """
        string = draft.strings[slot]
        assert string is not None
        if not self._demand_span(draft.zone, slot, string):
            return False
        if occupied is None:
            occupied = self._occupied(draft)
        return all(self._demand_end(draft, occupied, slot, side, (slot, leading)) for side in (1, 0))

    def _comes_to_rest(self, draft: Draft, but: tuple[int, int] = (-1, -1)) -> bool:
        """Every end that may have been on the move keeps its gap now, but for the one that goes on."""
        occupied = self._occupied(draft)
        for slot, string in enumerate(draft.strings):
            if string is not None and self.has_loco(string.tokens):
                for side in (1, 0):
                    if (slot, side) != but and not self._demand_end(draft, occupied, slot, side, but):
                        return False
        return True

    def at_rest(self, standing: Standing) -> Standing | None:
        """The standing with all gaps kept (what was on the move stops), or ``None`` if that cannot be."""
        draft = self.draft(standing)
        if not self._comes_to_rest(draft):
            return None
        return standing._replace(zone=tuple(draft.zone.d), moving=(-1, -1))

    def touching(self, standing: Standing) -> Standing | None:
        """The standing in which every string lies in both its end cells by a grid unit or more, so that it is
        listed with just the cells that it touches; ``None`` if that cannot be.
        """
        zone = self.draft(standing).zone
        ends = [(slot, string, side) for slot, string in enumerate(standing.strings) for side in (0, 1)]
        if not all(self._narrow(zone, slot, string, side, False) for slot, string, side in ends):
            return None
        return standing._replace(zone=tuple(zone.d))

    def _narrow(self, zone: Zone, slot: int, string: String, side: int, at_edge: bool) -> bool:
        """Keep the positions in which the end stands at the edge of its cell, or those in which it lies in it
        by a grid unit or more; ``False`` if nothing is left.
        """
        if len(string.ways) == 1:
            return not at_edge
        sign, constant = self._room(string, side)
        length = self.lengths[self._facing(string, side) >> 1]
        if at_edge:
            return zone.at_least(slot, sign, length - constant)
        return zone.at_least(slot, -sign, constant - length + 1)

    # ---- drafts and canonical form

    def draft(self, standing: Standing) -> Draft:
        """A draft to work on."""
        inside: dict[int, list[int]] = {cell: list(order) for cell, order in standing.inside}
        for slot, string in enumerate(standing.strings):
            if len(string.ways) == 1 and string.ways[0] >> 1 not in inside:
                inside[string.ways[0] >> 1] = [slot]
        n = 1 + len(standing.strings) * (2 if self.mirrored else 1)
        return Draft(
            list(standing.strings),
            inside,
            standing.last,
            standing.lined,
            Zone(list(standing.zone), n, self.mirrored),
        )

    def _turned(self, string: String) -> tuple[String, int, int]:
        """The string listed in the one agreed way, and the sign and shift that this brings to its ``x``."""
        found = self._turn_cache.get(string)
        if found is None:
            found = string, 1, 0
            if not self._is_canonical(string):
                shift = self.path_length(string.ways) - self.length(string.tokens)
                found = reverse_string(string, self.is_loco), -1, shift
            self._turn_cache[string] = found
        return found

    def _is_canonical(self, string: String) -> bool:
        if self.orientation is not None:
            return (string.ways[0] & 1) == self.orientation[string.ways[0] >> 1]
        other = reverse_string(string, self.is_loco)
        return (string.ways, string.tokens) <= (other.ways, other.tokens)

    def canonical(self, draft: Draft) -> Standing:
        """The standing of a draft: strings turned and ordered in the one agreed way."""
        return self.ordered(draft)[0]

    def ordered(self, draft: Draft) -> tuple[Standing, list[tuple[int, int, int]]]:
        """The standing of a draft and, for each of its strings, the ``(slot, sign, shift)`` with
        ``x = sign * x_slot + shift``."""
        rank = {slot: at for order in draft.inside.values() for at, slot in enumerate(order)}
        entries = []
        for slot, string in enumerate(draft.strings):
            if string is None:
                continue
            turned, sign, shift = self._turned(string)
            entries.append((turned, rank.get(slot, 0), slot, sign, shift))
        entries.sort()
        number = {entry[2]: at for at, entry in enumerate(entries)}
        sources = [(slot, sign, shift) for _, _, slot, sign, shift in entries]
        inside = tuple(
            (cell, tuple(number[slot] for slot in order))
            for cell, order in sorted(draft.inside.items())
            if len(order) > 1
        )
        strings = tuple(entry[0] for entry in entries)
        zone = draft.zone.rebuild(sources)
        moving = (-1, -1)
        if draft.moving[0] >= 0:
            at = number[draft.moving[0]]
            moving = (at, draft.moving[1] ^ (entries[at][3] < 0))
        return Standing(strings, inside, draft.last, draft.lined, tuple(zone.d), moving), sources


def _orientation(packed: PackedPuzzle) -> tuple[int, ...] | None:
    """For each cell the direction bit such that all connected ways agree; ``None`` on wyes and the like."""
    linings: list[tuple[int, ...]] = [()]
    for table in packed.puzzle.district.tables:
        linings = [(*lined, index) for lined in linings for index in range(len(table.meets))]
    bits: dict[int, int] = {}
    for seed in range(len(packed.cells)):
        stack = [] if seed in bits else [seed]
        bits.setdefault(seed, 0)
        while stack:
            cell = stack.pop()
            for way in (2 * cell, 2 * cell + 1):
                for following in {one for lined in linings for one in packed.ahead(way, lined)}:
                    bit = (following & 1) ^ (way & 1) ^ bits[cell]
                    if following >> 1 not in bits:
                        bits[following >> 1] = bit
                        stack.append(following >> 1)
                    elif bits[following >> 1] != bit:
                        return None
    return tuple(bits[cell] for cell in range(len(packed.cells)))
