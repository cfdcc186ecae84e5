"""Where every support of an area stands: whole where four tiles meet, halved along a wall, quartered in a corner."""

from __future__ import annotations

from collections.abc import Callable, Sequence

import shapely

from cutopt.cut.holding import board_of
from cutopt.fit import Stand
from cutopt.fit.bearing import centre_of
from cutopt.geometry import ring_of
from cutopt.hang.pads import Foot, cut_around, pads_of, parties_of, parts_of, shape_of
from cutopt.hang.records import HungSource, PlacedSupport
from cutopt.lay.laying import Surveyed
from cutopt.lay.records import Layout, Piece, corner_of, to_layout
from cutopt.tile import Point, Tile


def supports_of(
    area: Surveyed, layout: Layout, sources: Sequence[HungSource], pieces: Sequence[Piece]
) -> tuple[PlacedSupport, ...]:
    """All supports of one area, row by row. `pieces` are the job's, as the sources number them.

    A support that a post parts is listed as the parts that have pins, at the same place.
    """
    tile, rules = area.job.tile, area.job.rules
    feet = _whole_feet(area, layout) + _piece_feet(area, layout, sources, pieces)
    parties = parties_of(feet, tile)
    pads = pads_of(parties, sill_of(area, layout), tile, rules)
    posts = _posts_and_gaps(area)
    meat = tile.support.pin // 2 + rules.pad_past_pin
    parts = [
        part
        for party, pad in zip(parties, pads, strict=True)
        for part in parts_of(party, cut_around(party, pad, posts, meat), rules.pad_past_pin)
    ]
    placed = [
        PlacedSupport(
            area=area.index,
            at=party.centre,
            shape=shape_of(party, plate),
            outline=ring_of(plate),
            pins=party.pins,
        )
        for party, plate in parts
    ]
    return tuple(sorted(placed, key=lambda support: (support.at[1], support.at[0], support.pins)))


def sill_of(area: Surveyed, layout: Layout) -> shapely.Geometry:
    """The ground under the wood of an area and under its joints, prepared."""
    tile = area.job.tile
    (sx, sy), (px, py) = area.cell_size, layout.pitch
    faces = [
        shapely.box(x, y, x + sx, y + sy)
        for cell in layout.cells
        if cell.kind == "whole"
        for x, y in [corner_of(layout.origin, layout.pitch, cell.row, cell.col)]
    ]
    for piece in layout.pieces:
        seen = _to_layout(area, layout, piece)
        faces.append(seen(shapely.Polygon(piece.shape.outline, piece.shape.holes)))
    wood = shapely.union_all(faces)
    play = min(hole.diameter for hole in tile.pin_holes) - tile.support.pin
    joint = max(px - sx, py - sy, 0) + play
    sill = wood.buffer(joint / 2, join_style="mitre").buffer(-joint / 2, join_style="mitre").union(wood)
    sill = sill.intersection(area.ground.outline).difference(area.ground.posts)
    shapely.prepare(sill)
    return sill


def _posts_and_gaps(area: Surveyed) -> shapely.Geometry:
    """Where no wood may lie around posts."""
    return area.ground.outline.difference(area.ground.allowed).union(area.ground.posts)


def _to_layout(area: Surveyed, layout: Layout, piece: Piece) -> Callable[[shapely.Geometry], shapely.Geometry]:
    """How a shape in the tile frame of the piece's cell is seen in the layout frame."""
    corner = corner_of(layout.origin, layout.pitch, piece.row, piece.col)
    return _from_cell(corner, area.turned(piece.row, piece.col), area.job.tile)


def _from_cell(corner: Point, turned: bool, tile: Tile) -> Callable[[shapely.Geometry], shapely.Geometry]:
    def seen(shape: shapely.Geometry) -> shapely.Geometry:
        return shapely.transform(shape, lambda xy: [to_layout((x, y), corner, turned, tile.width) for x, y in xy])

    return seen


def _whole_feet(area: Surveyed, layout: Layout) -> list[Foot]:
    """Every whole tile stands on its four corners."""
    tile = area.job.tile
    boards = {backer.id: board_of(backer) for backer in tile.backers}
    feet = []
    middle = (tile.length // 2, tile.width // 2)
    for cell in layout.cells:
        if cell.kind != "whole":
            continue
        corner = corner_of(layout.origin, layout.pitch, cell.row, cell.col)
        for hole in tile.pin_holes:
            toward = (1 if hole.at[0] < middle[0] else -1, 1 if hole.at[1] < middle[1] else -1)
            stand = Stand(seat=0, hole=hole.at, toward=toward, state="kept")
            feet.append(_foot(stand, boards[hole.backer], corner, cell.quarter_turn, tile))
    return feet


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
            for stand in source.stands[p]:
                board = place.fit.seats[stand.seat].board
                back = _placement_undone(place.half_turn, place.shift, size)
                stand, board = back(stand, board)
                feet.append(_foot(stand, board, corner, turned, tile))
    return feet


def _placement_undone(
    half_turn: bool, shift: Point, size: Point
) -> Callable[[Stand, shapely.Polygon], tuple[Stand, shapely.Polygon]]:
    """From the source's frame to the one of the piece's cell, for a stand and its backer."""
    way = -1 if half_turn else 1
    origin = (shift[0] + size[0], shift[1] + size[1]) if half_turn else shift

    def back(stand: Stand, board: shapely.Polygon) -> tuple[Stand, shapely.Polygon]:
        hole = (way * (stand.hole[0] - origin[0]), way * (stand.hole[1] - origin[1]))
        toward = (way * stand.toward[0], way * stand.toward[1])
        lain = shapely.transform(board, lambda xy: way * (xy - origin))
        return Stand(seat=stand.seat, hole=hole, toward=toward, state=stand.state), lain

    return back


def _foot(stand: Stand, board: shapely.Polygon, corner: Point, turned: bool, tile: Tile) -> Foot:
    way = (-stand.toward[1], stand.toward[0]) if turned else stand.toward
    return Foot(
        centre=to_layout(centre_of(stand, tile.support.pin_offset), corner, turned, tile.width),
        pin=to_layout(stand.hole, corner, turned, tile.width),
        toward=way,
        turned=turned,
        board=_from_cell(corner, turned, tile)(board),
    )
