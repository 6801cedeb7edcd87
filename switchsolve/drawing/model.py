"""Models for CP-SAT, written down as its protocol buffer, and solved by the library's own wrapper.

The library's comfortable layer (``cp_model``) imports a table library, which takes a third of a second,
more than most pictures take altogether.  What a picture asks is little: a handful of constraints.  They are
written here just as that layer writes them, which a test compares constraint by constraint; the expressions
are the library's own.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Any, TypeAlias

from ortools.sat.python.cp_model_helper import (
    BoundedLinearExpression,
    ConstraintProto,
    CpModelProto,
    CpSatHelper,
    CpSolverResponse,
    CpSolverStatus,
    FlatIntExpr,
    IntervalVar,
    IntVar,
    LinearExpr,
    Literal,
    ResponseHelper,
    SatParameters,
    SolveWrapper,
)
from ortools.util.python.sorted_interval_list import Domain  # type: ignore[import-untyped]

__all__ = ["Expression", "Interval", "Model", "Parameters", "Solved", "Truth", "Variable"]

Expression: TypeAlias = LinearExpr | int
"""A sum of variables, or a number."""
Truth: TypeAlias = Literal
"""A variable of 0 and 1, or its opposite."""
Interval: TypeAlias = IntervalVar
Parameters: TypeAlias = SatParameters
Variable: TypeAlias = IntVar
_ENDLESS = (-(2**63), 2**63 - 1)
"""Bounds that mean none."""


class Constraint:
    """Something that must hold."""

    def __init__(self, row: ConstraintProto) -> None:
        self._row: Any = row

    def only_enforce_if(self, literals: Literal | Iterable[Literal]) -> None:
        """It must hold only where these do, all of them."""
        asked = [literals] if isinstance(literals, Literal) else literals
        self._row.enforcement_literal.extend([literal.index for literal in asked])


class Model:
    """Variables, constraints, hints and what is to be least."""

    def __init__(self) -> None:
        # not the library's own base: making one imports numpy, a tenth of a second
        self.proto = CpModelProto()
        """The model as the solver reads it."""
        self._constants: dict[int, int] = {}

    def clone(self) -> Model:
        """The same once more; its variables are those of this one."""
        other = Model()
        other.proto.copy_from(self.proto)
        other._constants = dict(self._constants)
        return other

    # ---- variables

    def new_int_var(self, low: int, high: int, name: str) -> Variable:
        """A whole number from ``low`` to ``high``."""
        return IntVar(self.proto).with_name(name).with_domain(Domain(low, high))

    def new_bool_var(self, name: str) -> Variable:
        """Something that holds or does not."""
        return self.new_int_var(0, 1, name)

    def new_constant(self, value: int) -> Variable:
        """A number in the place of a variable."""
        if value not in self._constants:
            made = IntVar(self.proto).with_domain(Domain(value, value))
            self._constants[value] = made.index
        return IntVar(self.proto, self._constants[value])

    def new_interval_var(self, start: Expression, size: Expression, end: Expression, name: str) -> Interval:
        """A stretch of the numbers; ``start + size == end``."""
        index = len(self.proto.constraints)
        row = self.proto.constraints.add()
        row.name = name
        for field, expression in (("start", start), ("size", size), ("end", end)):
            _write(expression, getattr(row.interval, field))
        return IntervalVar(self.proto, index)

    def new_fixed_size_interval_var(self, start: Expression, size: int, name: str) -> Interval:
        """A stretch of a known size."""
        return self.new_interval_var(start, size, start + size, name)

    # ---- constraints

    def add(self, what: BoundedLinearExpression | bool) -> Constraint:
        """A comparison of sums holds."""
        if isinstance(what, bool):  # a comparison in which no variable is left
            return self.add_bool_or([True] if what else [])
        row = self.proto.constraints.add()
        row.linear.vars.extend([variable.index for variable in what.vars])
        row.linear.coeffs.extend(what.coeffs)
        bounds = what.bounds.flattened_intervals()
        row.linear.domain.extend([b if b in _ENDLESS else b - what.offset for b in bounds])
        return Constraint(row)

    def add_bool_or(self, literals: Iterable[Truth | bool]) -> Constraint:
        """One of them holds."""
        row = self.proto.constraints.add()
        row.bool_or.literals.extend([self._index(each) for each in literals])
        return Constraint(row)

    def add_bool_xor(self, literals: Iterable[Truth | bool]) -> Constraint:
        """An odd number of them holds."""
        row = self.proto.constraints.add()
        row.bool_xor.literals.extend([self._index(each) for each in literals])
        return Constraint(row)

    def add_max_equality(self, target: Expression, expressions: Iterable[Expression]) -> Constraint:
        """``target`` is the greatest of them."""
        row = self.proto.constraints.add()
        _write(target, row.lin_max.target)
        for expression in expressions:
            _write(expression, row.lin_max.exprs.add())
        return Constraint(row)

    def add_min_equality(self, target: Expression, expressions: Iterable[Expression]) -> Constraint:
        """``target`` is the least of them: of their negatives the greatest."""
        return self.add_max_equality(-target, [-expression for expression in expressions])

    def add_abs_equality(self, target: Expression, expression: Expression) -> Constraint:
        """``target`` is as great as ``expression`` without its sign."""
        return self.add_max_equality(target, [expression, -expression])

    def add_no_overlap_2d(self, along: Iterable[Interval], across: Iterable[Interval]) -> Constraint:
        """No two rectangles, each of an interval along and one across, share an area."""
        row = self.proto.constraints.add()
        row.no_overlap_2d.x_intervals.extend([each.index for each in along])
        row.no_overlap_2d.y_intervals.extend([each.index for each in across])
        return Constraint(row)

    def add_forbidden_assignments(
        self, variables: Sequence[Expression], rows: Iterable[Sequence[int]]
    ) -> Constraint:
        """The variables have none of these rows of values."""
        row = self.proto.constraints.add()
        for variable in variables:
            _write(variable, row.table.exprs.add())
        for values in rows:
            row.table.values.extend(values)
        row.table.negated = True
        return Constraint(row)

    def _index(self, literal: Truth | bool) -> int:
        """The number of a literal; what is known is a constant."""
        return literal.index if isinstance(literal, Literal) else self.new_constant(int(literal)).index

    # ---- what is wanted

    def add_hint(self, variable: Variable, value: int) -> None:
        """A value to try first."""
        self.proto.solution_hint.vars.append(variable.index)
        self.proto.solution_hint.values.append(value)

    def clear_hints(self) -> None:
        """Nothing to try first."""
        self.proto.clear_solution_hint()

    def minimize(self, cost: Expression) -> None:
        """The least ``cost`` is wanted."""
        self.proto.clear_objective()
        goal = self.proto.objective
        goal.scaling_factor = 1.0
        if isinstance(cost, int):
            goal.offset = cost
            return
        flat = FlatIntExpr(cost)
        goal.vars.extend([variable.index for variable in flat.vars])
        goal.coeffs.extend(flat.coeffs)
        goal.offset = flat.offset


class Solved:
    """A solution of a model."""

    def __init__(self, response: CpSolverResponse) -> None:
        self._response = response

    @classmethod
    def by(cls, model: Model, parameters: Parameters) -> Solved | None:
        """The model solved; ``None`` if there is no solution, or none was found."""
        wrapper = SolveWrapper()
        wrapper.set_parameters(parameters)
        response: CpSolverResponse = wrapper.solve(model.proto)  # type: ignore[no-untyped-call]
        status = response.status
        assert status != CpSolverStatus.MODEL_INVALID, CpSatHelper.validate_model(model.proto)
        return cls(response) if status in (CpSolverStatus.OPTIMAL, CpSolverStatus.FEASIBLE) else None

    def value(self, expression: Expression) -> int:
        """What an expression comes to."""
        return ResponseHelper.value(self._response, expression)

    def boolean_value(self, literal: Truth | bool) -> bool:
        """Whether it holds."""
        return ResponseHelper.boolean_value(self._response, literal)

    @property
    def objective_value(self) -> float:
        """The cost of the solution."""
        return float(self._response.objective_value)

    @property
    def best_objective_bound(self) -> float:
        """The cost that no solution is below."""
        return float(self._response.best_objective_bound)


def _write(expression: Expression, into: Any) -> None:
    """An expression into the message that stands for it."""
    if isinstance(expression, int):
        into.offset = expression
        return
    flat = FlatIntExpr(expression)
    into.vars.extend([variable.index for variable in flat.vars])
    into.coeffs.extend(flat.coeffs)
    into.offset = flat.offset
