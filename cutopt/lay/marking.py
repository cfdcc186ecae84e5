"""From a region with slack at its edges to a piece whose every cut lies on marks.

A mark is measured from the factory edge on the kept side, in whole steps of the finest mark, rounded to the side that
fits. Within its gap a cut slides to where it leaves no narrow slat fragment and no screw too near.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import pairwise, product

import shapely

from cutopt.geometry import (
    NEAR,
    FloatPoint,
    Rail,
    Ring,
    chord,
    clipped,
    meeting,
    polygon,
    polygons,
    rectangle,
    ring_of,
)
from cutopt.lay.records import Shape
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


def shape_in(region: shapely.Polygon, needed: shapely.Geometry, rails: tuple[Rail, ...], bench: Bench) -> Shape:
    """Mark out the piece for a region of a cell, all in the cell's tile frame.

    `region` keeps the least gaps, `needed` must be covered. Raises `Unmarked`.
    """
    if region.interiors:
        raise Unmarked("not_yet_planned", "a post stands inside the tile")
    edges = _cut_edges(region, rails, bench)
    fewer = _straightened(edges)
    # one straight cut before two that hardly differ; a cut square to the tile before one from mark to mark
    tries = [(fewer, True), (fewer, False), (edges, True), (edges, False)]
    refusal: Unmarked | None = None
    for some, square in tries[2 * (fewer == edges) :]:
        try:
            return _shape(region, needed, some, replace(bench, square=square))
        except Unmarked as error:
            refusal = refusal or error
    raise refusal or Unmarked("mark", "no cut on a mark lies within the gap")


def _shape(region: shapely.Polygon, needed: shapely.Geometry, edges: list[tuple[Rail, Segment]], bench: Bench) -> Shape:
    corners = list(region.exterior.coords[:-1])
    outer = {rail for rail, _ in edges if all(rail.distance(p) > -NEAR for p in corners)}
    chords = [
        _through_cut(rail, [s for r, s in edges if r == rail], bench)
        for rail in dict.fromkeys(r for r, _ in edges)
        if rail in outer
    ]
    rest: list[FloatPoint] = list(bench.ring)
    for a, b in chords:
        rest = clipped(rest, Rail(a=a, b=b, slack=0))
    notches = [_notch(run, rest, bench) for run in _runs(edges, outer)]
    piece = polygon(rest) if len(rest) > 2 else shapely.Polygon()
    for path in notches:
        piece = piece.difference(_bite(path, rest))
    parts = polygons(piece)
    if len(parts) != 1:
        raise Unmarked("mark", "no cut on a mark lies within the gap")
    piece = parts[0]
    if not piece.difference(region.buffer(NEAR)).is_empty or needed.difference(piece.buffer(NEAR)).area > NEAR:
        raise Unmarked("mark", "no cut on a mark lies within the gap")
    return Shape(outline=ring_of(piece), chords=tuple(chords), notches=tuple(notches))


def _cut_edges(region: shapely.Polygon, rails: tuple[Rail, ...], bench: Bench) -> list[tuple[Rail, Segment]]:
    """The region's edges that are not the tile's own sides, in order, each with its rail; starts after a side."""
    points = list(shapely.geometry.polygon.orient(region, 1.0).exterior.coords)
    edges: list[tuple[Rail, Segment] | None] = []
    for p, q in pairwise(points):
        if math.dist(p, q) < NEAR:
            continue
        if _on_side(p, q, bench.tile):
            edges.append(None)
            continue
        rail = next((r for r in rails if _runs_along(r, p, q)), None)
        if rail is None:
            raise Unmarked("not_yet_planned", "a corner that turns in too narrow a gap")
        edges.append((rail, (p, q)))
    if None in edges:
        start = edges.index(None)
        edges = edges[start:] + edges[:start]
    return [edge for edge in edges if edge is not None]


def _straightened(edges: list[tuple[Rail, Segment]]) -> list[tuple[Rail, Segment]]:
    """The edges with neighbours joined that one straight cut within the gap can follow."""
    joined: list[tuple[Rail, Segment]] = []
    for rail, segment in edges:
        if joined and math.dist(joined[-1][1][1], segment[0]) < NEAR:
            one = _one_rail(joined[-1], (rail, segment))
            if one is not None:
                joined[-1] = one
                continue
        joined.append((rail, segment))
    return joined


def _one_rail(first: tuple[Rail, Segment], second: tuple[Rail, Segment]) -> tuple[Rail, Segment] | None:
    """One rail from the start of one edge to the end of the next, clear of the corner between them."""
    (a, corner), (_, b) = first[1], second[1]
    slack = min(first[0].slack, second[0].slack)
    whole = Rail(a=a, b=b, slack=slack)
    off = whole.distance(corner)
    ahead = (b[0] - a[0]) * (corner[0] - a[0]) + (b[1] - a[1]) * (corner[1] - a[1])
    if abs(off) > slack / 2 or not 0 < ahead < math.dist(a, b) ** 2:
        return None
    rail = replace(whole.slid(max(off, 0.0)), slack=slack - abs(off))
    return rail, (a, b)


def _on_side(p: FloatPoint, q: FloatPoint, tile: Tile) -> bool:
    sides = ((0, 0), (0, tile.length), (1, 0), (1, tile.width))
    return any(abs(p[axis] - at) < NEAR and abs(q[axis] - at) < NEAR for axis, at in sides)


def _runs_along(rail: Rail, p: FloatPoint, q: FloatPoint) -> bool:
    ahead = (rail.b[0] - rail.a[0]) * (q[0] - p[0]) + (rail.b[1] - rail.a[1]) * (q[1] - p[1])
    return ahead > 0 and abs(rail.distance(p)) < NEAR and abs(rail.distance(q)) < NEAR


def _runs(edges: list[tuple[Rail, Segment]], outer: set[Rail]) -> list[list[tuple[Rail, Segment]]]:
    """The inner edges, split where the outline turns out again or leaves them: each run bounds one notch."""
    runs: list[list[tuple[Rail, Segment]]] = []
    for rail, segment in edges:
        if rail in outer:
            continue
        last = runs[-1][-1] if runs else None
        joined = last is not None and math.dist(last[1][1], segment[0]) < NEAR and last[0].distance(segment[1]) < 0
        if joined:
            runs[-1].append((rail, segment))
        else:
            runs.append([(rail, segment)])
    return runs


def _through_cut(rail: Rail, segments: list[Segment], bench: Bench) -> tuple[Point, Point]:
    """A chord of the tile along the rail: square where a mark lets it, otherwise from a mark on one side to another."""
    ends = [p for segment in segments for p in segment]
    at = _square(rail, ends, bench)
    if at is not None:
        return _whole(*_crossing(rail, at, bench.ring))
    a, b = _taper(rail, 0 if bench.widest else rail.slack / 2, bench)
    if math.dist(a, b) < bench.mark:
        raise Unmarked("thinnest_strip", "what fits here is narrower than a mark")
    return a, b


def _taper(rail: Rail, slid: float, bench: Bench) -> tuple[Point, Point]:
    """The chord of the tile along the rail, slid away from the wall, its ends moved to marks."""
    ends = chord(bench.ring, rail.slid(slid))
    if ends is None:
        raise Unmarked("mark", "no cut on a mark lies within the gap")
    a, b = (_marked_on_side(p, rail, bench) for p in ends)
    return a, b


def _whole(a: FloatPoint, b: FloatPoint) -> tuple[Point, Point]:
    return (round(a[0]), round(a[1])), (round(b[0]), round(b[1]))


def _crossing(rail: Rail, at: float, ring: Ring) -> Segment:
    """The chord parallel to an axis at `at`, in the rail's direction."""
    dx, dy = rail.b[0] - rail.a[0], rail.b[1] - rail.a[1]
    length, width = ring[2]
    if abs(dx) < abs(dy):
        return ((at, 0), (at, width)) if dy > 0 else ((at, width), (at, 0))
    return ((0, at), (length, at)) if dx > 0 else ((length, at), (0, at))


def _square(rail: Rail, ends: list[FloatPoint], bench: Bench) -> int | None:
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


def _marked_on_side(point: FloatPoint, rail: Rail, bench: Bench) -> Point:
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


def _notch(run: list[tuple[Rail, Segment]], rest: list[FloatPoint], bench: Bench) -> Ring:
    """The path of a notch, from side to side, its corners on marks."""
    if not 2 <= len(run) <= 3:
        raise Unmarked("not_yet_planned", "a notch with this many corners")
    squares = [_square(rail, list(segment), bench) for rail, segment in run]
    lines = []
    for (rail, _), at in zip(run, squares, strict=True):
        if at is None:
            return _oblique_notch([rail for rail, _ in run], rest, bench)
        a, b = _crossing(rail, at, bench.ring)
        lines.append(Rail(a=a, b=b, slack=0))
    inner = [meeting(one, other) for one, other in pairwise(lines)]
    first, last = chord(rest, lines[0]), chord(rest, lines[-1])
    if first is None or last is None or any(p is None for p in inner):
        raise Unmarked("not_yet_planned", "a notch that does not reach the tile's side")
    path = [first[0], *[p for p in inner if p is not None], last[1]]
    return tuple((round(p[0]), round(p[1])) for p in path)


def _oblique_notch(rails: list[Rail], rest: list[FloatPoint], bench: Bench) -> Ring:
    """A notch with oblique sides: its corners are tried on the marks around the middle of the gap."""
    middles = [rail.slid(rail.slack / 2) for rail in rails]
    first, last = chord(rest, middles[0]), chord(rest, middles[-1])
    inner = [meeting(one, other) for one, other in pairwise(middles)]
    if first is None or last is None or any(p is None for p in inner):
        raise Unmarked("not_yet_planned", "a notch that does not reach the tile's side")
    entry, leave = _end_mark(first[0], rails[0], bench), _end_mark(last[1], rails[-1], bench)
    choices = [[entry], *[_marks_around(p, bench) for p in inner if p is not None], [leave]]
    for path in product(*choices):
        spans = zip(rails, path, path[1:], strict=False)
        within = all(-1 <= rail.distance(p) <= rail.slack + 1 for rail, a, b in spans for p in (a, b))
        if within and _turns_out(path):
            return tuple(path)
    raise Unmarked("mark", "no notch with its corners on marks lies within the gap")


def _turns_out(path: Sequence[Point]) -> bool:
    """Whether a notch's path still turns around what it goes round, now that its corners are on marks."""
    turns = zip(path, path[1:], path[2:], strict=False)
    return all((b[0] - a[0]) * (c[1] - b[1]) - (b[1] - a[1]) * (c[0] - b[0]) < 0 for a, b, c in turns)


def _end_mark(point: FloatPoint, rail: Rail, bench: Bench) -> Point:
    """Where a notch leaves the piece: on a mark of the tile's side, or wherever it meets a cut made before."""
    tile = bench.tile
    on_side = min(abs(point[0]), abs(point[0] - tile.length), abs(point[1]), abs(point[1] - tile.width)) < NEAR
    return _marked_on_side(point, rail, bench) if on_side else (round(point[0]), round(point[1]))


def _marks_around(point: FloatPoint, bench: Bench) -> list[Point]:
    """The four marks around a point, the nearest first."""
    low = [math.floor(x / bench.mark) * bench.mark for x in point]
    marks = [(low[0] + i * bench.mark, low[1] + j * bench.mark) for i in (0, 1) for j in (0, 1)]
    return sorted(marks, key=lambda m: (math.dist(m, point), m))


def _bite(path: Ring, rest: list[FloatPoint]) -> shapely.Polygon:
    """What a notch takes away: all of `rest` that lies to the right of each of the path's lines."""
    bite = rest
    for a, b in pairwise(path):
        bite = clipped(bite, Rail(a=b, b=a, slack=0))
    return polygon(bite) if len(bite) > 2 else shapely.Polygon()
