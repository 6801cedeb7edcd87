"""The search: arrangements that fulfill the wishes, the cheapest first, by branch and bound over boxes.

Boxes wait in a heap by the cost of their cheapest arrangement.  A box is ruled out as a whole, found to
fulfill everything as a whole, or parted; a single arrangement that fulfills everything, at the head of the
heap, is the next best.  Questions are put in rounds of several boxes, always the same ones, so that answers,
their order and their number do not depend on how many processes answer.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass, field
from fractions import Fraction
from heapq import heappop, heappush

from switchsolve.design import Wish
from switchsolve.designing.asking import Asker
from switchsolve.designing.boxes import Box, Indexes
from switchsolve.designing.knowing import Judgement, Knowing
from switchsolve.designing.questions import can_stand
from switchsolve.designing.space import Space

__all__ = ["Limits", "Search", "Tally"]

_AT_ONCE = 8
"""Boxes of which questions are put in one round."""
_Entry = tuple[Fraction, int, int, int, Box]
_CROWDED = "what stands there at the start finds no room"


@dataclass(frozen=True, slots=True)
class Limits:
    """What may be built: most rail in grid units, most turnouts (``None``: any)."""

    rail: int | None
    turnouts: int | None


@dataclass(slots=True)
class Tally:
    """How many arrangements there are in all, were ruled out (by the reason), were found, and could not be
    decided.
    """

    all: int
    ruled_out: Counter[str] = field(default_factory=Counter)
    found: int = 0
    undecided: int = 0

    @property
    def left(self) -> int:
        """Those that were not looked at."""
        return self.all - self.ruled_out.total() - self.found - self.undecided


class Search:
    """One search.  ``tally`` is kept up while :meth:`run` goes on."""

    def __init__(self, space: Space, wishes: tuple[Wish, ...], limits: Limits, asker: Asker) -> None:
        self._space = space
        self._limits = limits
        self._asker = asker
        self._knowing = Knowing(space, wishes, asker.known)
        self._heap: list[_Entry] = []
        self._number = 0
        self.tally = Tally(space.design.arrangements)
        self.note = ""
        """What is said first of all progress."""

    def run(self) -> Iterator[tuple[Indexes, Indexes]]:
        """Picks and lengths of every arrangement that fulfills the wishes, the cheapest first.

        Raises :class:`~switchsolve.designing.asking.TimeOver`.
        """
        for box in self._space.roots(self.tally.ruled_out):
            self._push(box)
            self._asker.check_time()
            if self._asker.tell is not None:
                self._asker.tell(self._told())
        while self._heap:
            waiting: list[tuple[Box, Judgement]] = []
            while self._heap and len(waiting) < _AT_ONCE:
                box = heappop(self._heap)[-1]
                judgement = self._settled(box)
                if judgement is None:
                    continue
                if judgement.questions:
                    waiting.append((box, judgement))
                elif waiting:  # found, but something cheaper is still open
                    self._push(box)
                    break
                else:
                    self.tally.found += 1
                    yield box.picks, box.low
            self._put(waiting)

    def _settled(self, box: Box) -> Judgement | None:
        """``None`` if the box is ruled out, parted, or cannot be decided; else what is to be asked of it, or
        that it is one arrangement that fulfills everything.
        """
        reason = self._too_much(box)
        if reason:
            self.tally.ruled_out[reason] += box.size
            return None
        judgement = self._knowing.judge(box)
        if judgement.is_met is False:
            self.tally.ruled_out[judgement.reason] += box.size
        elif judgement.questions:
            return judgement
        elif judgement.is_met and not can_stand(self._space.laid(box.picks, box.high)):
            self.tally.ruled_out[_CROWDED] += box.size
        elif not box.is_single:
            self._part(box, judgement.parting)
        elif judgement.is_met:
            return judgement
        else:
            self.tally.undecided += 1
        return None

    def _too_much(self, box: Box) -> str:
        """Which limit even the cheapest of the box breaks."""
        if self._limits.turnouts is not None and self._space.turnouts(box.picks) > self._limits.turnouts:
            return "too many turnouts"
        rail = self._space.rail(box.picks, box.low)
        return "too much rail" if self._limits.rail is not None and rail > self._limits.rail else ""

    def _part(self, box: Box, choice: int | None) -> None:
        for half in box.halves(choice):
            self._push(half)

    def _push(self, box: Box) -> None:
        """Wait by cost; of equal cost what takes fewer turnouts, then the smaller box, then the older one."""
        self._number += 1
        cost = self._space.cost(box.picks, box.low)
        heappush(self._heap, (cost, self._space.turnouts(box.picks), box.size, self._number, box))

    def _put(self, waiting: list[tuple[Box, Judgement]]) -> None:
        questions = [one for _, judgement in waiting for one in judgement.questions]
        if questions:
            self._asker.put(questions, self._told)
        for box, _ in waiting:
            self._push(box)

    def _told(self) -> str:
        tally = self.tally
        ruled_out = tally.ruled_out.total()
        return (
            f"{self.note}{ruled_out:,} of {tally.all:,} arrangements ruled out, {tally.found:,} found,"
            f" {self._asker.asked:,} questions put"
        )
