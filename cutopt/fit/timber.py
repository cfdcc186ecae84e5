"""What a piece is made of: its sawn edges and the fragments that the cuts leave of its slats."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cached_property
from itertools import pairwise

import numpy as np
import shapely
from numpy.typing import NDArray

from cutopt.fit.records import Fragment
from cutopt.fit.sharing import Share
from cutopt.geometry import NEAR, Ring, extent, polygons, ring_of
from cutopt.rules import Rules
from cutopt.tile import Backer, Point, Slat, Tile

Edge = tuple[Point, Point]
STUB = 320  # ticks: a shorter stretch is no neck
POINTED = 2 * 320  # ticks: a tip is a point where it ends no wider than this


@dataclass(frozen=True, kw_only=True)
class Timber:
    """A piece as it lies on its source, before any backer is moved. `holes`: rings cut out of its inside, clockwise.

    `mark`: the finest mark that backers and holes are set to, ticks.
    """

    tile: Tile
    rules: Rules
    outline: Ring
    holes: tuple[Ring, ...] = ()
    share: Share | None = None
    mark: int = 320

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
        shape = shapely.Polygon(self.outline, self.holes)
        shapely.prepare(shape)
        return shape

    @cached_property
    def lipped(self) -> shapely.Polygon:
        """The piece and the half joint around it that its supports reach into, prepared."""
        lip = max(0, self.tile.support.pin_offset - min(self.tile.hole_inset))
        shape = self.polygon.buffer(lip, join_style="mitre")
        shapely.prepare(shape)
        return shape

    def covers(self, box: tuple[float, float, float, float]) -> bool:
        """Whether a box lies under the piece and the half joint around it."""
        if len(self.outline) == 4 and not self.holes and self.square:
            u0, v0, u1, v1 = self.lipped.bounds
            return bool(u0 <= box[0] and v0 <= box[1] and box[2] <= u1 and box[3] <= v1)
        return bool(self.lipped.contains(shapely.box(*box)))

    @cached_property
    def square(self) -> bool:
        """Whether all edges run along or across the slats."""
        return all(p[0] == q[0] or p[1] == q[1] for p, q in _edges(self.outline))

    @cached_property
    def hole_inset(self) -> Point:
        """How far the tile's holes are from its edges, along and across."""
        return self.tile.hole_inset

    @cached_property
    def least_apart(self) -> int:
        """Least distance between two pin holes: their radii and the wood between them."""
        return max(hole.diameter for hole in self.tile.pin_holes) + self.rules.hole_wood

    @cached_property
    def screws_of_slat(self) -> dict[int, list[Point]]:
        """The tile's screws in each slat."""
        return {slat.id: [s.at for s in self.tile.screws if s.slat == slat.id] for slat in self.tile.slats}

    @cached_property
    def screws_of_backer(self) -> dict[int, list[Point]]:
        """The tile's screws in each backer."""
        return {backer.id: [s.at for s in self.tile.screws if s.backer == backer.id] for backer in self.tile.backers}

    def backer(self, number: int) -> Backer:
        """The tile's backer of that number."""
        return next(backer for backer in self.tile.backers if backer.id == number)

    @cached_property
    def mass(self) -> tuple[float, float, float]:
        """The slats' mass by its area times thickness, and its moments along and across."""
        shapes = [shapely.Polygon(f.outline, f.holes) for f in self.fragments]
        areas = [shape.area * self.tile.slat_thickness for shape in shapes]
        centres = [shape.centroid for shape in shapes]
        moments = [
            sum(a * at for a, at in zip(areas, xs, strict=True))
            for xs in zip(*((c.x, c.y) for c in centres), strict=True)
        ]
        return sum(areas), moments[0], moments[1]

    @cached_property
    def face_corners(self) -> tuple[NDArray[np.object_], tuple[bool, ...]]:
        """The corners of the walking face as shapely's points, and whether each is at a sawn edge, and so at a wall.

        A rip that runs in the gap between two slats bounds the face too: the slat before it is at the wall.
        """
        gap = max((b.v[0] - a.v[1] for a, b in pairwise(sorted(self.tile.slats, key=lambda s: s.v))), default=0)
        corners = sorted({p for fragment in self.fragments for p in fragment.outline})
        return shapely.points(corners), tuple(self.to_sawn(p) <= gap + NEAR for p in corners)

    @cached_property
    def extent(self) -> tuple[int, int, int, int]:
        """Least u, least v, most u, most v."""
        u0, v0, u1, v1 = extent(self.outline)
        return round(u0), round(v0), round(u1), round(v1)

    @cached_property
    def sawn(self) -> tuple[Edge, ...]:
        """The edges that are not the tile's own, the wood on their left."""
        size = (self.tile.length, self.tile.width)
        outer = [
            (p, q)
            for p, q in _edges(self.outline)
            if not any(p[axis] == q[axis] and p[axis] in (0, size[axis]) for axis in (0, 1))
        ]
        return (*outer, *(edge for hole in self.holes for edge in _edges(hole)))

    @cached_property
    def fragments(self) -> tuple[Fragment, ...]:
        """The slats' fragments, slat by slat."""
        u0, _, u1, _ = self.extent
        strips = [shapely.box(u0 - 1, slat.v[0], u1 + 1, slat.v[1]) for slat in self.slats]
        parts = shapely.intersection(self.polygon, strips)
        return tuple(
            Fragment(
                slat=slat.id,
                outline=ring_of(part),
                holes=tuple(ring_of(shapely.Polygon(hole)) for hole in part.interiors),
                shared=slat not in self.tile.slats,
            )
            for slat, shape in zip(self.slats, parts, strict=True)
            for part in polygons(shape)
        )

    @cached_property
    def fragment_extents(self) -> tuple[tuple[float, float, float, float], ...]:
        """Of each fragment: least u, least v, most u, most v."""
        return tuple(extent(fragment.outline) for fragment in self.fragments)

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

    def on_mark(self, u: float) -> int:
        """The nearest mark to `u`, measured from the factory end that the piece has, as backers are set."""
        u0, _, u1, _ = self.extent
        if u0 > 0 and u1 >= self.tile.length:
            return self.tile.length - round((self.tile.length - u) / self.mark) * self.mark
        return round((u - u0) / self.mark) * self.mark + u0


def _edges(ring: Ring) -> list[Edge]:
    return list(zip(ring, (*ring[1:], *ring[:1]), strict=True))


def _to_segment(point: Point, edge: Edge) -> float:
    (px, py), ((ax, ay), (bx, by)) = point, edge
    dx, dy = bx - ax, by - ay
    t = max(0.0, min(1.0, ((px - ax) * dx + (py - ay) * dy) / (dx * dx + dy * dy)))
    return math.hypot(px - ax - t * dx, py - ay - t * dy)


def strands(fragment: Fragment, u: float) -> list[tuple[float, float]]:
    """The intervals across in which the fragment is wood at `u`: more than one beside a notch or hole within a slat."""
    hits: list[float] = []
    for ring in (fragment.outline, *fragment.holes):
        for (u0, v0), (u1, v1) in zip(ring, (*ring[1:], *ring[:1]), strict=True):
            if (u0 <= u) != (u1 <= u):  # an edge counts at its low end only, so that corners are not counted twice
                hits.append(v0 + (v1 - v0) * (u - u0) / (u1 - u0))
    hits.sort()
    return [(a, b) for a, b in zip(hits[::2], hits[1::2], strict=True) if b - a > NEAR]


def width_at(fragment: Fragment, u: float) -> tuple[int, int] | None:
    """The fragment's widest interval across at `u`, None where it does not reach."""
    found = strands(fragment, u)
    if not found:
        return None
    low, high = max(found, key=lambda strand: strand[1] - strand[0])
    return math.ceil(low), math.floor(high)


def neck(fragment: Fragment, least: int) -> float | None:
    """The width of the narrowest neck of a fragment below `least`, ticks; None where it has none.

    A neck is a stretch along the slat that is narrower all along. A tip that a taper or an arc runs out to a point is
    none: there the width at each backer counts, and how far the tip reaches past it.
    """
    us = sorted({p[0] for ring in (fragment.outline, *fragment.holes) for p in ring})
    found: list[float] = []
    for a, b in pairwise(us):
        if b - a <= STUB:
            continue
        for start, end in zip(strands(fragment, a + 1), strands(fragment, b - 1), strict=False):
            widest = max(start[1] - start[0], end[1] - end[0])
            if widest < least and not _runs_out(fragment, us, a, b):
                found.append(widest)
    return min(found, default=None)


def _runs_out(fragment: Fragment, us: list[int], a: int, b: int) -> bool:
    """Whether the fragment only narrows from between `a` and `b` to one of its ends, and ends in a point there."""
    onward = [a + 1, *(u - 1 for u in us if u >= b)], [b - 1, *(u + 1 for u in reversed(us) if u <= a)]
    for way in onward:
        found = [width_at(fragment, u) for u in way]
        widths = [width[1] - width[0] if width else 0 for width in found]
        narrows = widths[0] > 2 * widths[-1] and all(after <= before + 1 for before, after in pairwise(widths))
        if narrows and widths[-1] <= POINTED:
            return True
    return False


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
