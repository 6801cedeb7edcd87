"""The fewest moves first, and the plan only if it is wanted: making one can take as long as the proof."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from importlib import import_module

from switchsolve.goal import Goal
from switchsolve.packing import pack
from switchsolve.plan import Solution, Verdict
from switchsolve.puzzle import Puzzle
from switchsolve.referee import Replay
from switchsolve.rules import Rules
from switchsolve.search.compilable import is_packable
from switchsolve.search.endings import TooManyEndings
from switchsolve.search.exact import applies
from switchsolve.search.readying import RUNS, make_ready
from switchsolve.search.runs import LongestRuns
from switchsolve.solving.by_moves import MovesCase, NoSuchPlan, OutOfTime
from switchsolve.solving.limit import allowed

__all__ = ["Figure", "Proof", "fewest_moves", "prove"]


@dataclass(frozen=True, slots=True)
class Proof:
    """``moves``: with the verdict *proved minimum*, the fewest; else ``None``.  ``planned``: what
    :func:`~switchsolve.solving.solve` would say, with the plan; after that ``replayed`` gives what the
    referee saw of it (``None``: there is no plan).
    """

    verdict: Verdict
    moves: int | None
    planned: Callable[[], Solution]
    replayed: Callable[[], Replay | None]


def prove(
    puzzle: Puzzle,
    *,
    seconds: float | None = None,
    most_bytes: int | None = None,
    same_district: bool = False,
    tell: Callable[[str], None] | None = None,
    stop: Callable[[], str | None] | None = None,
) -> Proof:
    """The fewest moves that do the work of ``puzzle``, one question of very many, by the search ``steady``.

    ``seconds``, ``most_bytes``, ``same_district``, ``tell`` and ``stop`` as for
    :func:`~switchsolve.solving.solve`.
    """
    rules = Rules(pack(puzzle))
    is_exact = applies(rules, with_halts=True) is None
    if is_exact and is_packable(rules):
        _load(tell)  # before the clock starts: it may have to be compiled first
    limit = allowed(seconds, tell, stop)
    case = MovesCase(
        puzzle, rules, Goal(rules), limit, 0, most_bytes,
        many=True, same_district=same_district, is_steady=True,
    )  # fmt: skip
    if is_exact:
        try:
            return _by_runs(case)
        except TooManyEndings:
            case.stats["too many endings"] = 1
        except OutOfTime:
            return _told(case, case.out_of_time())
    return _told(case, case.solve("steady", is_exact))


@dataclass(frozen=True, slots=True)
class Figure:
    """``moves``: of the plan that there is (with the verdict *proved minimum*, the fewest), ``None`` without
    one; ``bound``: no plan has fewer (``None``: impossible).  ``limit``: what stopped the proof, if anything.
    """

    verdict: Verdict
    moves: int | None
    bound: int | None
    limit: str | None = None


def fewest_moves(
    puzzle: Puzzle,
    *,
    seconds: float | None = None,
    most_bytes: int | None = None,
    same_district: bool = False,
    tell: Callable[[str], None] | None = None,
    stop: Callable[[], str | None] | None = None,
) -> Figure:
    """The fewest moves and nothing else, one question of very many: no plan is made where they are proved.

    The arguments are those of :func:`prove`.
    """
    proof = prove(
        puzzle, seconds=seconds, most_bytes=most_bytes, same_district=same_district, tell=tell, stop=stop
    )
    if proof.moves is not None:
        return Figure(proof.verdict, proof.moves, proof.moves)
    solution = proof.planned()
    moves = None if solution.counts is None else solution.counts.moves
    return Figure(solution.verdict, moves, solution.lower_bound, solution.limit)


def _load(tell: Callable[[str], None] | None) -> None:
    """Have the compiled search by longest runs in this process."""
    make_ready(tell, RUNS)
    import_module("switchsolve.search.compiled_runs")


def _told(case: MovesCase, solution: Solution) -> Proof:
    moves = solution.lower_bound if solution.verdict is Verdict.PROVED else None
    return Proof(solution.verdict, moves, lambda: solution, lambda: case.replayed)


def _by_runs(case: MovesCase) -> Proof:
    """Where longest runs are exact: there is a plan along the standings that they find."""
    short = case.one_run()
    if short.node is not None:
        moves = short.node.cost.moves + case.under_way
        return Proof(Verdict.PROVED, moves, lambda: case.of_one_run(short), lambda: case.replayed)
    found = case.chain(True if is_packable(case.rules) else None)
    if found.chain is None or not found.is_proved:
        return _told(case, case.of_chain(found))

    def planned() -> Solution:
        try:
            return case.of_chain(found)
        except NoSuchPlan:
            if LongestRuns(case.rules).is_simple:
                raise AssertionError("standings at the reversals that make no plan: a defect") from None
            return case.by_events("steady")

    return Proof(Verdict.PROVED, found.least, planned, lambda: case.replayed)
