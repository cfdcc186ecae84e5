"""A piece on a tile under rules, and what follows from these alone: edges, fragments, necks, what the tile keeps.

All in the source's tile frame, ticks. Nothing here is taken from the fitting itself but its records.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property

import shapely

from cutopt.fit.records import Seat
from cutopt.rules import Rules
from cutopt.tile import Point, Tile

PLAY = 4.0  # ticks: 0.0125 mm of rounding

Edge = tuple[tuple[float, float], tuple[float, float]]


@dataclass(frozen=True, kw_only=True)
class Case:
    """A piece on a tile under rules, and what follows from these alone."""

    tile: Tile
    rules: Rules
    outline: tuple[Point, ...]
    holes: tuple[tuple[Point, ...], ...] = ()

    @cached_property
    def polygon(self) -> shapely.Polygon:
        found = shapely.Polygon(self.outline, self.holes)
        shapely.prepare(found)
        return found

    @cached_property
    def sawn(self) -> tuple[Edge, ...]:
        """The piece's edges that are not on the tile's rim."""
        size = (self.tile.length, self.tile.width)
        return tuple(
            (a, b)
            for some in (self.outline, *self.holes)
            for a, b in zip(some, (*some[1:], *some[:1]), strict=True)
            if not any(a[axis] == b[axis] in (0, size[axis]) for axis in (0, 1))
        )

    @cached_property
    def fragments(self) -> tuple[tuple[int, shapely.Polygon], ...]:
        """What the cuts leave of each slat: its id and where it lies."""
        u0, _, u1, _ = self.polygon.bounds
        found = []
        for slat in self.tile.slats:
            part = self.polygon.intersection(shapely.box(u0 - 1, slat.v[0], u1 + 1, slat.v[1]))
            found += [
                (slat.id, one) for one in shapely.get_parts(part) if one.geom_type == "Polygon" and one.area > 1e4
            ]
        return tuple(found)

    @cached_property
    def necks(self) -> tuple[str, ...]:
        """Stretches of fragments too narrow for a screw that wider wood bounds at both ends, or a notch at one.

        A taper's tip is none: it narrows steadily, the width at each crossing counts, and how far it reaches past.
        """
        found = []
        for _, shape in self.fragments:
            narrow = shapely.union_all(list(_narrow_parts(shape, self.rules.fragment_least)))
            for part in shapely.get_parts(narrow):
                u0, v0, u1, v1 = part.bounds
                steps = []
                for u, out in ((u0, -1), (u1, 1)):
                    inner, outer = (_chord(shape, u + way, v0, v1) for way in (-out, out))
                    if outer > PLAY:
                        steps.append(outer - inner > 320)
                if u1 - u0 > 320 and (len(steps) == 2 or any(steps)):
                    found.append(f"a neck from {u0 / 320:.0f} to {u1 / 320:.0f} at {v0 / 320:.0f}..{v1 / 320:.0f}")
        return tuple(found)

    @cached_property
    def corners(self) -> tuple[list[tuple[float, float]], list[bool]]:
        """The corners of the walking face, and whether a sawn edge meets there, or runs by in the gap beside it."""
        slats = sorted(slat.v for slat in self.tile.slats)
        gap = max((b[0] - a[1] for a, b in itertools.pairwise(slats)), default=0)
        corners = [(float(u), float(v)) for _, shape in self.fragments for u, v in shape.exterior.coords[:-1]]
        return corners, [any(to_edge(at, edge) <= gap + PLAY for edge in self.sawn) for at in corners]

    def is_end(self, edge: Edge) -> bool:
        """Whether an edge lies steeply enough over the slats to leave end grain."""
        (u0, v0), (u1, v1) = edge
        return abs(v1 - v0) > math.sin(math.radians(self.rules.end_grain_angle)) * math.dist((u0, v0), (u1, v1))

    # what the uncut tile keeps: new screws need not keep more
    @cached_property
    def edge(self) -> float:
        slats = {slat.id: slat.v for slat in self.tile.slats}
        own = min(min(s.at[1] - slats[s.slat][0], slats[s.slat][1] - s.at[1]) for s in self.tile.screws)
        return min(self.rules.screw_edge * self.tile.screw_diameter, own)

    @cached_property
    def end(self) -> float:
        own = min(min(s.at[0], self.tile.length - s.at[0]) for s in self.tile.screws)
        return min(self.rules.screw_end * self.tile.screw_diameter, own)

    @cached_property
    def backer_end(self) -> float:
        boards = {b.id: b.v for b in self.tile.backers}
        own = min(min(s.at[1] - boards[s.backer][0], boards[s.backer][1] - s.at[1]) for s in self.tile.screws)
        return min(self.rules.screw_end * self.tile.screw_diameter, own, self.rules.kept_screw_edge)

    @cached_property
    def backer_edge(self) -> float:
        boards = {b.id: b for b in self.tile.backers}
        own = min(boards[s.backer].width / 2 - abs(s.at[0] - boards[s.backer].u) for s in self.tile.screws)
        return min(self.rules.screw_edge * self.tile.screw_diameter, own)

    @cached_property
    def overhang(self) -> float:
        lows = [b.u - b.width / 2 for b in self.tile.backers]
        highs = [self.tile.length - b.u - b.width / 2 for b in self.tile.backers]
        return max(self.rules.longest_overhang, min(lows), min(highs))

    @cached_property
    def meat(self) -> float:
        """From a pin hole's centre to the end of its wood."""
        return max(hole.diameter for hole in self.tile.pin_holes) / 2 + self.rules.hole_wood


def _narrow_parts(shape: shapely.Polygon, least: float) -> Iterator[shapely.Polygon]:
    """The stretches between a fragment's corners that are narrower than `least` all along."""
    _, v0, _, v1 = shape.bounds
    us = sorted({u for one in (shape.exterior, *shape.interiors) for u, _ in one.coords})
    for a, b in itertools.pairwise(us):
        for part in shapely.get_parts(shape.intersection(shapely.box(a, v0, b, v1))):
            widths = (_chord(part, a + 1, v0, v1), _chord(part, b - 1, v0, v1))
            if part.area > 0 and b - a > PLAY and max(widths) < least - PLAY:
                yield part


def _chord(shape: shapely.Polygon, u: float, v0: float, v1: float) -> float:
    """The longest interval across that a shape has at u and that meets v0 to v1."""
    low, high = shape.bounds[1] - 1, shape.bounds[3] + 1
    cross = shapely.get_parts(shape.intersection(shapely.LineString([(u, low), (u, high)])))
    return max((p.length for p in cross if p.bounds[3] >= v0 and p.bounds[1] <= v1), default=0.0)


def to_edge(at: Sequence[float], edge: Edge) -> float:
    """From a point to a stretch."""
    (u0, v0), (u1, v1) = edge
    du, dv = u1 - u0, v1 - v0
    t = max(0.0, min(1.0, ((at[0] - u0) * du + (at[1] - v0) * dv) / (du * du + dv * dv)))
    return math.hypot(at[0] - u0 - t * du, at[1] - v0 - t * dv)


def board_of(seat: Seat) -> shapely.Polygon:
    """Where a seat's board lies."""
    (u0, v0), (u1, v1) = seat.line
    size = math.hypot(u1 - u0, v1 - v0)
    du, dv = (v1 - v0) / size * seat.width / 2, -(u1 - u0) / size * seat.width / 2
    return shapely.Polygon([(u0 + du, v0 + dv), (u1 + du, v1 + dv), (u1 - du, v1 - dv), (u0 - du, v0 - dv)])


def centre_at(seat: Seat, v: float) -> float:
    """The u of a seat's centre line at v."""
    (u0, v0), (u1, v1) = seat.line
    return u0 + (u1 - u0) * (v - v0) / (v1 - v0)


def ring_edges(shape: shapely.Polygon) -> list[Edge]:
    rings = [shape.exterior, *shape.interiors]
    return [(a, b) for one in rings for a, b in itertools.pairwise(one.coords)]


def width_at(shape: shapely.Polygon, at: Sequence[float]) -> float:
    """A fragment's width across at a point in it."""
    _, v0, _, v1 = shape.bounds
    cross = shape.intersection(shapely.LineString([(at[0], v0 - 1), (at[0], v1 + 1)]))
    here = shapely.Point(at)
    return max((p.length for p in shapely.get_parts(cross) if p.distance(here) <= PLAY), default=0.0)
