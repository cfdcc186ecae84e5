"""Rings of corners: which way round, whether they cross themselves, and what lies inside what.

Whether a ring crosses itself is decided in whole ticks, exactly. Whether a post stands inside is decided with shapely
and a tolerance, since the corners of a turned or round post are rounded to ticks.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

from cutopt.geometry import Ring, area2, extent, polygon
from cutopt.lengths import TICKS_PER_MM
from cutopt.tile import Point

CLOSEST = TICKS_PER_MM  # corners nearer than 1 mm are one corner written twice
ROUND_SIDES = 32
_SLIP = 0.1 * TICKS_PER_MM  # ticks: how deep a post may stand in a wall or another post, for rounded measures


def near_corners(ring: Sequence[Point]) -> tuple[int, int] | None:
    """Numbers of two corners in a row that are closer than 1 mm."""
    for i, (here, there) in enumerate(zip(ring, (*ring[1:], *ring[:1]), strict=True)):
        if (here[0] - there[0]) ** 2 + (here[1] - there[1]) ** 2 < CLOSEST**2:
            return i, (i + 1) % len(ring)
    return None


def crossing_edges(ring: Sequence[Point]) -> tuple[int, int] | None:
    """Numbers of two edges that cross, touch or lie on one another other than at the corner that they share."""
    edges = list(zip(ring, (*ring[1:], *ring[:1]), strict=True))
    for i, (a, b) in enumerate(edges):
        for j in range(i + 1, len(edges)):
            c, d = edges[j]
            if j == i + 1 or (i == 0 and j == len(edges) - 1):
                if _folds_back(*((a, b, d) if b == c else (c, d, b))):
                    return i, j
            elif _meet(a, b, c, d):
                return i, j
    return None


def anticlockwise(ring: Sequence[Point]) -> Ring:
    """The ring, reversed where it runs clockwise."""
    return tuple(ring) if area2(ring) > 0 else tuple(reversed(ring))


def reversed_edge(edge: int, count: int) -> int:
    """The number of an edge after the corners are listed backwards.

    Corner j of the new list is corner n - 1 - j, so the new edge j joins old corners n - 1 - j and n - 2 - j: it is
    old edge n - 2 - j, counted around. The same rule leads back.
    """
    return (count - 2 - edge) % count


def stands_outside(post: Ring, outline: Ring) -> bool:
    """Whether a part of the post lies outside the outline; touching it is inside."""
    shape = polygon(post)
    return bool(shape.difference(polygon(outline)).area > _SLIP * shape.length)


def overlap(one: Ring, other: Ring) -> bool:
    """Whether two posts stand in one another; touching is allowed."""
    left, low, right, high = extent(one)
    other_left, other_low, other_right, other_high = extent(other)
    if right < other_left or other_right < left or high < other_low or other_high < low:
        return False  # quickly, since most posts stand far apart
    first, second = polygon(one), polygon(other)
    return bool(first.intersection(second).area > _SLIP * min(first.length, second.length))


def turned_rectangle(at: Point, size: Point, degrees: float) -> Ring:
    """The corners of a rectangle about its centre, turned anticlockwise."""
    left, low = at[0] - size[0] // 2, at[1] - size[1] // 2
    corners = ((left, low), (left + size[0], low), (left + size[0], low + size[1]), (left, low + size[1]))
    if degrees % 360 == 0:
        return corners
    middle = (left + size[0] / 2, low + size[1] / 2)
    cos, sin = math.cos(math.radians(degrees)), math.sin(math.radians(degrees))
    return tuple(
        (
            round(middle[0] + (x - middle[0]) * cos - (y - middle[1]) * sin),
            round(middle[1] + (x - middle[0]) * sin + (y - middle[1]) * cos),
        )
        for x, y in corners
    )


def around_circle(at: Point, diameter: int) -> Ring:
    """A polygon of 32 equal sides that touch the circle from outside.

    Its corners are rounded away from the centre, so that no side cuts into the circle.
    """
    radius = diameter / 2 / math.cos(math.pi / ROUND_SIDES)
    turns = (2 * math.pi * k / ROUND_SIDES for k in range(ROUND_SIDES))
    return tuple((at[0] + _outward(radius * math.cos(t)), at[1] + _outward(radius * math.sin(t))) for t in turns)


def _outward(offset: float) -> int:
    size = math.ceil(abs(offset) - 1e-6)  # what should be 0 on an axis is 1e-13
    return size if offset > 0 else -size


def _turn(a: Point, b: Point, c: Point) -> int:
    """Positive where c lies to the left of the line from a to b."""
    return (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0])


def _folds_back(before: Point, corner: Point, after: Point) -> bool:
    """Whether the ring runs back along the edge that it came on."""
    ahead = (corner[0] - before[0]) * (after[0] - corner[0]) + (corner[1] - before[1]) * (after[1] - corner[1])
    return _turn(before, corner, after) == 0 and ahead < 0


def _meet(a: Point, b: Point, c: Point, d: Point) -> bool:
    """Whether the segments ab and cd have a point in common."""
    if max(a[0], b[0]) < min(c[0], d[0]) or max(c[0], d[0]) < min(a[0], b[0]):
        return False
    if max(a[1], b[1]) < min(c[1], d[1]) or max(c[1], d[1]) < min(a[1], b[1]):
        return False
    # their boxes meet, so collinear segments do as well
    return _apart(_turn(a, b, c), _turn(a, b, d)) is False and _apart(_turn(c, d, a), _turn(c, d, b)) is False


def _apart(one: int, other: int) -> bool:
    """Whether two points lie strictly on the same side of a line."""
    return (one > 0 and other > 0) or (one < 0 and other < 0)
