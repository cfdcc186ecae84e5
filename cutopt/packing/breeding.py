"""Can these pieces be packed in so many sheets? Fills bred from generation to generation until one says yes.

The decoder is `filling`; children, changed copies and newcomers as in biased random-key genetic algorithms (Goncalves
and Resende, Int. J. Production Economics 145 (2013)). Of individuals that leave the same one stays, which keeps the
stock from becoming all alike; where a line stops improving, the next one starts from nothing.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from cutopt.packing.drawing import Draw
from cutopt.packing.effort import Effort
from cutopt.packing.filling import Filler, Fills, Genes

POPULATION = 300
NEWCOMERS = 30
PATIENCE = 80  # generations without anything better before a line is given up

Floats = NDArray[np.float64]


class Breeder:
    """Breeds packings of `demand` in `sheets` sheets. A line goes on where the last call left it."""

    def __init__(self, filler: Filler, draw: Draw, demand: NDArray[np.int64], sheets: int) -> None:
        self.filler, self.draw, self.sheets = filler, draw, sheets
        self.demand = demand.astype(np.int16)
        # the aim is the value of what is left over; small pieces count a little more than their area
        value = filler.sizes.shares * (1 + 0.3 * draw.random.random())
        self.value = value / float(value @ demand)
        self._genes: Genes | None = None
        self._left: Floats = np.zeros(0)
        self._stalled = 0

    def breed(self, until: float) -> list[Fills] | None:
        """The sheets, each as fills of one row; None once the effort is over or has reached `until`."""
        effort: Effort = self.filler.effort
        while not effort.over and effort.spent < until:
            found = self._generation()
            if found is not None:
                return found
        return None

    def _generation(self) -> list[Fills] | None:
        young = self._young()
        left, sheets = self._decode(young)
        done = np.flatnonzero(left <= 1e-12)
        if done.size:
            row = int(done[0])
            return [Fills(used=s.used[[row]], moves=s.moves[[row]]) for s in sheets]
        self._select(young, left)
        return None

    def _young(self) -> Genes:
        if self._genes is None:
            return self.draw.fresh(POPULATION)
        best = min(POPULATION // 5, len(self._left))
        half = (POPULATION - NEWCOMERS) // 2
        crossed = self.draw.crossed(self._genes, best, half)
        changed = self.draw.changed(self._genes, best, POPULATION - NEWCOMERS - half)
        return crossed.joined(changed, self.draw.fresh(NEWCOMERS))

    def _decode(self, genes: Genes) -> tuple[Floats, list[Fills]]:
        """What each row leaves over, by value, after filling sheet after sheet."""
        left = np.tile(self.demand, (len(genes.rank), 1))
        sheets = [self.filler.fill(left, genes) for _ in range(self.sheets)]
        return left @ self.value, sheets

    def _select(self, young: Genes, left: Floats) -> None:
        best_before = self._left[0] if self._genes is not None else np.inf
        every = young if self._genes is None else self._genes.joined(young)
        left = np.concatenate([self._left, left]) if self._genes is not None else left
        _, chosen = np.unique(left.round(9), return_index=True)
        chosen = chosen[:POPULATION]
        self._genes, self._left = every.rows(chosen), left[chosen]
        self._stalled = 0 if self._left[0] < best_before - 1e-9 else self._stalled + 1
        if self._stalled > PATIENCE:
            self._genes, self._left, self._stalled = None, np.zeros(0), 0
