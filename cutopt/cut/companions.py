"""Which pieces one tile may hold together, wherever they lie on it: a bound on the tiles of strategy anywhere.

A straight cut that parts two pieces parts their hulls. Two pieces that such a cut parts stay parted when one is pushed
into the corner of the tile on its side of the cut and the other into the opposite corner; so two classes go together
only if they do there, in one of the four pairs of corners, as in their cells or half-turned. A set goes together only
if its pairs do and their wood with half a kerf around it is no more than a tile has. What is no larger than the waste
of a notch may lie there. A linear programme over all those sets is a bound; it says nothing of the backers.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import shapely

from cutopt.cut.records import PieceClass
from cutopt.cut.relaxing import Worth, relaxed
from cutopt.cut.together import Bools, Numbers, Sets
from cutopt.cut.within import rooms_in
from cutopt.fit import Carpenter
from cutopt.geometry import NEAR, polygon
from cutopt.job.records import Job
from cutopt.tile import Tile

MOST_CLASSES = 400  # the largest pieces; without the others the bound is lower, and one all the same
MOST_SETS = 300_000  # of them; where there are more, the smaller pieces are left out until there are not
CHUNK = 10_000  # sets that are looked at together
FEWER = 0.8  # how many of the classes are looked at next
CORNERS = ((0, 0), (0, 1), (1, 0), (1, 1))  # of the tile, low or high along and across
WHOLE = 1 + 1e-9  # the wood of a tile, and what float sums may be off by
DUAL = 1e-6  # tiles that the programme's value may be off by

Floats = npt.NDArray[np.float64]


@dataclass(frozen=True, kw_only=True, slots=True)
class _Companions:
    """Classes, the largest first: which two go together, itself too, what part of a tile each takes, and how many."""

    pairs: Bools
    shares: Floats
    most: npt.NDArray[np.int64]

    def first(self, count: int) -> _Companions:
        """So many of them."""
        return _Companions(pairs=self.pairs[:count, :count], shares=self.shares[:count], most=self.most[:count])


def fewest_together(classes: Sequence[PieceClass], job: Job, carpenter: Carpenter) -> int:
    """Tiles that no plan goes below wherever the pieces lie, by what goes together on one."""
    if not classes:
        return 0
    tile, kerf = job.tile, job.cutting.straight_kerf
    hulls = np.array([shapely.convex_hull(polygon(kind.shape.outline)) for kind in classes])
    rooms = [rooms_in(kind.shape, (tile.length, tile.width)) for kind in classes]
    whole = _grown(np.array([shapely.box(0, 0, tile.length, tile.width)]), kerf)
    shares = np.where(list(map(bool, rooms)), _buffered(classes, kerf), _grown(hulls, kerf)) / whole
    order = np.argsort(-shares, kind="stable")[:MOST_CLASSES]
    demands = np.array([kind.demand for kind in classes], dtype=np.int64)
    pairs = _pairs(hulls[order], tile, kerf - NEAR, half_turns=carpenter.slats_turn)
    pairs |= _held_in([rooms[n] for n in order], hulls[order])
    every = _Companions(pairs=pairs, shares=shares[order], most=demands[order])
    count, layers = len(order), None
    while count and (layers := _sets(every.first(count))) is None:
        count = int(count * FEWER)
    if not count or layers is None:
        return 0
    sets = Sets(layers=layers, kinds=np.arange(count, dtype=np.int32), complete=True)
    answer = relaxed(sets, every.most[:count].tolist(), Worth(tile=1.0, places=np.zeros(count)))
    return math.ceil(answer.value - DUAL) if answer.exact else 0


def _grown(shapes: npt.NDArray[np.object_], kerf: float) -> Floats:
    """The areas of convex shapes with half a kerf around them (Steiner's formula), a little less for float sums."""
    half = max(kerf - NEAR, 0.0) / 2
    return np.asarray(shapely.area(shapes) + half * shapely.length(shapes) + math.pi * half * half, dtype=float)


def _buffered(classes: Sequence[PieceClass], kerf: float) -> Floats:
    """The areas of shapes with half a kerf around them, arcs by chords inside them."""
    solid = np.array([polygon(kind.shape.outline) for kind in classes])
    return np.asarray(shapely.area(shapely.buffer(solid, max(kerf - NEAR, 0.0) / 2)), dtype=float)


def _held_in(rooms: Sequence[Sequence[tuple[float, float]]], hulls: npt.NDArray[np.object_]) -> Bools:
    """Which of two shapes is no larger than the waste of a notch of the other; a square matrix."""
    bounds = shapely.bounds(hulls).reshape(-1, 4)
    size = bounds[:, 2:] - bounds[:, :2] - 2 * NEAR
    found = np.zeros((len(hulls), len(hulls)), dtype=bool)
    for number, some in enumerate(rooms):
        for room in some:
            found[number] |= (size <= np.array(room)).all(axis=1)
    return np.asarray(found | found.T)


def _pairs(hulls: npt.NDArray[np.object_], tile: Tile, apart: float, *, half_turns: bool) -> Bools:
    """Which two shapes keep so many ticks between them somewhere on the tile; a square matrix."""
    one, other = np.nonzero(np.triu(np.ones((len(hulls), len(hulls)), dtype=bool)))
    found = np.zeros((len(hulls), len(hulls)), dtype=bool)
    turned = shapely.transform(hulls, np.negative)
    for corner in CORNERS:
        opposite = (1 - corner[0], 1 - corner[1])
        mine = _pushed(hulls, corner, tile)[one]
        for shapes in (hulls, turned) if half_turns else (hulls,):
            good = shapely.distance(mine, _pushed(shapes, opposite, tile)[other]) >= max(apart, 1e-6)
            found[one[good], other[good]] = found[other[good], one[good]] = True
    return found


def _pushed(shapes: npt.NDArray[np.object_], corner: tuple[int, int], tile: Tile) -> npt.NDArray[np.object_]:
    """The shapes where they touch both sides of a corner of the tile."""
    bounds = shapely.bounds(shapes).reshape(-1, 4)
    size = np.array([tile.length, tile.width], dtype=float)
    shift = np.where(np.array(corner) == 0, -bounds[:, :2], size - bounds[:, 2:])
    points, owners = shapely.get_coordinates(shapes, return_index=True)
    return np.asarray(shapely.set_coordinates(shapes.copy(), points + shift[owners]))


def _sets(some: _Companions) -> tuple[Numbers, ...] | None:
    """All sets by their classes, of one size a layer, a class as often as it is wanted; None where there are too many.

    Rows ascend.
    """
    layers = [np.arange(len(some.shares), dtype=np.int32)[:, None]]
    left = MOST_SETS
    while len(layers[-1]):
        grown: list[Numbers] = []
        for start in range(0, len(layers[-1]), CHUNK):
            grown.append(_with_one_more(layers[-1][start : start + CHUNK], some))
            left -= len(grown[-1])
            if left < 0:
                return None
        layers.append(np.concatenate(grown))
    return tuple(layers[:-1])


def _with_one_more(layer: Numbers, some: _Companions) -> Numbers:
    """The sets of a layer with one more piece that goes with them all, of their last class or a later one."""
    later = np.triu(some.pairs)
    free = some.shares[None, :] <= WHOLE - some.shares[layer].sum(axis=1)[:, None]
    for column in range(layer.shape[1]):
        free &= later[layer[:, column]]
    rows, added = np.nonzero(free)
    often = (layer[rows] == added[:, None]).sum(axis=1) < some.most[added]
    return np.asarray(np.column_stack((layer[rows], added))[often], dtype=np.int32)
