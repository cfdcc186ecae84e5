"""One choice of grid starts worked out: laid, fitted and cut; cells that the carpentry refuses filled another way."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace

from cutopt.cut import CutPlan, Stock, cut, sort_pieces
from cutopt.fit import Carpenter, Refusal
from cutopt.gridchoice.pricing import Prices, charge, prices_of
from cutopt.job.records import Job
from cutopt.lay import Cell, Layout, Piece, Shape, Surveyed, Way, cell_ways, emptied, refilled, untangled

CellKey = tuple[int, int, int]  # area, row and column


@dataclass(kw_only=True, slots=True)
class Tried:
    """What the carpentry refused of a cell so far: the shapes, the ways tried, and whether none is left to try."""

    shapes: dict[Shape, Refusal] = field(default_factory=dict)
    ways: list[Way] = field(default_factory=list)
    settled: bool = False


@dataclass(frozen=True, kw_only=True)
class Grid:
    """Grid starts of all areas worked out to their cut plan. `layouts` list what the carpentry refused as left open.

    `areas` are those laid, each with its slats' direction and its pattern's phase settled. `price` is in the unit
    of the aim, with a charge for what stays open, which is `open`; `minutes` break ties. `tried`: of each cell that the
    carpentry refused in its preferred way, what was tried.
    """

    layouts: tuple[Layout, ...]
    areas: tuple[Surveyed, ...]
    pieces: tuple[Piece, ...]
    cut: CutPlan
    price: float
    open: float
    minutes: float
    tried: Mapping[CellKey, Tried] = field(default_factory=dict)

    def bounded(self, known: CutPlan) -> Grid:
        """The grid with no higher bounds: one that was worked out with less allowed proves less for all that is."""
        cut_ = self.cut
        return replace(self, cut=replace(cut_, bound=min(cut_.bound, known.bound), least=min(cut_.least, known.least)))

    @property
    def rank(self) -> tuple[float, float]:
        """Lower is better."""
        return round(self.price, 6), self.minutes


def worked_out(
    layouts: Sequence[Layout],
    areas: Sequence[Surveyed],
    job: Job,
    carpenter: Carpenter,
    *,
    twins: bool = True,
    other: int = 0,
) -> Grid:
    """Fit and cut one choice of layouts; cells that the carpentry refuses are filled in their next way.

    `twins`: a piece that is wanted many times may come more than once from one tile. `other`: which of the cut plans of
    as many tiles, 0 for the one of least work.
    """
    *_, last = hung_in_turns(layouts, areas, job, carpenter)
    return cut_out(last, areas, job, carpenter, twins=twins, other=other)


@dataclass(frozen=True, kw_only=True, slots=True)
class Turn:
    """Layouts with their pieces sorted for cutting, and what was tried so far."""

    layouts: tuple[Layout, ...]
    pieces: tuple[Piece, ...]
    stock: Stock
    tried: Mapping[CellKey, Tried]

    @property
    def settled(self) -> list[Cell]:
        """Cells with pieces that have no other way left: what is open in them stays open."""
        return [
            cell
            for layout in self.layouts
            for cell in layout.cells
            if cell.kind != "left"
            for tried in [self.tried.get((layout.area, cell.row, cell.col))]
            if tried is not None and tried.settled
        ]


def hung_in_turns(
    layouts: Sequence[Layout], areas: Sequence[Surveyed], job: Job, carpenter: Carpenter
) -> Iterator[Turn]:
    """The layouts, and again with the cells that the carpentry refuses filled in their next way, until none is."""
    counts = [area.site.count for area in areas]
    tried: dict[CellKey, Tried] = {}
    while True:
        pieces = tuple(piece for layout in layouts for piece in layout.pieces)
        stock = sort_pieces(pieces, [counts[piece.area] for piece in pieces], carpenter, job.cutting)
        yield Turn(layouts=tuple(layouts), pieces=pieces, stock=stock, tried=tried)
        if not stock.refused:
            return
        refused: set[CellKey] = set()
        for number, refusal in stock.refused:
            piece = pieces[number]
            key = (piece.area, piece.row, piece.col)
            tried.setdefault(key, Tried()).shapes[piece.shape] = refusal
            refused.add(key)
        layouts = [_refilled(layout, refused, tried, areas[layout.area]) for layout in layouts]


def cut_out(
    turn: Turn,
    areas: Sequence[Surveyed],
    job: Job,
    carpenter: Carpenter,
    *,
    twins: bool = True,
    other: int = 0,
    limit: float = math.inf,
) -> Grid:
    """The cut plan of layouts that can be hung. `limit`: a dearer one is not taken, and not polished."""
    prices = prices_of(job)
    laid = sum(areas[x.area].site.count * _laid(x, prices) for x in turn.layouts)
    open_ = prices.open * sum(areas[x.area].site.count * charge(x, job.tile) for x in turn.layouts)
    most = limit - laid - open_ + 1e-6 if job.cutting.aim == "tiles" else math.inf
    plan = cut(turn.stock, job, carpenter, twins=twins, most=most, other=other)
    return Grid(
        layouts=turn.layouts,
        areas=tuple(areas),
        pieces=turn.pieces,
        cut=plan,
        price=laid + open_ + plan.value,
        open=open_,
        minutes=sum(tile.pattern.minutes * tile.uses for tile in plan.tiles),
        tried=turn.tried,
    )


def _laid(layout: Layout, prices: Prices) -> float:
    """What a layout takes besides its cut plan."""
    return layout.whole * prices.whole + len(layout.pieces) * prices.lay_cut


def _refilled(layout: Layout, refused: set[CellKey], tried: Mapping[CellKey, Tried], area: Surveyed) -> Layout:
    """The layout with each cell that holds a refused piece filled in the next way that has none.

    Where its pieces then wait for each other, cells are filled in ways without shapes that were refused anywhere.
    """
    here = layout.by_cell
    filled: dict[tuple[int, int], Way] = {}
    for cell in layout.cells:
        key = (area.index, cell.row, cell.col)
        if key in refused:
            at = (cell.row, cell.col)
            tried[key].ways.append(Way(pieces=here[at], left=cell.left))
            filled[at] = _next_way(layout, cell, tried[key], area)
    shapes = {shape for one in tried.values() for shape in one.shapes}
    return untangled(refilled(layout, filled, area), area, shapes)


def _next_way(layout: Layout, cell: Cell, tried: Tried, area: Surveyed) -> Way:
    """The next way without a refused shape; where none is left, the way that leaves least open when these go."""
    if not tried.settled:
        for way in cell_ways(layout, cell, area):
            if way.pieces and not any(piece.shape in tried.shapes for piece in way.pieces):
                return way
    ways = tried.ways[-1:] if tried.settled else tried.ways
    tried.settled = True
    reasons = {shape: (refusal.rule, refusal.why) for shape, refusal in tried.shapes.items()}
    return min((emptied(layout, cell, way, reasons, area) for way in ways), key=_open2)


def _open2(way: Way) -> int:
    """Twice the area that a way leaves open, square ticks."""
    return sum(left.area2 for left in way.left)
