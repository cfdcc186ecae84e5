"""Where every support of an area stands: whole where four tiles meet, halved along a wall, quartered in a corner."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np
import shapely

from cutopt.cut import Place
from cutopt.cut.holding import board_of
from cutopt.fit import Stand
from cutopt.fit.bearing import centre_of
from cutopt.fit.timber import Timber
from cutopt.hang.feet import Face, Foot, parties_of
from cutopt.hang.pads import cut_around, outline_of, pads_of, parts_of, shape_of
from cutopt.hang.records import HungSource, PlacedSupport
from cutopt.job.records import Job
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
            outline=outline_of(party, plate),
            pins=party.pins,
        )
        for party, plate in parts
    ]
    return tuple(sorted(placed, key=lambda support: (support.at[1], support.at[0], support.pins)))


def sill_of(area: Surveyed, layout: Layout) -> shapely.Geometry:
    """The ground under the wood of an area and under its joints, prepared."""
    tile = area.job.tile
    (sx, sy), (px, py) = area.cell_size, layout.pitch
    faces = []
    for row, first, last in _whole_runs(layout):
        (x0, y), (x1, _) = (corner_of(layout.origin, layout.pitch, row, col) for col in (first, last))
        faces.append(shapely.box(x0, y, x1 + sx, y + sy))
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


def _whole_runs(layout: Layout) -> Iterator[tuple[int, int, int]]:
    """Whole tiles beside each other in a row: the row, the first column and the last."""
    run: tuple[int, int, int] | None = None
    for row, col in sorted((cell.row, cell.col) for cell in layout.cells if cell.kind == "whole"):
        if run is not None and (row, col) != (run[0], run[2] + 1):
            yield run
            run = None
        run = (row, col if run is None else run[1], col)
    if run is not None:
        yield run


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
    cells = [cell for cell in layout.cells if cell.kind == "whole"]
    feet: list[Foot] = []
    middle = (tile.length // 2, tile.width // 2)
    for hole in tile.pin_holes:
        toward = (1 if hole.at[0] < middle[0] else -1, 1 if hole.at[1] < middle[1] else -1)
        stand = Stand(seat=0, hole=hole.at, toward=toward, state="kept")
        for turned in (False, True):
            alike = [cell for cell in cells if cell.quarter_turn == turned]
            corners = [corner_of(layout.origin, layout.pitch, cell.row, cell.col) for cell in alike]
            feet += _feet_at(corners, _foot(stand, boards[hole.backer], (0, 0), turned, tile))
    return feet


def _feet_at(corners: Sequence[Point], foot: Foot) -> Iterator[Foot]:
    """A foot of a cell whose corner is the origin, at the corners of others."""
    ring, many = shapely.get_coordinates(foot.board), np.array(corners, dtype=float).reshape(-1, 1, 2)
    boards = shapely.polygons(ring + many)
    for (x, y), board in zip(corners, boards, strict=True):
        centre, pin = ((at[0] + x, at[1] + y) for at in (foot.centre, foot.pin))
        yield Foot(centre=centre, pin=pin, toward=foot.toward, turned=foot.turned, board=board)


def _piece_feet(area: Surveyed, layout: Layout, sources: Sequence[HungSource], pieces: Sequence[Piece]) -> list[Foot]:
    """The feet of this area's pieces, wherever they were cut from; a piece that is cut often is looked at once."""
    feet: list[Foot] = []
    seen: set[int] = set()
    for source in sources:
        for p, number in enumerate(source.tile.pieces):
            piece = pieces[number]
            if piece.area == layout.area and number not in seen:
                seen.add(number)
                feet += _feet_of(source.tile.pattern.places[p], source.stands[p], piece, area, layout)
    return feet


def _feet_of(place: Place, stands: Sequence[Stand], piece: Piece, area: Surveyed, layout: Layout) -> Iterator[Foot]:
    tile = area.job.tile
    corner = corner_of(layout.origin, layout.pitch, piece.row, piece.col)
    turned = area.turned(piece.row, piece.col)
    undone = _undone(place, tile)
    face = Face(
        corners=tuple(
            (to_layout(undone.point(at), corner, turned, tile.width), most) for at, most in _face_of(place, area.job)
        )
    )
    for stand in stands:
        toward = (undone.way * stand.toward[0], undone.way * stand.toward[1])
        lain = replace(stand, hole=undone.point(stand.hole), toward=toward)
        board = undone.shape(place.fit.seats[stand.seat].board)
        yield replace(_foot(lain, board, corner, turned, tile), face=face)


def _face_of(place: Place, job: Job) -> list[tuple[Point, int]]:
    """The outermost corners of a placed piece's face, and how far past what it rests on each may be."""
    rules, shape = job.rules, place.shape
    timber = Timber(tile=job.tile, rules=rules, outline=shape.outline, holes=shape.holes, share=place.fit.share)
    return [(at, rules.wall_face_past_bearing if wall else rules.face_past_bearing) for at, wall in timber.face]


@dataclass(frozen=True, kw_only=True, slots=True)
class _Undone:
    """From the source's frame to the one of the piece's cell: `way` is -1 for a half turn."""

    way: int
    origin: Point

    def point(self, at: Point) -> Point:
        return self.way * (at[0] - self.origin[0]), self.way * (at[1] - self.origin[1])

    def shape(self, board: shapely.Polygon) -> shapely.Polygon:
        return shapely.transform(board, lambda xy: self.way * (xy - self.origin))


def _undone(place: Place, tile: Tile) -> _Undone:
    if not place.half_turn:
        return _Undone(way=1, origin=place.shift)
    return _Undone(way=-1, origin=(place.shift[0] + tile.length, place.shift[1] + tile.width))


def _foot(stand: Stand, board: shapely.Polygon, corner: Point, turned: bool, tile: Tile) -> Foot:
    way = (-stand.toward[1], stand.toward[0]) if turned else stand.toward
    return Foot(
        centre=to_layout(centre_of(stand, tile.support.pin_offset), corner, turned, tile.width),
        pin=to_layout(stand.hole, corner, turned, tile.width),
        toward=way,
        turned=turned,
        board=_from_cell(corner, turned, tile)(board),
    )
