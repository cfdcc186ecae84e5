"""Plane geometry on whole ticks, and the way to and from shapely's floats.

rail        a directed line with the kept wood on its left, and how far a cut along it may slide to the left
ring        a simple polygon's corners, anticlockwise, the first not repeated
half turn   a point p of a tile goes to (length, width) - p
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import shapely

from cutopt.tile import Point

Ring = tuple[Point, ...]
FloatPoint = tuple[float, float]

NEAR = 2.0  # ticks: points nearer than this are one point; 6 micrometres
NOTHING = shapely.Polygon()


@dataclass(frozen=True, kw_only=True, slots=True)
class Rail:
    """The line from `a` to `b`; kept wood lies to its left and the cut may slide up to `slack` ticks to the left."""

    a: FloatPoint
    b: FloatPoint
    slack: float

    @property
    def normal(self) -> FloatPoint:
        """Unit vector to the left."""
        dx, dy = self.b[0] - self.a[0], self.b[1] - self.a[1]
        size = math.hypot(dx, dy)
        return -dy / size, dx / size

    def distance(self, point: Sequence[float]) -> float:
        """Signed distance of the point, positive to the left, ticks."""
        nx, ny = self.normal
        return (point[0] - self.a[0]) * nx + (point[1] - self.a[1]) * ny

    def distances(self, points: Iterable[Sequence[float]]) -> list[float]:
        """The signed distance of each point."""
        (x, y), (nx, ny) = self.a, self.normal
        return [(p[0] - x) * nx + (p[1] - y) * ny for p in points]

    def slid(self, distance: float) -> Rail:
        """The parallel line `distance` ticks to the left."""
        nx, ny = self.normal
        shift = (nx * distance, ny * distance)
        return Rail(
            a=(self.a[0] + shift[0], self.a[1] + shift[1]),
            b=(self.b[0] + shift[0], self.b[1] + shift[1]),
            slack=self.slack - distance,
        )


def meeting(one: Rail, other: Rail) -> FloatPoint | None:
    """Where two lines meet, None when they are parallel."""
    (x1, y1), (x2, y2), (x3, y3), (x4, y4) = one.a, one.b, other.a, other.b
    cross = (x2 - x1) * (y4 - y3) - (y2 - y1) * (x4 - x3)
    if abs(cross) < 1e-9 * math.hypot(x2 - x1, y2 - y1) * math.hypot(x4 - x3, y4 - y3):
        return None
    t = ((x3 - x1) * (y4 - y3) - (y3 - y1) * (x4 - x3)) / cross
    return x1 + t * (x2 - x1), y1 + t * (y2 - y1)


def rectangle(length: int, width: int) -> Ring:
    """The ring of a tile with its home corner at the origin."""
    return (0, 0), (length, 0), (length, width), (0, width)


def clipped(ring: Sequence[FloatPoint], rail: Rail) -> list[FloatPoint]:
    """The part of a convex ring to the left of the rail."""
    kept: list[FloatPoint] = []
    away = rail.distances(ring)
    for here, there, d0, d1 in zip(ring, (*ring[1:], *ring[:1]), away, (*away[1:], *away[:1]), strict=True):
        if d0 >= 0:
            kept.append(here)
        if (d0 > 0 > d1) or (d0 < 0 < d1):
            t = d0 / (d0 - d1)
            kept.append((here[0] + t * (there[0] - here[0]), here[1] + t * (there[1] - here[1])))
    return kept


def chord(ring: Sequence[FloatPoint], rail: Rail) -> tuple[FloatPoint, FloatPoint] | None:
    """Where the rail's line enters and leaves a convex ring, in the rail's direction."""
    direction = (rail.b[0] - rail.a[0], rail.b[1] - rail.a[1])
    hits: list[FloatPoint] = []
    away = rail.distances(ring)
    for here, there, d0, d1 in zip(ring, (*ring[1:], *ring[:1]), away, (*away[1:], *away[:1]), strict=True):
        if abs(d0) < 1e-9:
            hits.append(here)
        elif d0 * d1 < 0 and abs(d1) >= 1e-9:
            t = d0 / (d0 - d1)
            hits.append((here[0] + t * (there[0] - here[0]), here[1] + t * (there[1] - here[1])))
    if len(hits) < 2:
        return None
    hits.sort(key=lambda p: p[0] * direction[0] + p[1] * direction[1])
    first, last = hits[0], hits[-1]
    return None if math.dist(first, last) < NEAR else (first, last)


def snapped(points: Iterable[Sequence[float]]) -> Ring:
    """Points to whole ticks, without repeats and without corners that lie on a straight side."""
    whole: list[Point] = []
    for point in points:
        tick = (round(point[0]), round(point[1]))
        if not whole or math.dist(whole[-1], tick) >= NEAR:
            whole.append(tick)
    if len(whole) > 1 and math.dist(whole[0], whole[-1]) < NEAR:
        whole.pop()
    bent = [p for i, p in enumerate(whole) if not _straight(whole[i - 1], p, whole[(i + 1) % len(whole)])]
    return tuple(bent)


def _straight(before: Point, here: Point, after: Point) -> bool:
    """Whether `here` lies within half a tick of the line from `before` to `after`, between them."""
    dx, dy = after[0] - before[0], after[1] - before[1]
    cross = dx * (here[1] - before[1]) - dy * (here[0] - before[0])
    ahead = dx * (here[0] - before[0]) + dy * (here[1] - before[1])
    size = math.hypot(dx, dy)
    return size > 0 and abs(cross) / size <= 0.5 and 0 <= ahead <= size * size


def polygon(ring: Sequence[Sequence[float]]) -> shapely.Polygon:
    """A ring as shapely's polygon, in ticks."""
    return shapely.Polygon(ring)


def polygons(shape: shapely.Geometry) -> list[shapely.Polygon]:
    """The polygons in a result, those of no width dropped, in a fixed order."""
    if shape.geom_type == "Polygon":
        return [shape] if shape.area > NEAR * shape.length else []
    parts = [g for g in shapely.get_parts(shape) if g.geom_type == "Polygon"] if not shape.is_empty else []
    if shape.geom_type == "GeometryCollection":
        parts = [p for g in shapely.get_parts(shape) for p in shapely.get_parts(g) if p.geom_type == "Polygon"]
    thick = [p for p in parts if p.area > NEAR * p.length]
    return sorted(thick, key=lambda p: p.bounds)


def covered(points: Sequence[Sequence[float]], shape: shapely.Geometry) -> list[bool]:
    """Of each point whether a shape covers it."""
    found: list[bool] = shapely.covers(shape, shapely.points(list(points))).tolist() if points else []
    return found


def ring_of(shape: shapely.Polygon) -> Ring:
    """The outer ring of a polygon on whole ticks, anticlockwise, from its lowest corner so that equals look equal."""
    ring = snapped(shapely.geometry.polygon.orient(shape, 1.0).exterior.coords[:-1])
    if len(ring) > 2 and not (whole := polygon(ring)).is_valid:  # a thin tip that folded over on whole ticks
        parts = polygons(shapely.make_valid(whole).buffer(0))
        ring = ring_of(max(parts, key=lambda p: p.area)) if parts else ()
    return from_lowest(ring) if ring else ()


def from_lowest(ring: Ring) -> Ring:
    """The ring from its lowest corner, of several the one of least u, so that equal rings look equal."""
    first = min(range(len(ring)), key=lambda i: (ring[i][1], ring[i][0]))
    return ring[first:] + ring[:first]


def half_turned(ring: Sequence[Point], length: int, width: int) -> Ring:
    """The ring after a half turn of the tile; still anticlockwise."""
    return tuple((length - u, width - v) for u, v in ring)


def extent(ring: Sequence[Sequence[float]]) -> tuple[float, float, float, float]:
    """Least u, least v, most u, most v."""
    us, vs = [p[0] for p in ring], [p[1] for p in ring]
    return min(us), min(vs), max(us), max(vs)


def area2(ring: Sequence[Point]) -> int:
    """Twice the area of a ring, square ticks; positive when anticlockwise."""
    return sum(x0 * y1 - x1 * y0 for (x0, y0), (x1, y1) in zip(ring, (*ring[1:], *ring[:1]), strict=True))
