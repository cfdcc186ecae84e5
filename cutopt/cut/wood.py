"""The wood of a tile's backers that its places leave for use elsewhere, and how a set of places balances it.

net     of a set at a length: backers at least so long that it wants hung, less those that it leaves
"""

from __future__ import annotations

import math
from bisect import bisect_left
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from cutopt.cut.notching import legs
from cutopt.cut.records import Place
from cutopt.cut.together import Sets
from cutopt.lay.records import Chord
from cutopt.tile import Backer

SHORTEST_WOOD = 60 * 320  # ticks: a shorter stretch of backer is not kept for use elsewhere
SAW_WIDTH = 4 * 320  # ticks: no blade is wider

Span = tuple[int, int]


@dataclass(frozen=True, kw_only=True, slots=True)
class Barred:
    """What a place bars of a backer, intervals across: what it keeps, and the ways of its blades."""

    kept: bool
    spans: tuple[Span, ...]


def barred(place: Place, backer: Backer) -> Barred:
    """Every chord is taken to run through the whole tile, so that it holds in whatever order the cuts are made."""
    kept = place.fit.kept.get(backer.id, ())
    spans = [(low - SAW_WIDTH, high + SAW_WIDTH) for low, high in kept]
    lines = [(chord, True) for chord in place.shape.chords]
    lines += [(leg, False) for notch in place.shape.notches for leg in legs(notch)]
    sawn = (_crossed(line, backer, endless=endless) for line, endless in lines)
    return Barred(kept=bool(kept), spans=(*spans, *(span for span in sawn if span is not None)))


def spare_wood(places: Sequence[Place], backer: Backer) -> list[Span]:
    """The stretches of a tile's backer that are free for use elsewhere.

    One that no place keeps comes off before the cuts, whole. Of any other, what no blade goes through.
    """
    return free_of([barred(place, backer) for place in places], backer.v)


def free_of(some: Sequence[Barred], board: Span) -> list[Span]:
    """What is left of a board beside what is barred, where it is long enough to use; all of it where none is kept."""
    if not any(one.kept for one in some):
        return [board]
    at, found = board[0], []
    for low, high in sorted(span for one in some for span in one.spans):
        if low - at >= SHORTEST_WOOD:
            found.append((at, min(low, board[1])))
        at = max(at, high)
    if board[1] - at >= SHORTEST_WOOD:
        found.append((at, board[1]))
    return [(low, high) for low, high in found if high - low >= SHORTEST_WOOD]


def _crossed(line: Chord, backer: Backer, *, endless: bool) -> Span | None:
    """The interval across in which a blade on the line goes through a backer, a saw's width to spare."""
    (u0, v0), (u1, v1) = sorted(line)
    low, high = backer.u - backer.width // 2 - SAW_WIDTH, backer.u + backer.width // 2 + SAW_WIDTH
    if u0 == u1:
        return (backer.v if endless else (v0 - SAW_WIDTH, v1 + SAW_WIDTH)) if low < u0 < high else None
    if not endless:
        low, high = max(low, u0), min(high, u1)
        if low >= high:
            return None
    ends = sorted(v0 + (v1 - v0) * (u - u0) / (u1 - u0) for u in (low, high))
    return math.floor(ends[0]) - SAW_WIDTH, math.ceil(ends[1]) + SAW_WIDTH


@dataclass(frozen=True, kw_only=True, slots=True)
class Balance:
    """The nets of all sets: `lengths` longest first, and by layer an array (sets, lengths); backers to be bought."""

    lengths: tuple[int, ...]
    nets: tuple[npt.NDArray[np.int16], ...]
    most_spares: int


def balance(
    places: Sequence[Place], sets: Sets, sources: Sequence[Sequence[Backer]], lengths: Sequence[int], spares: int
) -> Balance:
    """The balance of the sets at the lengths. `sources`: the backers of a new tile, and of each racked offcut."""
    wanted = _array([[sum(n >= length for n in place.fit.needs) for length in lengths] for place in places], lengths)
    bars = [{backer.id: barred(place, backer) for backer in sources[place.source]} for place in places]
    nets = []
    for layer in sets.layers:
        left = [_left(row, bars, sources[places[row[0]].source], lengths) for row in layer.tolist()]
        nets.append(wanted[layer].sum(axis=1, dtype=np.int16) - _array(left, lengths))
    return Balance(lengths=tuple(lengths), nets=tuple(nets), most_spares=spares)


def _array(rows: Sequence[Sequence[int]], lengths: Sequence[int]) -> npt.NDArray[np.int16]:
    return np.array(rows, dtype=np.int16).reshape(len(rows), len(lengths))


def _left(
    row: Sequence[int], bars: Sequence[Mapping[int, Barred]], backers: Sequence[Backer], lengths: Sequence[int]
) -> list[int]:
    """Stretches at least as long as each length that a set leaves."""
    free = [
        high - low for backer in backers for low, high in free_of([bars[place][backer.id] for place in row], backer.v)
    ]
    free.sort()
    return [len(free) - bisect_left(free, length) for length in lengths]
