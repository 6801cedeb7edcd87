"""From the middle of the work: the fewest moves that finish it from where everything stands now.

The standing is one that a row of actions of the law has led to, and the direction in which each locomotive
last moved is part of it: to go on in that direction begins no move.  What is found is put behind the row that
led here, and the referee replays the whole.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from switchsolve.goal import Goal, Met
from switchsolve.packing import PackedPuzzle
from switchsolve.plan import Solution, Verdict
from switchsolve.planning import make_plan
from switchsolve.puzzle import Puzzle
from switchsolve.referee import replay
from switchsolve.rules import Action, BegunRules, Rules, Standing
from switchsolve.search.events import EventResult
from switchsolve.search.exact import applies
from switchsolve.solving.by_moves import MovesCase, row_of
from switchsolve.solving.limit import Limit, allowed

__all__ = ["Onward", "Walked", "solve_onward"]

_TIES = 300
"""Standings that may be expanded to have few couplings and cuts, too."""


@dataclass(frozen=True, slots=True)
class Walked:
    """What has been done so far: ``standings``, one more than the ``actions`` between them, and the
    ``moves`` that they have cost, locomotives under way at the start counted.
    """

    standings: tuple[Standing, ...]
    actions: tuple[Action, ...]
    moves: int


@dataclass(frozen=True, slots=True)
class Onward:
    """What can be said of the moves still to be made.

    ``least``: it cannot be done with fewer (0 if it is impossible).  ``moves``: of the plan found, or
    ``None``.  ``actions``, and the ``standings`` after each: that plan, which ends as ``met`` says.
    ``limit``: what stopped the proof.
    """

    verdict: Verdict
    least: int
    moves: int | None = None
    actions: tuple[Action, ...] = ()
    standings: tuple[Standing, ...] = ()
    met: Met | None = None
    limit: str | None = None


def solve_onward(
    packed: PackedPuzzle,
    walked: Walked,
    *,
    seconds: float | None = None,
    most_bytes: int | None = None,
    tell: Callable[[str], None] | None = None,
    stop: Callable[[], str | None] | None = None,
) -> Onward:
    """The fewest moves from the last standing of ``walked`` on, with proof, or what can honestly be said.

    The arguments are those of :func:`~switchsolve.solving.solve`.  Raises
    :class:`~switchsolve.errors.PlanError` if the referee rejects the plan (a defect in this package).
    """
    rules = BegunRules(packed, walked.standings[-1])
    case = _Case(packed.puzzle, rules, walked, allowed(seconds, tell, stop), most_bytes)
    return case.onward(case.solve("auto", applies(rules, with_halts=True) is None and not walked.actions))


class _Case(MovesCase):
    """The rest of one set-up's work being solved."""

    def __init__(
        self, puzzle: Puzzle, rules: Rules, walked: Walked, limit: Limit, most_bytes: int | None
    ) -> None:
        super().__init__(puzzle, rules, Goal(rules), limit, _TIES, most_bytes)
        self.walked = walked
        self._standings: list[Standing] = []
        self._actions: list[Action] = []
        self._met: Met | None = None

    def onward(self, solution: Solution) -> Onward:
        """The answer, moves counted from here."""
        least = 0 if solution.lower_bound is None else solution.lower_bound - self.under_way
        moves = None if solution.counts is None else solution.counts.moves - self.walked.moves
        return Onward(
            solution.verdict,
            max(least, 0),
            moves,
            tuple(self._actions),
            tuple(self._standings),
            self._met,
            solution.limit,
        )

    def _with_ties(self, proof: EventResult, moves: int) -> Solution:
        # distance is not told here, so no other law is asked
        return self._answer(Verdict.PROVED, self.rules, proof, moves, moves, True)

    def _answer(
        self,
        verdict: Verdict,
        rules: Rules,
        result: EventResult,
        moves: int,
        least: int,
        handling_proved: bool = False,
    ) -> Solution:
        assert result.met is not None
        standings, self._actions = row_of(result)
        self._met = result.met
        self._standings = standings[1:]
        row = [*self.walked.standings, *self._standings]
        plan = make_plan(rules, row, [*self.walked.actions, *self._actions], result.met)
        counts = replay(self.puzzle, plan).counts
        if counts.moves != moves - self.under_way + self.walked.moves:
            raise AssertionError(
                f"the referee counts {counts.moves} moves, the walk and the search"
                f" {moves - self.under_way + self.walked.moves}: a defect"
            )
        limit = self.limit.name() if verdict is Verdict.BEST_FOUND else None
        return Solution(verdict, least, plan=plan, counts=counts, limit=limit)
