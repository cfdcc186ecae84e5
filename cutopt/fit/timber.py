"""What a piece is made of: its sawn edges and the fragments that the cuts leave of its slats."""

from __future__ import annotations

import math
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property, lru_cache
from itertools import pairwise
from typing import TypeVar

import shapely

from cutopt.fit.records import Fragment
from cutopt.fit.sharing import Share
from cutopt.fit.turning import View
from cutopt.geometry import NEAR, Ring, area2, extent, from_lowest, polygons, ring_of, snapped
from cutopt.rules import Rules
from cutopt.tile import Backer, Point, Screw, Slat, Tile

Edge = tuple[Point, Point]
Flat = TypeVar("Flat", bound=tuple[float, float])
STUB = 320  # ticks: a shorter stretch is no neck
POINTED = 2 * 320  # ticks: a tip is a point where it ends no wider than this


def least_apart(tile: Tile, rules: Rules) -> int:
    """Least distance between two pin holes: their radii and the wood between them, and the same for the pins of two
    supports whose pads are cut between them.
    """
    wood = max(hole.diameter for hole in tile.design.pin_holes) + rules.hole_wood
    return max(wood, tile.support.pin + 2 * rules.pad_past_pin)


@dataclass(frozen=True, kw_only=True)
class Timber:
    """A piece as it lies on its source, before any backer is moved. `holes`: rings cut out of its inside, clockwise.

    `mark`: the finest mark that backers and holes are set to, ticks. `view`: the tile's, where it is not as given.
    """

    tile: Tile
    rules: Rules
    outline: Ring
    holes: tuple[Ring, ...] = ()
    share: Share | None = None
    mark: int = 320
    view: View | None = None

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
        shape = self.polygon.buffer(self.lip, join_style="mitre")
        shapely.prepare(shape)
        return shape

    @cached_property
    def set_back(self) -> shapely.Geometry:
        """The piece less what its backers keep from every edge across in the uncut tile."""
        return self.polygon.buffer(-self.first.v[0], join_style="mitre")

    @cached_property
    def lip(self) -> int:
        """How far a piece's supports reach into the joint around it."""
        return max(0, self.tile.support.pin_offset - min(self.hole_inset))

    def under(self, points: Sequence[Point]) -> list[bool]:
        """Which of some points lie in the piece or on its edge."""
        if self.rectangular:
            u0, v0, u1, v1 = self.extent
            return [u0 <= u <= u1 and v0 <= v <= v1 for u, v in points]
        us, vs = zip(*points, strict=True) if points else ((), ())
        found: list[bool] = shapely.intersects_xy(self.polygon, us, vs).tolist()
        return found

    def covers(self, box: tuple[float, float, float, float]) -> bool:
        """Whether a box lies under the piece and the half joint around it."""
        if self.rectangular:
            u0, v0, u1, v1 = self.extent
            lip = self.lip
            return u0 - lip <= box[0] and v0 - lip <= box[1] and box[2] <= u1 + lip and box[3] <= v1 + lip
        return self._well_within(box) or bool(self.lipped.contains(shapely.box(*box)))

    def _well_within(self, box: tuple[float, float, float, float]) -> bool:
        """Whether a box lies within the piece by a test that may miss one that does: no edge comes near it, but those
        on the piece's outermost sides, past which it may reach into the joint.
        """
        u0, v0, u1, v1 = self.extent
        lip = self.lip
        if not (u0 - lip <= box[0] and v0 - lip <= box[1] and box[2] <= u1 + lip and box[3] <= v1 + lip):
            return False
        for (ua, va), (ub, vb) in self.rim:
            if (ua == ub and ua in (u0, u1)) or (va == vb and va in (v0, v1)):
                continue
            apart = max(ua, ub) < box[0] or min(ua, ub) > box[2] or max(va, vb) < box[1] or min(va, vb) > box[3]
            if not apart:
                return False
        return _within(self, (box[0] + box[2]) / 2, (box[1] + box[3]) / 2)

    @cached_property
    def rectangular(self) -> bool:
        """Whether it is a rectangle along the slats, without holes."""
        return len(self.rim) == 4 and all(p[0] == q[0] or p[1] == q[1] for p, q in self.rim)

    @cached_property
    def rim(self) -> tuple[Edge, ...]:
        """All edges of the piece, those of its holes too, the wood on their left."""
        return (*_edges(self.outline), *(edge for hole in self.holes for edge in _edges(hole)))

    @cached_property
    def rising(self) -> list[tuple[int, int, int, int, float]]:
        """The rim's edges from their low end along the slats to the high one: both, and how steep they are across."""
        ends = [(*p, *q) if p[0] <= q[0] else (*q, *p) for p, q in self.rim]
        return [(ua, va, ub, vb, (vb - va) / (ub - ua) if ua < ub else math.inf) for ua, va, ub, vb in ends]

    @cached_property
    def hole_inset(self) -> Point:
        """How far the tile's holes are from its edges, along and across."""
        return self.tile.hole_inset

    @cached_property
    def one_pad(self) -> int:
        """How far across a backer reaches at most that one pad may do for: the face past it is as at a wall."""
        return self.tile.support.pad[1] // 2 + self.rules.wall_face_past_bearing

    @cached_property
    def least_apart(self) -> int:
        """Least distance between two pin holes."""
        return least_apart(self.tile, self.rules)

    @cached_property
    def screws_of_slat(self) -> Mapping[int, Sequence[Point]]:
        """Where the tile as made has screws in each slat: those that are gone from an offcut left a hole."""
        return _screwing(self.tile.design).of_slat

    @cached_property
    def screws_of_backer(self) -> Mapping[int, Sequence[Point]]:
        """Where the tile as made has screws in each backer."""
        return _screwing(self.tile.design).of_backer

    @cached_property
    def first(self) -> Backer:
        """The tile's first backer along the slats."""
        return min(self.tile.design.backers, key=lambda b: b.u)

    @cached_property
    def full(self) -> int:
        """The width of the tile's backers, of the narrowest if they differ."""
        return min(backer.width for backer in self.tile.design.backers)

    @cached_property
    def hung_widths(self) -> tuple[int, ...]:
        """The widths of backers that are hung anew: as the tile has them, and ripped."""
        full = self.first.width
        return tuple(dict.fromkeys((full, min(full, self.rules.shaved_least))))

    @cached_property
    def overhang(self) -> int:
        """How far a slat may reach past its last backer: as the rule has it, or as far as in the uncut tile."""
        first, last = self.first, max(self.tile.design.backers, key=lambda b: b.u)
        own = max(first.u - first.width // 2, self.tile.length - last.u - last.width // 2)
        return max(self.rules.longest_overhang, own)

    @cached_property
    def usual_screws(self) -> int:
        """How many screws a crossing of the tile has."""
        return max(len(screws) for screws in _screwing(self.tile.design).at.values())

    @cached_property
    def by_v(self) -> list[Slat]:
        """The slats from the low side to the high one."""
        return sorted(self.slats, key=lambda slat: slat.v)

    def backer(self, number: int) -> Backer:
        """The tile's backer of that number."""
        return self._backers[number]

    @cached_property
    def bored(self) -> tuple[int, ...]:
        """The numbers of the tile's backers with pin holes."""
        return tuple(sorted(backer.id for backer in self.tile.bored))

    @cached_property
    def _backers(self) -> dict[int, Backer]:
        return {backer.id: backer for backer in self.tile.backers}

    @cached_property
    def brought(self) -> tuple[Point, ...]:
        """Pin holes that wood from elsewhere may bring to a straight backer: how far off its centre line, and where
        across.
        """
        return tuple(sorted({(hole.at[0] - self.backer(hole.backer).u, hole.at[1]) for hole in self.tile.pin_holes}))

    @cached_property
    def screws_at(self) -> Mapping[tuple[int, int], Sequence[Screw]]:
        """The tile's screws at each crossing of a backer and a slat."""
        return _screwing(self.tile).at

    @cached_property
    def mass(self) -> tuple[float, float, float]:
        """The slats' mass by its area times thickness, and its moments along and across."""
        mass = us = vs = 0.0
        for fragment in self.fragments:
            for ring, sign in ((fragment.outline, 1), *((hole, -1) for hole in fragment.holes)):
                area, u, v = moments(ring)
                mass, us, vs = mass + sign * abs(area), us + sign * abs(area) * u, vs + sign * abs(area) * v
        thick = self.tile.slat_thickness
        return mass * thick, us * thick, vs * thick

    @cached_property
    def face(self) -> tuple[tuple[Point, bool], ...]:
        """The outermost corners of the walking face, and whether each is at a sawn edge, and so at a wall.

        Outermost among those at walls, and among the others: what lies between them is no further from what the piece
        rests on. A rip that runs in the gap between two slats bounds the face too: the slat before it is at the wall.
        """
        gap = max((b.v[0] - a.v[1] for a, b in pairwise(sorted(self.tile.slats, key=lambda s: s.v))), default=0)
        corners = {p for fragment in self.fragments for p in fragment.outline}
        walls = {p for p in corners if self.to_sawn(p) <= gap + NEAR}
        return tuple((p, at_wall) for some, at_wall in ((corners - walls, False), (walls, True)) for p in hull(some))

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
        if self.rectangular:
            return self._clipped
        u0, _, u1, _ = self.extent
        ends = {v for edge in self.rim for _, v in edge}
        inner = [slat for slat in self.slats if any(slat.v[0] < v < slat.v[1] for v in ends)]
        parts: dict[int, shapely.Geometry] = {}
        if inner:
            boxes = [shapely.box(u0 - 1, slat.v[0], u1 + 1, slat.v[1]) for slat in inner]
            parts = dict(zip((s.id for s in inner), shapely.intersection(self.polygon, boxes).tolist(), strict=True))
        found: list[Fragment] = []
        for slat in self.slats:
            if slat.id in parts:
                rings = [
                    (ring_of(part), tuple(ring_of(shapely.Polygon(hole)) for hole in part.interiors))
                    for part in polygons(parts[slat.id])
                ]
            else:
                rings = [(ring, ()) for ring in self._passing(slat)]
            shared = slat not in self.tile.slats
            found += [Fragment(slat=slat.id, outline=ring, holes=holes, shared=shared) for ring, holes in rings]
        return tuple(found)

    @property
    def _clipped(self) -> tuple[Fragment, ...]:
        """The fragments of a rectangle."""
        u0, v0, u1, v1 = self.extent
        clipped = [(slat, max(slat.v[0], v0), min(slat.v[1], v1)) for slat in self.slats]
        return tuple(
            Fragment(
                slat=slat.id,
                outline=((u0, low), (u1, low), (u1, high), (u0, high)),
                shared=slat not in self.tile.slats,
            )
            for slat, low, high in clipped
            # as thick as a polygon must be to count
            if high > low and (u1 - u0) * (high - low) > 2 * NEAR * (u1 - u0 + high - low)
        )

    def _passing(self, slat: Slat) -> list[Ring]:
        """The fragments of a slat in which no edge ends: each lies between two edges that pass across it."""
        low, high = slat.v
        us = []
        for (ua, va), (ub, vb) in self.rim:
            if min(va, vb) <= low and max(va, vb) >= high:
                us.append(tuple(ua + (ub - ua) * (v - va) / (vb - va) for v in slat.v))
        us.sort(key=sum)
        corners = [((a, low), (c, low), (d, high), (b, high)) for (a, b), (c, d) in zip(us[::2], us[1::2], strict=True)]
        rings = [snapped(some) for some in corners]
        wide = [ring for ring in rings if len(ring) > 2 and area2(ring) > 2 * NEAR * _round(ring)]
        return [from_lowest(ring) for ring in wide]

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
        u, v = point
        return min([to_stretch(u - ua, v - va, du, dv) for ua, va, du, dv in self._sawn_ways], default=math.inf)

    @cached_property
    def _sawn_ways(self) -> list[tuple[int, int, int, int]]:
        """The start of each sawn edge and the way to its end."""
        return [(ua, va, ub - ua, vb - va) for (ua, va), (ub, vb) in self.sawn]

    def rounded(self, v: int, step: int) -> int:
        """The nearest place across that is a whole number of steps from the home corner of the tile as given."""
        if self.view is None:
            return round(v / step) * step
        return self.view.v(round(self.view.v(v) / step) * step)

    def on_mark(self, u: float) -> int:
        """The nearest mark to `u`, measured from the factory end that the piece has, as backers are set."""
        u0, _, u1, _ = self.extent
        if u0 > 0 and u1 >= self.tile.length:
            return self.tile.length - round((self.tile.length - u) / self.mark) * self.mark
        return round((u - u0) / self.mark) * self.mark + u0


@dataclass(frozen=True, kw_only=True, slots=True)
class _Screwing:
    """A tile's screws in each slat and in each backer, and at each crossing of a backer and a slat."""

    of_slat: Mapping[int, Sequence[Point]]
    of_backer: Mapping[int, Sequence[Point]]
    at: Mapping[tuple[int, int], Sequence[Screw]]


@lru_cache(maxsize=64)
def _screwing(tile: Tile) -> _Screwing:
    """Worked out once for all pieces of a tile."""
    at: dict[tuple[int, int], list[Screw]] = {}
    for screw in tile.screws:
        at.setdefault((screw.backer, screw.slat), []).append(screw)
    return _Screwing(
        of_slat={slat.id: [s.at for s in tile.screws if s.slat == slat.id] for slat in tile.slats},
        of_backer={backer.id: [s.at for s in tile.screws if s.backer == backer.id] for backer in tile.backers},
        at=at,
    )


def _edges(ring: Ring) -> list[Edge]:
    return list(zip(ring, (*ring[1:], *ring[:1]), strict=True))


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


def _round(ring: Ring) -> float:
    """The length of a ring."""
    return sum(math.dist(p, q) for p, q in _edges(ring))


def strands(fragment: Fragment, u: float, slope: float = 0.0, v: float = 0.0) -> list[tuple[float, float]]:
    """The intervals across in which the fragment is wood at `u`: more than one beside a notch or hole within a slat.

    Along an oblique line that crosses `u` at `v`: `slope` is how far it moves along for each tick across.
    """
    hits: list[float] = []
    for ring in (fragment.outline, *fragment.holes):
        line = [(a - slope * (b - v), b) for a, b in ring] if slope else ring
        for (u0, v0), (u1, v1) in zip(line, (*line[1:], line[0]), strict=True):
            if (u0 <= u) != (u1 <= u):  # an edge counts at its low end only, so that corners are not counted twice
                hits.append(v0 + (v1 - v0) * (u - u0) / (u1 - u0))
    hits.sort()
    return [(a, b) for a, b in zip(hits[::2], hits[1::2], strict=True) if b - a > NEAR]


def widest(found: list[tuple[float, float]]) -> tuple[int, int] | None:
    """The widest of some intervals, on whole ticks."""
    if not found:
        return None
    low, high = max(found, key=lambda strand: strand[1] - strand[0])
    return math.ceil(low), math.floor(high)


def width_at(fragment: Fragment, u: float) -> tuple[int, int] | None:
    """The fragment's widest interval across at `u`, None where it does not reach."""
    return widest(strands(fragment, u))


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
    if timber.rectangular:
        least_u, least_v, most_u, most_v = timber.extent
        return [(least_v, most_v)] if least_u - low <= 2 * NEAR and high - most_u <= 2 * NEAR else []
    taken: list[tuple[float, float]] = []
    # an edge that reaches in by less than what shapely's slivers are dropped for does not count
    near, far = low + 2 * NEAR, high - 2 * NEAR
    for ua, va, ub, vb, slope in timber.rising:
        if ua == ub:
            if near < ua < far:
                taken.append((va, vb) if va < vb else (vb, va))
            continue
        if (ub <= near or ua >= far) if ub - ua > 2 * NEAR else (ub < low or ua > high):
            continue
        v0, v1 = va + (max(ua, low) - ua) * slope, va + (min(ub, high) - ua) * slope
        taken.append((v0, v1) if v0 < v1 else (v1, v0))
    taken.sort()
    spans: list[tuple[int, int]] = []
    middle = (low + high) / 2
    at = taken[0][1] if taken else 0.0
    for start, end in taken[1:]:
        if start - at > NEAR and _within(timber, middle, (at + start) / 2):
            spans.append((math.ceil(at), math.floor(start)))
        at = max(at, end)
    return spans


def _within(timber: Timber, u: float, v: float) -> bool:
    """Whether a point lies in the piece."""
    inside = False
    for (ua, va), (ub, vb) in timber.rim:
        if (va <= v) != (vb <= v) and ua + (ub - ua) * (v - va) / (vb - va) > u:
            inside = not inside
    return inside


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
