"""The verb: a job becomes a plan. The body of `plan` reads like the way through."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

from cutopt.cut import CutPlan, cut, sort_pieces
from cutopt.errors import NoPlan
from cutopt.fit import Carpenter, Refusal
from cutopt.geometry import area2, polygon
from cutopt.hang import hang, supports_of
from cutopt.job.records import Job
from cutopt.lay import Cell, Layout, Left, Piece, Surveyed, lay, starts
from cutopt.lay.laying import refixed
from cutopt.lay.records import corner_of, to_layout
from cutopt.planfile import Plan
from cutopt.site import sited
from cutopt.writeup import Result, plan_of

OPEN_PRICE = 2.0  # tiles: what an avoidable open part of a cell counts when grid starts are compared
FITS_A_SECOND = 300  # the limit of the search is a count of fits asked for, so that every machine finds the same


@dataclass(frozen=True, kw_only=True, slots=True)
class Progress:
    """How far the search is: grid starts done of all, the fewest tiles in all so far and a bound under them."""

    done: int
    of: int
    best: int | None
    bound: int | None


Report = Callable[[Progress], None]


def plan(job: Job, *, seconds: float | None = None, seed: int = 0, progress: Report | None = None) -> Plan:
    """Plan a job.

    `seconds` overrides the job's limit of the search. Raises `NoPlan` where the rules leave nothing to be laid.
    """
    if seconds is not None:
        job = replace(job, cutting=replace(job.cutting, seconds=seconds))
    areas = tuple(Surveyed(index=i, site=sited(area), job=job) for i, area in enumerate(job.areas))
    carpenter = Carpenter(tile=job.tile, rules=job.rules)
    search = _search(areas, job, carpenter, progress)
    best = search.best
    sources = hang(best.cut.tiles, job)
    supports = [
        s
        for area, layout in zip(areas, best.layouts, strict=True)
        for s in supports_of(area, layout, sources, best.pieces)
    ]
    return plan_of(
        Result(
            job=job, areas=areas, layouts=best.layouts, pieces=best.pieces, cut=best.cut, sources=sources,
            supports=tuple(supports), considered=search.considered, dropped=search.considered - search.expanded,
            finished=search.finished, seed=seed,
        )
    )  # fmt: skip


@dataclass(frozen=True, kw_only=True)
class _Grid:
    """A grid start worked out to its cut plan. `layouts` hold what the carpentry refused as left open."""

    layouts: tuple[Layout, ...]
    pieces: tuple[Piece, ...]
    cut: CutPlan
    price: float


@dataclass(frozen=True, kw_only=True)
class _Search:
    best: _Grid
    considered: int
    expanded: int
    finished: bool


def _search(areas: Sequence[Surveyed], job: Job, carpenter: Carpenter, progress: Report | None) -> _Search:
    """Work grid starts out in the order of a bound; stop when no other can beat the best, or at the limit."""
    choices = [_choices(area) for area in areas]
    chosen = [options[0][1] for options in choices]
    considered = sum(len(options) for options in choices)
    best = _worked_out(list(chosen), areas, job, carpenter)
    expanded, finished = len(areas), True
    for number, options in enumerate(choices):
        # areas share tiles, so each is settled with the others as they stand
        for bound, layout in options[1:]:
            others = _bound_of([x for k, x in enumerate(chosen) if k != number], areas)
            if bound + others >= best.price:
                break
            if carpenter.asked > job.cutting.seconds * FITS_A_SECOND:
                finished = False
                break
            trial = [layout if k == number else x for k, x in enumerate(chosen)]
            found = _worked_out(trial, areas, job, carpenter)
            expanded += 1
            if found.price < best.price:
                best, chosen = found, trial
            _report(progress, expanded, considered, best)
    _report(progress, considered, considered, best)
    _refuse_nothing(best, areas, job)
    return _Search(best=best, considered=considered, expanded=expanded, finished=finished and len(areas) == 1)


def _report(progress: Report | None, done: int, of: int, best: _Grid) -> None:
    if progress is not None:
        whole = sum(layout.whole for layout in best.layouts)
        progress(Progress(done=done, of=of, best=whole + best.cut.count, bound=whole + best.cut.bound))


def _choices(area: Surveyed) -> list[tuple[float, Layout]]:
    """The area's layouts with a lower bound on their price, the lowest first."""
    layouts = [lay(area, origin) for origin in starts(area)]
    return sorted(
        ((_bound_of([layout], [area]), layout) for layout in layouts),
        key=lambda c: (c[0], c[1].open_count, len(c[1].pieces), c[1].origin),
    )


def _bound_of(layouts: Sequence[Layout], areas: Sequence[Surveyed]) -> float:
    """A bound on the price: whole tiles, the wood of the pieces, and what already stays open."""
    total = 0.0
    known = {area.index: area for area in areas}
    for layout in layouts:
        area = known[layout.area]
        tile = area.job.tile
        wood = sum(area2(piece.shape.outline) for piece in layout.pieces) / 2 / (tile.length * tile.width)
        total += area.site.count * (layout.whole + wood + OPEN_PRICE * layout.open_count)
    return total


def _worked_out(layouts: Sequence[Layout], areas: Sequence[Surveyed], job: Job, carpenter: Carpenter) -> _Grid:
    """Fit and cut one choice of layouts."""
    counts = [area.site.count for area in areas]
    pieces = [piece for layout in layouts for piece in layout.pieces]
    stock = sort_pieces(pieces, [counts[piece.area] for piece in pieces], carpenter)
    refused = dict(stock.refused)
    kept = [piece for number, piece in enumerate(pieces) if number not in refused]
    if refused:
        gone = {id(pieces[number]): refusal for number, refusal in refused.items()}
        layouts = [_opened(layout, gone, areas[layout.area]) for layout in layouts]
        kept = [piece for layout in layouts for piece in layout.pieces]
        stock = sort_pieces(kept, [counts[piece.area] for piece in kept], carpenter)
    plan = cut(stock, job, carpenter)
    open_parts = sum(counts[layout.area] * layout.open_count for layout in layouts)
    whole = sum(counts[layout.area] * layout.whole for layout in layouts)
    hours = sum(tile.pattern.minutes * tile.uses for tile in plan.tiles) / 1e5
    price = whole + plan.count + OPEN_PRICE * open_parts + hours
    return _Grid(layouts=tuple(layouts), pieces=tuple(kept), cut=plan, price=price)


def _opened(layout: Layout, gone: dict[int, Refusal], area: Surveyed) -> Layout:
    """The layout with the pieces that cannot be made listed as left open."""
    cells: list[Cell] = []
    for cell in layout.cells:
        here = [p for p in layout.pieces if (p.row, p.col) == (cell.row, cell.col)]
        lost = [p for p in here if id(p) in gone]
        if lost:
            left = tuple(_left(p, gone[id(p)], cell, layout, area) for p in lost)
            kind = "cut" if len(lost) < len(here) else "left"
            cell = replace(cell, kind=kind, left=cell.left + left)  # type: ignore[arg-type]
        cells.append(cell)
    pieces = [p for p in layout.pieces if id(p) not in gone]
    return refixed(replace(layout, cells=tuple(cells), pieces=tuple(pieces)), area)


def _left(piece: Piece, refusal: Refusal, cell: Cell, layout: Layout, area: Surveyed) -> Left:
    corner = corner_of(layout.origin, layout.pitch, cell.row, cell.col)
    ring = tuple(to_layout(p, corner, cell.quarter_turn, area.job.tile.width) for p in piece.shape.outline)
    return Left(outline=ring, rule=refusal.rule, why=refusal.why)


def _refuse_nothing(best: _Grid, areas: Sequence[Surveyed], job: Job) -> None:
    if best.pieces or any(layout.whole for layout in best.layouts):
        return
    reasons = sorted({left.rule for layout in best.layouts for cell in layout.cells for left in cell.left})
    rule = reasons[0] if reasons else "wall_gap"
    size = max(polygon(area.site.outline).length for area in areas)
    raise NoPlan(
        what=f"nothing can be laid in {job.name!r} (perimeter {size / 320_000:.2f} m)",
        rule=rule,
        remedy="loosen it in [rules], choose a smaller tile or another grid start",
    )
