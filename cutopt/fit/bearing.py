"""What a piece bears on, and whether it can tip."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import shapely

from cutopt.fit.plane import to_stretch
from cutopt.fit.records import Seat, Stand
from cutopt.fit.timber import Timber
from cutopt.geometry import NEAR, FloatPoint, extent, polygons
from cutopt.tile import Point


@dataclass(frozen=True, kw_only=True, slots=True)
class Tipping:
    """The rule on standing that is broken, and the corner of the face that is too far out, if it is that."""

    rule: str
    corner: Point | None = None


Box = tuple[float, float, float, float]  # least u, least v, most u, most v
Patch = tuple[FloatPoint, ...]  # the corners of what a backer bears on


def _quarter(timber: Timber, stand: Stand) -> Box:
    """The quarter of a support's pad under a stand."""
    support = timber.tile.support
    u, v = centre_of(stand, support.pin_offset)
    far_u, far_v = u + stand.toward[0] * support.pad[0] // 2, v + stand.toward[1] * support.pad[1] // 2
    return min(u, far_u), min(v, far_v), max(u, far_u), max(v, far_v)


def centre_of(stand: Stand, pin_offset: int) -> Point:
    """The centre of the support, ticks of the source's tile frame."""
    return stand.hole[0] - stand.toward[0] * pin_offset, stand.hole[1] - stand.toward[1] * pin_offset


def borne(timber: Timber, seat: Seat, stands: Sequence[Stand]) -> tuple[tuple[FloatPoint, ...], str | None]:
    """The corners of all that a backer bears on at its stands, and the rule that it breaks on them by itself."""
    if not stands:
        return (), None
    patches = [_patch(timber, seat, stand) for stand in stands]
    for patch in patches:
        u0, v0, u1, v1 = extent(patch) if patch else (0.0, 0.0, 0.0, 0.0)
        if min(u1 - u0, v1 - v0) < timber.rules.bearing_least - NEAR:
            return (), "bearing_least"
    past = max(min(_past(end, patch) for patch in patches) for end in seat.line)
    fault = "backer_past_pad" if past > timber.rules.backer_past_pad else None
    return tuple(corner for patch in patches for corner in patch), fault


def _past(end: Point, patch: Patch) -> float:
    """How far a backer's end is past a patch that it bears on."""
    u0, v0, u1, v1 = extent(patch)
    return math.hypot(max(u0 - end[0], end[0] - u1, 0), max(v0 - end[1], end[1] - v1, 0))


def _patch(timber: Timber, seat: Seat, stand: Stand) -> Patch:
    """The corners of the patch where a backer bears on its stand's pad; none where it does not.

    The pad is trimmed where it would reach out from under the piece.
    """
    box = _quarter(timber, stand)
    covered = timber.covers(box)
    if covered and not seat.lean:
        half = seat.width / 2
        u0, v0 = max(box[0], seat.u - half), max(box[1], seat.span[0])
        u1, v1 = min(box[2], seat.u + half), min(box[3], seat.span[1])
        return ((u0, v0), (u1, v0), (u1, v1), (u0, v1)) if u0 < u1 and v0 < v1 else ()
    quarter = shapely.box(*box)
    pad = quarter if covered else quarter.intersection(timber.lipped)
    shape = pad.intersection(seat.board)
    return tuple((x, y) for part in polygons(shape) for x, y in part.exterior.coords[:-1])


def overturned(timber: Timber, seats: Sequence[Seat], ring: Sequence[FloatPoint]) -> Tipping | None:
    """The fault of a piece with these backers whose mass is not over the hull that bears it, None where it is."""
    out = _outside(_ways(ring), centre_of_mass(timber, seats))
    return Tipping(rule="face_past_bearing") if out > 0 else None


def too_far_out(timber: Timber, ring: Sequence[FloatPoint]) -> Tipping | None:
    """The corner of the face that is too far outside a hull that bears it, the worst one; None if all are near."""
    rules = timber.rules
    worst, fault, ways = NEAR, None, _ways(ring)
    for corner, at_wall in timber.face:
        most = rules.wall_face_past_bearing if at_wall else rules.face_past_bearing
        past = _outside(ways, corner) - most
        if past > worst:
            worst = past
            fault = Tipping(rule="wall_face_past_bearing" if at_wall else "face_past_bearing", corner=corner)
    return fault


def _ways(ring: Sequence[FloatPoint]) -> list[tuple[float, float, float, float]]:
    """The start of each edge of a ring, and the way to its end."""
    return [(ua, va, ub - ua, vb - va) for (ua, va), (ub, vb) in zip(ring, (*ring[1:], *ring[:1]), strict=True)]


def _outside(ways: Sequence[tuple[float, float, float, float]], at: FloatPoint) -> float:
    """How far a point is outside a convex ring, 0 within it; infinitely far where nothing bears."""
    x, y = at
    nearest = math.inf
    flat = len(ways) < 3
    inside = not flat
    for ua, va, du, dv in ways:
        u, v = x - ua, y - va
        if flat or du * v - dv * u < 0:
            inside = False
            nearest = min(nearest, to_stretch(u, v, du, dv) if du or dv else math.hypot(u, v))
    return 0.0 if inside else nearest


def centre_of_mass(timber: Timber, seats: Sequence[Seat]) -> FloatPoint:
    """Slats and backers are of one wood, so each weighs as its area times its thickness."""
    mass, us, vs = timber.mass
    for seat in seats:
        own = seat.length * seat.width * timber.tile.backer_thickness
        mass, us, vs = mass + own, us + own * seat.u, vs + own * (seat.span[0] + seat.span[1]) / 2
    return us / mass, vs / mass
