"""Which places go together on one tile: every set of places that keep a kerf between their true shapes."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Protocol

import numpy as np
import numpy.typing as npt
import shapely

from cutopt.geometry import NEAR, Ring, extent, polygon
from cutopt.lay.records import Shape

MOST_SETS = 3_000_000
TOUCH = 1e-6  # ticks: shapes that lie on one another are not apart
CHUNK = 4_000_000  # pairs of a set and a place that are looked at together

Bools = npt.NDArray[np.bool_]
Numbers = npt.NDArray[np.int32]


class Lying(Protocol):
    """A shape of a class somewhere on a tile."""

    @property
    def kind(self) -> int: ...
    @property
    def shape(self) -> Shape: ...


@dataclass(frozen=True, kw_only=True, slots=True)
class Sets:
    """Places by number, sets of one size a layer: arrays (sets, size), ascending in a row.

    `kinds`: the class of each place. `complete`: whether these are all sets there are.
    """

    layers: tuple[Numbers, ...]
    kinds: Numbers
    complete: bool


def singles(places: Sequence[Lying]) -> Sets:
    """Each place alone."""
    kinds = np.array([place.kind for place in places], dtype=np.int32)
    return Sets(layers=(np.arange(len(places), dtype=np.int32)[:, None],), kinds=kinds, complete=True)


def sets_of(places: Sequence[Lying], beside: Bools, most: Sequence[int], limit: int = MOST_SETS) -> Sets:
    """All sets of places that are `beside` one another, no class in one more often than `most` allows."""
    alone = singles(places)
    kinds, often = alone.kinds, np.array(most, dtype=np.int64)
    once = kinds[:, None] == kinds[None, :]
    later = np.triu(beside & ~(once & (often[kinds] < 2)[:, None]), 1)
    layers, left = [alone.layers[0]], limit
    while len(layers[-1]) and left > 0:
        following = _extended(layers[-1], later, kinds, often, left)
        left -= len(following)
        if len(following):
            layers.append(following)
        else:
            break
    return Sets(layers=tuple(layers), kinds=kinds, complete=left > 0)


def _extended(layer: Numbers, later: Bools, kinds: Numbers, often: npt.NDArray[np.int64], limit: int) -> Numbers:
    """The sets of a layer with one later place more, no more of them than `limit`."""
    found: list[Numbers] = []
    count, rows = 0, max(1, CHUNK // max(len(kinds), 1))
    for start in range(0, len(layer), rows):
        some = layer[start : start + rows]
        free = later[some[:, 0]]
        for column in range(1, some.shape[1]):
            free &= later[some[:, column]]
        which, added = np.nonzero(free)
        grown = np.column_stack((some[which], added)).astype(np.int32)
        grown = grown[_not_too_often(kinds[grown], often)]
        found.append(grown[: limit - count])
        count += len(found[-1])
        if count >= limit:
            break
    return np.concatenate(found) if found else np.empty((0, layer.shape[1] + 1), dtype=np.int32)


def _not_too_often(kinds: Numbers, often: npt.NDArray[np.int64]) -> Bools:
    """Of rows of classes, those in which none is more often than allowed."""
    times = (kinds[:, :, None] == kinds[:, None, :]).sum(axis=2)
    return np.asarray((times <= often[kinds]).all(axis=1))


def beside(shapes: Sequence[Shape], apart: float) -> Bools:
    """Which shapes keep so many ticks between them; a square matrix. Below 0 they may overlap by as much.

    Their hulls, that is: a straight cut that parts two shapes parts their hulls.
    """
    boxes = np.array([extent(shape.outline) for shape in shapes], dtype=float).reshape(-1, 4)
    low, high = boxes[:, :2], boxes[:, 2:]
    free = ((low[:, None, :] - high[None, :, :] >= apart) | (low[None, :, :] - high[:, None, :] >= apart)).any(axis=2)
    round_ = np.array([not _square(shape.outline) for shape in shapes], dtype=bool)
    unsure = np.triu(~free & (round_[:, None] | round_[None, :]), 1)
    one, other = np.nonzero(unsure)
    if len(one):
        inset = max(-apart, 0.0) / 2
        solid = np.array([polygon(shape.outline) for shape in shapes])
        solid = shapely.convex_hull(shapely.buffer(solid, -inset) if inset else solid)
        gaps = shapely.distance(solid[one], solid[other])  # not a number where so little is left of a shape
        far = np.isnan(gaps) | (gaps >= max(apart, TOUCH))
        free[one[far], other[far]] = free[other[far], one[far]] = True
    return np.asarray(free)


def parted(shapes: Sequence[Shape], kerf: float) -> Bools:
    """Which two shapes, alone on a tile, a through-cut along an edge of one of them parts; a square matrix."""
    corners = np.array([p for shape in shapes for p in shape.outline], dtype=float).reshape(-1, 2)
    starts = np.cumsum([0, *(len(shape.outline) for shape in shapes[:-1])])
    found = np.zeros((len(shapes), len(shapes)), dtype=bool)
    for number, shape in enumerate(shapes):
        for a, b in shape.chords:
            size = np.hypot(b[0] - a[0], b[1] - a[1])
            off = ((b[0] - a[0]) * (corners[:, 1] - a[1]) - (b[1] - a[1]) * (corners[:, 0] - a[0])) / size
            found[number] |= np.maximum.reduceat(off, starts) <= NEAR - kerf
    return np.asarray(found | found.T)


def only_pairs(sets: Sets, good: Bools) -> Sets:
    """The sets without the pairs that are not good. Larger sets stay: a third shape's edge may part two."""
    if len(sets.layers) < 2:
        return sets
    pairs = sets.layers[1]
    kept = pairs[good[pairs[:, 0], pairs[:, 1]]]
    return Sets(layers=(sets.layers[0], kept, *sets.layers[2:]), kinds=sets.kinds, complete=sets.complete)


def _square(ring: Ring) -> bool:
    """Whether a ring is a rectangle along the axes."""
    return len(ring) == 4 and all(
        p[0] == q[0] or p[1] == q[1] for p, q in zip(ring, (*ring[1:], *ring[:1]), strict=True)
    )


def clear_of_shared(boxes: npt.NDArray[np.float64], off: npt.NDArray[np.float64]) -> Bools:
    """Which places let one another's shared slats come off whole: `off` are their stretches across, (inf, -inf) for
    none; `boxes` the places' extents.
    """
    over = (boxes[None, :, 3] <= off[:, None, 0]) | (boxes[None, :, 1] >= off[:, None, 1])
    return np.asarray(over & over.T)
