"""Packings by hand rules, in time near linear: rows of pieces across the sheet, the highest pieces first.

Best fit for the pieces in the rows and for the rows in the sheets, each in order of falling height (finite best strip,
Berkey and Wang, J. Operational Research Society 38 (1987)). Two stages of guillotine cuts. With `first_fit` each piece
goes into the first row where it fits, as one does at the bench, in time that grows with pieces times rows.
"""

from __future__ import annotations

from bisect import bisect_left, insort
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from cutopt.packing.filling import OFFCUT, Moves, Sizes
from cutopt.packing.order import Order


@dataclass(frozen=True, kw_only=True, slots=True)
class Row:
    """Pieces side by side, by kind; the first is the highest."""

    kinds: list[int]
    high: int


def shelved(order: Order, demand: Sequence[int] | None = None, *, first_fit: bool = False) -> list[Moves]:
    """Every item of the order, or so many of each kind, as the moves of each sheet."""
    sizes = order.sizes
    demand = [len(members) for members in order.members] if demand is None else demand
    falling = np.lexsort((-sizes.wide, -sizes.high)).tolist()
    pieces = [kind for kind in falling for _ in range(demand[kind])]
    if not pieces:
        return []
    place = _first_fit if first_fit else _best_fit
    filled = place([int(sizes.wide[kind]) for kind in pieces], sizes.sheet[0])
    rows = [Row(kinds=[pieces[i] for i in row], high=int(sizes.high[pieces[row[0]]])) for row in filled]
    sheets = place([row.high for row in rows], sizes.sheet[1])
    writer = _RowWriter(sizes)
    return [writer.moves([rows[i] for i in sheet]) for sheet in sheets]


def _best_fit(lengths: Sequence[int], stock: int) -> list[list[int]]:
    """Which lengths lie in which bar, in the order given, each in the bar where least is left."""
    bars: list[list[int]] = []
    least, rests = min(lengths), list[tuple[int, int]]()
    for place, length in enumerate(lengths):
        spot = bisect_left(rests, (length, -1))
        if spot == len(rests):
            bars.append([place])
            rest, bar = stock - length, len(bars) - 1
        else:
            rest, bar = rests.pop(spot)
            rest -= length
            bars[bar].append(place)
        if rest >= least:
            insort(rests, (rest, bar))
    return bars


def _first_fit(lengths: Sequence[int], stock: int) -> list[list[int]]:
    bars, rests = list[list[int]](), list[int]()
    for place, length in enumerate(lengths):
        bar = next((i for i, rest in enumerate(rests) if rest >= length), len(bars))
        if bar == len(bars):
            bars.append([])
            rests.append(stock)
        bars[bar].append(place)
        rests[bar] -= length
    return bars


class _RowWriter:
    """Rows as moves; with very many kinds, their sizes are not to be looked through for each sheet."""

    def __init__(self, sizes: Sizes) -> None:
        self.sheet = sizes.sheet
        self.wide: list[int] = sizes.wide.tolist()
        self.high: list[int] = sizes.high.tolist()
        self.least = min(self.wide), min(self.high)

    def moves(self, rows: Sequence[Row]) -> Moves:
        """The rows from below, as `filling` would write them."""
        moves, above = list[int](), self.sheet[1]
        for row in rows:
            above -= row.high
            rest, offcuts = self.sheet[0], 0
            for place, kind in enumerate(row.kinds):
                # the row is cut off across the sheet with its first piece, the others along the row; the rest of the
                # row goes before what lies above (turn)
                moves.append(kind * 4 + 1 + (2 if place else 0))
                rest -= self.wide[kind]
                offcuts += place > 0 and row.high - self.high[kind] >= self.least[1]
            moves += [OFFCUT] * (offcuts + (rest >= self.least[0]))
        if above >= self.least[1]:
            moves.append(OFFCUT)
        return np.array(moves, np.int32)
