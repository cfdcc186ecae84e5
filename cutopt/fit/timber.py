"""What a piece is made of: its sawn edges and the fragments that the cuts leave of its slats."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cached_property

import shapely

from cutopt.fit.records import Fragment
from cutopt.fit.sharing import Share
from cutopt.geometry import NEAR, Ring, extent, polygon, polygons, ring_of
from cutopt.rules import Rules
from cutopt.tile import Point, Slat, Tile

Edge = tuple[Point, Point]


@dataclass(frozen=True, kw_only=True)
class Timber:
    """A piece as it lies on its source, before any backer is moved."""

    tile: Tile
    rules: Rules
    outline: Ring
    share: Share | None = None

    @cached_property
    def slats(self) -> tuple[Slat, ...]:
        """The tile's slats, two of them as they lie when they share."""
        if self.share is None:
            return self.tile.slats
        moved = {self.share.inner.id: self.share.inner, self.share.outer.id: self.share.outer}
        return tuple(moved.get(slat.id, slat) for slat in self.tile.slats)

    @cached_property
    def polygon(self) -> shapely.Polygon:
        """The outline for shapely, prepared."""
        shape = polygon(self.outline)
        shapely.prepare(shape)
        return shape

    @cached_property
    def sawn(self) -> tuple[Edge, ...]:
        """The edges that are not the tile's own."""
        ring = self.outline
        size = (self.tile.length, self.tile.width)
        return tuple(
            (p, q)
            for p, q in zip(ring, (*ring[1:], *ring[:1]), strict=True)
            if not any(p[axis] == q[axis] and p[axis] in (0, size[axis]) for axis in (0, 1))
        )

    @cached_property
    def fragments(self) -> tuple[Fragment, ...]:
        """The slats' fragments, slat by slat."""
        u0, _, u1, _ = extent(self.outline)
        strips = [shapely.box(u0 - 1, slat.v[0], u1 + 1, slat.v[1]) for slat in self.slats]
        parts = shapely.intersection(self.polygon, strips)
        return tuple(
            Fragment(slat=slat.id, outline=ring_of(part), shared=slat not in self.tile.slats)
            for slat, shape in zip(self.slats, parts, strict=True)
            for part in polygons(shape)
        )

    @cached_property
    def ripped(self) -> tuple[Edge, ...]:
        """The sawn edges that run nearly along the slats."""
        return tuple(edge for edge in self.sawn if edge not in self.end_grain)

    @cached_property
    def end_grain(self) -> tuple[Edge, ...]:
        """The sawn edges that leave end grain: those not nearly along the slats."""
        least = math.sin(math.radians(self.rules.end_grain_angle))
        return tuple((a, b) for a, b in self.sawn if abs(b[1] - a[1]) > least * math.dist(a, b))

    def to_sawn(self, point: Point) -> float:
        """The distance of a point to the nearest sawn edge, ticks."""
        return min((_to_segment(point, edge) for edge in self.sawn), default=math.inf)

    def to_end_grain(self, point: Point) -> float:
        """The distance of a point to the nearest sawn end of a slat, ticks."""
        return min((_to_segment(point, edge) for edge in self.end_grain), default=math.inf)


def _to_segment(point: Point, edge: Edge) -> float:
    (px, py), ((ax, ay), (bx, by)) = point, edge
    dx, dy = bx - ax, by - ay
    t = max(0.0, min(1.0, ((px - ax) * dx + (py - ay) * dy) / (dx * dx + dy * dy)))
    return math.hypot(px - ax - t * dx, py - ay - t * dy)


def width_at(fragment: Fragment, u: int) -> tuple[int, int] | None:
    """The fragment's extent across at `u`, None where it does not reach."""
    ring = fragment.outline
    hits: list[float] = []
    for (u0, v0), (u1, v1) in zip(ring, (*ring[1:], *ring[:1]), strict=True):
        if min(u0, u1) <= u <= max(u0, u1) and u0 != u1:
            hits.append(v0 + (v1 - v0) * (u - u0) / (u1 - u0))
    if len(hits) < 2 or max(hits) - min(hits) < NEAR:
        return None
    return math.ceil(min(hits)), math.floor(max(hits))


def blocked(timber: Timber, low: float, high: float) -> list[tuple[float, float, float, float]]:
    """Bounds of what is not the piece's own wood between u = low and u = high, within the tile's width."""
    strip = shapely.box(low, 0, high, timber.tile.width)
    return [part.bounds for part in polygons(strip.difference(timber.polygon))]


def free_spans(timber: Timber, low: float, high: float) -> list[tuple[int, int]]:
    """The intervals across where a board from u = low to u = high has the piece over its full width."""
    if low < 0 or high > timber.tile.length:
        return []
    spans: list[tuple[int, int]] = []
    at = 0.0
    for _, v0, _, v1 in sorted(blocked(timber, low, high), key=lambda b: b[1]):
        if v0 - at > NEAR:
            spans.append((math.ceil(at), math.floor(v0)))
        at = max(at, v1)
    if timber.tile.width - at > NEAR:
        spans.append((math.ceil(at), timber.tile.width))
    return spans
