"""The price of a grid start in tiles, and bounds under it that need no carpentry.

    price = whole tiles + tiles cut + what stays open or bare, charged

A part that stays open because a strip is too thin counts 2 tiles, since some grid start may do better there; one that
the carpentry refuses counts by its size, 2 tiles from a quarter of a tile on, and never less than half a tile. Ground
that stays bare beside laid wood by rule counts 1.5 times its area, more than laying it would take.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

from cutopt.cut import Loosely, least_tiles
from cutopt.fit import Carpenter
from cutopt.geometry import area2
from cutopt.job.records import Job
from cutopt.lay import Cell, Layout, Piece, Surveyed
from cutopt.lay.records import BARE
from cutopt.tile import Tile

OPEN_PRICE = 2.0  # tiles for an open part of a cell
FULL_SIZE = 0.25  # of a tile: a smaller part that the carpentry refuses costs less
LEAST_SIZE = 0.25  # of the full price: what the smallest such part costs
BARE_PRICE = 1.5  # tiles for a tile's area left bare
STRIPS = ("thinnest_strip", "thinnest_across", "infill_least", "mark")


def charge(layout: Layout, tile: Tile) -> float:
    """What the parts of an area that stay open or bare count, tiles."""
    return sum(charge_of(cell, tile) for cell in layout.cells)


def charge_of(cell: Cell, tile: Tile) -> float:
    """What the parts of a cell that stay open or bare count, tiles."""
    total = 0.0
    for left in cell.left:
        size = left.area2 / 2 / (tile.length * tile.width)
        if left.rule in BARE:
            total += BARE_PRICE * size
        elif left.rule in STRIPS:
            total += OPEN_PRICE
        elif left.rule != "stone_edge":
            total += _open_price(size)
    return total


def _open_price(size: float) -> float:
    """What a part that the carpentry refuses counts, by its size in tiles."""
    return OPEN_PRICE * min(max(size / FULL_SIZE, LEAST_SIZE), 1.0)


def bound(layout: Layout, area: Surveyed) -> tuple[float, float]:
    """Lower bounds for one area laid once: tiles for certain, and the wood of its pieces in tiles.

    Certain are whole tiles and what stays open in cells without a piece, for they have no other way. A piece may yet be
    cut elsewhere within its gaps, so the gaps' play is taken off its wood.
    """
    tile = area.job.tile
    certain = layout.whole + sum(charge_of(cell, tile) for cell in layout.cells if cell.kind == "left")
    play = _play(area)
    wood2 = sum(max(area2(p.shape.outline) - 2 * play * _sawn(p, tile), 0) for p in layout.pieces)
    return certain, wood2 / 2 / (tile.length * tile.width)


def likely(layouts: Sequence[Layout], areas: Sequence[Surveyed], job: Job, carpenter: Carpenter) -> float | None:
    """A bound on the price of layouts whose cells are filled as laid or stay open: by the linear programme over the
    sets of pieces that a tile can hold. It is dearer than `bound`, which holds for cells filled in any way. None where
    there are too many sets.
    """
    tile = job.tile
    pieces = [piece for layout in layouts for piece in layout.pieces]
    some = Loosely(
        pieces=pieces,
        counts=[areas[piece.area].site.count for piece in pieces],
        left_out=[_open_price(area2(p.shape.outline) / 2 / (tile.length * tile.width)) for p in pieces],
        play=max((_play(areas[layout.area]) for layout in layouts), default=0),
    )
    cut = least_tiles(some, carpenter, job.cutting)
    if cut is None:
        return None
    cut = max(cut - len(job.rack), 0.0)
    return cut + sum(areas[x.area].site.count * bound(x, areas[x.area])[0] for x in layouts)


def tiles_for(wood: float) -> float:
    """The least price of so much wood, tiles: as many tiles, or one fewer and the rest left open or bare.

    Each way of leaving wood out is charged at BARE_PRICE of its area or more, so leaving out more is no gain.
    """
    whole = math.floor(wood + 1e-9)
    return whole + min(1.0, BARE_PRICE * max(wood - whole, 0.0))


def _play(area: Surveyed) -> int:
    """How far a cut may move at most, ticks."""
    site = area.site
    cut = [edge.gap for edge in site.edges if edge.kind in ("wall", "flush")]
    return max((most - least for least, most in (*cut, *(post.gap for post in site.posts))), default=0)


def _sawn(piece: Piece, tile: Tile) -> float:
    """The length of a piece's outline that is not the tile's own, ticks."""
    ring, size = piece.shape.outline, (tile.length, tile.width)
    return sum(
        math.dist(p, q)
        for p, q in zip(ring, (*ring[1:], *ring[:1]), strict=True)
        if not any(p[axis] == q[axis] and p[axis] in (0, size[axis]) for axis in (0, 1))
    )
