"""Shapes in millimetres, frames, and how the check compares them.

Numbers that the plan states are compared to one tick. Points that come from intersections (oblique cuts, tapers) are
rounded by the planner, so shapes may differ by `TOLERANCE`.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

import shapely
from shapely import affinity
from shapely.geometry import LineString, MultiPolygon, Point, Polygon, box
from shapely.geometry.base import BaseGeometry
from shapely.ops import unary_union

from cutopt.lengths import TICKS_PER_MM, ticks

Spot = tuple[float, float]
TOLERANCE_TICKS = 3
TOLERANCE = TOLERANCE_TICKS / TICKS_PER_MM
SHARP = 1.0  # mm: how far the tip of a sharp corner may move where its edges are the same within the tolerance
SNAP = 1e-6  # mm: overlays are snapped to this grid; without one they may go wrong along edges that nearly coincide


def same(one: float, other: float) -> bool:
    """Whether two stated lengths (mm) are equal to the tick that a decimal number may lose."""
    return abs(ticks(one) - ticks(other)) <= 1


def falls_short(value: float, least: float) -> bool:
    """Whether a measured length (mm) is below the least that a rule allows, by more than the tolerance."""
    return ticks(value) < ticks(least) - TOLERANCE_TICKS


def exceeds(value: float, most: float) -> bool:
    """Whether a measured length (mm) is above the most that a rule allows, by more than the tolerance."""
    return ticks(value) > ticks(most) + TOLERANCE_TICKS


def number(value: float) -> str:
    """A length for a text, without needless digits."""
    return f"{value:.2f}".rstrip("0").rstrip(".")


def polygon(outline: Sequence[Spot], holes: Sequence[Sequence[Spot]] = ()) -> Polygon:
    """The polygon of a ring; empty where the ring has no area or crosses itself (`rings.py` reports that)."""
    if len(outline) < 3:
        return Polygon()
    shape = Polygon(outline, [hole for hole in holes if len(hole) >= 3])
    return shape if shape.is_valid else Polygon()


def rectangle(width: float, height: float) -> Polygon:
    """The rectangle from the origin."""
    return box(0.0, 0.0, width, height)


def common(one: BaseGeometry, other: BaseGeometry) -> BaseGeometry:
    """What two regions share."""
    return _faces(shapely.intersection(one, other, grid_size=SNAP))


def without(one: BaseGeometry, other: BaseGeometry) -> BaseGeometry:
    """What a region has beyond another."""
    return _faces(shapely.difference(one, other, grid_size=SNAP))


def _faces(region: BaseGeometry) -> BaseGeometry:
    """A region without the lines and points where others only touched it."""
    if region.geom_type in ("Polygon", "MultiPolygon"):
        return region
    return MultiPolygon([part for part in shapely.get_parts(region) if isinstance(part, Polygon)])


def nothing(region: BaseGeometry) -> bool:
    """Whether a region is no more than rounding: it vanishes when shrunk by the tolerance."""
    area = region.area
    if area == 0:
        return True
    if area > 2 * TOLERANCE * region.length:  # shrinking takes no more than the tolerance along the boundary
        return False
    return bool(region.buffer(-TOLERANCE, join_style="mitre").is_empty)


def equal(one: BaseGeometry, other: BaseGeometry) -> bool:
    """Whether two regions are the same within the tolerance."""
    if one.is_empty or other.is_empty:
        return nothing(one) and nothing(other)
    apart = max(abs(a - b) for a, b in zip(one.bounds, other.bounds, strict=True))
    if apart > SHARP:
        return False
    if apart <= TOLERANCE and upright(one) and upright(other):
        return True
    return nothing(without(one, other)) and nothing(without(other, one))


def upright(region: BaseGeometry) -> bool:
    """Whether a region is a rectangle along the axes, as most slats are: it fills its bounds."""
    x0, y0, x1, y1 = region.bounds
    return bool(abs((x1 - x0) * (y1 - y0) - region.area) <= SNAP)


def inside(inner: BaseGeometry, outer: BaseGeometry) -> bool:
    """Whether `inner` lies in `outer` within the tolerance."""
    return bool(outer.covers(inner)) or nothing(without(inner, outer))


def overlap(one: BaseGeometry, other: BaseGeometry) -> bool:
    """Whether two regions share more than rounding."""
    return one.intersects(other) and not nothing(common(one, other))


def polygons(region: BaseGeometry) -> list[Polygon]:
    """The polygons of a region that are more than rounding."""
    members = getattr(region, "geoms", [region])
    found: list[Polygon] = []
    for member in members:
        if isinstance(member, Polygon):
            if not nothing(member):
                found.append(member)
        elif hasattr(member, "geoms"):
            found.extend(polygons(member))
    return found


def ring_edges(shape: Polygon) -> list[tuple[Spot, Spot]]:
    """All edges of a polygon, holes too."""
    found: list[tuple[Spot, Spot]] = []
    if shape.is_empty:
        return found
    for ring in (shape.exterior, *shape.interiors):
        spots = [(float(x), float(y)) for x, y in ring.coords]
        found.extend(pair for pair in itertools.pairwise(spots) if pair[0] != pair[1])
    return found


def along(start: Spot, end: Spot) -> Spot:
    """The unit vector from `start` to `end`."""
    length = math.dist(start, end)
    return ((end[0] - start[0]) / length, (end[1] - start[1]) / length)


def near(shape: BaseGeometry, spot: Spot) -> bool:
    """Whether a point lies in a shape within the tolerance."""
    return bool(shapely.dwithin(shape, Point(spot), TOLERANCE))


def on_line(spot: Spot, line: BaseGeometry) -> bool:
    """Whether a point lies on a line within the tolerance."""
    return not exceeds(Point(spot).distance(line), 0.0)


def to_edge(spot: Spot, edge: tuple[Spot, Spot]) -> float:
    """The distance from a point to an edge."""
    (x, y), (dx, dy) = edge[0], (edge[1][0] - edge[0][0], edge[1][1] - edge[0][1])
    size = dx * dx + dy * dy
    share = max(0.0, min(1.0, ((spot[0] - x) * dx + (spot[1] - y) * dy) / size)) if size else 0.0
    return math.hypot(spot[0] - x - share * dx, spot[1] - y - share * dy)


def angle_from_slats(start: Spot, end: Spot) -> float:
    """Degrees between an edge and the slats' direction (u), 0 to 90."""
    return math.degrees(math.atan2(abs(end[1] - start[1]), abs(end[0] - start[0])))


def board(line: Sequence[Spot], width: float) -> Polygon:
    """The rectangle of a board from its centre line."""
    return _board(tuple((u, v) for u, v in line), width)


def board_across(u: float, span: Sequence[float], width: float) -> Polygon:
    """The rectangle of a board square to the slats, as the tile's own backers lie: around `u`, over the span of v."""
    return board([(u, v) for v in span], width)


@lru_cache(maxsize=8192)
def _board(line: tuple[Spot, ...], width: float) -> Polygon:
    if len(line) != 2 or line[0] == line[1] or width <= 0:
        return Polygon()
    shape = LineString(line).buffer(width / 2, cap_style="flat")
    return shape if isinstance(shape, Polygon) else Polygon()


def band(path: Sequence[Spot], offsets: Sequence[float], *, closed: bool) -> BaseGeometry:
    """The strip between a path and its parallel, one offset for each segment, left of the path where positive.

    At corners that turn away from the strip it is mitred: both strips are extended until they meet.
    """
    spots = [*path, path[0]] if closed else list(path)
    legs = [(a, b, offset) for (a, b), offset in zip(itertools.pairwise(spots), offsets, strict=True) if a != b]
    shapes: list[BaseGeometry] = [_quad(a, b, offset) for a, b, offset in legs if offset]
    pairs = list(zip(legs, legs[1:] + legs[:1] if closed else legs[1:], strict=False))
    shapes.extend(_mitre(first, second) for first, second in pairs)
    return unary_union([shape for shape in shapes if not shape.is_empty])


def _aside(spot: Spot, direction: Spot, offset: float) -> Spot:
    return (spot[0] - direction[1] * offset, spot[1] + direction[0] * offset)


def _quad(a: Spot, b: Spot, offset: float) -> Polygon:
    direction = along(a, b)
    return Polygon([a, b, _aside(b, direction, offset), _aside(a, direction, offset)])


def _mitre(first: tuple[Spot, Spot, float], second: tuple[Spot, Spot, float]) -> Polygon:
    """The wedge at a corner between two strips, out to where their far sides meet."""
    (a, corner, one), (_, b, other) = first, second
    d, e = along(a, corner), along(corner, b)
    turn = d[0] * e[1] - d[1] * e[0]
    if abs(turn) < 1e-9 or one * other <= 0 or turn * one > 0:
        return Polygon()
    start, end = _aside(corner, d, one), _aside(corner, e, other)
    reach = ((end[0] - start[0]) * e[1] - (end[1] - start[1]) * e[0]) / turn
    return Polygon([corner, start, (start[0] + d[0] * reach, start[1] + d[1] * reach), end])


@dataclass(frozen=True, kw_only=True, slots=True)
class Move:
    """A turn by a multiple of 90 degrees and a shift: x' = a x + b y + x0, y' = c x + d y + y0."""

    a: float
    b: float
    c: float
    d: float
    x0: float
    y0: float

    def spot(self, spot: Spot) -> Spot:
        """Where a point lands."""
        x, y = spot
        return (self.a * x + self.b * y + self.x0, self.c * x + self.d * y + self.y0)

    def shape(self, shape: BaseGeometry) -> BaseGeometry:
        """Where a shape lands."""
        return affinity.affine_transform(shape, [self.a, self.b, self.c, self.d, self.x0, self.y0])

    def region(self, shape: Polygon) -> Polygon:
        """Where a polygon lands."""
        moved = self.shape(shape)
        return moved if isinstance(moved, Polygon) else Polygon()

    def back(self) -> Move:
        """The inverse: the turn's transpose, and the shift undone."""
        return Move(
            a=self.a,
            b=self.c,
            c=self.b,
            d=self.d,
            x0=-(self.a * self.x0 + self.c * self.y0),
            y0=-(self.b * self.x0 + self.d * self.y0),
        )

    def then(self, later: Move) -> Move:
        """This move, then a later one."""
        x0, y0 = later.spot((self.x0, self.y0))
        return Move(
            a=later.a * self.a + later.b * self.c,
            b=later.a * self.b + later.b * self.d,
            c=later.c * self.a + later.d * self.c,
            d=later.c * self.b + later.d * self.d,
            x0=x0,
            y0=y0,
        )
