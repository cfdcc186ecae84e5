"""Convex rings and stepped ones, ticks: most cells of a terrace are cut straight, and need few overlays.

stepped     all sides run along the axes, as around a post that stands along the tiles
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import pairwise

import shapely

from cutopt.geometry import NEAR

MOST_CORNERS = 8  # rings with more are left to shapely
MOST_STEPS = 40  # corners of stepped polygons with their holes
SHARPEST = math.sin(math.radians(12))  # sine of the sharpest corner that is taken for a plain one
STRAIGHT = 1e-9  # sine of a turn that is none

Ring = Sequence[Sequence[float]]


def plain_ring(shape: shapely.Geometry) -> Ring | None:
    """The corners, anticlockwise, of a convex polygon with few of them and no very sharp one; None for other shapes."""
    if shape.geom_type != "Polygon":
        return None
    points: list[list[float]] = shapely.get_coordinates(shape).tolist()  # a hole's last one is not the first
    if not 4 <= len(points) <= MOST_CORNERS + 1 or points[0] != points[-1]:
        return None
    points.pop()
    if _plain(points):
        return points
    points.reverse()
    return points if _plain(points) else None


def roomy(shape: shapely.Geometry, width: float) -> bool:
    """Whether a polygon is surely nowhere narrower than `width` nor has a sharp corner; False where it is not plain."""
    ring = plain_ring(shape)
    if ring is not None:
        return clearance(ring) >= width
    places = steps(shape)
    return bool(places) and all(high - low > width for along in places for low, high in pairwise(along))


def steps(shape: shapely.Geometry) -> tuple[list[float], ...]:
    """The places along each axis of the sides of a stepped polygon; none for other shapes."""
    points: list[list[float]] = shapely.get_coordinates(shape).tolist()
    if shape.geom_type != "Polygon" or not 0 < len(points) <= MOST_STEPS:
        return ()
    first: list[float] | None = None
    for k, point in enumerate(points):
        if first is None:
            first = point
        elif point[0] != points[k - 1][0] and point[1] != points[k - 1][1]:
            return ()
        elif point == first:
            first = None  # the next one begins a hole
    return tuple(sorted(set(along)) for along in zip(*points, strict=True))


def _plain(ring: Ring) -> bool:
    """Whether a ring turns to the left at each corner, and nowhere nearly back."""
    (x0, y0), (x1, y1) = ring[-2], ring[-1]
    ax, ay = x1 - x0, y1 - y0
    for x2, y2 in ring:
        bx, by = x2 - x1, y2 - y1
        cross = ax * by - ay * bx
        if cross <= 0:
            return False
        size, ahead = math.sqrt((ax * ax + ay * ay) * (bx * bx + by * by)), ax * bx + ay * by
        if cross <= STRAIGHT * size or (ahead < 0 and cross < SHARPEST * size):
            return False
        x1, y1, ax, ay = x2, y2, bx, by
    return True


def holds(ring: Ring, points: Ring, off: float = NEAR) -> bool:
    """Whether all points lie in a convex anticlockwise ring, or out of it by no more than `off`."""
    ax, ay = ring[-1]
    for bx, by in ring:
        dx, dy = bx - ax, by - ay
        least = dx * ay - dy * ax - off * math.sqrt(dx * dx + dy * dy)
        for x, y in points:
            if dx * y - dy * x < least:
                return False
        ax, ay = bx, by
    return True


def clearance(ring: Ring) -> float:
    """The least distance of a corner of a convex anticlockwise ring to a side that it is no end of."""
    found = math.inf
    for k, (bx, by) in enumerate(ring):
        ax, ay = ring[k - 1]
        dx, dy = bx - ax, by - ay
        others = (*ring[k + 1 :], *ring[:k][:-1]) if k else ring[1:-1]
        size = math.sqrt(dx * dx + dy * dy)
        found = min(found, min(dx * (y - ay) - dy * (x - ax) for x, y in others) / size)
    return found
