"""The law: what may happen on the rails, in plain Python.

A :class:`Standing` says which string touches which cells, who stands in it in order, and (its zone) all the real positions that this can mean.
:meth:`Rules.actions` lists everything a crew can do next.  One action is the smallest event that changes the picture: the leading
end enters a cell, the trailing end leaves one, two strings meet, cars are cut off and left, a table is lined.  A run is a row of
actions in one direction; only a change of a locomotive's direction costs a move.

Positions.  String ``i`` lies along its path ``ways``, in the direction in which its tokens are listed; ``x_i`` is the distance from the start of
``ways[0]`` to the outer end of its first vehicle.  An **end** of a string is its head (side 1, facing along
``ways[-1]``) or its tail (side 0, facing along ``ways[0] ^ 1``); its **room** is the rail from there to the
end of that cell: head ``K - x`` with ``K = sum of the path - length of the string``, tail ``x``.

Whole-number lengths need whole-number positions only; strings that are apart are at least 1 grid unit apart.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import NamedTuple

from switchsolve.district import Limits
from switchsolve.packing import PackedPuzzle
from switchsolve.puzzle import StartString
from switchsolve.zone import Zone

__all__ = ["Action", "Cost", "Rules", "Standing", "String", "reverse_string"]


class String(NamedTuple):
    """Vehicles that stand coupled: ``ways`` is the path of cells touched, ``tokens`` who stands along it."""

    ways: tuple[int, ...]
    tokens: tuple[int, ...]


class Standing(NamedTuple):
    """Everything at rest.

    ``strings`` are in canonical order; ``inside`` gives, for each cell with two or more strings wholly in it, those strings from
    its ``from`` to its ``to`` end; ``last`` the direction of each locomotive's last motion (+1 forward, -1 back, 0 none);
    ``lined`` the lining of each table; ``zone`` the closed matrix of :class:`~switchsolve.zone.Zone`.
    """

    strings: tuple[String, ...]
    inside: tuple[tuple[int, tuple[int, ...]], ...]
    last: tuple[int, ...]
    lined: tuple[int, ...]
    zone: tuple[int, ...]

    @property
    def key(self) -> tuple[object, ...]:
        """All but the zone."""
        return self[:4]


class Cost(NamedTuple):
    """What actions cost: moves first, then couplings + cuts, then distance (grid units)."""

    moves: int
    handling: int
    distance: int


class Action(NamedTuple):
    """One event, enough to replay it: string ``string`` of the standing before goes towards its ``side`` end.

    ``cut``: vehicles in the part that goes on (0: no cut), the joint lying in the path's cell number ``joint``.
    ``event``: "go", "enter" (``way``), "leave", "couple" (to string ``other``), "line" (table ``string``, pair ``way``).
    """

    event: str
    string: int
    side: int
    cut: int = 0
    joint: int = 0
    way: int = -1
    other: int = -1


def reverse_string(string: String, is_loco: tuple[bool, ...]) -> String:
    """The same string listed from its other end."""
    return String(
        tuple(way ^ 1 for way in reversed(string.ways)),
        tuple(token ^ 1 if is_loco[token] else token for token in reversed(string.tokens)),
    )


class Draft:
    """A standing being changed: strings by slot (``None`` when gone), the order inside cells, and a zone."""

    __slots__ = ("inside", "last", "lined", "strings", "zone")

    def __init__(
        self,
        strings: list[String | None],
        inside: dict[int, list[int]],
        last: tuple[int, ...],
        lined: tuple[int, ...],
        zone: Zone,
    ) -> None:
        self.strings = strings
        self.inside = inside
        self.last = last
        self.lined = lined
        self.zone = zone

    def copy(self) -> Draft:
        inside = {cell: order[:] for cell, order in self.inside.items()}
        return Draft(self.strings[:], inside, self.last, self.lined, self.zone.copy())

    def replace(self, slot: int, ways: tuple[int, ...], tokens: tuple[int, ...]) -> None:
        self.strings[slot] = String(ways, tokens)


class Rules:
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
        self._length_cache: dict[tuple[int, ...], int] = {}
        self._path_cache: dict[tuple[int, ...], int] = {}

    # ---- small measures

    def length(self, tokens: tuple[int, ...]) -> int:
        """Length of a row of vehicles, grid units."""
        found = self._length_cache.get(tokens)
        if found is None:
            found = self._length_cache[tokens] = sum(self.token_lengths[token] for token in tokens)
        return found

    def path_length(self, ways: tuple[int, ...]) -> int:
        """Length of a row of cells, grid units."""
        found = self._path_cache.get(ways)
        if found is None:
            found = self._path_cache[ways] = sum(self.lengths[way >> 1] for way in ways)
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
                    found.setdefault(way >> 1, []).append((slot, k))
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
        order = draft.inside.get(way >> 1, [])
        towards = order if not way & 1 else order[::-1]
        if len(string.ways) == 1:
            rest = towards[towards.index(slot) + 1 :]
        else:
            rest = towards
        if rest:
            other = draft.strings[rest[0]]
            assert other is not None
            return rest[0], (0 if other.ways[0] == way else 1)
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
        claims more rail than it touches, which forbids others and allows nothing.  That way an end may enter a cell
        before the other has left one, whatever the lengths.
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
        self, draft: Draft, occupied: dict[int, list[tuple[int, int]]], slot: int, side: int, moves: bool = False
    ) -> bool:
        """That end of the string keeps its gap to whatever it faces (an end that ``moves`` ahead may come up to it)."""
        string = draft.strings[slot]
        assert string is not None
        way = self._facing(string, side)
        met = self._neighbour(draft, occupied, slot, side)
        if met is not None:
            return self._demand_gap(draft, slot, side, met, self.lengths[way >> 1], moves)
        for following in self.p.ahead(way, draft.lined):
            met = self._first_on(draft, occupied, following)
            if met is not None and not self._demand_gap(draft, slot, side, met, 0, moves):
                return False
        return True

    def _demand_gap(
        self, draft: Draft, slot: int, side: int, met: tuple[int, int], overlap: int, moves: bool
    ) -> bool:
        string, other = draft.strings[slot], draft.strings[met[0]]
        assert string is not None and other is not None
        sign, constant = self._room(string, side)
        other_sign, other_constant = self._room(other, met[1])
        gap = 0 if moves and met[0] != slot else self._gap(string, side, other, met[1])
        need = overlap + gap - constant - other_constant
        if met[0] == slot:
            return need <= 0  # head against own tail: the two signs cancel
        return draft.zone.sum_at_least(slot, sign, met[0], other_sign, need)

    def _demand(self, draft: Draft, slot: int, leading: int = -1) -> bool:
        """All that the present standing demands of string ``slot``, its end ``leading`` still on the move."""
        string = draft.strings[slot]
        assert string is not None
        if not self._demand_span(draft.zone, slot, string):
            return False
        occupied = self._occupied(draft)
        return all(self._demand_end(draft, occupied, slot, side, side == leading) for side in (1, 0))

    def _comes_to_rest(self, draft: Draft, but: tuple[int, int] = (-1, -1)) -> bool:
        """Every end that may have been on the move keeps its gap now, but for the one that goes on."""
        occupied = self._occupied(draft)
        for slot, string in enumerate(draft.strings):
            if string is not None and any(self.is_loco[token] for token in string.tokens):
                for side in (1, 0):
                    if (slot, side) != but and not self._demand_end(draft, occupied, slot, side):
                        return False
        return True

    def at_rest(self, standing: Standing) -> Standing | None:
        """The standing with all gaps kept (what was on the move stops), or ``None`` if that cannot be."""
        draft = self.draft(standing)
        if not self._comes_to_rest(draft):
            return None
        return standing._replace(zone=tuple(draft.zone.d))

    # ---- marks

    def _sides(self, draft: Draft, slot: int) -> list[tuple[int, int, bool]]:
        """For each (cell of the path, vehicle that may not touch it): whether the vehicle is before the cell."""
        string = draft.strings[slot]
        assert string is not None
        found = []
        begin = 0
        for k, way in enumerate(string.ways):
            cell = way >> 1
            if not self.p.all_may_touch[cell]:
                offset = 0
                for v, token in enumerate(string.tokens):
                    length = self.token_lengths[token]
                    if not self.p.may_touch[cell][token]:
                        before = draft.zone.most(slot, 1) + offset + length <= begin
                        found.append((k, v, before))
                    offset += length
            begin += self.lengths[cell]
        return found

    def _demand_sides(self, draft: Draft, slot: int, sides: list[tuple[int, int, bool]]) -> bool:
        """Keep each such vehicle on its side of the closed cell."""
        string = draft.strings[slot]
        assert string is not None
        for k, v, before in sides:
            begin = self.path_length(string.ways[:k])
            offset = self.length(string.tokens[:v])
            if before:
                if not draft.zone.at_least(slot, -1, offset + self.token_lengths[string.tokens[v]] - begin):
                    return False
            else:
                end = begin + self.lengths[string.ways[k] >> 1]
                if not draft.zone.at_least(slot, 1, end - offset):
                    return False
        return True

    def _within(self, limits: Limits, tokens: tuple[int, ...], side: int) -> bool:
        cars = [token for token in tokens if self.p.classes[token >> 1].counts_as_car]
        if limits.most_cars is not None and len(cars) > limits.most_cars:
            return False
        if limits.longest is not None and sum(self.token_lengths[token] for token in cars) > limits.longest:
            return False
        if limits.most_shoved is not None:
            ahead = 0
            for token in reversed(tokens) if side else tokens:
                if self.is_loco[token]:
                    break
                ahead += 1
            return ahead <= limits.most_shoved
        return True

    def _may_move(self, string: String, side: int) -> bool:
        """Whether the limits let the string move towards ``side``."""
        if not self.p.has_limits:
            return True
        if not self._within(self.p.puzzle.district.limits, string.tokens, side):
            return False
        return all(
            self._within(self.p.cells[way >> 1].limits, string.tokens, side)
            for way in string.ways
            if self.p.cells[way >> 1].limits
        )

    # ---- actions

    def actions(self, standing: Standing) -> Iterator[tuple[Action, Standing, Cost]]:
        """Everything that can happen next, with what it costs, in a fixed order."""
        for action, draft, cost in self.drafts(standing):
            yield action, self.canonical(draft), cost

    def trace(self, standing: Standing, action: Action) -> Draft:
        """The draft that ``action`` makes of ``standing``, slots as in ``standing`` (a cut's left part comes last).

        Raises ``ValueError`` if the action is not legal there.
        """
        for found, draft, _ in self.drafts(standing):
            if found == action:
                return draft
        raise ValueError(f"{action} is not legal here")

    def drafts(self, standing: Standing) -> Iterator[tuple[Action, Draft, Cost]]:
        """As :meth:`actions`, but before strings are turned and ordered."""
        for slot, string in enumerate(standing.strings):
            if any(self.is_loco[token] for token in string.tokens):
                for side in (1, 0):
                    yield from self._of_string(standing, slot, side)
        if standing.lined:
            yield from self._linings(standing)

    def _of_string(self, standing: Standing, slot: int, side: int) -> Iterator[tuple[Action, Draft, Cost]]:
        for draft, cost, cut, joint in self._beginnings(standing, slot, side):
            string = draft.strings[slot]
            assert string is not None
            if not self._may_move(string, side):
                continue
            sides = self._sides(draft, slot)
            draft.zone.release(slot, 1 if side else -1)
            action = Action("go", slot, side, cut, joint)
            went = draft.copy()
            if self._settle(went, slot, side, sides):
                yield action, went, cost
            yield from self._leave(draft, slot, side, sides, action, cost)
            yield from self._enter(draft, slot, side, sides, action, cost)
            yield from self._couple(draft, slot, side, sides, action, cost)

    def _settle(self, draft: Draft, slot: int, side: int, sides: list[tuple[int, int, bool]]) -> bool:
        return self._demand(draft, slot, side) and self._demand_sides(draft, slot, sides)

    def _leave(
        self, draft: Draft, slot: int, side: int, sides: list[tuple[int, int, bool]], action: Action, cost: Cost
    ) -> Iterator[tuple[Action, Draft, Cost]]:
        string = draft.strings[slot]
        assert string is not None
        if len(string.ways) == 1:
            return
        left = draft.copy()
        if side:
            left.replace(slot, string.ways[1:], string.tokens)
            left.zone = _shift(left.zone, slot, -self.lengths[string.ways[0] >> 1], len(left.strings))
            sides = [(k - 1, v, before) for k, v, before in sides if k]
        else:
            left.replace(slot, string.ways[:-1], string.tokens)
            sides = [entry for entry in sides if entry[0] < len(string.ways) - 1]
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
        self, draft: Draft, slot: int, side: int, sides: list[tuple[int, int, bool]], action: Action, cost: Cost
    ) -> Iterator[tuple[Action, Draft, Cost]]:
        string = draft.strings[slot]
        assert string is not None
        occupied = self._occupied(draft)
        if self._neighbour(draft, occupied, slot, side) is not None:
            return
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
            if self._settle(entered, slot, side, kept + fresh):
                after = cost._replace(distance=cost.distance + self.lengths[cell])
                yield action._replace(event="enter", way=way), entered, after

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
            if other == slot and not (k == 0 and string.ways[0] == way) and not (
                k == len(string.ways) - 1 and string.ways[-1] == way ^ 1
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
        draft.zone = _shift(draft.zone, slot, self.lengths[way >> 1], len(draft.strings))
        return 1

    def _sides_of_new(self, draft: Draft, slot: int, side: int, way: int) -> list[tuple[int, int, bool]]:
        string = draft.strings[slot]
        assert string is not None
        allowed = self.p.may_touch[way >> 1]
        k = len(string.ways) - 1 if side else 0
        return [(k, v, bool(side)) for v, token in enumerate(string.tokens) if not allowed[token]]

    def _couple(
        self, draft: Draft, slot: int, side: int, sides: list[tuple[int, int, bool]], action: Action, cost: Cost
    ) -> Iterator[tuple[Action, Draft, Cost]]:
        string = draft.strings[slot]
        assert string is not None
        occupied = self._occupied(draft)
        facing = self._facing(string, side)
        met = self._neighbour(draft, occupied, slot, side)
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
        shift = 0 if side else self.path_length(whole.ways) - self.path_length(string.ways) - self.length(met.tokens)
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
        joined.zone = _shift(joined.zone, slot, shift, len(joined.strings))
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
        self, standing: Standing, slot: int, side: int
    ) -> Iterator[tuple[Draft, Cost, int, int]]:
        """Each way to start off (or go on) towards ``side``: whole, or after a cut on the trailing side."""
        string = standing.strings[slot]
        for draft, moves in self._turned_to(standing, string, slot, side, len(string.tokens)):
            yield draft, Cost(moves, 0, 0), 0, 0
        for going in range(1, len(string.tokens)):
            part = string.tokens[-going:] if side else string.tokens[:going]
            if not any(self.is_loco[token] for token in part):
                continue
            for draft, moves in self._turned_to(standing, string, slot, side, going):
                for joint in range(len(string.ways)):
                    parted = self._part(draft, slot, side, going, joint)
                    if parted is not None:
                        yield parted, Cost(moves, 1, 0), going, joint

    def _turned_to(
        self, standing: Standing, string: String, slot: int, side: int, going: int
    ) -> Iterator[tuple[Draft, int]]:
        """The draft in which the part that goes has its locomotives' directions set, and the moves that costs."""
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
        draft = self.draft(standing)
        draft.last = tuple(last)
        if not self._comes_to_rest(draft, (slot, side)):
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

    def _moved(self, token: int) -> int:
        return 2 * self.p.moved[token >> 1] + (token & 1)

    def _is_kept_clear(self, standing: Standing) -> bool:
        """No car that has moved stands uncoupled on a part to be kept clear at every reversal."""
        clear = self.p.keep_clear_always
        if not clear:
            return True
        for string in standing.strings:
            if any(way >> 1 in clear for way in string.ways) and not any(
                self.is_loco[token] for token in string.tokens
            ):
                if not all(self.p.classes[token >> 1].exempt for token in string.tokens):
                    return False
        return True

    def _part(self, draft: Draft, slot: int, side: int, going: int, joint: int) -> Draft | None:
        """Cut the string at a joint that lies in cell number ``joint`` of its path (at its end, for the part left)."""
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
                at_from = (is_low == bool(way & 1))
                order.insert(0 if at_from else len(order), one)

    # ---- tables

    def _linings(self, standing: Standing) -> Iterator[tuple[Action, Draft, Cost]]:
        for number, table in enumerate(self.p.puzzle.district.tables):
            cells = self.p.cells_of_track.get(table.name, frozenset())
            if any(
                len(string.ways) > 1 and any(way >> 1 in cells for way in string.ways) for string in standing.strings
            ):
                continue
            for index in range(len(table.meets)):
                if index == standing.lined[number]:
                    continue
                draft = self.draft(standing)
                draft.lined = (*standing.lined[:number], index, *standing.lined[number + 1 :])
                if all(self._demand(draft, slot) for slot in range(len(draft.strings))):
                    yield Action("line", number, 0, way=index), draft, Cost(0, 0, 0)

    # ---- drafts and canonical form

    def draft(self, standing: Standing) -> Draft:
        """A draft to work on."""
        inside: dict[int, list[int]] = {cell: list(order) for cell, order in standing.inside}
        for slot, string in enumerate(standing.strings):
            if len(string.ways) == 1 and string.ways[0] >> 1 not in inside:
                inside[string.ways[0] >> 1] = [slot]
        n = 1 + len(standing.strings) * (2 if self.mirrored else 1)
        return Draft(
            list(standing.strings), inside, standing.last, standing.lined, Zone(list(standing.zone), n, self.mirrored)
        )

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
            turned = not self._is_canonical(string)
            if turned:
                string = reverse_string(string, self.is_loco)
            entries.append((string.ways, string.tokens, rank.get(slot, 0), slot, turned))
        entries.sort()
        number = {entry[3]: at for at, entry in enumerate(entries)}
        sources = []
        for ways, tokens, _rank, slot, turned in entries:
            shift = self.path_length(ways) - self.length(tokens) if turned else 0
            sources.append((slot, -1 if turned else 1, shift))
        inside = tuple(
            (cell, tuple(number[slot] for slot in order))
            for cell, order in sorted(draft.inside.items())
            if len(order) > 1
        )
        strings = tuple(String(entry[0], entry[1]) for entry in entries)
        zone = draft.zone.rebuild(sources)
        return Standing(strings, inside, draft.last, draft.lined, tuple(zone.d)), sources

    # ---- the start

    def starts(self) -> Iterator[Standing]:
        """All starting standings (one for each choice of the parts of a track that a string lies over)."""
        lanes = self._lanes()
        for paths in self._lay([], lanes, 0):
            draft = self._laid_out(lanes, paths)
            if draft is not None:
                standing, sources = self.ordered(draft)
                if not self.mirrored:
                    standing = standing._replace(zone=_without_twins(standing.zone, len(sources)))
                yield standing

    def _lanes(self) -> list[tuple[StartString, tuple[tuple[int, ...], ...], bool]]:
        """Every string to be laid, with the paths it may take, and whether it follows the one before on its track."""
        lanes = []
        before = ""
        for string in self.p.puzzle.start.strings:
            if string.vehicles[0] in self.p.class_of:
                lanes.append((string, self._paths_for(string), string.track == before))
                before = string.track
        return lanes

    def _paths_for(self, string: StartString) -> tuple[tuple[int, ...], ...]:
        pieces = sorted(self.p.cells_of_track.get(string.track, ()))
        low, high = self._between_fixed(string)
        usable = [
            piece
            for piece in pieces
            if low <= self.p.track_start[piece] and self.p.track_start[piece] + self.lengths[piece] <= high
        ]
        return tuple(
            tuple(2 * piece for piece in usable[i:j]) for i in range(len(usable)) for j in range(i + 1, len(usable) + 1)
        )

    def _between_fixed(self, string: StartString) -> tuple[int, int]:
        """The stretch of its track that do-not-touch cars leave to a string, by the order of the file."""
        low, high, seen = 0, 1 << 60, False
        for other in self.p.puzzle.start.strings:
            if other.track != string.track:
                continue
            if other is string:
                seen = True
            elif other.vehicles[0] not in self.p.class_of and other.fixed_at is not None:
                if seen:
                    high = min(high, other.fixed_at)
                else:
                    low = other.fixed_at + self.p.puzzle.vehicles[other.vehicles[0]].length
        return low, high

    def _lay(
        self,
        chosen: list[tuple[int, ...]],
        lanes: list[tuple[StartString, tuple[tuple[int, ...], ...], bool]],
        at: int,
    ) -> Iterator[list[tuple[int, ...]]]:
        if at == len(lanes):
            yield chosen[:]
            return
        for path in lanes[at][1]:
            if not lanes[at][2] or path[0] >= chosen[-1][-1]:
                yield from self._lay([*chosen, path], lanes, at + 1)

    def _laid_out(
        self,
        lanes: list[tuple[StartString, tuple[tuple[int, ...], ...], bool]],
        paths: list[tuple[int, ...]],
    ) -> Draft | None:
        strings: list[String | None] = []
        inside: dict[int, list[int]] = {}
        for (string, _, _), path in zip(lanes, paths, strict=True):
            if len(path) == 1:
                inside.setdefault(path[0] >> 1, []).append(len(strings))
            strings.append(String(path, tuple(self._start_token(name) for name in string.vehicles)))
        zone = Zone.free(len(strings), True)  # strings are laid from `from` to `to`, then turned
        draft = Draft(strings, inside, self.p.start_last, self.p.start_lined, zone)
        for slot, (string, _, _) in enumerate(lanes):
            if not (self._demand(draft, slot) and self._demand_start(draft, slot, string)):
                return None
        return draft

    def _start_token(self, name: str) -> int:
        heads = self.p.puzzle.start.heads.get(name, "to")
        return 2 * self.p.class_of[name] + (heads == "from")

    def _demand_start(self, draft: Draft, slot: int, string: StartString) -> bool:
        """Spots, fixed places and closed parts bind a string at the start."""
        laid = draft.strings[slot]
        assert laid is not None
        begin = self.p.track_start[laid.ways[0] >> 1]
        if string.fixed_at is not None:
            at = string.fixed_at - begin
            if not (draft.zone.at_least(slot, 1, at) and draft.zone.at_least(slot, -1, -at)):
                return False
        for v, name in enumerate(string.vehicles):
            if name in string.spots:
                offset = self.length(laid.tokens[:v])
                point = self.p.puzzle.district.track(string.track).spot(string.spots[name]).at - begin - offset
                length = self.token_lengths[laid.tokens[v]]
                if not (draft.zone.at_least(slot, -1, -point) and draft.zone.at_least(slot, 1, point - length)):
                    return False
        for way in laid.ways:
            if not all(self.p.may_touch[way >> 1][token] for token in laid.tokens):
                return self._clear_of_marks(draft, slot)
        return True

    def _clear_of_marks(self, draft: Draft, slot: int) -> bool:
        """Keep vehicles off the parts that they may not touch; on a track each lies before or after."""
        laid = draft.strings[slot]
        assert laid is not None
        for k, way in enumerate(laid.ways):
            for v, token in enumerate(laid.tokens):
                if not self.p.may_touch[way >> 1][token]:
                    tried = draft.zone.copy()
                    if self._demand_sides(draft, slot, [(k, v, True)]):
                        continue
                    draft.zone = tried
                    if not self._demand_sides(draft, slot, [(k, v, False)]):
                        return False
        return True


def _without_twins(zone: tuple[int, ...], strings: int) -> tuple[int, ...]:
    """The plain zone within a mirrored one."""
    n = 1 + 2 * strings
    kept = [0, *(1 + 2 * i for i in range(strings))]
    return tuple(zone[u * n + v] for u in kept for v in kept)


def _shift(zone: Zone, slot: int, shift: int, strings: int) -> Zone:
    """``x_slot`` counted from elsewhere: the new ``x`` is the old plus ``shift``."""
    return zone.rebuild([(old, 1, shift if old == slot else 0) for old in range(strings)])


def _orientation(packed: PackedPuzzle) -> tuple[int, ...] | None:
    """For each cell the direction bit of its ways such that all connected ways agree; ``None`` on wyes and the like."""
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
