"""The linear programme over sets: small ones by hand, and that it starts anew where numbers go astray."""

from __future__ import annotations

import numpy as np
import pytest
from ortools.linear_solver import pywraplp

from cutopt.cut.relaxing import Worth, relaxed
from cutopt.cut.together import Sets

# three places, one a class: each pair goes together, the three do not (an odd cycle, half of each pair: 1.5 tiles)
PAIRS = Sets(
    layers=(np.array([[0], [1], [2]], dtype=np.int32), np.array([[0, 1], [0, 2], [1, 2]], dtype=np.int32)),
    kinds=np.array([0, 1, 2], dtype=np.int32),
    complete=True,
)
COUNT = Worth(tile=1.0, places=np.zeros(3))


def test_an_odd_cycle_takes_one_and_a_half() -> None:
    answer = relaxed(PAIRS, [1, 1, 1], COUNT)
    assert answer.exact
    assert answer.value == pytest.approx(1.5)
    assert answer.prices.tolist() == pytest.approx([0.5, 0.5, 0.5])


def test_what_is_left_out_costs_what_it_is_said_to() -> None:
    assert relaxed(PAIRS, [1, 1, 1], COUNT, left_out=[0.1, 0.1, 0.1]).value == pytest.approx(0.3)


def test_a_solver_that_goes_astray_starts_anew(monkeypatch: pytest.MonkeyPatch) -> None:
    solve, calls = pywraplp.Solver.Solve, []

    def astray(self: pywraplp.Solver) -> int:
        calls.append(self)
        return int(pywraplp.Solver.ABNORMAL) if len(calls) == 2 else int(solve(self))

    monkeypatch.setattr(pywraplp.Solver, "Solve", astray)
    assert relaxed(PAIRS, [1, 1, 1], COUNT).value == pytest.approx(1.5)
    assert len({id(solver) for solver in calls}) == 2
