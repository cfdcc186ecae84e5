"""Areas, cells and pieces of the plan file."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TypedDict

from cutopt.lay.laying import Surveyed
from cutopt.lay.records import Layout, Piece
from cutopt.planfile import model
from cutopt.tile import Offcut, Tile
from cutopt.work import Ids, chiral, laying_order
from cutopt.writeup.mm import outline, point


def area_of(area: Surveyed, layout: Layout, pieces: Sequence[Piece], ids: Ids) -> model.Area:
    """An area with its cells in the layout frame."""
    site = area.site
    numbers: dict[tuple[int, int], list[str]] = {}
    for number, piece in enumerate(pieces):
        if piece.area == layout.area:
            numbers.setdefault((piece.row, piece.col), []).append(ids.piece(number))
    order = {cell: n for n, cell in enumerate(laying_order(layout, area), start=1)}
    return model.Area(
        name=site.name,
        count=site.count,
        frame=model.Frame(origin=point(site.frame.origin), turn=site.frame.turn),
        outline=outline(site.outline),
        edges=tuple(model.Edge(kind=edge.kind, gap=point(edge.gap)) for edge in site.edges),
        posts=tuple(
            model.Post(name=p.name, kind=p.kind, round=p.round, outline=outline(p.outline), gap=point(p.gap))
            for p in site.posts
        ),
        grid=model.Grid(origin=point(layout.origin), pitch=point(layout.pitch)),
        cells=tuple(
            model.Cell(
                row=cell.row, col=cell.col, quarter_turn=cell.quarter_turn, kind=cell.kind,
                pieces=tuple(numbers.get((cell.row, cell.col), ())), order=order[cell.row, cell.col],
                liftable=cell.liftable,
                left=tuple(model.Left(outline=outline(x.outline), rule=x.rule, why=x.why) for x in cell.left),
            )
            for cell in layout.cells
        ),
    )  # fmt: skip


def piece_of(number: int, piece: Piece, area: str, ids: Ids) -> model.Piece:
    """A piece in its own cell's tile frame."""
    return model.Piece(
        id=ids.piece(number), area=area, row=piece.row, col=piece.col, outline=outline(piece.shape.outline),
        holes=tuple(outline(hole) for hole in piece.shape.holes),
        fixed_sides=tuple(sorted(piece.fixed)), fit="scribe" if piece.scribe else "shop",
        uncertainty=piece.uncertainty / 320, chiral=chiral(piece.shape),
    )  # fmt: skip


class _Hardware(TypedDict):
    slats: tuple[model.TileSlat, ...]
    backers: tuple[model.TileBacker, ...]
    screws: tuple[model.TileScrew, ...]
    pin_holes: tuple[model.TileHole, ...]


def tile_of(tile: Tile) -> model.Tile:
    """The anatomy."""
    return model.Tile(
        name=tile.name,
        length=tile.length / 320,
        width=tile.width / 320,
        slat_thickness=tile.slat_thickness / 320,
        backer_thickness=tile.backer_thickness / 320,
        density=tile.density,
        gauge=tile.gauge,
        support=model.Support(
            pad=point(tile.support.pad), pin_offset=tile.support.pin_offset / 320, pin=tile.support.pin / 320,
            height=tile.support.height / 320,
        ),
        **_hardware(tile),
    )  # fmt: skip


def stock_of(offcut: Offcut) -> model.Stock:
    """A racked offcut that is cut from."""
    return model.Stock(id=offcut.id, outline=outline(offcut.outline), **_hardware(offcut.wood))


def _hardware(tile: Tile) -> _Hardware:
    """Slats, backers, screws and pin holes."""
    return _Hardware(
        slats=tuple(model.TileSlat(id=s.id, v=point(s.v)) for s in tile.slats),
        backers=tuple(model.TileBacker(id=b.id, u=b.u / 320, width=b.width / 320, v=point(b.v)) for b in tile.backers),
        screws=tuple(
            model.TileScrew(id=s.id, slat=s.slat, backer=s.backer, u=s.at[0] / 320, v=s.at[1] / 320)
            for s in tile.screws
        ),
        pin_holes=tuple(
            model.TileHole(id=h.id, backer=h.backer, u=h.at[0] / 320, v=h.at[1] / 320, diameter=h.diameter / 320)
            for h in tile.pin_holes
        ),
    )
