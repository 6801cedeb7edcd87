"""Longest runs: the short cut that keeps only the standings at reversals, each after a run that went as far
as it could.

Exact for moves where no run can come back to a cell or a junction (:func:`applies`).  A run that went as
far as it could can, on its way back, do all that it could have done from any earlier stop.  So one step is:
run along one branch as far as it goes, taking up all that it meets, and leave behind on the way any number
of cuts, each in cells of its own.  Strings in one cell count as one, touching or not. A cut need not be
left over more cells than it needs: of two sets of cells, one within the other, the smaller is kept.

A state is ``(others, mine)``: ``others`` the standing strings in canonical order, ``mine`` the locomotive's
string, listed so that its head leads in the **next** run.  Because every run can be undone by a run, the
same steps search from the goal backwards.
"""

from __future__ import annotations

from collections.abc import Iterator
from itertools import accumulate, combinations, product

from switchsolve.district import Limits
from switchsolve.packing import PackedPuzzle
from switchsolve.puzzle import Puzzle, StartString
from switchsolve.rules import BegunRules, Rules, Standing, String, reverse_string
from switchsolve.work import AnyCars, DoNotTouch, EndsIn, Place

__all__ = ["LongestRuns", "RunState", "applies", "bounds", "closed_spans", "has_kept_in_place"]

RunState = tuple[tuple[String, ...], String]


def applies(rules: Rules) -> str | None:
    """``None`` if longest runs are exact for this set-up, else the reason why they are not."""
    return bounds(rules) or _why_forbidden(rules.p) or _why_places_matter(rules.p)


def bounds(rules: Rules) -> str | None:
    """``None`` if no plan has fewer runs than longest runs find, and there is none where they find none; else
    the reason why that is not so.

    They forget limits on the moving string, what a rear-only locomotive may not do, and where in its track a
    vehicle stands.  Where that matters they may find fewer than there are: a plan of so many runs is then
    still to be found.
    """
    p = rules.p
    if len(p.loco_names) != 1:
        return "more than one locomotive"
    if p.start_lined:
        return "a table"
    if p.has_exempt:
        return "a car stands on a part to be kept clear"
    if _closed_is_open_at_both_ends(p):
        return "a closed part that can be reached from two sides"
    if _can_come_back(p):
        return "a run can come back to where it was"
    if any(not runs.fits(*kept) for runs in [LongestRuns(rules)] for kept in runs.kept_in_place()):
        return "strings apart from each other at exact places over both ends of a part"
    return None


def has_kept_in_place(rules: Rules) -> bool:
    """Whether a string stands at the start, and must, where no run would leave it: see
    :meth:`LongestRuns.kept_in_place`.
    """
    return bool(LongestRuns(rules).kept_in_place())


def _why_forbidden(p: PackedPuzzle) -> str | None:
    """What longest runs do that the set-up forbids (``None``: nothing)."""
    if any(_can_bind(p, limits) for limits in (p.puzzle.district.limits, *(cell.limits for cell in p.cells))):
        return "limits on the moving string"
    if any(what.rear_only for what in p.classes):
        return "a rear-only locomotive"
    return None


def _can_bind(p: PackedPuzzle, limits: Limits) -> bool:
    """Whether all cars in one string would be too many, too long, or too many to be shoved."""
    number, length = len(p.puzzle.cars), sum(car.length for car in p.puzzle.cars)
    pairs = (limits.most_cars, number), (limits.longest, length), (limits.most_shoved, number)
    return any(most is not None and most < has for most, has in pairs)


def _why_places_matter(p: PackedPuzzle) -> str | None:
    """Why it can matter where in its track a vehicle stands, which longest runs do not see (``None``: it can
    not).

    Where a track is closed to something in part, a place in it can be out of reach: so it counts if a string
    starts there at an exact place or a spot, or a car is wanted at a spot.  On any track it counts if a car
    that is wanted at a spot starts on that track and need not be at it, or if cars coupled to each other
    could not be at the spots at which they are wanted: strings in one cell count as one, and a run that
    shoves them there cannot leave room between them.
    """
    puzzle = p.puzzle
    closed = {
        track.name
        for track in puzzle.district.tracks
        if any(part.marks.no_locomotives or part.marks.barred for part in track.parts)
    }
    here = {name: string for string in puzzle.start.strings for name in string.vehicles}
    untouched = {item.car for item in puzzle.work.items if isinstance(item, DoNotTouch)}
    for string in puzzle.start.strings:
        is_bound = string.fixed_at is not None or string.spots
        if string.track in closed and is_bound and not untouched.issuperset(string.vehicles):
            return "a string at an exact place in a track with a closed part"
    for cars, places in _wanted(puzzle):
        for place in places:
            if place.spot is None:
                continue
            if place.track in closed:
                return "a spot in a track with a closed part"
            if any(_may_be_off(puzzle, here[car], car, place) for car in cars):
                return "a car in the track of a spot at which it is wanted, and not at it"
    if any(_apart(p, one, other) for one, other in combinations(p.class_of.values(), 2)):
        return "cars wanted at spots of one track with room between them"
    return None


def _apart(p: PackedPuzzle, one: int, other: int) -> bool:
    """Whether cars of these two classes may have to be at spots of one track that are too far from each
    other for cars coupled to each other.  (If each pair of a row can be coupled, so can the row: where its
    first car may begin is an interval for each car, and intervals that meet in pairs have a point in common.)
    """
    reach = p.classes[one].length + p.classes[other].length
    spots = p.puzzle.district.track
    return any(
        here.track == there.track
        and here.spot is not None
        and there.spot is not None
        and abs(spots(here.track).spot(here.spot).at - spots(there.track).spot(there.spot).at) > reach
        for here, there in product(_places(p, one), _places(p, other))
    )


def _places(p: PackedPuzzle, number: int) -> tuple[Place, ...]:
    """Where a car of this class may have to be."""
    what = p.classes[number]
    return what.places if what.any_of < 0 else (*what.places, p.any_cars[what.any_of].place)


def _may_be_off(puzzle: Puzzle, string: StartString, car: str, place: Place) -> bool:
    """Whether ``car`` starts on the track of its spot, and need not be at it."""
    if string.track != place.track or place.spot is None or string.spots.get(car) == place.spot:
        return False
    if string.fixed_at is None:
        return True
    lengths = [puzzle.vehicles[name].length for name in string.vehicles]
    at = string.vehicles.index(car)
    begin = string.fixed_at + sum(lengths[:at])
    return not begin <= puzzle.district.track(place.track).spot(place.spot).at <= begin + lengths[at]


def _wanted(puzzle: Puzzle) -> Iterator[tuple[list[str], tuple[Place, ...]]]:
    """Cars, and the places at which they are wanted."""
    for item in puzzle.work.items:
        if isinstance(item, EndsIn):
            yield [item.car], item.places
        elif isinstance(item, AnyCars):
            yield [car.name for car in puzzle.cars if car.kind == item.kind], (item.place,)


def _reachable(p: PackedPuzzle, way: int) -> set[int]:
    seen: set[int] = set()
    stack = [way]
    while stack:
        for following in p.ahead(stack.pop(), ()):
            if following not in seen:
                seen.add(following)
                stack.append(following)
    return seen


def _can_come_back(p: PackedPuzzle) -> bool:
    for way in range(2 * len(p.cells)):
        own = {way >> 1, *p.conflicts[way >> 1]}
        if any(following >> 1 in own for following in _reachable(p, way)):
            return True
    return False


def _closed_is_open_at_both_ends(p: PackedPuzzle) -> bool:
    """Whether a part that some vehicle may not touch has rail on beyond both of its ends."""
    return any(
        not p.all_may_touch[cell] and p.ahead(2 * cell, ()) and p.ahead(2 * cell + 1, ())
        for cell in range(len(p.cells))
    )


class LongestRuns:
    """The step generator over one set-up."""

    def __init__(self, rules: Rules) -> None:
        self.rules = rules
        self.p = rules.p
        self.lengths = rules.lengths
        self.clear = frozenset(rules.p.keep_clear_always)
        self.behind: dict[RunState, String] = {}
        """At the start: what stands loose behind the locomotive's string, in a cell that they share."""
        self._fits: dict[tuple[tuple[int, ...], tuple[int, ...]], bool] = {}
        self._turned: dict[String, String] = {}
        self._left_in: dict[tuple[tuple[int, ...], tuple[int, ...]], list[tuple[int, String]]] = {}
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
            for group in _groups(standing, self.rules.is_loco):
                at = next((i for i, one in enumerate(group) if self._has_loco(one)), None)
                sides = [group] if at is None else [group[:at], group[at + 1 :]]
                found |= {_ways_and_tokens(_joined(side)) for side in sides if side}
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
        groups = _groups(standing, self.rules.is_loco)
        own = next(group for group in groups if any(self._has_loco(string) for string in group))
        others = tuple(sorted(self.turned(_joined(group)) for group in groups if group is not own))
        back = [reverse_string(string, self.rules.is_loco) for string in reversed(own)]
        return self._start(others, own), self._start(others, back)

    def _start(self, others: tuple[String, ...], group: list[String]) -> RunState:
        """The state before a first run towards the end of ``group``, the strings that share cells with the
        locomotive's.

        It takes along what it is coupled to and what stands ahead; what stands loose behind it stays.
        """
        at = next(i for i, string in enumerate(group) if self._has_loco(string))
        state = (others, _joined(group[at:]))
        if at:
            self.behind[state] = _joined(group[:at])
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

    def steps(self, state: RunState) -> Iterator[RunState]:
        """All states after one more run, each after a reversal."""
        others, mine = state
        at = {way >> 1: number for number, string in enumerate(others) for way in string.ways}
        loco = next(v for v, token in enumerate(mine.tokens) if self.rules.is_loco[token])
        for ways, tokens, taken, head in self._ends(others, at, mine):
            rest = tuple(string for number, string in enumerate(others) if number not in taken)
            if state in self.behind:
                yield from self._away_from(self.behind[state], rest, ways, tokens, head, loco)
            else:
                yield from self._with_cuts(rest, ways, tokens, head, loco)

    def path_of(self, state: RunState, following: RunState) -> tuple[int, ...] | None:
        """The ways of the run that leads from ``state`` to ``following``; ``None`` if none does."""
        others, mine = state
        at = {way >> 1: number for number, string in enumerate(others) for way in string.ways}
        loco = next(v for v, token in enumerate(mine.tokens) if self.rules.is_loco[token])
        for ways, tokens, taken, head in self._ends(others, at, mine):
            rest = tuple(string for number, string in enumerate(others) if number not in taken)
            if state in self.behind:
                steps = self._away_from(self.behind[state], rest, ways, tokens, head, loco)
            else:
                steps = self._with_cuts(rest, ways, tokens, head, loco)
            if following in steps:
                return ways
        return None

    def _ends(
        self, others: tuple[String, ...], at: dict[int, int], mine: String
    ) -> Iterator[tuple[tuple[int, ...], tuple[int, ...], frozenset[int], int]]:
        """Every farthest end of the run: the whole path, the string, what it took, how far its head came."""
        stack = [(mine.ways, mine.tokens, frozenset[int]())]
        while stack:
            ways, tokens, taken = stack.pop()
            total = self.rules.path_length(ways)
            limit = self._limit(ways, len(mine.ways), tokens)
            went_on = False
            for way in self.p.ahead(ways[-1], ()):
                grown = self._into(others, at, taken, ways, tokens, way, total, limit)
                if grown is not None:
                    went_on = True
                    stack.append(grown)
            if not went_on:
                yield ways, tokens, taken, min(total, limit)

    def _limit(self, ways: tuple[int, ...], own: int, tokens: tuple[int, ...]) -> int:
        """How far along the path the head may come before a vehicle touches a cell closed to it."""
        limit = 1 << 60
        begin = 0
        for k, way in enumerate(ways):
            cell = way >> 1
            if k >= own and not self.p.all_may_touch[cell]:
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
        reach = min(limit - total, self._lead(cell, tokens))
        if number is None or number in taken:
            return ((*ways, way), tokens, taken) if reach > 0 else None
        met = others[number]
        if met.ways[0] != way:
            met = reverse_string(met, self.rules.is_loco)
        if met.ways[0] != way:
            return None
        nearest = self.rules.path_length(met.ways[:-1]) - self.rules.length(met.tokens) + 1
        if len(met.ways) > 1 and nearest > reach:
            return None
        return ways + met.ways, tokens + met.tokens, taken | {number}

    def _with_cuts(
        self,
        others: tuple[String, ...],
        ways: tuple[int, ...],
        tokens: tuple[int, ...],
        head: int,
        loco: int,
    ) -> Iterator[RunState]:
        starts = [0, *accumulate(self.lengths[way >> 1] for way in ways)]
        last = next(k for k in range(len(ways)) if head <= starts[k + 1])
        for gone in range(loco + 1):
            rest = tokens[gone:]
            tail = head - self.rules.length(rest)
            first = max(k for k in range(last + 1) if starts[k] <= tail)
            mine = reverse_string(String(ways[first : last + 1], rest), self.rules.is_loco)
            for blocks in self._left(ways[:first], tokens[:gone]):
                yield tuple(sorted((*others, *blocks))), mine

    def _away_from(
        self,
        behind: String,
        others: tuple[String, ...],
        ways: tuple[int, ...],
        tokens: tuple[int, ...],
        head: int,
        loco: int,
    ) -> Iterator[RunState]:
        """As :meth:`_with_cuts`, for a first run away from cars that stand loose in the cell it starts in.

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
                    yield tuple(sorted(others)), reverse_string(mine, self.rules.is_loco)
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
                    yield tuple(sorted((*others, kept, *blocks))), mine

    def _left(self, ways: tuple[int, ...], tokens: tuple[int, ...]) -> Iterator[tuple[String, ...]]:
        """All ways to leave ``tokens`` as cuts in the cells ``ways``, one after the other."""
        if not tokens:
            yield ()
            return
        for size in range(1, len(tokens) + 1):
            for after, string in self._places(ways, tokens[:size]):
                for more in self._left(ways[after:], tokens[size:]):
                    yield (string, *more)

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


def _groups(standing: Standing, is_loco: tuple[bool, ...]) -> list[list[String]]:
    """The strings of a start, listed along their tracks, those that share cells in one group.  At the start
    every string lies along one track.
    """
    rank = {slot: at for _, order in standing.inside for at, slot in enumerate(order)}
    along = []
    for slot, string in enumerate(standing.strings):
        turned = string if not string.ways[0] & 1 else reverse_string(string, is_loco)
        along.append((turned.ways[0], len(turned.ways) > 1, rank.get(slot, 0), turned))
    groups: list[list[String]] = []
    for *_, string in sorted(along, key=lambda entry: entry[:3]):
        if groups and groups[-1][-1].ways[-1] == string.ways[0]:
            groups[-1].append(string)
        else:
            groups.append([string])
    return groups


def _joined(group: list[String]) -> String:
    """Strings that follow each other, each beginning in the cell where the one before ends, as one."""
    whole = group[0]
    for string in group[1:]:
        whole = String(whole.ways + string.ways[1:], whole.tokens + string.tokens)
    return whole


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
