"""Forced moves: those at which no plan with the fewest moves has a choice.

All plans with the fewest moves are looked at together, as longest runs see them
(:mod:`switchsolve.search.runs`): each run as far as it goes, who stands over which cells in which order, like
cars alike.  Let ``layer(k)`` hold every standing that some plan with the fewest moves has after ``k`` moves.
Move ``k`` is **forced** if from every standing of ``layer(k - 1)`` just one of ``layer(k)`` can be reached:
whatever the crew has done so far, only one outcome keeps it on a shortest way.  The first move has a choice,
too, if the locomotive may set out either way.  After the last move only what stands where counts, not where
the locomotive stops.

How the layers are found: a search from both ends until they meet; then what leads to where they met is kept,
layer by layer towards either end.  What takes many standings is left to
:mod:`switchsolve.search.shortest`, which does the same, compiled and with bounds.
"""

from __future__ import annotations

from collections.abc import Callable, Hashable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from typing import TypeVar

from switchsolve.goal import Goal
from switchsolve.packing import pack
from switchsolve.puzzle import Puzzle
from switchsolve.rules import Rules
from switchsolve.search.beginning import first_states
from switchsolve.search.compilable import is_packable
from switchsolve.search.endings import PlacesMatter, TooManyEndings, endings
from switchsolve.search.events import search_events
from switchsolve.search.exact import applies
from switchsolve.search.runs import LongestRuns, RunState

__all__ = ["Choices", "Forced", "forced_moves", "shortest_steps"]

_MOST_ENDINGS = 20_000
_PLAIN, _MOST_PLAIN = 150, 20_000
"""Standings looked at in plain Python, if they do; and at most, where there is nothing else."""
_S = TypeVar("_S", bound=Hashable)

Choices = list[tuple[RunState, RunState]]
"""Every step that leads on, from a standing to the next one."""


@dataclass(frozen=True, slots=True)
class Forced:
    """The forced moves (counted from 1) among ``moves``; or ``refused``: why they are not told."""

    numbers: tuple[int, ...]
    moves: int
    refused: str | None = None


def forced_moves(
    puzzle: Puzzle,
    *,
    moves: int | None = None,
    most: int = 20_000,
    same_district: bool = False,
    stop: Callable[[], str | None] = lambda: None,
) -> Forced:
    """The forced moves of the work.

    ``moves``: the fewest, if they are known and proved.  Then what takes more than a few standings is looked
    at by the compiled search, with bounds; it reaches farther within ``most`` standings.  ``same_district``:
    as for :func:`~switchsolve.search.compiled_runs.search_runs`.

    Refused, with the reason, where longest runs are not exact, where there is no plan or one of a single
    move, where more than ``most`` standings would be looked at, or when ``stop`` gives a reason.
    """
    rules = Rules(pack(puzzle))
    reason = applies(rules)
    if reason is not None:
        return Forced((), 0, reason)
    goal, most_moves = Goal(rules), 1 - len(puzzle.start.under_way)
    if search_events(rules, goal, most_moves=most_moves, may_leave=goal.may_stay).node is not None:
        return Forced((), 0, "one move does the work")
    runs = LongestRuns(rules)
    first = first_states(rules, runs, len(puzzle.start.under_way))

    def look() -> None:
        reason = stop()
        if reason is not None:
            raise _Stopped(reason)

    try:
        goals = endings(rules, runs, _MOST_ENDINGS, look=look)
    except PlacesMatter:
        return Forced((), 0, "cars may be coupled over the edge between two tracks at the end")
    except TooManyEndings:
        return Forced((), 0, "too many endings")
    except _Stopped as why:
        return Forced((), 0, str(why))
    is_compiled = (
        moves is not None and moves > 2 and is_packable(rules)
        and not any(state in runs.behind for state in first)
    )  # fmt: skip
    try:
        steps = _Layers(runs, first, goals, min(most, _PLAIN if is_compiled else _MOST_PLAIN), stop).steps()
    except _Stopped as why:
        if is_compiled and moves is not None and stop() is None:
            return _compiled(runs, first, goals, moves, most, same_district, stop)
        return Forced((), 0, str(why))
    if not steps:
        return Forced((), 0, "there is no plan")
    return _told(steps, _at_rest)


def _compiled(
    runs: LongestRuns,
    first: list[RunState],
    goals: list[RunState],
    moves: int,
    most: int,
    same_district: bool,
    stop: Callable[[], str | None],
) -> Forced:
    from switchsolve.search.shortest import shortest_ways

    ways = shortest_ways(
        runs, first, goals, moves, most=most, should_stop=lambda looked: stop(), same_district=same_district
    )
    if isinstance(ways, str):
        return Forced((), 0, ways)
    if not ways.steps:
        raise AssertionError(f"no plan of {moves} moves is found anew: a defect")
    return _told(ways.steps, lambda words: _at_rest(ways.state(words)))


def _told(steps: Sequence[Iterable[tuple[_S, _S]]], at_rest: Callable[[_S], object]) -> Forced:
    numbers = [
        number
        for number, choices in enumerate(steps, 1)
        if _is_forced(choices, number, at_rest if number == len(steps) else None)
    ]
    return Forced(tuple(numbers), len(steps))


def shortest_steps(
    runs: LongestRuns,
    first: list[RunState],
    goals: list[RunState],
    most: int,
    stop: Callable[[], str | None] = lambda: None,
) -> list[Choices] | None:
    """For each move of the plans with the fewest (two or more), from ``first`` to ``goals``, every step of
    one, from a standing to the next.

    Empty if there is no plan; ``None`` if more than ``most`` standings would be looked at, or when ``stop``
    gives a reason.
    """
    try:
        return _Layers(runs, first, goals, most, stop).steps()
    except _Stopped:
        return None


class _Stopped(Exception):
    """Told to stop, or too many standings; the message says which."""


def _is_forced(
    choices: Iterable[tuple[_S, _S]], number: int, at_rest: Callable[[_S], object] | None
) -> bool:
    outcomes: dict[_S | None, set[object]] = {}
    for before, after in choices:
        told = after if at_rest is None else at_rest(after)
        outcomes.setdefault(before if number > 1 else None, set()).add(told)
    return all(len(found) == 1 for found in outcomes.values())


def _at_rest(state: RunState) -> object:
    """What stands where at the end, but for the place of the locomotive."""
    others, mine = state
    return others, min(mine.tokens, mine.tokens[::-1])


class _Layers:
    """Standings by their distance from the start and from the work done."""

    def __init__(
        self,
        runs: LongestRuns,
        first: list[RunState],
        goals: list[RunState],
        most: int,
        stop: Callable[[], str | None],
    ) -> None:
        self._runs = runs
        self._most = most
        self._stop = stop
        self._looked = 0
        self._layers = ([dict.fromkeys(first)], [dict.fromkeys(goals)])
        self._known = (set(first), set(goals))

    def steps(self) -> list[Choices]:
        """For each move every step of a plan with the fewest moves; empty if there is no plan."""
        met = self._meet()
        if met is None:
            return []
        from_start, from_goal = self._layers
        before, after = [], []
        good = met
        for layer in reversed(from_start[:-1]):
            choices = [pair for pair in self._pairs(layer) if pair[1] in good]
            before.append(choices)
            good = {one for one, _ in choices}
        good = met
        for layer in reversed(from_goal[:-1]):
            choices = list(self._linked(good, layer))
            after.append(choices)
            good = {other for _, other in choices}
        return [*reversed(before), *after]

    def _meet(self) -> set[RunState] | None:
        """Grow the smaller side until they meet (each goes one run first); what both hold then."""
        while True:
            ends = [side[-1] for side in self._layers]
            if not ends[0] or not ends[1]:
                return None
            new = [len(side) == 1 for side in self._layers]
            side = new.index(True) if any(new) else int(len(ends[0]) > len(ends[1]))
            self._grow(side)
            if all(len(side) > 1 for side in self._layers):
                met = set(self._layers[side][-1]) & self._known[1 - side]
                if met:
                    return met

    def _grow(self, side: int) -> None:
        fresh: dict[RunState, None] = {}
        for _, after in self._pairs(self._layers[side][-1]):
            if after not in self._known[side]:
                self._known[side].add(after)
                fresh[after] = None
        self._layers[side].append(fresh)

    def _pairs(self, layer: Iterable[RunState]) -> Iterator[tuple[RunState, RunState]]:
        """Every step from a standing of the layer."""
        for state in layer:
            self._looked += 1
            reason = self._stop() if not self._looked % 64 else None
            if reason is not None or self._looked > self._most:
                raise _Stopped(reason or f"more than {self._most:,} standings to look at")
            for after in self._runs.steps(state):
                yield state, after

    def _linked(
        self, good: set[RunState], layer: dict[RunState, None]
    ) -> Iterator[tuple[RunState, RunState]]:
        """Steps from ``good`` to the layer one nearer to the goal: run forwards, or undone from there.

        An ending need not lie at the end of a longest run, but what undoes it does, and the other way about.
        """
        found = {pair for pair in self._pairs(sorted(good)) if pair[1] in layer}
        found |= {(after, before) for before, after in self._pairs(layer) if after in good}
        yield from sorted(found)
