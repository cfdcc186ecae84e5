"""Pieces and whole tiles stand: pins in their holes, backers on pads, nobody tips them. Layout frame."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import combinations

from shapely.geometry import MultiPoint, Point, Polygon, box
from shapely.geometry.base import BaseGeometry
from shapely.ops import unary_union
from shapely.strtree import STRtree

from cutopt.checks.evidence import Evidence, Placed, cell_to_layout, factory
from cutopt.checks.finding import Fault, fault
from cutopt.checks.framing import binding_backers
from cutopt.checks.shapes import (
    TOLERANCE,
    Move,
    Spot,
    board,
    exceeds,
    falls_short,
    inside,
    number,
    overlap,
    polygon,
    same,
)
from cutopt.planfile.model import Area, AreaSupport

SHARES = {"whole": 1.0, "half": 0.5, "quarter": 0.25}
SHARE_PLAY = 0.15  # of a pad: what the saw takes when a support is halved or quartered


@dataclass(frozen=True, kw_only=True, slots=True)
class Standing:
    """A piece or whole tile as it lies: its hardware in the source's frame, and where that frame lies."""

    where: str
    face: Polygon
    backers: tuple[Polygon, ...]
    holes: tuple[Spot, ...]
    slats: tuple[Polygon, ...]
    move: Move


def standing(evidence: Evidence) -> Iterator[Fault]:
    """All faults of supports and of what stands on them."""
    for area in evidence.plan.areas:
        supports = [support for support in evidence.plan.supports if support.area == area.name]
        for support in supports:
            yield from _support(evidence, area, support)
        yield from _pads_apart(area, supports)
        pads = [polygon(support.outline) for support in supports]
        tree = STRtree(pads) if pads else None
        pins = [pin for support in supports for pin in support.pins]
        for stood in [*_whole_tiles(evidence, area), *_pieces(evidence, area)]:
            near = [pads[i] for i in tree.query(stood.move.shape(stood.face))] if tree is not None else []
            yield from _pinned(evidence, stood, pins)
            yield from _stands(evidence, stood, near)


def _support(evidence: Evidence, area: Area, support: AreaSupport) -> Iterator[Fault]:
    """The pad has its shape, stays in the area and out of posts, and its pins are where they are made."""
    where = f"support at ({number(support.at[0])}, {number(support.at[1])}) in {area.name}"
    part = evidence.plan.tile.support
    pad = polygon(support.outline)
    (x, y), (w, h) = support.at, part.pad
    whole = unary_union([box(x - a / 2, y - b / 2, x + a / 2, y + b / 2) for a, b in ((w, h), (h, w))])
    if not inside(pad, whole):
        yield fault("support-shape", where, "its pad is larger than the support is made")
    share = pad.area / (w * h) if w * h else 0.0
    if support.shape in SHARES and abs(share - SHARES[support.shape]) > SHARE_PLAY * SHARES[support.shape]:
        yield fault("support-shape", where, f"is {support.shape} and its pad is {share:.0%} of a whole one")
    if not inside(pad, polygon(area.outline)):
        yield fault("support-outside", where, f"its pad reaches beyond the outline of {area.name}")
    for post in area.posts:
        if post.kind == "post" and overlap(pad, polygon(post.outline)):
            yield fault("support-outside", where, f"its pad reaches into post {post.name}")
    for pin in support.pins:
        if not all(same(abs(a - b), part.pin_offset) for a, b in zip(pin, support.at, strict=True)):
            yield fault("support-pin", where, f"has no pin at ({number(pin[0])}, {number(pin[1])})")
        elif not pad.covers(Point(pin)) or falls_short(pad.exterior.distance(Point(pin)), evidence.limits.pad_past_pin):
            yield fault(
                "support-pin", where, f"its pad is cut too near to the pin at ({number(pin[0])}, {number(pin[1])})"
            )


def _pads_apart(area: Area, supports: Sequence[AreaSupport]) -> Iterator[Fault]:
    pads = [polygon(support.outline) for support in supports]
    tree = STRtree(pads) if pads else None
    for number_, pad in enumerate(pads):
        for other in tree.query(pad) if tree is not None else ():
            if other > number_ and overlap(pad, pads[other]):
                a, b = supports[number_].at, supports[other].at
                yield fault(
                    "support-outside", f"support at {a} in {area.name}", f"its pad lies on that of the one at {b}"
                )


def _whole_tiles(evidence: Evidence, area: Area) -> Iterator[Standing]:
    tile = evidence.plan.tile
    for cell in area.cells:
        if cell.kind == "whole":
            yield Standing(
                where=f"whole tile in {area.name} cell ({cell.row}, {cell.col})",
                face=evidence.rectangle,
                backers=tuple(board([(b.u, b.v[0]), (b.u, b.v[1])], b.width) for b in tile.backers),
                holes=tuple((hole.u, hole.v) for hole in tile.pin_holes),
                slats=tuple(box(0.0, slat.v[0], tile.length, slat.v[1]) for slat in tile.slats),
                move=cell_to_layout(evidence.plan, area, cell),
            )


def _pieces(evidence: Evidence, area: Area) -> Iterator[Standing]:
    for placed in evidence.placed:
        if placed.area is area:
            yield _of_piece(placed)


def _of_piece(placed: Placed) -> Standing:
    return Standing(
        where=placed.where,
        face=placed.outline,
        backers=tuple(board(backer.line, backer.width) for backer in binding_backers(placed)),
        holes=tuple((hole.u, hole.v) for hole in placed.source.pin_holes if hole.piece == placed.piece.id),
        slats=tuple(piece_board.outline for piece_board in placed.boards),
        move=placed.to_layout,
    )


def _pinned(evidence: Evidence, stood: Standing, pins: Sequence[Spot]) -> Iterator[Fault]:
    """A pin in each hole, and a hole at all."""
    if not stood.holes:
        yield fault("pins", stood.where, "has no pin hole, so nothing keeps it in its place")
    for hole in stood.holes:
        at = stood.move.spot(hole)
        gap = min((math.dist(at, pin) for pin in pins), default=float("inf"))
        if exceeds(gap, evidence.tile.hole_slack) if math.isfinite(gap) else True:
            text = f"no pin meets its hole at ({number(at[0])}, {number(at[1])}) in the layout"
            yield fault("pins", stood.where, text)


def _stands(evidence: Evidence, stood: Standing, pads: Sequence[Polygon]) -> Iterator[Fault]:
    """Centre of mass over the bearing, faces not far outside it, backers not far past their last pad."""
    limits, back = evidence.limits, stood.move.back()
    mine = [back.shape(pad) for pad in pads]
    bearing: list[BaseGeometry] = []
    for backer in stood.backers:
        patches = [patch for patch in (backer.intersection(pad) for pad in mine) if _bears(patch, limits.bearing_least)]
        bearing.extend(patches)
        yield from _past_pad(evidence, stood, backer, patches)
    hull = unary_union(bearing).convex_hull
    if not isinstance(hull, Polygon) or hull.is_empty:
        yield fault("standing", stood.where, "rests on no support")
        return
    slats = unary_union(stood.slats)
    if not hull.buffer(TOLERANCE).covers(slats.centroid):
        yield fault("standing", stood.where, "tips: its centre of mass is outside what it rests on")
    for a, b, c in _corners(stood.slats):
        sawn = not (_own(evidence, stood, a, b) and _own(evidence, stood, b, c))
        most = limits.wall_face_past_bearing if sawn else limits.face_past_bearing
        past = Point(b).distance(hull)
        if exceeds(past, most):
            text = (
                f"its face at ({number(b[0])}, {number(b[1])}) on the source is {number(past)} outside what it rests on"
            )
            yield fault("face-past-bearing", stood.where, f"{text}; at most {number(most)}")


def _own(evidence: Evidence, stood: Standing, a: Spot, b: Spot) -> bool:
    """Whether a slat's edge is as made: on the tile's side, or a long edge inside the piece."""
    along_cut = stood.face.exterior.buffer(TOLERANCE).covers(MultiPoint([a, b]))
    return factory(evidence.tile, a, b) or not along_cut


def _corners(slats: Sequence[Polygon]) -> Iterator[tuple[Spot, Spot, Spot]]:
    for slat in slats:
        ring = [(float(x), float(y)) for x, y in slat.exterior.coords[:-1]]
        for number_, spot in enumerate(ring):
            yield ring[number_ - 1], spot, ring[(number_ + 1) % len(ring)]


def _bears(patch: BaseGeometry, least: float) -> bool:
    if not isinstance(patch, Polygon) or patch.is_empty:
        return False
    u0, v0, u1, v1 = patch.bounds
    return not falls_short(u1 - u0, least) and not falls_short(v1 - v0, least)


def _past_pad(
    evidence: Evidence, stood: Standing, backer: Polygon, patches: Sequence[BaseGeometry]
) -> Iterator[Fault]:  # fmt: skip
    if not patches or backer.is_empty:
        return
    most = evidence.limits.backer_past_pad
    ends = [(float(x), float(y)) for x, y in backer.exterior.coords[:-1]]
    pairs = [(math.dist(a, b), a, b) for a, b in combinations(ends, 2)]
    short = sorted(pairs)[:2] if len(pairs) == 6 else []
    for _, a, b in short:
        middle = Point((a[0] + b[0]) / 2, (a[1] + b[1]) / 2)
        past = min(middle.distance(patch) for patch in patches)
        if exceeds(past, most):
            text = f"a backer ends {number(past)} past its last pad; at most {number(most)}"
            yield fault("backer-past-pad", stood.where, text)
