"""From a region with slack at its edges to a piece whose every cut lies on marks."""

from __future__ import annotations

import math
from dataclasses import replace
from itertools import pairwise

import shapely

from cutopt.geometry import NEAR, FloatPoint, Rail, clipped, polygon, polygons, ring_of
from cutopt.lay.marks import Bench, Segment, Unmarked, through_cut
from cutopt.lay.notches import bite, notch_path
from cutopt.lay.records import Notch, Shape
from cutopt.tile import Tile


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
        through_cut(rail, [s for r, s in edges if r == rail], bench)
        for rail in dict.fromkeys(r for r, _ in edges)
        if rail in outer
    ]
    rest: list[FloatPoint] = list(bench.ring)
    for a, b in chords:
        rest = clipped(rest, Rail(a=a, b=b, slack=0))
    notches = [notch_path(run, rest, bench) for run in _runs(edges, outer)]
    piece = polygon(rest) if len(rest) > 2 else shapely.Polygon()
    for path in notches:
        piece = piece.difference(bite(path, rest))
    parts = polygons(piece)
    if len(parts) != 1:
        raise Unmarked("mark", "no cut on a mark lies within the gap")
    piece = parts[0]
    if not piece.difference(region.buffer(NEAR)).is_empty or needed.difference(piece.buffer(NEAR)).area > NEAR:
        raise Unmarked("mark", "no cut on a mark lies within the gap")
    return Shape(outline=ring_of(piece), chords=tuple(chords), notches=tuple(Notch(path=path) for path in notches))


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
