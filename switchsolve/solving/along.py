"""A plan along a chain of standings: what happens between two reversals that longest runs have found."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Container, Iterable, Iterator
from dataclasses import dataclass
from itertools import pairwise

from switchsolve.goal import Goal, Met
from switchsolve.rules import Action, Cost, Rules, Standing, String, reverse_string
from switchsolve.search.beginning import first_states
from switchsolve.search.events import EventNode, EventResult, search_events
from switchsolve.search.merging import merged
from switchsolve.search.runs import LongestRuns, RunState
from switchsolve.solving.trimming import trimmed

__all__ = ["plan_along"]

_MOST_TRIMMED = 2_000
"""Standings looked at for a plan whose runs stop short of cars they would not need; then they need not."""


def plan_along(
    rules: Rules,
    goal: Goal,
    chain: list[RunState],
    under_way: int,
    *,
    per_move: int | None = None,
    should_stop: Callable[[int], str | None] = lambda expanded: None,
    sides: tuple[LongestRuns, LongestRuns] | None = None,
) -> EventResult | None:
    """A plan with its reversals in the standings of ``chain``, by the law, or ``None``.

    ``under_way``: how many locomotives are at the start (0 or 1).  ``per_move``: which standings are looked
    at first. A number: those with the fewest couplings and cuts, made and still to be made, less so many for
    each move (0: so the plan found has the fewest of all along the chain); ``None``: the latest ones, and of
    these those with the fewest.  ``should_stop`` is asked before each standing.  ``sides``: the runs from the
    start, and those undone from the goal, that found the chain (``None``: longest ones).
    """
    if sides is None:
        longest = LongestRuns(rules)
        sides = longest, longest
    along = _Along(rules, chain, under_way, sides)
    guide = _guide(goal, per_move)
    if not along.is_simple:
        by_halts = _from_halt_to_halt(rules, goal, along, should_stop) if per_move is None else None
        return by_halts or _by_runs(rules, goal, along, guide, should_stop)
    short = trimmed(chain)
    if short != chain:
        along.chain = [_with_those_beside(state) for state in short]
        result = _straight(rules, goal, along, guide, _at_most(_MOST_TRIMMED, should_stop))
        if result is not None:
            return result
        along.chain = [_with_those_beside(state) for state in chain]
    return _straight(rules, goal, along, guide, should_stop)


def _guide(goal: Goal, per_move: int | None) -> Callable[[Standing, Cost], int] | None:
    """The order in which standings are looked at, or ``None``: by couplings + cuts, then distance."""
    if per_move is None:
        return lambda standing, cost: -cost.moves
    if per_move:
        return lambda standing, cost: cost.handling + goal.handling_left(standing) - per_move * cost.moves
    return None


def _at_most(most: int, should_stop: Callable[[int], str | None]) -> Callable[[int], str | None]:
    return lambda expanded: "enough" if expanded > most else should_stop(expanded)


def _straight(
    rules: Rules,
    goal: Goal,
    along: _Along,
    guide: Callable[[Standing, Cost], int] | None,
    should_stop: Callable[[int], str | None],
) -> EventResult | None:
    """The same, along runs that do not halt."""
    # first only what leaves each cell as the chain has it; by the law a string may lie otherwise for a while
    # and come right later, which is rare and dear to follow
    for may_go_on in (along.may_go_on, None):
        result = search_events(
            rules,
            goal,
            ties=True,
            most_moves=len(along.chain) - 1 - along.under_way,
            may_begin=along.may_begin,
            may_leave=along.may_leave,
            may_enter=along.may_enter,
            may_go_on=may_go_on,
            guide=guide,
            should_stop=should_stop,
        )
        if result.node is not None:
            return result
    return None


def _from_halt_to_halt(
    rules: Rules, goal: Goal, along: _Along, should_stop: Callable[[int], str | None]
) -> EventResult | None:
    """The same, by one search from each halt to the next, and to the end."""
    last: EventNode | None = None
    for stretch in along.stretches():
        most = stretch.ends_in - max(stretch.begins_in, along.under_way)
        aim = goal if stretch.halt is None else _Halt(rules, stretch.halt)
        result = search_events(
            rules,
            aim,
            ties=True,
            most_moves=most,
            may_begin=stretch.may_begin,
            may_leave=stretch.may_leave,
            may_enter=stretch.may_enter,
            may_line=stretch.may_line,
            guide=lambda standing, cost: -cost.moves,
            starts=None if last is None else [last.standing],
            should_stop=should_stop,
        )
        if result.node is None:
            return None
        last = _after(last, result.node)
        result.node = last
    return result


def _by_runs(
    rules: Rules,
    goal: Goal,
    along: _Along,
    guide: Callable[[Standing, Cost], int] | None,
    should_stop: Callable[[int], str | None],
) -> EventResult | None:
    """The same, by one search that may leave in a run what any of its halts has left."""
    result = search_events(
        rules,
        goal,
        ties=True,
        most_moves=len(along.chain) - 1 - along.under_way,
        may_begin=along.may_begin,
        may_leave=along.may_leave_for_a_while,
        may_enter=along.may_enter,
        may_line=along.may_line,
        guide=guide,
        should_stop=should_stop,
    )
    return None if result.node is None else result


def _after(before: EventNode | None, node: EventNode) -> EventNode:
    """The node with all that lead to it, behind ``before``, the node that the first of them stands for."""
    if before is None:
        return node
    nodes = []
    here: EventNode | None = node
    while here is not None and here.parent is not None:
        nodes.append(here)
        here = here.parent
    parent = before
    for one in reversed(nodes):
        moves = before.cost.moves + one.cost.moves
        parent = EventNode(one.standing, parent, one.action, Cost(moves, 0, 0))
    return parent


class _Halt(Goal):
    """To stand where the chain has a halt, on the way of the run that halts there."""

    def __init__(self, rules: Rules, state: RunState) -> None:
        super().__init__(rules)
        others, self._mine = state
        self._others = _cells(others)
        nose = next(token for token in self._mine.tokens if rules.is_loco[token]) & 1
        self._last = 1 if nose else -1
        """Which way the locomotive has run: its string is listed for the next run, the other way."""

    def met(self, standing: Standing) -> Met | None:
        """How ``standing`` does, or ``None``."""
        # what is only in the same cell, not coupled, does not go on with it
        mine = next(one for one in standing.strings if self.rules.has_loco(one.tokens))
        is_there = (
            standing.last[0] == self._last
            and _cells([mine]) == _cells([self._mine])
            and _classes([mine]) == _classes([self._mine])
            and _cells(one for one in standing.strings if one is not mine) == self._others
        )
        return Met(standing.zone, ()) if is_there else None


def _cells(strings: Iterable[String]) -> set[int]:
    return {way >> 1 for string in strings for way in string.ways}


def _classes(strings: Iterable[String]) -> Counter[int]:
    return Counter(token >> 1 for string in strings for token in string.tokens)


_Part = tuple[tuple[int, ...], RunState | None]
"""The ways of a part of a run, and where it halts then (``None``: it ends)."""


class _Along:
    """What may happen in each run, for the next standing of the chain to come about.

    Strings are compared by cells and by who stands there: cuts left side by side in full cells touch, and are
    one string to longest runs.
    """

    def __init__(
        self,
        rules: Rules,
        chain: list[RunState],
        under_way: int,
        sides: tuple[LongestRuns, LongestRuns],
    ) -> None:
        self._rules = rules
        self.chain = [_with_those_beside(state) for state in chain]
        self.under_way = under_way
        first_states(rules, sides[0], under_way)  # for what stands loose behind the locomotive
        self.is_simple = sides[0].is_simple
        """Whether no run halts on the way."""
        self._runs = [_run_of(sides, state, following) for state, following in pairwise(chain)]
        self._routes = [set[int](), *({way for ways, _ in parts for way in ways} for parts in self._runs)]

    def may_begin(self, standing: Standing, cost: Cost) -> bool:
        """Whether everything stands as the chain has it, so that the next run may begin."""
        number = cost.moves + self.under_way
        return number == 0 or self.stands_as(standing, number)

    def stands_as(self, standing: Standing, number: int) -> bool:
        """Whether everything stands as at that place of the chain."""
        strings = merged(self._rules, standing)
        mine = next(one for one in strings if self._rules.has_loco(one.tokens))
        others, wanted = self.chain[number]
        return _cells(one for one in strings if one is not mine) == _cells(others) and _classes(
            [mine]
        ) == _classes([wanted])

    def may_leave(self, part: String, moves: int) -> bool:
        """Whether a part that is cut off stands where the chain has it."""
        return _is_there(part, self.chain[moves + self.under_way])

    def may_leave_for_a_while(self, part: String, moves: int) -> bool:
        """Whether a part that is cut off stands where the chain, or a halt on the way, has it."""
        number = moves + self.under_way
        halts = (halt for _, halt in self._runs[number - 1] if halt is not None) if number else ()
        return any(_is_there(part, state) for state in (self.chain[number], *halts))

    def may_line(self, action: Action, moves: int) -> bool:
        """Whether the run goes there from the table."""
        return self.leads_to(action, self._routes[moves + self.under_way])

    def leads_to(self, action: Action, ways: Container[int]) -> bool:
        """Whether a table is lined to one of these ways."""
        p = self._rules.p
        lined = tuple(action.way if n == action.string else 0 for n in range(len(p.start_lined)))
        name = p.puzzle.district.tables[action.string].name
        beyond = {
            following
            for cell in p.cells_of_track[name]
            for way in (2 * cell, 2 * cell + 1)
            for following in p.ahead(way, lined)
        }
        return any(way in ways or way ^ 1 in ways for way in beyond)

    def may_enter(self, way: int, moves: int) -> bool:
        """Whether the run goes there."""
        return way in self._routes[moves + self.under_way]

    def may_go_on(self, standing: Standing, cell: int, moves: int) -> bool:
        """Whether all is well in ``cell``, which the locomotive's string has left behind.

        In this run it does not come back, so whatever the chain has in cells that it has left should be there
        by now, and no more.
        """
        mine = next(one for one in standing.strings if self._rules.has_loco(one.tokens))
        others = [one for one in standing.strings if one is not mine]
        wanted = [one for one in self.chain[moves + self.under_way][0] if cell in _cells([one])]
        here = _cells(wanted) | {cell}
        if here & _cells([mine]):
            return True
        return _classes(one for one in others if _cells([one]) & here) == _classes(wanted)

    def stretches(self) -> Iterator[_Stretch]:
        """The chain from halt to halt, and to the end."""
        parts: dict[int, tuple[set[int], RunState]] = {}
        begins_in = 0
        for number, run in enumerate(self._runs, start=1):
            for ways, halt in run:
                parts[number] = set(ways), self.chain[number] if halt is None else halt
                if halt is not None:
                    yield _Stretch(self, begins_in, number, parts, halt)
                    parts, begins_in = {}, number
        yield _Stretch(self, begins_in, len(self._runs), parts, None)


@dataclass(frozen=True, slots=True)
class _Stretch:
    """Of the chain, from run number ``begins_in`` (from where it halts; 0: the start) to ``ends_in``: by run
    its ways, and how it leaves things; ``halt``: where it ends (``None``: with the work done).
    """

    along: _Along
    begins_in: int
    ends_in: int
    runs: dict[int, tuple[set[int], RunState]]
    halt: RunState | None

    def _number(self, moves: int) -> int:
        return moves + max(self.begins_in, self.along.under_way)

    def may_begin(self, standing: Standing, cost: Cost) -> bool:
        """Whether everything stands as the chain has it, so that the next run may begin."""
        number = self._number(cost.moves)
        return number == 0 or (number < self.ends_in and self.along.stands_as(standing, number))

    def may_leave(self, part: String, moves: int) -> bool:
        """Whether a part that is cut off stands where the run is to leave it."""
        run = self.runs.get(self._number(moves))
        return run is not None and _is_there(part, run[1])

    def may_enter(self, way: int, moves: int) -> bool:
        """Whether the run goes there."""
        run = self.runs.get(self._number(moves))
        return run is not None and way in run[0]

    def may_line(self, action: Action, moves: int) -> bool:
        """Whether the run goes there from the table."""
        run = self.runs.get(self._number(moves))
        return run is not None and self.along.leads_to(action, run[0])


def _with_those_beside(state: RunState) -> RunState:
    """The state with what stands in a cell of the locomotive's string counted to that."""
    others, mine = state
    beside = [one for one in others if _cells([one]) & _cells([mine])]
    for one in beside:
        mine = String((*mine.ways, *one.ways), mine.tokens + one.tokens)
    return tuple(one for one in others if one not in beside), mine


def _is_there(part: String, state: RunState) -> bool:
    """Whether a part stands where ``state`` has it."""
    cells, classes = _cells([part]), _classes([part])
    others, mine = state
    for string in (*others, mine):
        here = _cells([string])
        if here & cells:  # several, if they lie in full cells side by side
            cells -= here
            classes -= _classes([string])
    return not cells and not classes


def _run_of(sides: tuple[LongestRuns, LongestRuns], state: RunState, following: RunState) -> list[_Part]:
    """A run of the chain in parts: the ways of each, and where it halts then (``None``: it ends)."""
    parts = sides[0].path_of(state, following)
    if parts is not None:
        return parts
    runs = sides[1]
    back = runs.path_of(following, state)
    assert back is not None
    found: list[_Part] = []
    after: RunState | None = None
    for ways, halt in back:  # the last part of the run first
        found.append((tuple(way ^ 1 for way in reversed(ways)), after))
        after = None if halt is None else _turned(halt, runs)
    found.reverse()
    if found[0][1] == _turned(state, runs):  # it sets out from there
        (ways, _), (more, halt), *rest = found
        found = [(ways + more, halt), *rest]
    return found


def _turned(state: RunState, runs: LongestRuns) -> RunState:
    """The state listed from the other end: a halt of a run undone is one of the run itself, so listed."""
    others, mine = state
    return others, reverse_string(mine, runs.rules.is_loco)
