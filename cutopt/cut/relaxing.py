"""The linear programme over all sets of places: a bound under every cut plan, and prices of the classes.

min   cost of the sets taken, in any fraction
s.t.  for each class     sets that make it  >=  its demand
      for each offcut    sets cut from it   <=  1
      for each length    wood wanted this long - wood left this long  <=  spare backers

Solved over few sets, to which those that the prices call for are added until no set is worth it (column generation
after Gilmore and Gomory, Oper. Res. 9, 1961); since all sets are looked at, the value is that of the whole programme.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import ortools.linear_solver.pywraplp as pywraplp

from cutopt.cut.together import Numbers, Sets
from cutopt.cut.wood import Balance
from cutopt.errors import OurFault

MOST_TAKEN = 60_000  # sets
BEYOND = 1e4  # what a backer beyond those allowed costs, so that there is always a solution
AT_ONCE = 300  # sets added in a round
LOOKED_AT = 6_000  # of the best, for sets of different classes
EACH_KIND = 4  # sets of a class added in a round
EXACT = 1e-7

Floats = npt.NDArray[np.float64]


@dataclass(frozen=True, kw_only=True, slots=True)
class Worth:
    """What a set costs: a tile, and a sum over its places, each by number; and what a bought backer does.

    `sources`: by place the racked offcut that it is on, which costs no tile, or 0; None where all are on new tiles.
    """

    tile: float
    places: Floats
    spare: float = 0.0
    sources: Numbers | None = None

    def source_of(self, layer: Numbers) -> Numbers:
        """What each set of a layer is cut from."""
        if self.sources is None:
            return np.zeros(len(layer), dtype=np.int32)
        return np.asarray(self.sources[layer[:, 0]])


@dataclass(frozen=True, kw_only=True, slots=True)
class Relaxed:
    """The programme's value, the price of each class, by layer each set's reduced cost, and the sets that were taken
    in, as (layer, row). `scarcity`: the price of wood at each length, at most 0.

    `value` is a bound only where `exact`: all sets are known and none is worth adding.
    """

    value: float
    prices: Floats
    excess: tuple[Floats, ...]
    taken: tuple[tuple[int, int], ...]
    scarcity: tuple[float, ...]
    exact: bool

    @property
    def possible(self) -> bool:
        """Whether the spare backers allowed are enough."""
        return self.value < BEYOND / 2


def relaxed(
    sets: Sets,
    demands: Sequence[int],
    worth: Worth,
    *,
    wood: Balance | None = None,
    left_out: Sequence[float] | None = None,
) -> Relaxed:
    """Solve the programme. `wood`: its balance, where it counts; `left_out`: what it costs to make one of a class
    fewer, else all are made.
    """
    sources = [worth.source_of(layer) for layer in sets.layers]
    offcuts = max((int(layer.max()) for layer in sources if len(layer)), default=0)
    programme = _Programme(demands, left_out or [], wood, worth.spare, offcuts)
    kinds_of = [sets.kinds[layer] for layer in sets.layers]
    costs = [
        worth.tile * (source == 0) + worth.places[layer].sum(axis=1)
        for source, layer in zip(sources, sets.layers, strict=True)
    ]
    cheapest: dict[int, int] = {}
    for row in np.argsort(costs[0] + BEYOND * sources[0], kind="stable").tolist():  # new tiles first: there are enough
        cheapest.setdefault(int(kinds_of[0][row, 0]), row)
    taken: dict[tuple[int, int], None] = {}
    fresh = [(0, row) for row in cheapest.values()]
    while fresh and len(taken) < MOST_TAKEN:
        for layer, row in fresh:
            taken[layer, row] = None
            net = wood.nets[layer][row] if wood else None
            source = int(sources[layer][row])
            programme.add(_Column(kinds=kinds_of[layer][row], cost=float(costs[layer][row]), net=net, source=source))
        prices, scarcity, racked = programme.solve()
        own = [cost - racked[source] for cost, source in zip(costs, sources, strict=True)]
        excess = _excess(kinds_of, own, prices, scarcity, wood)
        fresh = [key for key in _worth_adding(kinds_of, excess) if key not in taken]
    return Relaxed(
        value=programme.value,
        prices=prices,
        excess=excess,
        taken=tuple(taken),
        scarcity=tuple(scarcity.tolist()),
        exact=not fresh and sets.complete,
    )


def _excess(
    kinds_of: Sequence[Numbers], costs: Sequence[Floats], prices: Floats, scarcity: Floats, wood: Balance | None
) -> tuple[Floats, ...]:
    """By layer, how much more each set costs than what it makes is worth (its reduced cost)."""
    found = [cost - prices[kinds].sum(axis=1) for kinds, cost in zip(kinds_of, costs, strict=True)]
    if wood:
        found = [one - net @ scarcity for one, net in zip(found, wood.nets, strict=True)]
    return tuple(found)


def _worth_adding(kinds_of: Sequence[Numbers], excess: Sequence[Floats]) -> list[tuple[int, int]]:
    """Sets that cost less than what they make is worth, the best first, not all of the same classes."""
    found: list[tuple[float, int, int]] = []
    for number, over in enumerate(excess):
        gain = -over
        good = np.flatnonzero(gain > EXACT)
        if len(good) > LOOKED_AT:
            good = good[np.argpartition(-gain[good], LOOKED_AT)[:LOOKED_AT]]
        found += [(-float(gain[row]), number, int(row)) for row in good]
    found.sort()
    times: dict[int, int] = {}
    chosen: list[tuple[int, int]] = []
    for _, number, row in found:
        kinds = kinds_of[number][row].tolist()
        if all(times.get(kind, 0) < EACH_KIND for kind in kinds):
            for kind in kinds:
                times[kind] = times.get(kind, 0) + 1
            chosen.append((number, row))
            if len(chosen) >= AT_ONCE:
                break
    return chosen


@dataclass(frozen=True, kw_only=True, slots=True)
class _Column:
    """A set as the programme sees it: classes made, cost, net of wood, and the offcut it is cut from, 0 for none."""

    kinds: Numbers
    cost: float
    net: npt.NDArray[np.int16] | None
    source: int


class _Programme:
    """The programme over the sets added so far, in the solver's words."""

    def __init__(
        self, demands: Sequence[int], costs: Sequence[float], wood: Balance | None, spare: float, offcuts: int
    ) -> None:
        self.demands, self.balance, self.spare, self.offcuts = demands, wood, spare, offcuts
        self.columns = [
            _Column(kinds=np.array([k], dtype=np.int32), cost=cost, net=None, source=0) for k, cost in enumerate(costs)
        ]
        self._start()

    def _start(self) -> None:
        """The programme anew."""
        solver = pywraplp.Solver.CreateSolver("GLOP")
        if solver is None:
            raise OurFault("the installed ortools has no GLOP solver")
        self.solver = solver
        self.rows = [solver.Constraint(demand, solver.infinity()) for demand in self.demands]
        self.wood = [solver.Constraint(-solver.infinity(), 0) for _ in (self.balance.lengths if self.balance else ())]
        self.racked = [solver.Constraint(-solver.infinity(), 1) for _ in range(self.offcuts)]
        self.objective = solver.Objective()
        self.objective.SetMinimization()
        if self.balance:
            self._buy(self.balance.most_spares, self.spare)
            self._buy(solver.infinity(), BEYOND)
        for column in self.columns:
            self._join(column)

    def _buy(self, most: float, cost: float) -> None:
        """Backers bought at a price, at most so many."""
        variable = self.solver.NumVar(0, most, "")
        self.objective.SetCoefficient(variable, cost)
        for row in self.wood:
            row.SetCoefficient(variable, -1)

    def add(self, column: _Column) -> None:
        self.columns.append(column)
        self._join(column)

    def _join(self, column: _Column) -> None:
        variable, net = self.solver.NumVar(0, self.solver.infinity(), ""), column.net
        self.objective.SetCoefficient(variable, column.cost)
        for kind, times in zip(*np.unique(column.kinds, return_counts=True), strict=True):
            self.rows[int(kind)].SetCoefficient(variable, float(times))
        for row, value in zip(self.wood, net if net is not None else (), strict=net is not None):
            row.SetCoefficient(variable, float(value))
        if column.source:
            self.racked[column.source - 1].SetCoefficient(variable, 1)

    def solve(self) -> tuple[Floats, Floats, Floats]:
        """The prices of the classes, of wood at each length (at most 0), and of each source (at most 0, a new tile's
        0), at the best fractions.
        """
        status = self.solver.Solve()
        if status != pywraplp.Solver.OPTIMAL:  # numbers may go astray from where the last solution left off
            self._start()
            status = self.solver.Solve()
        if status != pywraplp.Solver.OPTIMAL:
            raise OurFault("the linear programme over sets of places has no solution")
        rows, wood, racked = (
            np.array([row.dual_value() for row in some]) for some in (self.rows, self.wood, self.racked)
        )
        return rows, wood, np.concatenate(([0.0], racked))

    @property
    def value(self) -> float:
        return float(self.objective.Value())
