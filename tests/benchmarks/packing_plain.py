"""The comparison: one plain CP-SAT model, every item assigned to a sheet, no two of a sheet overlapping.

Its packings need not be guillotine, so that it solves an easier problem than `pack`; no kerf, no hints, one worker.
"""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from dataclasses import dataclass

from ortools.sat.python import cp_model


@dataclass(frozen=True, kw_only=True, slots=True)
class PlainAnswer:
    """The sheets found (None where none were), the bound, and the seconds by the solver's own clock."""

    value: int | None
    bound: int
    seconds: float


def plain_model(items: Sequence[Sequence[int]], stock: Sequence[int], most: int, seconds: float) -> PlainAnswer:
    """At most `most` sheets; plain lengths are items of height 1."""
    model = cp_model.CpModel()
    # used[s]: sheet s is cut into, in order, so that sheets are not told apart by number alone
    used = [model.new_bool_var("") for _ in range(most)]
    for before, after in itertools.pairwise(used):
        model.add_implication(after, before)
    across: list[list[cp_model.IntervalVar]] = [[] for _ in used]
    along: list[list[cp_model.IntervalVar]] = [[] for _ in used]
    for wide, high in items:
        x, y = model.new_int_var(0, stock[0] - wide, ""), model.new_int_var(0, stock[1] - high, "")
        on = [model.new_bool_var("") for _ in used]
        model.add_exactly_one(on)
        for sheet, here in enumerate(on):
            model.add_implication(here, used[sheet])
            across[sheet].append(model.new_optional_fixed_size_interval_var(x, wide, here, ""))
            along[sheet].append(model.new_optional_fixed_size_interval_var(y, high, here, ""))
    for sheet in range(most):
        model.add_no_overlap_2d(across[sheet], along[sheet])
    model.minimize(sum(used))
    solver = cp_model.CpSolver()
    solver.parameters.num_workers = 1
    solver.parameters.catch_sigint_signal = False  # or Ctrl-C would end this process at once ever after
    solver.parameters.max_time_in_seconds = seconds
    status = solver.solve(model)
    found = status in (cp_model.OPTIMAL, cp_model.FEASIBLE)
    value = round(solver.objective_value) if found else None
    return PlainAnswer(value=value, bound=max(1, round(solver.best_objective_bound)), seconds=solver.wall_time)
