"""What a run carries over the rail, set against the limits on the moving string.

Positions are not told, so only what is sure counts: who must be coupled to whom as the string comes over an
edge between two cells, and who is taken up before others can be left.  What is refused here no run of the law
can do; what is not refused it may still not be able to do.  A run and the run that undoes it are refused
alike.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import accumulate
from typing import NamedTuple

from switchsolve.rules import Rules

__all__ = ["Carried", "Loads", "Share"]

_ANY = 1 << 60
Weights = tuple[int, ...]
"""Of some vehicles, by each kind of limit: how many cars they are, or how long those are together."""


@dataclass(frozen=True, slots=True)
class _Kind:
    """One kind of limit: what a vehicle of each class weighs by it, the most over each cell, the least of
    these, and the most anywhere; whether it is a limit on what is ahead of the locomotive.
    """

    weights: tuple[int, ...]
    most: tuple[int, ...]
    least: int
    whole: int
    only_ahead: bool


class Loads:
    """The limits of a set-up, and what vehicles weigh by them."""

    def __init__(self, rules: Rules) -> None:
        p = rules.p
        cars = tuple(int(what.counts_as_car) for what in p.classes)
        lengths = tuple(what.length if what.counts_as_car else 0 for what in p.classes)
        own = [cell.limits for cell in p.cells]
        whole = p.puzzle.district.limits
        kinds = (
            _kind(cars, whole.most_cars, [limits.most_cars for limits in own]),
            _kind(lengths, whole.longest, [limits.longest for limits in own]),
            _kind((1,) * len(cars), whole.most_shoved, [limits.most_shoved for limits in own], True),
        )
        self.kinds = tuple(kind for kind in kinds if kind is not None)
        self._weights: dict[tuple[int, ...], Weights] = {}

    def of(self, tokens: tuple[int, ...]) -> Weights:
        """What vehicles weigh together, by each kind of limit."""
        found = self._weights.get(tokens)
        if found is None:
            found = tuple(sum(kind.weights[token >> 1] for token in tokens) for kind in self.kinds)
            self._weights[tokens] = found
        return found

    def bind_nowhere(self, tokens: tuple[int, ...]) -> bool:
        """Whether these vehicles can be moved together all over the district."""
        return all(w <= kind.least for w, kind in zip(self.of(tokens), self.kinds, strict=True))

    def are_too_many(self, ways: Iterable[int], tokens: tuple[int, ...]) -> bool:
        """Whether these vehicles cannot all have come to be coupled over these cells."""
        cells = [way >> 1 for way in ways]
        return any(
            w > min(kind.most[cell] for cell in cells)
            for w, kind in zip(self.of(tokens), self.kinds, strict=True)
            if not kind.only_ahead
        )


def _kind(
    weights: tuple[int, ...], whole: int | None, cells: Sequence[int | None], only_ahead: bool = False
) -> _Kind | None:
    """A kind of limit, or ``None`` if the set-up has none of it."""
    if whole is None and all(most is None for most in cells):
        return None
    everywhere = _ANY if whole is None else whole
    most = tuple(everywhere if one is None else min(one, everywhere) for one in cells)
    return _Kind(weights, most, min(most), everywhere, only_ahead)


class Share(NamedTuple):
    """Some of the vehicles along a run's path: the first and the last of its cells that they lie over; and,
    of all vehicles from the tail to the head, the first of them and the one behind the last.
    """

    first: int
    last: int
    begin: int
    end: int


class Carried:
    """A run over a path of cells, which takes up all that stands on them.

    ``ways``: the path, of which the first ``own`` cells are those of the moving string where it sets out;
    ``tokens``: all vehicles along it, from the tail to the head, of which the first ``mine`` are those of
    that string (and what is loose behind it), the locomotive at place ``loco``.  ``met``: what it takes up,
    in order.  ``head``: how far along the path the head comes.  ``knows_ahead``: all that is ahead of the
    locomotive where it sets out is coupled to it.  ``is_undone``: by the law it goes the other way.
    """

    def __init__(
        self,
        rules: Rules,
        loads: Loads,
        ways: tuple[int, ...],
        tokens: tuple[int, ...],
        *,
        own: int,
        mine: int,
        loco: int,
        met: Sequence[Share],
        head: int,
        knows_ahead: bool,
        is_undone: bool,
    ) -> None:
        self._loads, self._tokens = loads, tokens
        self._own, self._mine, self._loco = own, mine, loco
        self._knows_ahead, self._is_undone = knows_ahead, is_undone
        self._cells = [way >> 1 for way in ways]
        self.begins = [0, *accumulate(rules.lengths[cell] for cell in self._cells)]
        """Where each cell of the path begins, and where the last one ends."""
        self._offsets = [0, *accumulate(rules.token_lengths[token] for token in tokens)]
        self.last = next(k for k in range(len(ways)) if head <= self.begins[k + 1])
        """The last cell that the head comes into."""
        self._is_light = loads.bind_nowhere(tokens)
        self._met = [(share, self._weight(share.begin, share.end)) for share in met]
        self._within_met = {edge for share in met for edge in range(share.first, share.last)}
        self._pushed = [share for share in met if share.last < self.last]
        """What is surely coupled to, for it is pushed out of its last cell."""

    def cell_at(self, along: int) -> int:
        """The number of the cell, up to the last one, that a place along the path lies in."""
        return max(k for k in range(self.last + 1) if self.begins[k] <= along)

    def allows(self, first: int, gone: int, left: Sequence[Share]) -> bool:
        """Whether nothing speaks against the run's end: the locomotive's string over the cells from number
        ``first`` on, without the ``gone`` vehicles at the tail, which are ``left``.
        """
        if self._is_light:
            return True
        weights = [(share, self._weight(share.begin, share.end)) for share in left]
        for n, kind in enumerate(self._loads.kinds):
            for edge in range(self.last):
                most = min(kind.most[self._cells[edge]], kind.most[self._cells[edge + 1]])
                if most < _ANY and self._over(n, edge, first, gone, weights, kind.only_ahead) > most:
                    return False
            if not kind.only_ahead and not (
                self._leaves_in_time(n, kind, left) and self._meets_in_time(n, kind, first, gone, weights)
            ):
                return False
        return True

    def _over(
        self,
        n: int,
        edge: int,
        first: int,
        gone: int,
        left: Sequence[tuple[Share, Weights]],
        only_ahead: bool,
    ) -> int:
        """What is surely coupled together as it comes over an edge, by limits of kind ``n``: when the
        locomotive does, or what is farthest ahead of it, or what trails last.
        """
        own_ahead = self._weight(self._loco + 1, self._mine)[n]
        trailing = self._weight(gone, self._loco)[n]
        if edge >= self._own - 1 and edge < first:
            ahead = own_ahead + sum(w[n] for share, w in self._met if share.first <= edge)
            behind = trailing + sum(w[n] for share, w in left if share.last > edge)
        elif edge >= self._own - 1 and edge not in self._within_met:
            ahead = own_ahead + sum(w[n] for share, w in self._met if share.last <= edge)
            behind = 0 if only_ahead and self._is_undone else trailing
        elif edge < first and not any(share.first <= edge < share.last for share, _ in left):
            ahead = own_ahead if self._knows_ahead and not only_ahead else 0
            behind = trailing + sum(w[n] for share, w in left if share.first > edge)
        else:
            return 0
        if not only_ahead:
            return ahead + behind
        return behind if self._is_undone else ahead

    def _leaves_in_time(self, n: int, kind: _Kind, left: Sequence[Share]) -> bool:
        """Whether what is left can be where it is to be before too much is taken up, or too many are ahead
        over a cell.
        """
        for share in left:
            if not share.first:  # it may not have been coupled to at all
                continue
            tail = max(self.begins[share.first], self.begins[share.last] - self._length(share) + 1)
            for met in self._pushed:
                near = tail + self._between(share.begin, met.begin)
                if near >= self._latest(met) and self._weight(share.begin, met.end)[n] > kind.whole:
                    return False
            head = tail + self._between(share.begin, self._mine)
            weight = self._weight(share.begin, self._mine)[n]
            for k in range(self._own, self.last + 1):
                if self.begins[k] >= head:
                    break
                ahead = sum(w[n] for met, w in self._met if met.last < k)
                if weight + ahead > kind.most[self._cells[k]]:
                    return False
        return True

    def _meets_in_time(
        self, n: int, kind: _Kind, first: int, gone: int, left: Sequence[tuple[Share, Weights]]
    ) -> bool:
        """The same, of the run backwards: whether what is taken up can be where it was after enough was left
        over each cell.
        """
        for met in self._pushed:
            tail = self._latest(met) - self._between(gone, met.begin)
            weight = self._weight(gone, met.end)[n]
            for k in range(min(first, self.last) - 1, -1, -1):
                if self.begins[k + 1] <= tail:
                    break
                behind = sum(w[n] for share, w in left if share.first > k)
                if weight + behind > kind.most[self._cells[k]]:
                    return False
        return True

    def _latest(self, share: Share) -> int:
        """How far along the path the near end of what is met can lie."""
        return min(self.begins[share.last + 1] - self._length(share), self.begins[share.first + 1] - 1)

    def _length(self, share: Share) -> int:
        return self._between(share.begin, share.end)

    def _between(self, begin: int, end: int) -> int:
        return self._offsets[end] - self._offsets[begin]

    def _weight(self, begin: int, end: int) -> Weights:
        return self._loads.of(self._tokens[begin:end])
