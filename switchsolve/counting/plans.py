"""How many different plans have the fewest moves.

A plan is written as a **word**: for each run its direction, and in it, in the order in which they come, each
cell that the leading end newly enters, each string coupled to (which vehicles), each part cut off (how many).
Plans are different if their words are: where exactly anybody stands makes no difference, nor does the
moment at which a trailing end leaves a cell..  A last run that goes on into one more cell, the work still
done, is another plan; so is a run in between that goes farther than it must...  Like cars are not told
apart... Cuts at the end, of what does not depart with the locomotive, follow from the word.

The law is a machine that reads such words, but it may read one word along many paths.  So what is counted are
paths through sets: each set holds all standings, with all positions, that a word can have led to.  For that a
standing must say which cells are really touched: the law lets an end that comes up to an edge claim the cell
beyond.  Here a leading end has entered a cell only when it is one grid unit in, and at every stop each string
touches all cells that it is listed over.  With one exception: a string that is cut right at an edge, while
its leading end is at another one, leaves a cell and enters the next at once..  The law reads that as a
claim before the cut; here the claim has no letter, and the cell is read after the cut.

There is no such number with two locomotives (they can take turns any number of times), with a table (it can
be lined to and fro), and where a run can go round and round.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass

from switchsolve.counting.moves_left import moves_left
from switchsolve.counting.refusing import Meter, Refused
from switchsolve.goal import Goal
from switchsolve.packing import PackedPuzzle, pack
from switchsolve.puzzle import Puzzle
from switchsolve.rules import Action, Cost, Rules, Standing
from switchsolve.search.events import search_events
from switchsolve.zone import Zone

__all__ = ["PlanCount", "count_plans"]

Letter = tuple[object, ...]
Letters = tuple[Letter, ...]
Reading = tuple[Letters, Standing, bool]
"""A standing, once the letters have been read as well; whether its leading end claims a cell that it has only
come up to."""


@dataclass(frozen=True, slots=True)
class PlanCount:
    """``plans`` different plans have ``moves`` moves, and none has fewer (``None``, 0: no plan exists)."""

    moves: int | None
    plans: int


def why_no_number(p: PackedPuzzle) -> str | None:
    """``None`` if there are only so many plans of so many moves, else why there is no end of them."""
    if len(p.loco_names) != 1:
        return "several locomotives can take turns any number of times"
    if p.start_lined:
        return "a table can be lined to and fro any number of times"
    if _goes_round(p):
        return "a run can go round and round"
    return None


def _goes_round(p: PackedPuzzle) -> bool:
    """Whether a way comes back to itself."""
    finished: set[int] = set()
    on_path: set[int] = set()

    def visit(way: int) -> bool:
        if way in on_path:
            return True
        if way in finished:
            return False
        on_path.add(way)
        found = any(visit(following) for following in p.ahead(way, ()))
        on_path.discard(way)
        finished.add(way)
        return found

    return any(visit(way) for way in range(2 * len(p.cells)))


def count_plans(
    puzzle: Puzzle,
    *,
    most: int = 200_000,
    tell: Callable[[str], None] | None = None,
    stop: Callable[[], str | None] | None = None,
) -> PlanCount:
    """The fewest moves that do the work, and how many different plans have so few; exact.

    ``most``: standings that may be looked at; ``tell`` receives lines of progress; ``stop`` gives a
    reason to refuse, or ``None``.
    Raises :class:`~switchsolve.counting.Refused`.
    """
    rules = Rules(pack(puzzle))
    why = why_no_number(rules.p)
    if why is not None:
        raise Refused(f"there is no end of different plans: {why}")
    meter = Meter(most, tell, stop)
    meter.doing = "the fewest moves"

    def count(expanded: int) -> str | None:
        meter()
        return None

    goal = Goal(rules)
    least = search_events(rules, goal, should_stop=count)
    if least.node is None:
        return PlanCount(None, 0)
    moves = least.node.cost.moves
    all_moves = moves + len(puzzle.start.under_way)
    meter.doing = f"what plans of {all_moves} moves can come to"
    left = moves_left(rules, goal, moves, meter)
    meter.doing = f"plans of {all_moves} moves"
    return PlanCount(all_moves, _Reader(rules, goal, meter, left).plans(moves))


class _Reader:
    """Reads words, a letter at a time, into sets of standings."""

    def __init__(
        self, rules: Rules, goal: Goal, meter: Meter, moves_left: dict[tuple[object, ...], int]
    ) -> None:
        self.moves_left = moves_left
        self.rules = rules
        self.goal = goal
        self.meter = meter
        self._counts: dict[tuple[frozenset[Reading], int], int] = {}
        self._next: dict[tuple[Standing, bool], list[Reading]] = {}

    def plans(self, moves: int) -> int:
        """How many words of ``moves`` moves lead from the start to the work done (none has fewer)."""
        starts = [((), standing, False) for standing in self.rules.starts()]
        return self._words(self._silent(starts, moves), moves)

    def _words(self, readings: frozenset[Reading], moves: int) -> int:
        """How many words lead on from these to the work done with ``moves`` moves or fewer."""
        key = readings, moves
        found = self._counts.get(key)
        if found is None:
            found = int(any(not letters and self._is_done(standing) for letters, standing, _ in readings))
            for letter, after in self._by_letter(readings).items():
                left = moves - (letter[0] == "run")
                if left >= 0:
                    found += self._words(self._silent(after, left), left)
            self._counts[key] = found
        return found

    def _by_letter(self, readings: frozenset[Reading]) -> dict[Letter, list[Reading]]:
        found: dict[Letter, list[Reading]] = defaultdict(list)
        for reading in readings:
            for letters, after, claims in [reading] if reading[0] else self._following(reading):
                if letters:
                    found[letters[0]].append((letters[1:], after, claims))
        return found

    def _silent(self, readings: Iterable[Reading], moves: int) -> frozenset[Reading]:
        """These and what they become without a letter, if ``moves`` may do the rest of the work.

        Those are left out whose positions another has as well.
        """
        kept: dict[tuple[object, ...], list[Reading]] = {}
        waiting = list(readings)
        while waiting:
            reading = waiting.pop()
            letters, standing, claims = reading
            if self.moves_left.get(standing.key, moves + 1) > moves:
                continue
            known = kept.setdefault((letters, standing.key, claims), [])
            if any(_is_within(standing.zone, one[1].zone) for one in known):
                continue
            known[:] = [one for one in known if not _is_within(one[1].zone, standing.zone)]
            known.append(reading)
            if not letters:
                waiting += [after for after in self._following(reading) if not after[0]]
        return frozenset(reading for known in kept.values() for reading in known)

    def _is_done(self, standing: Standing) -> bool:
        stopped = self._touching(standing)
        return stopped is not None and self.goal.met(stopped) is not None

    # ---- what the law reads

    def _following(self, reading: Reading) -> list[Reading]:
        key = reading[1], reading[2]
        found = self._next.get(key)
        if found is None:
            self.meter()
            found = self._next[key] = list(self._actions(*key))
        return found

    def _actions(self, standing: Standing, claims: bool) -> Iterator[Reading]:
        """Each action with its letters: on the move; after a stop; after a stop at an edge."""
        if not claims:
            for action, after, cost in self.rules.actions(standing):
                if not cost.moves and not action.cut:
                    yield from self._spelled(standing, action, after, cost)
            stopped = self._touching(standing)
            if stopped is not None:
                for action, after, cost in self.rules.actions(stopped):
                    if cost.moves or action.cut:
                        yield from self._spelled(stopped, action, after, cost)
        for slot, string in enumerate(standing.strings):
            if len(string.ways) > 1 and any(self.rules.is_loco[token] for token in string.tokens):
                for side in (0, 1):
                    yield from self._from_edge(standing, slot, side)

    def _from_edge(self, standing: Standing, slot: int, side: int) -> Iterator[Reading]:
        """Cuts at a stop at which that end of the string, to lead now, has only come up to its last cell."""
        stopped = self._touching(standing, (slot, side))
        if stopped is None:
            return
        string = standing.strings[slot]
        claimed = string.ways[-1] if side else string.ways[0] ^ 1
        for action, after, cost in self.rules.actions(stopped):
            if action.cut and (action.string, action.side) == (slot, side):
                yield from self._spelled(stopped, action, after, cost, (("enter", claimed),))

    def _spelled(
        self, before: Standing, action: Action, after: Standing, cost: Cost, claimed: Letters = ()
    ) -> Iterator[Reading]:
        string = before.strings[action.string]
        begun: list[Letter] = []
        if cost.moves:
            begun.append(("run", after.last))
        if action.cut:
            begun.append(("cut", len(string.tokens) - action.cut))
        letters = (*begun, *claimed)
        if action.event == "enter":
            entered = self._led_in(after, action.way, 1)
            if entered is not None:
                yield (*letters, ("enter", action.way)), entered, False
            claiming = self._led_in(after, action.way, 0)
            if claiming is not None:
                yield letters, claiming, True
        elif action.event == "couple":
            met = [self.rules.p.moved[token >> 1] for token in self._met(before, action)]
            stopped = self._touching(after)
            if stopped is not None:
                yield (*letters, ("couple", *min(met, met[::-1]))), stopped, False
        else:
            yield letters, after, False

    @staticmethod
    def _met(before: Standing, action: Action) -> tuple[int, ...]:
        """The string coupled to; round a loop it may be the part just left."""
        if action.other < len(before.strings):
            return before.strings[action.other].tokens
        tokens = before.strings[action.string].tokens
        return tokens[: -action.cut] if action.side else tokens[action.cut :]

    # ---- really touched

    def _led_in(self, standing: Standing, way: int, units: int) -> Standing | None:
        """Positions in which the end that leads into ``way`` is one grid unit in, or more; with 0 none."""
        for slot, string in enumerate(standing.strings):
            if any(self.rules.is_loco[token] for token in string.tokens):
                side = 1 if string.ways[-1] == way else 0
                if units:
                    return self._narrowed(standing, [(slot, side)], None)
                return self._narrowed(standing, [], (slot, side))
        raise AssertionError("the locomotive is gone: a defect")

    def _touching(self, standing: Standing, but: tuple[int, int] | None = None) -> Standing | None:
        """Positions in which every string touches all its cells, but for the last one at the end ``but``."""
        ends = [
            (slot, side)
            for slot, string in enumerate(standing.strings)
            for side in (0, 1)
            if len(string.ways) > 1 and (slot, side) != but
        ]
        return self._narrowed(standing, ends, but)

    def _narrowed(
        self, standing: Standing, inside: list[tuple[int, int]], at_edge: tuple[int, int] | None
    ) -> Standing | None:
        """Positions in which the ends ``inside`` are one grid unit or more in, and ``at_edge`` none."""
        mirrored = self.rules.mirrored
        zone = Zone(list(standing.zone), 1 + len(standing.strings) * (2 if mirrored else 1), mirrored)
        for end in inside:
            sign, bound = self._edge(standing, *end)
            if not zone.at_least(end[0], sign, bound + 1):
                return None
        if at_edge is not None:
            sign, bound = self._edge(standing, *at_edge)
            if not (zone.at_least(at_edge[0], sign, bound) and zone.at_least(at_edge[0], -sign, -bound)):
                return None
        return standing._replace(zone=tuple(zone.d))

    def _edge(self, standing: Standing, slot: int, side: int) -> tuple[int, int]:
        """``(sign, bound)``: with ``sign * x == bound`` that end lies at the edge where its cell begins."""
        string = standing.strings[slot]
        if side:
            slack = self.rules.path_length(string.ways) - self.rules.length(string.tokens)
            return 1, slack - self.rules.lengths[string.ways[-1] >> 1]
        return -1, -self.rules.lengths[string.ways[0] >> 1]


def _is_within(inner: tuple[int, ...], outer: tuple[int, ...]) -> bool:
    return all(a <= b for a, b in zip(inner, outer, strict=True))
