"""Where every support of an area stands: whole where four tiles meet, halved along a wall, quartered in a corner."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import shapely
import shapely.affinity

from cutopt.fit import Stand
from cutopt.fit.standing import centre_of, pad_of
from cutopt.fit.timber import Timber
from cutopt.geometry import NEAR, Ring, polygons, ring_of
from cutopt.hang.records import HungSource, PlacedSupport, SupportShape
from cutopt.lay.laying import Surveyed
from cutopt.lay.records import Layout, Piece, corner_of, to_layout
from cutopt.tile import Point, Tile

LIP = 1  # ticks: pads of one support are joined over cracks of rounding
CRACK = 320  # ticks: quarters trimmed along their tiles' edges still come from one plate
LAPPED = 4 * 320 * 320  # square ticks: pads that overlap less than this only touch


@dataclass(frozen=True, kw_only=True, slots=True)
class Foot:
    """A supported corner in the layout frame: the support's centre, its pin here, the quarter pad and its way."""

    centre: Point
    pin: Point
    toward: tuple[int, int]
    pad: shapely.Polygon


def supports_of(
    area: Surveyed, layout: Layout, sources: Sequence[HungSource], pieces: Sequence[Piece]
) -> tuple[PlacedSupport, ...]:
    """All supports of one area. `pieces` are the job's, as the sources number them."""
    feet = _whole_feet(area, layout) + _piece_feet(area, layout, sources, pieces)
    groups = _grouped(feet, area.job.tile)
    ground = area.ground.outline.difference(area.ground.posts)
    done: list[PlacedSupport] = []
    outlines = [_pads_together(group) for group in groups]
    _part_pads(groups, outlines)
    tree = shapely.STRtree(outlines)
    for number, group in enumerate(groups):
        near = [int(i) for i in tree.query(outlines[number].buffer(max(area.job.tile.support.pad)))]
        others = shapely.union_all([outlines[i] for i in near if i != number])
        done.append(_placed(group, outlines[number], others, ground, area))
    return tuple(done)


def _pads_together(group: list[Foot]) -> shapely.Geometry:
    """The quarters of one support, moved together by the pins' play so that they meet."""
    centre = group[0].centre
    pads = [
        shapely.affinity.translate(foot.pad, centre[0] - foot.centre[0], centre[1] - foot.centre[1]) for foot in group
    ]
    return shapely.union_all(pads).buffer(CRACK, join_style="mitre").buffer(LIP - CRACK, join_style="mitre")


def _part_pads(groups: list[list[Foot]], outlines: list[shapely.Geometry]) -> None:
    """Pads that would lie on one another are cut half-way between their pins."""
    tree = shapely.STRtree(outlines)
    pairs = [(i, int(j)) for i, outline in enumerate(outlines) for j in tree.query(outline) if i < j]
    for i, j in pairs:
        if outlines[i].intersection(outlines[j]).area <= LAPPED:
            continue
        a, b = min(((f.pin, g.pin) for f in groups[i] for g in groups[j]), key=lambda pins: math.dist(pins[0], pins[1]))
        axis = 0 if abs(a[0] - b[0]) > abs(a[1] - b[1]) else 1
        middle, low_first = (a[axis] + b[axis]) / 2, a[axis] < b[axis]
        for number, keep_low in ((i, low_first), (j, not low_first)):
            outlines[number] = _half_plane_cut(outlines[number], axis, middle, keep_low)


def _half_plane_cut(shape: shapely.Geometry, axis: int, at: float, keep_low: bool) -> shapely.Geometry:
    x0, y0, x1, y1 = shape.bounds
    box = [x0, y0, x1, y1]
    box[axis + 2 if keep_low else axis] = at
    return shape.intersection(shapely.box(*box))


def _whole_feet(area: Surveyed, layout: Layout) -> list[Foot]:
    """Every whole tile stands on its four corners."""
    tile = area.job.tile
    feet = []
    middle = (tile.length // 2, tile.width // 2)
    for cell in layout.cells:
        if cell.kind != "whole":
            continue
        corner = corner_of(layout.origin, layout.pitch, cell.row, cell.col)
        for hole in tile.pin_holes:
            toward = (1 if hole.at[0] < middle[0] else -1, 1 if hole.at[1] < middle[1] else -1)
            stand = Stand(seat=0, hole=hole.at, toward=toward, state="kept")
            feet.append(_foot(stand, _quarter(stand, tile), corner, cell.quarter_turn, tile))
    return feet


def _quarter(stand: Stand, tile: Tile) -> shapely.Polygon:
    centre = centre_of(stand, tile.support.pin_offset)
    far = [centre[axis] + stand.toward[axis] * tile.support.pad[axis] // 2 for axis in (0, 1)]
    return shapely.box(min(centre[0], far[0]), min(centre[1], far[1]), max(centre[0], far[0]), max(centre[1], far[1]))


def _piece_feet(area: Surveyed, layout: Layout, sources: Sequence[HungSource], pieces: Sequence[Piece]) -> list[Foot]:
    """The feet of this area's pieces, wherever they were cut from; a piece that is cut often is looked at once."""
    tile = area.job.tile
    size = (tile.length, tile.width)
    feet: list[Foot] = []
    seen: set[int] = set()
    for source in sources:
        for p, number in enumerate(source.tile.pieces):
            piece, place = pieces[number], source.tile.pattern.places[p]
            if piece.area != layout.area or number in seen:
                continue
            seen.add(number)
            corner = corner_of(layout.origin, layout.pitch, piece.row, piece.col)
            turned = area.turned(piece.row, piece.col)
            timber = Timber(tile=tile, rules=area.job.rules, outline=place.shape.outline)
            for stand in source.stands[p]:
                pad = pad_of(timber, stand)
                if place.half_turn:
                    pad = shapely.transform(pad, lambda xy, s=place.shift: [s[0] + size[0], s[1] + size[1]] - xy)
                    stand = _half_turned(stand, place.shift, size)
                else:
                    pad = shapely.transform(pad, lambda xy, s=place.shift: xy - [s[0], s[1]])
                    hole = (stand.hole[0] - place.shift[0], stand.hole[1] - place.shift[1])
                    stand = Stand(seat=stand.seat, hole=hole, toward=stand.toward, state=stand.state)
                feet.append(_foot(stand, pad, corner, turned, tile))
    return feet


def _half_turned(stand: Stand, shift: Point, size: Point) -> Stand:
    """The stand as the piece lies in its cell: the placement undone."""
    hole = (shift[0] + size[0] - stand.hole[0], shift[1] + size[1] - stand.hole[1])
    return Stand(seat=stand.seat, hole=hole, toward=(-stand.toward[0], -stand.toward[1]), state=stand.state)


def _foot(stand: Stand, pad: shapely.Polygon, corner: Point, turned: bool, tile: Tile) -> Foot:
    centre = centre_of(stand, tile.support.pin_offset)
    way = (-stand.toward[1], stand.toward[0]) if turned else stand.toward
    return Foot(
        centre=to_layout(centre, corner, turned, tile.width),
        pin=to_layout(stand.hole, corner, turned, tile.width),
        toward=way,
        pad=shapely.transform(pad, lambda xy: [to_layout((x, y), corner, turned, tile.width) for x, y in xy]),
    )


def _grouped(feet: list[Foot], tile: Tile) -> list[list[Foot]]:
    """Feet whose pins one support can hold: centres within the pins' play, each in a quarter of its own."""
    play = min(hole.diameter for hole in tile.pin_holes) - tile.support.pin
    play //= 2
    groups: dict[tuple[int, int], list[list[Foot]]] = {}
    cell = 4 * max(play, 1)
    for foot in sorted(feet, key=lambda f: (f.centre, f.toward)):
        x, y = foot.centre[0] // cell, foot.centre[1] // cell
        near = [g for dx in (-1, 0, 1) for dy in (-1, 0, 1) for g in groups.get((x + dx, y + dy), [])]
        for group in near:
            close = math.dist(group[0].centre, foot.centre) <= play - LIP
            if close and all(other.toward != foot.toward for other in group):
                group.append(foot)
                break
        else:
            groups.setdefault((x, y), []).append([foot])
    return [group for many in groups.values() for group in many]


def _placed(
    group: list[Foot], outline: shapely.Geometry, others: shapely.Geometry, ground: shapely.Geometry, area: Surveyed
) -> PlacedSupport:
    """The support of a group: whole where nothing is in its way, else just the quarters that are used."""
    support = area.job.tile.support
    centre = group[0].centre
    pins = tuple(
        (centre[0] + foot.toward[0] * support.pin_offset, centre[1] + foot.toward[1] * support.pin_offset)
        for foot in group
    )
    half = (support.pad[0] // 2, support.pad[1] // 2)
    whole = shapely.box(centre[0] - half[0], centre[1] - half[1], centre[0] + half[0], centre[1] + half[1])
    if len(group) > 2 and ground.covers(whole) and others.intersection(whole).area <= LAPPED:
        shape: SupportShape = "whole"
        pad: shapely.Geometry = whole
    else:
        pad = outline.intersection(ground).intersection(whole)
        full = len(group) * half[0] * half[1] - pad.area < NEAR * pad.length
        square = len(group) == 1 or (len(group) == 2 and _beside(group))
        shape = "trimmed" if not (full and square) else "quarter" if len(group) == 1 else "half"
    parts = polygons(pad)
    ring: Ring = ring_of(max(parts, key=lambda p: p.area)) if parts else ()
    return PlacedSupport(
        area=area.index,
        at=centre,
        shape=shape,
        outline=ring,
        pins=pins,
    )


def _beside(group: list[Foot]) -> bool:
    """Whether two feet are neighbours and not across the support from one another."""
    a, b = group[0].toward, group[1].toward
    return (a[0] == b[0]) != (a[1] == b[1])
