"""Solve a set-up: choose the search, prove the minimum, make the plan, have it replayed, say the verdict."""

from __future__ import annotations

import time
from collections.abc import Callable
from dataclasses import dataclass

from switchsolve.goal import Goal
from switchsolve.packing import pack
from switchsolve.plan import Plan, Solution, Verdict
from switchsolve.planning import make_plan
from switchsolve.puzzle import Puzzle
from switchsolve.referee import replay
from switchsolve.rules import Cost, Rules, Standing
from switchsolve.search.both_ends import search_both_ends
from switchsolve.search.endings import TooManyEndings
from switchsolve.search.events import EventNode, EventResult, search_events
from switchsolve.search.merging import merged
from switchsolve.search.runs import LongestRuns, RunState, applies
from switchsolve.tightest import tightest_place

__all__ = ["SEARCHES", "Limit", "solve"]

SEARCHES = ("auto", "events", "longest runs")


@dataclass(slots=True)
class Limit:
    """When to stop: after ``seconds`` (``None``: never).  ``tell`` is called now and then with a line of
    progress.
    """

    seconds: float | None = None
    tell: Callable[[str], None] | None = None
    began: float = 0.0
    what: str = ""

    def __call__(self, expanded: int) -> str | None:
        """The reason to stop, or ``None``."""
        if expanded % 256:
            return None
        spent = time.monotonic() - self.began
        if self.tell is not None:
            self.tell(f"{self.what}: {expanded} standings, {spent:.0f} s")
        if self.seconds is not None and spent > self.seconds:
            return f"the limit of {self.seconds:g} seconds"
        return None

    def start(self) -> None:
        """Begin to count."""
        self.began = time.monotonic()

    def named(self, what: str) -> Limit:
        """The same limit while the search called ``what`` runs."""
        self.what = what
        return self


def solve(
    puzzle: Puzzle,
    *,
    seconds: float | None = None,
    search: str = "auto",
    tie_standings: int = 1500,
    tell: Callable[[str], None] | None = None,
) -> Solution:
    """The fewest locomotive moves that do the work, with proof, or what can honestly be said instead.

    ``seconds`` limits the search for moves; ``search`` is one of :data:`SEARCHES`; ``tie_standings`` is how
    many standings the proof of the tie-breaks (couplings + cuts, then distance) may expand; ``tell``
    receives lines of progress.

    Raises ``ValueError`` for an unknown search or one that is not exact for this set-up,
    :class:`~switchsolve.errors.PlanError` if the referee rejects the plan (a defect in this package).
    """
    if search not in SEARCHES:
        raise ValueError(f"no search is called {search!r}: it is one of {', '.join(SEARCHES)}")
    limit = Limit(seconds, tell)
    limit.start()
    rules = Rules(pack(puzzle))
    reason = applies(rules)
    if search == "longest runs" and reason is not None:
        raise ValueError(f"longest runs are not exact here: {reason}")
    under_way = sum(1 for last in rules.p.start_last if last)
    if reason is None and search != "events":
        try:
            return _by_runs(puzzle, rules, under_way, limit, tie_standings)
        except TooManyEndings:
            pass
    goal = Goal(rules)
    result = search_events(rules, goal, should_stop=limit.named("events"))
    return _conclude(puzzle, rules, goal, result, under_way, limit, tie_standings)


def _by_runs(puzzle: Puzzle, rules: Rules, under_way: int, limit: Limit, tie_standings: int) -> Solution:
    goal = Goal(rules)
    short = search_events(rules, goal, most_moves=1 - under_way)
    if short.node is not None:
        return _conclude(puzzle, rules, goal, short, under_way, limit, tie_standings)
    first = _first_states(rules, under_way)
    found = search_both_ends(rules, first, should_stop=limit.named("both ends"))
    stats: dict[str, int | float | str] = {"search": "longest runs, both ends", **found.stats}
    if found.chain is None:
        if found.is_exhausted:
            return Solution(Verdict.IMPOSSIBLE, None, stats=stats)
        return Solution(Verdict.GAVE_UP, found.runs, limit=_name(limit), stats=stats)
    result = _along(rules, goal, found.chain, found.runs, under_way)
    plan = _plan(rules, result)
    proof = _tie_proof(rules, goal, found.runs - under_way, tie_standings)
    return _answer(puzzle, rules, plan, found.runs, proof, under_way, stats)


def _first_states(rules: Rules, under_way: int) -> list[RunState]:
    runs = LongestRuns(rules)
    states = []
    for standing in rules.starts():
        for state in runs.from_standing(standing):
            nose = next(token for token in state[1].tokens if rules.is_loco[token]) & 1
            heads = -1 if nose else 1
            if not under_way or rules.p.start_last[0] == heads:
                states.append(state)
    return states


def _along(rules: Rules, goal: Goal, chain: list[RunState], runs: int, under_way: int) -> EventResult:
    """The best plan (by couplings + cuts, distance) with its reversals in the standings of ``chain``."""

    def may_begin(standing: Standing, cost: Cost) -> bool:
        number = cost.moves + under_way
        if number == 0:
            return True
        strings = merged(rules, standing)
        mine = next(s for s in strings if any(rules.is_loco[token] for token in s.tokens))
        cells = {way >> 1 for string in strings if string is not mine for way in string.ways}
        wanted = chain[number]
        # by cells, not by strings: cuts left side by side in full cells touch, and are one string to the law
        return cells == {way >> 1 for string in wanted[0] for way in string.ways} and sorted(
            token >> 1 for token in mine.tokens
        ) == sorted(token >> 1 for token in wanted[1].tokens)

    result = search_events(rules, goal, ties=True, most_moves=runs - under_way, may_begin=may_begin)
    if result.node is None:
        raise AssertionError("the standings at the reversals do not make a plan: a defect")
    return result


def _plan(rules: Rules, result: EventResult) -> Plan:
    nodes: list[EventNode] = []
    node = result.node
    while node is not None:
        nodes.append(node)
        node = node.parent
    nodes.reverse()
    assert result.met is not None
    actions = [one.action for one in nodes[1:] if one.action is not None]
    return make_plan(rules, [one.standing for one in nodes], actions, result.met)


def _tie_proof(rules: Rules, goal: Goal, moves: int, standings: int) -> EventResult | None:
    """The least couplings + cuts and distance among plans of ``moves`` moves, if few standings prove it."""
    result = search_events(
        rules,
        goal,
        ties=True,
        most_moves=moves,
        should_stop=lambda expanded: "enough" if expanded > standings else None,
    )
    return result if result.is_exhausted and result.node is not None else None


def _conclude(
    puzzle: Puzzle,
    rules: Rules,
    goal: Goal,
    result: EventResult,
    under_way: int,
    limit: Limit,
    tie_standings: int,
) -> Solution:
    stats: dict[str, int | float | str] = {"search": "events", **result.stats}
    if result.node is None:
        if result.is_exhausted:
            return Solution(Verdict.IMPOSSIBLE, None, stats=stats)
        return Solution(Verdict.GAVE_UP, result.lower_bound + under_way, limit=_name(limit), stats=stats)
    moves = result.node.cost.moves
    proof = _tie_proof(rules, goal, moves, tie_standings)
    plan = _plan(rules, proof if proof is not None else result)
    return _answer(puzzle, rules, plan, moves + under_way, proof, under_way, stats)


def _name(limit: Limit) -> str:
    return f"the limit of {limit.seconds:g} seconds" if limit.seconds is not None else "stopped"


def _answer(
    puzzle: Puzzle,
    rules: Rules,
    plan: Plan,
    moves: int,
    proof: EventResult | None,
    under_way: int,
    stats: dict[str, int | float | str],
) -> Solution:
    if proof is not None:
        plan = _plan(rules, proof)
    replayed = replay(puzzle, plan)
    if replayed.counts.moves != moves:
        raise AssertionError(
            f"the referee counts {replayed.counts.moves} moves, the search {moves}: a defect"
        )
    return Solution(
        Verdict.PROVED,
        moves,
        plan=plan,
        counts=replayed.counts,
        couplings_proved=proof is not None,
        distance_proved=proof is not None,
        tightest=tightest_place(puzzle, plan),
        stats=stats,
    )
