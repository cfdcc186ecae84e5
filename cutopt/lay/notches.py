"""Notches: a path around something that stands in a tile, from side to side or all round, its corners on marks.

leg     a straight stretch of a path, along one brink; square to the tile, or oblique
bite    what a notch takes away: what lies to the right of its path, up to the piece's own edge
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import islice, pairwise, product

import shapely

from cutopt.geometry import NEAR, FloatPoint, Rail, Ring, chord, from_lowest, meeting, polygon, snapped
from cutopt.lay.convex import Ring as ConvexRing
from cutopt.lay.convex import holds, plain_ring
from cutopt.lay.ground import Brink
from cutopt.lay.marks import Bench, Segment, Unmarked, crossing, marked_on_side, slid_by, square_at
from cutopt.lay.records import Side
from cutopt.tile import Point

Run = list[tuple[Brink, Segment]]

AROUND: tuple[Side, ...] = ("v0", "u1", "v1", "u0")  # the tile's sides, anticlockwise
MOST_MARKS = 5  # marks tried for a corner
MOST_PATHS = 400  # sets of corners tried for a path
ASKEW = math.cos(math.radians(45))  # a leg that marks turn further is too short to be led along its brink
UNNOTCHED = "no notch with its corners on marks lies within the gap"


@dataclass(frozen=True, kw_only=True, slots=True)
class _Leg:
    """A leg along a brink. `at`: where on axis `axis` it lies where it is square, else None."""

    brink: Brink
    segment: Segment
    axis: int
    at: int | None

    def line(self, bench: Bench) -> Rail:
        """The line that it is cut along, an oblique one as far from the wall as the bench slides it."""
        if self.at is None:
            return self.brink.slid(slid_by(self.brink, bench))
        a, b = crossing(self.brink, self.at, bench.ring)
        return Rail(a=a, b=b, slack=0)

    def holds(self, point: Point) -> bool:
        """Whether the leg may pass through the point."""
        if self.at is not None:
            return point[self.axis] == self.at
        return -1 <= self.brink.distance(point) <= self.brink.slack + 1


def notch_paths(run: Run, piece: shapely.Polygon, bench: Bench) -> list[Ring]:
    """The paths of a run of inner edges through the wood of a piece, from edge to edge, their corners on marks.

    Mostly one; none where cuts made before take all of it. Raises `Unmarked`.
    """
    legs = _legs(run, bench, _opened(run, bench))
    corners = [_corner(one, other, bench) for one, other in pairwise(legs)]
    for inner in islice(product(*corners), MOST_PATHS):
        entry = _past(legs[0], inner[:1], bench, at_end=False)
        leave = _past(legs[-1], inner[-1:], bench, at_end=True)
        path = [*entry, *inner, *reversed(leave)]
        if _runs_on([path[0], *inner, path[-1]], legs):
            ring = plain_ring(piece)
            plain = None if ring is None else _square_cut(path, ring)
            return list(stretches(shapely.LineString(path), piece)) if plain is None else [plain[0]]
    raise Unmarked("mark", UNNOTCHED)


def ring_path(run: Run, bench: Bench) -> Ring:
    """The closed path around something that a piece is lifted over, clockwise, its corners on marks.

    Raises `Unmarked`.
    """
    legs = _legs(run, bench, frozenset())
    corners = [_corner(one, other, bench) for one, other in pairwise([legs[-1], *legs])]
    for inner in islice(product(*corners), MOST_PATHS):
        if _runs_on([*inner, inner[0]], legs):
            return tuple(inner)
    raise Unmarked("mark", UNNOTCHED)


def without(path: Ring, piece: shapely.Polygon) -> shapely.Geometry:
    """A piece without what a notch takes away of it: all between the path and the piece's edge on the path's right."""
    ring = plain_ring(piece)
    met = _square_cut(path, ring) if ring is not None else None
    if ring is None or met is None or met[0] != path:
        return piece.difference(bite(path, piece))
    _, entered, left = met
    if entered == left:  # the path leaves by the side by which it entered
        a, way = ring[left - 1], ring[left]
        ahead = sum((path[-1][k] - path[0][k]) * (way[k] - a[k]) for k in (0, 1)) > 0
        return polygon([*path, *ring[left:], *ring[:left]] if ahead else path)
    return polygon([*path, *(ring[left:entered] if left < entered else (*ring[left:], *ring[:entered]))])


def bite(path: Ring, piece: shapely.Polygon) -> shapely.Polygon:
    """What a notch takes away of a piece: all between the path and the piece's edge on the path's right."""
    beside, _ = _beside(path, piece)
    bitten = [*reversed(path), *beside]
    return polygon(bitten) if len(bitten) > 2 else shapely.Polygon()


def carved(path: Ring, piece: shapely.Polygon) -> Ring:
    """The ring of a piece without the bite of a path that ends on its outer edge."""
    return from_lowest(snapped([*path, *_beside(path, piece)[1]]))


def _beside(path: Ring, piece: shapely.Polygon) -> tuple[list[FloatPoint], list[FloatPoint]]:
    """The corners of a piece's outer ring on a path's right and on its left, each in the ring's order."""
    ring = shapely.geometry.polygon.orient(piece, 1.0).exterior
    start, end = (ring.project(shapely.Point(p)) for p in (path[0], path[-1]))
    span = (end - start) % ring.length
    corners = sorted(((ring.project(shapely.Point(p)) - start) % ring.length, (p[0], p[1])) for p in ring.coords[:-1])
    return [p for at, p in corners if 0 < at < span], [p for at, p in corners if at > span]


def _opened(run: Run, bench: Bench) -> frozenset[Side]:
    """The tile's sides that a run of edges opens to: from where it enters the tile to where it leaves it."""
    entry, leave = _side_at(run[0][1][0], bench), _side_at(run[-1][1][1], bench)
    if entry is None or leave is None:
        return frozenset(side for side in (entry, leave) if side is not None)
    first = AROUND.index(entry)
    return frozenset(AROUND[(first + k) % 4] for k in range((AROUND.index(leave) - first) % 4 + 1))


def _side_at(point: FloatPoint, bench: Bench) -> Side | None:
    length, width = bench.ring[2]
    off = {"v0": point[1], "u1": length - point[0], "v1": width - point[1], "u0": point[0]}
    return next((side for side in AROUND if abs(off[side]) < NEAR), None)


def _legs(run: Run, bench: Bench, opens: frozenset[Side]) -> list[_Leg]:
    legs: list[_Leg] = []
    for brink, segment in run:
        normal = brink.normal
        axis = 0 if abs(normal[0]) > abs(normal[1]) else 1
        at = square_at(brink, list(segment), bench, opens)
        if legs and at is not None and (legs[-1].axis, legs[-1].at) == (axis, at):
            continue  # two brinks, one straight cut
        legs.append(_Leg(brink=brink, segment=segment, axis=axis, at=at))
    return legs


def _corner(one: _Leg, other: _Leg, bench: Bench) -> list[Point]:
    """Points on marks where two legs may meet, the best first. Raises `Unmarked` where there are none."""
    if one.at is not None and other.at is not None and one.axis != other.axis:
        return [(one.at, other.at) if one.axis == 0 else (other.at, one.at)]
    if one.at is None and other.at is None:
        found = _marks_around(_meeting(one, other, bench), one, other, bench)
    elif one.at is not None and other.at is not None:
        found = []
    else:
        found = _marks_along(*((one, other) if one.at is not None else (other, one)), bench)
    if not found:
        raise Unmarked("mark", UNNOTCHED)
    return found[:MOST_MARKS]


def _meeting(one: _Leg, other: _Leg, bench: Bench) -> FloatPoint:
    """Where the middles of two legs meet, or by the corner between them where they are nearly one line."""
    corner = one.segment[1]
    met = meeting(one.line(bench), other.line(bench))
    if met is not None and math.dist(met, corner) < 4 * max(one.brink.slack, other.brink.slack, bench.mark):
        return met
    away = slid_by(one.brink, bench)
    return corner[0] + one.brink.normal[0] * away, corner[1] + one.brink.normal[1] * away


def _marks_around(point: FloatPoint, one: _Leg, other: _Leg, bench: Bench) -> list[Point]:
    """The marks around a point that both legs may pass through, the nearest first."""
    low = [math.floor(x / bench.mark) for x in point]
    steps = range(-2, 4)
    marks = [((low[0] + i) * bench.mark, (low[1] + j) * bench.mark) for i in steps for j in steps]
    return sorted((m for m in marks if one.holds(m) and other.holds(m)), key=lambda m: (math.dist(m, point), m))


def _marks_along(square: _Leg, oblique: _Leg, bench: Bench) -> list[Point]:
    """The marks on a square leg that an oblique one may pass through, the middle of its gap first."""
    assert square.at is not None
    along = 1 - square.axis
    met = meeting(square.line(bench), oblique.line(bench))
    if met is None:
        return []
    corner = square.segment[1] if math.dist(square.segment[1], oblique.segment[0]) < NEAR else square.segment[0]
    if abs(met[along] - corner[along]) > 4 * max(square.brink.slack, oblique.brink.slack, bench.mark):
        met = corner  # they are nearly one line
    low = math.floor(met[along] / bench.mark)
    spread = math.ceil(oblique.brink.slack / max(abs(oblique.brink.normal[along]), 0.02) / bench.mark) + 1
    values = [(low + k) * bench.mark for k in range(-spread, spread + 2)]
    marks = [(square.at, t) if along == 1 else (t, square.at) for t in values]
    return sorted((m for m in marks if oblique.holds(m)), key=lambda m: (abs(m[along] - met[along]), m))


def _past(leg: _Leg, corner: Sequence[Point], bench: Bench, *, at_end: bool) -> list[FloatPoint]:
    """A path's first or last leg, from beyond the piece to its outermost mark.

    The mark is on the tile's side where an oblique leg meets that; elsewhere the leg's corner is its only one.
    """
    line = leg.line(bench)
    reach = (1 if at_end else -1) * sum(bench.ring[2]) / math.dist(line.a, line.b)
    start: FloatPoint = corner[0] if corner else (line.a, line.b)[at_end]
    marked: list[FloatPoint] = []
    ends = chord(bench.ring, line)
    if leg.at is None and ends is not None and _side_at(leg.segment[at_end], bench) is not None:
        start = marked_on_side(ends[at_end], leg.brink, bench)
        marked = [start]
    return [(start[0] + (line.b[0] - line.a[0]) * reach, start[1] + (line.b[1] - line.a[1]) * reach), *marked]


def _runs_on(path: Sequence[FloatPoint], legs: Sequence[_Leg]) -> bool:
    """Whether each leg of the path still runs the way that its brink does, now that its corners are on marks."""
    for leg, (a, b) in zip(legs, pairwise(path), strict=True):
        (x0, y0), (x1, y1) = leg.brink.a, leg.brink.b
        ahead = (b[0] - a[0]) * (x1 - x0) + (b[1] - a[1]) * (y1 - y0)
        if ahead <= ASKEW * math.dist(a, b) * math.dist((x0, y0), (x1, y1)):
            return False
    return True


def _square_cut(path: Sequence[Sequence[float]], ring: ConvexRing) -> tuple[Ring, int, int] | None:
    """The stretch in a convex ring of a path of square legs, and the numbers of the sides where it enters and leaves.

    A side's number is that of its end. None where the path is not plain: with one or two corners, all well inside, and
    ends on sides that run across them, clear of the ring's corners.
    """
    inner = path[1:-1]
    across = [a[0] == b[0] for a, b in pairwise(path)]
    if not 1 <= len(inner) <= 2 or not all(one != other for one, other in pairwise(across)):
        return None
    if any(a[1] != b[1] for (a, b), up in zip(pairwise(path), across, strict=True) if not up):
        return None
    if not holds(ring, inner, -2 * NEAR) or math.dist(inner[0], inner[-1]) < NEAR * (len(inner) - 1):
        return None
    ends = [_way_out(inner[0], path[0], ring), _way_out(inner[-1], path[-1], ring)]
    (entry, entered), (leave, left) = (end or ((0, 0), -1) for end in ends)
    if min(entered, left) < 0:
        return None
    return (entry, *((round(p[0]), round(p[1])) for p in inner), leave), entered, left


def _way_out(corner: Sequence[float], end: Sequence[float], ring: ConvexRing) -> tuple[Point, int] | None:
    """Where a square leg from a corner inside a convex ring to its end meets a side square to it, and which."""
    axis = 1 if corner[0] == end[0] else 0
    way = 1 if end[axis] > corner[axis] else -1
    for k, b in enumerate(ring):
        a = ring[k - 1]
        beyond = (b[axis] - corner[axis]) * way > 0 and (end[axis] - b[axis]) * way >= 0
        low, high = sorted((a[1 - axis], b[1 - axis]))
        if a[axis] == b[axis] and beyond and low + 2 * NEAR < corner[1 - axis] < high - 2 * NEAR:
            at = (b[axis], corner[1 - axis]) if axis == 0 else (corner[1 - axis], b[axis])
            return (round(at[0]), round(at[1])), k
    return None


def stretches(line: shapely.LineString, piece: shapely.Polygon) -> Iterator[Ring]:
    """The stretches of a line through the wood of a piece, in the line's direction, in whole ticks.

    Raises `Unmarked` where the line crosses itself in the wood.
    """
    rim = piece.exterior.buffer(NEAR)
    parts = shapely.get_parts(shapely.line_merge(line.intersection(piece)))
    found = []
    for part in parts:
        if part.geom_type != "LineString" or part.length < NEAR or rim.contains(part):
            continue
        points = list(part.coords)
        if not (rim.contains(shapely.Point(points[0])) and rim.contains(shapely.Point(points[-1]))):
            raise Unmarked("mark", UNNOTCHED)  # the path crosses itself
        ends = [line.project(shapely.Point(p)) for p in (points[0], points[-1])]
        if ends[0] > ends[1]:
            points.reverse()
        found.append((min(ends), tuple((round(x), round(y)) for x, y in points)))
    for _, path in sorted(found):
        yield path
