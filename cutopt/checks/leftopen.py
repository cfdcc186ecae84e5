"""What a cell leaves open must have a reason that can be seen in the plan itself."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from shapely import affinity
from shapely.geometry import Polygon, box
from shapely.geometry.base import BaseGeometry
from shapely.ops import unary_union

from cutopt.checks.dropping import dropped
from cutopt.checks.evidence import Evidence
from cutopt.checks.finding import Fault, fault
from cutopt.checks.ground import Ground, posts_of, squared
from cutopt.checks.makeable import Makeable, hangs_surely, longest, makeable, whole_fragments, widest
from cutopt.checks.shapes import TOLERANCE, Move, common, inside, number, overlap, polygon, polygons, without
from cutopt.planfile.model import Cell, Left, Post

EDGES = {"open_edge": "open", "stone_edge": "stone"}
# carpentry that the check does not plan again: accepted but where a piece can surely be hung
CARPENTRY = (
    "fragment_held",
    "longest_overhang",
    "longest_bay",
    "one_whole",
    "bearing_least",
    "face_past_bearing",
    "wall_face_past_bearing",
    "backer_past_pad",
    "hole_wood",
)
SAWS = ("saws", "jigsaw_reach")
DROPPED = "dropped_gap"
AROUND = "post_gap"
STRAIGHT = 0.98  # of its bounding rectangle: what a post fills that stands along the tiles
INFILL = "infill_least"
SIZES = (INFILL, "thinnest_strip", "thinnest_across", "fragment_least")
RULES = (*EDGES, DROPPED, AROUND, *SIZES, "mark", *SAWS, *CARPENTRY)


@dataclass(frozen=True, kw_only=True, slots=True)
class OpenPart:
    """A connected part of a cell that has to be covered and that no piece covers, in the cell's tile frame.

    `ground` is all the connected ground of the cell that it belongs to, pieces or not; `room` what a piece for that
    ground may take, up to the least gaps; `covered` the cell's pieces.
    """

    region: Polygon
    ground: Polygon
    room: Polygon
    covered: BaseGeometry
    slit: float


def left_open(
    evidence: Evidence, land: Ground, cell: Cell, move: Move, covered: BaseGeometry
) -> Iterator[Fault]:  # fmt: skip
    """Faults of what the cell leaves open. `move` maps its tile frame into the layout, where `covered` is."""
    if not cell.left:
        return
    where = f"{land.area.name} cell ({cell.row}, {cell.col})"
    place = move.region(evidence.rectangle)
    for left in cell.left:
        if left.rule not in RULES:
            yield fault("left-open", where, f"names no known rule: {left.rule!r}")
        if overlap(polygon(left.outline), covered):
            yield fault("left-overlap", where, "lists ground as left open where a piece lies")
        if overlap(without(polygon(left.outline), place.buffer(TOLERANCE)), land.outline):
            yield fault("left-overlap", where, "lists ground as left open beyond its whole tile")
    slit = max(evidence.plan.kerf.values(), default=0.0) if len(cell.pieces) > 1 else 0.0
    for part in _open_parts(evidence, land, move, covered, slit):
        for left in cell.left:
            if left.rule in RULES and overlap(move.back().shape(polygon(left.outline)), part.region):
                yield from _judge(evidence, land, move.back(), where, part, left)


def _open_parts(
    evidence: Evidence, land: Ground, move: Move, wood: BaseGeometry, slit: float
) -> Iterator[OpenPart]:  # fmt: skip
    back = move.back()
    need = common(back.shape(land.need), evidence.rectangle)
    rooms = polygons(common(back.shape(land.room), evidence.rectangle))
    covered = back.shape(wood)
    for ground in polygons(need):
        room = max(rooms, key=lambda room: common(room, ground).area, default=ground)
        for region in polygons(without(ground, covered)):
            yield OpenPart(region=region, ground=ground, room=room, covered=covered, slit=slit)


def _judge(
    evidence: Evidence, land: Ground, back: Move, where: str, part: OpenPart, left: Left
) -> Iterator[Fault]:  # fmt: skip
    if left.rule in EDGES:
        if not _meets_edge(evidence, land, back, EDGES[left.rule]):
            yield fault("left-open", where, f"does not reach over {EDGES[left.rule]} edge, yet is left for {left.rule}")
        return
    if left.rule == DROPPED:
        own, room = polygons(common(part.region, back.shape(polygon(left.outline)))), without(part.room, part.covered)
        moved = [affinity.translate(part.covered, 0, off) for off in (-part.slit, 0.0, part.slit)]
        kept = unary_union(moved)  # past a split in a slat gap the wood begins a kerf away
        for why in (why for region in own for why in dropped(evidence, land, back, region, kept, room)):
            yield fault("left-open", where, f"is left for {DROPPED}, yet {why}")
        return
    if left.rule == AROUND:
        for why in _around_post(evidence, land, back, part, back.shape(polygon(left.outline))):
            yield fault("left-open", where, f"is left for {AROUND}, yet {why}")
        return
    sides = makeable(evidence, part.ground, part.room)
    refuted = _infill(evidence, land, back, part) if left.rule == INFILL else None
    refuted = refuted or _refuted(evidence, part, sides, left.rule)
    if (
        refuted is None
        and left.rule not in SAWS
        and sides is not None
        and (good := hangs_surely(evidence, sides)) is not None
    ):
        refuted = f"a piece of {number(good[0])} x {number(good[1])} with one cut at most can be cut for it"
    if refuted is not None:
        yield fault("left-open", where, f"is left for {left.rule}, yet {refuted}")


def _around_post(
    evidence: Evidence, land: Ground, back: Move, part: OpenPart, left: BaseGeometry
) -> Iterator[str]:  # fmt: skip
    """Why ground is not what a notch with straight sides leaves around a post; nothing where it may be.

    Around one that is round or turned such a side may lie where a fragment was dropped; along another the ground keeps
    the gap, or is no wider than that can play.
    """
    if part.covered.is_empty:
        yield "no wood lies around a post there"
    drop, open_ = evidence.limits.dropped_gap, common(part.region, left)
    squares = []
    for post in posts_of(land.area):
        least, most = post.gap
        narrow = open_.buffer(-(most - least) / 2 - TOLERANCE, join_style="mitre").is_empty
        squares.append(squared(post, max(most, drop) if narrow or not _straight(post) else most))
    if not inside(open_, back.shape(unary_union(squares))):
        yield "it reaches further beyond a square around a post than a straight side may lie from it"


def _straight(post: Post) -> bool:
    """Whether a post's own sides run along the tiles."""
    shape = polygon(post.outline)
    return not post.round and shape.area >= STRAIGHT * box(*shape.bounds).area


def _refuted(evidence: Evidence, part: OpenPart, sides: Makeable | None, rule: str) -> str | None:
    """Why a rule is no reason here; None where it may be one. `sides`: None where the ground is no plain rectangle."""
    limits = evidence.limits
    if rule == "saws" and {"guided_saw", "jigsaw"} <= set(evidence.plan.kerf):
        return "the job has the saws for it"
    if rule == "jigsaw_reach" and not polygons(part.ground.convex_hull.difference(part.ground.buffer(TOLERANCE))):
        return "it has no notch"
    if rule == "thinnest_strip":
        wide = widest(evidence, part.ground, sides)
        return f"a strip of {number(wide)} can be ripped" if wide >= limits.thinnest_strip else None
    if rule == "thinnest_across":
        long = longest(part.ground, sides)
        return f"a piece of {number(long)} can be crosscut" if long >= limits.thinnest_across else None
    if sides is None:
        return None
    large = widest(evidence, part.ground, sides) >= limits.thinnest_strip
    large = large and longest(part.ground, sides) >= limits.thinnest_across
    if rule == "mark" and large and all((sides.low_u, sides.high_u, sides.low_v, sides.high_v)):
        return "a mark lies within the gap at each of its sides"
    if rule == "fragment_least":
        # where it is crosscut as well, sharing may fail for want of room for its screws
        fits = any(high - low >= sides.length - TOLERANCE for low, high in sides.along())
        cuts = (cut for cut in sides.across() if fits and cut[1] - cut[0] >= limits.thinnest_strip)
        good = next((cut for cut in cuts if whole_fragments(evidence, *cut)), None)
        if good is not None:
            cut = f"from {number(good[0])} to {number(good[1])} across"
            return f"cut {cut} no fragment is too narrow, or sharing it with its neighbour makes it wide enough"
    return None


def _infill(evidence: Evidence, land: Ground, back: Move, part: OpenPart) -> str | None:
    """Why ground is not too small for an infill: one is rectangular, along the tiles, and keeps a post's gap."""
    least = evidence.limits.infill_least
    room = without(part.region, back.shape(unary_union([squared(p, p.gap[0]) for p in posts_of(land.area)])))
    if not part.covered.is_empty and not polygons(room.buffer(-least / 2, join_style="mitre")):
        return None
    u0, v0, u1, v1 = part.region.bounds
    return f"{number(u1 - u0)} x {number(v1 - v0)} of it stay open, enough for an infill piece"


def _meets_edge(evidence: Evidence, land: Ground, back: Move, kind: str) -> bool:
    """Whether the cell's whole tile would reach over such an edge."""
    place = evidence.rectangle.buffer(-TOLERANCE)
    return any(edge.kind == kind and back.shape(line).intersects(place) for edge, line in land.limits)
