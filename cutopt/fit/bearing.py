"""What a piece bears on, and whether it can tip."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import shapely

from cutopt.fit.records import Seat, Stand
from cutopt.fit.timber import Timber
from cutopt.geometry import NEAR, extent, polygons
from cutopt.tile import Point


@dataclass(frozen=True, kw_only=True, slots=True)
class Tipping:
    """The rule on standing that is broken, and the corner of the face that is too far out, if it is that."""

    rule: str
    corner: Point | None = None


Box = tuple[float, float, float, float]  # least u, least v, most u, most v


def pad_of(timber: Timber, stand: Stand) -> shapely.Polygon:
    """The quarter of a support's pad under a stand, trimmed where it would reach out from under the piece."""
    quarter = shapely.box(*_quarter(timber, stand))
    return quarter if timber.lipped.contains(quarter) else quarter.intersection(timber.lipped)


def _quarter(timber: Timber, stand: Stand) -> Box:
    support = timber.tile.support
    u, v = centre_of(stand, support.pin_offset)
    far_u, far_v = u + stand.toward[0] * support.pad[0] // 2, v + stand.toward[1] * support.pad[1] // 2
    return min(u, far_u), min(v, far_v), max(u, far_u), max(v, far_v)


def centre_of(stand: Stand, pin_offset: int) -> Point:
    """The centre of the support, ticks of the source's tile frame."""
    return stand.hole[0] - stand.toward[0] * pin_offset, stand.hole[1] - stand.toward[1] * pin_offset


def tips(timber: Timber, seats: Sequence[Seat], stands: Sequence[Stand]) -> Tipping | None:
    """The fault that a piece on these stands would have, None when it stands."""
    found = _patches(timber, seats, stands)
    if found is None:
        return Tipping(rule="bearing_least")
    for number, seat in enumerate(seats):
        mine = [patch for patch, stand in zip(found, stands, strict=True) if stand.seat == number]
        if mine and max(min(_past(end, patch) for patch in mine) for end in seat.line) > timber.rules.backer_past_pad:
            return Tipping(rule="backer_past_pad")
    hull = shapely.convex_hull(shapely.multipoints([corner for patch in found for corner in patch]))
    if not hull.covers(_centre_of_mass(timber, seats)):
        return Tipping(rule="face_past_bearing")
    corners, sawn = timber.face_corners
    past = shapely.distance(corners, hull)
    rules = timber.rules
    for number, (far, at_wall) in enumerate(zip(past.tolist(), sawn, strict=True)):
        if far > (rules.wall_face_past_bearing if at_wall else rules.face_past_bearing) + NEAR:
            corner = (round(corners[number].x), round(corners[number].y))
            return Tipping(rule="wall_face_past_bearing" if at_wall else "face_past_bearing", corner=corner)
    return None


Patch = tuple[tuple[float, float], ...]  # the corners of what a backer bears on


def _past(end: Point, patch: Patch) -> float:
    """How far a backer's end is past a patch that it bears on."""
    u0, v0, u1, v1 = extent(patch)
    return math.hypot(max(u0 - end[0], end[0] - u1, 0), max(v0 - end[1], end[1] - v1, 0))


def _patches(timber: Timber, seats: Sequence[Seat], stands: Sequence[Stand]) -> list[Patch] | None:
    """Where backers bear on pads, None where one bears on less than it must."""
    least = timber.rules.bearing_least
    found = []
    for stand in stands:
        patch = _patch(timber, seats[stand.seat], stand)
        if not patch:
            return None
        u0, v0, u1, v1 = extent(patch)
        if min(u1 - u0, v1 - v0) < least - NEAR:
            return None
        found.append(patch)
    return found


def _patch(timber: Timber, seat: Seat, stand: Stand) -> Patch:
    """The corners of the patch where a backer bears on its stand's pad; none where it does not."""
    box = _quarter(timber, stand)
    if not seat.lean and timber.covers(box):
        half = seat.width / 2
        u0, v0 = max(box[0], seat.u - half), max(box[1], seat.span[0])
        u1, v1 = min(box[2], seat.u + half), min(box[3], seat.span[1])
        return ((u0, v0), (u1, v0), (u1, v1), (u0, v1)) if u0 < u1 and v0 < v1 else ()
    shape = pad_of(timber, stand).intersection(seat.board)
    return tuple((x, y) for part in polygons(shape) for x, y in part.exterior.coords[:-1])


def _centre_of_mass(timber: Timber, seats: Sequence[Seat]) -> shapely.Point:
    """Slats and backers are of one wood, so each weighs as its area times its thickness."""
    mass, us, vs = timber.mass
    for seat in seats:
        own = seat.length * seat.width * timber.tile.backer_thickness
        mass, us, vs = mass + own, us + own * seat.u, vs + own * (seat.span[0] + seat.span[1]) / 2
    return shapely.Point(us / mass, vs / mass)
