"""Pieces cut out of the waste of a larger piece's notch, which comes out whole where both its legs start from an edge.

    ┌──────────────┬─────┐
    │              │  B  │    the notch of A is sawn from both edges up to its inside corner; the block that
    │              └─────┤    comes out, less a kerf, is a part like any other and holds B
    │    A               │
    └────────────────────┘

Of any other notch the blade turns round in the waste or starts from a hole in it: no piece is taken out of that.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
import numpy.typing as npt
import shapely

from cutopt.cut.notching import bite, strip
from cutopt.cut.placing import freed_sides
from cutopt.cut.together import TOUCH, Bools, Lying
from cutopt.geometry import NEAR, FloatPoint, Rail, Ring, clipped, polygon, polygons, ring_of
from cutopt.lay.records import Chord, Notch, Shape
from cutopt.tile import Point

LEGS = 2  # of a notch whose blade comes from an edge on both ways
LEAST_BLOCK = 60 * 320  # ticks: no piece is cut out of a narrower one; common practice, no source


def comes_out_whole(notch: Notch) -> bool:
    """Whether a blade saws a notch from both its ends without a turn in the waste."""
    return not notch.closed and notch.centre is None and len(notch.path) == LEGS + 1


def block_of(part: shapely.Polygon, notch: Notch, kerf: int) -> Ring | None:
    """The ring of what a notch takes out of a part whole, less the blade's way; None where that holds no piece."""
    if not comes_out_whole(notch):
        return None
    waste = polygons(bite(part, notch).difference(strip(part, notch, kerf)))
    if len(waste) != 1 or waste[0].convex_hull.area - waste[0].area > NEAR * waste[0].length:
        return None
    ring = ring_of(waste[0])
    u0, v0, u1, v1 = waste[0].bounds
    return ring if len(ring) > 2 and min(u1 - u0, v1 - v0) >= LEAST_BLOCK else None


def blocks(shape: Shape, outline: Sequence[tuple[float, float]], kerf: int) -> list[shapely.Polygon]:
    """What comes whole out of a piece's notches on a source of the given ring, its through-cuts made."""
    if not any(comes_out_whole(notch) for notch in shape.notches):
        return []
    ring = _sawn(outline, shape.chords)
    if len(ring) < 3:
        return []
    part = polygon(ring)
    return [polygon(block) for notch in shape.notches if (block := block_of(part, notch, kerf)) is not None]


def may_be_within(places: Sequence[Lying], apart: float) -> Bools:
    """Which two places may come to lie so where cuts may yet slide; a square matrix. Their true shapes keep so many
    ticks between them, or overlap by as much where that is below 0, and one has a notch that comes out whole.
    """
    found = np.zeros((len(places), len(places)), dtype=bool)
    notched = [n for n, place in enumerate(places) if any(map(comes_out_whole, place.shape.notches))]
    if not notched:
        return found
    solid = shapely.buffer(_solids(places), min(apart, 0.0) / 2)
    for number in notched:
        gaps = shapely.distance(solid[number], solid)  # not a number where nothing is left of a shape
        found[number] |= np.isnan(gaps) | (gaps >= max(apart, TOUCH))
        found[:, number] |= found[number]
    return found


def rooms_in(shape: Shape, size: Point) -> list[tuple[float, float]]:
    """How far along and across what comes whole out of a piece's notches reaches at most, wherever the piece lies on a
    tile of this size, kerf and all.
    """
    notches = [notch for notch in shape.notches if comes_out_whole(notch)]
    if not notches:
        return []
    part = _alone(shape, size)
    return [_reach(part, notch) for notch in notches]


def blocks_alone(shape: Shape, size: Point, kerf: int) -> list[Ring]:
    """What comes whole out of a piece's notches wherever it lies on a tile of this size, as far as the tile reaches."""
    notches = [notch for notch in shape.notches if comes_out_whole(notch)]
    part = _alone(shape, size) if notches else shapely.Polygon()
    found = (block_of(part, notch, kerf) for notch in notches if _from_rim(part, notch))
    return [ring for ring in found if ring is not None]


def _alone(shape: Shape, size: Point) -> shapely.Polygon:
    """A piece sawn to its lines on all sides, its notches not yet cut."""
    far = float(max(size))
    ring = [(-far, -far), (2 * far, -far), (2 * far, 2 * far), (-far, 2 * far)]
    return polygon(_sawn(ring, (*shape.chords, *freed_sides(shape, size))))


def _sawn(ring: Sequence[FloatPoint], chords: Sequence[Chord]) -> list[FloatPoint]:
    """What is left of a convex ring once it is sawn along all of these lines."""
    left = list(ring)
    for a, b in chords:
        left = clipped(left, Rail(a=a, b=b, slack=0))
    return left


def _from_rim(part: shapely.Polygon, notch: Notch) -> bool:
    return all(part.exterior.distance(shapely.Point(end)) <= NEAR for end in (notch.path[0], notch.path[-1]))


def _reach(part: shapely.Polygon, notch: Notch) -> tuple[float, float]:
    if not _from_rim(part, notch):
        return math.inf, math.inf  # a side of the part is not the piece's own
    u0, v0, u1, v1 = bite(part, notch).bounds
    return u1 - u0, v1 - v0


def within(places: Sequence[Lying], outline: Sequence[tuple[float, float]], kerf: int) -> Bools:
    """Which two places lie so that one is in the waste of a notch of the other; a square matrix.

    `kerf`: the widest blade's, ticks: no less is left between the two.
    """
    found = np.zeros((len(places), len(places)), dtype=bool)
    rooms = [(n, block) for n, place in enumerate(places) for block in blocks(place.shape, outline, kerf)]
    solid = _solids(places) if rooms else None
    for number, block in rooms:
        room = shapely.buffer(block, NEAR)
        shapely.prepare(room)
        inside = shapely.covers(room, solid)
        found[number] |= inside
        found[:, number] |= inside
    return found


def _solids(places: Sequence[Lying]) -> npt.NDArray[np.object_]:
    return np.array([polygon(place.shape.outline) for place in places])
