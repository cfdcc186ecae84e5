"""A marked shape → a piece, and what stays open beside it."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from itertools import pairwise

import numpy as np
import shapely

from cutopt.geometry import NEAR, extent, polygon, polygons, ring_of
from cutopt.lay.ground import Upright
from cutopt.lay.marks import Unmarked, slat_gaps
from cutopt.lay.plots import Plot, covers, shorn
from cutopt.lay.records import Left, Piece, Shape, Way
from cutopt.lay.surveyed import Spot, Surveyed
from cutopt.tile import Tile

DROPPED = "a slat fragment too narrow for screws is left out here"
TOO_WIDE = "a slat too small for its screws ends here, and the gap is wider than is allowed for that; {remedy}"
WIDER = "it would do if dropped_gap were {gap} mm"
TOO_FAR = "no gap up to {most} mm would do: leave it open, or try another grid start"
MOST_GAP = 60  # mm: a wider one is no gap beside a wall, but open ground
BESIDE_POST = "beside a post, where the notch around it has straight sides"
STRIDE = 3 * 320  # ticks along a rim between the points whose distance from the walls is measured
CRUMB = 320.0  # square ticks: ground smaller than this is rounding
SPECK = 320 * 320 / 2  # square ticks: half a square millimetre of a cell is not worth a word


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


def joined(pieces: Sequence[Piece], strip: float, left: Sequence[shapely.Polygon] = ()) -> shapely.Geometry:
    """The wood of pieces with what lies between them where it is no wider than `strip`: it counts as covered.

    `left`: ground that is known to stay open; a strip between it and a piece, or two of it, needs no word of its own.
    """
    some = [*(shapely.Polygon(piece.shape.outline, piece.shape.holes) for piece in pieces), *left]
    wood = shapely.union_all(some)
    half = strip / 2 + NEAR if len(some) > 1 else 0.0
    return wood.buffer(half + NEAR, join_style="mitre").buffer(-half, join_style="mitre")


def together(some: Sequence[Way]) -> Way:
    """Ways to fill parts of a cell as one."""
    return Way(pieces=tuple(p for way in some for p in way.pieces), left=tuple(x for way in some for x in way.left))


def bare(shape: Shape, plot: Plot, area: Surveyed) -> tuple[Left, ...]:
    """What a piece leaves open of what must be covered: by a dropped fragment, or beside a round notch's legs."""
    piece = polygon(shape.outline)
    if covers(piece, plot.needed):
        return ()
    open_ = plot.needed.difference(piece.buffer(NEAR))
    if open_.area < CRUMB:
        return ()
    around = squares(plot.uprights, area.job.rules.dropped_gap)
    left: list[Left] = []
    for part in polygons(shorn(open_)):
        if _straight_sided(part, piece, plot) and part.difference(around).area < SPECK:
            left += opened(part, "post_gap", BESIDE_POST, plot.spot)
            continue
        beside = _beside(part, piece, plot, area.job.tile)
        firm = plot.spot.local(area.ground.firm.intersection(plot.spot.box))
        if beside.intersection(shapely.union_all(polygons(firm))).area < SPECK:
            left += opened(part, "dropped_gap", DROPPED, plot.spot)
        else:
            gap = math.ceil(_farthest(beside, plot, area) / 320)
            remedy = WIDER.format(gap=gap) if gap <= MOST_GAP else TOO_FAR.format(most=MOST_GAP)
            left += opened(part, "fragment_least", TOO_WIDE.format(remedy=remedy), plot.spot)
    return tuple(left)


def squares(uprights: Iterable[Upright], drop: float) -> shapely.Geometry:
    """What straight sides of a notch may leave open around posts: up to their most gap, or as far as a dropped slat."""
    found = []
    for one in uprights:
        gap, (u0, v0, u1, v1) = max(one.gap[1], drop) + NEAR, one.outline.bounds
        found.append(shapely.box(u0 - gap, v0 - gap, u1 + gap, v1 + gap))
    return shapely.union_all(found)


def _straight_sided(part: shapely.Polygon, piece: shapely.Polygon, plot: Plot) -> bool:
    """Whether open ground lies by a post that the notch's straight sides do not follow all round.

    Along the sides of a post that stands along the tiles such ground is no wider than the play of its gap.
    """
    near = [one for one in plot.uprights if part.intersects(one.grown(one.gap[1] + 2 * NEAR))]
    if any(one.round_cut for one in near):
        return True
    play = max((one.gap[1] - one.gap[0] for one in near), default=0) / 2
    fine = any(one.turned for one in near) or part.buffer(-play, join_style="mitre").is_empty
    return bool(near) and fine and not _along_slats(part, piece)


def _along_slats(part: shapely.Polygon, piece: shapely.Polygon) -> bool:
    """Whether kept wood runs along open ground in the slats' direction, as where a slat was dropped."""
    rim = piece.exterior.buffer(2 * NEAR)
    return any(
        abs(v1 - v0) < 0.8 * abs(u1 - u0) and rim.intersection(shapely.LineString([(u0, v0), (u1, v1)])).length > 320
        for (u0, v0), (u1, v1) in pairwise(part.exterior.coords)
    )


def _beside(part: shapely.Polygon, piece: shapely.Polygon, plot: Plot, tile: Tile) -> shapely.Geometry:
    """All without wood around a dropped fragment, up to the next slat's edge."""
    between = max((high - low for low, high in slat_gaps(tile)), default=0)
    slats = shapely.union_all([shapely.box(0, slat.v[0], tile.length, slat.v[1]) for slat in tile.slats])
    wood = slats.intersection(piece)
    around = part.buffer(between + NEAR, join_style="mitre").difference(wood)
    # polygons only: overlays of collections that hold lines as well may fail
    return shapely.union_all(polygons(shapely.union_all(polygons(around)).intersection(plot.region)))


def _farthest(region: shapely.Geometry, plot: Plot, area: Surveyed) -> float:
    """How far a region of a cell reaches from walls and posts, ticks."""
    rim = shapely.get_coordinates(shapely.segmentize(region, STRIDE))
    points = shapely.points([plot.spot.abroad((round(u), round(v))) for u, v in rim])
    walls = shapely.union(area.ground.outline.exterior, area.ground.posts)
    return float(np.max(shapely.distance(walls, points), initial=0.0))


def opened(region: shapely.Geometry, rule: str, why: str, spot: Spot) -> tuple[Left, ...]:
    """Parts of a cell that stay open, given in its tile frame."""
    parts = [(ring_of(part), round(2 * part.area)) for part in polygons(shorn(region))]
    return tuple(
        Left(outline=tuple(spot.abroad(p) for p in ring), rule=rule, why=why, area2=twice)
        for ring, twice in parts
        if len(ring) > 2
    )


def worded(left: Sequence[Left]) -> tuple[Left, ...]:
    """Of all that stays open in a cell what is worth a word: without specks that are nothing together."""
    specks, total = set(), 0
    for one in sorted(left, key=lambda x: x.area2):
        total += one.area2
        if total >= 2 * SPECK:
            break
        specks.add(one)
    return tuple(one for one in left if one not in specks)
