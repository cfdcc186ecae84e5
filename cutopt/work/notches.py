"""Notches: a ring's starter hole, long legs that the guided saw cuts first, corners and arcs for the jigsaw."""

from __future__ import annotations

import math

import shapely

from cutopt.cut import SawCut
from cutopt.cut.notching import legs
from cutopt.geometry import polygon
from cutopt.lay.records import Side
from cutopt.tile import Point
from cutopt.work.names import SIDES, listed
from cutopt.work.slate import Draft, Slate

BIT = 12 * 320  # ticks: a starter hole that takes a jigsaw's blade; common practice, no source
CLEAR = 3 * 320  # ticks of waste between the hole and the line
ON_ARC = 0.02  # a line of a round notch's path is a part of its arc if it passes the centre at about the radius


def starter(slate: Slate, n: int) -> list[Draft]:
    """A hole in the waste for the jigsaw's blade, where a cut runs all round and has no edge to start from."""
    cut = slate.source.tile.tree.cuts[n]
    if not cut.closed:
        return []
    tile, spot = slate.job.tile, starting_point(slate, cut)
    depth = slate.say.length(tile.slat_thickness + tile.backer_thickness)
    text = (
        f"Face down. Drill a starter hole of {slate.say.length(BIT)} in the waste of cut {n + 1}, right through slat "
        f"and backer (up to {depth}), {_inside(slate, spot)}."
    )
    rate = slate.job.rules.rate_hole
    return [slate.draft("drill", "drill", "down", text, rate, cut=n + 1, places=(cut.place,), holes=(spot,))]


def starting_point(slate: Slate, cut: SawCut) -> Point:
    """The middle of the starter hole: near the ring's first corner in the waste, off the line, the slats' gaps and
    screws.
    """
    ring = polygon(cut.path)
    room = ring.buffer(-(BIT / 2 + CLEAR + cut.kerf), join_style="mitre")
    if room.is_empty:
        room = ring.representative_point()
    tile, mark = slate.job.tile, slate.job.mark
    u0, v0, u1, v1 = room.bounds
    spots = [
        (u, v)
        for u in range(math.ceil(u0 / mark) * mark, math.floor(u1) + 1, mark * 4)
        for v in range(math.ceil(v0 / mark) * mark, math.floor(v1) + 1, mark * 4)
        if room.covers(shapely.Point(u, v))
    ] or [(round(room.centroid.x), round(room.centroid.y))]

    def want(spot: Point) -> tuple[bool, bool, float]:
        over = any(slat.v[0] + BIT / 2 <= spot[1] <= slat.v[1] - BIT / 2 for slat in tile.slats)
        clear = all(math.dist(spot, screw.at) >= slate.job.rules.screw_clearance + BIT / 2 for screw in tile.screws)
        return not clear, not over, math.dist(spot, cut.path[0])

    return min(spots, key=want)


def prepare(slate: Slate, n: int) -> list[Draft]:
    """Legs too long for a jigsaw: the guided saw cuts them first and stops short of inside corners."""
    cut = slate.source.tile.tree.cuts[n]
    if not cut.prepared:
        return []
    short, say = slate.job.rules.overcut, slate.say
    spans = listed([f"from ({_inside(slate, a)}) to ({_inside(slate, b)})" for a, b in cut.prepared])
    text = (
        f"Face down. Cut {n + 1}, its long legs first: clamp the part down and the guide along the marked line; lower "
        f"the blade into the waste side and saw {spans}: it stops {say.length(short)} short of every inside corner."
    )
    rate = slate.job.rules.rate_guided_saw
    return [slate.draft("cut", "guided saw", "down", text, rate, cut=n + 1, places=(cut.place,))]


def _inside(slate: Slate, point: Point) -> str:
    return slate.say.mark(point).removeprefix("inside, ")


def finish_text(cut: SawCut) -> str:
    """How the jigsaw follows a notch."""
    if cut.closed:
        start = "from the starter hole saw all round along the marked line"
    elif cut.prepared:
        start = "saw what the guided saw left, along the marked line"
    else:
        start = "saw along the marked line"
    return f"{start}, slowly round the arc" if cut.radius is not None else f"{start} into each inside corner"


def mark_text(slate: Slate, cut: SawCut) -> str:
    """How a round notch is marked: the circle by its centre and radius, and straight legs to the piece's edge."""
    assert cut.centre is not None
    assert cut.radius is not None
    say = slate.say
    text = f"{_pricked(slate, cut.centre)}, and draw a circle of {say.length(cut.radius)} radius"
    straight = straight_legs(cut)
    if straight:
        lines = listed([f"from ({_inside(slate, a)}) to ({_inside(slate, b)})" for a, b in straight])
        text += f"; straight lines {lines}"
    return text


def _pricked(slate: Slate, centre: Point) -> str:
    """Where the compass stands: on the tile, or on wood laid beside it where the centre lies past its edges."""
    tile, say = slate.job.tile, slate.say
    past: list[str] = []
    inside = list(centre)
    sides: tuple[tuple[int, int, Side, Side], ...] = ((0, tile.length, "u0", "u1"), (1, tile.width, "v0", "v1"))
    for axis, size, low, high in sides:
        side = low if centre[axis] < 0 else high if centre[axis] > size else None
        if side is not None:
            past.append(f"{say.length(max(-centre[axis], centre[axis] - size))} past the {SIDES[side]}")
            inside[axis] = 0 if centre[axis] < 0 else size
    if not past:
        return f"prick the centre, {_inside(slate, centre)}"
    along = [] if len(past) > 1 else [say.mark((inside[0], inside[1])).split(", ", 1)[1]]
    return f"lay wood beside the tile and prick the centre on it, {listed([*past, *along])}"


def straight_legs(cut: SawCut) -> list[tuple[Point, Point]]:
    """The lines of a round notch's path that are not parts of its arc."""
    if cut.centre is None or cut.radius is None:
        return []
    return [leg for leg in legs(cut) if not _on_arc(*leg, cut.centre, cut.radius)]


def _on_arc(a: Point, b: Point, centre: Point, radius: int) -> bool:
    """Whether a line touches the circle between its ends, and neither end lies far off it."""
    line = shapely.LineString([a, b])
    middle = shapely.Point(centre)
    touches = abs(line.distance(middle) - radius) <= ON_ARC * radius
    return touches and max(math.dist(a, centre), math.dist(b, centre)) <= 1.15 * radius
