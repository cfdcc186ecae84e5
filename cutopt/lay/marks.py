"""Marks: where a cut may run so that each of its ends lies on a whole mark, on the side that fits.

A mark is measured from the factory edge on the kept side, a notch's from the edge that it opens to, in whole steps of
the finest mark. Within its gap a cut slides to where it leaves no narrow slat fragment and no screw too near.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import pairwise
from typing import Literal

from cutopt.geometry import FloatPoint, Rail, Ring, chord, rectangle
from cutopt.lay.ground import Brink
from cutopt.lay.records import Side
from cutopt.rules import Rules
from cutopt.tile import Point, Tile

Segment = tuple[FloatPoint, FloatPoint]
Slide = Literal["best", "widest", "narrowest", "between"]
Drop = Literal["no", "within", "beyond"]

UNMARKED = "no cut on a mark lies within the gap"


class Unmarked(Exception):
    """The region cannot be marked out: carries the rule and that in words."""

    def __init__(self, rule: str, why: str) -> None:
        self.rule = rule
        super().__init__(why)


@dataclass(frozen=True, kw_only=True, slots=True)
class Bench:
    """What marking needs to know: the tile, the finest mark in ticks and the rules.

    `square`: whether cuts square to the tile are tried. `slide`: where in the gap cuts run: at the best mark, next to
    the wall, far from it, or between two slats. `drop`: a cut along the slats that leaves a fragment too narrow for
    screws moves to before that slat, within the gap that the rules allow for that, or beyond it.
    """

    tile: Tile
    mark: int
    rules: Rules
    square: bool = True
    slide: Slide = "best"
    drop: Drop = "no"

    @property
    def ring(self) -> Ring:
        """The uncut tile."""
        return rectangle(self.tile.length, self.tile.width)


def through_cut(brink: Brink, segments: list[Segment], bench: Bench) -> tuple[Point, Point]:
    """A chord of the tile along the brink: square where a mark lets it, otherwise from a mark on a side to another."""
    ends = [p for segment in segments for p in segment]
    at = square_at(brink, ends, bench)
    if at is not None:
        return _whole(*crossing(brink, at, bench.ring))
    a, b = _taper(brink, bench)
    if math.dist(a, b) < bench.mark:
        raise Unmarked("thinnest_strip", "what fits here is narrower than a mark")
    return a, b


def slid_by(brink: Brink, bench: Bench) -> float:
    """How far an oblique cut is slid from the brink."""
    if bench.slide == "widest":
        return 0.0
    return max(brink.slack - bench.mark, 0.0) if bench.slide == "narrowest" else brink.slack / 2


def _taper(brink: Brink, bench: Bench) -> tuple[Point, Point]:
    """The chord of the tile along the brink, slid away from the wall, its ends moved to marks."""
    ends = chord(bench.ring, brink.slid(slid_by(brink, bench)))
    if ends is None:
        raise Unmarked("mark", UNMARKED)
    a, b = (marked_on_side(p, brink, bench) for p in ends)
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


@dataclass(frozen=True, kw_only=True, slots=True)
class _Reach:
    """A square cut's play along an axis: kept sizes from `least` to `most`, and how deep it may go for a drop."""

    axis: int
    size: int
    kept_low: bool
    least: float
    most: float
    deepest: float


def square_at(brink: Brink, ends: list[FloatPoint], bench: Bench, opens: frozenset[Side] = frozenset()) -> int | None:
    """Where a cut parallel to an axis may run so that it stays within the brink's slack, on the best mark; else None.

    `opens`: the tile's sides that a notch opens to; marks are measured from there.
    """
    if not bench.square:
        return None
    normal = brink.normal
    axis = 0 if abs(normal[0]) > abs(normal[1]) else 1
    size = bench.tile.length if axis == 0 else bench.tile.width
    kept_low = normal[axis] < 0
    reach = [p[axis] if kept_low else size - p[axis] for p in ends]
    farthest = max(reach)
    play = _Reach(
        axis=axis,
        size=size,
        kept_low=kept_low,
        least=farthest - brink.slack / abs(normal[axis]),
        most=min(reach),
        deepest=farthest - (bench.rules.dropped_gap - brink.least) / abs(normal[axis]),
    )
    waste: Side = (("u1", "u0"), ("v1", "v0"))[axis][not kept_low]
    from_waste = waste in opens
    best = _best_mark(play, from_waste, bench)
    if bench.drop != "no" and axis == 1 and (best is None or _fragment_worth(best, kept_low, bench)[0] == 2):
        dropped = _before_slat(play, from_waste, bench)
        best = best if dropped is None else dropped
    if best is None:
        return None
    return best if kept_low else size - best


def _marks(low: float, high: float, size: int, from_waste: bool, bench: Bench) -> list[int]:
    """Kept sizes from `low` to `high` on marks, measured on the kept side or from the waste's edge."""
    if from_waste:
        return [size - mark for mark in _marks(size - high, size - low, size, False, bench)]
    first, last = math.ceil(low / bench.mark - 1e-6), math.floor(high / bench.mark + 1e-6)
    return [k * bench.mark for k in range(first, last + 1) if 0 < k * bench.mark < size]


def slat_gaps(tile: Tile) -> list[tuple[int, int]]:
    """The intervals between neighbouring slats, across, the lowest first; they may be empty."""
    return [(low[1], high[0]) for low, high in pairwise(sorted(slat.v for slat in tile.slats))]


def mark_between(low: int, high: int, bench: Bench, *, from_low: bool) -> int | None:
    """The mark nearest to the middle of an interval across, measured from the tile's low or high side; None without."""
    marks = _marks(low, high, bench.tile.width, not from_low, bench)
    return min(marks, key=lambda v: abs(2 * v - low - high), default=None)


def _best_mark(play: _Reach, from_waste: bool, bench: Bench) -> int | None:
    marks = _marks(play.least, play.most, play.size, from_waste, bench)
    if not marks:
        return None
    targets = {"widest": play.most, "narrowest": play.least}
    target = targets.get(bench.slide, (play.least + play.most) / 2)

    def order(kept: int) -> tuple[object, ...]:
        worth = _worth(kept, play.axis, play.kept_low, bench)
        if bench.slide in targets:
            return worth[0], abs(kept - target), kept
        on_slat = bench.slide == "between" and play.axis == 1 and _slat_at(kept, play.kept_low, bench) is not None
        return on_slat, worth, abs(kept - target), kept

    return min(marks, key=order)


def _before_slat(play: _Reach, from_waste: bool, bench: Bench) -> int | None:
    """The kept size that ends in the gap before the slat that a cut meets, if the last slat kept is near enough."""
    size = play.size
    slats = [s.v if play.kept_low else (size - s.v[1], size - s.v[0]) for s in bench.tile.slats]
    slats.sort()
    for (_, end), (start, _) in reversed(list(pairwise(slats))):
        if end < play.deepest and bench.drop == "within":
            return None
        marks = _marks(end, min(start, play.most), size, from_waste, bench)
        if marks:
            return min(marks, key=lambda kept: (abs(2 * kept - end - start), kept))
    return None


def _worth(distance: int, axis: int, kept_low: bool, bench: Bench) -> tuple[bool, int, int]:
    """How bad a square cut at this distance from the kept side's edge is: (too thin, narrow fragment, screws out)."""
    thin = distance < (bench.rules.thinnest_across if axis == 0 else bench.rules.thinnest_strip)
    return (thin, 0, 0) if axis == 0 else (thin, *_fragment_worth(distance, kept_low, bench))


def _slat_at(distance: int, kept_low: bool, bench: Bench) -> tuple[int, tuple[int, int]] | None:
    """The slat that a rip at this distance meets: its id and interval."""
    at = distance if kept_low else bench.tile.width - distance
    return next(((s.id, s.v) for s in bench.tile.slats if s.v[0] < at < s.v[1]), None)


def _fragment_worth(distance: int, kept_low: bool, bench: Bench) -> tuple[int, int]:
    """What a rip does to the slat that it meets: (narrow fragment, screws out)."""
    met = _slat_at(distance, kept_low, bench)
    if met is None:
        return 0, 0
    at = distance if kept_low else bench.tile.width - distance
    slat, v = met
    width = at - v[0] if kept_low else v[1] - at
    narrow = 0 if width >= bench.rules.fragment_normal else 1 if width >= bench.rules.fragment_least else 2
    near = bench.rules.kept_screw_edge
    kept = [s for s in bench.tile.screws if s.slat == slat and (at - s.at[1] if kept_low else s.at[1] - at) >= near]
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
