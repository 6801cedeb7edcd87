"""Longest runs: the short cut that keeps only the standings at reversals, each after a run that went as far
as it could.

Exact for moves where no run can come back to a cell or a junction (:mod:`switchsolve.search.exact`).  A run
that went as far as it could can, on its way back, do all that it could have done from any earlier stop.  So
one step is: run along one branch as far as it goes, taking up all that it meets, and leave behind on the way
any number of cuts, each in cells of its own.  Strings in one cell count as one, touching or not. A cut need
not be left over more cells than it needs: of two sets of cells, one within the other, the smaller is kept.

A state is ``(others, mine)``: ``others`` the standing strings in canonical order, ``mine`` the locomotive's
string, listed so that its head leads in the **next** run.  Because every run can be undone by a run, the
same steps search from the goal backwards.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from itertools import accumulate

from switchsolve.rules import BegunRules, Rules, Standing, String, reverse_string
from switchsolve.search.grouping import groups_of, joined
from switchsolve.work import DoNotTouch

__all__ = ["LongestRuns", "RunEnds", "RunState", "closed_spans"]

RunState = tuple[tuple[String, ...], String]
Tokens = tuple[int, ...]


@dataclass(frozen=True, slots=True)
class RunEnds:
    """Strings of the locomotive that a run may end as (``strings``), and what it may have ahead of it on the
    way there, from the locomotive on (``ahead``): it takes up more, and leaves none of that.

    ``in_two``: it is the run after the next that is to end so, or already the next.
    """

    strings: frozenset[String]
    ahead: frozenset[Tokens]
    in_two: bool


class LongestRuns:
    """The step generator over one set-up."""

    def __init__(self, rules: Rules) -> None:
        self.rules = rules
        self.p = rules.p
        self.lengths = rules.lengths
        self.clear = frozenset(rules.p.keep_clear_always)
        self._is_open = all(rules.p.all_may_touch)
        self.halts = rules.halts or frozenset()
        self.is_simple = not self.halts and not rules.p.table_cells
        """Whether no run halts on the way."""
        self.behind: dict[RunState, list[String]] = {}
        """At the start: what may stand loose behind the locomotive's string, in a cell that they share, over
        more or fewer cells."""
        self._fits: dict[tuple[tuple[int, ...], tuple[int, ...]], bool] = {}
        self._turned: dict[String, String] = {}
        self._left_in: dict[tuple[tuple[int, ...], tuple[int, ...]], list[tuple[int, String]]] = {}
        self._ends_of: dict[
            tuple[tuple[int, ...], Tokens, int, int], list[tuple[String, tuple[int, ...], Tokens]]
        ] = {}
        self._cuts: dict[tuple[tuple[int, ...], tuple[int, ...]], list[tuple[String, ...]]] = {}
        self._in_place = self.kept_in_place()

    # ---- states

    def kept_in_place(self) -> frozenset[tuple[tuple[int, ...], tuple[int, ...]]]:
        """Strings (cells and tokens, listed either way) that stand at the start over more cells than a run
        would leave them over, and must, for their places are given.

        The search from the goal has to leave them just there.
        """
        if not _is_place_given(self.rules):
            return frozenset()
        found: set[tuple[tuple[int, ...], tuple[int, ...]]] = set()
        for standing in self.rules.starts():
            for group in groups_of(standing, self.rules.is_loco):
                at = next((i for i, one in enumerate(group) if self._has_loco(one)), None)
                sides = [group] if at is None else [group[:at], group[at + 1 :]]
                found |= {_ways_and_tokens(joined(side)) for side in sides if side}
        both = found | {(tuple(w ^ 1 for w in reversed(ways)), tokens[::-1]) for ways, tokens in found}
        return frozenset(
            (ways, tokens)
            for ways, tokens in both
            if len(ways) > 1
            and self._spans(ways, tokens) != [(0, len(ways) - 1)]
            and not any(of == tokens and set(row) < set(ways) for row, of in both)
        )

    def from_standing(self, standing: Standing) -> tuple[RunState, RunState]:
        """The two states (one for each direction of the next run) of a standing at the start."""
        groups = groups_of(standing, self.rules.is_loco)
        own = next(group for group in groups if any(self._has_loco(string) for string in group))
        others = tuple(sorted(self.turned(joined(group)) for group in groups if group is not own))
        back = [reverse_string(string, self.rules.is_loco) for string in reversed(own)]
        return self._start(others, own), self._start(others, back)

    def _start(self, others: tuple[String, ...], group: list[String]) -> RunState:
        """The state before a first run towards the end of ``group``, the strings that share cells with the
        locomotive's.

        It takes along what it is coupled to and what stands ahead; what stands loose behind it stays.
        """
        at = next(i for i, string in enumerate(group) if self._has_loco(string))
        state = (others, joined(group[at:]))
        if at:
            behind = joined(group[:at])
            if behind not in self.behind.setdefault(state, []):
                self.behind[state].append(behind)
        return state

    def _has_loco(self, string: String) -> bool:
        return any(self.rules.is_loco[token] for token in string.tokens)

    def turned(self, string: String) -> String:
        """The string listed in its canonical direction."""
        found = self._turned.get(string)
        if found is None:
            found = self._turned[string] = min(string, reverse_string(string, self.rules.is_loco))
        return found

    # ---- one step

    def ends_as(self, strings: Iterable[String], *, in_two: bool = False) -> RunEnds:
        """Runs that end as one of these strings of the locomotive, each listed for the run after it."""
        found = frozenset(strings)
        ahead: set[Tokens] = set()
        for string in found:
            row = self._ahead(reverse_string(string, self.rules.is_loco))
            ahead.update(row[:count] for count in range(len(row) + 1))
        return RunEnds(found, frozenset(ahead), in_two)

    def _ahead(self, mine: String) -> Tokens:
        """What is ahead of the locomotive in a run of this string."""
        return mine.tokens[self._loco(mine.tokens) + 1 :]

    def _loco(self, tokens: Tokens) -> int:
        for place, token in enumerate(tokens):  # asked so often that a generator would tell
            if self.rules.is_loco[token]:
                return place
        raise AssertionError("a locomotive is gone: a defect")

    def steps(self, state: RunState, only: RunEnds | None = None) -> Iterator[RunState]:
        """All states after one more run, each after a reversal (``only``: by runs that end so).

        A run that has come to rest on a table may go on from it, with the table lined otherwise; and so may
        one that has come to where runs halt.
        """
        if self.is_simple:
            yield from self._run(state, only=only)
        else:
            for following, _ in self._with_halts(state):
                yield following

    def after_halts(self, state: RunState) -> Iterator[RunState]:
        """Those of :meth:`steps` that a run comes to after a halt."""
        for following, has_halted in self._with_halts(state):
            if has_halted:
                yield following

    def _with_halts(self, state: RunState) -> Iterator[tuple[RunState, bool]]:
        """As :meth:`steps`, and whether the run has halted before."""
        seen: set[tuple[RunState, bool]] = set()
        stack = [(state, False)]
        while stack:
            here, goes_on = stack.pop()
            for following in self._run(here, goes_on):
                if (following, goes_on) in seen:
                    continue
                seen.add((following, goes_on))
                yield following, goes_on
                if self.may_go_on(following[1]):
                    stack.append((self._onward(here, following), True))

    def _onward(self, here: RunState, following: RunState) -> RunState:
        """What a run from ``here`` goes on from that has halted as ``following``: listed for the same run."""
        others, mine = following
        mine = reverse_string(mine, self.rules.is_loco)
        for behind in self.behind.get(here, ()):
            if mine.ways[: len(behind.ways)] == behind.ways:
                # it shares the last cell of what stands loose behind it still, and that stays there
                onward = others, String(mine.ways[len(behind.ways) - 1 :], mine.tokens[len(behind.tokens) :])
                if behind not in self.behind.setdefault(onward, []):
                    self.behind[onward].append(behind)
                return onward
        return others, mine

    def farthest(self, state: RunState) -> Iterator[RunState]:
        """All states after one more run that does not halt on the way, and leaves nothing behind."""
        others, mine = state
        at = {way >> 1: number for number, string in enumerate(others) for way in string.ways}
        loco = self._loco(mine.tokens)
        for ways, tokens, taken, head in self._ends(others, at, mine):
            rest = tuple(string for number, string in enumerate(others) if number not in taken)
            yield rest, self._drawn(ways, tokens, head, loco)[0][0]

    def may_go_on(self, mine: String) -> bool:
        """Whether a run that has come to this string of the locomotive, listed for the next run, may go on
        where it has halted.
        """
        way = mine.ways[0] ^ 1
        return way in self.halts or (len(mine.ways) == 1 and way >> 1 in self.p.table_cells)

    def _run(
        self, state: RunState, goes_on: bool = False, only: RunEnds | None = None
    ) -> Iterator[RunState]:
        """As :meth:`steps`, of a run that does not halt on the way (``goes_on``: it sets out from a halt)."""
        others, mine = state
        if only is not None and not only.in_two and self._ahead(mine) not in only.ahead:
            return
        at = {way >> 1: number for number, string in enumerate(others) for way in string.ways}
        loco = self._loco(mine.tokens)
        for ways, tokens, taken, head in self._ends(others, at, mine, only, goes_on):
            rest = tuple(string for number, string in enumerate(others) if number not in taken)
            for blocks, after in self._after(state, ways, tokens, head, loco, only):
                yield tuple(sorted((*rest, *blocks))), after

    def _after(
        self,
        state: RunState,
        ways: tuple[int, ...],
        tokens: Tokens,
        head: int,
        loco: int,
        only: RunEnds | None = None,
    ) -> Iterator[tuple[tuple[String, ...], String]]:
        """What a run from ``state`` over ``ways`` comes to: the cuts that it leaves, and the locomotive's
        string.
        """
        if state in self.behind:
            for loose in self.behind[state]:
                for blocks, after in self._away_from(loose, ways, tokens, head, loco):
                    if only is None or self._is_wanted(only, after):
                        yield blocks, after
            return
        for after, behind, gone in self._drawn(ways, tokens, head, loco):
            if only is None or self._is_wanted(only, after):
                for blocks in self._left(behind, gone):
                    yield blocks, after

    def _is_wanted(self, only: RunEnds, after: String) -> bool:
        return after in only.strings or (only.in_two and self._ahead(after) in only.ahead)

    def path_of(
        self, state: RunState, following: RunState
    ) -> list[tuple[tuple[int, ...], RunState | None]] | None:
        """The run that leads from ``state`` to ``following``, in parts: the ways up to each halt on the way,
        and that; the last ones up to ``following``, and ``None``.  ``None`` if no run does.
        """
        seen: set[RunState] = set()
        stack: list[tuple[RunState, list[tuple[tuple[int, ...], RunState | None]]]] = [(state, [])]
        while stack:
            here, before = stack.pop()
            ways = self._path_of(here, following, bool(before))
            if ways is not None:
                return [*before, (ways, None)]
            if self.is_simple:
                break
            for after in self._run(here, bool(before)):
                if self.may_go_on(after[1]) and after not in seen:
                    seen.add(after)
                    ways = self._path_of(here, after, bool(before)) or ()
                    stack.append((self._onward(here, after), [*before, (ways, after)]))
        return None

    def _path_of(self, state: RunState, following: RunState, goes_on: bool) -> tuple[int, ...] | None:
        """As :meth:`path_of`, of a run that does not halt on the way."""
        others, mine = state
        at = {way >> 1: number for number, string in enumerate(others) for way in string.ways}
        loco = self._loco(mine.tokens)
        for ways, tokens, taken, head in self._ends(others, at, mine, goes_on=goes_on):
            rest = tuple(string for number, string in enumerate(others) if number not in taken)
            for blocks, after in self._after(state, ways, tokens, head, loco):
                if (tuple(sorted((*rest, *blocks))), after) == following:
                    return ways
        return None

    def _ends(
        self,
        others: tuple[String, ...],
        at: dict[int, int],
        mine: String,
        only: RunEnds | None = None,
        goes_on: bool = False,
    ) -> Iterator[tuple[tuple[int, ...], tuple[int, ...], frozenset[int], int]]:
        """Every farthest end of the run: the whole path, the string, what it took, how far its head came.

        ``only``: what comes to have something else ahead of it is left out.  ``goes_on``: it sets out from
        where it has halted.
        """
        ahead = None if only is None or only.in_two else only.ahead
        loco = self._loco(mine.tokens) + 1
        stack = [(mine.ways, mine.tokens, frozenset[int]())]
        while stack:
            ways, tokens, taken = stack.pop()
            total = self.rules.path_length(ways)
            limit = 1 << 60 if self._is_open else self._limit(ways, len(mine.ways), tokens)
            went_on = False
            sets_out = goes_on and len(ways) == len(mine.ways)
            for way in self._beyond(ways, sets_out):
                grown = self._into(others, at, taken, ways, tokens, way, total, limit)
                if grown is not None:
                    went_on = True
                    if ahead is None or grown[1] is tokens or grown[1][loco:] in ahead:
                        stack.append(grown)
            if not went_on and not sets_out:
                yield ways, tokens, taken, min(total, limit)

    def _beyond(self, ways: tuple[int, ...], sets_out: bool) -> tuple[int, ...]:
        """The ways that a run may be carried on into, from halts only if it ``sets_out``."""
        if ways[-1] in self.halts:
            return self.p.ways_on[ways[-1]] if sets_out else ()
        return self.p.beyond(ways)

    def _limit(self, ways: tuple[int, ...], own: int, tokens: tuple[int, ...]) -> int:
        """How far along the path the head may come before a vehicle touches a cell closed to it.

        A closed cell that it stands in already, ``own`` cells in all, is a dead end: ahead, if its head is in
        it and its tail is not.
        """
        limit = 1 << 60
        begin = 0
        for k, way in enumerate(ways):
            cell = way >> 1
            if k >= max(own - 1, 1) and not self.p.all_may_touch[cell]:
                limit = min(limit, begin + self._lead(cell, tokens))
            begin += self.lengths[cell]
        return limit

    def _lead(self, cell: int, tokens: tuple[int, ...]) -> int:
        """Length of the vehicles ahead of the first one (from the head) that may not touch the cell."""
        lead = 0
        for token in reversed(tokens):
            if not self.p.may_touch[cell][token]:
                return lead
            lead += self.rules.token_lengths[token]
        return 1 << 60

    def _into(
        self,
        others: tuple[String, ...],
        at: dict[int, int],
        taken: frozenset[int],
        ways: tuple[int, ...],
        tokens: tuple[int, ...],
        way: int,
        total: int,
        limit: int,
    ) -> tuple[tuple[int, ...], tuple[int, ...], frozenset[int]] | None:
        """The run carried into ``way``, with what stands there taken along; ``None`` if it cannot be."""
        cell = way >> 1
        for other in self.p.conflicts[cell]:
            if other in at and at[other] not in taken:
                return None
        number = at.get(cell)
        reach = limit - total if self.p.all_may_touch[cell] else min(limit - total, self._lead(cell, tokens))
        if number is None or number in taken:
            return ((*ways, way), tokens, taken) if reach > 0 else None
        met = others[number]
        if met.ways[0] != way:
            met = reverse_string(met, self.rules.is_loco)
        if met.ways[0] != way or (len(met.ways) > 1 and cell in self.p.table_cells):
            return None  # what lies over the edge of a table has it lined there
        nearest = self.rules.path_length(met.ways[:-1]) - self.rules.length(met.tokens) + 1
        if len(met.ways) > 1 and nearest > reach:
            return None
        return ways + met.ways, tokens + met.tokens, taken | {number}

    def _drawn(
        self, ways: tuple[int, ...], tokens: Tokens, head: int, loco: int
    ) -> list[tuple[String, tuple[int, ...], Tokens]]:
        """What a run over ``ways`` may come to: the locomotive's string, and the cells behind it with what is
        left in them.

        Kept, for standings that differ elsewhere only come to the same.
        """
        key = ways, tokens, head, loco
        found = self._ends_of.get(key)
        if found is not None:
            return found
        found = self._ends_of[key] = []
        starts = [0, *accumulate(self.lengths[way >> 1] for way in ways)]
        last = next(k for k in range(len(ways)) if head <= starts[k + 1])
        for gone in range(loco + 1):
            rest = tokens[gone:]
            tail = head - self.rules.length(rest)
            first = max(k for k in range(last + 1) if starts[k] <= tail)
            mine = reverse_string(String(ways[first : last + 1], rest), self.rules.is_loco)
            found.append((mine, ways[:first], tokens[:gone]))
        return found

    def _away_from(
        self,
        behind: String,
        ways: tuple[int, ...],
        tokens: tuple[int, ...],
        head: int,
        loco: int,
    ) -> Iterator[tuple[tuple[String, ...], String]]:
        """As :meth:`_after`, for a first run away from cars that stand loose in the cell it starts in.

        What is left in that cell, or stays in it, counts as one string with them.
        """
        shared = len(behind.ways) - 1
        whole = behind.ways[:-1] + ways
        starts = [0, *accumulate(self.lengths[way >> 1] for way in ways)]
        last = next(k for k in range(len(ways)) if head <= starts[k + 1])
        for gone in range(loco + 1):
            tail = head - self.rules.length(tokens[gone:])
            first = max(k for k in range(last + 1) if starts[k] <= tail)
            if not first:
                if not gone:
                    mine = String(whole[: shared + last + 1], behind.tokens + tokens)
                    yield (), reverse_string(mine, self.rules.is_loco)
                continue
            mine = reverse_string(String(ways[first : last + 1], tokens[gone:]), self.rules.is_loco)
            for near in range(gone + 1):
                kept = String(behind.ways, behind.tokens + tokens[:near])
                end = next(
                    (j for j in range(shared, shared + first) if self.fits(whole[: j + 1], kept.tokens)),
                    None,
                )
                if end is None or any(way >> 1 in self.clear for way in whole[shared + 1 : end + 1]):
                    continue
                kept = self.turned(String(whole[: end + 1], kept.tokens))
                for blocks in self._left(whole[end + 1 : shared + first], tokens[near:gone]):
                    yield (kept, *blocks), mine

    def _left(self, ways: tuple[int, ...], tokens: tuple[int, ...]) -> list[tuple[String, ...]]:
        """All ways to leave ``tokens`` as cuts in the cells ``ways``, one after the other.

        Kept, for the same cars are drawn over the same cells from standings that differ elsewhere only.
        """
        if not tokens:
            return [()]
        found = self._cuts.get((ways, tokens))
        if found is None:
            found = self._cuts[ways, tokens] = [
                (string, *more)
                for size in range(1, len(tokens) + 1)
                for after, string in self._places(ways, tokens[:size])
                for more in self._left(ways[after:], tokens[size:])
            ]
        return found

    def _places(self, ways: tuple[int, ...], block: tuple[int, ...]) -> list[tuple[int, String]]:
        """The smallest rows of cells in which the block may be left: the number of the cell behind it, and
        the string.
        """
        found = self._left_in.get((ways, block))
        if found is None:
            found = self._left_in[ways, block] = [
                (j + 1, self.turned(String(ways[i : j + 1], block)))
                for i, j in (*self._spans(ways, block), *self._stood(ways, block))
            ]
        return found

    def _spans(self, ways: tuple[int, ...], block: tuple[int, ...]) -> list[tuple[int, int]]:
        found: list[tuple[int, int]] = []
        for i in range(len(ways) - 1, -1, -1):
            for j in range(i, len(ways)):
                if ways[j] >> 1 in self.clear:
                    break
                if self.fits(ways[i : j + 1], block):
                    if not any(i <= a and b <= j for a, b in found):
                        found.append((i, j))
                    break
        return found

    def _stood(self, ways: tuple[int, ...], block: tuple[int, ...]) -> Iterator[tuple[int, int]]:
        """Where the block stood at the start, if that is one of :meth:`kept_in_place`."""
        for row, tokens in self._in_place:
            if tokens == block:
                for i in range(len(ways) - len(row) + 1):
                    if ways[i : i + len(row)] == row:
                        yield i, i + len(row) - 1

    def fits(self, ways: tuple[int, ...], tokens: tuple[int, ...]) -> bool:
        """Whether a string can stand over exactly these cells, off all that is closed to its vehicles."""
        key = (ways, tokens)
        found = self._fits.get(key)
        if found is None:
            found = self._fits[key] = self._find_fit(ways, tokens)
        return found

    def _find_fit(self, ways: tuple[int, ...], tokens: tuple[int, ...]) -> bool:
        slack = self.rules.path_length(ways) - self.rules.length(tokens)
        low, high = 0, slack
        if len(ways) > 1:
            low = max(0, slack - self.lengths[ways[-1] >> 1] + 1)
            high = min(slack, self.lengths[ways[0] >> 1] - 1)
        if low > high:
            return False
        banned = list(closed_spans(self.rules, ways, tokens))
        candidates = {low, *(end for _, end in banned)}
        return any(low <= x <= high and not any(a < x < b for a, b in banned) for x in candidates)


def closed_spans(rules: Rules, ways: tuple[int, ...], tokens: tuple[int, ...]) -> Iterator[tuple[int, int]]:
    """Open intervals of x in which a vehicle of the row touches a cell closed to it."""
    begin = 0
    for way in ways:
        end = begin + rules.lengths[way >> 1]
        if not rules.p.all_may_touch[way >> 1]:
            offset = 0
            for token in tokens:
                length = rules.token_lengths[token]
                if not rules.p.may_touch[way >> 1][token]:
                    yield begin - offset - length, end - offset
                offset += length
        begin = end


def _is_place_given(rules: Rules) -> bool:
    """Whether the start says where in its track a string stands that can be moved."""
    if isinstance(rules, BegunRules):
        return True
    untouched = {item.car for item in rules.p.puzzle.work.items if isinstance(item, DoNotTouch)}
    return any(
        (string.fixed_at is not None or string.spots) and not untouched.issuperset(string.vehicles)
        for string in rules.p.puzzle.start.strings
    )


def _ways_and_tokens(string: String) -> tuple[tuple[int, ...], tuple[int, ...]]:
    return string.ways, string.tokens
