"""Everything that can happen next on the rails."""

from __future__ import annotations

from collections.abc import Container, Iterator, Mapping
from types import MappingProxyType

from switchsolve.rules.setting_off import SettingOff, part_left
from switchsolve.rules.standing import (
    ANY,
    Action,
    Cost,
    Draft,
    Standing,
    String,
    Wanted,
    reverse_string,
)

__all__ = ["Rules"]

NOTHING: Mapping[tuple[int, int], Container[str]] = MappingProxyType({})


class Rules(SettingOff):
    """The physical model over one packed set-up: its starts, and the actions from each standing."""

    # ---- actions

    def actions(
        self,
        standing: Standing,
        spare: Mapping[tuple[int, int], Container[str]] = NOTHING,
        wanted: Wanted = ANY,
    ) -> Iterator[tuple[Action, Standing, Cost]]:
        """Everything that can happen next, with what it costs, in a fixed order.

        ``spare``: by (string, side) the events that are not wanted of the whole string.  ``wanted``: what is
        wanted otherwise.
        """
        for action, draft, cost in self.drafts(standing, spare, wanted):
            if self.several and action.event in ("go", "enter", "leave"):
                self._mark_moving(draft, action.string, action.side)
            yield action, self.canonical(draft), cost

    def actions_of(
        self, standing: Standing, slot: int, side: int
    ) -> Iterator[tuple[Action, Standing, Cost, list[tuple[int, int, int]]]]:
        """As :meth:`actions`, of one string towards one of its ends; with the (string before, sign, shift) of
        each string afterwards.  What a cut has left counts as one string more before, the last.
        """
        for action, draft, cost in self._of_string(standing, slot, side, (), ANY):
            if self.several and action.event != "couple":
                self._mark_moving(draft, slot, side)
            after, sources = self.ordered(draft)
            yield action, after, cost, sources

    def _mark_moving(self, draft: Draft, slot: int, side: int) -> None:
        """Note that the end is on the move, if it may touch what it meets."""
        rested = draft.with_zone(draft.zone.copy())
        if not self._comes_to_rest(rested) or rested.zone.d != draft.zone.d:
            draft.moving = (slot, side)

    def trace(self, standing: Standing, action: Action) -> Draft:
        """The draft that ``action`` makes of ``standing``, slots as in ``standing`` (a cut's left part
        comes last).

        Raises ``ValueError`` if the action is not legal there.
        """
        if action.event == "line":
            among = self._linings(standing)
        else:
            string, side, cut = standing.strings[action.string], action.side, action.cut
            left = part_left(string, side, cut, action.joint) if cut else None
            only = Wanted(may_leave=lambda part, moves: part == left)
            among = self._of_string(standing, action.string, side, ("enter",) if cut else (), only)
        for found, draft, _ in among:
            if found == action:
                return draft
        raise ValueError(f"{action} is not legal here")

    def drafts(
        self,
        standing: Standing,
        spare: Mapping[tuple[int, int], Container[str]] = NOTHING,
        wanted: Wanted = ANY,
    ) -> Iterator[tuple[Action, Draft, Cost]]:
        """As :meth:`actions`, but before strings are turned and ordered."""
        for slot, string in enumerate(standing.strings):
            if self.has_loco(string.tokens):
                for side in (1, 0):
                    events = spare.get((slot, side), ())
                    yield from self._of_string(standing, slot, side, events, wanted)
        if standing.lined:
            yield from self._linings(standing)

    def _of_string(
        self, standing: Standing, slot: int, side: int, spare: Container[str], wanted: Wanted
    ) -> Iterator[tuple[Action, Draft, Cost]]:
        whole = "enter" not in spare
        for draft, cost, cut, joint in self._beginnings(standing, slot, side, whole, wanted):
            string = draft.strings[slot]
            assert string is not None
            if not self._may_move(string, side):
                continue
            sides = self._sides(draft, slot)
            draft.zone.release(slot, 1 if side else -1)
            action = Action("go", slot, side, cut, joint)
            if cut or "go" not in spare:
                went = draft.copy()  # by one grid unit or more, for to stand still is no motion
                went.zone.shift(slot, 1 if side else -1)
                if self._settle(went, slot, side, sides):
                    yield action, went, cost
            yield from self._leave(draft, slot, side, sides, action, cost)
            occupied = self._occupied(draft)
            met = self._neighbour(draft, occupied, slot, side)
            if met is None:
                yield from self._enter(draft, occupied, slot, side, sides, action, cost, wanted)
            yield from self._couple(draft, occupied, slot, side, sides, met, action, cost)

    def _settle(self, draft: Draft, slot: int, side: int, sides: list[tuple[int, int, bool]]) -> bool:
        return self._demand(draft, slot, side) and self._demand_sides(draft, slot, sides)

    def _leave(
        self,
        draft: Draft,
        slot: int,
        side: int,
        sides: list[tuple[int, int, bool]],
        action: Action,
        cost: Cost,
    ) -> Iterator[tuple[Action, Draft, Cost]]:
        string = draft.strings[slot]
        assert string is not None
        if len(string.ways) == 1:
            return
        left = draft.copy()
        sides = self._drop_last(left, slot, side, sides)
        now = left.strings[slot]
        assert now is not None
        if len(now.ways) == 1:
            self._put_inside(left, slot, now.ways[0], at_from=bool(now.ways[0] & 1) != bool(side))
        if self._settle(left, slot, side, sides):
            yield action._replace(event="leave"), left, cost

    @staticmethod
    def _put_inside(draft: Draft, slot: int, way: int, at_from: bool) -> None:
        """The string has come wholly into its cell, at the ``to`` end if ``at_from`` is false."""
        order = draft.inside.setdefault(way >> 1, [])
        order.insert(0 if at_from else len(order), slot)

    def _enter(
        self,
        draft: Draft,
        occupied: dict[int, list[tuple[int, int]]],
        slot: int,
        side: int,
        sides: list[tuple[int, int, bool]],
        action: Action,
        cost: Cost,
        wanted: Wanted,
    ) -> Iterator[tuple[Action, Draft, Cost]]:
        string = draft.strings[slot]
        assert string is not None
        facing = self._facing(string, side)
        leader = string.tokens[-1 if side else 0]
        for way in self.p.ahead(facing, draft.lined):
            cell = way >> 1
            if wanted.may_enter is not None and not wanted.may_enter(way, cost.moves):
                continue
            if not self.p.may_touch[cell][leader] or not self._is_open(draft, occupied, slot, way, facing):
                continue
            if self.p.has_limits and not self._within(self.p.cells[cell].limits, string.tokens, side):
                continue
            entered = draft.copy()
            at = self._extend(entered, slot, side, way)
            fresh = self._sides_of_new(entered, slot, side, way)
            kept = [(k + at, v, before) for k, v, before in sides]
            if action.cut and self._fills_all_but_its_last(string, side):
                kept = self._drop_last(entered, slot, side, kept)
                fresh = self._sides_of_new(entered, slot, side, way)
            if self._settle(entered, slot, side, kept + fresh):
                after = cost._replace(distance=cost.distance + self.lengths[cell])
                yield action._replace(event="enter", way=way), entered, after

    def _fills_all_but_its_last(self, string: String, side: int) -> bool:
        """Whether the string is as long as its path without the cell at its trailing end.

        What is cut off so, and then enters a cell, stands from edge to edge and touches that last cell no
        longer: to leave it first, or to enter and touch it still, it has no room behind.
        """
        last = self.lengths[(string.ways[0] if side else string.ways[-1]) >> 1]
        return len(string.ways) > 1 and self.path_length(string.ways) - last == self.length(string.tokens)

    def _drop_last(
        self, draft: Draft, slot: int, side: int, sides: list[tuple[int, int, bool]]
    ) -> list[tuple[int, int, bool]]:
        """Take the cell at the trailing end off the path of a string over several cells; the ``sides`` that
        remain.
        """
        string = draft.strings[slot]
        assert string is not None
        if not side:
            draft.replace(slot, string.ways[:-1], string.tokens)
            return [entry for entry in sides if entry[0] < len(string.ways) - 1]
        draft.replace(slot, string.ways[1:], string.tokens)
        draft.zone.shift(slot, -self.lengths[string.ways[0] >> 1])
        return [(k - 1, v, before) for k, v, before in sides if k]

    def _is_open(
        self, draft: Draft, occupied: dict[int, list[tuple[int, int]]], slot: int, way: int, facing: int
    ) -> bool:
        """Whether nothing that stands keeps a string off ``way``."""
        cell = way >> 1
        if any(other in occupied for other in self.p.conflicts[cell]):
            return False
        for other, k in occupied.get(cell, ()):
            string = draft.strings[other]
            assert string is not None
            if (
                other == slot
                and not (k == 0 and string.ways[0] == way)
                and not (k == len(string.ways) - 1 and string.ways[-1] == way ^ 1)
            ):
                return False
            if other == slot and len(string.ways) == 1:
                return False
            # another string that reaches in over the very end where we would enter
            before = string.ways[k - 1] if k else None
            after = string.ways[k + 1] if k + 1 < len(string.ways) else None
            near = before if string.ways[k] == way else (None if after is None else after ^ 1)
            if near is not None and other != slot:
                return False
        return True

    def _extend(self, draft: Draft, slot: int, side: int, way: int) -> int:
        """Add ``way`` at the leading end; returns by how much path indexes shift."""
        string = draft.strings[slot]
        assert string is not None
        if len(string.ways) == 1:
            draft.inside[string.ways[0] >> 1].remove(slot)
        if side:
            draft.replace(slot, (*string.ways, way), string.tokens)
            return 0
        draft.replace(slot, (way ^ 1, *string.ways), string.tokens)
        draft.zone.shift(slot, self.lengths[way >> 1])
        return 1

    def _sides_of_new(self, draft: Draft, slot: int, side: int, way: int) -> list[tuple[int, int, bool]]:
        string = draft.strings[slot]
        assert string is not None
        allowed = self.p.may_touch[way >> 1]
        k = len(string.ways) - 1 if side else 0
        return [(k, v, bool(side)) for v, token in enumerate(string.tokens) if not allowed[token]]

    def _couple(
        self,
        draft: Draft,
        occupied: dict[int, list[tuple[int, int]]],
        slot: int,
        side: int,
        sides: list[tuple[int, int, bool]],
        met: tuple[int, int] | None,
        action: Action,
        cost: Cost,
    ) -> Iterator[tuple[Action, Draft, Cost]]:
        string = draft.strings[slot]
        assert string is not None
        facing = self._facing(string, side)
        if met is not None:
            candidates = [(met, -1)]
        else:
            candidates = []
            for way in self.p.ahead(facing, draft.lined):
                first = self._first_on(draft, occupied, way)
                if first is not None:
                    candidates.append((first, way))
        for (other, other_side), way in candidates:
            if other == slot:
                continue
            joined = self._join(draft, slot, side, sides, other, other_side, way)
            if joined is not None:
                after = cost._replace(handling=cost.handling + 1)
                yield action._replace(event="couple", other=other, way=way), joined, after

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
        """The draft in which string ``slot`` touches, and is coupled to, the end of ``other``."""
        met, string = draft.strings[other], draft.strings[slot]
        assert met is not None and string is not None
        if not (self._couples(string, side) and self._couples(met, other_side)):
            return None
        joined = draft.copy()
        if not self._demand_contact(joined, slot, side, sides, other, other_side, way):
            return None
        met, whole = self.put_together(joined, slot, side, other, other_side, way)
        if not self._may_move(whole, side):
            return None
        shift = (
            0
            if side
            else self.path_length(whole.ways) - self.path_length(string.ways) - self.length(met.tokens)
        )
        joined.zone.shift(slot, shift)
        return joined

    def put_together(
        self, draft: Draft, slot: int, side: int, other: int, other_side: int, way: int
    ) -> tuple[String, String]:
        """Make string ``slot`` of a draft and ``other``, which its end meets, one; ``way``: the cell beyond
        the edge at which they meet, or -1 in one cell.  The zone is left alone.

        Returns ``other``, listed as ``slot`` is, and the string that they make.
        """
        string, met = draft.strings[slot], draft.strings[other]
        assert string is not None and met is not None
        if other_side == side:  # listed the other way round
            met = reverse_string(met, self.is_loco)
        shared = 1 if way < 0 else 0
        if side:
            whole = String(string.ways + met.ways[shared:], string.tokens + met.tokens)
        else:
            whole = String(met.ways[: len(met.ways) - shared] + string.ways, met.tokens + string.tokens)
        order_at = draft.inside.get(whole.ways[0] >> 1, [])[:]
        for gone, was in ((slot, string), (other, met)):
            if len(was.ways) == 1:
                draft.inside[was.ways[0] >> 1].remove(gone)
        draft.strings[slot], draft.strings[other] = whole, None
        if len(whole.ways) == 1:
            at = min((order_at.index(one) for one in (slot, other) if one in order_at), default=0)
            draft.inside.setdefault(whole.ways[0] >> 1, []).insert(at, slot)
        return met, whole

    def _demand_contact(
        self,
        draft: Draft,
        slot: int,
        side: int,
        sides: list[tuple[int, int, bool]],
        other: int,
        other_side: int,
        way: int,
    ) -> bool:
        string, met = draft.strings[slot], draft.strings[other]
        assert string is not None and met is not None
        if not (self._demand_span(draft.zone, slot, string) and self._demand_sides(draft, slot, sides)):
            return False
        if not self._demand_end(draft, self._occupied(draft), slot, 1 - side):
            return False
        overlap = self.lengths[self._facing(string, side) >> 1] if way < 0 else 0
        sign, constant = self._room(string, side)
        other_sign, other_constant = self._room(met, other_side)
        gap = overlap - constant - other_constant
        return draft.zone.sum_at_least(slot, sign, other, other_sign, gap) and draft.zone.sum_at_least(
            slot, -sign, other, -other_sign, -gap
        )

    # ---- tables

    def _linings(self, standing: Standing) -> Iterator[tuple[Action, Draft, Cost]]:
        # nobody on the move may be lined away from what it is just coming up to
        rested = self.at_rest(standing)
        if rested is None:
            return
        for number, table in enumerate(self.p.puzzle.district.tables):
            cells = self.p.cells_of_track.get(table.name, frozenset())
            if any(
                len(string.ways) > 1 and any(way >> 1 in cells for way in string.ways)
                for string in standing.strings
            ):
                continue
            for index in range(len(table.meets)):
                if index == standing.lined[number]:
                    continue
                draft = self.draft(rested)
                draft.lined = (*standing.lined[:number], index, *standing.lined[number + 1 :])
                occupied = self._occupied(draft)
                slots = range(len(draft.strings))
                if all(self._demand(draft, slot, occupied=occupied) for slot in slots):
                    yield Action("line", number, 0, way=index), draft, Cost(0, 0, 0)
