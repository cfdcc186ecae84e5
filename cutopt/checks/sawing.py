"""The cuts, in order, produce exactly the pieces and offcuts, with saws that can make them."""

from __future__ import annotations

import math
from collections.abc import Iterator
from itertools import pairwise

from shapely.geometry import LinearRing, LineString, Point, Polygon

from cutopt.checks.evidence import Evidence, Placed
from cutopt.checks.finding import Fault, fault
from cutopt.checks.replay import Blade, Replay, overshoots, through
from cutopt.checks.shapes import (
    TOLERANCE,
    Spot,
    equal,
    exceeds,
    falls_short,
    number,
    overlap,
    polygon,
    ring_edges,
    same,
)
from cutopt.planfile.model import Cut

FENCE_EDGE = 1.0  # mm: shortest factory edge that can run along a fence
ARC_PLAY = 1.0  # mm that the polyline of a round notch may lie outside its arc
ARC_CHORDS = 128  # to a quarter of a circle
BOTH_LEGS = 3  # points of a path that has one corner
EDGE_SHARE = 1.0  # mm: least common length that makes a path an edge of its piece


def sawing(evidence: Evidence) -> Iterator[Fault]:
    """All faults of the cut lists."""
    for worked in evidence.worked:
        placed = evidence.on(worked.source)
        yield from worked.faults
        yield from _results(evidence, worked, placed)
        yield from _out_of_notches(worked, placed)
        for blade in worked.blades:
            yield from _kerf(evidence, worked, blade)
            yield from _saw(evidence, worked, blade)
            yield from _through_pieces(worked, blade, placed)
            yield from _arc(worked, blade, placed)


def _results(evidence: Evidence, worked: Replay, placed: list[Placed]) -> Iterator[Fault]:
    """What is left at the end: the placed pieces by name, and the offcuts by shape."""
    source = worked.source
    rest = dict(worked.parts)
    for piece in placed:
        name = source.id if not source.cuts and piece.piece.id not in rest else piece.piece.id
        part = rest.pop(name, None)
        if part is None:
            yield fault("cuts-make-pieces", piece.where, "no cut produces it")
        elif not equal(part, piece.outline):
            yield fault("cuts-make-pieces", piece.where, "the cuts produce another shape than the one placed")
    offcuts = {offcut.id: polygon(offcut.outline) for offcut in source.offcuts}
    for name, part in rest.items():
        match = next((key for key, shape in offcuts.items() if equal(shape, part)), None)
        if match is None:
            yield fault(
                "offcuts", f"part {name} of {source.id}", "is left over and not listed as an offcut of that shape"
            )
        else:
            del offcuts[match]
    for key in offcuts:
        yield fault("offcuts", f"offcut {key} of {source.id}", "no part of that shape is left over")


def _where(worked: Replay, blade: Blade) -> str:
    return f"cut {blade.cut.n} of {worked.source.id}"


def _kerf(evidence: Evidence, worked: Replay, blade: Blade) -> Iterator[Fault]:
    kerf = evidence.plan.kerf.get(blade.cut.saw)
    if kerf is not None and kerf <= 0:
        yield fault("kerf", _where(worked, blade), f"takes {number(kerf)}; every blade turns some wood to dust")
    if kerf is None:
        yield fault("saw", _where(worked, blade), f"uses a {blade.cut.saw}, which the job does not have")
    elif not same(kerf, blade.cut.kerf):
        text = f"takes {number(blade.cut.kerf)} with the {blade.cut.saw}, whose kerf is {number(kerf)}"
        yield fault("kerf", _where(worked, blade), text)


def _saw(evidence: Evidence, worked: Replay, blade: Blade) -> Iterator[Fault]:
    """Whether the saw can make the cut."""
    cut, where = blade.cut, _where(worked, blade)
    straight = len(cut.path) == 2 and not cut.closed
    if cut.saw != "jigsaw" and not straight:
        yield fault("saw", where, f"turns a corner, which a {cut.saw} cannot")
    elif cut.saw == "table_saw":
        yield from _fence(evidence, where, blade)
    elif cut.saw == "guided_saw":
        if overshoots(blade.part, cut.path):
            text = "ends in an inside corner of the part; a round blade saws on beyond it, and a jigsaw is meant"
            yield fault("inside-corner", where, text)
    else:
        longest = max(math.dist(a, b) for a, b in pairwise(_whole_path(cut)))
        if exceeds(longest, evidence.limits.jigsaw_reach) and not _prepared(evidence, worked, cut):
            text = f"a leg of {number(longest)} is beyond a jigsaw's {number(evidence.limits.jigsaw_reach)}"
            yield fault("saw", where, text)


def _out_of_notches(worked: Replay, placed: list[Placed]) -> Iterator[Fault]:
    """What a notch takes out is sawn on only where the blade came from an edge along both legs, up to their corner."""
    wanted = {blade.cut.part for blade in worked.blades} | {piece.piece.id for piece in placed}
    for blade in worked.blades:
        cut = blade.cut
        waste = cut.into[0 if cut.waste_side == "left" else 1]
        if waste in wanted and (cut.closed or cut.arc is not None or len(cut.path) > BOTH_LEGS):
            text = f"takes out part {waste}, which is wanted, and its blade turns round in that"
            yield fault("notch-waste", _where(worked, blade), text)


def _whole_path(cut: Cut) -> list[Spot]:
    return [*cut.path, cut.path[0]] if cut.closed else list(cut.path)


def _prepared(evidence: Evidence, worked: Replay, cut: Cut) -> bool:
    """Whether a guided saw cuts the long legs first, short of the inside corners that the jigsaw then finishes."""
    stations = [step.station for step in evidence.steps(worked.source) if step.do == "cut" and step.cut == cut.n]
    return "guided saw" in stations[:-1]


def _fence(evidence: Evidence, where: str, blade: Blade) -> Iterator[Fault]:
    """A table saw needs a factory edge of the part along its fence, and saws all that lies in its line."""
    start, end = blade.cut.path
    axis = 0 if same(start[0], end[0]) else 1 if same(start[1], end[1]) else None
    if axis is None:
        yield fault("saw", where, "is oblique, and a table saw cuts parallel to a factory edge")
        return
    sides = (0.0, (evidence.tile.length, evidence.tile.width)[axis])
    reaches = [abs(start[axis] - side) for side in sides if factory_edge(blade.part, axis, side) > FENCE_EDGE]
    if not reaches:
        yield fault("saw", where, f"part {blade.cut.part} has no factory edge left to run along the fence")
    elif exceeds(min(reaches), evidence.limits.widest_rip):
        text = f"is {number(min(reaches))} from the fence; the table saw reaches {number(evidence.limits.widest_rip)}"
        yield fault("saw", where, text)
    if not through(blade.part, blade.cut.path):
        yield fault("saw", where, "stops inside the part, and a table saw cuts all that lies in its line")


def factory_edge(part: Polygon, axis: int, at: float) -> float:
    """How much of a part's boundary lies on a factory side: the one where u (axis 0) or v (axis 1) is `at`."""

    def lies(spot: Spot) -> bool:
        return abs(spot[axis] - at) <= TOLERANCE

    return sum(math.dist(a, b) for a, b in ring_edges(part) if lies(a) and lies(b))


def _through_pieces(worked: Replay, blade: Blade, placed: list[Placed]) -> Iterator[Fault]:
    cut, where = blade.cut, _where(worked, blade)
    line = LineString(_whole_path(cut))
    for piece in placed:
        if overlap(blade.dust, piece.outline):
            yield fault("blade-in-piece", where, f"the blade runs into piece {piece.piece.id}")
        if piece.piece.id == cut.piece:
            shared = piece.outline.boundary.buffer(TOLERANCE).intersection(line).length
            if shared < EDGE_SHARE:
                yield fault("cut-path", where, f"the path is no edge of piece {cut.piece}")
            elif cut.closed and falls_short(shared, line.length - TOLERANCE):
                yield fault("cut-path", where, f"is a ring, and no hole of piece {cut.piece} has that edge")
    if cut.closed and (cut.waste_side == "left") is not LinearRing(cut.path).is_ccw:
        yield fault("cut-path", where, "is a ring around what is kept: its waste lies on the outside")


def _arc(worked: Replay, blade: Blade, placed: list[Placed]) -> Iterator[Fault]:
    """A round notch follows its arc just inside the path, and there, too, the wood keeps its gap from posts."""
    cut, where = blade.cut, _where(worked, blade)
    if cut.arc is None:
        return
    line, centre, radius = LineString(_whole_path(cut)), Point(cut.arc.centre), cut.arc.radius
    past = line.distance(centre) - radius
    if not -TOLERANCE <= past <= ARC_PLAY:
        text = f"is round with a radius of {number(radius)}, and its path comes within {number(radius + past)} of"
        yield fault("arc", where, f"{text} the centre")
        return
    rim = centre.buffer(radius, quad_segs=ARC_CHORDS).exterior.intersection(line.buffer(ARC_PLAY))
    for piece in (piece for piece in placed if piece.piece.id == cut.piece):
        for post in (post for post in piece.area.posts if post.kind == "post"):
            gap = piece.to_layout.shape(rim).distance(polygon(post.outline))
            if falls_short(gap, post.gap[0]):
                text = f"its arc lies {number(gap)} from post {post.name}; at least {number(post.gap[0])} is meant"
                yield fault("post-gap", where, text)
