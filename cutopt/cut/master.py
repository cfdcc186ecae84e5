"""Choose how often each pattern is cut: fewest tiles, then least work, as a mixed-integer programme.

min   tiles                                 then minutes at that number of tiles; or one weighted aim
s.t.  for each class    patterns that make it  >=  its demand
      for each length   wood needed this long - wood left this long  <=  spare backers
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Sequence
from dataclasses import dataclass

from ortools.linear_solver import pywraplp

from cutopt.cut.records import Pattern
from cutopt.errors import OurFault

WORK_GAP = 1e-3  # of the minutes: the last tenth of a percent of the work is not searched for
NODES_A_SECOND = 200  # the limit is a count of nodes, so that the same job gives the same plan on any machine


@dataclass(frozen=True, kw_only=True, slots=True)
class Weights:
    """What a tile, a minute and a spare backer count in the aim; `tiles_first` puts tiles before all else."""

    tile: float
    minute: float
    spare: float
    tiles_first: bool


@dataclass(frozen=True, kw_only=True, slots=True)
class Answer:
    """How often each pattern is cut, and how many spare backers are bought; none at all where no choice does.

    `bound`: what no choice of these patterns goes below, in the units of what was asked for.
    """

    times: tuple[int, ...]
    spares: int
    bound: float

    @property
    def tiles(self) -> int:
        """How many in all."""
        return sum(self.times)


@dataclass(kw_only=True)
class Master:
    """The programme over a list of patterns. Wood is balanced at the lengths that are `scarce`, and at each other that
    is found short. All times are 0 where the spare backers are too few for any choice."""

    patterns: Sequence[Pattern]
    demands: Sequence[int]
    most_spares: int
    weights: Weights
    seconds: float
    scarce: Sequence[int]

    def fewest(self, hint: Answer | None = None) -> Answer:
        """The choice of fewest tiles."""
        counted = Weights(tile=1.0, minute=0.0, spare=0.0, tiles_first=True)
        return self._balanced(lambda model: model.aimed(counted, hint))

    def least_work(self, tiles: int, hint: Answer) -> Answer:
        """The best choice by the weights; where tiles come first, of no more than so many."""

        def solve(model: _Model) -> Answer:
            if not self.weights.tiles_first:
                return model.aimed(self.weights, hint)
            model.hold_tiles(tiles)
            work = Weights(tile=0.0, minute=self.weights.minute, spare=self.weights.spare, tiles_first=True)
            return model.aimed(work, hint)

        return self._balanced(solve)

    def _balanced(self, solve: Callable[[_Model], Answer]) -> Answer:
        """Solve until wood is balanced at every length: a length found short is added."""
        lengths = list(self.scarce)
        while True:
            answer = solve(_Model(self, lengths))
            short = self._short_of(answer)
            if short is None or short in lengths:
                return answer
            lengths.append(short)

    def _short_of(self, answer: Answer) -> int | None:
        """The longest length of which the chosen patterns want more than they leave and the spares give."""
        balance: Counter[int] = Counter()
        for pattern, times in zip(self.patterns, answer.times, strict=True):
            for sign, lengths in ((times, pattern.needs), (-times, pattern.had)):
                for length in lengths if times else ():
                    balance[length] += sign
        short = 0
        for length in sorted(balance, reverse=True):
            short += balance[length]
            if short > answer.spares:
                return length
        return None


class _Model:
    """The programme in the solver's words."""

    def __init__(self, master: Master, lengths: Sequence[int]) -> None:
        self.master = master
        solver = pywraplp.Solver.CreateSolver("SCIP")
        if solver is None:
            raise OurFault("the installed ortools has no SCIP solver")
        self.solver = solver
        most = max(master.demands, default=0)
        self.times = [solver.IntVar(0, most, "") for _ in master.patterns]
        self.spares = solver.IntVar(0, master.most_spares, "")
        self._cover()
        self._balance_wood(lengths)

    def _cover(self) -> None:
        """Each class is made as often as the job wants it."""
        rows = [self.solver.Constraint(demand, self.solver.infinity()) for demand in self.master.demands]
        for variable, pattern in zip(self.times, self.master.patterns, strict=True):
            for kind in set(pattern.kinds):
                rows[kind].SetCoefficient(variable, pattern.kinds.count(kind))

    def _balance_wood(self, lengths: Sequence[int]) -> None:
        """Backers at least this long: no more are hung from elsewhere than other tiles leave and spares give."""
        for length in lengths:
            row = self.solver.Constraint(-self.solver.infinity(), 0)
            row.SetCoefficient(self.spares, -1)
            for variable, pattern in zip(self.times, self.master.patterns, strict=True):
                net = sum(n >= length for n in pattern.needs) - sum(h >= length for h in pattern.had)
                if net:
                    row.SetCoefficient(variable, net)

    def aim(self, weights: Weights) -> None:
        objective = self.solver.Objective()
        objective.Clear()
        for variable, pattern in zip(self.times, self.master.patterns, strict=True):
            objective.SetCoefficient(variable, weights.tile + weights.minute * pattern.minutes)
        objective.SetCoefficient(self.spares, weights.spare)
        objective.SetMinimization()

    def hold_tiles(self, tiles: int) -> None:
        """The second solve may not take more tiles than the first."""
        row = self.solver.Constraint(-self.solver.infinity(), tiles)
        for variable in self.times:
            row.SetCoefficient(variable, 1)

    def aimed(self, weights: Weights, hint: Answer | None) -> Answer:
        """The best choice found by the weights."""
        self.aim(weights)
        nodes = max(10, round(self.master.seconds * NODES_A_SECOND))
        gap = 0.0 if weights.tile else WORK_GAP
        self.solver.SetSolverSpecificParametersAsString(
            f"limits/nodes = {nodes}\nlimits/gap = {gap}\nrandomization/randomseedshift = 0\n"
        )
        if hint is not None:
            self.solver.SetHint([*self.times, self.spares], [*hint.times, hint.spares])
        status = self.solver.Solve()
        bound = float(self.solver.Objective().BestBound())
        if status not in (pywraplp.Solver.OPTIMAL, pywraplp.Solver.FEASIBLE):
            return Answer(times=(0,) * len(self.times), spares=0, bound=bound)
        times = tuple(round(variable.solution_value()) for variable in self.times)
        return Answer(times=times, spares=round(self.spares.solution_value()), bound=bound)
