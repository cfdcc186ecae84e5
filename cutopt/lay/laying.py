"""Lay the grid over the ground: which cells take a whole tile, which are cut, which stay open."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

import numpy as np
import shapely

from cutopt.aside import shared
from cutopt.lay.circles import freed
from cutopt.lay.filling import cut_cell, refilled, refixed, spot_of
from cutopt.lay.records import Cell, Layout, Piece
from cutopt.lay.surveyed import Surveyed
from cutopt.memory import rarely_searched
from cutopt.tile import Point

__all__ = ["Surveyed", "lay"]

SPLIT = 4  # blocks of cells are split in so many each way
MANY = 200  # cells to fill: for fewer a process of its own is not worth its start
OFF, ASTRIDE, WITHIN = 0, 1, 2  # how a block of cells lies to the ground

_Met = tuple[int, int, bool, bool, bool]  # row, column, whether whole, over a drain, turned
_Filled = tuple[Cell | None, tuple[Piece, ...]]


@rarely_searched()
def lay(area: Surveyed, origin: Point) -> Layout:
    """Lay one area on the grid through `origin`, ticks of its layout frame. Cells without free ground are dropped.

    Rows and columns are counted from the first that meets the area, so that the pattern starts there.
    """
    if area.ground.needed.is_empty:
        return Layout(area=area.index, origin=origin, pitch=area.pitch, cells=(), pieces=())
    origin = (_first(area, origin, 0), _first(area, origin, 1))
    met = list(_met(area, origin))
    cut = iter(_cut([one for one in met if not one[2]], origin, area))
    cells: list[Cell] = []
    pieces: list[Piece] = []
    for row, col, whole, drained, turned in met:
        if whole:
            cells.append(Cell(row=row, col=col, quarter_turn=turned, kind="whole", left=(), liftable=drained))
            continue
        cell, found = next(cut)
        if cell is not None:
            cells.append(cell)
            pieces.extend(found)
    layout = Layout(area=area.index, origin=origin, pitch=area.pitch, cells=tuple(cells), pieces=tuple(pieces))
    filled = freed(layout, area)
    return refilled(layout, filled, area) if filled else refixed(layout, area)


def _cut(met: Sequence[_Met], origin: Point, area: Surveyed) -> Sequence[_Filled]:
    """The cells that are not whole, filled: of each itself, None where it needs no cover, and its pieces."""

    def filled(some: Sequence[_Met]) -> list[_Filled]:
        return [cut_cell(spot_of(row, col, origin, area), drained, area) for row, col, _, drained, _ in some]

    return shared(filled, met, least=MANY)


def _first(area: Surveyed, origin: Point, axis: int) -> int:
    """The corner of the first cell along an axis whose tile meets the area."""
    low, pitch = float(area.ground.needed.bounds[axis]), area.pitch[axis]
    first = origin[axis] + math.floor((low - origin[axis]) / pitch) * pitch
    return first + pitch if low - first >= area.cell_size[axis] else first


def _met(area: Surveyed, origin: Point) -> Iterator[_Met]:
    """The cells whose rectangle meets the ground, row by row: row, column, whether whole, over a drain, turned."""
    corner, parts = _parted(area, origin)
    rows, cols = np.nonzero(parts != OFF)
    found = np.column_stack((rows, cols)) + corner
    drains = area.ground.drains
    drained = np.zeros(len(rows), dtype=bool)
    if not drains.is_empty:
        shapely.prepare(drains)
        drained = shapely.intersects(drains, _boxes(found, 1, origin, area))
    whole = parts[rows, cols] == WITHIN
    turned = area.turned(*found.T)
    yield from zip(*found.T.tolist(), whole.tolist(), drained.tolist(), turned.tolist(), strict=True)


def _parted(area: Surveyed, origin: Point) -> tuple[tuple[int, int], np.ndarray]:
    """The row and column of the first cell by the ground, and of each cell from there whether it is `WITHIN` or `OFF`.

    Blocks of cells are looked at before the cells in them: most ground is far from walls and posts.
    """
    (px, py), (x0, y0, x1, y1) = area.pitch, area.ground.outline.bounds
    cols = range(math.floor((x0 - origin[0]) / px), math.ceil((x1 - origin[0]) / px) + 1)
    rows = range(math.floor((y0 - origin[1]) / py), math.ceil((y1 - origin[1]) / py) + 1)
    first, outline, allowed = (rows[0], cols[0]), area.ground.outline, area.ground.allowed.buffer(1)
    shapely.prepare([outline, allowed])
    size = SPLIT ** math.ceil(math.log(max(len(rows), len(cols), SPLIT), SPLIT))
    parts = np.full((1, 1), ASTRIDE)
    while size > 1:
        size //= SPLIT
        high, wide = math.ceil(len(rows) / size), math.ceil(len(cols) / size)
        parts = parts.repeat(SPLIT, 0).repeat(SPLIT, 1)[:high, :wide]
        at = np.nonzero(parts == ASTRIDE)
        boxes = _boxes(np.column_stack(at) * size + first, size, origin, area)
        met = shapely.intersects(outline, boxes)
        parts[at] = np.where(met, np.where(shapely.contains_properly(allowed, boxes), WITHIN, ASTRIDE), OFF)
    return first, parts


def _boxes(index: np.ndarray, size: int, origin: Point, area: Surveyed) -> np.ndarray:
    """The rectangles around blocks of `size` by `size` cells, from the cell of each row and column of `index`."""
    (px, py), (sx, sy) = area.pitch, area.cell_size
    x, y = origin[0] + index[:, 1].astype(float) * px, origin[1] + index[:, 0].astype(float) * py
    boxes: np.ndarray = shapely.box(x, y, x + (size - 1) * px + sx, y + (size - 1) * py + sy)
    return boxes
