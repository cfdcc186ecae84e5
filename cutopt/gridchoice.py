"""Choose grid starts: work them out in the order of a bound, drop those that cannot win.

A grid start is good only through the cut plan it leads to, so this walks over the starts and calls `lay`, `fit` and
`cut` for each.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

from cutopt.cut import CutPlan, cut, sort_pieces
from cutopt.errors import NoPlan
from cutopt.fit import Carpenter, Refusal
from cutopt.geometry import area2, polygon
from cutopt.job.records import Job
from cutopt.lay import Cell, Layout, Left, Piece, Shape, Surveyed, Way, cell_ways, lay, refilled, starts
from cutopt.lay.records import corner_of, to_layout
from cutopt.tile import Tile

OPEN_PRICE = 2  # tiles: what an avoidable open part of a cell counts when grid starts are compared
BARE_PRICE = 1.5  # tiles for a tile's area left bare along an open edge: more than laying it would take
FITS_A_SECOND = 300  # the limit of the search is a count of fits asked for, so that every machine finds the same
ALWAYS = 2  # the first starts of an area, full-first and centred, are always worked out: `best` is never worse


@dataclass(frozen=True, kw_only=True, slots=True)
class Progress:
    """How far the search is: grid starts done of all, the fewest tiles in all so far and a bound under them."""

    done: int
    of: int
    best: int | None
    bound: int | None


Report = Callable[[Progress], None]
CellKey = tuple[int, int, int]  # area, row and column


@dataclass(frozen=True, kw_only=True)
class Grid:
    """Grid starts of all areas worked out to their cut plan. `layouts` list what the carpentry refused as left open.

    `price` is in tiles: those laid and cut, and a charge for each part that stays open; `minutes` break ties.
    """

    layouts: tuple[Layout, ...]
    pieces: tuple[Piece, ...]
    cut: CutPlan
    price: float
    minutes: float

    @property
    def rank(self) -> tuple[float, float]:
        """Lower is better."""
        return round(self.price, 6), self.minutes


@dataclass(frozen=True, kw_only=True)
class Choice:
    """The best grid, how many starts were looked at and worked out, and whether none was left undecided."""

    best: Grid
    considered: int
    expanded: int
    finished: bool


@dataclass(frozen=True, kw_only=True)
class Chooser:
    """Walks over the grid starts of a job's areas."""

    areas: Sequence[Surveyed]
    job: Job
    carpenter: Carpenter
    progress: Report | None

    def choose(self) -> Choice:
        """Settle area by area, since areas share tiles. Raises `NoPlan` where nothing can be laid."""
        options = [[lay(area, origin) for origin in starts(area)] for area in self.areas]
        considered = sum(map(len, options))
        chosen = [layouts[0] for layouts in options]
        best = self._worked_out(chosen)
        expanded, undecided = len(self.areas), 0
        for number, layouts in enumerate(options):
            for layout in self._in_order(layouts)[1:]:
                trial = [layout if k == number else x for k, x in enumerate(chosen)]
                if not self._may_win(trial, best, always=layout in layouts[:ALWAYS]):
                    continue
                if self.carpenter.asked > self.job.cutting.seconds * FITS_A_SECOND and layout not in layouts[:ALWAYS]:
                    undecided += 1
                    continue
                found = self._worked_out(trial)
                expanded += 1
                if found.rank < best.rank:
                    best, chosen = found, trial
                self._report(expanded, considered, best)
        self._report(considered, considered, best)
        self._refuse_nothing(best)
        finished = undecided == 0 and len(self.areas) == 1
        return Choice(best=best, considered=considered, expanded=expanded, finished=finished)

    def _in_order(self, layouts: list[Layout]) -> list[Layout]:
        """The starts that are always worked out, then the others by their bound."""
        rest = sorted(layouts[ALWAYS:], key=lambda x: (self._bound([x]), len(x.pieces), x.origin))
        return [*layouts[:ALWAYS], *rest]

    def _may_win(self, trial: Sequence[Layout], best: Grid, *, always: bool) -> bool:
        """Whether a start could take fewer tiles, or as many with fewer pieces to cut."""
        bound = self._bound(trial)
        fewer = sum(len(layout.pieces) for layout in trial) < len(best.pieces)
        return always or bound < best.price or (bound == best.price and fewer)

    def _left_out(self, layouts: Sequence[Layout]) -> float:
        """Tiles laid whole, and the charge for what stays open or bare."""
        tile = self.job.tile
        total = 0.0
        for layout in layouts:
            bare = layout.bare2 / 2 / (tile.length * tile.width)
            count = self.areas[layout.area].site.count
            total += count * (layout.whole + OPEN_PRICE * layout.open_count + BARE_PRICE * bare)
        return total

    def _bound(self, layouts: Sequence[Layout]) -> float:
        """A lower bound on the price: whole tiles, the wood of all pieces, and what stays open already.

        Pieces may yet be cut elsewhere within their gaps, so the gaps' play is taken off. Ground that stays bare is
        charged at more than its wood, and a piece left out at more than a tile, so leaving wood out is no gain.
        """
        tile = self.job.tile
        wood = sum(
            self.areas[x.area].site.count * max(area2(p.shape.outline) - 2 * self._play(x) * _sawn(p, tile), 0)
            for x in layouts
            for p in x.pieces
        )
        return self._left_out(layouts) + math.ceil(wood / 2 / (tile.length * tile.width) - 1e-9)

    def _play(self, layout: Layout) -> int:
        """How far a cut may move at most, ticks."""
        site = self.areas[layout.area].site
        cut = [edge.gap for edge in site.edges if edge.kind in ("wall", "flush")]
        return max((most - least for least, most in (*cut, *(post.gap for post in site.posts))), default=0)

    def _worked_out(self, layouts: Sequence[Layout]) -> Grid:
        """Fit and cut one choice of layouts; cells that the carpentry refuses are filled in their next way."""
        counts = [area.site.count for area in self.areas]
        refusals: dict[CellKey, _Tried] = {}
        while True:
            pieces = [piece for layout in layouts for piece in layout.pieces]
            stock = sort_pieces(pieces, [counts[piece.area] for piece in pieces], self.carpenter, self.job.cutting)
            if not stock.refused:
                break
            refused: dict[CellKey, dict[Shape, Refusal]] = {}
            for number, refusal in stock.refused:
                piece = pieces[number]
                refused.setdefault((piece.area, piece.row, piece.col), {})[piece.shape] = refusal
            layouts = [_refilled(layout, refused, refusals, self.areas[layout.area]) for layout in layouts]
        plan = cut(stock, self.job, self.carpenter)
        price = self._left_out(layouts) + plan.count
        minutes = sum(tile.pattern.minutes * tile.uses for tile in plan.tiles)
        return Grid(layouts=tuple(layouts), pieces=tuple(pieces), cut=plan, price=price, minutes=minutes)

    def _report(self, done: int, of: int, best: Grid) -> None:
        if self.progress is not None:
            whole = sum(self.areas[x.area].site.count * x.whole for x in best.layouts)
            self.progress(Progress(done=done, of=of, best=whole + best.cut.count, bound=whole + best.cut.bound))

    def _refuse_nothing(self, best: Grid) -> None:
        if best.pieces or any(layout.whole for layout in best.layouts):
            return
        reasons = sorted({left.rule for layout in best.layouts for cell in layout.cells for left in cell.left})
        size = max(polygon(area.site.outline).length for area in self.areas)
        raise NoPlan(
            what=f"nothing can be laid in {self.job.name!r} (longest way around an area {size / 320_000:.2f} m)",
            rule=reasons[0] if reasons else "wall_gap",
            remedy="loosen it in [rules], or choose a smaller tile or another grid start",
        )


def _sawn(piece: Piece, tile: Tile) -> float:
    """The length of a piece's outline that is not the tile's own, ticks."""
    ring, size = piece.shape.outline, (tile.length, tile.width)
    return sum(
        math.dist(p, q)
        for p, q in zip(ring, (*ring[1:], *ring[:1]), strict=True)
        if not any(p[axis] == q[axis] and p[axis] in (0, size[axis]) for axis in (0, 1))
    )


@dataclass(kw_only=True, slots=True)
class _Tried:
    """What the carpentry refused of a cell so far: the shapes, the ways tried, and whether none is left to try."""

    shapes: dict[Shape, Refusal]
    ways: list[Way]
    settled: bool = False


def _refilled(
    layout: Layout, refused: Mapping[CellKey, dict[Shape, Refusal]], known: dict[CellKey, _Tried], area: Surveyed
) -> Layout:
    """The layout with each cell that holds a refused piece filled in the next way that has none."""
    filled: dict[tuple[int, int], Way] = {}
    for cell in layout.cells:
        key = (area.index, cell.row, cell.col)
        if key in refused:
            tried = known.setdefault(key, _Tried(shapes={}, ways=[]))
            tried.shapes |= refused[key]
            pieces = tuple(p for p in layout.pieces if (p.row, p.col) == (cell.row, cell.col))
            tried.ways.append(Way(pieces=pieces, left=cell.left))
            filled[cell.row, cell.col] = _next_way(layout, cell, tried, area)
    return refilled(layout, filled, area)


def _next_way(layout: Layout, cell: Cell, tried: _Tried, area: Surveyed) -> Way:
    """The next way without a refused shape; where none is left, the way that leaves least open when these go."""
    if not tried.settled:
        for way in cell_ways(layout, cell, area):
            if way.pieces and not any(piece.shape in tried.shapes for piece in way.pieces):
                return way
    ways = tried.ways[-1:] if tried.settled else tried.ways
    tried.settled = True
    return min((_without(way, tried, cell, layout, area) for way in ways), key=lambda way: _open2(way))


def _open2(way: Way) -> int:
    """Twice the area that a way leaves open, square ticks."""
    return sum(left.area2 for left in way.left)


def _without(way: Way, tried: _Tried, cell: Cell, layout: Layout, area: Surveyed) -> Way:
    """A way with its refused pieces listed as left open."""
    gone = [piece for piece in way.pieces if piece.shape in tried.shapes]
    left = tuple(_left(piece, tried.shapes[piece.shape], cell, layout, area) for piece in gone)
    return Way(pieces=tuple(p for p in way.pieces if p.shape not in tried.shapes), left=(*way.left, *left))


def _left(piece: Piece, refusal: Refusal, cell: Cell, layout: Layout, area: Surveyed) -> Left:
    corner = corner_of(layout.origin, layout.pitch, cell.row, cell.col)
    ring = tuple(to_layout(p, corner, cell.quarter_turn, area.job.tile.width) for p in piece.shape.outline)
    return Left(outline=ring, rule=refusal.rule, why=refusal.why, area2=area2(ring))
