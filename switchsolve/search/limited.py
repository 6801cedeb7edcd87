"""Longest runs within the limits on the moving string.

Longest runs forget limits.  These do not: a run takes up, shoves and drags no more than it may.  So it may
have to stop short of cars, in the cell they stand in; which cars of a cell are coupled to the locomotive is
not told, for each car may stand by itself, a little apart from the next.  What a run has left in the very
cell that its string still lies over, not to have it along, is a string of its own: the next run finds it
ahead.  A run is kept only if it could not have gone on with all that it has, limits or no: where they might
bind, it may end in every cell.

No plan of the law has fewer runs than these find, where
:func:`switchsolve.search.exact.why_not_within_limits` has nothing against them.  They judge by cells
(:mod:`switchsolve.search.carrying`), so a plan along their standings is still to be made by the law, and now
and then there is none.

Less foul is not better here.  Where cars may not be shoved, what is left over more cells than it needs, foul
of a junction, may give room to who comes from the other side.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from switchsolve.rules import Rules, String, reverse_string
from switchsolve.search.carrying import Carried, Loads, Share
from switchsolve.search.grouping import joined
from switchsolve.search.runs import LongestRuns, RunEnds, RunState, Tokens

__all__ = ["RunsWithinLimits"]

_Outcome = tuple[tuple[String, ...], String]
"""What a run may come to: the cuts that it leaves, and the locomotive's string."""


@dataclass(frozen=True, slots=True)
class RunPath:
    """A run on its way: the cells, the vehicles along them, the standing strings that it took up, and where
    they stood.
    """

    ways: tuple[int, ...]
    tokens: Tokens
    taken: frozenset[int]
    met: tuple[Share, ...]

    def behind(self, loose: String) -> RunPath:
        """The same, with what stands loose at its tail, in the cell that it begins in."""
        cells, count = len(loose.ways) - 1, len(loose.tokens)
        return RunPath(
            loose.ways[:-1] + self.ways,
            loose.tokens + self.tokens,
            self.taken,
            tuple(
                Share(one + cells, last + cells, begin + count, end + count)
                for one, last, begin, end in self.met
            ),
        )


class RunsWithinLimits(LongestRuns):
    """The step generator over one set-up with limits.

    ``goals``: states that end the work, from which the search goes back: there what is ahead of the
    locomotive need not be coupled to it.  ``is_undone``: the steps are runs undone (it matters for limits on
    the cars ahead).
    """

    def __init__(self, rules: Rules, goals: Sequence[RunState] = (), *, is_undone: bool = False) -> None:
        self.loads = Loads(rules)
        self._goals = frozenset(goals)
        self._is_undone = is_undone
        self._outcomes: dict[tuple[object, ...], list[_Outcome]] = {}
        super().__init__(rules)

    def undone(self, goals: Sequence[RunState]) -> RunsWithinLimits:
        """The same runs, undone, from where the work is done."""
        return RunsWithinLimits(self.rules, goals, is_undone=True)

    # ---- states

    def _start(self, others: tuple[String, ...], group: list[String]) -> RunState:
        """As :meth:`LongestRuns._start`; but what stands loose ahead is a string of its own."""
        at = next(i for i, string in enumerate(group) if self._has_loco(string))
        if at + 1 < len(group):
            others = tuple(sorted((*others, self.turned(joined(group[at + 1 :])))))
        return super()._start(others, group[: at + 1])

    def _find_fit(self, ways: tuple[int, ...], tokens: Tokens) -> bool:
        """As :meth:`LongestRuns.fits`, with room for a gap if they are too many to be coupled."""
        needs_gap = self.loads.are_too_many(ways, tokens)
        if needs_gap and self.rules.path_length(ways) <= self.rules.length(tokens):
            return False
        return super()._find_fit(ways, tokens)

    def _spans(self, ways: tuple[int, ...], block: Tokens) -> list[tuple[int, int]]:
        """All rows of cells in which the block may be left: to carry it on into fewer may be forbidden."""
        found: list[tuple[int, int]] = []
        for i in range(len(ways) - 1, -1, -1):
            for j in range(i, len(ways)):
                if ways[j] >> 1 in self.clear:
                    break
                if self.fits(ways[i : j + 1], block):
                    found.append((i, j))
        return found

    # ---- one step

    def steps(self, state: RunState, only: RunEnds | None = None) -> Iterator[RunState]:
        """All states after one more run, each after a reversal (``only``: by runs that end so)."""
        return iter(dict.fromkeys(following for _, following in self._with_ways(state, only)))

    def path_of(
        self, state: RunState, following: RunState
    ) -> list[tuple[tuple[int, ...], RunState | None]] | None:
        """As :meth:`LongestRuns.path_of`."""
        found = (ways for ways, after in self._with_ways(state) if after == following)
        ways = next(found, None)
        return None if ways is None else [(ways, None)]

    def _with_ways(
        self, state: RunState, only: RunEnds | None = None
    ) -> Iterator[tuple[tuple[int, ...], RunState]]:
        """The states after one more run, and the whole path of each."""
        others, mine = state
        loco = self._loco(mine.tokens)
        ahead = None if only is None or only.in_two else only.ahead
        at = {way >> 1: number for number, string in enumerate(others) for way in string.ways}
        stack = [self._setting_out(others, at, mine)]
        while stack:
            path = stack.pop()
            if ahead is not None and path.tokens[loco + 1 :] not in ahead:
                continue
            total = self.rules.path_length(path.ways)
            limit = 1 << 60 if self._is_open else self._limit(path.ways, len(mine.ways), path.tokens)
            onward = list(self._onward_from(others, at, path, loco, total, limit))
            stack += onward
            if any(self.loads.bind_nowhere(further.tokens) for further in onward):
                continue  # limits or no, it goes on with all that it has: that the next run can undo
            rest = [string for number, string in enumerate(others) if number not in path.taken]
            taken = [further.tokens[len(path.tokens) :] for further in onward]
            for left, after in self._outcomes_of(state, path, min(total, limit)):
                if any(self.loads.bind_nowhere(after.tokens + more) for more in taken):
                    continue
                if only is None or self._is_wanted(only, after):
                    yield path.ways, (tuple(sorted((*rest, *left))), after)

    def _setting_out(self, others: tuple[String, ...], at: dict[int, int], mine: String) -> RunPath:
        """The run at its beginning: what stands ahead in the last cell of its string is met at once."""
        number = at.get(mine.ways[-1] >> 1)
        if number is None:
            return RunPath(mine.ways, mine.tokens, frozenset(), ())
        met = others[number]
        if met.ways[0] != mine.ways[-1]:
            met = reverse_string(met, self.rules.is_loco)
        ways, tokens = mine.ways[:-1] + met.ways, mine.tokens + met.tokens
        share = Share(len(mine.ways) - 1, len(ways) - 1, len(mine.tokens), len(tokens))
        return RunPath(ways, tokens, frozenset({number}), (share,))

    def _onward_from(
        self, others: tuple[String, ...], at: dict[int, int], path: RunPath, loco: int, total: int, limit: int
    ) -> Iterator[RunPath]:
        """The run carried on into each cell beyond, as far as limits on what is ahead allow."""
        ahead = self.loads.of(path.tokens[loco + 1 :])
        for way in self.p.beyond(path.ways):
            grown = self._into(others, at, path.taken, path.ways, path.tokens, way, total, limit)
            if grown is None or not self._may_be_ahead(ahead, path.ways[-1], way):
                continue
            ways, tokens, taken = grown
            met = path.met
            if taken is not path.taken:
                met = (*met, Share(len(path.ways), len(ways) - 1, len(path.tokens), len(tokens)))
            yield RunPath(ways, tokens, taken, met)

    def _may_be_ahead(self, ahead: tuple[int, ...], *ways: int) -> bool:
        return all(
            weight <= min(kind.most[way >> 1] for way in ways)
            for weight, kind in zip(ahead, self.loads.kinds, strict=True)
            if not (kind.only_ahead and self._is_undone)
        )

    def _outcomes_of(self, state: RunState, path: RunPath, head: int) -> Iterator[_Outcome]:
        """What a run over the whole path may come to.

        Kept, for standings that differ elsewhere only come to the same.
        """
        mine = state[1]
        knows_ahead = state not in self._goals
        for loose in self.behind.get(state, [None]):
            key = path.ways, path.tokens, path.met, head, len(mine.ways), len(mine.tokens), knows_ahead, loose
            found = self._outcomes.get(key)
            if found is None:
                found = list(self._listed(mine, path, head, knows_ahead, loose))
                self._outcomes[key] = found
            yield from found

    def _listed(
        self, mine: String, path: RunPath, head: int, knows_ahead: bool, loose: String | None
    ) -> Iterator[_Outcome]:
        """As :meth:`_outcomes_of`; with what stands ``loose`` behind, and stays, at the tail of the path."""
        own, loco, before = len(mine.ways), self._loco(mine.tokens), 0
        if loose is not None:
            before = len(loose.tokens)
            head += self.rules.path_length(loose.ways[:-1])
            path = path.behind(loose)
            own, loco = own + len(loose.ways) - 1, loco + before
        ways, tokens = path.ways, path.tokens
        carried = Carried(
            self.rules, self.loads, ways, tokens,
            own=own, mine=before + len(mine.tokens), loco=loco, met=path.met, head=head,
            knows_ahead=knows_ahead, is_undone=self._is_undone,
        )  # fmt: skip
        if loose is not None and self._is_one_with(carried, path, loose, head):
            yield (), reverse_string(String(ways[: carried.last + 1], tokens), self.rules.is_loco)
        for gone in range(before, loco + 1):
            tail, first = self._tail(carried, ways, tokens[gone:], head)
            after = reverse_string(String(ways[first : carried.last + 1], tokens[gone:]), self.rules.is_loco)
            for left in self._cuts_of(path, loose, first, gone):
                if carried.allows(first, gone, left):
                    yield self._strings_of(path, left), after
            for left in self._with_one_beside(path, loose, carried, tail, first, gone):
                if carried.allows(first, gone, left):
                    yield self._strings_of(path, left), after

    def _is_one_with(self, carried: Carried, path: RunPath, loose: String, head: int) -> bool:
        """Whether the locomotive's string still shares a cell with what is loose behind, and no limit binds
        for them together: then they count as one.
        """
        mine = path.tokens[len(loose.tokens) :]
        is_beside = self._tail(carried, path.ways, mine, head)[1] < len(loose.ways)
        return is_beside and self.loads.bind_nowhere(path.tokens)

    def _tail(self, carried: Carried, ways: tuple[int, ...], mine: Tokens, head: int) -> tuple[int, int]:
        """How far along the path the tail of the locomotive's string comes, and the cell it lies in."""
        tail = head - self.rules.length(mine)
        first = carried.cell_at(tail)
        if tail and self.loads.are_too_many(ways[first : carried.last + 1], mine):
            # they are not all coupled, and keep a gap: in rail closed to the head it may lie ahead of it
            tail = min(head, carried.begins[-1] - 1) - self.rules.length(mine)
            first = carried.cell_at(tail)
        return tail, first

    def _cuts_of(self, path: RunPath, loose: String | None, cells: int, gone: int) -> Iterator[list[Share]]:
        """All ways to leave the ``gone`` vehicles at the tail in the path's first ``cells``."""
        if loose is None:
            yield from self._cuts_from(path, 0, cells, 0, gone)
            return
        for near in range(len(loose.tokens), gone + 1):  # those left with what is loose
            for last in self._ends_with(path, loose, cells, near):
                for left in self._cuts_from(path, last + 1, cells, near, gone):
                    yield [Share(0, last, 0, near), *left]

    def _cuts_from(self, path: RunPath, cell: int, cells: int, begin: int, end: int) -> Iterator[list[Share]]:
        """All ways to leave vehicles ``begin`` to ``end`` in the path's cells from ``cell`` to ``cells``."""
        place = {way >> 1: number for number, way in enumerate(path.ways)}
        for strings in self._left(path.ways[cell:cells], path.tokens[begin:end]):
            left, at = [], begin
            for string in strings:
                lies = sorted(place[way >> 1] for way in string.ways)
                left.append(Share(lies[0], lies[-1], at, at + len(string.tokens)))
                at += len(string.tokens)
            yield left

    def _ends_with(self, path: RunPath, loose: String, cells: int, near: int) -> list[int]:
        """Where what stood loose behind may end, with vehicles left beside it, ``near`` in all."""
        size = len(loose.ways)
        if near == len(loose.tokens):
            return [size - 1] if size <= cells else []
        block = path.tokens[:near]
        return [k for k in range(size - 1, cells) if self.fits(path.ways[: k + 1], block)]

    def _with_one_beside(
        self, path: RunPath, loose: String | None, carried: Carried, tail: int, first: int, gone: int
    ) -> Iterator[list[Share]]:
        """The same, with the last cut left in the cell in which the locomotive's string has its tail.

        Not if no limit binds for all of them: then it can as well come along.
        """
        before = 0
        if loose is not None:
            before = len(loose.tokens)
            has_room = gone == before or self.rules.length(path.tokens[:gone]) < tail
            if has_room and first in self._ends_with(path, loose, first + 1, gone) and not (
                self.loads.bind_nowhere(path.tokens)
            ):
                yield [Share(0, first, 0, gone)]
        for begin in range(before, gone):
            block = path.tokens[begin:gone]
            room = tail - self.rules.length(block) - 1
            if room < 0 or tail <= carried.begins[first] or self.loads.bind_nowhere(path.tokens[begin:]):
                continue
            for cell in range(carried.cell_at(room) + 1):
                ways = path.ways[cell : first + 1]
                if self.clear.isdisjoint(way >> 1 for way in ways) and self.fits(ways, block):
                    for left in self._cuts_of(path, loose, cell, begin):
                        yield [*left, Share(cell, first, begin, gone)]

    def _strings_of(self, path: RunPath, left: Sequence[Share]) -> tuple[String, ...]:
        return tuple(
            self.turned(String(path.ways[one.first : one.last + 1], path.tokens[one.begin : one.end]))
            for one in left
        )
