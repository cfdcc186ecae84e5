"""The whole plan file of a planned job."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass

from cutopt.cut import CutPlan
from cutopt.geometry import area2
from cutopt.hang import HungSource, PlacedSupport
from cutopt.job.records import Job
from cutopt.lay.laying import Surveyed
from cutopt.lay.records import Layout, Piece, Shape
from cutopt.lengths import ticks
from cutopt.planfile import Plan, model
from cutopt.rules import as_plan_values
from cutopt.work import Ids, Needs, Work, ids_of, parts_of, purchases, setups_of, weight_per_m2, work_of
from cutopt.writeup.areas import area_of, piece_of, stock_of, tile_of
from cutopt.writeup.mm import outline, point
from cutopt.writeup.sources import SourceWriter

SQUARE_TICKS = 320.0 * 320.0  # in a square millimetre


@dataclass(frozen=True, kw_only=True)
class Result:
    """What planning found: layouts of all areas, the job's pieces, the cut plan and its hung sources."""

    job: Job
    areas: tuple[Surveyed, ...]
    layouts: tuple[Layout, ...]
    pieces: tuple[Piece, ...]
    cut: CutPlan
    sources: tuple[HungSource, ...]
    supports: tuple[PlacedSupport, ...]
    considered: int
    dropped: int
    finished: bool
    interrupted: bool
    seed: int

    @property
    def counts(self) -> list[int]:
        """How many alike of each area."""
        return [area.site.count for area in self.areas]


def plan_of(result: Result) -> Plan:
    """The plan file's records."""
    job = result.job
    ids = ids_of(result.sources, {offcut.id for offcut in job.rack})
    work = work_of(result.sources, result.pieces, ids, job)
    steps = work.steps
    steps_of: dict[str, list[model.Step]] = {}
    for step in steps:
        steps_of.setdefault(step.source, []).append(step)
    sources = tuple(
        SourceWriter(
            number=n, source=source, ids=ids, job=source.tile.at_bench(job), steps=steps_of.get(ids.source(n), [])
        ).record()
        for n, source in enumerate(result.sources)
    )
    needs = _needs(result, sources)
    names = [area.site.name for area in result.areas]
    totals = _totals(result, sources, work, needs)
    return Plan(
        job=model.JobLine(name=job.name, sha256=job.sha256, show=job.show, mark=job.mark / 320, seed=result.seed),
        rules=as_plan_values(job.rules),
        kerf={saw: kerf / 320 for saw, kerf in job.cutting.kerf.items() if saw in job.cutting.saws},
        strategy=job.cutting.strategy,
        tile=tile_of(job.tile),
        stock=tuple(stock_of(source.tile.offcut) for source in result.sources if source.tile.offcut),
        areas=tuple(
            area_of(area, layout, result.pieces, ids) for area, layout in zip(result.areas, result.layouts, strict=True)
        ),
        pieces=tuple(piece_of(n, piece, names[piece.area], ids) for n, piece in enumerate(result.pieces)),
        sources=sources,
        supports=tuple(
            model.AreaSupport(
                area=names[s.area], at=point(s.at), shape=s.shape, outline=outline(s.outline), pins=outline(s.pins)
            )
            for s in result.supports
        ),
        steps=steps,
        proof=_proof(result, totals),
        totals=totals,
        buy=purchases(needs, job),
        warnings=_warnings(result),
    )


def _needs(result: Result, sources: Sequence[model.Source]) -> Needs:
    counts = result.counts
    stone = sum(
        left.area2 / 2 * counts[layout.area]
        for layout in result.layouts
        for cell in layout.cells
        for left in cell.left
        if left.rule == "stone_edge"
    )
    return Needs(
        whole=sum(layout.whole * counts[layout.area] for layout in result.layouts),
        cut=result.cut.count,
        supports=parts_of(result.supports, counts, result.job.tile.support.pad),
        standing=sum(counts[support.area] for support in result.supports),
        holes_drilled=sum(s.uses * sum(h.state == "drilled" for h in s.pin_holes) for s in sources),
        screws_driven=sum(s.uses * sum(x.state != "kept" for x in s.screws) for s in sources),
        predrilled=sum(s.tile.uses * sum(x.drive.predrilled for x in s.screwed) for s in result.sources),
        spare=_spare(sources),
        cuts=_cuts(sources),
        sealed=_sealed(sources) / 1e6,
        face=_face(result, sources) / 1e6,
        stone=stone / SQUARE_TICKS / 1e6,
    )


def _spare(sources: Sequence[model.Source]) -> Counter[tuple[int, int]]:
    """Backers to buy by length and width, ticks."""
    found: Counter[tuple[int, int]] = Counter()
    for source in sources:
        for backer in source.backers:
            if backer.from_ is None:
                found[ticks(math.dist(backer.line[0], backer.line[-1])), ticks(backer.width)] += source.uses
    return found


def _cuts(sources: Sequence[model.Source]) -> Counter[str]:
    """Cuts by saw."""
    found: Counter[str] = Counter()
    for source in sources:
        for cut in source.cuts:
            found[cut.saw] += source.uses
    return found


def _face(result: Result, sources: Sequence[model.Source]) -> float:
    """Square millimetres of the walking face of all that is laid: slats without the gaps between them."""
    tile = result.job.tile
    own = sum(slat.v[1] - slat.v[0] for slat in tile.slats) * tile.length / SQUARE_TICKS
    whole = sum(layout.whole * result.counts[layout.area] for layout in result.layouts)
    return whole * own + sum(s.uses * _square_mm(slat.outline) for s in sources for slat in s.slats)


def _square_mm(ring: Sequence[tuple[float, float]]) -> float:
    return abs(area2([(ticks(x), ticks(y)) for x, y in ring])) / 2 / SQUARE_TICKS


def _sealed(sources: Sequence[model.Source]) -> float:
    """Square millimetres of end grain to seal."""
    return sum(s.uses * sum(math.dist(e.path[0], e.path[-1]) * e.thickness for e in s.sealed) for s in sources)


def _totals(result: Result, sources: Sequence[model.Source], work: Work, needs: Needs) -> model.Totals:
    job, counts, steps = result.job, result.counts, work.steps
    pieces = sum(counts[piece.area] for piece in result.pieces)
    stations: dict[str, float] = {}
    for step in steps:
        stations[step.station] = stations.get(step.station, 0.0) + step.minutes
    stations["setting fences"] = setups_of(steps) * job.rules.rate_setup
    stations["laying"] = needs.whole * job.rules.rate_lay_whole + pieces * job.rules.rate_lay_cut
    minutes = sum(stations.values())
    kept, waste = _left_over(result)
    tiles = needs.whole + needs.cut
    cost = tiles * job.money.tile + minutes / 60 * job.money.hour + needs.spare_backers * job.money.backer
    return model.Totals(
        tiles=tiles,
        whole=needs.whole,
        cut=needs.cut,
        one_for_one=needs.whole + pieces,
        lower_bound=result.cut.bound,
        proven=_over(result.cut) == 0,
        pieces=pieces,
        spare_backers=needs.spare_backers,
        setups=setups_of(steps),
        setups_bound=work.least_setups,
        screws_moved=needs.screws_driven,
        holes_drilled=needs.holes_drilled,
        sealed_area=round(_sealed(sources), 3),
        minutes=round(minutes, 1),
        minutes_by_station={name: round(value, 1) for name, value in sorted(stations.items())},
        cost=round(cost, 2),
        prices={"tile": job.money.tile, "hour": job.money.hour, "backer": job.money.backer},
        currency=job.money.currency,
        offcut_area=round(kept, 3),
        waste_area=round(waste, 3),
        stone_area=round(needs.stone * 1e6, 3),
        weight_per_m2=round(weight_per_m2(job.tile), 1),
    )


def _left_over(result: Result) -> tuple[float, float]:
    """Square millimetres racked, and all else of the cut tiles that goes into no piece, dust included."""
    tile = result.job.tile
    whole = result.cut.count * tile.length * tile.width / SQUARE_TICKS
    whole += sum(area2(s.tile.offcut.outline) / 2 / SQUARE_TICKS for s in result.sources if s.tile.offcut)
    used = sum(
        source.tile.uses * _wood2(place.shape) / 2 / SQUARE_TICKS
        for source in result.sources
        for place in source.tile.pattern.places
    )
    kept = sum(
        source.tile.uses * area2(rest.outline) / 2 / SQUARE_TICKS
        for source in result.sources
        for rest in source.rests
        if rest.keep
    )
    return kept, whole - used - kept


def _wood2(shape: Shape) -> int:
    """Twice the area of a shape without its holes, square ticks."""
    return area2(shape.outline) - sum(abs(area2(hole)) for hole in shape.holes)


def _over(cut: CutPlan) -> float:
    """How far the plan may be from the best by its aim, to a hundredth."""
    return round(cut.value - cut.least, 2)


def _proof(result: Result, totals: model.Totals) -> model.Proof:
    """What is proven, and for which grid starts."""
    many = result.considered > 1 and result.finished
    met = totals.proven
    aim = result.job.cutting.aim
    value: float = {"tiles": totals.cut, "cost": totals.cost, "minutes": totals.minutes}[aim]
    # what the cut plan does not decide (laying, labels, fence setups) is taken as it is: another start may need less
    return model.Proof(
        aim=aim,
        value=value,
        bound=totals.lower_bound if aim == "tiles" else max(round(value - _over(result.cut), 2), 0.0),
        met=totals.proven,
        scope="listed grids" if many and aim == "tiles" else "this grid",
        stopped="interrupted" if result.interrupted else "met" if met else "limit",
        grids=model.Grids(considered=result.considered, dropped=result.dropped),
    )


def _warnings(result: Result) -> tuple[str, ...]:
    """What the foreman should know before buying."""
    said = [*result.job.tile.warnings, *result.job.warnings]
    if result.interrupted:
        said.append("the search was interrupted: this is the best plan found by then")
    for number, source in enumerate(result.sources):
        narrow = sum(screwed.drive.predrilled for screwed in source.screwed)
        if narrow:
            said.append(f"{Ids.source(number)}: new screws near an edge or end, to be predrilled: {narrow}")
    open_parts = sum(layout.open_count for layout in result.layouts)
    if open_parts:
        parts = "1 part of a cell stays" if open_parts == 1 else f"{open_parts} parts of cells stay"
        said.append(f"{parts} open: see the list of what stays open, with the rule behind each")
    return tuple(said)
