"""A lower bound by column generation where a sheet may hold a piece more often than it is wanted.

Then the pattern worth most at given prices is found exactly, by dynamic programming over the sizes of the sheet
(Gilmore and Gomory, Operations Research 13 (1965); Beasley, J. Operational Research Society 36 (1985)). Every real
pattern is one of those, so that the bound holds; at each step what the pieces are worth, divided by the worth of the
best sheet, is one (Farley, Operations Research 38 (1990)). On a sheet of many units, lengths are rounded down to
coarser ones, which only lets more fit.
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from cutopt.packing.covering import Cover
from cutopt.packing.filling import Sizes

MOST_STEPS = 100  # units of the sheet's width and height
MOST_ROUNDS = 100

Floats = NDArray[np.float64]
Demand = NDArray[np.int64]


class Relaxation:
    """Bounds for one order."""

    def __init__(self, sizes: Sizes) -> None:
        wide, self.width = _coarse(sizes.wide, sizes.sheet[0])
        high, self.height = _coarse(sizes.high, sizes.sheet[1])
        self.wide, self.high = wide, high
        # a piece thinner than one unit would fit without end
        self.works = bool(wide.min() > 0 and high.min() > 0)

    def bound(self, cover: Cover, enough: float | None) -> float:
        """The best bound, or the first one above `enough`; `cover` gets patterns that are good here only."""
        best = 0.0
        for _ in range(MOST_ROUNDS):
            prices = cover.solve()
            table = self._table(prices.worth)
            cover.effort.table(self.width, self.height)
            most = float(table[-1, -1])
            best = max(best, float(prices.worth @ cover.demand) / max(1.0, most))
            if most < 1 + 1e-7 or cover.effort.over:
                break
            if enough is not None and (best > enough or prices.sheets <= enough):
                break
            cover.write(self._pattern(table, prices.worth))
        return best

    def _table(self, worth: Floats) -> Floats:
        """What is the most that fits into each width and height is worth (width + 1, height + 1)."""
        table = np.zeros((self.width + 1, self.height + 1))
        np.maximum.at(table, (self.wide, self.high), worth)
        for x in range(1, self.width + 1):
            column, half = np.maximum(table[x], table[x - 1]), x // 2
            if half:  # a cut up through the rectangle
                column = np.maximum(column, (table[1 : half + 1] + table[x - 1 : x - half - 1 : -1]).max(axis=0))
            column = np.maximum.accumulate(column)
            for y in range(2, self.height + 1):  # a cut across it
                half = y // 2
                most = (column[1 : half + 1] + column[y - 1 : y - half - 1 : -1]).max()
                column[y] = max(column[y], column[y - 1], most)
            table[x] = column
        return table

    def _pattern(self, table: Floats, worth: Floats) -> NDArray[np.int64]:
        """How often each kind lies on the sheet worth most."""
        counts = np.zeros(len(worth), np.int64)
        waiting = [(self.width, self.height)]
        while waiting:
            x, y = waiting.pop()
            value = table[x, y] - 1e-10
            if value <= 1e-9:
                continue
            here = np.flatnonzero((self.wide == x) & (self.high == y) & (worth >= value))
            if here.size:
                counts[here[0]] += 1
            else:
                waiting += _apart(table, x, y, float(value))
        return counts


def _apart(table: Floats, x: int, y: int, value: float) -> list[tuple[int, int]]:
    """The two rectangles, or the smaller one, that are worth as much as this one."""
    if table[x - 1, y] >= value:
        return [(x - 1, y)]
    if table[x, y - 1] >= value:
        return [(x, y - 1)]
    up = table[1:x, y] + table[x - 1 : 0 : -1, y]
    if up.size and up.max() >= value:
        at = int(up.argmax()) + 1
        return [(at, y), (x - at, y)]
    across = table[x, 1:y] + table[x, y - 1 : 0 : -1]
    at = int(across.argmax()) + 1
    return [(x, at), (x, y - at)]


def _coarse(lengths: NDArray[np.int32], stock: int) -> tuple[NDArray[np.int32], int]:
    step = math.ceil(stock / MOST_STEPS)
    return lengths // step, stock // step
