"""Plane geometry that drawings need, on millimetres: boxes, insides, clipped bands, hatching, roomy spots."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence

from cutopt.book.drawing import Box, Point

Ring = Sequence[Point]
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
    dx, dy = end[0] - start[0], end[1] - start[1]
    size = dx * dx + dy * dy
    t = 0.0 if size == 0 else max(0.0, min(1.0, ((point[0] - start[0]) * dx + (point[1] - start[1]) * dy) / size))
    return math.hypot(point[0] - start[0] - t * dx, point[1] - start[1] - t * dy)


def rim_distance(point: Point, ring: Ring) -> float:
    """From the point to the nearest edge of the ring."""
    return min(distance(point, start, end) for start, end in sides(ring))


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


def hatching(ring: Ring, spacing: float, degrees: float = 45.0) -> tuple[tuple[Point, Point], ...]:
    """Parallel lines inside the ring, anchored at the frame's origin so that neighbours line up."""
    cos, sin = math.cos(math.radians(degrees)), math.sin(math.radians(degrees))
    turned = [(x * cos + y * sin, y * cos - x * sin) for x, y in ring]
    _, low, _, high = box_of(turned)
    lines = []
    for step in range(math.ceil(low / spacing), math.floor(high / spacing) + 1):
        y = step * spacing
        for start, end in level_lines(turned, y):
            lines.append(((start * cos - y * sin, start * sin + y * cos), (end * cos - y * sin, end * sin + y * cos)))
    return tuple(lines)


def level_lines(ring: Ring, y: float) -> list[tuple[float, float]]:
    """From where to where the horizontal at y runs inside the ring."""
    crossings = sorted(
        x1 + (y - y1) / (y2 - y1) * (x2 - x1) for (x1, y1), (x2, y2) in sides(ring) if (y1 > y) != (y2 > y)
    )
    return list(zip(crossings[::2], crossings[1::2], strict=False))


def roomy(ring: Ring, holes: Sequence[Ring] = (), steps: int = 18) -> list[Point]:
    """Points inside the ring and outside the holes, furthest from every edge first, of those nearest to the middle."""
    left, bottom, right, top = box_of(ring)
    middle = ((left + right) / 2, (bottom + top) / 2)
    found = []
    for i in range(steps):
        for j in range(steps):
            point = (left + (i + 0.5) * (right - left) / steps, bottom + (j + 0.5) * (top - bottom) / steps)
            if inside(point, ring) and not any(inside(point, hole) for hole in holes):
                room = min(rim_distance(point, other) for other in (ring, *holes))
                found.append((-round(room, 1), round(math.dist(point, middle), 1), point))
    return [point for _, _, point in sorted(found)]


def rooms(ring: Ring, holes: Sequence[Ring], step: float) -> list[list[Point]]:
    """The parts of the ring outside the holes, each as grid points `step` apart, its roomiest first."""
    left, bottom, right, top = box_of(ring)
    free = {
        (i, j): point
        for i in range(math.ceil((right - left) / step))
        for j in range(math.ceil((top - bottom) / step))
        if inside(point := (left + (i + 0.5) * step, bottom + (j + 0.5) * step), ring)
        and not any(inside(point, hole) for hole in holes)
    }
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
        found.append(sorted(group, key=lambda p: (-round(min(rim_distance(p, r) for r in (ring, *holes)), 1), p)))
    return found


def along(line: Sequence[Point], width: float) -> tuple[Point, Point, Point, Point]:
    """The straight board of that width about its centre line."""
    (x1, y1), (x2, y2) = line[0], line[-1]
    size = math.hypot(x2 - x1, y2 - y1) or 1.0
    nx, ny = -(y2 - y1) / size * width / 2, (x2 - x1) / size * width / 2
    return (x1 + nx, y1 + ny), (x1 - nx, y1 - ny), (x2 - nx, y2 - ny), (x2 + nx, y2 + ny)
