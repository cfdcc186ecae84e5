"""What a cell leaves open must have a reason that can be seen in the plan itself."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import pairwise, product

from shapely.geometry import Polygon, box
from shapely.ops import unary_union

from cutopt.checks.evidence import Evidence
from cutopt.checks.finding import Fault, fault
from cutopt.checks.ground import Ground
from cutopt.checks.shapes import (
    TOLERANCE,
    Move,
    falls_short,
    inside,
    number,
    overlap,
    polygon,
    polygons,
)
from cutopt.planfile.model import Cell, Left

EDGES = {"open_edge": "open", "stone_edge": "stone"}
# carpentry that the check accepts for tapered and notched ground, where it does not plan the work again
CARPENTRY = ("fragment_least", "longest_overhang", "face_past_bearing", "longest_bay", "bearing", "mark")
RULES = (*EDGES, "thinnest_strip", "thinnest_across", *CARPENTRY, "not_yet_planned")


@dataclass(frozen=True, kw_only=True, slots=True)
class OpenPart:
    """A connected part of a cell that has to be covered and that no piece covers, in the cell's tile frame.

    `ground` is all the connected ground of the cell that it belongs to, pieces or not.
    """

    region: Polygon
    ground: Polygon


def left_open(
    evidence: Evidence, land: Ground, cell: Cell, move: Move, shapes: list[Polygon]
) -> Iterator[Fault]:  # fmt: skip
    """Faults of what the cell leaves open. `move` maps its tile frame into the layout, where `shapes` lie."""
    where = f"{land.area.name} cell ({cell.row}, {cell.col})"
    back = move.back()
    for left in cell.left:
        if left.rule not in RULES:
            yield fault("left-open", where, f"names no known rule: {left.rule!r}")
        if any(overlap(polygon(left.outline), shape) for shape in shapes):
            yield fault("left-overlap", where, "lists ground as left open where a piece lies")
    need = back.shape(land.need).intersection(evidence.rectangle)
    covered = unary_union([back.shape(shape) for shape in shapes])
    for ground in polygons(need):
        for region in polygons(ground.difference(covered)):
            part = OpenPart(region=region, ground=ground)
            for left in cell.left:
                if left.rule in RULES and overlap(back.shape(polygon(left.outline)), region):
                    yield from _judge(evidence, land, back, where, part, left)


def _judge(
    evidence: Evidence, land: Ground, back: Move, where: str, part: OpenPart, left: Left
) -> Iterator[Fault]:  # fmt: skip
    if left.rule in EDGES:
        if not _meets_edge(evidence, land, back, EDGES[left.rule]):
            yield fault("left-open", where, f"does not reach over {EDGES[left.rule]} edge, yet is left for {left.rule}")
        return
    good = _good_rectangle(evidence, land, back, part.ground)
    if good:
        text = f"is left for {left.rule}, yet a piece of {number(good[0])} x {number(good[1])} can be cut for it"
        yield fault("left-open", where, text)
        return
    u0, v0, u1, v1 = part.region.bounds
    limits = evidence.limits
    if left.rule == "thinnest_strip" and v1 - v0 >= limits.thinnest_strip:
        yield fault("left-open", where, f"is {number(v1 - v0)} across the slats, no thinner than thinnest_strip")
    if left.rule == "thinnest_across" and u1 - u0 >= limits.thinnest_across:
        yield fault("left-open", where, f"is {number(u1 - u0)} along the slats, no shorter than thinnest_across")
    if left.rule == "not_yet_planned" and not _hard(land, back, part.ground):
        text = "is left as not yet planned; it is convex or plainly notched, and no round or enclosed post is near"
        yield fault("left-open", where, text)


def _meets_edge(evidence: Evidence, land: Ground, back: Move, kind: str) -> bool:
    """Whether the cell's whole tile would reach over such an edge."""
    place = evidence.rectangle.buffer(-TOLERANCE)
    return any(edge.kind == kind and back.shape(line).intersects(place) for edge, line in land.limits)


def _hard(land: Ground, back: Move, ground: Polygon) -> bool:
    """Whether ground may wait: around a post, near a round one, or with an oblique or many-cornered notch."""
    if ground.interiors or back.shape(land.round_posts).buffer(1.0).intersects(ground):
        return True
    shape = ground.simplify(TOLERANCE)
    hollow = polygons(shape.convex_hull.difference(shape))
    if not hollow:
        return False
    corners = list(shape.exterior.coords)
    plain = all(min(abs(a[0] - b[0]), abs(a[1] - b[1])) <= TOLERANCE for a, b in pairwise(corners))
    return not (plain and len(hollow) == 1)


def _good_rectangle(evidence: Evidence, land: Ground, back: Move, ground: Polygon) -> tuple[float, float] | None:
    """The size of a rectangle that covers the ground, keeps the gaps, is thick enough and leaves no thin fragment.

    None where there is no such rectangle on the operator's marks: then the ground is tapered, notched or thin.
    """
    need = ground.bounds
    room = back.shape(land.room).intersection(evidence.rectangle)
    if not inside(box(*need), room):
        return None
    u_sides = _sides(evidence, (need[0], need[2]), evidence.tile.length)[:2]
    v_sides = _sides(evidence, (need[1], need[3]), evidence.tile.width)
    for (u0, u1), (v0, v1) in product(u_sides, v_sides):
        thin = v1 - v0 < evidence.tile.width and v1 - v0 < evidence.limits.thinnest_strip
        short = u1 - u0 < evidence.tile.length and u1 - u0 < evidence.limits.thinnest_across
        if not thin and not short and _fragments_good(evidence, v0, v1) and inside(box(u0, v0, u1, v1), room):
            return (u1 - u0, v1 - v0)
    return None


def _sides(evidence: Evidence, need: tuple[float, float], size: float) -> list[tuple[float, float]]:
    """Pairs of cuts on marks, measured from either side of the tile, that cover `need`; most 20 mm beyond it."""
    mark = evidence.plan.job.mark
    low, high = need

    def marks(at: float, towards: float) -> list[float]:
        count = min(20, int(20 / mark)) if mark > 0 else 0
        down = towards < 0
        firsts = (
            (math.floor(at / mark) * mark, size - math.ceil((size - at) / mark) * mark)
            if down
            else (math.ceil(at / mark) * mark, size - math.floor((size - at) / mark) * mark)
        )
        spots = {round(first + towards * mark * step, 6) for first in firsts for step in range(count)}
        return sorted((spot for spot in spots if 0 <= spot <= size), key=lambda spot: abs(spot - at))

    lows = [0.0] if low <= TOLERANCE else marks(low, -1)
    highs = [size] if high >= size - TOLERANCE else marks(high, 1)
    return list(product(lows, highs))


def _fragments_good(evidence: Evidence, v0: float, v1: float) -> bool:
    """Whether cutting between v0 and v1 leaves no slat fragment narrower than the least."""
    widths = [min(slat.v[1], v1) - max(slat.v[0], v0) for slat in evidence.plan.tile.slats]
    return all(width <= TOLERANCE or not falls_short(width, evidence.limits.fragment_least) for width in widths)
