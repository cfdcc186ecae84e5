"""The search for the cut plan: a bound over all sets of places, then whole numbers over those that may be part of it.

A set that costs more above what it makes is worth (its reduced cost) than lies between the bound and a known plan is in
no better plan; so the mixed-integer programme looks at the others alone and still proves what it proves for all.
"""

from __future__ import annotations

import math
from collections.abc import Collection, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property
from typing import NoReturn

import numpy as np

from cutopt.aside import foreseen
from cutopt.cut.master import Answer, Hint, Master, Weights
from cutopt.cut.patterns import AWAY, minutes_of, pattern_of, shares_held
from cutopt.cut.records import Pattern, Place, SawTree
from cutopt.cut.relaxing import EXACT, Relaxed, Worth, relaxed
from cutopt.cut.sawing import saw_tree
from cutopt.cut.saws import Saws
from cutopt.cut.stock import Stock
from cutopt.cut.together import MOST_SETS, Bools, Sets, beside, clear_of_shared, only_pairs, parted, sets_of, singles
from cutopt.cut.within import within
from cutopt.cut.wood import Balance, balance
from cutopt.errors import NoPlan
from cutopt.fit import Carpenter
from cutopt.geometry import NEAR, Ring, area2, extent
from cutopt.job.records import Job
from cutopt.tile import Tile

MOST_PATTERNS = 20_000  # in a mixed-integer programme that proves
FIRST_PATTERNS = 4_000  # in the first one
WORK_PATTERNS = 6_000  # in the one for least work
MOST_TIDIED = 600  # sets of a size looked at for larger offcuts
SQUARE_METRE = (1000 * 320) ** 2  # square ticks
MOST_LENGTHS = 80  # at which wood is balanced in the bound
MOST_BALANCED = 160_000  # sets: more are not balanced in the bound
TREES_ASIDE = 80  # cuts of a set to be worked out by a process beside this one: for fewer it is not worth its start
TILE_MINUTES = 1e-3  # what a tile counts where minutes are the aim: of plans that take as many, the one of fewer tiles
NONE = (np.inf, -np.inf)  # a stretch across that nothing lies in
Key = tuple[int, ...]  # places of a set by number


@dataclass(frozen=True, kw_only=True, slots=True)
class Found:
    """Sets by their places, how often each is cut, in how many new tiles, and backers bought.

    `bound`: tiles that no plan of these places goes below; `value` and `least`: what it takes by the aim, and what no
    plan of these places goes below by it; `looked_at`: the sets that it was chosen from.
    """

    keys: tuple[Key, ...]
    times: tuple[int, ...]
    tiles: int
    spares: int
    bound: int
    value: float
    least: float
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
    other: int = 0
    _patterns: dict[Key, Pattern] = field(default_factory=dict)
    _trees: dict[Key, SawTree | None] = field(default_factory=dict)

    @cached_property
    def places(self) -> tuple[Place, ...]:
        return tuple(place for found in self.stock.places for place in found)

    @cached_property
    def sources(self) -> tuple[int, ...]:
        """Of each place the racked offcut that it is on, 0 for a new tile."""
        return tuple(place.source for place in self.places)

    def wood_of(self, source: int) -> Tile:
        """The wood of a new tile, or of a racked offcut."""
        return self.job.rack[source - 1].wood if source else self.job.tile

    def outline_of(self, source: int) -> Ring:
        """The ring of a new tile, or of a racked offcut."""
        return self.job.rack[source - 1].outline if source else self.carpenter.outline

    @cached_property
    def sets(self) -> Sets:
        """All sets of places that go on one tile."""
        if self.job.cutting.strategy == "one-for-one":
            return singles(self.places)
        off = [share.whole if (share := place.fit.share) else NONE for place in self.places]
        shapes, kerf = [place.shape for place in self.places], self.job.cutting.straight_kerf
        boxes = np.array([extent(shape.outline) for shape in shapes])
        inside = self._within()
        free = beside(shapes, kerf - NEAR) | inside
        free &= clear_of_shared(boxes, np.array(off, dtype=float))
        free &= np.equal.outer(self.sources, self.sources)
        most = [kind.demand if self.twins else len(kind.members) for kind in self.stock.classes]
        sets = sets_of(self.places, free, most, MOST_SETS)
        return self._held(only_pairs(sets, parted(shapes, kerf) | inside))

    def _within(self) -> Bools:
        """Which places lie in the waste of a notch of others, new tiles and racked offcuts each on their own."""
        found = np.zeros((len(self.places), len(self.places)), dtype=bool)
        for source in sorted(set(self.sources)):
            mine = np.flatnonzero(np.equal(self.sources, source))
            there = within([self.places[n] for n in mine], self.outline_of(source), self.saws.widest)
            found[np.ix_(mine, mine)] = there
        return found

    def _held(self, sets: Sets) -> Sets:
        """The sets without those whose shared slats nothing would hold."""
        sharing = np.array([place.fit.share is not None for place in self.places])
        layers = [sets.layers[0]]
        for layer in sets.layers[1:]:
            good = np.ones(len(layer), dtype=bool)
            for row in np.flatnonzero(sharing[layer].any(axis=1)):
                good[row] = self._shares_held(tuple(layer[row].tolist()))
            layers.append(layer[good])
        return Sets(layers=tuple(layers), kinds=sets.kinds, complete=sets.complete)

    @property
    def _tangled(self) -> bool:
        """Whether many sets cannot be sawn, so that each is looked at before it is chosen from."""
        return self.job.cutting.strategy == "anywhere" or "guided_saw" not in self.job.cutting.saws

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
            "minutes": Weights(tile=TILE_MINUTES, minute=1, spare=0.01, tiles_first=False),
        }
        return aims[self.job.cutting.aim]

    @cached_property
    def wood(self) -> Balance | None:
        """The balance of backers; None where there are too many sets to look at it in each."""
        if sum(map(len, self.sets.layers)) > MOST_BALANCED:
            return None
        wanted = sorted({length for place in self.places for length in place.fit.needs}, reverse=True)
        lengths = wanted[:: max(1, math.ceil(len(wanted) / MOST_LENGTHS))]
        backers = [self.wood_of(source).backers for source in range(len(self.job.rack) + 1)]
        return balance(self.places, self.sets, backers, lengths, self.job.rules.spare_backers)

    @cached_property
    def counted(self) -> Relaxed:
        """The programme that counts tiles."""
        return self._relaxed(1.0, 0.0, 0.0)

    @cached_property
    def floor(self) -> int:
        """Tiles that no plan goes below: by the programme, or where there are too many sets for it, by the wood."""
        if self.counted.exact:
            return math.ceil(self.counted.value - 1e-6)
        return max(0, self.stock.least_wood(self.job.tile) - self.stock.saved_by(self.job.rack))

    def solved(self) -> Found:
        """The best plan. Raises `NoPlan` where the spare backers allowed are too few."""
        if not self.counted.possible:
            self._refuse()
        keys, fewest, bound = self._fewest()
        if self.weights.tiles_first:
            pool = self._pool(self.counted, fewest.tiles - self.counted.value, WORK_PATTERNS)
            wider, hint = _widened(keys, fewest, pool.keys)
            return self._worked(wider, hint, bound, fewest.tiles)
        return self._aimed(keys, fewest, bound)

    def _aimed(self, keys: Sequence[Key], fewest: Answer, bound: int) -> Found:
        """The best plan by an aim that weighs tiles against work, and the bound on it: by the programme, or where no
        set is missing that may be part of a better plan, by whole numbers.
        """
        aim = self._relaxed(self.weights.tile, self.weights.minute, self.weights.spare)
        least = aim.value if aim.exact else 0.0
        first = self._worked(*_widened(keys, fewest, self._pool(aim, math.inf, FIRST_PATTERNS).keys), bound, 0)
        pool = self._pool(aim, first.value - aim.value, MOST_PATTERNS)
        wider, hint = _widened(first.keys, Hint(times=first.times, spares=first.spares), pool.keys)
        better = self._worked(wider, hint, bound, 0)
        return replace(better, least=min(better.value, max(least, better.least if pool.whole else 0.0)))

    def solved_without(self, known: Found, forbidden: Collection[Key]) -> Found:
        """A plan out of the sets looked at last without those that are forbidden. The bound stands."""
        keys = [key for key in known.looked_at if key not in forbidden]
        keys += [(n,) for n in range(len(self.places)) if (n,) not in forbidden]
        keys = list(dict.fromkeys(keys))
        times = {key: n for key, n in zip(known.keys, known.times, strict=True) if key not in forbidden}
        hint = Hint(times=tuple(times.get(key, 0) for key in keys), spares=known.spares)
        found = self._worked(keys, hint, known.bound, known.tiles)
        return replace(found, least=min(known.least, found.value))

    def _worked(self, keys: Sequence[Key], hint: Hint, bound: int, tiles: int) -> Found:
        """Of plans out of the sets with no more tiles, the one of least work; or the best by another aim."""
        master, first = self._master(keys), self.weights.tiles_first
        answer = master.least_work(tiles, hint)
        if not answer.possible:  # what was forbidden takes more tiles
            answer = master.fewest()
            answer = master.least_work(answer.tiles, answer) if answer.possible else self._refuse()
        used = [(key, times) for key, times in zip(keys, answer.times, strict=True) if times]
        return Found(
            keys=tuple(key for key, _ in used),
            times=tuple(times for _, times in used),
            tiles=answer.tiles,
            spares=answer.spares,
            bound=bound,
            value=answer.tiles if first else answer.value,
            least=min(bound, answer.tiles) if first else answer.bound,
            looked_at=tuple(keys),
        )

    def tidied(self, found: Found) -> Found:
        """The plan again out of places that take as much work, put together so that larger offcuts are kept: with no
        more tiles, work or backers.
        """
        most: dict[int, float] = {}
        for place in (self.places[i] for key in found.keys for i in key):
            most[place.kind] = max(most.get(place.kind, 0.0), minutes_of(place, self.saws.rules) + AWAY)
        used = np.array([i for i, p in enumerate(self.places) if minutes_of(p, self.saws.rules) <= most[p.kind]])
        keys = list(found.keys)
        for layer in self.sets.layers:
            rows = np.flatnonzero(np.isin(layer, used).all(axis=1))[:MOST_TIDIED]
            sets: list[Key] = [tuple(row) for row in layer[rows].tolist()]
            self._foresee(sets)
            keys += filter(self.sawable, sets)
        keys = list(dict.fromkeys(keys))
        times = dict(zip(found.keys, found.times, strict=True))
        known = Hint(times=tuple(times.get(key, 0) for key in keys), spares=found.spares)
        answer = self._master(keys).larger_offcuts([self._kept(key) for key in keys], known)
        if not answer.possible:
            return found
        used_keys = [(key, n) for key, n in zip(keys, answer.times, strict=True) if n]
        return replace(
            found,
            keys=tuple(key for key, _ in used_keys),
            times=tuple(n for _, n in used_keys),
            tiles=answer.tiles,
            spares=answer.spares,
        )

    def _kept(self, key: Key) -> float:
        """What a set leaves: of each offcut worth racking its area, square metres, times its share of a tile, so that
        one large one is worth more than two of half its size; less the racked one that it takes.
        """
        tree, tile, own = self.tree(key), self.job.tile, self.source(key)
        least = self.job.rules.keep_offcut * SQUARE_METRE
        areas = [area2(ring) / 2 for _, ring in tree.rests] if tree else []
        worth = sum(area * area for area in areas if area >= least)
        worth -= (area2(self.outline_of(own)) / 2) ** 2 if own else 0.0
        return worth / (tile.length * tile.width) / SQUARE_METRE

    def pattern(self, key: Key) -> Pattern:
        """The pattern of places by number."""
        if key not in self._patterns:
            self._patterns[key] = pattern_of([self.places[i] for i in key], self.wood_of(self.source(key)), self.saws)
        return self._patterns[key]

    def tree(self, key: Key) -> SawTree | None:
        """The cuts of places by number, None where no order of straight cuts separates them."""
        if key not in self._trees:
            self._trees[key] = self._sawn(key)
        return self._trees[key]

    def _foresee(self, keys: Sequence[Key]) -> None:
        """Work out the cuts of sets of places; of many at once, on all processors."""
        foreseen(self._trees, {key: key for key in keys}, self._sawn, least=TREES_ASIDE)

    def _sawn(self, key: Key) -> SawTree | None:
        return saw_tree([self.places[i] for i in key], self.outline_of(self.source(key)), self.saws)

    def source(self, key: Key) -> int:
        """What places by number are cut from: 0 for a new tile, n for the nth racked offcut."""
        return self.sources[key[0]]

    def sawable(self, key: Key) -> bool:
        """Whether places can be sawn apart, with slats that share held."""
        return self.tree(key) is not None and self._shares_held(key)

    def _shares_held(self, key: Key) -> bool:
        return shares_held([self.places[i] for i in key], self.wood_of(self.source(key)))

    def _fewest(self) -> tuple[list[Key], Answer, int]:
        """Sets, how often each is cut in a plan of the fewest tiles found, and the bound on their number."""
        known = [tuple(self.sets.layers[layer][row].tolist()) for layer, row in self.counted.taken]
        near = self._pool(self.counted, EXACT, FIRST_PATTERNS)
        known = [key for key in known if not self._tangled or self.sawable(key)]
        alone = [key for key in ((n,) for n in range(len(self.places))) if not self._tangled or self.sawable(key)]
        keys = list(dict.fromkeys([*alone, *known, *near.keys]))
        answer = self._master(keys).fewest()
        if answer.possible and answer.tiles <= self.floor:
            return keys, answer, self.floor
        gap = answer.tiles - 1 - self.counted.value if answer.possible else math.inf
        pool = self._pool(self.counted, gap, MOST_PATTERNS)
        wider, hint = _widened(keys, answer, pool.keys)
        better = self._master(wider).fewest(hint if answer.possible else None)
        if not better.possible:
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
        sources = np.array(self.sources, dtype=np.int32) if self.job.rack else None
        worth = Worth(tile=tile, places=minutes, spare=spare, sources=sources)
        return relaxed(self.sets, self.demands, worth, wood=self.wood)

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
        keys = [key for _, key in sorted(found)[: 2 * most]]
        if self._tangled:
            self._foresee(keys)
            keys = list(filter(self.sawable, keys))
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
            other=self.other,
            scarce=[length for length, price in zip(lengths, self.counted.scarcity, strict=True) if price],
        )


def _widened(keys: Sequence[Key], answer: Hint, more: Sequence[Key]) -> tuple[list[Key], Hint]:
    """The sets of an answer and more of them, and the answer over these."""
    chosen = {key: times for key, times in zip(keys, answer.times, strict=True) if times}
    wider = list(dict.fromkeys([*chosen, *more]))
    return wider, Hint(times=tuple(chosen.get(key, 0) for key in wider), spares=answer.spares)
