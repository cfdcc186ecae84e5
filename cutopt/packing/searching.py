"""Sheets for an order: a bound, fills at random, patterns and their covering, and breeding where sheets hold much."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from cutopt.packing.breeding import Breeder
from cutopt.packing.covering import Cover, Pool, Prices, choose
from cutopt.packing.drawing import Draw
from cutopt.packing.effort import Effort
from cutopt.packing.filling import Filler, Fills, Moves
from cutopt.packing.order import Order
from cutopt.packing.relaxing import Relaxation

Demand = NDArray[np.int64]

ROWS = 1000  # fills at once
MOST_COPIES = 30_000  # of one kind in one sheet
MOST_COLUMNS = 3000  # patterns in one programme
NODES = 150  # of the choice among patterns
PATIENCE = 8  # rounds in which nothing new is found, before the search is given up
MANY_A_SHEET = 12  # pieces on a sheet from which on breeding beats the covering of patterns


class Search:
    """The search for one order. `best`: each sheet's place in the pool; `bound`: no packing has fewer sheets."""

    def __init__(self, order: Order, demand: Demand, *, bound: int, effort: Effort, seed: int) -> None:
        self.sizes, self.demand, self.bound, self.effort = order.sizes, demand, bound, effort
        self.filler = Filler(order.sizes, effort)
        self.draw = Draw(order.sizes, seed)
        self.relaxation, self._asked = Relaxation(order.sizes), -1
        self.pool = Pool(order.sizes.kinds)
        self.best: list[int] = []  # places in the pool
        self._chosen = 0, 0
        self.rows = max(20, min(ROWS, 100_000 // order.sizes.kinds))

    @property
    def done(self) -> bool:
        return bool(self.best) and len(self.best) <= self.bound

    @property
    def over(self) -> bool:
        return self.done or self.effort.over

    def packing(self) -> list[Moves]:
        """The moves of each sheet of the best packing; none where nothing has been packed yet."""
        return [self.pool.moves(place) for place in self.best]

    def multiples(self) -> tuple[list[Moves], Demand]:
        """Patterns for a large order, each as often as its linear programme says, rounded down; and what is left.

        Fewer pieces than kinds times pieces a sheet are left (Gilmore and Gomory, Operations Research 9 (1961)).
        """
        cover = Cover(self.demand, self.effort)
        for _ in range(3):
            left = np.tile(np.minimum(self.demand, MOST_COPIES).astype(np.int16), (self.rows, 1))
            cover.add(self.pool, self.pool.add(self.filler.fill(left, self.draw.by_size(self.rows))))
        cover.add(self.pool, self._each_kind())
        prices = self._price(cover, self.demand, 30)
        self.raise_bound(cover, None)
        rest, fixed = self.demand.copy(), list[Moves]()
        for column in np.argsort(-prices.times, kind="stable").tolist():
            place = cover.columns[column]
            times = math.floor(prices.times[column] + 1e-6)
            fixed += [self.pool.moves(place)] * times
            rest = np.maximum(0, rest - times * self.pool.counts[place].astype(np.int64))
        return fixed, rest

    def _each_kind(self) -> list[int]:
        """A sheet for each kind with as many of it as fit, so that the programme has an answer."""
        left = np.diag(np.minimum(self.demand, MOST_COPIES)).astype(np.int16)
        return self.pool.add(self.filler.fill(left, self.draw.by_size(len(left))))

    def run(self) -> None:
        """Search until the bound is met or the effort is spent; `best` is empty where that was too little for any."""
        self._first()
        if self.over:
            return
        if self.demand.sum() / len(self.best) > MANY_A_SHEET:
            self._breed_only()
        else:
            self._cover()

    def _first(self) -> None:
        for _ in range(3):
            self._take(self._whole(self.demand, self.rows // 2, keep=True))
            if self.over:
                return

    def _take(self, places: Sequence[int] | None) -> None:
        """A packing as places in the pool, if it is better."""
        if places is not None and (not self.best or len(places) < len(self.best)):
            self.best = list(places)

    def _whole(self, demand: Demand, rows: int, *, keep: bool) -> list[int] | None:
        """Complete packings of what is in demand, a row each, until the first row is done: its patterns.

        None where the effort is spent before that. `keep`: the patterns of every row go into the pool.
        """
        left = np.tile(demand.astype(np.int16), (rows, 1))
        genes, still = self.draw.by_size(rows), np.arange(rows)
        sheets: list[tuple[NDArray[np.intp], Fills]] = []
        while len(still) == rows:
            if self.effort.over:
                return None
            fills = self.filler.fill(left, genes)
            sheets.append((still, fills))
            if keep:
                self.pool.add(fills)
                self.effort.pool(rows)
            if not left.any(axis=1).all():
                break
        row = int(np.flatnonzero(~left.any(axis=1))[0])
        return [self.pool.add(fills, [row])[0] for _, fills in sheets]

    def _breed_only(self) -> None:
        while not self.over:
            breeder = Breeder(self.filler, self.draw, self.demand, len(self.best) - 1)
            sheets = breeder.breed(math.inf)
            if sheets is None:
                return
            self._take([self.pool.add(sheet)[0] for sheet in sheets])

    def _cover(self) -> None:
        """Prices, patterns that are worth more than a sheet at those prices, and whole-number choices among them."""
        cover = Cover(self.demand, self.effort)
        cover.add(self.pool, self.best + _some(len(self.pool), MOST_COLUMNS))
        breeder, known, quiet = None, 0, 0
        while not self.over and quiet < PATIENCE:
            quiet, known = (quiet + 1, known) if len(self.pool) == known else (0, len(self.pool))
            prices = self._price(cover, self.demand, 30)
            if math.ceil(prices.sheets - 1e-6) >= len(self.best):
                self.raise_bound(cover, len(self.best) - 1 + 1e-6)
            else:
                self._choose(prices)
                for _ in range(3):
                    if not self.over and math.ceil(prices.sheets - 1e-6) < len(self.best):
                        self._dive(cover, prices)
            if self.done or self.effort.over:
                return
            if breeder is None or breeder.sheets != len(self.best) - 1:
                breeder = Breeder(self.filler, self.draw, self.demand, len(self.best) - 1)
            sheets = breeder.breed(self.effort.spent + 0.3)
            if sheets is not None:
                self._take([self.pool.add(sheet)[0] for sheet in sheets])

    def _price(self, cover: Cover, demand: Demand, rounds: int) -> Prices:
        """Column generation with fills at random, until three rounds running find none worth a sheet and more."""
        stalled = 0
        prices = cover.solve()
        for _ in range(rounds):
            if self.effort.over or stalled == 3:
                break
            left = np.tile(np.minimum(demand, MOST_COPIES).astype(np.int16), (self.rows, 1))
            fills = self.filler.fill(left, self.draw.by_price(self.rows, prices.worth))
            gain = fills.used @ prices.worth
            better = np.flatnonzero(gain > 1 + 1e-6)
            if not better.size:
                stalled += 1
                continue
            stalled = 0
            better = better[np.argsort(-gain[better], kind="stable")][:300]
            places = self.pool.add(fills, better.tolist())
            if len(cover.columns) > MOST_COLUMNS:
                self._thin(cover, prices)
            cover.add(self.pool, places)
            prices = cover.solve()
        return prices

    def raise_bound(self, cover: Cover, enough: float | None) -> None:
        """Perhaps no packing at all is as good as those that the patterns found so far cannot make."""
        if self.relaxation.works and self._asked != len(self.best):
            self._asked = len(self.best)  # once for each number of sheets
            relaxed = Cover(self.demand, self.effort)
            relaxed.add(self.pool, cover.columns)
            self.bound = max(self.bound, math.ceil(self.relaxation.bound(relaxed, enough) * (1 - 1e-9) - 1e-6))

    def _thin(self, cover: Cover, prices: Prices) -> None:
        counts = self.pool.counts[cover.columns]
        short = 1 - np.minimum(counts, cover.demand) @ prices.worth
        cover.keep(self.pool, [cover.columns[i] for i in np.argsort(short, kind="stable")[: MOST_COLUMNS // 3]])

    def _choose(self, prices: Prices) -> None:
        """A choice of patterns with one sheet fewer than the best.

        A pattern further below its sheet's worth than the gap can be in no such choice of those in the pool.
        """
        if self._chosen == (len(self.pool), len(self.best)):
            return
        self._chosen = len(self.pool), len(self.best)
        most = len(self.best) - 1
        short = 1 - self.pool.counts @ prices.worth
        places = np.flatnonzero(short <= most - prices.sheets + 1e-6)
        places = places[np.argsort(short[places], kind="stable")][:MOST_COLUMNS]
        rows = choose(self.pool.counts[places], self.demand, most, NODES, self.effort)
        if rows is not None:
            self._take([int(places[row]) for row in rows])

    def _dive(self, cover: Cover, prices: Prices) -> None:
        """Fix one pattern after the other, each time with new patterns for the rest."""
        demand, fixed = self.demand.copy(), list[int]()
        while True:
            place = self._pick(cover, prices)
            fixed.append(place)
            demand = np.maximum(0, demand - self.pool.counts[place])
            if not demand.any():
                self._take(fixed)
                return
            rest = self._whole(demand, 200, keep=False)
            if rest is None:
                return
            self._take(fixed + rest)
            if self.over:
                return
            columns = self._rest_columns(cover, demand)
            cover = Cover(demand, self.effort)
            cover.add(self.pool, columns + rest)
            prices = self._price(cover, demand, 3)
            if len(fixed) + math.ceil(prices.sheets - 1e-6) >= len(self.best):
                return

    def _pick(self, cover: Cover, prices: Prices) -> int:
        used = np.flatnonzero(prices.times > 1e-6)
        score = prices.times[used] + 0.3 * self.draw.random.random(len(used))
        return cover.columns[int(used[score.argmax()])]

    def _rest_columns(self, cover: Cover, demand: Demand) -> list[int]:
        counts = np.minimum(self.pool.counts[cover.columns], demand)
        useful = np.flatnonzero(counts.any(axis=1))
        return [cover.columns[i] for i in useful]


def _some(count: int, most: int) -> list[int]:
    step = max(1, math.ceil(count / most))
    return list(range(0, count, step))
