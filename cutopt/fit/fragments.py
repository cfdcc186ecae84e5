"""The fragments that cuts leave of a tile's slats."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import shapely

from cutopt.fit.outlined import Outlined
from cutopt.fit.plane import around
from cutopt.fit.records import Fragment
from cutopt.geometry import NEAR, Ring, area2, from_lowest, polygons, ring_of, snapped
from cutopt.tile import Slat

Rings = tuple[Ring, tuple[Ring, ...]]  # an outline, and the holes in it


def fragments_of(piece: Outlined, slats: Sequence[Slat], made: Sequence[Slat]) -> tuple[Fragment, ...]:
    """The fragments of a piece, slat by slat. `slats` lie as they do in the piece, `made` as in the tile."""
    return tuple(
        Fragment(slat=slat.id, outline=outline, holes=holes, shared=slat not in made)
        for slat, rings in (_clipped if piece.rectangular else _sawn)(piece, slats)
        for outline, holes in rings
    )


def _clipped(piece: Outlined, slats: Sequence[Slat]) -> Iterator[tuple[Slat, list[Rings]]]:
    """What a rectangle leaves."""
    u0, v0, u1, v1 = piece.extent
    for slat in slats:
        low, high = max(slat.v[0], v0), min(slat.v[1], v1)
        # as thick as a polygon must be to count
        if high > low and (u1 - u0) * (high - low) > 2 * NEAR * (u1 - u0 + high - low):
            yield slat, [(((u0, low), (u1, low), (u1, high), (u0, high)), ())]


def _sawn(piece: Outlined, slats: Sequence[Slat]) -> Iterator[tuple[Slat, list[Rings]]]:
    """What any other piece leaves; shapely is asked only for slats in which some edge ends."""
    u0, _, u1, _ = piece.extent
    ends = {v for edge in piece.rim for _, v in edge}
    inner = [slat for slat in slats if any(slat.v[0] < v < slat.v[1] for v in ends)]
    boxes = [shapely.box(u0 - 1, slat.v[0], u1 + 1, slat.v[1]) for slat in inner]
    parts = dict(zip(inner, shapely.intersection(piece.polygon, boxes).tolist() if inner else (), strict=True))
    for slat in slats:
        yield slat, [*map(_rings, polygons(parts[slat]))] if slat in parts else _passing(piece, slat)


def _rings(part: shapely.Polygon) -> Rings:
    return ring_of(part), tuple(ring_of(shapely.Polygon(hole)) for hole in part.interiors)


def _passing(piece: Outlined, slat: Slat) -> list[Rings]:
    """The fragments of a slat in which no edge ends: each lies between two edges that pass across it."""
    low, high = slat.v
    us = []
    for (ua, va), (ub, vb) in piece.rim:
        if min(va, vb) <= low and max(va, vb) >= high:
            us.append(tuple(ua + (ub - ua) * (v - va) / (vb - va) for v in slat.v))
    us.sort(key=sum)
    corners = [((a, low), (c, low), (d, high), (b, high)) for (a, b), (c, d) in zip(us[::2], us[1::2], strict=True)]
    rings = [snapped(some) for some in corners]
    wide = [ring for ring in rings if len(ring) > 2 and area2(ring) > 2 * NEAR * around(ring)]
    return [(from_lowest(ring), ()) for ring in wide]
