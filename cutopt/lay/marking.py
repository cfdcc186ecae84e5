"""From a plot with slack at its edges to a piece whose every cut lies on marks."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import replace
from itertools import pairwise

import shapely

from cutopt.geometry import (
    NEAR,
    NOTHING,
    FloatPoint,
    Rail,
    Ring,
    clipped,
    from_lowest,
    polygon,
    polygons,
    ring_of,
    snapped,
)
from cutopt.lay.convex import holds, plain_ring
from cutopt.lay.ground import Brink
from cutopt.lay.marks import UNMARKED, Bench, Segment, Unmarked, through_cut
from cutopt.lay.notches import Run, notch_paths, ring_path, without
from cutopt.lay.plots import Plot, kept_side, side_of
from cutopt.lay.records import Chord, Notch, Shape
from cutopt.lay.rounds import arc_around, round_notches, swept
from cutopt.tile import Tile

CROSSED = "the notches around posts that stand together would run into each other"


def shape_in(plot: Plot, bench: Bench) -> Shape:
    """Mark out the piece for a plot. Raises `Unmarked`.

    With `bench.drop` ground that is needed may stay open next to walls and posts, where a dropped fragment was.
    """
    edges = _cut_edges(plot, bench)
    fewer = _straightened(edges)
    # one straight cut before two that hardly differ; a cut square to the tile before one from mark to mark; and
    # where through-cuts take too much, a notch
    tries = [
        (some, square, through) for through in (True, False) for some in (fewer, edges) for square in (True, False)
    ]
    refusal: Unmarked | None = None
    for some, square, through in tries:
        if some is edges and fewer == edges:
            continue
        try:
            return _shape(plot, some, replace(bench, square=square), through=through)
        except Unmarked as error:
            refusal = refusal or error
    raise refusal or Unmarked("mark", UNMARKED)


def beyond(shape: Shape, chord: Chord) -> Shape | None:
    """What a further through-cut leaves of a shape, None where that is not one piece."""
    line = side_of(chord)
    parts = polygons(polygon(shape.outline).intersection(kept_side(chord, 2 * math.dist(*chord))))
    if len(parts) != 1 or any(min(line.distances(notch.path)) < 0 for notch in shape.notches):
        return None
    ring = ring_of(parts[0])
    return Shape(outline=ring, chords=bounding((*shape.chords, chord), ring), notches=shape.notches)


def _shape(plot: Plot, edges: Run, bench: Bench, *, through: bool) -> Shape:
    corners = list(plot.base.exterior.coords[:-1])
    outer = {brink for brink, _ in edges if through and all(brink.distance(p) > -NEAR for p in corners)}
    chords = [
        *plot.chords,
        *(
            through_cut(brink, [s for b, s in edges if b == brink], bench)
            for brink in dict.fromkeys(b for b, _ in edges)
            if brink in outer
        ),
    ]
    left: list[FloatPoint] = list(bench.ring)
    for chord in chords:
        left = clipped(left, side_of(chord))
    # in whole ticks: overlays of rings that differ in the last digit of a float have gone wrong
    rest = snapped(left)
    if len(rest) < 3:
        raise Unmarked("mark", UNMARKED)
    runs = _runs(edges, outer)
    if not runs and not plot.uprights and not plot.base.interiors:
        return _straight(rest, tuple(chords), edges, plot, bench)
    whole = polygon(rest)
    piece, notches = _notched(whole, runs, plot, bench)
    piece, more, ways_out = _rounded(piece, whole, plot, bench)
    if more and len(notches) + len(more) > 1 and not all(n.closed or _along(n, piece) for n in (*notches, *more)):
        raise Unmarked("mark", CROSSED)
    piece, closed = _lifted(piece, plot, bench)
    _check(piece, edges, ways_out, plot, bench)
    outline = ring_of(piece)
    shape = Shape(outline=outline, chords=bounding(chords, outline), notches=(*notches, *more, *closed))
    if shape.holes and not shapely.Polygon(outline, shape.holes).is_valid:
        raise Unmarked("mark", UNMARKED)
    return shape


def _straight(rest: Ring, chords: tuple[Chord, ...], edges: Run, plot: Plot, bench: Bench) -> Shape:
    """The piece that through-cuts alone leave of a tile. Raises `Unmarked`."""
    room = plain_ring(plot.region)
    must = plain_ring(plot.needed)
    if room is None or must is None or not (holds(room, rest) and holds(rest, must)):
        _check(polygon(rest), edges, NOTHING, plot, bench)
    return Shape(outline=from_lowest(rest), chords=bounding(chords, rest), notches=())


def _check(piece: shapely.Polygon, edges: Run, ways_out: shapely.Geometry, plot: Plot, bench: Bench) -> None:
    """Raise `Unmarked` where a piece reaches too near a wall or post, or leaves open what it must cover."""
    inside = plot.region.covers(piece) or piece.difference(plot.region.buffer(NEAR)).is_empty
    if inside and piece.covers(plot.needed):
        return
    bare = plot.needed.difference(ways_out).difference(piece.buffer(NEAR, join_style="mitre"))
    if bench.drop != "no" and bare.area > NEAR:
        bare = bare.difference(shapely.union_all(_dropped(piece, edges, bench)))
    if not inside or bare.area > NEAR:
        raise Unmarked("mark", UNMARKED)


def _dropped(piece: shapely.Polygon, edges: Run, bench: Bench) -> list[shapely.Polygon]:
    """Strips that may stay open where a slat was dropped: from a cut between two slats to the wall that it runs along.

    How far such a cut may be from the wall, `square_at` sees to.
    """
    ring = list(shapely.geometry.polygon.orient(piece, 1.0).exterior.coords)
    strips = []
    for p, q in pairwise(ring):
        v = p[1]
        if v != q[1] or v in (0, bench.tile.width) or any(s.v[0] < v < s.v[1] for s in bench.tile.slats):
            continue
        for brink, (a, b) in edges:
            if (brink.b[0] - brink.a[0]) * (q[0] - p[0]) > 0:
                low, high = max(min(p[0], q[0]), min(a[0], b[0])), min(max(p[0], q[0]), max(a[0], b[0]))
                side = bench.rules.dropped_gap
                strips.append(
                    shapely.box(low - side, min(v, a[1], b[1]) - NEAR, high + side, max(v, a[1], b[1]) + NEAR)
                )
    return [strip for strip in strips if strip.area > 0]


def bounding(chords: Iterable[Chord], ring: Ring) -> tuple[Chord, ...]:
    """The chords, each once, along which a piece has an edge: other cuts may have taken all that is beside one."""
    return tuple(chord for chord in dict.fromkeys(chords) if _bounds(chord, ring))


def _bounds(chord: Chord, ring: Ring) -> bool:
    """Whether a piece has an edge along a chord: other cuts may have taken all that is beside it."""
    line = side_of(chord)
    along = [abs(line.distance(p)) < NEAR for p in ring]
    return any(here and along[k - 1] for k, here in enumerate(along))


def _notched(piece: shapely.Polygon, runs: list[Run], plot: Plot, bench: Bench) -> tuple[shapely.Polygon, list[Notch]]:
    """The piece without the bites of the runs of inner edges."""
    notches: list[Notch] = []
    for run in runs:
        for path in notch_paths(run, piece, bench):
            piece = _one(without(path, piece), plot)
            notches.append(Notch(path=path))
    return piece, notches


def _rounded(
    piece: shapely.Polygon, rest: shapely.Polygon, plot: Plot, bench: Bench
) -> tuple[shapely.Polygon, list[Notch], shapely.Geometry]:
    """The piece cut round around round posts, all round where it is lifted over one; and all that goes for that.

    `rest`: what the through-cuts leave of the tile; a notch opens to its edges.
    """
    notches: list[Notch] = []
    all_gone: list[shapely.Polygon] = []
    for upright in plot.uprights:
        if not upright.round_cut or not upright.grown(upright.gap[0]).intersects(piece):
            continue
        arc = arc_around(upright, bench)
        gone = swept(arc, rest, plot.way_out)
        found = round_notches(arc, gone, piece)
        if any(notch.closed for notch in found) and not upright.low:
            raise Unmarked("mark", "a round post stands inside")
        _keep_wood(piece, found, bench)
        kept = piece.difference(gone)
        rest = piece = kept if any(notch.closed for notch in found) else _one(kept, plot)
        notches += [notch for notch in found if notch.closed or _along(notch, piece)]
        all_gone.append(gone)
    return piece, notches, shapely.union_all(all_gone) if all_gone else NOTHING


def _along(notch: Notch, piece: shapely.Polygon) -> bool:
    """Whether a notch bounds this part of what it may have cut in two."""
    return bool(piece.exterior.buffer(2 * NEAR).contains(shapely.LineString(notch.path)))


def _lifted(piece: shapely.Polygon, plot: Plot, bench: Bench) -> tuple[shapely.Polygon, list[Notch]]:
    """The piece with rings cut out of it around what it is lifted over."""
    notches: list[Notch] = []
    for interior in shapely.geometry.polygon.orient(plot.base, 1.0).interiors:
        path = ring_path(_edges_of(list(interior.coords), plot, bench), bench)
        notches.append(Notch(path=path, closed=True))
        _keep_wood(piece, notches[-1:], bench)
        piece = piece.difference(polygon(path))
    return piece, notches


def _keep_wood(piece: shapely.Polygon, notches: Sequence[Notch], bench: Bench) -> None:
    """Raise `Unmarked` where a closed notch would leave less wood around it than holds a screw."""
    for hole in (polygon(notch.path) for notch in notches if notch.closed):
        if not piece.contains(hole) or hole.distance(piece.boundary) < bench.rules.fragment_least:
            raise Unmarked("fragment_least", "a post stands too near to the edge of the piece that is lifted over it")


def _one(shape: shapely.Geometry, plot: Plot) -> shapely.Polygon:
    """The part of what a cut leaves that lies in the plot; the others are pieces of their own."""
    parts = polygons(shape)
    if len(parts) == 1 and plot.region.covers(parts[0]):
        return parts[0]
    parts = [part for part in parts if part.intersection(plot.region).area > part.area / 2]
    if len(parts) != 1:
        raise Unmarked("mark", UNMARKED)
    return parts[0]


def _cut_edges(plot: Plot, bench: Bench) -> Run:
    """The outer edges that are not the tile's own sides, nor cut beforehand, in order, each with its brink."""
    points = list(shapely.geometry.polygon.orient(plot.base, 1.0).exterior.coords)
    return _edges_of(points, plot, bench)


def _edges_of(points: list[FloatPoint], plot: Plot, bench: Bench) -> Run:
    edges: list[tuple[Brink, Segment] | None] = []
    for p, q in pairwise(points):
        if math.dist(p, q) < NEAR:
            continue
        side = _on_side(p, q, bench.tile) or any(_runs_along(side_of(c), p, q) for c in plot.chords)
        edges.append(None if side else (_brink_at((p, q), plot), (p, q)))
    if None in edges:
        start = edges.index(None)
        edges = edges[start:] + edges[:start]
    return [edge for edge in edges if edge is not None]


def _brink_at(segment: Segment, plot: Plot) -> Brink:
    """The brink that an edge runs along; where the gap's own corner is cut off, the edge is one itself."""
    found = next((brink for brink in plot.brinks if _runs_along(brink, *segment)), None)
    if found is not None:
        return found
    near = sorted(plot.brinks, key=lambda b: min(math.dist(b.a, segment[0]), math.dist(b.b, segment[1])))[:2]
    slack, least = min((b.slack for b in near), default=0.0), max((b.least for b in near), default=0.0)
    return Brink(a=segment[0], b=segment[1], slack=slack, least=least)


def _straightened(edges: Run) -> Run:
    """The edges with neighbours joined that one straight cut within the gap can follow."""
    joined: Run = []
    for brink, segment in edges:
        if joined and math.dist(joined[-1][1][1], segment[0]) < NEAR:
            one = _one_brink(joined[-1], (brink, segment))
            if one is not None:
                joined[-1] = one
                continue
        joined.append((brink, segment))
    return joined


def _one_brink(first: tuple[Brink, Segment], second: tuple[Brink, Segment]) -> tuple[Brink, Segment] | None:
    """One brink from the start of one edge to the end of the next, clear of the corner between them."""
    (a, corner), (_, b) = first[1], second[1]
    slack = min(first[0].slack, second[0].slack)
    whole = Brink(a=a, b=b, slack=slack, least=max(first[0].least, second[0].least))
    off = whole.distance(corner)
    ahead = (b[0] - a[0]) * (corner[0] - a[0]) + (b[1] - a[1]) * (corner[1] - a[1])
    if abs(off) > slack / 2 or not 0 < ahead < math.dist(a, b) ** 2:
        return None
    return replace(whole.slid(max(off, 0.0)), slack=slack - abs(off)), (a, b)


def _on_side(p: FloatPoint, q: FloatPoint, tile: Tile) -> bool:
    sides = ((0, 0), (0, tile.length), (1, 0), (1, tile.width))
    return any(abs(p[axis] - at) < NEAR and abs(q[axis] - at) < NEAR for axis, at in sides)


def _runs_along(rail: Rail, p: FloatPoint, q: FloatPoint) -> bool:
    (x, y), (dx, dy) = rail.a, (rail.b[0] - rail.a[0], rail.b[1] - rail.a[1])
    if dx * (q[0] - p[0]) + dy * (q[1] - p[1]) <= 0:
        return False
    most = NEAR * math.hypot(dx, dy)
    return all(abs(dx * (v - y) - dy * (u - x)) < most for u, v in (p, q))


def _runs(edges: Run, outer: set[Brink]) -> list[Run]:
    """The inner edges, each run of neighbours as one: it bounds one notch."""
    if any(brink in outer for brink, _ in edges):
        while edges[0][0] not in outer:  # so that no run is torn where the list begins
            if math.dist(edges[-1][1][1], edges[0][1][0]) >= NEAR:
                break
            edges = [*edges[-1:], *edges[:-1]]
    runs: list[Run] = []
    for brink, segment in edges:
        if brink in outer:
            continue
        if runs and math.dist(runs[-1][-1][1][1], segment[0]) < NEAR:
            runs[-1].append((brink, segment))
        else:
            runs.append([(brink, segment)])
    return runs
