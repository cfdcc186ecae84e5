"""Notches: a path around something that stands in a tile, from side to side, its corners on marks."""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import pairwise, product

import shapely

from cutopt.geometry import NEAR, FloatPoint, Rail, Ring, chord, clipped, meeting, polygon
from cutopt.lay.marks import Bench, Segment, Unmarked, crossing, marked_on_side, square_at
from cutopt.tile import Point


def notch_path(run: list[tuple[Rail, Segment]], rest: list[FloatPoint], bench: Bench) -> Ring:
    """The path of a notch, from side to side, its corners on marks."""
    if not 2 <= len(run) <= 3:
        raise Unmarked("not_yet_planned", "a notch with this many corners")
    squares = [square_at(rail, list(segment), bench) for rail, segment in run]
    lines = []
    for (rail, _), at in zip(run, squares, strict=True):
        if at is None:
            return _oblique_notch([rail for rail, _ in run], rest, bench)
        a, b = crossing(rail, at, bench.ring)
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
        inside = all(0 < p[k] < bench.ring[2][k] for p in path[1:-1] for k in (0, 1))
        if within and inside and _turns_out(path):
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
    return marked_on_side(point, rail, bench) if on_side else (round(point[0]), round(point[1]))


def _marks_around(point: FloatPoint, bench: Bench) -> list[Point]:
    """The four marks around a point, the nearest first."""
    low = [math.floor(x / bench.mark) * bench.mark for x in point]
    marks = [(low[0] + i * bench.mark, low[1] + j * bench.mark) for i in (0, 1) for j in (0, 1)]
    return sorted(marks, key=lambda m: (math.dist(m, point), m))


def bite(path: Ring, rest: list[FloatPoint]) -> shapely.Polygon:
    """What a notch takes away: all of `rest` that lies to the right of each of the path's lines."""
    bite = rest
    for a, b in pairwise(path):
        bite = clipped(bite, Rail(a=b, b=a, slack=0))
    return polygon(bite) if len(bite) > 2 else shapely.Polygon()
