"""What a notch takes out of a part, what its blade turns to dust, and which of its legs another saw prepares."""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import pairwise

import shapely

from cutopt.cut.records import SawCut
from cutopt.geometry import NEAR, FloatPoint, Rail, meeting, polygon
from cutopt.lay.records import Chord, Notch
from cutopt.tile import Point

FAR = 10_000 * 320  # ticks: longer than any tile
PAST = 6  # kerfs: how far a blade runs on past the end of its path


def bite(part: shapely.Polygon, notch: Notch) -> shapely.Geometry:
    """What lies to the right of a notch's path in the part, its kerf included: the path as sawn is what is kept.

    An open path runs from edge to edge of the part, with any number of legs and turns; a closed one is a ring.
    """
    if notch.closed:
        return part.intersection(polygon(notch.path))
    rim = shapely.geometry.polygon.orient(part, 1.0).exterior
    start, end = (rim.project(shapely.Point(p)) for p in (notch.path[0], notch.path[-1]))
    # the wood is on the left of its edge: back along the path, then along the edge from its start to its end
    edge = _stretch(rim, start, end)
    ring = [*reversed(notch.path), *edge]
    if len(ring) < 3:  # another cut has taken it away
        return shapely.Polygon()
    return shapely.make_valid(shapely.Polygon(ring)).intersection(part)


def _stretch(ring: shapely.LinearRing, start: float, end: float) -> list[FloatPoint]:
    """The ring's corners on the way from one place along it to another, in its own direction."""
    spots = list(ring.coords[:-1])
    at = [ring.project(shapely.Point(p)) for p in spots]
    size = ring.length
    ahead = (end - start) % size
    passed = sorted(((d - start) % size, p) for d, p in zip(at, spots, strict=True))
    return [(p[0], p[1]) for d, p in passed if 0 < d < ahead]


def strip(part: shapely.Polygon, notch: Notch, kerf: int) -> shapely.Geometry:
    """The blade's way: a kerf wide to the right of the path, run on past its ends so that oblique ends part clean."""
    if notch.closed:
        return _band([*notch.path, notch.path[0]], kerf, closed=True)
    convex = part.convex_hull.area - part.area < NEAR * part.length
    past = FAR if convex else PAST * kerf
    first, *inner, last = notch.path
    return _band([_beyond(notch.path[1], first, past), *inner, _beyond(notch.path[-2], last, past)], kerf, closed=False)


def _beyond(a: Point, b: Point, past: float) -> FloatPoint:
    """The point `past` ticks further on from a to b."""
    share = past / math.dist(a, b)
    return b[0] + (b[0] - a[0]) * share, b[1] + (b[1] - a[1]) * share


def _band(path: Sequence[FloatPoint], kerf: int, *, closed: bool) -> shapely.Geometry:
    """A strip of the kerf's width to the right of a path, mitred where it turns left."""
    rails = [Rail(a=a, b=b, slack=0) for a, b in pairwise(path)]
    far = [Rail(a=rail.b, b=rail.a, slack=0).slid(kerf) for rail in rails]  # runs backwards: the waste on its left
    shapes = [polygon([rail.a, rail.b, line.a, line.b]) for rail, line in zip(rails, far, strict=True)]
    turns = list(zip(rails, far, rails[1:] + rails[:1], far[1:] + far[:1], strict=True))
    for rail, line, following, after in turns if closed else turns[:-1]:
        tip = meeting(line, after)
        if tip is not None and rail.distance(following.b) > 0:
            shapes.append(polygon([rail.b, line.a, tip, after.b]))
    return shapely.union_all(shapes)


def legs(cut: Notch | SawCut) -> list[Chord]:
    """The straight lines of a path, those of a ring all round."""
    return list(pairwise([*cut.path, cut.path[0]] if cut.closed else cut.path))


def prepared(notch: Notch, reach: int, overcut: int) -> tuple[Chord, ...]:
    """The stretches of legs longer than a jigsaw's reach that a guided saw cuts first.

    Its blade is round: where it is through on the lower side it has gone further on the upper one. At an inside corner
    of what is kept, where the path turns right, it stops short by that; where the path turns left it runs on in waste.
    """
    lines = legs(notch)
    found: list[Chord] = []
    for n, (a, b) in enumerate(lines):
        if math.dist(a, b) <= reach:
            continue
        before = lines[n - 1][0] if n or notch.closed else None
        beyond = lines[(n + 1) % len(lines)][1] if n + 1 < len(lines) or notch.closed else None
        start = overcut if before is not None and _turns_in(before, a, b) else 0
        end = overcut if beyond is not None and _turns_in(a, b, beyond) else 0
        found.append((_along(a, b, start), _along(b, a, end)))
    return tuple(found)


def _turns_in(a: Point, b: Point, c: Point) -> bool:
    """Whether a path turns right at b: an inside corner of the wood on its left."""
    return (b[0] - a[0]) * (c[1] - b[1]) - (b[1] - a[1]) * (c[0] - b[0]) < 0


def _along(a: Point, b: Point, distance: int) -> Point:
    """The point at a distance from a towards b."""
    share = distance / math.dist(a, b)
    return round(a[0] + (b[0] - a[0]) * share), round(a[1] + (b[1] - a[1]) * share)
