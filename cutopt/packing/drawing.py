"""Genes at random: by size, by a linear programme's prices, or from parents."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from cutopt.packing.filling import Floats, Genes, Sizes

Prices = NDArray[np.float64]


class Draw:
    """Draws genes for one order, always the same ones for the same seed."""

    def __init__(self, sizes: Sizes, seed: int) -> None:
        self.random = np.random.default_rng(seed)
        self.kinds = sizes.kinds
        wide, high = sizes.wide / sizes.sheet[0], sizes.high / sizes.sheet[1]
        self.shares = sizes.shares
        self._keys = np.stack([self.shares, wide, high, np.maximum(wide, high)])

    def by_size(self, rows: int) -> Genes:
        """Large pieces first, by a measure of size, a weight and a noise that differ from row to row."""
        key = self._keys[self.random.integers(0, len(self._keys), rows)] ** self._any([0.5, 1, 1.5, 2], rows)
        return self._with_rules(self._shaken(key))

    def by_price(self, rows: int, prices: Prices) -> Genes:
        """Pieces first that are worth much (by price, or by price and price for the area)."""
        worth = np.maximum(prices, 1e-6)
        dense = np.maximum(prices / self.shares, 1e-6) ** self._any([0.5, 1, 2], rows)
        either = self.random.random((rows, 1)) < 0.5
        key = worth ** self._any([0.5, 1, 1.5, 2], rows) * np.where(either, 1.0, dense)
        return self._with_rules(self._shaken(key))

    def fresh(self, rows: int) -> Genes:
        """Founders for breeding: by size, the cuts and turns drawn piece by piece."""
        genes = self.by_size(rows)
        up = self.random.random((rows, self.kinds)) < self._any([0.1, 0.3, 0.5, 0.7, 0.9], rows)
        turn = self.random.random((rows, self.kinds)) < self._any([0.0, 0.2, 0.5, 1.0], rows)
        thrift = self._any([0.25, 0.5, 1, 2, 4], rows)[:, 0].astype(np.float32)
        rank = genes.rank / genes.rank.max(axis=1, keepdims=True)
        return Genes(rank=rank, thrift=thrift, rule=np.where(up, 2, 3).astype(np.int8), turn=turn)

    def crossed(self, genes: Genes, best: int, rows: int) -> Genes:
        """Children of one of the best and any other, seven genes in ten from the better (Goncalves and Resende)."""
        one, other = self.random.integers(0, best, rows), self.random.integers(0, len(genes.rank), rows)
        mine = self.random.random((rows, self.kinds)) < 0.7
        return Genes(
            rank=np.where(mine, genes.rank[one], genes.rank[other]),
            thrift=np.where(self.random.random(rows) < 0.7, genes.thrift[one], genes.thrift[other]),
            rule=np.where(mine, genes.rule[one], genes.rule[other]),
            turn=np.where(mine, genes.turn[one], genes.turn[other]),
        )

    def changed(self, genes: Genes, best: int, rows: int) -> Genes:
        """One of the best with a few genes changed."""
        one = (best * self.random.random(rows) ** 2).astype(np.intp)
        rate = self.random.choice([1.5 / self.kinds, 4 / self.kinds, 0.15], (rows, 1))
        shape = (rows, self.kinds)
        far = np.exp(0.8 * self.random.standard_normal(shape)) * genes.rank[one]
        thrift = np.where(self.random.random(rows) < 0.1, np.exp(self.random.standard_normal(rows)), 1.0)
        flip = self.random.random(shape) < rate
        return Genes(
            rank=np.where(self.random.random(shape) < rate, far, genes.rank[one]).astype(np.float32),
            thrift=(genes.thrift[one] * thrift).astype(np.float32),
            rule=np.where(flip, 5 - genes.rule[one], genes.rule[one]).astype(np.int8),
            turn=genes.turn[one] ^ (self.random.random(shape) < rate),
        )

    def _any(self, values: list[float], rows: int) -> Prices:
        return self.random.choice(values, (rows, 1))

    def _shaken(self, key: Prices) -> Floats:
        noise = self._any([0.05, 0.2, 0.5, 1.0], len(key))
        return np.asarray(key * np.exp(noise * self.random.standard_normal(key.shape)), dtype=np.float32)

    def _with_rules(self, rank: Floats) -> Genes:
        """One rule a row, or one in five rows a cut drawn for each piece."""
        rows, kinds = rank.shape
        rule = np.repeat(self.random.integers(0, 5, (rows, 1)), kinds, axis=1)
        rule = np.where(rule == 4, self.random.integers(2, 4, (rows, kinds)), rule)
        turn = np.repeat(self.random.random((rows, 1)) < 0.3, kinds, axis=1)
        thrift = self._any([0, 0.5, 1, 2], rows)[:, 0].astype(np.float32)
        return Genes(rank=rank, thrift=thrift, rule=rule.astype(np.int8), turn=turn)
