"""A whole-number programme as the solver takes it (SCIP), rows and columns as lists.

The same programme gives the same answer on every run. Through ortools' older interface it did not: that one keeps a
row's entries by the addresses of its variables, and of equally good plans now one came out and now another.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import partial

from ortools.linear_solver.python.model_builder_helper import ModelBuilderHelper, ModelSolverHelper, SolveStatus

from cutopt.aside import Begun
from cutopt.errors import OurFault

LARGE = 3_000  # variables: a programme of fewer is solved in no time
Term = tuple[int, float]  # a variable by number, and its weight


@dataclass(frozen=True, kw_only=True, slots=True)
class Solved:
    """The variables' values, what they come to, and what no others go below."""

    values: tuple[int, ...]
    value: float
    bound: float


class Programme:
    """Whole numbers from 0 on, rows that bound sums of them, and a sum that is to be least."""

    def __init__(self) -> None:
        self._model = ModelBuilderHelper()
        self.size = 0

    def variable(self, most: float) -> int:
        """A new variable by its number: from 0 to `most`."""
        number = self._model.add_var()
        self._model.set_var_lower_bound(number, 0.0)
        self._model.set_var_upper_bound(number, float(most))
        self._model.set_var_integrality(number, is_integer=True)
        self.size += 1
        return number

    def row(self, low: float, high: float, terms: Iterable[Term]) -> None:
        """A weighted sum of variables is to lie between the two."""
        number = self._model.add_linear_constraint()
        self._model.set_constraint_lower_bound(number, low)
        self._model.set_constraint_upper_bound(number, high)
        for variable, weight in terms:
            self._model.add_term_to_constraint(number, variable, float(weight))

    def at_most(self, high: float, terms: Iterable[Term]) -> None:
        """A weighted sum of variables is to be no more."""
        self.row(-math.inf, high, terms)

    def least(self, costs: Sequence[float], *, nodes: int, gap: float, hint: Sequence[int] | None) -> Solved | None:
        """The least sum found in so many nodes, to a share of its value; None where no values do.

        `costs` and `hint`: of each variable, a weight and a value to start from. A large one is solved in a copy of
        this process, which Ctrl-C can end: the solver would swallow it, or go on to its limit.
        """
        solved = partial(self._least, costs, nodes, gap, hint)
        if self.size < LARGE:
            return solved()
        with Begun(solved, busy=True) as begun:
            return begun.result()

    def _least(self, costs: Sequence[float], nodes: int, gap: float, hint: Sequence[int] | None) -> Solved | None:
        for number, cost in enumerate(costs):
            self._model.set_var_objective_coefficient(number, float(cost))
        self._model.clear_hints()
        for number, value in enumerate(hint or ()):
            self._model.add_hint(number, float(value))
        solver = ModelSolverHelper("scip")
        if not solver.solver_is_supported():
            raise OurFault("the installed ortools has no SCIP solver")
        solver.set_solver_specific_parameters(
            f"limits/nodes = {nodes}\nlimits/gap = {gap}\nrandomization/randomseedshift = 0\nmisc/catchctrlc = FALSE\n"
        )
        solver.solve(self._model)
        if solver.status() not in (SolveStatus.OPTIMAL, SolveStatus.FEASIBLE):
            return None
        return Solved(
            values=tuple(round(value) for value in solver.variable_values().tolist()),
            value=float(solver.objective_value()),
            bound=float(solver.best_objective_bound()),
        )
