"""A marked shape → a piece, and what stays open beside it."""

from __future__ import annotations

from itertools import pairwise

import shapely

from cutopt.geometry import NEAR, area2, extent, polygon, polygons, ring_of
from cutopt.lay.marks import Unmarked
from cutopt.lay.plots import Plot, shorn
from cutopt.lay.records import Left, Piece, Shape
from cutopt.lay.surveyed import Spot, Surveyed
from cutopt.tile import Tile

DROPPED = "a slat fragment too narrow for screws is left out here"
TOO_WIDE = "a slat fragment too narrow for screws is left out here, and the gap is wider than is allowed for that"
BESIDE_POST = "beside a post, where the notch around it has straight sides"
CRUMB = 320.0  # square ticks: ground smaller than this is rounding
SPECK = 320 * 320 / 2  # square ticks: ground smaller than this, half a square millimetre, is not worth a word


def stout(shape: Shape, area: Surveyed) -> None:
    """Refuse a sliver: `Unmarked` with the rule of the thinnest strip."""
    rules = area.job.rules
    u0, v0, u1, v1 = extent(shape.outline)
    if v1 - v0 < rules.thinnest_strip:
        raise Unmarked("thinnest_strip", f"only {(v1 - v0) / 320:.0f} mm wide across the slats")
    if u1 - u0 < rules.thinnest_across:
        raise Unmarked(
            "thinnest_across", f"only {(u1 - u0) / 320:.0f} mm long along the slats, too short for two backers"
        )


def piece_of(shape: Shape, plot: Plot, area: Surveyed) -> Piece:
    """The piece of a shape; its fixed sides and uncertainty follow when all cells are filled."""
    gap = max((upright.gap[0] for upright in plot.uprights), default=0)
    by_post = any(plot.region.distance(upright.outline) <= gap + NEAR for upright in plot.uprights)
    return Piece(
        area=area.index,
        row=plot.spot.row,
        col=plot.spot.col,
        shape=shape,
        fixed=frozenset(),
        scribe=by_post,  # rows move a little until a post's tiles lie
        uncertainty=0,
    )


def bare(shape: Shape, plot: Plot, tile: Tile) -> tuple[Left, ...]:
    """What a piece leaves open of what must be covered: by a dropped fragment, or beside a round notch's legs."""
    piece = polygon(shape.outline)
    open_ = plot.needed.difference(piece.buffer(NEAR))
    if open_.area < CRUMB:
        return ()
    rounds = shapely.union_all([one.grown(one.gap[1] + 2 * NEAR) for one in plot.uprights if one.round_cut])
    left: list[Left] = []
    for part in polygons(shorn(open_)):
        if part.intersects(rounds):
            left += opened(part, "post_gap", BESIDE_POST, plot.spot)
        elif _within_drop(part, piece, plot, tile):
            left += opened(part, "dropped_gap", DROPPED, plot.spot)
        else:
            left += opened(part, "fragment_least", TOO_WIDE, plot.spot)
    return tuple(left)


def _within_drop(part: shapely.Polygon, piece: shapely.Polygon, plot: Plot, tile: Tile) -> bool:
    """Whether all without wood around a dropped fragment, up to the next slat's edge, is near enough to a wall."""
    slats = sorted(slat.v for slat in tile.slats)
    between = max((b[0] - a[1] for a, b in pairwise(slats)), default=0)
    wood = shapely.union_all([shapely.box(0, low, tile.length, high) for low, high in slats]).intersection(piece)
    beside = part.buffer(between + NEAR, join_style="mitre").difference(wood)
    return bool(beside.intersection(plot.firm).intersection(plot.region).area < CRUMB * between)


def opened(region: shapely.Geometry, rule: str, why: str, spot: Spot) -> tuple[Left, ...]:
    """Parts of a cell that stay open, given in its tile frame."""
    parts = [part for part in polygons(shorn(region)) if part.area >= SPECK]
    rings = [tuple(spot.abroad(p) for p in ring_of(part)) for part in parts]
    return tuple(Left(outline=ring, rule=rule, why=why, area2=area2(ring)) for ring in rings)
