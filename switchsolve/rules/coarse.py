"""The law seen loosely, and coarsely: cars with no locomotive are told by the cells that they touch.

**Loosely** (:class:`LooseRules`) such a string may be anywhere in its cells.  What the law can do can be done
so, and more: what is found is a bound.

**Coarsely** (:class:`CoarseRules`) even fewer standings do.  Where exactly in its cells such a string stands
does not matter, for whoever needs the room can shove it, and whoever comes for it can come as far as it
stands.  So

* strings without a locomotive that stand wholly in one cell are one, touching or not: who comes for one
  shoves it against the next at no extra reversal;
* such a string may be anywhere in its cells;
* it is left only over as few cells as it needs: where it fits on a part of its cells, a run that goes on, or
  that stops to cut it off sooner, leaves it there.

What stands with a locomotive is told exactly, as the law tells it, since to shove it can cost a move.  A plan
of the law can be turned into one of as many moves that keeps to all this, forwards and backwards; where, says
:func:`switchsolve.search.exact.why_not_coarse`.  A row of these standings is no plan yet: it has to be gone
through by the law (:mod:`switchsolve.search.firm`).
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from switchsolve.rules.actions import Rules
from switchsolve.rules.positions import ENGINES
from switchsolve.rules.standing import Cost, Draft, Standing, String, Wanted
from switchsolve.zone import Zone

__all__ = ["CoarseRules", "LooseRules"]


class LooseRules(Rules):
    """The physical model over one packed set-up, without the positions of strings that have no locomotive.

    Whatever can be done by the law can be done so.  (With one locomotive a standing of the law does not say
    whether it is on the move, and may touch what it meets.)
    """

    @property
    def _keeps_gaps(self) -> bool:
        """Whether what stands with a locomotive that is not on the move keeps a gap to cars."""
        return self.several

    def starts(self) -> Iterator[Standing]:
        """All starting standings, as :meth:`Rules.starts` has them."""
        for standing in super().starts():
            yield self.canonical(self.draft(standing))

    def canonical(self, draft: Draft) -> Standing:
        """The standing of a draft, strings without a locomotive let loose."""
        loose = draft.copy()
        loose.moving = draft.moving
        self._let_loose(loose)
        return super().canonical(loose)

    def with_cars(self, standing: Standing, kept: Sequence[int]) -> Standing:
        """The standing with its zone, of which ``kept`` begins with what concerns strings with a locomotive,
        row by row; the rest follows.
        """
        engines = [slot for slot, string in enumerate(standing.strings) if self.has_loco(string.tokens)]
        zone = Zone.free(len(standing.strings), self.mirrored)
        signs = (1, -1) if self.mirrored else (1,)
        nodes = [0, *(zone.node(slot, sign) for slot in engines for sign in signs)]
        for row, u in enumerate(nodes):
            for column, v in enumerate(nodes):
                zone.d[u * zone.n + v] = kept[row * len(nodes) + column]
        draft = self.draft(standing._replace(zone=tuple(zone.d)))
        draft.moving = standing.moving
        self._let_loose(draft)
        return standing._replace(zone=tuple(draft.zone.d))

    def _let_loose(self, draft: Draft) -> None:
        cars = [
            (slot, string)
            for slot, string in enumerate(draft.strings)
            if string is not None and not self.has_loco(string.tokens)
        ]
        for slot, _ in cars:
            draft.zone.release(slot, 1)
            draft.zone.release(slot, -1)
        for slot, string in cars:
            self._demand_span(draft.zone, slot, string)
        occupied = self._occupied(draft)
        touching = draft.moving if self._keeps_gaps else ENGINES
        for slot, one in enumerate(draft.strings):
            if one is not None:
                for side in (1, 0):
                    self._demand_end(draft, occupied, slot, side, touching)


class CoarseRules(LooseRules):
    """The physical model over one packed set-up, seen coarsely: who touches cars is coupled to them."""

    @property
    def _keeps_gaps(self) -> bool:
        return True

    def canonical(self, draft: Draft) -> Standing:
        """The standing of a draft, strings without a locomotive put together and let loose."""
        coarse = draft.copy()
        coarse.moving = draft.moving
        self._put_together_in_cells(coarse)
        return super().canonical(coarse)

    def _put_together_in_cells(self, draft: Draft) -> None:
        for cell in range(len(self.lengths)):
            at = 0
            while at + 1 < len(draft.inside.get(cell, ())):
                one, other = draft.inside[cell][at : at + 2]
                mine, its = draft.strings[one], draft.strings[other]
                assert mine is not None and its is not None
                if self.has_loco(mine.tokens) or self.has_loco(its.tokens):
                    at += 1
                else:
                    side = 1 if mine.ways[0] == 2 * cell else 0
                    other_side = 0 if its.ways[0] == 2 * cell else 1
                    self.put_together(draft, one, side, other, other_side, -1)

    def _beginnings(
        self, standing: Standing, slot: int, side: int, whole: bool, wanted: Wanted
    ) -> Iterator[tuple[Draft, Cost, int, int]]:
        may_leave = wanted.may_leave

        def leaves(part: String, moves: int) -> bool:
            return self.needs_its_cells(part) and (may_leave is None or may_leave(part, moves))

        yield from super()._beginnings(standing, slot, side, whole, wanted._replace(may_leave=leaves))

    def needs_its_cells(self, part: String) -> bool:
        """Whether what is cut off holds a locomotive, or fits on no part of its cells (where there is a
        table, with room to spare).
        """
        size = len(part.ways)
        if size == 1 or self.has_loco(part.tokens):
            return True
        length = self.length(part.tokens)
        # what is left just before a table that the locomotive fills touches it: nothing can be lined then
        spare = 1 if self.p.start_lined else 0
        rows = (part.ways[i:j] for i in range(size) for j in range(i + 1, size + 1) if j - i < size)
        return not any(self._inner(row) < length <= self.path_length(row) - spare for row in rows)

    def _inner(self, ways: tuple[int, ...]) -> int:
        """Length of what lies between the two end cells; -1 for one cell, in which nothing is too short."""
        return self.path_length(ways[1:-1]) if len(ways) > 1 else -1
