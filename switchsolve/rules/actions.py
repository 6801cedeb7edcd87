"""Everything that can happen next on the rails."""

from __future__ import annotations

from collections.abc import Container, Iterator, Mapping
from types import MappingProxyType

from switchsolve.rules.standing import Action, Cost, Draft, Standing, String, reverse_string
from switchsolve.rules.starts import Starts
from switchsolve.zone import Zone

__all__ = ["Rules"]

NOTHING: Mapping[tuple[int, int], Container[str]] = MappingProxyType({})


class Rules(Starts):
    """The physical model over one packed set-up: its starts, and the actions from each standing."""

    # ---- actions

    def actions(
        self,
        standing: Standing,
        spare: Mapping[tuple[int, int], Container[str]] = NOTHING,
        most_moves: int | None = None,
    ) -> Iterator[tuple[Action, Standing, Cost]]:
        """Everything that can happen next, with what it costs, in a fixed order.

        ``spare``: by (string, side) the events that are not wanted of the whole string.  ``most_moves``: what
        costs more moves is not wanted either.
        """
        for action, draft, cost in self.drafts(standing, spare, most_moves):
            if self.several and action.event in ("go", "enter", "leave"):
                self._mark_moving(draft, action.string, action.side)
            yield action, self.canonical(draft), cost

    def actions_of(
        self, standing: Standing, slot: int, side: int
    ) -> Iterator[tuple[Action, Standing, Cost, list[tuple[int, int, int]]]]:
        """As :meth:`actions`, of one string towards one of its ends; with the (string before, sign, shift) of
        each string afterwards.  What a cut has left counts as one string more before, the last.
        """
        for action, draft, cost in self._of_string(standing, slot, side, (), None):
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
        for found, draft, _ in self.drafts(standing):
            if found == action:
                return draft
        raise ValueError(f"{action} is not legal here")

    def drafts(
        self,
        standing: Standing,
        spare: Mapping[tuple[int, int], Container[str]] = NOTHING,
        most_moves: int | None = None,
    ) -> Iterator[tuple[Action, Draft, Cost]]:
        """As :meth:`actions`, but before strings are turned and ordered."""
        for slot, string in enumerate(standing.strings):
            if self.has_loco(string.tokens):
                for side in (1, 0):
                    events = spare.get((slot, side), ())
                    yield from self._of_string(standing, slot, side, events, most_moves)
        if standing.lined:
            yield from self._linings(standing)

    def _of_string(
        self, standing: Standing, slot: int, side: int, spare: Container[str], most_moves: int | None
    ) -> Iterator[tuple[Action, Draft, Cost]]:
        whole = "enter" not in spare
        for draft, cost, cut, joint in self._beginnings(standing, slot, side, whole, most_moves):
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
                yield from self._enter(draft, occupied, slot, side, sides, action, cost)
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
    ) -> Iterator[tuple[Action, Draft, Cost]]:
        string = draft.strings[slot]
        assert string is not None
        facing = self._facing(string, side)
        leader = string.tokens[-1 if side else 0]
        for way in self.p.ahead(facing, draft.lined):
            cell = way >> 1
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
        turned = other_side == side  # listed the other way round
        if turned:
            met = reverse_string(met, self.is_loco)
        shared = 1 if way < 0 else 0
        if side:
            whole = String(string.ways + met.ways[shared:], string.tokens + met.tokens)
        else:
            whole = String(met.ways[: len(met.ways) - shared] + string.ways, met.tokens + string.tokens)
        if not self._may_move(whole, side):
            return None
        shift = (
            0
            if side
            else self.path_length(whole.ways) - self.path_length(string.ways) - self.length(met.tokens)
        )
        for gone in (slot, other):
            was = joined.strings[gone]
            assert was is not None
            if len(was.ways) == 1:
                joined.inside[was.ways[0] >> 1].remove(gone)
        order_at = draft.inside.get(whole.ways[0] >> 1, [])
        joined.strings[slot], joined.strings[other] = whole, None
        if len(whole.ways) == 1:
            at = min((order_at.index(one) for one in (slot, other) if one in order_at), default=0)
            joined.inside.setdefault(whole.ways[0] >> 1, []).insert(at, slot)
        joined.zone.shift(slot, shift)
        return joined

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

    # ---- how a run begins or goes on

    def _beginnings(
        self, standing: Standing, slot: int, side: int, whole: bool, most_moves: int | None
    ) -> Iterator[tuple[Draft, Cost, int, int]]:
        """Each way to start off (or go on): ``whole``, or after a cut on the trailing side."""
        string = standing.strings[slot]
        if whole:
            for draft, moves in self._turned_to(standing, slot, side, len(string.tokens), most_moves):
                yield draft, Cost(moves, 0, 0), 0, 0
        for going in range(1, len(string.tokens)):
            part = string.tokens[-going:] if side else string.tokens[:going]
            if not self.has_loco(part):
                continue
            for draft, moves in self._turned_to(standing, slot, side, going, most_moves):
                for joint in range(len(string.ways)):
                    parted = self._part(draft, slot, side, going, joint)
                    if parted is not None:
                        yield parted, Cost(moves, 1, 0), going, joint

    def _turned_to(
        self, standing: Standing, slot: int, side: int, going: int, most_moves: int | None
    ) -> Iterator[tuple[Draft, int]]:
        """The draft with the directions of the locomotives that go set, and the moves that this costs.

        Nothing if that costs more than ``most_moves``.
        """
        string = standing.strings[slot]
        tokens = string.tokens[-going:] if side else string.tokens[:going]
        last = list(standing.last)
        moves, is_reversal = 0, False
        for token in tokens:
            loco = self.p.loco_index[token]
            if loco >= 0:
                way = 1 if bool(side) != bool(token & 1) else -1
                if last[loco] != way:
                    moves += 1
                    is_reversal = is_reversal or last[loco] != 0
                    last[loco] = way
        if most_moves is not None and moves > most_moves:
            return
        draft = self.draft(standing)
        draft.last = tuple(last)
        if not self._comes_to_rest(draft, self._going_on(standing, slot, side, going < len(string.tokens))):
            return
        if is_reversal and not self._is_kept_clear(standing):
            return
        if self.p.has_exempt:
            now = draft.strings[slot]
            assert now is not None
            marked = tuple(self._moved(token) for token in tokens)
            rest = string.tokens[: len(string.tokens) - going] if side else string.tokens[going:]
            draft.replace(slot, now.ways, (*rest, *marked) if side else (*marked, *rest))
        yield draft, moves

    def _going_on(self, standing: Standing, slot: int, side: int, cut: bool) -> tuple[int, int]:
        """The end that need not keep its gap when a motion begins: the one that is on the move already.

        To cut, the crew stops: then it keeps its gap too.
        """
        if cut or (self.several and standing.moving != (slot, side)):
            return -1, -1
        return slot, side

    def before(self, standing: Standing, action: Action) -> Zone:
        """The positions in a standing from which ``action``, a motion, can begin."""
        draft = self.draft(standing)
        self._comes_to_rest(
            draft, self._going_on(standing, action.string, action.side, bool(action.cut))
        )
        return draft.zone

    def _moved(self, token: int) -> int:
        return 2 * self.p.moved[token >> 1] + (token & 1)

    def _is_kept_clear(self, standing: Standing) -> bool:
        """No car that has moved stands uncoupled on a part to be kept clear at every reversal."""
        clear = self.p.keep_clear_always
        if not clear:
            return True
        return not any(
            any(way >> 1 in clear for way in string.ways)
            and not self.has_loco(string.tokens)
            and not all(self.p.classes[token >> 1].exempt for token in string.tokens)
            for string in standing.strings
        )

    def _part(self, draft: Draft, slot: int, side: int, going: int, joint: int) -> Draft | None:
        """Cut the string at a joint that lies in cell number ``joint`` of its path (at its end, for the part
        left).
        """
        string = draft.strings[slot]
        assert string is not None
        begin = self.path_length(string.ways[:joint])
        cell_length = self.lengths[string.ways[joint] >> 1]
        parted = draft.copy()
        first = len(string.tokens) - going if side else going
        low, high = string.tokens[:first], string.tokens[first:]
        low_length = self.length(low)
        # the joint is x + low_length along the path
        nearest = begin + (1 if side else 0) - low_length
        farthest = begin + cell_length - (0 if side else 1) - low_length
        if not (parted.zone.at_least(slot, 1, nearest) and parted.zone.at_least(slot, -1, -farthest)):
            return None
        low_string = String(string.ways[: joint + 1], low)
        high_string = String(string.ways[joint:], high)
        new = len(parted.strings)
        sources = [(old, 1, 0) for old in range(new)]
        if side:
            parted.strings[slot] = high_string
            parted.strings.append(low_string)
            sources[slot] = (slot, 1, low_length - begin)
            sources.append((slot, 1, 0))
        else:
            parted.strings[slot] = low_string
            parted.strings.append(high_string)
            sources.append((slot, 1, low_length - begin))
        parted.zone = parted.zone.rebuild(sources)
        self._order_parts(parted, string, slot, new, side)
        return parted

    @staticmethod
    def _order_parts(draft: Draft, whole: String, slot: int, new: int, side: int) -> None:
        """Put the two parts of a cut string into the order inside their cells."""
        going, left = draft.strings[slot], draft.strings[new]
        assert going is not None and left is not None
        low, high = (new, slot) if side else (slot, new)
        if len(whole.ways) == 1:
            order = draft.inside[whole.ways[0] >> 1]
            at = order.index(slot)
            pair = [low, high] if not whole.ways[0] & 1 else [high, low]
            order[at : at + 1] = pair
            return
        for one, string, is_low in ((low, draft.strings[low], True), (high, draft.strings[high], False)):
            assert string is not None
            if len(string.ways) == 1:
                way = string.ways[0]
                order = draft.inside.setdefault(way >> 1, [])
                # the low part is the one nearest to the start of the path, so others inside lie behind it
                at_from = is_low == bool(way & 1)
                order.insert(0 if at_from else len(order), one)

    # ---- tables

    def _linings(self, standing: Standing) -> Iterator[tuple[Action, Draft, Cost]]:
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
                draft = self.draft(standing)
                draft.lined = (*standing.lined[:number], index, *standing.lined[number + 1 :])
                occupied = self._occupied(draft)
                slots = range(len(draft.strings))
                if all(self._demand(draft, slot, occupied=occupied) for slot in slots):
                    yield Action("line", number, 0, way=index), draft, Cost(0, 0, 0)
