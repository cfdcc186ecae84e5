"""The search for the cut plan: a bound over all sets of places, then whole numbers over those that may be part of it.

A set that costs more above what it makes is worth (its reduced cost) than lies between the bound and a known plan is in
no better plan; so the mixed-integer programme looks at the others alone and still proves what it proves for all.
"""

from __future__ import annotations

import math
from collections.abc import Collection, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from typing import NoReturn

import numpy as np

from cutopt.cut.master import Answer, Master, Weights
from cutopt.cut.patterns import minutes_of, pattern_of, shares_held
from cutopt.cut.records import Pattern, Place, SawTree
from cutopt.cut.relaxing import EXACT, Relaxed, Worth, relaxed
from cutopt.cut.sawing import saw_tree
from cutopt.cut.saws import Saws
from cutopt.cut.stock import Stock
from cutopt.cut.together import MOST_SETS, Sets, beside, clear_of_shared, only_pairs, parted, sets_of, singles
from cutopt.cut.wood import Balance, balance
from cutopt.errors import NoPlan
from cutopt.fit import Carpenter
from cutopt.geometry import NEAR, extent
from cutopt.job.records import Job

MOST_PATTERNS = 20_000  # in a mixed-integer programme that proves
FIRST_PATTERNS = 4_000  # in the first one
WORK_PATTERNS = 6_000  # in the one for least work
MOST_LENGTHS = 80  # at which wood is balanced in the bound
MOST_BALANCED = 60_000  # sets: more are not balanced in the bound
NONE = (np.inf, -np.inf)  # a stretch across that nothing lies in
Key = tuple[int, ...]  # places of a set by number


@dataclass(frozen=True, kw_only=True, slots=True)
class Found:
    """Sets by their places, how often each is cut, and backers bought.

    `bound`: tiles that no plan of these places goes below; `looked_at`: the sets that it was chosen from.
    """

    keys: tuple[Key, ...]
    times: tuple[int, ...]
    spares: int
    bound: int
    looked_at: tuple[Key, ...]


@dataclass(frozen=True, kw_only=True, slots=True)
class _Pool:
    """Sets looked at in whole numbers, by their places; `whole` if none that may matter is missing."""

    keys: tuple[Key, ...]
    whole: bool


@dataclass(frozen=True, kw_only=True)
class Solving:
    """The cut plan of sorted pieces as a programme over sets of places. All prices are in the units of the aim."""

    stock: Stock
    job: Job
    carpenter: Carpenter
    saws: Saws
    twins: bool
    _patterns: dict[Key, Pattern] = field(default_factory=dict)
    _trees: dict[Key, SawTree | None] = field(default_factory=dict)

    @cached_property
    def places(self) -> tuple[Place, ...]:
        return tuple(place for found in self.stock.places for place in found)

    @cached_property
    def sets(self) -> Sets:
        """All sets of places that go on one tile."""
        if self.job.cutting.strategy == "one-for-one":
            return singles(self.places)
        off = [share.whole if (share := place.fit.share) else NONE for place in self.places]
        shapes, kerf = [place.shape for place in self.places], self.job.cutting.straight_kerf
        boxes = np.array([extent(shape.outline) for shape in shapes])
        free = beside(shapes, kerf - NEAR)
        free &= clear_of_shared(boxes, np.array(off, dtype=float))
        most = [kind.demand if self.twins else len(kind.members) for kind in self.stock.classes]
        sets = sets_of(self.places, free, most, MOST_SETS)
        return self._held(only_pairs(sets, parted(shapes, kerf)))

    def _held(self, sets: Sets) -> Sets:
        """The sets without those whose shared slats nothing would hold."""
        sharing = np.array([place.fit.share is not None for place in self.places])
        layers = [sets.layers[0]]
        for layer in sets.layers[1:]:
            good = np.ones(len(layer), dtype=bool)
            for row in np.flatnonzero(sharing[layer].any(axis=1)):
                good[row] = shares_held([self.places[i] for i in layer[row].tolist()], self.carpenter)
            layers.append(layer[good])
        return Sets(layers=tuple(layers), kinds=sets.kinds, complete=sets.complete)

    @property
    def _tangled(self) -> bool:
        """Whether many sets cannot be sawn apart, so that each is looked at before it is chosen from."""
        return self.job.cutting.strategy == "anywhere"

    @cached_property
    def demands(self) -> list[int]:
        return [kind.demand for kind in self.stock.classes]

    @cached_property
    def weights(self) -> Weights:
        """What tiles, minutes and bought backers count in the aim."""
        money = self.job.money
        aims = {
            "tiles": Weights(
                tile=1, minute=1, spare=max(0.5, 60 * money.backer / max(money.hour, 1)), tiles_first=True
            ),
            "cost": Weights(tile=money.tile, minute=money.hour / 60, spare=money.backer, tiles_first=False),
            "minutes": Weights(tile=1e-3, minute=1, spare=0.01, tiles_first=False),
        }
        return aims[self.job.cutting.aim]

    @cached_property
    def wood(self) -> Balance | None:
        """The balance of backers; None where there are too many sets to look at it in each."""
        if sum(map(len, self.sets.layers)) > MOST_BALANCED:
            return None
        wanted = sorted({length for place in self.places for length in place.fit.needs}, reverse=True)
        lengths = wanted[:: max(1, math.ceil(len(wanted) / MOST_LENGTHS))]
        return balance(self.places, self.sets, self.carpenter.tile.backers, lengths, self.job.rules.spare_backers)

    @cached_property
    def counted(self) -> Relaxed:
        """The programme that counts tiles."""
        return self._relaxed(1.0, 0.0, 0.0)

    @cached_property
    def floor(self) -> int:
        """Tiles that no plan goes below: by the programme, or where there are too many sets for it, by the wood."""
        if self.counted.exact:
            return math.ceil(self.counted.value - 1e-6)
        return self.stock.least_wood(self.job.tile)

    def solved(self) -> Found:
        """The best plan. Raises `NoPlan` where the spare backers allowed are too few."""
        if not self.counted.possible:
            self._refuse()
        keys, fewest, bound = self._fewest()
        if self.weights.tiles_first:
            pool = self._pool(self.counted, fewest.tiles - self.counted.value, WORK_PATTERNS)
        else:
            aim = self.weights
            pool = self._pool(self._relaxed(aim.tile, aim.minute, aim.spare), math.inf, WORK_PATTERNS)
        wider, hint = _widened(keys, fewest, pool.keys)
        return self._worked(wider, hint, bound, fewest.tiles)

    def solved_without(self, known: Found, forbidden: Collection[Key]) -> Found:
        """A plan out of the sets looked at last without those that are forbidden. The bound stands."""
        keys = [key for key in known.looked_at if key not in forbidden]
        keys += [(n,) for n in range(len(self.places)) if (n,) not in forbidden]
        keys = list(dict.fromkeys(keys))
        times = {key: n for key, n in zip(known.keys, known.times, strict=True) if key not in forbidden}
        hint = Answer(times=tuple(times.get(key, 0) for key in keys), spares=known.spares, bound=0.0)
        return self._worked(keys, hint, known.bound, sum(known.times))

    def _worked(self, keys: Sequence[Key], hint: Answer, bound: int, tiles: int) -> Found:
        """Of plans out of the sets with no more tiles, the one of least work; or the best by another aim."""
        master = self._master(keys)
        answer = master.least_work(tiles, hint)
        if not answer.tiles:  # what was forbidden takes more tiles
            answer = master.fewest()
            answer = master.least_work(answer.tiles, answer) if answer.tiles else self._refuse()
        used = [(key, times) for key, times in zip(keys, answer.times, strict=True) if times]
        return Found(
            keys=tuple(key for key, _ in used),
            times=tuple(times for _, times in used),
            spares=answer.spares,
            bound=bound,
            looked_at=tuple(keys),
        )

    def pattern(self, key: Key) -> Pattern:
        """The pattern of places by number."""
        if key not in self._patterns:
            self._patterns[key] = pattern_of([self.places[i] for i in key], self.carpenter, self.saws)
        return self._patterns[key]

    def tree(self, key: Key) -> SawTree | None:
        """The cuts of places by number, None where no order of straight cuts separates them."""
        if key not in self._trees:
            self._trees[key] = saw_tree([self.places[i] for i in key], self.carpenter.outline, self.saws)
        return self._trees[key]

    def sawable(self, key: Key) -> bool:
        """Whether places can be sawn apart, with slats that share held."""
        return self.tree(key) is not None and shares_held([self.places[i] for i in key], self.carpenter)

    def _fewest(self) -> tuple[list[Key], Answer, int]:
        """Sets, how often each is cut in a plan of the fewest tiles found, and the bound on their number."""
        known = [tuple(self.sets.layers[layer][row].tolist()) for layer, row in self.counted.taken]
        near = self._pool(self.counted, EXACT, FIRST_PATTERNS)
        known = [key for key in known if not self._tangled or self.sawable(key)]
        keys = list(dict.fromkeys([*((n,) for n in range(len(self.places))), *known, *near.keys]))
        answer = self._master(keys).fewest()
        if answer.tiles and answer.tiles <= self.floor:
            return keys, answer, self.floor
        gap = answer.tiles - 1 - self.counted.value if answer.tiles else math.inf
        pool = self._pool(self.counted, gap, MOST_PATTERNS)
        wider, hint = _widened(keys, answer, pool.keys)
        better = self._master(wider).fewest(hint if answer.tiles else None)
        if not better.tiles:
            self._refuse()
        bound = min(max(self.floor, math.ceil(better.bound - 1e-6)), better.tiles) if pool.whole else self.floor
        return wider, better, bound

    def _refuse(self) -> NoReturn:
        spares = self.job.rules.spare_backers
        raise NoPlan(
            what=f"the pieces want more backers than the tiles leave and {spares} spare ones give",
            rule="spare_backers",
            remedy="allow more spare backers in [rules]",
        )

    def _relaxed(self, tile: float, minute: float, spare: float) -> Relaxed:
        minutes = np.array([minute * minutes_of(place, self.saws.rules) for place in self.places])
        return relaxed(self.sets, self.demands, Worth(tile=tile, places=minutes, spare=spare), wood=self.wood)

    def _pool(self, by: Relaxed, gap: float, most: int) -> _Pool:
        """The sets whose reduced cost is within the gap, at most so many, the least first."""
        found: list[tuple[float, Key]] = []
        whole = by.exact
        for layer, cost in zip(self.sets.layers, by.excess, strict=True):
            near = np.flatnonzero(cost <= gap + EXACT)
            if len(near) > most:
                whole = False
                near = near[np.argsort(cost[near], kind="stable")[:most]]
            found += [(float(cost[row]), tuple(layer[row].tolist())) for row in near]
        found.sort()
        keys = [key for _, key in found[: 2 * most] if not self._tangled or self.sawable(key)]
        whole = whole and len(found) <= 2 * most
        return _Pool(keys=tuple(keys[:most]), whole=whole and len(keys) <= most)

    def _master(self, keys: Sequence[Key]) -> Master:
        lengths = self.wood.lengths if self.wood else ()
        return Master(
            patterns=[self.pattern(key) for key in keys],
            demands=self.demands,
            most_spares=self.job.rules.spare_backers,
            weights=self.weights,
            seconds=self.job.cutting.seconds,
            scarce=[length for length, price in zip(lengths, self.counted.scarcity, strict=True) if price],
        )


def _widened(keys: Sequence[Key], answer: Answer, more: Sequence[Key]) -> tuple[list[Key], Answer]:
    """The sets of an answer and more of them, and the answer over these."""
    chosen = {key: times for key, times in zip(keys, answer.times, strict=True) if times}
    wider = list(dict.fromkeys([*chosen, *more]))
    return wider, Answer(times=tuple(chosen.get(key, 0) for key in wider), spares=answer.spares, bound=answer.bound)
