"""How a motion begins or goes on: the whole string, or what a cut lets go."""

from __future__ import annotations

from collections.abc import Iterator
from typing import NamedTuple

from switchsolve.rules.standing import Action, Cost, Draft, Standing, String, Wanted
from switchsolve.rules.starts import Starts
from switchsolve.zone import Zone

__all__ = ["SettingOff", "part_left"]


class _Turn(NamedTuple):
    """The directions of last motions when a motion has begun, the moves that it costs, and whether it
    reverses any locomotive."""

    last: tuple[int, ...]
    moves: int
    is_reversal: bool


def part_left(string: String, side: int, going: int, joint: int) -> String:
    """The part that a cut leaves standing."""
    if side:
        return String(string.ways[: joint + 1], string.tokens[:-going])
    return String(string.ways[joint:], string.tokens[going:])


class SettingOff(Starts):
    """Cuts, and the directions of the locomotives that go."""

    def _beginnings(
        self, standing: Standing, slot: int, side: int, whole: bool, wanted: Wanted
    ) -> Iterator[tuple[Draft, Cost, int, int]]:
        """Each way to start off (or go on): ``whole``, or after a cut on the trailing side."""
        string = standing.strings[slot]
        if whole:
            turn = self._turn(standing, side, string.tokens)
            if wanted.most_moves is None or turn.moves <= wanted.most_moves:
                for draft in self._turned_to(standing, slot, side, string.tokens, turn):
                    yield draft, Cost(turn.moves, 0, 0), 0, 0
        for going in range(1, len(string.tokens)):
            part = string.tokens[-going:] if side else string.tokens[:going]
            if not self.has_loco(part):
                continue
            turn = self._turn(standing, side, part)
            if wanted.most_moves is not None and turn.moves > wanted.most_moves:
                continue
            joints = [
                joint
                for joint in range(len(string.ways))
                if wanted.may_leave is None
                or wanted.may_leave(part_left(string, side, going, joint), turn.moves)
            ]
            if not joints:
                continue
            for draft in self._turned_to(standing, slot, side, part, turn):
                for joint in joints:
                    parted = self._part(draft, slot, side, going, joint)
                    if parted is not None:
                        yield parted, Cost(turn.moves, 1, 0), going, joint

    def _turn(self, standing: Standing, side: int, tokens: tuple[int, ...]) -> _Turn:
        """What it means for the directions of the locomotives if these vehicles go towards ``side``."""
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
        return _Turn(tuple(last), moves, is_reversal)

    def _turned_to(
        self, standing: Standing, slot: int, side: int, tokens: tuple[int, ...], turn: _Turn
    ) -> Iterator[Draft]:
        """The draft with the directions of the locomotives that go set, ``tokens`` being all that goes."""
        string = standing.strings[slot]
        going = len(tokens)
        draft = self.draft(standing)
        draft.last = turn.last
        if not self._comes_to_rest(draft, self._going_on(standing, slot, side, going < len(string.tokens))):
            return
        for kept in self._kept_clear(draft) if turn.is_reversal else (draft,):
            if self.p.has_exempt:
                now = kept.strings[slot]
                assert now is not None
                marked = tuple(self._moved(token) for token in tokens)
                rest = string.tokens[: len(string.tokens) - going] if side else string.tokens[going:]
                kept.replace(slot, now.ways, (*rest, *marked) if side else (*marked, *rest))
            yield kept

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
        self._comes_to_rest(draft, self._going_on(standing, action.string, action.side, bool(action.cut)))
        return draft.zone

    def _moved(self, token: int) -> int:
        return 2 * self.p.moved[token >> 1] + (token & 1)

    def _kept_clear(self, draft: Draft) -> Iterator[Draft]:
        """The draft where no vehicle that has moved stands uncoupled on a part to be kept clear at every
        reversal.

        What has moved may be coupled to what has not, and stand beside that part: it is kept to its side of
        it.
        """
        clear = self.p.keep_clear_always
        off: list[tuple[int, int, int]] = []
        for slot, string in enumerate(draft.strings):
            if not clear or string is None or self.has_loco(string.tokens):
                continue
            moved = [v for v, token in enumerate(string.tokens) if not self.p.classes[token >> 1].exempt]
            kept = [k for k, way in enumerate(string.ways) if way >> 1 in clear]
            if kept and len(moved) == len(string.tokens):
                return
            off += [(slot, k, v) for k in kept for v in moved]
        yield from self._beside(draft, off) if off else (draft,)

    def _beside(self, draft: Draft, off: list[tuple[int, int, int]]) -> Iterator[Draft]:
        """Keep vehicles off cells of their string's path (``slot, k, v``), each on one side or the other."""
        if not off:
            yield draft
            return
        slot, k, v = off[0]
        for before in (True, False):
            kept = draft.copy()
            if self._demand_sides(kept, slot, [(k, v, before)]):
                yield from self._beside(kept, off[1:])

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
