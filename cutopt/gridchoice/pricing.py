"""The price of a grid start by the job's aim, and bounds under it that need no carpentry.

    price = whole tiles + the cut plan's value + laying + what stays open or bare, charged

By the aim it is in tiles, where laying and work count nothing, in money or in minutes. What it takes to set fences is
known only when the steps are, and is left out.

Open ground is charged in tiles, a tile of it at the price of a tile and of the minutes that one takes. A part that
stays open because a strip is too thin counts 2 tiles, since some grid start may do better there; one that the carpentry
refuses counts by its size, 2 tiles from a quarter of a tile on, and never less than half a tile. Ground that stays bare
beside laid wood by rule counts 1.5 times its area, more than laying it would take.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from cutopt.cut import TILE_MINUTES, Loosely, least_price
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
OPEN_MINUTES = 20.0  # that a cut tile takes to cut and lay, or more: to leave ground open is no way to save them
STRIPS = ("thinnest_strip", "thinnest_across", "infill_least", "mark")


@dataclass(frozen=True, kw_only=True, slots=True)
class Prices:
    """What counts in a grid start, in the unit of the aim: a tile, a tile's worth of open ground, which is no less, to
    lay a whole tile and a cut piece, and a minute at the saw.
    """

    tile: float
    open: float
    lay_whole: float
    lay_cut: float
    minute: float

    @property
    def whole(self) -> float:
        """Of a whole tile, laid."""
        return self.tile + self.lay_whole


def prices_of(job: Job) -> Prices:
    """The prices by the job's aim."""
    aim, money, rules = job.cutting.aim, job.money, job.rules
    if aim == "tiles":
        return Prices(tile=1.0, open=1.0, lay_whole=0.0, lay_cut=0.0, minute=0.0)
    minute = money.hour / 60 if aim == "cost" else 1.0
    tile = money.tile if aim == "cost" else TILE_MINUTES
    return Prices(
        tile=tile,
        open=tile + minute * OPEN_MINUTES,
        lay_whole=minute * rules.rate_lay_whole,
        lay_cut=minute * rules.rate_lay_cut,
        minute=minute,
    )


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


@dataclass(frozen=True, kw_only=True, slots=True)
class Least:
    """Lower bounds for one area laid once: the price of what is certain, the wood of its pieces in tiles, and the price
    of the cells that have pieces, each on its own, 0 where work counts nothing.
    """

    certain: float
    wood: float
    cells: float


def bound(layout: Layout, area: Surveyed, prices: Prices) -> Least:
    """Lower bounds for one area laid once.

    Certain are whole tiles and what stays open in cells without a piece, for they have no other way. A piece may yet be
    cut elsewhere within its gaps, so the gaps' play is taken off its wood. A cell takes its wood and one cut at least,
    or stays open or bare.
    """
    tile, rules, play = area.job.tile, area.job.rules, _play(area)
    open_ = sum(charge_of(cell, tile) for cell in layout.cells if cell.kind == "left")
    wood = {at: sum(_least_wood(piece, tile, play) for piece in pieces) for at, pieces in layout.by_cell.items()}
    work = prices.lay_cut + prices.minute * min(rules.rate_table_saw, rules.rate_jigsaw)
    cells = sum(min(prices.tile * n + work, BARE_PRICE * prices.open * n) for n in wood.values()) if work else 0.0
    return Least(certain=layout.whole * prices.whole + open_ * prices.open, wood=sum(wood.values()), cells=cells)


def _least_wood(piece: Piece, tile: Tile, play: int) -> float:
    """The wood of a piece wherever its cuts come to be, tiles."""
    wood2 = max(area2(piece.shape.outline) - 2 * play * _sawn(piece, tile), 0)
    return wood2 / 2 / (tile.length * tile.width)


def likely(layouts: Sequence[Layout], areas: Sequence[Surveyed], job: Job, carpenter: Carpenter) -> float | None:
    """A bound on the price of layouts whose cells are filled as laid or stay open: by the linear programme over the
    sets of pieces that a tile can hold. It is dearer than `bound`, which holds for cells filled in any way. None where
    there are too many sets.
    """
    tile, prices = job.tile, prices_of(job)
    pieces = [piece for layout in layouts for piece in layout.pieces]
    sizes = [area2(piece.shape.outline) / 2 / (tile.length * tile.width) for piece in pieces]
    some = Loosely(
        pieces=pieces,
        counts=[areas[piece.area].site.count for piece in pieces],
        left_out=[prices.open * _open_price(size) for size in sizes],
        play=max((_play(areas[layout.area]) for layout in layouts), default=0),
        tile=prices.tile,
        piece=prices.lay_cut,
        minute=prices.minute,
    )
    cut = least_price(some, carpenter, job.cutting)
    if cut is None:
        return None
    cut = max(cut - len(job.rack) * prices.tile, 0.0)
    return cut + sum(areas[x.area].site.count * bound(x, areas[x.area], prices).certain for x in layouts)


def price_for(wood: float, prices: Prices) -> float:
    """The least price of so much wood, tiles: as many tiles, or one fewer and the rest left open or bare.

    Each way of leaving wood out is charged at BARE_PRICE of its area or more, so leaving out more is no gain.
    """
    whole = math.floor(wood + 1e-9)
    return prices.tile * whole + min(prices.tile, BARE_PRICE * prices.open * max(wood - whole, 0.0))


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
