"""Lower bounds on the number of sheets or bars: dual feasible functions, singly and in pairs.

A function u from lengths to [0, 1] is dual feasible if sizes that fit into the stock together have a sum of u of at
most 1. One on the widths times one on the heights is a bound on every packing, guillotine or not (Fekete and Schepers,
Math. Methods of Operations Research 60 (2004)). Functions from there; from Carlier, Clautiaux and Moukrim, Computers &
Operations Research 34 (2007); the one that looks at the data from Boschetti and Mingozzi, 4OR 1 (2003). Martello and
Toth's L2 for bars (Knapsack Problems, 1990) is the best of the first family.
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from cutopt.packing.filling import Sizes

Floats = NDArray[np.float64]

_MOST_CELLS = 20_000_000  # functions times kinds: a larger order gets fewer functions
_MOST_STEPS = 1000  # three functions each; those on the widths are multiplied with those on the heights
_SAFE = 1e-7  # what float sums may be off by


def fewest_sheets(sizes: Sizes, demand: NDArray[np.int64]) -> int:
    """A lower bound on the sheets of any packing, with or without guillotine cuts."""
    over_widths = _functions(sizes.wide, demand, sizes.sheet[0])
    over_heights = _functions(sizes.high, demand, sizes.sheet[1])
    return _rounded_up((over_widths * demand) @ over_heights.T)


def fewest_bars(lengths: NDArray[np.int32], demand: NDArray[np.int64], stock: int) -> int:
    """A lower bound on the bars of the given length."""
    return _rounded_up(_functions(lengths, demand, stock) @ demand)


def _rounded_up(values: Floats) -> int:
    most = float(values.max())
    return max(1, math.ceil(most - _SAFE * max(1.0, most)))


def _functions(sizes: NDArray[np.int32], demand: NDArray[np.int64], stock: int) -> Floats:
    """u of each size, a row for each function (functions, kinds)."""
    values, rows = np.unique(sizes.astype(np.int64), return_inverse=True)
    counts = np.zeros(len(values), np.int64)
    np.add.at(counts, rows, demand)
    found: list[Floats | None] = [values / stock]
    steps = np.unique(np.concatenate([values[2 * values <= stock], stock - values[2 * values >= stock]]))
    steps = np.unique(np.concatenate([steps, steps + 1]))
    steps = steps[(steps > 0) & (2 * steps <= stock)]
    most = min(_MOST_STEPS, max(4, _MOST_CELLS // (4 * len(sizes))))
    if len(steps) > most:
        steps = steps[np.linspace(0, len(steps) - 1, most).astype(int)]
    for step in steps.tolist():
        found += [_cut_off(values, stock, step), _rounded(values, stock, step), _by_data(values, counts, stock, step)]
    found += [_in_parts(values, stock, parts) for parts in range(1, min(41, most))]
    table = np.array([u for u in found if u is not None])
    return np.asarray(table[:, rows.reshape(-1)])


def _cut_off(x: NDArray[np.int64], stock: int, step: int) -> Floats:
    """Sizes below the step count nothing, those that leave less than the step count as whole (u(ε))."""
    return np.where(x > stock - step, stock, np.where(x < step, 0, x)) / stock


def _rounded(x: NDArray[np.int64], stock: int, step: int) -> Floats:
    """Small sizes rounded down to multiples of the step, large ones as what they leave (f_CCM,1)."""
    whole = stock // step
    large, half, small = 2 * (whole - (stock - x) // step), np.full_like(x, whole), 2 * (x // step)
    return np.where(2 * x > stock, large, np.where(2 * x == stock, half, small)) / (2 * whole)


def _by_data(x: NDArray[np.int64], counts: NDArray[np.int64], stock: int, step: int) -> Floats | None:
    """How many of the sizes from step to half the stock a large one keeps out (Boschetti and Mingozzi)."""
    middle = (x >= step) & (2 * x <= stock)
    size, copies = x[middle], counts[middle]
    length_before = np.concatenate([[0], np.cumsum(size * copies)])
    number_before = np.concatenate([[0], np.cumsum(copies)])

    def most_in(room: NDArray[np.int64]) -> NDArray[np.int64]:
        """The smallest first."""
        run = np.searchsorted(length_before, room, side="right") - 1
        rest = room - length_before[run]
        extra = rest // np.concatenate([size, [stock + 1]])[run]
        return np.asarray(number_before[run] + extra)

    every = most_in(np.array([stock]))
    if int(every[0]) == 0:
        return None
    large = every - most_in(np.maximum(stock - x, 0))
    return np.where(2 * x > stock, large, middle) / every


def _in_parts(x: NDArray[np.int64], stock: int, parts: int) -> Floats:
    """Rounded down to whole parts of the stock, exact multiples aside (u(k))."""
    times = x * (parts + 1)
    return np.where(times % stock == 0, x * parts, times // stock * stock) / (stock * parts)
