"""The whole way: order → bound → hand rules → search → sheets, in work that a limit holds."""

from __future__ import annotations

import gc
from collections.abc import Iterator
from contextlib import contextmanager

import numpy as np
from numpy.typing import NDArray

from cutopt.packing.bars import BarSearch, axis_of
from cutopt.packing.bounds import fewest_sheets
from cutopt.packing.effort import Effort
from cutopt.packing.filling import Moves
from cutopt.packing.order import Order
from cutopt.packing.records import Packing, Stop
from cutopt.packing.searching import MOST_COPIES, Search
from cutopt.packing.shelving import shelved
from cutopt.packing.trees import Writer

MOST_SEARCHED = 1500  # pieces; of more, whole multiples of good patterns are cut first
MOST_KINDS = 500  # of a larger order


def packed(order: Order, *, seconds: float, seed: int) -> Packing:
    """The best packing found. An interrupt (Ctrl-C) ends the search and gives the best so far."""
    demand = np.array([len(members) for members in order.members], dtype=np.int64)
    run = _Run(order, demand, seconds, seed)
    stopped: Stop = "limit"
    try:
        run.search()
        stopped = "limit" if run.effort.over else "stalled"
    except KeyboardInterrupt:
        stopped = "interrupted"
    writer = Writer(order)
    with _collector_resting():
        sheets = tuple(sheet for moves in run.best() if (sheet := writer.write(moves)).rectangles)
    bound = min(run.bound(), len(sheets))
    return Packing(sheets=sheets, lower_bound=bound, stopped="proven" if bound == len(sheets) else stopped)


@contextmanager
def _collector_resting() -> Iterator[None]:
    """Parts hold no cycles, and looking for some among millions of them would take longer than making them."""
    working = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if working:
            gc.enable()


class _Run:
    """A packing from the first moment on, better ones as they are found."""

    def __init__(self, order: Order, demand: NDArray[np.int64], seconds: float, seed: int) -> None:
        self.order, self.demand, self.seed = order, demand, seed
        self.effort = Effort(seconds=seconds)
        self._shelved = shelved(order)
        self._bound = 1
        self._fixed: list[Moves] = []
        self._bars: BarSearch | None = None
        self._search: Search | None = None

    def bound(self) -> int:
        if self._bars:
            return self._bars.bound
        raised = self._search.bound if self._search and not self._fixed else 0
        return max(self._bound, raised)

    def best(self) -> list[Moves]:
        if self._bars:
            return self._bars.best
        found = self._search.packing() if self._search else []
        every = self._fixed + found
        return every if found and len(every) < len(self._shelved) else self._shelved

    def search(self) -> None:
        axis = axis_of(self.order.sizes)
        if axis:
            self._bars = BarSearch(self.order, axis, best=self._shelved, effort=self.effort)
            self._bars.run()
            return
        self._bound = fewest_sheets(self.order.sizes, self.demand)
        if len(self._shelved) <= self._bound or self.effort.over:
            return
        if self.demand.sum() <= MOST_SEARCHED:
            self._search_rest(self.demand)
        elif self.order.sizes.kinds <= MOST_KINDS and self.demand.sum() / self._bound <= MOST_SEARCHED:
            repeated = self._searcher(self.demand)
            self._fixed, rest = repeated.multiples()
            self._bound = max(self._bound, repeated.bound)
            whole = self._fixed + shelved(self.order, rest.tolist())
            if len(whole) < len(self._shelved):
                self._shelved = whole
            if 0 < rest.max() <= MOST_COPIES:
                self._search_rest(rest)

    def _search_rest(self, demand: NDArray[np.int64]) -> None:
        search = self._searcher(demand)
        self._search = search
        search.run()

    def _searcher(self, demand: NDArray[np.int64]) -> Search:
        bound = self._bound - len(self._fixed)
        return Search(self.order, demand, bound=bound, effort=self.effort, seed=self.seed)
