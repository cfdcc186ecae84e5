"""A piece of a tile, before any backer is moved: what it is made of, and what the tile has for it."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import pairwise

import shapely

from cutopt.fit.fragments import fragments_of
from cutopt.fit.outlined import Outlined
from cutopt.fit.plane import Edge, edges_of, hull, moments, to_stretch
from cutopt.fit.records import Fragment
from cutopt.fit.screwing import screwing_of
from cutopt.fit.sharing import Share
from cutopt.fit.turning import View
from cutopt.geometry import NEAR, extent
from cutopt.rules import Rules
from cutopt.tile import Backer, Point, Screw, Slat, Tile


def least_apart(tile: Tile, rules: Rules) -> int:
    """Least distance between two pin holes: their radii and the wood between them, and the same for the pins of two
    supports whose pads are cut between them.
    """
    wood = max(hole.diameter for hole in tile.design.pin_holes) + rules.hole_wood
    return max(wood, tile.support.pin + 2 * rules.pad_past_pin)


@dataclass(frozen=True, kw_only=True)
class Timber(Outlined):
    """A piece as it lies on its source, before any backer is moved.

    `mark`: the finest mark that backers and holes are set to, ticks. `view`: the tile's, where it is not as given.
    """

    tile: Tile
    rules: Rules
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
        return self.holds((box[0] + box[2]) / 2, (box[1] + box[3]) / 2)

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
        return screwing_of(self.tile.design).of_slat

    @cached_property
    def screws_of_backer(self) -> Mapping[int, Sequence[Point]]:
        """Where the tile as made has screws in each backer."""
        return screwing_of(self.tile.design).of_backer

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
        return max(len(screws) for screws in screwing_of(self.tile.design).at.values())

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
        return screwing_of(self.tile).at

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
    def sawn(self) -> tuple[Edge, ...]:
        """The edges that are not the tile's own, the wood on their left."""
        size = (self.tile.length, self.tile.width)
        outer = [
            (p, q)
            for p, q in edges_of(self.outline)
            if not any(p[axis] == q[axis] and p[axis] in (0, size[axis]) for axis in (0, 1))
        ]
        return (*outer, *(edge for hole in self.holes for edge in edges_of(hole)))

    @cached_property
    def fragments(self) -> tuple[Fragment, ...]:
        """The slats' fragments, slat by slat."""
        return fragments_of(self, self.slats, self.tile.slats)

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
