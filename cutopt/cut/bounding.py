"""A bound on the tiles of a layout before the carpentry is asked: true shapes, a kerf between, no backers.

A cut may yet slide within its gap, so shapes may overlap by as much as both could yield.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import combinations

import numpy as np
import shapely

from cutopt.cut.companions import fewest_together
from cutopt.cut.patterns import saw_minutes
from cutopt.cut.placing import lies
from cutopt.cut.records import PieceClass
from cutopt.cut.relaxing import Worth, relaxed
from cutopt.cut.scarcity import fewest_by_backers
from cutopt.cut.stock import Stock, classes_of
from cutopt.cut.together import beside, sets_of
from cutopt.cut.within import may_be_within
from cutopt.fit import Carpenter
from cutopt.geometry import NEAR
from cutopt.job.records import Cutting, Job
from cutopt.lay.records import Piece, Shape
from cutopt.packing.bounds import fewest_sheets
from cutopt.packing.filling import Sizes
from cutopt.tile import Point

MOST_SETS = 100_000  # more are not looked at: there is no bound then


@dataclass(frozen=True, kw_only=True, slots=True)
class _Spot:
    """A class somewhere on a tile."""

    kind: int
    shape: Shape


@dataclass(frozen=True, kw_only=True, slots=True)
class Loosely:
    """Pieces, how often each is wanted, what leaving one out costs, and how far its cuts may slide, ticks.

    What a tile costs, a piece beside its wood, and a minute at the saw, all in the unit that `left_out` is in.
    """

    pieces: Sequence[Piece]
    counts: Sequence[int]
    left_out: Sequence[float]
    play: int
    tile: float = 1.0
    piece: float = 0.0
    minute: float = 0.0


def least_price(some: Loosely, carpenter: Carpenter, cutting: Cutting) -> float | None:
    """What no cut plan of the pieces goes below in tiles, work at the saw and what is left out; None where there are
    too many sets.
    """
    kinds = classes_of(some.pieces, some.counts)
    if not kinds:
        return 0.0
    demands = [kind.demand for kind in kinds]
    costs = [min(some.left_out[member] for member in kind.members) for kind in kinds]
    spots = [spot for number, kind in enumerate(kinds) for spot in _spots(number, kind, carpenter)]
    work = np.array([some.piece + some.minute * saw_minutes(spot.shape, carpenter.rules) for spot in spots])
    if cutting.strategy == "one-for-one":
        least = np.full(len(kinds), np.inf)
        np.minimum.at(least, [spot.kind for spot in spots], some.tile + work)
        return float(sum(n * min(own, cost) for n, own, cost in zip(demands, least, costs, strict=True)))
    apart = cutting.straight_kerf - NEAR - 2 * some.play
    free = beside([spot.shape for spot in spots], apart) | may_be_within(spots, apart)
    sets = sets_of(spots, free, demands, MOST_SETS)
    if not sets.complete:
        return None
    answer = relaxed(sets, demands, Worth(tile=some.tile, places=work), left_out=costs)
    return answer.value if answer.exact else None


def _spots(number: int, kind: PieceClass, carpenter: Carpenter) -> list[_Spot]:
    """Where a class may lie, whether or not it can be hung there."""
    return [_Spot(kind=number, shape=shape) for _, _, shape in lies(kind, carpenter)]


def fewest_anywhere(stock: Stock, job: Job) -> int:
    """Tiles that no plan goes below wherever the pieces lie: by wood, by the largest rectangle in each, by what goes
    together on a tile, and by backers.

    What is sawn out of a tile contains the rectangles with a kerf between, and no packing of these takes fewer.
    """
    tile = job.tile
    together = fewest_together(stock.classes, job, Carpenter(tile=tile, rules=job.rules))
    hung = fewest_by_backers(stock.classes, tile, job.rules)
    return max(stock.least_wood(tile), _by_rectangles(stock, job), together, hung)


def least_minutes(stock: Stock, job: Job) -> float:
    """Minutes at the saw that no plan goes below wherever the pieces lie.

    An oblique side is sawn wherever it comes to be; so is one of two opposite sides along an axis that are nearer to
    each other than those of the tile. The re-hanging may be nothing.
    """
    rules, size = job.rules, (job.tile.length, job.tile.width)
    total = 0.0
    for kind in stock.classes:
        shape = kind.shape
        cuts = sum(a[0] != b[0] and a[1] != b[1] for a, b in shape.chords)
        cuts += sum(_shorter(shape, axis, size[axis]) for axis in (0, 1))
        total += kind.demand * (cuts * rules.rate_table_saw + len(shape.notches) * rules.rate_jigsaw)
    return total


def _shorter(shape: Shape, axis: int, size: int) -> bool:
    """Whether a shape has sides at both its ends on an axis, these less far apart than a tile's."""
    ring = shape.outline
    ends = (min(p[axis] for p in ring), max(p[axis] for p in ring))
    edges = list(zip(ring, (*ring[1:], *ring[:1]), strict=True))
    return ends[1] - ends[0] < size and all(any(p[axis] == at == q[axis] for p, q in edges) for at in ends)


def _by_rectangles(stock: Stock, job: Job) -> int:
    """Tiles that the largest rectangle in each piece takes at least."""
    tile, kerf = job.tile, min(job.cutting.kerf[saw] for saw in job.cutting.saws)
    boxes = [(largest_rectangle(kind.shape), kind.demand) for kind in stock.classes]
    known = [(box, demand) for box, demand in boxes if box is not None]
    if not known:
        return 0
    demands = np.array([demand for _, demand in known], dtype=np.int64)
    sizes = Sizes(
        wide=np.array([box[0] + kerf for box, _ in known], dtype=np.int32),
        high=np.array([box[1] + kerf for box, _ in known], dtype=np.int32),
        demand=np.minimum(demands, 30_000).astype(np.int16),  # what is wanted counts apart
        sheet=(tile.length + kerf, tile.width + kerf),
    )
    return fewest_sheets(sizes, demands)


def largest_rectangle(shape: Shape) -> Point | None:
    """Length and width of the largest rectangle along the axes between a shape's corners; None where there is none."""
    solid = shapely.Polygon(shape.outline, shape.holes)
    us, vs = (sorted({p[axis] for p in shape.outline}) for axis in (0, 1))
    sizes = [
        (u1 - u0, v1 - v0, shapely.box(u0, v0, u1, v1))
        for u0, u1 in combinations(us, 2)
        for v0, v1 in combinations(vs, 2)
    ]
    for length, width, box in sorted(sizes, key=lambda one: -one[0] * one[1]):
        if solid.buffer(1).covers(box):
            return max(length - 2, 1), max(width - 2, 1)
    return None
