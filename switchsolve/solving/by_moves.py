"""The fewest moves: choose the search, prove the minimum, make the plan, have it replayed, say what it is."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

from switchsolve.errors import PlanError
from switchsolve.goal import Goal
from switchsolve.packing import pack
from switchsolve.plan import Plan, Solution, Verdict
from switchsolve.planning import make_plan
from switchsolve.puzzle import Puzzle
from switchsolve.referee import Replay, replay
from switchsolve.rules import Action, Rules, Standing
from switchsolve.search.beginning import first_states
from switchsolve.search.both_ends import RunsResult, search_both_ends
from switchsolve.search.compilable import is_compilable, is_packable
from switchsolve.search.endings import TooManyEndings, endings
from switchsolve.search.events import EventNode, EventResult, search_events
from switchsolve.search.exact import (
    applies,
    bounds,
    why_limits_bind,
    why_not_coarse,
    why_not_within_limits,
    why_one_way_only,
)
from switchsolve.search.halting import may_do_after_a_halt
from switchsolve.search.hunting import hunt
from switchsolve.search.one_run import search_one_run
from switchsolve.search.readying import RUNS, Readying, make_ready
from switchsolve.search.runs import LongestRuns, RunState
from switchsolve.solving.alone import alone, of_all
from switchsolve.solving.along import plan_along
from switchsolve.solving.by_events import (
    COARSE,
    COARSE_ENDS,
    EVENT_SEARCHES,
    FROM_BOTH_ENDS,
    PLAIN,
    SEEN,
    EventSearches,
)
from switchsolve.solving.limit import Limit, allowed, time_to_hunt
from switchsolve.solving.limited import plan_within_limits, search_within_limits
from switchsolve.solving.ties import least_distance, least_handling
from switchsolve.tightest import tightest_place

__all__ = ["SEARCHES", "MovesCase", "NoSuchPlan", "plan_of", "row_of", "solve_by_moves"]

SEARCHES = ("auto", *EVENT_SEARCHES, "longest runs", "compiled longest runs", "steady")
"""``steady`` goes on as ``auto`` does, but the set-up alone says when the compiled search takes over, not the
clock: the same file gives the same plan every time.
"""
_PLAIN_VEHICLES = 6
"""``steady``: with more vehicles the compiled search by longest runs begins at once."""

_FEW = 9
"""Vehicles, squared: with more of them the time for a standing grows so, and fewer are looked at for ties."""
_PLAIN_RUNS = 1_500
"""Standings that the plain search by longest runs expands before the compiled one takes over;"""
_PLAIN_WITH_HALTS = 100
"""where runs halt on the way, for each leads to many times as many."""
_MOST_ENDINGS = 20_000
_PER_MOVE = (2, 0)
"""In which orders a plan along a chain with fewer couplings and cuts is looked for, one after the other."""
_MOST_ALONG = 6_000
"""Standings looked at for a plan along runs that halt, or within limits; then the law is asked for all of it.
"""
_SOON = 20.0
"""Seconds for a plan that comes soon, and at most such a share of the time allowed:"""
_SHARE_ALONE = 0.1
"""one in which one locomotive does all the work, for each of them,"""
_SHARE_LIMITED = 0.25
"""one along longest runs within the limits."""
_MANY_WITHOUT_BOUNDS = 500_000
"""Standings expanded without bounds where questions are many and each is small: a session of three cars and
three takes 20,000 to 100,000, half a second, and the tables for its bounds take two.
"""


def solve_by_moves(
    puzzle: Puzzle,
    *,
    seconds: float | None = None,
    search: str = "auto",
    tie_standings: int = 1500,
    most_bytes: int | None = None,
    many: bool = False,
    same_district: bool = False,
    tell: Callable[[str], None] | None = None,
    stop: Callable[[], str | None] | None = None,
) -> Solution:
    """The fewest locomotive moves that do the work, with proof, or what can honestly be said instead.

    ``seconds`` limits the search (a fifth of it is kept for finding some plan if no best one is proved);
    ``search`` is one of :data:`SEARCHES`; ``tie_standings`` is how many standings the proof of the tie-breaks
    (couplings + cuts, then distance) may expand (fewer with more than two vehicles); ``most_bytes`` is what
    the standings kept by a compiled search may take (it stops before it takes more); ``many`` says that
    this is one question of very many, for which ``auto`` takes the compiled search at once, and that
    most of them are of the ``same_district`` (what is kept for the others changes no answer);
    ``tell`` receives lines of progress; ``stop`` is asked often whether to stop, and gives the reason, or
    ``None``.

    Raises ``ValueError`` for an unknown search or one that is not exact for this set-up,
    :class:`~switchsolve.errors.PlanError` if the referee rejects the plan (a defect in this package).
    """
    if search not in SEARCHES:
        raise ValueError(f"no search is called {search!r}: it is one of {', '.join(SEARCHES)}")
    rules = Rules(pack(puzzle))
    reason = applies(rules, with_halts=True)
    if search in ("longest runs", "compiled longest runs") and reason is not None:
        raise ValueError(f"longest runs are not exact here: {reason}")
    limit = allowed(seconds, tell, stop)
    case = MovesCase(
        puzzle, rules, Goal(rules), limit, tie_standings, most_bytes,
        many=many, same_district=same_district, is_steady=search == "steady",
    )  # fmt: skip
    if search in EVENT_SEARCHES and search != PLAIN and not is_compilable(rules):
        raise ValueError("a string can span too many cells for the compiled search")
    if search in (COARSE, COARSE_ENDS):
        why = why_not_coarse(rules)
        if why is not None:
            raise ValueError(f"the law cannot be seen coarsely here: {why}")
    if search in FROM_BOTH_ENDS:
        why = why_one_way_only(SEEN[search](rules.p) if search in SEEN else rules)
        if why is not None:
            raise ValueError(f"the law is not the same backwards here: {why}")
    return case.solve(search, reason is None)


class OutOfTime(Exception):
    """The limit came before all endings were listed, or all plans of one run."""


class NoSuchPlan(Exception):
    """The standings at the reversals do not make a plan: there it matters where in its track a car stands."""


class MovesCase:
    """One set-up being solved."""

    def __init__(
        self,
        puzzle: Puzzle,
        rules: Rules,
        goal: Goal,
        limit: Limit,
        tie_standings: int,
        most_bytes: int | None = None,
        many: bool = False,
        same_district: bool = False,
        is_steady: bool = False,
    ) -> None:
        self.puzzle = puzzle
        self.rules = rules
        self.many = many
        self.same_district = same_district
        self.without_bounds = _MANY_WITHOUT_BOUNDS if many and not same_district else None
        self.is_steady = is_steady
        self.goal = goal
        self.limit = limit
        vehicles = len(rules.p.class_of)
        self.tie_standings = tie_standings * _FEW // max(_FEW, vehicles**2)
        self.most_bytes = most_bytes
        self.hunting: Limit | None = None
        self.under_way = sum(1 for last in rules.p.start_last if last)
        self.stats: dict[str, int | float | str] = {}
        self.floor = 0
        """No plan has fewer moves, as longest runs have found."""
        self.replayed: Replay | None = None
        """What the referee saw of the plan that was told last."""
        self.least_in_time = 2
        """No plan has fewer moves, as is known before all endings are listed: one run does not do."""
        self._all_endings: list[RunState] | None = None
        self.known: tuple[Plan, int] | None = None
        """A plan known before the search went far, and its moves."""

    def solve(self, search: str, are_runs_exact: bool) -> Solution:
        """By one of :data:`SEARCHES` (``are_runs_exact``: where longest runs find standings, there is a plan
        along them).
        """
        if bounds(self.rules, with_halts=True) is None and search not in EVENT_SEARCHES:
            try:
                at_once = True if self.many and is_packable(self.rules) else None
                compiled = {"longest runs": False, "compiled longest runs": True}
                return self.by_runs(compiled.get(search, at_once))
            except TooManyEndings:
                self.stats["too many endings"] = 1
            except OutOfTime:
                return self.out_of_time()
            except NoSuchPlan:
                if are_runs_exact and LongestRuns(self.rules).is_simple:
                    raise AssertionError("standings at the reversals that make no plan: a defect") from None
                self.stats.clear()
                answer = self.by_runs_within_limits()
                if answer is not None:
                    return answer
        return self.by_events(search)

    # ---- by events

    def by_events(self, search: str) -> Solution:
        """By the law itself: by the search of that name, or those that pay, one after the other."""
        searches = EventSearches(
            self.rules, self.goal, self.limit, self.most_bytes, self.stats, self._most_to_be_better
        )
        if search in EVENT_SEARCHES:
            result = searches.named(search)
        else:
            at_once = (self.many or self.is_steady) and is_compilable(self.rules)
            result = searches.in_turn(at_once)
        self.stats |= result.stats
        if result.is_exhausted:
            if result.node is not None:
                return self._proved(result)
            if self.known is not None:  # nothing shorter than that was looked for
                return self._told(Verdict.PROVED, *self.known, self.known[1])
            return Solution(Verdict.IMPOSSIBLE, None, stats=self.stats)
        least = max(self.floor, result.lower_bound + self.under_way)
        if result.node is None:
            self._most_to_be_better()  # which has a plan known, if it had not been asked for one
        if self.known is not None:
            moves = None if result.node is None else result.node.cost.moves + self.under_way
            if moves is None or moves >= self.known[1]:
                verdict = Verdict.PROVED if least >= self.known[1] else Verdict.BEST_FOUND
                return self._told(verdict, *self.known, min(least, self.known[1]))
        return self._best_found(result if result.node is not None else self._hunted(), least)

    def _most_to_be_better(self) -> int | None:
        """The moves that a plan may have and be better than one that was soon seen (those begun before the
        start not counted), or ``None``: no such plan is known.
        """
        if type(self.rules) is Rules and self.known is None:
            if len(self.puzzle.locomotives) > 1:
                self.known = self._alone()
            elif why_limits_bind(self.rules) is not None and bounds(self.rules) is None:
                self.known = self._within_limits()
        return None if self.known is None else self.known[1] - self.under_way - 1

    def _alone(self) -> tuple[Plan, int] | None:
        """A plan in which one locomotive does all the work, and its moves, the others' counted."""
        seconds = self._seconds_for_a_plan(_SHARE_ALONE)
        found: tuple[Plan, int] | None = None
        for lone in alone(self.puzzle):
            answer = solve_by_moves(
                lone, seconds=seconds, search="steady" if self.is_steady else "auto", tie_standings=0,
                most_bytes=self.most_bytes, many=self.many, tell=self.limit.tell,
                stop=self.limit.stop,
            )  # fmt: skip
            if answer.plan is None:
                continue
            plan = of_all(self.puzzle, lone, answer.plan)
            try:
                moves = replay(self.puzzle, plan).counts.moves
            except PlanError:  # a dead one may have been turned, and is to head the other way
                continue
            if found is None or moves < found[1]:
                found = plan, moves
        return found

    def _within_limits(self) -> tuple[Plan, int] | None:
        """A plan along longest runs that keep to the limits, and its moves."""
        limit = allowed(self._seconds_for_a_plan(_SHARE_LIMITED), self.limit.tell, self.limit.stop)
        stop = limit.named("a plan within the limits")
        found = plan_within_limits(self.rules, self.goal, self.under_way, stop)
        if found is None or found.node is None:
            return None
        return plan_of(self.rules, found), found.node.cost.moves + self.under_way

    def _seconds_for_a_plan(self, share: float) -> float:
        """For a plan that comes soon: no more than a share of the time allowed."""
        return _SOON if self.limit.seconds is None else min(_SOON, self.limit.seconds * share)

    def out_of_time(self) -> Solution:
        """What to say where the limit came before all endings were listed."""
        return self._best_found(self._hunted(), self.least_in_time)

    def _hunted(self) -> EventResult:
        """Any plan, in the time kept for that."""
        return search_events(
            self.rules,
            self.goal,
            should_stop=self._spare(),
            guide=lambda standing, cost: cost.moves + 2 * self.goal.misplaced(standing),
        )

    def _proved(self, result: EventResult) -> Solution:
        """The answer, when the moves of ``result`` are the fewest."""
        assert result.node is not None
        proof = self._tie_proof(result.node.cost.moves)
        moves = result.node.cost.moves + self.under_way
        if proof is not None:
            return self._with_ties(proof, moves)
        return self._answer(Verdict.PROVED, self.rules, result, moves, moves)

    def _spare(self) -> Limit:
        """The time kept for finding any plan; it begins when it is first asked for."""
        if self.hunting is None:
            self.hunting = time_to_hunt(self.limit)
        return self.hunting

    def _best_found(self, result: EventResult | None, least: int) -> Solution:
        """What to say when the proof was stopped: the plan of ``result``, if it has one, and the bound."""
        if result is None or result.node is None:
            return Solution(Verdict.GAVE_UP, least, limit=self.limit.name(), stats=self.stats)
        moves = result.node.cost.moves + self.under_way
        verdict = Verdict.PROVED if moves == least else Verdict.BEST_FOUND
        return self._answer(verdict, self.rules, result, moves, least)

    # ---- by longest runs

    def by_runs(self, compiled: bool | None = None) -> Solution:
        """By longest runs, plain or ``compiled`` (``None``: compiled once the plain search gets long)."""
        short = self.one_run()
        return self.of_one_run(short) if short.node is not None else self.of_chain(self.chain(compiled))

    def one_run(self) -> EventResult:
        """The plans of one run, by the law.  Raises :class:`OutOfTime`."""
        found = search_one_run(self.rules, self.goal, self.under_way)
        runs = LongestRuns(self.rules)
        if found.node is None and not runs.is_simple:
            first = first_states(self.rules, runs, self.under_way)
            if may_do_after_a_halt(runs, first, self._endings(runs)):
                limit = self.limit.named("plans of one move")
                found = search_events(self.rules, self.goal, most_moves=1 - self.under_way, should_stop=limit)
                if self.limit.reason is not None and found.node is None:
                    self.least_in_time = 1
                    raise OutOfTime
        return found

    def of_one_run(self, short: EventResult) -> Solution:
        """What to say of a plan of one run."""
        self.stats |= {"search": "events", **short.stats}
        return self._proved(short)

    def chain(self, compiled: bool | None = None) -> RunsResult:
        """The standings at the reversals of a plan of two runs or more, plain or ``compiled``."""
        found = self._runs(LongestRuns(self.rules), compiled)
        self.stats |= found.stats
        self.limit.reason = self.limit.reason or found.reason
        return found

    def of_chain(self, found: RunsResult, sides: tuple[LongestRuns, LongestRuns] | None = None) -> Solution:
        """What to say of such standings (``sides``: of which runs, if not longest ones).  Raises
        :class:`NoSuchPlan`.
        """
        if found.chain is None:
            if found.is_proved:
                return Solution(Verdict.IMPOSSIBLE, None, stats=self.stats)
            return self._best_found(None, found.least)
        result = self._along(found.chain, sides=sides)
        if result is None:
            self.floor = max(self.floor, found.least)
            raise NoSuchPlan
        if not found.is_proved:
            return self._best_found(result, found.least)
        proof = self._tie_proof(found.least - self.under_way)
        if proof is not None:
            return self._with_ties(proof, found.least)
        result = self._with_less_handling(found.chain, result, sides)
        return self._answer(Verdict.PROVED, self.rules, result, found.least, found.least)

    def by_runs_within_limits(self) -> Solution | None:
        """By longest runs that keep to the limits on the moving string, or ``None``: none of these binds, or
        no plan goes along their standings.
        """
        if why_limits_bind(self.rules) is None or why_not_within_limits(self.rules) is not None:
            return None
        seen = search_within_limits(
            self.rules, self._endings(LongestRuns(self.rules)), self.under_way, self.limit,
            most_bytes=self.most_bytes, at_once=self.many, is_steady=self.is_steady,
        )  # fmt: skip
        found = seen.found
        self.floor = max(self.floor, found.least)
        if not found.is_proved:
            return None
        self.stats |= {"search": seen.search, **found.stats}
        try:
            return self.of_chain(found, seen.sides)
        except NoSuchPlan:
            self.stats.clear()
        self._most_to_be_better()
        if self.known is not None and self.known[1] <= self.floor:
            return self._told(Verdict.PROVED, *self.known, self.known[1])
        return None

    def _endings(self, runs: LongestRuns) -> list[RunState]:
        if self._all_endings is not None:
            return self._all_endings
        limit = self.limit.named("endings")
        looked = 0

        def look() -> None:
            nonlocal looked
            looked += 1
            if limit(looked) is not None:
                raise OutOfTime

        self._all_endings = endings(self.rules, runs, _MOST_ENDINGS, look=look)
        return self._all_endings

    def _runs(self, runs: LongestRuns, compiled: bool | None) -> RunsResult:
        first = first_states(self.rules, runs, self.under_way)
        goals = self._endings(runs)
        limit = self.limit.named("both ends")
        is_large = len(self.rules.p.class_of) > _PLAIN_VEHICLES
        if self.is_steady and is_large and is_packable(self.rules):
            compiled = True
        if not compiled:
            readying = Readying(RUNS)
            may_compile = compiled is None and is_packable(self.rules)
            most_plain = _PLAIN_RUNS if runs.is_simple else _PLAIN_WITH_HALTS

            def stop(expanded: int) -> str | None:
                if (
                    may_compile
                    and expanded > most_plain
                    and not expanded % 64
                    and (self.is_steady or readying.is_ready())
                ):
                    return "long"
                return limit(expanded)

            self.stats["search"] = "longest runs, both ends"
            plain = search_both_ends(runs, first, goals, should_stop=stop)
            if plain.is_exhausted or self.limit.reason is not None or not may_compile:
                chain = plain.chain
                if chain is None and not plain.is_exhausted:
                    chain = hunt(runs, plain.sides, plain.front, should_stop=self._spare())
                return RunsResult(chain, plain.runs, plain.is_exhausted, self.limit.reason, plain.stats)
        if not is_packable(self.rules):
            raise ValueError(
                "the compiled search has no room here: too many cells or vehicles, or a string that starts at"
                " an exact place over the edge of a part"
            )
        make_ready(self.limit.tell, RUNS)
        from switchsolve.search.compiled_runs import search_runs

        self.stats["search"] = "longest runs, compiled"
        found = search_runs(
            runs, first, goals, should_stop=limit.look, hunting=lambda expanded: self._spare().look(expanded),
            most_bytes=self.most_bytes, name=limit.named, without_bounds=self.without_bounds,
            same_district=self.same_district,
        )  # fmt: skip
        if found.chain is None and not found.is_proved:
            sides = dict.fromkeys(first), dict.fromkeys(goals)
            found.chain = hunt(runs, sides, first, should_stop=self._spare())
        return found

    def _with_less_handling(
        self,
        chain: list[RunState],
        result: EventResult,
        sides: tuple[LongestRuns, LongestRuns] | None,
    ) -> EventResult:
        """Of ``result`` and other plans along the chain, as far as a few standings show some, that with the
        fewest couplings and cuts, then the shortest.
        """
        left = self.tie_standings
        if left and not LongestRuns(self.rules).is_simple:  # made from halt to halt, none tells its figures
            return self._along(chain, 0, left, sides) or result
        for per_move in _PER_MOVE:
            found = self._along(chain, per_move, left, sides) if left > 0 else None
            if found is None:
                break
            left -= found.stats["expanded"]
            result = min(result, found, key=lambda one: one.figures)
        return result

    def _along(
        self,
        chain: list[RunState],
        per_move: int | None = None,
        most: int | None = None,
        sides: tuple[LongestRuns, LongestRuns] | None = None,
    ) -> EventResult | None:
        """A plan with its reversals in the standings of ``chain``, or ``None``; in which order it is looked
        for, and over how many standings at most.
        """
        # not by the clock: the plan may be asked for long after the proof
        if most is None:
            is_simple = sides is None and LongestRuns(self.rules).is_simple
            most = 1 << 60 if is_simple else _MOST_ALONG

        def stop(expanded: int) -> str | None:
            return "enough" if expanded > most else None

        return plan_along(
            self.rules, self.goal, chain, self.under_way, per_move=per_move, should_stop=stop, sides=sides
        )

    # ---- the answer

    def _tie_proof(self, moves: int) -> EventResult | None:
        """The least couplings + cuts, distance among plans of ``moves`` moves, if few standings prove it."""
        is_compiled = self.stats.get("search") in EVENT_SEARCHES[1:]
        return least_handling(self.rules, self.goal, moves, self.tie_standings, is_compiled=is_compiled)

    def _with_ties(self, proof: EventResult, moves: int) -> Solution:
        """The answer, when ``proof`` has gone through the ties of plans with so many moves.

        The law lets an end at the edge of a cell enter it for nothing, so its least distance is a bound.  If
        the referee counts more, the law that tells entries exactly is asked, over as many standings.
        """
        answer = self._answer(Verdict.PROVED, self.rules, proof, moves, moves, True)
        assert answer.counts is not None
        if answer.counts.couplings + answer.counts.cuts != proof.figures[1]:
            return replace(answer, couplings_proved=False)  # nothing is called proved that was not
        if answer.counts.distance == proof.figures[2]:
            return replace(answer, distance_proved=True)
        exact = least_distance(self.rules, moves - self.under_way, self.tie_standings)
        if exact is None:
            return answer
        answer = self._answer(Verdict.PROVED, *exact, moves, moves, True)
        return replace(answer, distance_proved=True)

    def _answer(
        self,
        verdict: Verdict,
        rules: Rules,
        result: EventResult,
        moves: int,
        least: int,
        handling_proved: bool = False,
    ) -> Solution:
        """What to say of the plan that ``result``, found with ``rules``, leads to."""
        return self._told(verdict, plan_of(rules, result), moves, least, handling_proved)

    def _told(
        self, verdict: Verdict, plan: Plan, moves: int, least: int, handling_proved: bool = False
    ) -> Solution:
        """What to say of a plan of so many moves; the referee replays it."""
        self.replayed = replayed = replay(self.puzzle, plan)
        if replayed.counts.moves != moves:
            raise AssertionError(
                f"the referee counts {replayed.counts.moves} moves, the search {moves}: a defect"
            )
        return Solution(
            verdict,
            least,
            plan=plan,
            counts=replayed.counts,
            couplings_proved=handling_proved,
            tightest=tightest_place(self.puzzle, replayed),
            limit=self.limit.name() if verdict is Verdict.BEST_FOUND else None,
            stats=self.stats,
        )


def plan_of(rules: Rules, result: EventResult) -> Plan:
    """The plan of a result that has one, on real positions."""
    assert result.met is not None
    standings, actions = row_of(result)
    return make_plan(rules, standings, actions, result.met)


def row_of(result: EventResult) -> tuple[list[Standing], list[Action]]:
    """The standings of a result that has a plan, and the actions between them."""
    nodes: list[EventNode] = []
    node = result.node
    while node is not None:
        nodes.append(node)
        node = node.parent
    nodes.reverse()
    return [one.standing for one in nodes], [one.action for one in nodes[1:] if one.action is not None]
