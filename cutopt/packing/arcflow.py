"""Can these lengths be cut from so many bars? An arc flow, where a bar is a path from 0 to its length.

Nodes are sums of lengths, an arc from a to a + length cuts that length there; lengths fall along a path, so that each
set of lengths is one path (Valerio de Carvalho, Annals of Operations Research 86 (1999)). At a given number of bars all
bars together may waste no more than `budget`, so a path that wastes more is left out; that closes triplets, where the
budget is nought, as exact sums only are left (in the manner of the reduced graphs of Brandao and Pedroso, Computers &
Operations Research 69 (2016)).
"""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from typing import Literal

from ortools.linear_solver import pywraplp

from cutopt.errors import OurFault
from cutopt.packing.effort import Effort

MOST_ARCS = 30_000

Verdict = Literal["cut", "impossible", "open"]


@dataclass(frozen=True, kw_only=True, slots=True)
class Bars:
    """The lengths (falling, each once), how often each is wanted, and the bar."""

    lengths: tuple[int, ...]
    demand: tuple[int, ...]
    stock: int

    @property
    def total(self) -> int:
        return sum(length * count for length, count in zip(self.lengths, self.demand, strict=True))


Arc = tuple[int, int]  # from a sum, the place of a length


def arcs_of(bars: Bars, budget: int) -> list[Arc] | None:
    """The arcs of all paths that waste at most `budget`, or None where there are too many."""
    layers: list[set[int]] = []  # sums with which the lengths from here on may start
    reached, kept, most = {0}, 0, 40 * MOST_ARCS  # a set of sums for each length
    for length, count in zip(bars.lengths, bars.demand, strict=True):
        layers.append(set(reached))
        kept += len(reached)
        new = reached
        for _ in range(min(count, bars.stock // length)):
            new = {a + length for a in new if a + length <= bars.stock} - reached
            if not new:
                break
            reached |= new
            if kept + len(reached) > most:
                return None
    return _ending_well(bars, budget, layers, reached)


def _ending_well(bars: Bars, budget: int, layers: list[set[int]], reached: set[int]) -> list[Arc] | None:
    """From the end: sums from which some path reaches the bar's end with little enough waste."""
    good = {a for a in reached if bars.stock - a <= budget}
    arcs: list[Arc] = []
    for place in range(len(layers) - 1, -1, -1):
        length, starts = bars.lengths[place], layers[place]
        copies = min(bars.demand[place], bars.stock // length)
        # sums at which a copy of this length may be cut: started here, or behind other copies of it
        at, front = set(starts), set(starts)
        for _ in range(copies - 1):
            front = {a + length for a in front if a + length <= bars.stock} - at
            at |= front
        back = set(good)
        for _ in range(copies):
            back = {a - length for a in back if a - length in at} - good
            if not back:
                break
            good |= back
        arcs += [(a, place) for a in sorted(at) if a + length in good and a in good]
        if len(arcs) > MOST_ARCS:
            return None
        good &= starts | {a for a in good if bars.stock - a <= budget}
    return arcs


class Flow:
    """The programme: `number` bars leave 0, every length is cut as often as it is wanted, what comes goes on."""

    def __init__(self, bars: Bars, arcs: list[Arc], budget: int, effort: Effort) -> None:
        self.bars, self.arcs, self.budget, self.effort = bars, arcs, budget, effort

    def solve(self, number: int, nodes: int) -> tuple[Verdict, list[list[int]]]:
        """Whether `number` bars suffice, and if so the places of the lengths of each bar."""
        solver = pywraplp.Solver.CreateSolver("SCIP")
        if solver is None:
            raise OurFault("the installed ortools has no SCIP solver")
        flows = self._write(solver, number)
        solver.SetSolverSpecificParametersAsString(
            f"limits/nodes = {nodes}\nlimits/solutions = 1\nmisc/catchctrlc = FALSE\n"
        )
        status = solver.Solve()
        self.effort.branching(9 * len(flows), int(solver.iterations()))
        if status == pywraplp.Solver.INFEASIBLE:
            return "impossible", []
        if status not in (pywraplp.Solver.OPTIMAL, pywraplp.Solver.FEASIBLE):
            return "open", []
        return "cut", self._paths([round(f.solution_value()) for f in flows], number)

    def relaxed(self) -> float:
        """How many bars the linear programme takes, for arcs with any waste; 0 where it finds no answer."""
        solver = pywraplp.Solver.CreateSolver("GLOP")
        if solver is None:
            raise OurFault("the installed ortools has no GLOP solver")
        leaving = solver.NumVar(0, solver.infinity(), "")
        self._write(solver, sum(self.bars.demand), leaving)
        solver.Minimize(leaving)
        self.effort.programme(10 * len(self.arcs))
        return float(leaving.solution_value()) if solver.Solve() == pywraplp.Solver.OPTIMAL else 0.0

    def _write(
        self, solver: pywraplp.Solver, number: int, leaving: pywraplp.Variable | None = None
    ) -> list[pywraplp.Variable]:
        """The flow on each arc; `number` bars leave 0, or as many as the variable `leaving` says."""
        nodes = sorted({a for a, _ in self.arcs} | {a + self.bars.lengths[p] for a, p in self.arcs})
        # what comes to a sum goes on, or ends there as a bar with the rest wasted
        rows = {a: solver.Constraint(0, 0) for a in nodes if a}
        rows[0] = solver.Constraint(-number, -number) if leaving is None else solver.Constraint(0, 0)
        if leaving is not None:
            rows[0].SetCoefficient(leaving, 1)
        wanted = [solver.Constraint(d, d) for d in self.bars.demand]
        flows = []
        for a, place in self.arcs:
            flow = solver.IntVar(0, min(number, self.bars.demand[place]), "")
            rows[a].SetCoefficient(flow, -1)
            rows[a + self.bars.lengths[place]].SetCoefficient(flow, 1)
            wanted[place].SetCoefficient(flow, 1)
            flows.append(flow)
        for a in nodes:
            if a and self.bars.stock - a <= self.budget:
                rows[a].SetCoefficient(solver.IntVar(0, number, ""), -1)
        return flows

    def _paths(self, flows: list[int], number: int) -> list[list[int]]:
        """The flow taken apart into bars."""
        leaving: dict[int, list[list[int]]] = defaultdict(list)
        coming: dict[int, int] = defaultdict(int)
        for (a, place), flow in zip(self.arcs, flows, strict=True):
            if flow:
                leaving[a].append([place, flow])
                coming[a + self.bars.lengths[place]] += flow
        ending = {a: n - sum(flow for _, flow in leaving[a]) for a, n in coming.items()}
        paths = []
        for _ in range(number):
            a, path = 0, list[int]()
            while leaving[a] and (a == 0 or ending.get(a, 0) == 0):
                arc = leaving[a][-1]
                arc[1] -= 1
                if arc[1] == 0:
                    leaving[a].pop()
                path.append(arc[0])
                a += self.bars.lengths[arc[0]]
            if a:
                ending[a] -= 1
            paths.append(path)
        return paths
