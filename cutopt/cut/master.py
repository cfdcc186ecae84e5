"""Choose how often each pattern is cut: fewest tiles, then least work, as a mixed-integer programme.

min   tiles                                 then minutes at that number of tiles; or one weighted aim
s.t.  for each class    patterns that make it  =   its demand
      for each offcut   patterns cut from it   <=  1
      for each length   wood needed this long - wood left this long  <=  spare backers

No more is made than is wanted: a tile for pieces that nobody wants would be one for the wood of its backers alone, and
that wood is gone when those pieces are left out. What is left of a set without a piece is a set too, so that nothing is
lost.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
import numpy.typing as npt

from cutopt.cut.programme import Programme, Term
from cutopt.cut.records import Pattern

WORK_GAP = 1e-3  # of the minutes: the last tenth of a percent of the work is not searched for
COLUMNS_A_SECOND = 800_000  # of all nodes: the limit is a count, so that the same job gives the same plan everywhere
MOST_NODES_FROM = 4_000  # columns: smaller programmes have no more nodes than one of that size
MOST_ADDED = 8  # lengths that are found short and added at once
SWAY = 0.05  # how much dearer work may be made by chance, so that of plans of as many tiles another one is found
GOLDEN = (math.sqrt(5) - 1) / 2  # whose multiples are spread evenly between whole numbers

Floats = npt.NDArray[np.float64]
Numbers = npt.NDArray[np.int64]


@dataclass(frozen=True, kw_only=True, slots=True)
class Weights:
    """What a tile, a minute and a spare backer count in the aim; `tiles_first` puts tiles before all else."""

    tile: float
    minute: float
    spare: float
    tiles_first: bool


@dataclass(frozen=True, kw_only=True, slots=True)
class Hint:
    """A choice to start from: how often each pattern is cut, and how many spare backers are bought."""

    times: tuple[int, ...]
    spares: int


@dataclass(frozen=True, kw_only=True, slots=True)
class Answer(Hint):
    """How often each pattern is cut, in how many new tiles, and how many spare backers are bought.

    `bound`: what no choice of these patterns goes below, in the units of what was asked for, of which it takes `value`.
    """

    tiles: int
    bound: float
    value: float

    @property
    def possible(self) -> bool:
        """Whether any choice does."""
        return any(self.times)


@dataclass(kw_only=True)
class Master:
    """The programme over a list of patterns. Wood is balanced at the lengths that are `scarce`, and at each other that
    is found short. All times are 0 where the spare backers are too few for any choice. `other`: which of many plans of
    about as little work is taken, where tiles come first; 0 for the one of least.
    """

    patterns: Sequence[Pattern]
    demands: Sequence[int]
    most_spares: int
    weights: Weights
    seconds: float
    scarce: Sequence[int]
    other: int = 0

    def fewest(self, hint: Hint | None = None) -> Answer:
        """The choice of fewest tiles."""
        counted = Weights(tile=1.0, minute=0.0, spare=0.0, tiles_first=True)
        return self._balanced(lambda model: model.aimed(counted, hint))

    def least_work(self, tiles: int, hint: Hint) -> Answer:
        """The best choice by the weights; where tiles come first, of no more than so many."""

        def solve(model: _Model) -> Answer:
            if not self.weights.tiles_first:
                return model.aimed(self.weights, hint)
            model.hold_tiles(tiles)
            work = Weights(tile=0.0, minute=self.weights.minute, spare=self.weights.spare, tiles_first=True)
            if not self.other:
                return model.aimed(work, hint)
            sway = (1 + SWAY * (n * self.other * GOLDEN % 1) for n in range(1, len(self.patterns) + 1))
            costs = [cost * more for cost, more in zip(_costs(self.patterns, work), sway, strict=True)]
            return model.solved(costs, work.spare, hint)

        return self._balanced(solve)

    def larger_offcuts(self, values: Sequence[float], known: Hint) -> Answer:
        """Of choices with no more tiles and no more work than a known one, the one whose patterns are worth most by
        what they leave.
        """

        def solve(model: _Model) -> Answer:
            if self.weights.tiles_first:
                model.hold_tiles(sum(n for n, p in zip(known.times, self.patterns, strict=True) if p.source == 0))
            model.hold_work(known)
            return model.solved([-value for value in values], 0.0, known)

        return self._balanced(solve)

    @cached_property
    def _wood(self) -> tuple[tuple[Floats, Numbers], ...]:
        """Lengths wanted, and left, each with the number of its pattern."""
        found = []
        for some in ([p.needs for p in self.patterns], [p.had for p in self.patterns]):
            numbers = np.repeat(np.arange(len(some)), [len(lengths) for lengths in some])
            found.append((np.array([length for lengths in some for length in lengths], dtype=float), numbers))
        return tuple(found)

    def nets(self, length: int) -> Numbers:
        """Of each pattern, backers at least this long that it wants hung, less those that it leaves."""
        wanted, left = (
            np.bincount(numbers[lengths >= length], minlength=len(self.patterns)) for lengths, numbers in self._wood
        )
        return np.asarray(wanted - left)

    def _balanced(self, solve: Callable[[_Model], Answer]) -> Answer:
        """Solve until wood is balanced at every length: lengths found short are added."""
        lengths = list(self.scarce)
        while True:
            answer = solve(_Model(self, lengths))
            short = [length for length in self._short_of(answer) if length not in lengths]
            if not short:
                return answer
            lengths += short[:: max(1, len(short) // MOST_ADDED)]

    def _short_of(self, answer: Answer) -> list[int]:
        """The lengths of which the chosen patterns want more than they leave and the spares give, the longest first."""
        balance: Counter[int] = Counter()
        for pattern, times in zip(self.patterns, answer.times, strict=True):
            for sign, lengths in ((times, pattern.needs), (-times, pattern.had)):
                for length in lengths if times else ():
                    balance[length] += sign
        short, found = 0, []
        for length in sorted(balance, reverse=True):
            short += balance[length]
            if short > answer.spares and balance[length] > 0:
                found.append(length)
        return found


class _Model:
    """The programme in the solver's words."""

    def __init__(self, master: Master, lengths: Sequence[int]) -> None:
        self.master = master
        self.programme = Programme()
        most = max(master.demands, default=0)
        self.times = [self.programme.variable(most) for _ in master.patterns]
        self.spares = self.programme.variable(master.most_spares)
        self._cover()
        self._rack()
        self._balance_wood(lengths)

    def _cover(self) -> None:
        """Each class is made as often as the job wants it, and no more often."""
        rows: list[list[Term]] = [[] for _ in self.master.demands]
        for variable, pattern in zip(self.times, self.master.patterns, strict=True):
            for kind, times in Counter(pattern.kinds).items():
                rows[kind].append((variable, times))
        for demand, terms in zip(self.master.demands, rows, strict=True):
            self.programme.row(demand, demand, terms)

    def _rack(self) -> None:
        """A racked offcut is there once."""
        rows: dict[int, list[Term]] = {}
        for variable, pattern in zip(self.times, self.master.patterns, strict=True):
            if pattern.source:
                rows.setdefault(pattern.source, []).append((variable, 1))
        for terms in rows.values():
            self.programme.at_most(1, terms)

    def _balance_wood(self, lengths: Sequence[int]) -> None:
        """Backers at least this long: no more are hung from elsewhere than other tiles leave and spares give."""
        for length in lengths:
            nets = self.master.nets(length)
            terms = [(self.times[number], float(nets[number])) for number in np.flatnonzero(nets).tolist()]
            self.programme.at_most(0, [(self.spares, -1), *terms])

    def hold_work(self, known: Hint) -> None:
        """No more than a known choice takes, by the weights; a solver's rounding is let pass."""
        weights = self.master.weights
        if weights.tiles_first:
            weights = replace(weights, tile=0.0)
        costs = [*_costs(self.master.patterns, weights), weights.spare]
        most = sum(cost * times for cost, times in zip(costs, (*known.times, known.spares), strict=True))
        terms = zip((*self.times, self.spares), costs, strict=True)
        self.programme.at_most(most + 1e-6 * max(most, 1.0), terms)

    def hold_tiles(self, tiles: int) -> None:
        """The second solve may not take more tiles than the first."""
        new = [n for n, pattern in zip(self.times, self.master.patterns, strict=True) if pattern.source == 0]
        self.programme.at_most(tiles, [(variable, 1) for variable in new])

    def aimed(self, weights: Weights, hint: Hint | None) -> Answer:
        """The best choice found by the weights."""
        gap = 0.0 if weights.tile else WORK_GAP
        return self.solved(_costs(self.master.patterns, weights), weights.spare, hint, gap)

    def solved(self, costs: Sequence[float], spare: float, hint: Hint | None, gap: float = WORK_GAP) -> Answer:
        """The best choice found where each pattern, and each spare backer, costs so much; to a share of its value."""
        nodes = max(10, round(self.master.seconds * COLUMNS_A_SECOND / max(len(self.times), MOST_NODES_FROM)))
        known = None if hint is None else (*hint.times, hint.spares)
        found = self.programme.least([*costs, spare], nodes=nodes, gap=gap, hint=known)
        if found is None:
            return Answer(times=(0,) * len(self.times), tiles=0, spares=0, bound=0.0, value=0.0)
        *times, spares = found.values
        return Answer(
            times=tuple(times),
            tiles=sum(n for n, pattern in zip(times, self.master.patterns, strict=True) if pattern.source == 0),
            spares=spares,
            bound=found.bound,
            value=found.value,
        )


def _costs(patterns: Sequence[Pattern], weights: Weights) -> list[float]:
    """What each pattern counts in an aim."""
    return [(0.0 if p.source else weights.tile) + weights.minute * p.minutes for p in patterns]
