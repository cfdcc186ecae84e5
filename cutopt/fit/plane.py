"""Plane geometry on bare numbers: edges, distances to them, hulls, areas and centroids."""

from __future__ import annotations

import math
from collections.abc import Collection, Sequence
from itertools import pairwise
from typing import TypeVar

from cutopt.geometry import Ring
from cutopt.tile import Point

Edge = tuple[Point, Point]
Flat = TypeVar("Flat", bound=tuple[float, float])


def edges_of(ring: Ring) -> list[Edge]:
    """A ring's edges, from each corner to the next."""
    return list(zip(ring, (*ring[1:], *ring[:1]), strict=True))


def around(ring: Ring) -> float:
    """The length of a ring."""
    return sum(math.dist(p, q) for p, q in edges_of(ring))


def to_stretch(u: float, v: float, du: float, dv: float) -> float:
    """From a point to a stretch that begins at the origin and ends at (du, dv), not the same point."""
    t = (u * du + v * dv) / (du * du + dv * dv)
    if t <= 0:
        return math.hypot(u, v)
    if t >= 1:
        return math.hypot(u - du, v - dv)
    return math.hypot(u - t * du, v - t * dv)


def inward(edge: Edge) -> int:
    """Which way along u the wood lies: anticlockwise, an edge that runs up has it on its low-u side."""
    return -1 if edge[1][1] > edge[0][1] else 1


def moments(ring: Sequence[Point]) -> tuple[float, float, float]:
    """A ring's area, positive when anticlockwise, and its centroid (the shoelace formulas)."""
    u0, v0 = ring[0]  # from a corner, so that no digits are lost
    area = us = vs = 0.0
    for (a, b), (c, d) in pairwise(ring[1:]):
        part = ((a - u0) * (d - v0) - (c - u0) * (b - v0)) / 2
        area, us, vs = area + part, us + part * (a + c - 2 * u0) / 3, vs + part * (b + d - 2 * v0) / 3
    return area, u0 + us / area, v0 + vs / area


def hull(points: Collection[Flat]) -> list[Flat]:
    """The corners of the convex hull of some points, anticlockwise (Andrew's monotone chain)."""
    ordered = sorted(set(points))
    if len(ordered) < 3:
        return ordered
    chains: list[Flat] = []
    for way in (ordered, ordered[::-1]):
        chain: list[Flat] = []
        for p in way:
            x, y = p
            while len(chain) > 1:
                (xa, ya), (xb, yb) = chain[-2:]
                if (xb - xa) * (y - ya) - (yb - ya) * (x - xa) > 0:
                    break
                chain.pop()
            chain.append(p)
        chains += chain[:-1]
    return chains
