"""Pieces laid one after another on a tile by their true shapes, each slid along until a kerf is left to those before.

A shelf is a row of pieces along one axis, all against its low or its high side; shelves follow one another across:

    ┌──────────\\┌──────┐
    │     A     \\  B   │    B, turned by half, slides on until its oblique side is a kerf from that of A
    │            \\     │
    └─────────────\\────┘
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field
from functools import cached_property
from itertools import product

import numpy as np
import numpy.typing as npt
import shapely

from cutopt.cut.placing import moved
from cutopt.cut.records import PieceClass
from cutopt.cut.within import blocks_alone
from cutopt.fit import Carpenter
from cutopt.geometry import extent, polygon
from cutopt.tile import Point

Floats = npt.NDArray[np.float64]
Lie = tuple[int, bool]  # class, half turn
Spot = tuple[int, bool, Point]  # class, half turn, shift
Box = tuple[int, int, int, int]  # low and high corner


@dataclass(frozen=True, kw_only=True, slots=True)
class _Side:
    """A lie's hull, half a kerf around it, as seen along an axis: where its near and far sides run, by the other axis.

    All from the least corner of the shape's extent; `at` are the corners across, ascending.
    """

    at: Floats
    near: Floats
    far: Floats


@dataclass(frozen=True, kw_only=True)
class Nester:
    """Where lies come to be on a tile. `kerf`: between them, ticks; `mark`: the finest mark, on which they are set."""

    classes: Sequence[PieceClass]
    carpenter: Carpenter
    kerf: int
    mark: int
    _boxes: dict[Lie, Box] = field(default_factory=dict)
    _rooms: dict[Lie, list[Box]] = field(default_factory=dict)
    _sides: dict[tuple[int, Lie], _Side] = field(default_factory=dict)
    _slid: dict[tuple[int, bool, Lie, Lie], int] = field(default_factory=dict)

    @cached_property
    def turns(self) -> bool:
        """Whether a piece may lie half-turned."""
        return self.carpenter.slats_turn

    def size(self, lie: Lie) -> Point:
        """How far a lie reaches along and across."""
        u0, v0, u1, v1 = self._box(lie)
        return u1 - u0, v1 - v0

    def spot(self, lie: Lie, low: Point) -> Spot:
        """The place of a lie whose extent begins at `low`."""
        u0, v0, _, _ = self._box(lie)
        return (*lie, (low[0] - u0, low[1] - v0))

    def along_sides(self, kind: int) -> list[Spot]:
        """A class in the tile's corners and half-way between them along the slats, as in its cell and half-turned."""
        tile = self.carpenter.tile
        found: dict[Spot, None] = {}
        for lie in [(kind, turn) for turn in (False, True) if self.turns or not turn]:
            length, width = self.size(lie)
            free = tile.length - length
            for u in (0, free // 2 // self.mark * self.mark, free):
                for v in (0, tile.width - width):
                    found[self.spot(lie, (u, v))] = None
        return list(found)

    def after(self, axis: int, *, high: bool, one: Lie, other: Lie) -> int:
        """How far from the beginning of one lie another begins that follows it along the axis, both against the low
        side of their shelf or both against the high one; on a mark, 0 or more.
        """
        key = (axis, high, one, other)
        if key not in self._slid:
            first, then = self._side(axis, one), self._side(axis, other)
            up = self.size(one)[1 - axis] - self.size(other)[1 - axis] if high else 0
            apart = _touching(first, then, up)
            self._slid[key] = max(0, -(-int(np.ceil(apart)) // self.mark) * self.mark)
        return self._slid[key]

    def rooms(self, lie: Lie) -> list[Box]:
        """The extents of what comes whole out of a lie's notches, from the lie's least corner."""
        if lie not in self._rooms:
            tile = self.carpenter.tile
            shape = moved(self.classes[lie[0]].shape, lie[1], (0, 0), self.carpenter)
            u, v, _, _ = self._box(lie)
            boxes = [extent(ring) for ring in blocks_alone(shape, (tile.length, tile.width), self.kerf)]
            self._rooms[lie] = [
                (math.ceil(u0) - u, math.ceil(v0) - v, math.floor(u1) - u, math.floor(v1) - v)
                for u0, v0, u1, v1 in boxes
            ]
        return self._rooms[lie]

    def corners_in(self, room: Box, lie: Lie) -> list[Point]:
        """Where in a room a lie may begin, on marks: in its corners; nowhere where it is too large."""
        begins = []
        for axis, size in enumerate(self.size(lie)):
            first = -(-room[axis] // self.mark) * self.mark
            last = (room[axis + 2] - size) // self.mark * self.mark
            begins.append(sorted({first, last}) if first <= last else [])
        return list(product(*begins))  # type: ignore[arg-type]

    def next_mark(self, length: int) -> int:
        """How far on the next shelf starts: past the kerf, on a mark."""
        return -(-(length + self.kerf) // self.mark) * self.mark

    def _box(self, lie: Lie) -> Box:
        """The extent of a lie that is not shifted."""
        if lie not in self._boxes:
            ring = self.classes[lie[0]].shape.outline
            u0, v0, u1, v1 = extent(self.carpenter.turned(ring) if lie[1] else ring)
            self._boxes[lie] = int(u0), int(v0), int(u1), int(v1)
        return self._boxes[lie]

    def _side(self, axis: int, lie: Lie) -> _Side:
        if (axis, lie) not in self._sides:
            ring = self.classes[lie[0]].shape.outline
            hull = shapely.convex_hull(polygon(self.carpenter.turned(ring) if lie[1] else ring))
            grown = shapely.buffer(hull, self.kerf / 2, join_style="mitre")
            corners = shapely.get_coordinates(grown.exterior)[:-1] - np.array(self._box(lie)[:2])
            self._sides[axis, lie] = _sides(corners[:, axis], corners[:, 1 - axis])
        return self._sides[axis, lie]


def _sides(along: Floats, across: Floats) -> _Side:
    """The near and far side of a convex ring's corners."""
    at = np.unique(across)
    ends = np.roll(along, -1), np.roll(across, -1)
    near, far = np.full(len(at), np.inf), np.full(len(at), -np.inf)
    for a, b, c, d in zip(along, across, *ends, strict=True):
        low, high = min(b, d), max(b, d)
        held = (at >= low) & (at <= high)
        share = np.zeros(held.sum()) if high == low else (at[held] - b) / (d - b)
        lies = a + share * (c - a)
        near[held], far[held] = np.minimum(near[held], lies), np.maximum(far[held], lies)
        if high == low:
            near[held], far[held] = np.minimum(near[held], c), np.maximum(far[held], c)
    return _Side(at=at, near=near, far=far)


def _touching(first: _Side, then: _Side, up: float) -> float:
    """How far on the second begins where it touches the first; `up`: how far it lies further across."""
    low, high = max(first.at[0], then.at[0] + up), min(first.at[-1], then.at[-1] + up)
    if low >= high:
        return 0.0
    levels = np.concatenate(([low, high], first.at, then.at + up))
    levels = levels[(levels >= low) & (levels <= high)]
    far = np.interp(levels, first.at, first.far)
    near = np.interp(levels, then.at + up, then.near)
    return float((far - near).max())
