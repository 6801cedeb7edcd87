"""Choices by CP-SAT that come out the same: one worker, and effort in deterministic time.

Where the optimum is proved, of all optima the first in a stated order is taken, so that no version of the
solver has a say in it.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from ortools.sat.python import cp_model

__all__ = ["first_of_best", "solved"]

_LARGEST = 2**50
"""The largest sum that a row of variables may come to when it is put in order; exact as a float."""


def solved(model: cp_model.CpModel, effort: float, linearization: int = 1) -> cp_model.CpSolver | None:
    """The model solved; ``None`` if there is no solution, or none was found.

    ``effort``: deterministic seconds.  ``linearization``: how much linear programming is to help (the
    parameter of that name of CP-SAT, where 1 is usual).
    """
    from ortools.sat.python import cp_model

    solver = cp_model.CpSolver()
    solver.parameters.catch_sigint_signal = False  # Ctrl-C is for the caller
    solver.parameters.num_workers = 1
    solver.parameters.random_seed = 0
    solver.parameters.max_deterministic_time = effort
    solver.parameters.linearization_level = linearization
    status = solver.solve(model)
    assert status != cp_model.MODEL_INVALID, model.validate()
    return solver if status in (cp_model.OPTIMAL, cp_model.FEASIBLE) else None


def first_of_best(
    model: cp_model.CpModel,
    cost: cp_model.LinearExprT,
    order: Sequence[tuple[cp_model.IntVar, int]],
    effort: float,
    linearization: int = 1,
) -> cp_model.CpSolver | None:
    """The least cost, and of all solutions that have it the one in which the first variable is least, then
    the second, and so on.  Modifies ``model``.

    ``order``: each variable with how many values it has at the most.  Where the effort does not come to a
    proof, the best found.
    """
    model.minimize(cost)
    best = solved(model, effort, linearization)
    if best is None or not _is_proved(best):
        return best
    model.add(cost == round(best.objective_value))
    for row in _rows(order):
        model.clear_hints()  # type: ignore[no-untyped-call]
        for variable, _ in order:
            model.add_hint(variable, best.value(variable))
        weight = 1
        terms: list[cp_model.LinearExprT] = []
        for variable, count in reversed(row):
            terms.append(weight * variable)
            weight *= count
        model.minimize(sum(terms))
        found = solved(model, effort, linearization)
        if found is None or not _is_proved(found):
            return best
        best = found
        for variable, _ in row:
            model.add(variable == best.value(variable))
    return best


def _is_proved(solver: cp_model.CpSolver) -> bool:
    return round(solver.best_objective_bound) == round(solver.objective_value)


def _rows(order: Sequence[tuple[cp_model.IntVar, int]]) -> list[list[tuple[cp_model.IntVar, int]]]:
    """The variables in rows, each short enough for one number that has them as its digits."""
    rows: list[list[tuple[cp_model.IntVar, int]]] = []
    size = _LARGEST
    for variable, count in order:
        size *= count
        if size > _LARGEST:
            rows.append([])
            size = count
        rows[-1].append((variable, count))
    return rows
