"""Which of the patterns found are cut: the set covering programme, its prices, and its whole-number answers.

min   sheets
s.t.  for each kind    pieces that the chosen patterns make  >=  its demand
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from ortools.linear_solver import pywraplp

from cutopt.errors import OurFault
from cutopt.packing.effort import Effort
from cutopt.packing.filling import Counts, Fills, Moves

Floats = NDArray[np.float64]
Places = NDArray[np.intp]


# the first choice will do; strong branching, cuts, conflicts and programmes within the programme cost more time here
# than they save
_WITHIN = (
    "rens",
    "rins",
    "alns",
    "crossover",
    "clique",
    "vbounds",
    "locks",
    "feaspump",
    "undercover",
    "gins",
    "lpface",
)
_QUICK = """limits/solutions = 1
branching/pscost/priority = 1000000
presolving/maxrestarts = 0
separating/maxrounds = 0
separating/maxroundsroot = 0
conflict/enable = FALSE
misc/catchctrlc = FALSE
""" + "".join(f"heuristics/{name}/freq = -1\n" for name in _WITHIN)


class Pool:
    """Every pattern found, once: `counts` (patterns, kinds), and the moves that cut it."""

    def __init__(self, kinds: int) -> None:
        self._room = np.zeros((1024, kinds), np.int16)
        self._moves: list[Moves] = []
        self._place: dict[bytes, int] = {}
        # two patterns are told apart by a number each first, so that most of those known already cost little
        self._mark = np.random.default_rng(1).integers(1, 2**62, kinds)

    def __len__(self) -> int:
        return len(self._moves)

    @property
    def counts(self) -> Counts:
        return self._room[: len(self._moves)]

    def moves(self, place: int) -> Moves:
        return self._moves[place]

    def add(self, fills: Fills, rows: Iterable[int] | None = None) -> list[int]:
        """The places of these rows (all if none are named) in the pool, each pattern once."""
        which = np.arange(len(fills.used)) if rows is None else np.fromiter(rows, np.intp)
        with np.errstate(over="ignore"):
            marks = fills.used[which].astype(np.int64) @ self._mark
        _, first = np.unique(marks, return_index=True)
        return [self._add(fills.used[row], fills.moves[row]) for row in which[np.sort(first)]]

    def _add(self, used: Counts, moves: Moves) -> int:
        key = used.tobytes()
        known = self._place.get(key)
        if known is not None:
            return known
        place = len(self._moves)
        if place == len(self._room):
            self._room = np.concatenate([self._room, np.zeros_like(self._room)])
        self._room[place] = used
        self._moves.append(moves.copy())
        self._place[key] = place
        return place


@dataclass(frozen=True, kw_only=True, slots=True)
class Prices:
    """The linear programme's answer: sheets, how often each column is cut, what a piece of each kind is worth."""

    sheets: float
    times: Floats
    worth: Floats


class Cover:
    """The linear programme over a growing list of patterns (GLOP)."""

    def __init__(self, demand: NDArray[np.int64], effort: Effort) -> None:
        self.demand = demand
        self.effort = effort
        self.columns: list[int] = []
        self._entries = 0
        self._restart()

    def _restart(self) -> None:
        self._solver = _solver("GLOP")
        self._rows = [self._solver.Constraint(float(d), self._solver.infinity()) for d in self.demand]
        self._times: list[pywraplp.Variable] = []
        self._entries = 0
        self._solver.Objective().SetMinimization()

    def add(self, pool: Pool, places: Iterable[int]) -> None:
        known = set(self.columns)
        for place in places:
            if place not in known:
                known.add(place)
                self.write(np.minimum(pool.counts[place], self.demand))
                self.columns.append(place)

    def keep(self, pool: Pool, places: list[int]) -> None:
        """Only these columns stay."""
        self._restart()
        self.columns = places
        for place in places:
            self.write(np.minimum(pool.counts[place], self.demand))

    def write(self, counts: NDArray[np.int64]) -> None:
        """A column; `columns` does not know it unless it comes by `add` or `keep`."""
        time = self._solver.NumVar(0, self._solver.infinity(), "")
        self._solver.Objective().SetCoefficient(time, 1)
        for kind in np.flatnonzero(counts).tolist():
            self._rows[kind].SetCoefficient(time, float(counts[kind]))
            self._entries += 1
        self._times.append(time)

    def solve(self) -> Prices:
        self.effort.programme(self._entries, len(self.demand))
        if self._solver.Solve() != pywraplp.Solver.OPTIMAL:
            raise OurFault("the covering programme of a packing has no answer")
        worth = np.maximum(0.0, np.array([row.dual_value() for row in self._rows]))
        times = np.array([time.solution_value() for time in self._times])
        return Prices(sheets=float(self._solver.Objective().Value()), times=times, worth=worth)


def choose(counts: Counts, demand: NDArray[np.int64], most: int, nodes: int, effort: Effort) -> list[int] | None:
    """Rows of `counts` (a row may come twice) that make the demand in at most `most` sheets, or None if none is found.

    SCIP stops at the first such choice or after `nodes` nodes, or fewer where the effort left is less.
    """
    solver = _solver("SCIP")
    entries = 0
    rows = [solver.Constraint(float(d), solver.infinity()) for d in demand]
    few = solver.Constraint(0, most)
    times = []
    for pattern in counts:
        time = solver.IntVar(0, int(demand.max()), "")
        few.SetCoefficient(time, 1)
        for kind in np.flatnonzero(pattern).tolist():
            rows[kind].SetCoefficient(time, float(pattern[kind]))
            entries += 1
        times.append(time)
    solver.Objective().SetMinimization()
    nodes = min(nodes, effort.nodes(entries, len(demand)))
    if not solver.SetSolverSpecificParametersAsString(f"limits/nodes = {nodes}\n{_QUICK}"):
        raise OurFault("the installed SCIP does not know a parameter")
    status = solver.Solve()
    effort.branching(entries, int(solver.iterations()))
    if status not in (pywraplp.Solver.OPTIMAL, pywraplp.Solver.FEASIBLE):
        return None
    return [row for row, time in enumerate(times) for _ in range(round(time.solution_value()))]


def _solver(name: str) -> pywraplp.Solver:
    solver = pywraplp.Solver.CreateSolver(name)
    if solver is None:
        raise OurFault(f"the installed ortools has no {name} solver")
    return solver
