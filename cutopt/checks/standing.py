"""Pieces and whole tiles stand: pins in their holes, backers on pads, nobody tips them. Layout frame."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import combinations

import shapely
from shapely.geometry import LineString, Point, Polygon, box
from shapely.geometry.base import BaseGeometry
from shapely.ops import unary_union
from shapely.strtree import STRtree

from cutopt.checks.evidence import Evidence, Placed, cell_to_layout, sawn_edges
from cutopt.checks.finding import Fault, fault
from cutopt.checks.framing import binding_backers
from cutopt.checks.shapes import TOLERANCE, Move, Spot, board, board_across, exceeds, falls_short, number, polygon
from cutopt.lengths import ticks
from cutopt.planfile.model import Area, AreaSupport, Tile

Remark = tuple[str, str]  # a rule, and what is wrong


@dataclass(frozen=True, kw_only=True, slots=True)
class Timber:
    """What stands, in its source's frame: the outline of its face, its backers, those that hold, holes and slats."""

    face: Polygon
    backers: tuple[Polygon, ...]
    all_backers: tuple[Polygon, ...]
    holes: tuple[Spot, ...]
    slats: tuple[Polygon, ...]


@dataclass(frozen=True, kw_only=True, slots=True)
class Standing:
    """A piece or whole tile as it lies: its timber, and where that frame lies."""

    where: str
    timber: Timber
    move: Move


def standing(evidence: Evidence) -> Iterator[Fault]:
    """All faults of what stands on supports. Whole tiles that lie alike on their pads are judged once."""
    for area in evidence.plan.areas:
        supports = [support for support in evidence.plan.supports if support.area == area.name]
        pads = [polygon(support.outline) for support in supports]
        tree = STRtree(pads)
        stood = [*_whole_tiles(evidence, area), *_pieces(evidence, area)]
        yield from _pinned(evidence, area, stood, [pin for support in supports for pin in support.pins])
        judged: dict[tuple[int, frozenset[tuple[int, ...]]], list[Remark]] = {}
        for one in stood:
            near = tree.query(one.move.shape(one.timber.face)).tolist()
            back = one.move.back()
            key = (id(one.timber), frozenset(_in_ticks(back, supports[i]) for i in near))
            if key not in judged:
                judged[key] = list(_stands(evidence, one.timber, [back.shape(pads[i]) for i in near]))
            for rule, text in judged[key]:
                yield fault(rule, one.where, text)


def _in_ticks(back: Move, support: AreaSupport) -> tuple[int, ...]:
    return tuple(ticks(number_) for spot in support.outline for number_ in back.spot(spot))


def _whole_tiles(evidence: Evidence, area: Area) -> Iterator[Standing]:
    tile = evidence.plan.tile
    backers = tuple(board_across(b.u, b.v, b.width) for b in tile.backers)
    timber = Timber(
        face=evidence.rectangle,
        backers=backers,
        all_backers=backers,
        holes=tuple((hole.u, hole.v) for hole in tile.pin_holes),
        slats=tuple(box(0.0, slat.v[0], tile.length, slat.v[1]) for slat in tile.slats),
    )
    for cell in area.cells:
        if cell.kind == "whole":
            yield Standing(
                where=f"whole tile in {area.name} cell ({cell.row}, {cell.col})",
                timber=timber,
                move=cell_to_layout(evidence.plan, area, cell),
            )


def _pieces(evidence: Evidence, area: Area) -> Iterator[Standing]:
    for placed in evidence.placed:
        if placed.area is area:
            yield Standing(where=placed.where, timber=_of_piece(placed), move=placed.to_layout)


def _of_piece(placed: Placed) -> Timber:
    return Timber(
        face=placed.outline,
        backers=tuple(board(backer.line, backer.width) for backer in binding_backers(placed)),
        all_backers=tuple(board(backer.line, backer.width) for backer in placed.backers),
        holes=tuple((hole.u, hole.v) for hole in placed.source.pin_holes if hole.piece == placed.piece.id),
        slats=tuple(piece_board.outline for piece_board in placed.boards),
    )


def _pinned(evidence: Evidence, area: Area, stood: Sequence[Standing], pins: Sequence[Spot]) -> Iterator[Fault]:
    """A pin in each hole, a hole at all, and no pin without one."""
    slack = evidence.tile.hole_slack
    for one in stood:
        if len(one.timber.holes) < 2:
            text = f"has {len(one.timber.holes)} pin holes, so nothing keeps it in its place; 2 are meant"
            yield fault("pins", one.where, text)
    holes = [(one.where, one.move.spot(hole)) for one in stood for hole in one.timber.holes]
    for number_, gap in enumerate(_nearest([at for _, at in holes], pins)):
        if exceeds(min(gap, 1e6), slack):
            where, at = holes[number_]
            text = f"no pin meets its hole at ({number(at[0])}, {number(at[1])}) in the layout"
            yield fault("pins", where, text)
    for pin, gap in zip(pins, _nearest(pins, [at for _, at in holes]), strict=True):
        if exceeds(min(gap, 1e6), slack):
            yield fault("pins", f"pin at ({number(pin[0])}, {number(pin[1])}) in {area.name}", "meets no hole")


def _nearest(spots: Sequence[Spot], others: Sequence[Spot]) -> list[float]:
    """From each spot to the nearest of the others, mm; endless where there are none."""
    if not spots or not others:
        return [math.inf] * len(spots)
    tree = STRtree(shapely.points(others))
    (which, _), far = tree.query_nearest(shapely.points(spots), return_distance=True, all_matches=False)
    found = dict(zip(which.tolist(), far.tolist(), strict=True))
    return [found.get(i, math.inf) for i in range(len(spots))]


def _stands(evidence: Evidence, timber: Timber, pads: Sequence[BaseGeometry]) -> Iterator[Remark]:
    """Centre of mass over the bearing, faces not far outside it, backers not far past their last pad."""
    limits, least = evidence.limits, _least_bearing(evidence)
    bearing: list[BaseGeometry] = []
    for backer in timber.backers:
        patches = [patch for patch in (backer.intersection(pad) for pad in pads) if _bears(patch, least)]
        bearing.extend(patches)
        yield from _past_pad(evidence, backer, patches)
    yield from _over_pads(evidence, timber, pads, bearing)
    hull = unary_union(bearing).convex_hull
    if not isinstance(hull, Polygon) or hull.is_empty:
        yield "standing", "rests on no support"
        return
    if not hull.buffer(TOLERANCE).covers(centre_of_mass(evidence.plan.tile, timber)):
        yield "standing", "tips: its centre of mass is outside what it rests on"
    corners = list(_corners(evidence, timber))
    gaps = shapely.distance(shapely.points([spot for spot, _ in corners]), hull).tolist() if corners else []
    for (spot, sawn), past in zip(corners, gaps, strict=True):
        rule = limits.wall_face_past_bearing if sawn else limits.face_past_bearing
        most = max(rule, evidence.tile.face_past_bearing)
        if exceeds(past, most):
            at = f"({number(spot[0])}, {number(spot[1])})"
            text = f"its face at {at} on the source is {number(past)} outside what it rests on; at most {number(most)}"
            yield "face-past-bearing", text


def centre_of_mass(tile: Tile, timber: Timber) -> Point:
    """Over slats and backers, each with the mass of its area, thickness and density; screws weigh next to nothing."""
    boards = [(slat, tile.slat_thickness) for slat in timber.slats]
    boards += [(backer, tile.backer_thickness) for backer in timber.all_backers]
    masses = [(shape.centroid, shape.area * thick * tile.density) for shape, thick in boards if not shape.is_empty]
    total = sum(mass for _, mass in masses)
    if total <= 0:  # a tile of no density is no reason to tip
        return Point(timber.face.centroid)
    return Point(sum(at.x * mass for at, mass in masses) / total, sum(at.y * mass for at, mass in masses) / total)


def _over_pads(
    evidence: Evidence, timber: Timber, pads: Sequence[BaseGeometry], bearing: Sequence[BaseGeometry]
) -> Iterator[Remark]:  # fmt: skip
    """At each hole a backer lies on the pad whose pin it takes."""
    for hole in timber.holes:
        under = [pad for pad in pads if pad.dwithin(Point(hole), evidence.tile.hole_slack)]
        if under and not any(patch.intersects(pad) for patch in bearing for pad in under):
            at = f"({number(hole[0])}, {number(hole[1])})"
            along, across = (number(length) for length in _least_bearing(evidence))
            text = f"no backer bears {along} along and {across} across on the pad under its hole at {at} on the source"
            yield "bearing", text


def _corners(evidence: Evidence, timber: Timber) -> Iterator[tuple[Spot, bool]]:
    """The corners of the walking face, and whether each is at a sawn edge of the piece, and so at a wall or post.

    A cut may run in the gap between two slats: the slat before it is at the wall then with its own long edge.
    """
    sawn = unary_union([LineString(edge) for edge in sawn_edges(evidence.tile, timber.face)])
    for slat in timber.slats:
        ring = [(float(x), float(y)) for x, y in slat.exterior.coords[:-1]]
        near = shapely.dwithin(shapely.points(ring), sawn, evidence.tile.slat_gap + TOLERANCE).tolist()
        yield from zip(ring, near, strict=True)


def _least_bearing(evidence: Evidence) -> Spot:
    """Along and across: the rule's length, or what the uncut tile has on its supports."""
    along, across = evidence.tile.bears
    return (min(evidence.limits.bearing_least, along), min(evidence.limits.bearing_least, across))


def _bears(patch: BaseGeometry, least: Spot) -> bool:
    if not isinstance(patch, Polygon) or patch.is_empty:
        return False
    u0, v0, u1, v1 = patch.bounds
    return not falls_short(u1 - u0, least[0]) and not falls_short(v1 - v0, least[1])


def _past_pad(evidence: Evidence, backer: Polygon, patches: Sequence[BaseGeometry]) -> Iterator[Remark]:
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
            yield "backer-past-pad", f"a backer ends {number(past)} past its last pad; at most {number(most)}"
