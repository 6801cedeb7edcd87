"""Another objective than moves: the least couplings and cuts, the least time, distance or cars in hand.

Longest runs serve moves only, so this is the search by events, with what the objective charges: the plain
one first, then the compiled one.  The compiled one takes a row of two figures as one, but knows distance as
the law tells it, where an end at the edge of a cell may enter for nothing.  So what it finds is a bound; its
plan, counted by the referee, often costs just that, and then both are proved.  Where they differ, the plain
search goes on with :class:`~switchsolve.rules.MeasuredRules`.

A proof that is stopped has at least the plan with the fewest moves to show, beside the bound.
"""

from __future__ import annotations

from collections.abc import Callable

from switchsolve.goal import Goal
from switchsolve.objectives import Objective, objective_of
from switchsolve.packing import pack
from switchsolve.plan import Plan, Solution, Verdict
from switchsolve.puzzle import Puzzle
from switchsolve.referee import Replay, replay
from switchsolve.rules import MeasuredRules, Rules
from switchsolve.search.compilable import is_compilable
from switchsolve.search.events import EventResult, search_events
from switchsolve.search.readying import EVENTS, Readying, make_ready
from switchsolve.search.tariffs import Tariff, charges_of
from switchsolve.solving.by_moves import plan_of, solve_by_moves
from switchsolve.solving.limit import HUNT, Limit, allowed, time_to_hunt
from switchsolve.tightest import tightest_place

__all__ = ["solve_by_figures"]

_PLAIN = 700
"""Standings that the plain search expands before the compiled one takes over."""
_MOST_FIRST = 0.2
"""The share of the time that may go into the plan with the fewest moves, once the proof has been stopped."""


def solve_by_figures(
    puzzle: Puzzle,
    objective: str,
    *,
    seconds: float | None = None,
    tie_standings: int = 1500,
    most_bytes: int | None = None,
    tell: Callable[[str], None] | None = None,
    stop: Callable[[], str | None] | None = None,
    known: Solution | None = None,
) -> Solution:
    """The plan with the least of ``objective`` (one of :data:`~switchsolve.objectives.OBJECTIVES`), with
    proof, or what can honestly be said instead.

    ``known``: the answer by moves, if there is one already.  The others as for
    :func:`~switchsolve.solving.solve`; ``tie_standings`` is for the last tie, distance (0: none is tried).

    Raises ``ValueError`` for an unknown objective, :class:`~switchsolve.errors.PlanError` if the referee
    rejects the plan (a defect in this package).
    """
    case = _Case(puzzle, objective_of(puzzle, objective), allowed(seconds, tell, stop), most_bytes, known)
    return case.solve(tie_standings)


class _Case:
    """One set-up being solved by one objective.

    ``least``: no plan has less of the first figure.  ``best``: the best plan met, with that figure of it.
    """

    def __init__(
        self,
        puzzle: Puzzle,
        objective: Objective,
        limit: Limit,
        most_bytes: int | None,
        known: Solution | None,
    ) -> None:
        self.puzzle = puzzle
        self.objective = objective
        self.packed = pack(puzzle)
        self.rules = Rules(self.packed)
        self.limit = limit.named(f"events, by {objective.name}")
        self.most_bytes = most_bytes
        self.known = known
        # those under way at the start are in a move already
        self.already = objective.rows[0].move * sum(1 for last in self.rules.p.start_last if last)
        self.least = self.already
        self.best: tuple[int, Plan, Replay] | None = None
        self.stats: dict[str, int | float | str] = {"search": "events"}
        if known is not None and known.plan is not None:
            self._offer(known.plan)

    def solve(self, tie_standings: int) -> Solution:
        """The searches, then what can be said."""
        result = self._plain(_PLAIN)
        if not result.is_exhausted and self.limit.reason is None:
            compiled = self._compiled()
            result = compiled if compiled is not None else self._plain(None)
            is_settled = result.is_exhausted and (result.node is None or not self._is_open(result))
            if not is_settled and self.limit.reason is None:
                result = self._plain(None)
        if result.is_exhausted and result.node is None:
            return Solution(Verdict.IMPOSSIBLE, None, stats=self.stats, objective=self.objective.name)
        if self._is_open(result):
            return self._best_found()
        # the second figure is proved too where the search went by both
        moves_proved = self.best is not None and self._is_second_least(result)
        closer = self._tie_proof(tie_standings) if moves_proved else None
        if closer is not None:
            self.best = None
            self._offer(plan_of(self._measured(), closer))
        return self._answer(Verdict.PROVED, moves_proved, closer is not None)

    # ---- the searches

    def _measured(self) -> MeasuredRules:
        return MeasuredRules(self.packed)

    def _plain(self, most: int | None) -> EventResult:
        """The plain search, over ``most`` standings (``None``: as long as there is time)."""
        has_distance = any(row.distance for row in self.objective.rows)
        rules = self._measured() if has_distance else self.rules
        readying = Readying(EVENTS)
        may_compile = most is not None and is_compilable(self.rules)

        def stop(expanded: int) -> str | None:
            is_long = may_compile and most is not None and expanded > most and not expanded % 64
            if is_long and readying.is_ready():
                return "long"
            return self.limit(expanded)

        result = search_events(
            rules, Goal(rules), tariff=Tariff(rules, self.objective.rows), should_stop=stop
        )
        self.stats |= {"search": "events", **result.stats}
        self._note(result, rules, result.lower_bound)
        return result

    def _compiled(self) -> EventResult | None:
        """The compiled search, if it has room; its figure is a bound (of the first figure, rounded down)."""
        charged = charges_of(self.rules, self.objective.rows)
        if charged is None or not is_compilable(self.rules):
            return None
        charges, one = charged
        make_ready(self.limit.tell)
        from switchsolve.search.compiled import search_compiled

        goal = Goal(self.rules)
        result = search_compiled(
            self.rules, goal, charges=charges, should_stop=self.limit.look, most_bytes=self.most_bytes
        )
        self.limit.reason = self.limit.reason or result.reason
        self.stats |= {"search": "compiled events", **result.stats}
        self._note(result, self.rules, result.lower_bound // one)
        return result

    def _note(self, result: EventResult, rules: Rules, least: int) -> None:
        """Keep what a search has shown."""
        if result.node is not None or not result.is_exhausted:
            self.least = max(self.least, least + self.already)
        if result.node is not None:
            self._offer(plan_of(rules, result))

    def _offer(self, plan: Plan) -> None:
        """Keep ``plan`` if it is the best so far, as the referee counts it."""
        replayed = replay(self.puzzle, plan)
        figure = self._figure(replayed)
        if self.best is None or (figure, replayed.counts.moves) < (self.best[0], self.best[2].counts.moves):
            self.best = figure, plan, replayed

    def _figure(self, replayed: Replay) -> int:
        return self.objective.rows[0].of(replayed.counts, replayed.cars_in_hand)

    def _is_open(self, result: EventResult) -> bool:
        """Whether the best plan has not been shown to be as good as any."""
        return self.best is None or self.best[0] > self.least

    def _is_second_least(self, result: EventResult) -> bool:
        """Whether the search that is over went by moves as second figure, and the best plan has as few."""
        if not result.is_exhausted or result.node is None or self.best is None:
            return False
        figures = result.figures
        if len(figures) < 2 and self.objective.rows[0].distance:
            return False
        under_way = sum(1 for last in self.rules.p.start_last if last)
        return self.best[2].counts.moves == result.node.cost.moves + under_way

    def _tie_proof(self, tie_standings: int) -> EventResult | None:
        """The shortest of the best, if few standings prove it."""
        if not self.objective.ties or not tie_standings:
            return None
        rules = self._measured()
        result = search_events(
            rules,
            Goal(rules),
            tariff=Tariff(rules, self.objective.ties),
            should_stop=lambda expanded: "enough" if expanded > tie_standings else self.limit(expanded),
        )
        return result if result.is_exhausted else None

    # ---- the answer

    def _best_found(self) -> Solution:
        """The proof was stopped: the best plan met, or that with the fewest moves, or any; and the bound."""
        if self.known is None:
            whole = None if self.limit.seconds is None else self.limit.seconds / (1 - HUNT)
            hunt = time_to_hunt(self.limit)
            seconds = hunt.seconds if whole is None else whole * _MOST_FIRST
            self.known = solve_by_moves(self.puzzle, seconds=seconds, tell=self.limit.tell)
            if self.known.plan is not None:
                self._offer(self.known.plan)
        self.least = max(self.least, self._least_of_each())
        if self.best is not None:
            return self._answer(Verdict.BEST_FOUND, False, False)
        return Solution(
            Verdict.GAVE_UP,
            None,
            limit=self.limit.name(),
            stats=self.stats,
            objective=self.objective.name,
            value_bound=self.objective.shown(self.least),
        )

    def _least_of_each(self) -> int:
        """What the fewest moves and the fewest couplings and cuts come to: no plan has less."""
        row, goal = self.objective.rows[0], Goal(self.rules)
        moves = 0 if self.known is None else self.known.lower_bound or 0
        handling = min((goal.handling_left(standing) for standing in self.rules.starts()), default=0)
        return row.move * moves + min(row.coupling, row.cut) * handling

    def _answer(self, verdict: Verdict, moves_proved: bool, is_shortest: bool) -> Solution:
        assert self.best is not None
        figure, plan, replayed = self.best
        if figure < self.least or (verdict is Verdict.PROVED and figure != self.least):
            raise AssertionError(
                f"the referee counts {figure} of {self.objective.name}, the search {self.least}: a defect"
            )
        if figure == self.least:  # what was found otherwise may be as good as the bound
            verdict = Verdict.PROVED
        return Solution(
            verdict,
            None,
            plan=plan,
            counts=replayed.counts,
            couplings_proved=verdict is Verdict.PROVED and self.objective.name == "couplings and cuts",
            distance_proved=is_shortest,
            tightest=tightest_place(self.puzzle, replayed),
            limit=self.limit.name() if verdict is Verdict.BEST_FOUND else None,
            stats=self.stats,
            objective=self.objective.name,
            value=self.objective.shown(figure),
            value_bound=self.objective.shown(self.least),
            moves_proved=moves_proved,
        )
