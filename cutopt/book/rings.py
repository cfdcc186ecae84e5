"""Plane geometry that drawings need, on millimetres: boxes, insides, clipped bands, hatching, roomy spots."""

from __future__ import annotations

import math
from bisect import bisect_right
from collections.abc import Iterable, Iterator, Sequence

from cutopt.book.drawing import Box, Point

Ring = Sequence[Point]
Way = tuple[float, float, float, float, float]  # an edge: its start, the way to its end, and the square of its length
NEAR = 0.01  # mm: nearer than this is the same place on a drawing


def box_of(points: Iterable[Point]) -> Box:
    """Left, bottom, right, top of the points."""
    xs, ys = zip(*points, strict=True)
    return min(xs), min(ys), max(xs), max(ys)


def overlap(one: Box, other: Box) -> bool:
    """Whether two boxes meet; a box without width counts as a line."""
    return one[0] <= other[2] and other[0] <= one[2] and one[1] <= other[3] and other[1] <= one[3]


def sides(ring: Ring) -> list[tuple[Point, Point]]:
    """The ring's edges, from each corner to the next."""
    return list(zip(ring, [*ring[1:], ring[0]], strict=True))


def inside(point: Point, ring: Ring) -> bool:
    """Whether the point lies in the ring (even-odd rule); a point on the edge may be either."""
    x, y = point
    hit = False
    for (x1, y1), (x2, y2) in sides(ring):
        if (y1 > y) != (y2 > y) and x < x1 + (y - y1) / (y2 - y1) * (x2 - x1):
            hit = not hit
    return hit


def box_inside(box: Box, ring: Ring) -> bool:
    """Whether a box lies in the ring: its corners do, and no corner of the ring lies in it."""
    left, bottom, right, top = box
    corners = ((left, bottom), (right, bottom), (right, top), (left, top))
    return all(inside(corner, ring) for corner in corners) and not any(
        left < x < right and bottom < y < top for x, y in ring
    )


def distance(point: Point, start: Point, end: Point) -> float:
    """From the point to the straight line between start and end."""
    return _distance(point, _way(start, end))


def _distance(point: Point, way: Way) -> float:
    x, y, dx, dy, size = way
    away_x, away_y = point[0] - x, point[1] - y
    t = (away_x * dx + away_y * dy) / size if size else 0.0
    if t <= 0.0:
        return math.hypot(away_x, away_y)
    if t >= 1.0:
        return math.hypot(away_x - dx, away_y - dy)
    return math.hypot(away_x - t * dx, away_y - t * dy)


def _ways(rings: Iterable[Ring]) -> list[Way]:
    """The edges of some rings."""
    return [_way(start, end) for ring in rings for start, end in sides(ring)]


def _way(start: Point, end: Point) -> Way:
    dx, dy = end[0] - start[0], end[1] - start[1]
    return (*start, dx, dy, dx * dx + dy * dy)


def _room(point: Point, rim: Sequence[Way]) -> float:
    """From the point to the nearest of some edges."""
    return min([_distance(point, way) for way in rim])


def band(ring: Ring, axis: int, span: tuple[float, float]) -> tuple[Point, ...]:
    """The part of the ring whose coordinate `axis` (0 or 1) lies in `span`; empty where none does."""
    return _below(_below(ring, axis, span[0], -1.0), axis, span[1], 1.0)


def _below(ring: Ring, axis: int, limit: float, sign: float) -> tuple[Point, ...]:
    kept: list[Point] = []
    for start, end in sides(ring) if ring else []:
        a, b = sign * start[axis] - sign * limit, sign * end[axis] - sign * limit
        if a <= 0:
            kept.append(start)
        if a * b < 0:
            t = a / (a - b)
            kept.append((start[0] + t * (end[0] - start[0]), start[1] + t * (end[1] - start[1])))
    return tuple(kept)


def hatching(
    ring: Ring, spacing: float, degrees: float = 45.0, holes: Sequence[Ring] = ()
) -> tuple[tuple[Point, Point], ...]:
    """Parallel lines inside the ring and outside the holes, which lie in it side by side, anchored at the frame's
    origin so that neighbours line up.
    """
    cos, sin = math.cos(math.radians(degrees)), math.sin(math.radians(degrees))
    turned = [[(x * cos + y * sin, y * cos - x * sin) for x, y in one] for one in (ring, *holes)]
    _, low, _, high = box_of(turned[0])
    lines = []
    for step in range(math.ceil(low / spacing), math.floor(high / spacing) + 1):
        y = step * spacing
        rims = sorted(x for one in turned for x in _crossings(one, y))
        for start, end in zip(rims[::2], rims[1::2], strict=False):
            if holes and end - start < NEAR:  # where a hole's edge lies on the ring's
                continue
            lines.append(((start * cos - y * sin, start * sin + y * cos), (end * cos - y * sin, end * sin + y * cos)))
    return tuple(lines)


def level_lines(ring: Ring, y: float) -> list[tuple[float, float]]:
    """From where to where the horizontal at y runs inside the ring."""
    found = _crossings(ring, y)
    return list(zip(found[::2], found[1::2], strict=False))


def _crossings(ring: Ring, y: float) -> list[float]:
    """Where the horizontal at y crosses the ring, from left to right."""
    return sorted(x1 + (y - y1) / (y2 - y1) * (x2 - x1) for (x1, y1), (x2, y2) in sides(ring) if (y1 > y) != (y2 > y))


def _spots(rings: Sequence[Ring], xs: Sequence[float], ys: Sequence[float]) -> Iterator[tuple[tuple[int, int], Point]]:
    """The points of a grid inside the first ring and outside the others, column by column, with their places in it."""
    rows = [[_crossings(ring, y) for ring in rings] for y in ys]
    for i, x in enumerate(xs):
        for j, (own, *others) in enumerate(rows):
            if _odd_after(own, x) and not any(_odd_after(other, x) for other in others):
                yield (i, j), (x, ys[j])


def _odd_after(crossings: list[float], x: float) -> bool:
    """The even-odd rule on one horizontal."""
    return (len(crossings) - bisect_right(crossings, x)) % 2 == 1


def roomy(ring: Ring, holes: Sequence[Ring] = (), steps: int = 18) -> list[Point]:
    """Points inside the ring and outside the holes, furthest from every edge first, of those nearest to the middle."""
    left, bottom, right, top = box_of(ring)
    middle = ((left + right) / 2, (bottom + top) / 2)
    xs = [left + (i + 0.5) * (right - left) / steps for i in range(steps)]
    ys = [bottom + (j + 0.5) * (top - bottom) / steps for j in range(steps)]
    rings = (ring, *holes)
    rim = _ways(rings)
    found = [
        (-round(_room(point, rim), 1), round(math.dist(point, middle), 1), point) for _, point in _spots(rings, xs, ys)
    ]
    return [point for _, _, point in sorted(found)]


def rooms(ring: Ring, holes: Sequence[Ring], step: float) -> list[list[Point]]:
    """The parts of the ring outside the holes, each as grid points `step` apart, its roomiest first."""
    left, bottom, right, top = box_of(ring)
    xs = [left + (i + 0.5) * step for i in range(math.ceil((right - left) / step))]
    ys = [bottom + (j + 0.5) * step for j in range(math.ceil((top - bottom) / step))]
    rings = (ring, *holes)
    rim = _ways(rings)
    free = dict(_spots(rings, xs, ys))
    found = []
    while free:
        seed = next(iter(free))
        group, queue = [free.pop(seed)], [seed]
        while queue:
            i, j = queue.pop()
            for near in ((i + 1, j), (i - 1, j), (i, j + 1), (i, j - 1)):
                if near in free:
                    group.append(free.pop(near))
                    queue.append(near)
        found.append(sorted(group, key=lambda p: (-round(_room(p, rim), 1), p)))
    return found


def along(line: Sequence[Point], width: float) -> tuple[Point, Point, Point, Point]:
    """The straight board of that width about its centre line."""
    (x1, y1), (x2, y2) = line[0], line[-1]
    size = math.hypot(x2 - x1, y2 - y1) or 1.0
    nx, ny = -(y2 - y1) / size * width / 2, (x2 - x1) / size * width / 2
    return (x1 + nx, y1 + ny), (x1 - nx, y1 - ny), (x2 - nx, y2 - ny), (x2 + nx, y2 + ny)
