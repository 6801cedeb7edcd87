"""What is known of the wishes in a box of arrangements, and what should be asked next.

Where a longer track never makes it harder, the answer for the longest lengths of a box is a lower bound for
all of it, and that for the shortest an upper bound; and so is the answer for any arrangement beyond.  Where
spurs lie both ways it is a lower bound for each way, and an upper one where its plan goes by that way.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace

from switchsolve.design import Wish
from switchsolve.designing.answers import Answer
from switchsolve.designing.boxes import BOTH, Box, Indexes
from switchsolve.designing.demands import Demand, Item, demands_of, is_bounded, is_free, items_wanted
from switchsolve.designing.questions import Question, SetUpsQuestion
from switchsolve.designing.space import Space
from switchsolve.measuring.pieces import NO_PLAN, Minimum

__all__ = ["Judgement", "Knowing"]

_Slot = tuple[Indexes, int, int, int]
"""The widest picks, number of the wish, of its item, and of the demand in it."""
_Point = tuple[Indexes, Indexes]
"""Picks and lengths of which something is known."""
_Asked = tuple[str, Question]


@dataclass(frozen=True, slots=True)
class Judgement:
    """``is_met``: all wishes are fulfilled by all of the box (``False``: by none of it; ``None``: not known).

    ``reason``: the wish that rules the box out.  ``questions``: what to ask next, each with its key; if there
    are none and ``is_met`` is ``None``, the box is to be parted, or it is a single one that is not decided.
    ``parting``: the choice of a spur by which it should be parted first.
    """

    is_met: bool | None
    reason: str = ""
    questions: tuple[_Asked, ...] = ()
    parting: int | None = None


class Knowing:
    """Judges boxes by the answers in ``known``, which others fill.  ``wishes``: those that count."""

    def __init__(self, space: Space, wishes: tuple[Wish, ...], known: Mapping[str, Answer]) -> None:
        self._space = space
        self._wishes = wishes
        self._known = known
        self._items: dict[tuple[Indexes, Indexes, int], tuple[Item, ...]] = {}
        self._keys: dict[tuple[_Slot, _Point], str] = {}
        self._points: dict[_Slot, dict[Indexes, dict[Indexes, Answer]]] = defaultdict(
            lambda: defaultdict(dict)
        )
        self._free: dict[_Slot, tuple[bool, ...]] = {}
        self._turnouts: dict[Indexes, dict[str, int]] = {}
        self._noted = 0

    def judge(self, box: Box) -> Judgement:
        """What is known of the box, and what should be asked next."""
        while True:
            noted = self._noted
            judgement = self._judge(box)
            if judgement.is_met is not None or self._noted == noted:
                return judgement

    def _judge(self, box: Box) -> Judgement:
        states = [self._state(box, number) for number in range(len(self._wishes))]
        if False in states:
            return Judgement(False, self._wishes[states.index(False)].name)
        still_open = [number for number, state in enumerate(states) if state is None]
        if not still_open:
            return Judgement(True)
        if box.is_single:
            return self._ask_first(box, still_open, True)
        hopeful = self._ask_first(box, still_open, True)
        if hopeful.questions:
            return hopeful
        asked_of_all = [number for number in still_open if any(self._open_demands(box, number))]
        judgement = self._ask_first(box, asked_of_all[:1], False)
        return (
            judgement if judgement.questions else replace(judgement, parting=self._parting(box, still_open))
        )

    def _ask_first(self, box: Box, numbers: list[int], is_hopeful: bool) -> Judgement:
        """The questions of the first wish that has any."""
        for number in numbers:
            questions = tuple(self._questions(box, number, is_hopeful))
            if questions:
                return Judgement(None, questions=questions)
        return Judgement(None)

    # ---- what is known

    def _state(self, box: Box, number: int) -> bool | None:
        """Whether a wish is fulfilled all over the box."""
        items = self._items_of(box.picks, box.high, number)
        states = [self._item_state(box, number, at, item) for at, item in enumerate(items)]
        wanted = items_wanted(self._wishes[number], items)
        if states.count(True) >= wanted:
            return True
        return False if states.count(True) + states.count(None) < wanted else None

    def _item_state(self, box: Box, number: int, at: int, item: Item) -> bool | None:
        states = [self._demand_state(box, (box.root, number, at, n), one) for n, one in enumerate(item)]
        return False if False in states else None if None in states else True

    def _demand_state(self, box: Box, slot: _Slot, demand: Demand) -> bool | None:
        if demand.of_trips:
            answer = self._points[slot][box.picks].get(box.low) if box.is_single else None
            if answer is None or answer.trips is None:
                return None
            return (
                True if answer.trips <= demand.most else False if answer.least_trips > demand.most else None
            )
        known = self._bounds(box, slot, demand)
        if known.least > demand.most or known.most < demand.least:
            return False
        return True if demand.least <= known.least and known.most <= demand.most else None

    def _bounds(self, box: Box, slot: _Slot, demand: Demand) -> Minimum:
        """Between which figures all of the box lies, as far as known."""
        free, least, most = self._free_of(slot, demand), 0, NO_PLAN
        for picks in box.lineage:
            for at, answer in self._points[slot][picks].items():
                if answer.figure.least > least and _covers(box, at, free):
                    least = answer.figure.least
                if answer.figure.most < most and _is_under(box, at, free) and self._holds(answer, box, picks):
                    most = answer.figure.most
        return Minimum(least, most)

    def _holds(self, answer: Answer, box: Box, picks: Indexes) -> bool:
        """Whether the plan of an answer for ``picks`` can be run all over the box."""
        if BOTH not in picks:
            return True
        return answer.ways is not None and all(
            box.picks[choice] == way for choice, way in self._needed(answer, box)
        )

    def _needed(self, answer: Answer, box: Box) -> Iterator[tuple[int, int]]:
        """The choices that a plan needs so that it can be run, and their options."""
        if answer.ways is not None:
            turnouts = self._turnouts_of(box.root)
            yield from ((turnouts[name], 0) for name in answer.ways.drawn)
            yield from ((turnouts[name], 1) for name in answer.ways.turned)

    def _turnouts_of(self, root: Indexes) -> dict[str, int]:
        if root not in self._turnouts:
            self._turnouts[root] = self._space.turnouts_of_flips(root)
        return self._turnouts[root]

    def _free_of(self, slot: _Slot, demand: Demand) -> tuple[bool, ...]:
        if slot not in self._free:
            zeros = tuple(0 for _ in self._space.grids)
            there = {track.name for track in self._space.laid(slot[0], zeros).district.tracks}
            self._free[slot] = tuple(
                track not in there or is_free(demand, track) for track in self._space.tracks
            )
        return self._free[slot]

    # ---- what to ask

    def _open_demands(self, box: Box, number: int) -> Iterator[tuple[int, int, Demand]]:
        """Demands that are not decided, and of which one answer tells something of the whole box."""
        for at, item in enumerate(self._items_of(box.picks, box.high, number)):
            if self._item_state(box, number, at, item) is not None:
                continue
            for n, demand in enumerate(item):
                slot = (box.root, number, at, n)
                if self._demand_state(box, slot, demand) is None and self._tells(box, slot, demand):
                    yield at, n, demand

    def _tells(self, box: Box, slot: _Slot, demand: Demand) -> bool:
        if box.is_single:
            return True
        if demand.of_trips or (BOTH in box.picks and not is_bounded(demand)):
            return False
        pairs = zip(box.low, box.high, self._free_of(slot, demand), strict=True)
        return all(is_free or low == high for low, high, is_free in pairs)

    def _questions(self, box: Box, number: int, is_hopeful: bool) -> Iterator[_Asked]:
        """Questions of one wish at a corner of the box: first where it may be ruled out as a whole."""
        for at, n, demand in self._open_demands(box, number):
            corner = box.high if (demand.most < NO_PLAN - 1) == is_hopeful else box.low
            slot, point = (box.root, number, at, n), (box.picks, corner)
            if corner in self._points[slot][box.picks] or self._is_known(box, corner, slot, demand):
                continue
            question = self._items_of(box.picks, corner, number)[at][n].question
            key = self._key(slot, point, question)
            if key in self._known:
                self._points[slot][box.picks][corner] = self._known[key]
                self._noted += 1
            else:
                yield key, question

    def _is_known(self, box: Box, corner: Indexes, slot: _Slot, demand: Demand) -> bool:
        """Whether another answer decides this question already."""
        at_corner = replace(box, low=corner, high=corner)
        return not demand.of_trips and self._bounds(at_corner, slot, demand).is_proved

    def _parting(self, box: Box, numbers: list[int]) -> int | None:
        """The choice of a spur that decides most: one that a plan which is known needs so, or otherwise; with
        set-ups, of which no plan is known, the first.
        """
        for number in numbers:
            for at, item in enumerate(self._items_of(box.picks, box.high, number)):
                for n, demand in enumerate(item):
                    choice = self._needing(box, (box.root, number, at, n), demand)
                    if choice is not None:
                        return choice
        return None

    def _needing(self, box: Box, slot: _Slot, demand: Demand) -> int | None:
        if BOTH not in box.picks or self._demand_state(box, slot, demand) is not None:
            return None
        if isinstance(demand.question, SetUpsQuestion):
            return box.picks.index(BOTH)
        answers = [answer for picks in box.lineage for answer in self._points[slot][picks].values()]
        needed = (choice for answer in answers[::-1] for choice, _ in self._needed(answer, box))
        return next((choice for choice in needed if box.picks[choice] == BOTH), None)

    def _key(self, slot: _Slot, point: _Point, question: Question) -> str:
        if (slot, point) not in self._keys:
            self._keys[slot, point] = question.key()
        return self._keys[slot, point]

    def _items_of(self, picks: Indexes, lengths: Indexes, number: int) -> tuple[Item, ...]:
        key = (picks, lengths, number)
        if key not in self._items:
            self._items[key] = demands_of(self._wishes[number], self._space.laid(picks, lengths))
        return self._items[key]


def _covers(box: Box, at: Indexes, free: tuple[bool, ...]) -> bool:
    """Whether nothing in the box is easier than what was asked at ``at``."""
    rows = zip(at, box.low, box.high, free, strict=True)
    return all(where >= high if is_free else low == where == high for where, low, high, is_free in rows)


def _is_under(box: Box, at: Indexes, free: tuple[bool, ...]) -> bool:
    """Whether nothing in the box is harder than what was asked at ``at``."""
    rows = zip(at, box.low, box.high, free, strict=True)
    return all(where <= low if is_free else low == where == high for where, low, high, is_free in rows)
