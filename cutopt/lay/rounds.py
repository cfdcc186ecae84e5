"""Round notches: an arc around a round post, with straight legs to the edge where it goes in deeper than half.

     ·  ·                  ·  ·          centre on marks, radius a whole mark; the path that stands for the arc is
  ·        ·            ·        ·       a polyline that touches it from outside, so that the wood keeps off the
 ·          ·          ·  centre  ·      post, and by no more than OFF
───────────────        │    +     │
  shallow arc          │          │      legs touch the circle
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import pairwise

import shapely

from cutopt.geometry import FloatPoint, Rail, Ring, polygon, snapped
from cutopt.lay.ground import Upright
from cutopt.lay.marks import Bench, Unmarked
from cutopt.lay.notches import stretches
from cutopt.lay.records import Notch
from cutopt.tile import Point

OFF = 96  # ticks: the polyline's corners stand off the arc by no more, 0.3 mm
LEAST_SIDES = 24
CLEAR = 1.5  # ticks: corners are rounded to ticks


@dataclass(frozen=True, kw_only=True, slots=True)
class Arc:
    """The circle that a jigsaw follows around a post, in ticks."""

    centre: Point
    radius: int

    @property
    def ring(self) -> Ring:
        """The polyline around it, clockwise; it has a side at each of the four ends of the circle's axes."""
        least = math.pi / math.acos(self.radius / (self.radius + OFF))
        sides = max(LEAST_SIDES, math.ceil(least / 4) * 4)
        out = self.radius / math.cos(math.pi / sides)
        turns = (-math.pi * (2 * k + 1) / sides for k in range(sides))
        return tuple(
            (self.centre[0] + round(out * math.cos(t)), self.centre[1] + round(out * math.sin(t))) for t in turns
        )


def arc_around(upright: Upright, bench: Bench) -> Arc:
    """The arc around a post: its centre on the mark nearest to the post's, its radius a whole mark. Raises `Unmarked`.

    The radius lies between the post's with the least gap and with the most, each less what the centre was moved.
    """
    middle = upright.centre
    centre = (round(middle[0] / bench.mark) * bench.mark, round(middle[1] / bench.mark) * bench.mark)
    moved = math.dist(centre, middle)
    at = shapely.Point(middle)
    inner = max(math.dist(p, middle) for p in upright.grown(upright.gap[0]).exterior.coords) + moved + CLEAR
    outer = upright.grown(upright.gap[1]).exterior.distance(at) - moved - OFF - CLEAR
    first, last = math.ceil(inner / bench.mark), math.floor(outer / bench.mark)
    if first > last:
        raise Unmarked("mark", "no arc with its centre and radius on marks lies within the gap of a round post")
    wanted = {"widest": inner, "narrowest": outer}.get(bench.slide, (inner + outer) / 2)
    radius = min(range(first, last + 1), key=lambda k: (abs(k * bench.mark - wanted), k)) * bench.mark
    return Arc(centre=centre, radius=radius)


def swept(arc: Arc, piece: shapely.Polygon, towards: FloatPoint | None) -> shapely.Polygon:
    """What goes for the post: the arc's disc, and its way out to the edges where it lies deeper than half.

    `towards`: the way out where it is chosen beforehand, a unit vector.
    """
    disc = polygon(arc.ring)
    ways = [towards] if towards is not None else _ways_out(arc, piece)
    if not ways or any(a[0] * b[0] + a[1] * b[1] < -0.99 for a in ways for b in ways):
        return disc  # it goes right through the piece, and parts it
    far = math.hypot(*(piece.bounds[k + 2] - piece.bounds[k] for k in (0, 1))) + 4 * arc.radius
    shifts = [(0.0, 0.0), *((x * far, y * far) for x, y in ways)]
    if len(ways) > 1:
        shifts.append((sum(x for x, _ in ways) * far, sum(y for _, y in ways) * far))
    moved = [shapely.affinity.translate(disc, round(x), round(y)) for x, y in shifts]
    return shapely.union_all(moved).convex_hull


def _ways_out(arc: Arc, piece: shapely.Polygon) -> list[FloatPoint]:
    """The outward normals of the piece's edges that the arc crosses with its centre on the wood's side."""
    ring = list(shapely.geometry.polygon.orient(piece, 1.0).exterior.coords)
    found: list[FloatPoint] = []
    for a, b in pairwise(ring):
        if shapely.LineString([a, b]).distance(shapely.Point(arc.centre)) >= arc.radius:
            continue
        rail = Rail(a=a, b=b, slack=0)
        way = (-rail.normal[0], -rail.normal[1])
        if rail.distance(arc.centre) > 0 and all(math.dist(way, other) > 0.01 for other in found):
            found.append(way)
    return found


def round_notches(arc: Arc, gone: shapely.Polygon, piece: shapely.Polygon) -> list[Notch]:
    """The notches that take `gone` out of a piece: one mostly, a closed one where it lies inside the piece."""
    ring = list(shapely.geometry.polygon.orient(gone, -1.0).exterior.coords[:-1])
    if piece.contains(gone):
        return [Notch(path=snapped(ring), closed=True, centre=arc.centre, radius=arc.radius)]
    outside = next((k for k, p in enumerate(ring) if not piece.intersects(shapely.Point(p))), None)
    if outside is None:
        raise Unmarked("mark", "a round notch that hardly leaves the wood")
    line = shapely.LineString([*ring[outside:], *ring[: outside + 1]])
    return [Notch(path=path, centre=arc.centre, radius=arc.radius) for path in stretches(line, piece)]
