"""Plain lengths out of bars, and rectangles of which no two fit beside one another along one side of the sheet.

Bound by dual feasible functions; bar by bar as full as can be (the minimum bin slack rule of Gupta and Ho, Production
Planning & Control 10 (1999), with Fleszar and Hindi's fixed largest piece, Computers & Operations Research 29 (2002));
then an arc flow at as many bars as the bound says, one more each time that is impossible.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Sequence
from typing import Literal

import numpy as np

from cutopt.packing.arcflow import Bars, Flow, arcs_of
from cutopt.packing.bounds import fewest_bars
from cutopt.packing.effort import Effort
from cutopt.packing.filling import Moves, Sizes
from cutopt.packing.order import Order

Axis = Literal["wide", "high"]

NODES_A_SECOND = 100
A_WORD = 1.5e-9  # 64 sums shifted, in seconds
AN_OPERATION = 4e-7
A_PLACE = 2e-6  # one length looked at for one bar, in seconds
MOST_BITS = 100_000_000  # sums of all lengths up to the bar's; where there are more, coarser lengths are summed


def axis_of(sizes: Sizes) -> Axis | None:
    """The side along which all pieces lie one behind the other, if no two fit beside one another on the other side."""
    if 2 * int(sizes.high.min()) > sizes.sheet[1]:
        return "wide"
    return "high" if 2 * int(sizes.wide.min()) > sizes.sheet[0] else None


class BarSearch:
    """Bars for an order of one dimension. `best`: the moves of each bar; `bound`: no cutting takes fewer."""

    def __init__(self, order: Order, axis: Axis, *, best: Sequence[Moves], effort: Effort) -> None:
        self.order, self.axis, self.effort = order, axis, effort
        lengths = order.sizes.wide if axis == "wide" else order.sizes.high
        self.stock = order.sizes.sheet[0 if axis == "wide" else 1]
        counts = np.array([len(members) for members in order.members], dtype=np.int64)
        # kinds that differ on the other side only are one length
        values, place, times = np.unique(lengths, return_inverse=True, return_counts=True)
        order_of = np.split(np.argsort(place, kind="stable"), np.cumsum(times)[:-1])
        self.lengths: list[int] = values[::-1].tolist()
        self.kinds: list[list[int]] = [kinds.tolist() for kinds in reversed(order_of)]
        self.counts = [int(counts[kinds].sum()) for kinds in self.kinds]
        self.best = list(best)
        self._least: int | None = None
        unit = math.ceil(len(self.lengths) * self.stock / MOST_BITS)
        self._coarse = [-(-length // unit) for length in self.lengths], self.stock // unit
        self.bound = fewest_bars(lengths, counts, self.stock)

    @property
    def done(self) -> bool:
        return len(self.best) <= self.bound

    def run(self) -> None:
        if not self.done and not self.effort.over:
            self._take(self._fullest_first())
        bars = Bars(lengths=tuple(self.lengths), demand=tuple(self.counts), stock=self.stock)
        while not self.done and not self.effort.over:
            budget = self.bound * self.stock - bars.total
            arcs = arcs_of(bars, budget)
            if arcs is None:
                return
            nodes = max(1, int(self.effort.left * NODES_A_SECOND))
            verdict, found = Flow(bars, arcs, budget, self.effort).solve(self.bound, nodes)
            if verdict == "open":
                return
            if verdict == "cut":
                self._take(found)
            else:
                self.bound = max(self.bound + 1, self._relaxed(bars))

    def _relaxed(self, bars: Bars) -> int:
        """The arc flow's linear programme, rounded up, worked out once: no cutting takes fewer bars."""
        if self._least is None:
            arcs = arcs_of(bars, bars.stock)
            sheets = Flow(bars, arcs, bars.stock, self.effort).relaxed() if arcs else 0.0
            self._least = math.ceil(sheets * (1 - 1e-9) - 1e-6)
        return self._least

    def _take(self, bars: list[list[int]] | None) -> None:
        """Bars as places of lengths, if they are fewer."""
        if bars is None or len(bars) >= len(self.best):
            return
        left = [[kind for kind in kinds for _ in self.order.members[kind]] for kinds in self.kinds]
        # along the width each bar is cut up through the sheet, the rest to the right next; else across, the upper next
        mark = 3 if self.axis == "wide" else 0
        self.best = [np.array([left[place].pop() * 4 + mark for place in bar], np.int32) for bar in bars]

    def _fullest_first(self) -> list[list[int]] | None:
        """Bar by bar, each with the longest piece left and then as full as can be; None if that is too much work."""
        left, bars = list(self.counts), list[list[int]]()
        while any(left):
            if self.effort.over:
                return None
            bar = self._fullest(left)
            used = Counter(bar).items()
            times = min(left[place] // count for place, count in used)
            for place, count in used:
                left[place] -= times * count
            bars += [bar] * times
        return bars

    def _fullest(self, left: Sequence[int]) -> list[int]:
        """The longest piece left, and of the fullest bars with it the one with the longest pieces.

        Coarse lengths are rounded up and the bar down, so that what fits in them fits.
        """
        first = next(place for place, count in enumerate(left) if count)
        rest = list(left)
        rest[first] -= 1
        lengths, stock = self._coarse
        room = max(0, stock - lengths[first])
        sums = self._sums(rest, room, first)
        aim, bar = sums[-1].bit_length() - 1, [first]
        for place in range(first, len(left)):
            length = lengths[place]
            most = min(rest[place], aim // length)
            if most:
                behind = sums[len(left) - 1 - place].to_bytes(room // 8 + 1, "little")
                copies = next(c for c in range(most, -1, -1) if _bit(behind, aim - c * length))
                self.effort.spent += A_PLACE * (most - copies)
                bar += [place] * copies
                aim -= copies * length
        return bar

    def _sums(self, rest: Sequence[int], room: int, first: int) -> list[int]:
        """What adds up from the shortest lengths on, one length more each time, to the room at most, as bits."""
        mask, sums, operations = (1 << (room + 1)) - 1, [1], 0
        for place in range(len(rest) - 1, first - 1, -1):
            reached, length = sums[-1], self._coarse[0][place]
            copies, block = min(rest[place], room // length), 1
            while copies > 0:  # 1, 2, 4, … copies at once
                step = min(block, copies)
                reached |= (reached << (length * step)) & mask
                copies, block, operations = copies - step, block * 2, operations + 1
            sums.append(reached)
        self.effort.spent += operations * (AN_OPERATION + A_WORD * room / 64) + A_PLACE * (len(rest) - first)
        return sums


def _bit(number: bytes, place: int) -> bool:
    return bool(number[place >> 3] >> (place & 7) & 1)
