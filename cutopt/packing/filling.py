"""Many sheets filled at once, each by guillotine cuts, all in step.

A fill keeps a stack of open rectangles. One step takes the topmost: if a piece fits, one is laid into its lower left
corner and two cuts free it, which leaves a rectangle to the right and one above; if none fits, the rectangle is an
offcut. Every fill is guillotine by construction. Hundreds of fills go in step, as rows of the same arrays.

Which piece is laid, and which of the two cuts goes through, is told by the row's genes, so that a fill can be drawn at
random, weighted with the prices of a linear programme, or bred. Construction by free rectangles and split rules: Lodi,
Martello and Vigo, INFORMS J. Computing 11 (1999), and Charalambous and Fleszar, Computers & Operations Research 38
(2011) for bin-by-bin fills; keys that a decoder turns into a packing: Goncalves and Resende, Int. J. Production
Economics 145 (2013).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from cutopt.packing.effort import Effort

Ints = NDArray[np.int32]
Counts = NDArray[np.int16]
Floats = NDArray[np.float32]
Moves = NDArray[np.int32]

OFFCUT, DONE = -1, -2
SHORTER, LONGER, UP, ACROSS = range(4)  # which cut goes through: so that the shorter or longer rest stays whole, …
_TABLE = 4_000_000  # lengths up to this many units get an exact table of what can be filled


@dataclass(frozen=True, kw_only=True, slots=True)
class Sizes:
    """The kinds of pieces and the sheet, kerf added to each: then the cuts take no room.

    `wide`, `high`: (kinds,), `demand`: (kinds,), `sheet`: width and height.
    """

    wide: Ints
    high: Ints
    demand: Counts
    sheet: tuple[int, int]

    @property
    def kinds(self) -> int:
        return len(self.wide)

    @property
    def shares(self) -> NDArray[np.float64]:
        """Each kind's area as a share of the sheet's, (kinds,)."""
        return (self.wide / self.sheet[0]) * (self.high / self.sheet[1])


@dataclass(frozen=True, kw_only=True, slots=True)
class Genes:
    """What decides a fill, a row each.

    rank (rows, kinds): the higher, the sooner; thrift (rows,): rank lost by a sheet of waste; rule (rows, kinds): the
    cut that goes through when this kind is laid; turn (rows, kinds): the rectangle to the right is filled first.
    """

    rank: Floats
    thrift: Floats
    rule: NDArray[np.int8]
    turn: NDArray[np.bool_]

    def rows(self, which: NDArray[np.intp]) -> Genes:
        return Genes(rank=self.rank[which], thrift=self.thrift[which], rule=self.rule[which], turn=self.turn[which])

    def joined(self, *others: Genes) -> Genes:
        every = (self, *others)
        return Genes(
            rank=np.concatenate([g.rank for g in every]),
            thrift=np.concatenate([g.thrift for g in every]),
            rule=np.concatenate([g.rule for g in every]),
            turn=np.concatenate([g.turn for g in every]),
        )


@dataclass(frozen=True, kw_only=True, slots=True)
class Fills:
    """Filled sheets: used (rows, kinds), and moves (rows, steps): kind · 4 + up · 2 + turn, or OFFCUT, or DONE."""

    used: Counts
    moves: Moves


class Filler:
    """Fills sheets of one order."""

    def __init__(self, sizes: Sizes, effort: Effort) -> None:
        self.sizes = sizes
        self.effort = effort
        self._least = int(sizes.wide.min()), int(sizes.high.min())
        self._idle = (
            _idle(sizes.wide, sizes.demand, sizes.sheet[0]),
            _idle(sizes.high, sizes.demand, sizes.sheet[1]),
        )
        self._part = (
            (sizes.wide / sizes.sheet[0]).astype(np.float32),
            (sizes.high / sizes.sheet[1]).astype(np.float32),
        )

    def fill(self, left: Counts, genes: Genes) -> Fills:
        """One sheet a row out of the pieces `left` (rows, kinds), which are taken away from it in place."""
        run = _Run(left, genes, self.sizes)
        moves, rows = [], 0
        while run.open.size:
            rows += run.open.size
            moves.append(self._step(run))
        self.effort.fill(len(moves), rows, self.sizes.kinds)
        table = np.stack(moves, axis=1) if moves else np.zeros((len(left), 0), np.int32)
        return Fills(used=run.before - left, moves=table)

    def _step(self, run: _Run) -> Moves:
        wide, high = run.topmost()
        kind, fits = self._choose(run, wide, high)
        move = np.full(len(run.left), DONE, np.int32)
        move[run.open] = OFFCUT
        run.top[run.open] -= 1
        rows, kind = run.open[fits], kind[fits]
        if rows.size:
            run.take(rows, kind)
            up, turn = self._cut(run, rows, kind, wide[fits], high[fits])
            move[rows] = kind * 4 + up * 2 + turn
        run.open = run.open[run.top[run.open] >= 0]
        return move

    def _choose(self, run: _Run, wide: Ints, high: Ints) -> tuple[NDArray[np.intp], NDArray[np.bool_]]:
        """The kind of highest rank, less what it lays idle beside and above it; and whether any fits."""
        beside, above = wide[:, None] - self.sizes.wide, high[:, None] - self.sizes.high
        idle = self._idle[0].take(beside, mode="clip") * self._part[1]
        idle += self._idle[1].take(above, mode="clip") * self._part[0]
        idle *= run.genes.thrift[run.open, None]
        score = run.rank[run.open]
        score -= idle
        score[(beside < 0) | (above < 0)] = -np.inf
        best = score.argmax(1)
        return best, score[np.arange(len(best)), best] > -np.inf

    def _cut(
        self, run: _Run, rows: NDArray[np.intp], kind: NDArray[np.intp], wide: Ints, high: Ints
    ) -> tuple[NDArray[np.bool_], NDArray[np.bool_]]:
        """Two cuts free the piece; the rests go onto the stack. Gives the cuts that go through, and the turns."""
        mine_wide, mine_high = self.sizes.wide[kind], self.sizes.high[kind]
        beside, above = wide - mine_wide, high - mine_high
        rule = run.genes.rule[rows, kind]
        up = np.where(rule == SHORTER, beside > above, np.where(rule == LONGER, beside < above, rule == UP))
        # a rest too small for anything leaves the other one as large as it can be
        up = np.where(beside < self._least[0], False, np.where(above < self._least[1], True, up))
        turn = run.genes.turn[rows, kind]
        right = beside, np.where(up, high, mine_high)
        upper = np.where(up, mine_wide, wide), above
        for first in (False, True):
            of_right = turn == first
            run.push(rows, np.where(of_right, right[0], upper[0]), np.where(of_right, right[1], upper[1]), self._least)
        return up, turn


class _Run:
    """Fills under way: the stacks of open rectangles, and what is left for each row."""

    def __init__(self, left: Counts, genes: Genes, sizes: Sizes) -> None:
        rows = len(left)
        depth = int(sizes.demand.sum()) + 2
        self.left, self.genes, self.before = left, genes, left.copy()
        self.rank = np.where(left > 0, genes.rank, np.float32(-np.inf))
        self.wide, self.high = np.zeros((rows, min(depth, 40)), np.int32), np.zeros((rows, min(depth, 40)), np.int32)
        self.wide[:, 0], self.high[:, 0] = sizes.sheet
        self.top = np.zeros(rows, np.intp)
        self.open = np.arange(rows)

    def topmost(self) -> tuple[Ints, Ints]:
        top = self.top[self.open]
        return self.wide[self.open, top], self.high[self.open, top]

    def take(self, rows: NDArray[np.intp], kind: NDArray[np.intp]) -> None:
        self.left[rows, kind] -= 1
        gone = self.left[rows, kind] == 0
        self.rank[rows[gone], kind[gone]] = -np.inf

    def push(self, rows: NDArray[np.intp], wide: Ints, high: Ints, least: tuple[int, int]) -> None:
        """Rests that can hold something go onto the stack."""
        useful = (wide >= least[0]) & (high >= least[1])
        rows = rows[useful]
        self.top[rows] += 1
        if rows.size and int(self.top[rows].max()) >= self.wide.shape[1]:
            self.wide, self.high = (np.pad(stack, ((0, 0), (0, stack.shape[1]))) for stack in (self.wide, self.high))
        self.wide[rows, self.top[rows]] = wide[useful]
        self.high[rows, self.top[rows]] = high[useful]


def _idle(lengths: Ints, demand: Counts, stock: int) -> Floats:
    """For each rest 0 … stock: what stays idle of it however it is filled with these lengths, as a share of the stock.

    Subset sums as the bits of one whole number (the normal patterns of Herz, IBM J. Res. Dev. 16 (1972)).
    """
    if stock > _TABLE:
        return np.zeros(1, np.float32)  # too long for a table: no rest counts as idle
    sums, mask = 1, (1 << (stock + 1)) - 1
    for length, copies in zip(lengths.tolist(), demand.tolist(), strict=True):
        copies, block = min(copies, stock // length), 1
        while copies > 0:  # 1, 2, 4, … copies at once
            step = min(block, copies)
            sums |= (sums << (length * step)) & mask
            copies, block = copies - step, block * 2
    bits = np.unpackbits(np.frombuffer(sums.to_bytes(stock // 8 + 1, "little"), np.uint8), bitorder="little")
    places = np.arange(stock + 1)
    filled = np.maximum.accumulate(np.where(bits[: stock + 1] > 0, places, 0))
    return ((places - filled) / stock).astype(np.float32)
