"""Plane geometry that drawings need, on millimetres: boxes, insides, clipped bands, hatching, roomy spots."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from cutopt.book.drawings.drawing import Box, Point

Ring = Sequence[Point]
Floats = NDArray[np.float64]
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


def _way(start: Point, end: Point) -> Way:
    dx, dy = end[0] - start[0], end[1] - start[1]
    return (*start, dx, dy, dx * dx + dy * dy)


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


@dataclass(frozen=True, kw_only=True, slots=True)
class _Spots:
    """Points of a grid, each with its column and row there and how far the nearest edge is, to a tenth."""

    column: NDArray[np.intp]
    row: NDArray[np.intp]
    x: Floats
    y: Floats
    room: Floats


def _spots(rings: Sequence[Ring], xs: Sequence[float], ys: Sequence[float]) -> _Spots:
    """The points of a grid inside the first ring and outside the others, column by column."""
    across, away = np.array(xs)[:, None], np.array(ys)[None, :]
    free = _within(rings[0], across, away)
    for other in rings[1:]:
        free &= ~_within(other, across, away)
    column, row = np.nonzero(free)
    x, y = across[column, 0], away[0, row]
    return _Spots(column=column, row=row, x=x, y=y, room=np.round(_room(x, y, rings), 1))


def _within(ring: Ring, across: Floats, away: Floats) -> NDArray[np.bool_]:
    """The even-odd rule for each point of a grid: a column of x, a row of y."""
    found = np.zeros((across.size, away.size), dtype=bool)
    for (x1, y1), (x2, y2) in sides(ring):
        if y1 != y2:
            found ^= ((y1 > away) != (y2 > away)) & (x1 + (away - y1) / (y2 - y1) * (x2 - x1) > across)
    return found


def _room(x: Floats, y: Floats, rings: Sequence[Ring]) -> Floats:
    """How far each point is from the nearest edge; only sums, products and roots, which all machines round alike."""
    least = np.full(x.shape, np.inf)
    for start, end in (side for ring in rings for side in sides(ring)):
        x0, y0, dx, dy, size = _way(start, end)
        along_x, along_y = x - x0, y - y0
        t = np.clip((along_x * dx + along_y * dy) / size, 0.0, 1.0) if size else np.zeros(x.shape)
        away_x, away_y = along_x - t * dx, along_y - t * dy
        np.minimum(least, away_x * away_x + away_y * away_y, out=least)
    room: Floats = np.sqrt(least)
    return room


def roomy(ring: Ring, holes: Sequence[Ring] = (), steps: int = 18) -> list[Point]:
    """Points inside the ring and outside the holes, furthest from every edge first, of those nearest to the middle."""
    left, bottom, right, top = box_of(ring)
    xs = [left + (i + 0.5) * (right - left) / steps for i in range(steps)]
    ys = [bottom + (j + 0.5) * (top - bottom) / steps for j in range(steps)]
    found = _spots((ring, *holes), xs, ys)
    out_x, out_y = found.x - (left + right) / 2, found.y - (bottom + top) / 2
    out = np.round(np.sqrt(out_x * out_x + out_y * out_y), 1)
    order = np.lexsort((found.y, found.x, out, -found.room))
    return list(zip(found.x[order].tolist(), found.y[order].tolist(), strict=True))


def rooms(ring: Ring, holes: Sequence[Ring], step: float) -> list[list[Point]]:
    """The parts of the ring outside the holes, each as grid points `step` apart, its roomiest first."""
    left, bottom, right, top = box_of(ring)
    xs = [left + (i + 0.5) * step for i in range(math.ceil((right - left) / step))]
    ys = [bottom + (j + 0.5) * step for j in range(math.ceil((top - bottom) / step))]
    spots = _spots((ring, *holes), xs, ys)
    places = zip(spots.column.tolist(), spots.row.tolist(), strict=True)
    ranks = zip((-spots.room).tolist(), spots.x.tolist(), spots.y.tolist(), strict=True)
    free = dict(zip(places, ranks, strict=True))
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
        found.append([(x, y) for _, x, y in sorted(group)])
    return found


def along(line: Sequence[Point], width: float) -> tuple[Point, Point, Point, Point]:
    """The straight board of that width about its centre line."""
    (x1, y1), (x2, y2) = line[0], line[-1]
    size = math.hypot(x2 - x1, y2 - y1) or 1.0
    nx, ny = -(y2 - y1) / size * width / 2, (x2 - x1) / size * width / 2
    return (x1 + nx, y1 + ny), (x1 - nx, y1 - ny), (x2 - nx, y2 - ny), (x2 + nx, y2 + ny)
