"""Rectangular pieces for the cut, in millimetres, and an exhaustive search over all their assignments to tiles."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cache
from itertools import product

from cutopt.lay import Piece, Shape
from cutopt.lay.records import Side

SIZE = 600.0
Box = tuple[float, float, float, float]  # u0, v0, u1, v1


@dataclass(frozen=True, kw_only=True, slots=True)
class Slab:
    """A rectangular piece by its box in its own cell's tile frame, with its fixed sides."""

    box: Box
    fixed: frozenset[Side]

    def piece(self, number: int) -> Piece:
        """The same as laying gives it: a chord for each sawn side, the kept wood on its left."""
        u0, v0, u1, v1 = (round(x * 320) for x in self.box)
        end = round(SIZE * 320)
        chords = []
        if v0 > 0:
            chords.append(((0, v0), (end, v0)))
        if u1 < end:
            chords.append(((u1, 0), (u1, end)))
        if v1 < end:
            chords.append(((end, v1), (0, v1)))
        if u0 > 0:
            chords.append(((u0, end), (u0, 0)))
        outline = ((u0, v0), (u1, v0), (u1, v1), (u0, v1))
        shape = Shape(outline=outline, chords=tuple(chords), notches=())
        return Piece(area=0, row=0, col=number, shape=shape, fixed=self.fixed, scribe=False, uncertainty=0)


def places(slab: Slab, *, half_turns: bool) -> Iterator[Box]:
    """Where the slab may lie on a tile: fixed sides stay factory edges; free along an axis, it lies at either end."""
    for turned in (False, True) if half_turns else (False,):
        u0, v0, u1, v1 = slab.box
        if turned:
            u0, v0, u1, v1 = SIZE - u1, SIZE - v1, SIZE - u0, SIZE - v0
        lows = []
        for axis, low, high in (("u", u0, u1), ("v", v0, v1)):
            free = not slab.fixed & {f"{axis}0", f"{axis}1"}
            lows.append({0.0, SIZE - (high - low)} if free else {low})
        for u, v in product(*lows):
            yield u, v, u + u1 - u0, v + v1 - v0


def fits_one_tile(slabs: Sequence[Slab], kerf: float, *, half_turns: bool = True) -> bool:
    """Whether some choice of places can be sawn apart by straight through-cuts of this kerf."""
    return any(
        _sawable(list(boxes), kerf) for boxes in product(*[list(places(s, half_turns=half_turns)) for s in slabs])
    )


def _sawable(boxes: list[Box], kerf: float) -> bool:
    """Guillotine: some cut along an axis parts the boxes with a kerf between, and so on in both parts."""
    if len(boxes) < 2:
        return True
    for axis in (0, 1):
        for at in {box[axis + 2] for box in boxes}:
            low = [box for box in boxes if box[axis + 2] <= at + 1e-9]
            high = [box for box in boxes if box[axis] >= at + kerf - 1e-9]
            if high and len(low) + len(high) == len(boxes) and _sawable(low, kerf) and _sawable(high, kerf):
                return True
    return False


def fewest_tiles(slabs: Sequence[Slab], kerf: float, *, half_turns: bool = True) -> int:
    """The least number of tiles over all ways of sharing the slabs out: a programme over subsets."""

    @cache
    def good(subset: int) -> bool:
        return fits_one_tile([s for i, s in enumerate(slabs) if subset >> i & 1], kerf, half_turns=half_turns)

    @cache
    def least(left: int) -> int:
        if not left:
            return 0
        first = left & -left
        rest = left ^ first
        best, subset = len(slabs), rest
        while True:  # every subset of the rest together with the first
            if good(subset | first):
                best = min(best, 1 + least(rest ^ subset))
            if not subset:
                return best
            subset = (subset - 1) & rest

    return least((1 << len(slabs)) - 1)
