"""Marks: where a cut may run so that each of its ends lies on a whole mark, on the side that fits.

A mark is measured from the factory edge on the kept side, in whole steps of the finest mark. Within its gap a cut
slides to where it leaves no narrow slat fragment and no screw too near.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from cutopt.geometry import FloatPoint, Rail, Ring, chord, rectangle
from cutopt.rules import Rules
from cutopt.tile import Point, Tile

Segment = tuple[FloatPoint, FloatPoint]


class Unmarked(Exception):
    """The region cannot be marked out as one of the shapes that are planned: carries the rule and that in words."""

    def __init__(self, rule: str, why: str) -> None:
        self.rule = rule
        super().__init__(why)


@dataclass(frozen=True, kw_only=True, slots=True)
class Bench:
    """What marking needs to know: the tile, the finest mark in ticks and the rules.

    `square`: whether cuts square to the tile are tried. `widest`: keep just the least gap, for what is else too thin.
    """

    tile: Tile
    mark: int
    rules: Rules
    square: bool = True
    widest: bool = False

    @property
    def ring(self) -> Ring:
        """The uncut tile."""
        return rectangle(self.tile.length, self.tile.width)


def through_cut(rail: Rail, segments: list[Segment], bench: Bench) -> tuple[Point, Point]:
    """A chord of the tile along the rail: square where a mark lets it, otherwise from a mark on one side to another."""
    ends = [p for segment in segments for p in segment]
    at = square_at(rail, ends, bench)
    if at is not None:
        return _whole(*crossing(rail, at, bench.ring))
    a, b = _taper(rail, 0 if bench.widest else rail.slack / 2, bench)
    if math.dist(a, b) < bench.mark:
        raise Unmarked("thinnest_strip", "what fits here is narrower than a mark")
    return a, b


def _taper(rail: Rail, slid: float, bench: Bench) -> tuple[Point, Point]:
    """The chord of the tile along the rail, slid away from the wall, its ends moved to marks."""
    ends = chord(bench.ring, rail.slid(slid))
    if ends is None:
        raise Unmarked("mark", "no cut on a mark lies within the gap")
    a, b = (marked_on_side(p, rail, bench) for p in ends)
    return a, b


def _whole(a: FloatPoint, b: FloatPoint) -> tuple[Point, Point]:
    return (round(a[0]), round(a[1])), (round(b[0]), round(b[1]))


def crossing(rail: Rail, at: float, ring: Ring) -> Segment:
    """The chord parallel to an axis at `at`, in the rail's direction."""
    dx, dy = rail.b[0] - rail.a[0], rail.b[1] - rail.a[1]
    length, width = ring[2]
    if abs(dx) < abs(dy):
        return ((at, 0), (at, width)) if dy > 0 else ((at, width), (at, 0))
    return ((0, at), (length, at)) if dx > 0 else ((length, at), (0, at))


def square_at(rail: Rail, ends: list[FloatPoint], bench: Bench) -> int | None:
    """Where a cut parallel to an axis may run so that it stays within the rail's slack, on the best mark; else None."""
    if not bench.square:
        return None
    normal = rail.normal
    axis = 0 if abs(normal[0]) > abs(normal[1]) else 1
    size = bench.tile.length if axis == 0 else bench.tile.width
    kept_low = normal[axis] < 0
    reach = [p[axis] if kept_low else size - p[axis] for p in ends]
    most, least = min(reach), max(reach) - rail.slack / abs(normal[axis])
    first, last = math.ceil(least / bench.mark - 1e-6), math.floor(most / bench.mark + 1e-6)
    marks = [k * bench.mark for k in range(first, last + 1) if 0 < k * bench.mark < size]
    if not marks:
        return None
    middle = most if bench.widest else (least + most) / 2
    best = min(marks, key=lambda k: (_worth(k, axis, kept_low, bench), abs(k - middle), k))
    return best if kept_low else size - best


def _worth(distance: int, axis: int, kept_low: bool, bench: Bench) -> tuple[bool, int, int]:
    """How bad a square cut at this distance from the kept side's edge is: (too thin, narrow fragment, screws out)."""
    thin = distance < (bench.rules.thinnest_across if axis == 0 else bench.rules.thinnest_strip)
    return (thin, 0, 0) if axis == 0 else (thin, *_fragment_worth(distance, kept_low, bench))


def _fragment_worth(distance: int, kept_low: bool, bench: Bench) -> tuple[int, int]:
    """What a rip does to the slat that it meets: (narrow fragment, screws out)."""
    at = distance if kept_low else bench.tile.width - distance
    slat = next((s for s in bench.tile.slats if s.v[0] < at < s.v[1]), None)
    if slat is None:
        return 0, 0
    width = at - slat.v[0] if kept_low else slat.v[1] - at
    narrow = 0 if width >= bench.rules.fragment_normal else 1 if width >= bench.rules.fragment_least else 2
    near = bench.rules.kept_screw_edge
    kept = [s for s in bench.tile.screws if s.slat == slat.id and (at - s.at[1] if kept_low else s.at[1] - at) >= near]
    return narrow, 0 if kept else 1


def marked_on_side(point: FloatPoint, rail: Rail, bench: Bench) -> Point:
    """A point on the tile's side moved to a mark, away from the wall; measured from the side's kept end."""
    tile, normal = bench.tile, rail.normal
    along = 0 if min(abs(point[1]), abs(point[1] - tile.width)) < min(abs(point[0]), abs(point[0] - tile.length)) else 1
    size = tile.length if along == 0 else tile.width
    kept_low = normal[along] < 0
    reach = point[along] if kept_low else size - point[along]
    reach = math.floor(reach / bench.mark + 1e-6) * bench.mark
    at = reach if kept_low else size - reach
    across = round(point[1 - along])
    return (at, across) if along == 0 else (across, at)
