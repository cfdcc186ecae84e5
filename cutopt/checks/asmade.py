"""How the uncut tile stands on uncut supports, by its own design. Tile frame, millimetres."""

from __future__ import annotations

import math
from dataclasses import dataclass

import shapely
from shapely.geometry import Point, Polygon, box
from shapely.ops import unary_union

from cutopt.checks.shapes import Spot, board_across, common
from cutopt.planfile.model import Tile, TileHole


@dataclass(frozen=True, kw_only=True, slots=True)
class Stance:
    """`bears`: the least lengths along u and v of what a bored backer has on the pad whose pin it takes; endless where
    there is none. `face_past_bearing`: the most that the face reaches past all that the bored backers have on pads.
    """

    bears: Spot
    face_past_bearing: float


def stance(tile: Tile) -> Stance:
    """Stand the tile on a whole support at each of its pin holes."""
    patches = [patch for hole in tile.pin_holes if not (patch := _patch(tile, hole)).is_empty]
    if not patches:
        return Stance(bears=(math.inf, math.inf), face_past_bearing=0.0)
    hull = unary_union(patches).convex_hull
    sizes = [(u1 - u0, v1 - v0) for u0, v0, u1, v1 in (patch.bounds for patch in patches)]
    face = [Point(u, v) for slat in tile.slats for u in (0.0, tile.length) for v in slat.v]
    return Stance(
        bears=(min(u for u, _ in sizes), min(v for _, v in sizes)),
        face_past_bearing=max(shapely.distance(face, hull).tolist(), default=0.0),
    )


def _patch(tile: Tile, hole: TileHole) -> Polygon:
    """What a hole's backer has on the pad below. The support's centre lies a pin offset outwards from the hole."""
    backer = next((backer for backer in tile.backers if backer.id == hole.backer), None)
    if backer is None:
        return Polygon()
    (along, across), offset = tile.support.pad, tile.support.pin_offset
    u = hole.u + (-offset if hole.u < tile.length / 2 else offset)
    v = hole.v + (-offset if hole.v < tile.width / 2 else offset)
    pad = box(u - along / 2, v - across / 2, u + along / 2, v + across / 2)
    patch = common(board_across(backer.u, backer.v, backer.width), pad)
    return patch if isinstance(patch, Polygon) else Polygon()
