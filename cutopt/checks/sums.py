"""Totals, proof and shopping list add up."""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterator

from shapely.ops import unary_union

from cutopt.checks.evidence import Evidence, cell_to_layout
from cutopt.checks.finding import Fault, fault
from cutopt.checks.ground import ground
from cutopt.checks.settings import different, setups
from cutopt.checks.shapes import TOLERANCE, common, number, polygon
from cutopt.planfile import Plan
from cutopt.planfile.model import AreaSupport, Source

AREA_PLAY = 1.0  # mm2 for each source: coordinates are rounded to ticks
AIM_PLAY = 0.1  # of money or minutes: totals are rounded
STONE_PLAY = 4.0  # mm2 for each cell with stone


def sums(evidence: Evidence) -> Iterator[Fault]:
    """All faults of totals."""
    plan = evidence.plan
    yield from _counts(plan)
    yield from _areas(evidence)
    yield from _proof(plan)
    yield from _setups(evidence)
    yield from _stone(evidence)
    yield from _money(plan)
    yield from _buy(evidence)


def _counts(plan: Plan) -> Iterator[Fault]:
    totals = plan.totals
    counts = {area.name: area.count for area in plan.areas}
    whole = sum(area.count for area in plan.areas for cell in area.cells if cell.kind == "whole")
    cut = sum(source.uses for source in plan.sources if source.from_ == "new")
    pieces = sum(counts.get(piece.area, 1) for piece in plan.pieces)
    drilled = sum(s.uses for s in plan.sources for hole in s.pin_holes if hole.state == "drilled")
    moved = sum(s.uses for s in plan.sources for screw in s.screws if screw.state != "kept")
    spare = sum(s.uses for s in plan.sources for backer in s.backers if backer.from_ is None)
    for name, stated, found in (
        ("whole", totals.whole, whole),
        ("cut", totals.cut, cut),
        ("tiles", totals.tiles, whole + cut),
        ("pieces", totals.pieces, pieces),
        ("one_for_one", totals.one_for_one, whole + pieces),
        ("spare_backers", totals.spare_backers, spare),
        ("screws_moved", totals.screws_moved, moved),
        ("holes_drilled", totals.holes_drilled, drilled),
    ):
        if stated != found:
            yield fault("totals", f"totals.{name}", f"is {stated}; counted {found}")


def _areas(evidence: Evidence) -> Iterator[Fault]:
    """Areas in mm2: sealed = length x thickness; offcuts are those kept, waste is all else of the sources, dust too."""
    plan = evidence.plan
    sealed = kept = waste = 0.0
    for source in plan.sources:
        sealed += source.uses * _sealed(source)
        racked = sum(polygon(offcut.outline).area for offcut in source.offcuts if offcut.keep)
        laid = sum(placed.outline.area for placed in evidence.on(source))
        kept += source.uses * racked
        waste += source.uses * (polygon(source.outline).area - laid - racked)
    play = AREA_PLAY * sum(source.uses for source in plan.sources) + 1.0
    for name, stated, found in (
        ("sealed_area", plan.totals.sealed_area, sealed),
        ("offcut_area", plan.totals.offcut_area, kept),
        ("waste_area", plan.totals.waste_area, waste),
    ):
        if abs(stated - found) > play:
            yield fault("totals", f"totals.{name}", f"is {number(stated)}; counted {number(found)}")


def _sealed(source: Source) -> float:
    lines = [(line.path, line.thickness) for line in source.sealed]
    return sum(thickness * sum(math.dist(a, b) for a, b in itertools.pairwise(path)) for path, thickness in lines)


def _proof(plan: Plan) -> Iterator[Fault]:
    proof, totals = plan.proof, plan.totals
    meets = abs(proof.value - proof.bound) < 1e-6 * max(1.0, abs(proof.value))
    if proof.met is not meets:
        yield fault("proof", "proof.met", f"is {proof.met}; value {proof.value}, bound {proof.bound}")
    if proof.bound > proof.value + 1e-6 * max(1.0, abs(proof.value)):
        yield fault("proof", "proof.bound", f"is {proof.bound}, above the value {proof.value} that the plan reaches")
    if totals.proven is not proof.met:
        yield fault("proof", "totals.proven", f"is {totals.proven}; the proof says {proof.met}")
    if totals.lower_bound > totals.cut:
        yield fault(
            "proof", "totals.lower_bound", f"is {totals.lower_bound}, above the {totals.cut} tiles that are cut"
        )
    money_or_time = {"cost": totals.cost, "minutes": totals.minutes}.get(proof.aim)
    if money_or_time is not None and abs(proof.value - money_or_time) > AIM_PLAY:
        text = f"is {proof.value}; the aim is {proof.aim}, which comes to {money_or_time}"
        yield fault("proof", "proof.value", text)
    if proof.aim == "tiles":
        if proof.value != totals.cut:
            yield fault("proof", "proof.value", f"is {proof.value}; {totals.cut} tiles are cut")
        if math.ceil(proof.bound - 1e-6) != totals.lower_bound:
            yield fault("proof", "totals.lower_bound", f"is {totals.lower_bound}; the proof's bound is {proof.bound}")


def _buy(evidence: Evidence) -> Iterator[Fault]:
    """What is to be bought is no less than what the plan takes: tiles with breakage, supports, backers, sealer."""
    plan, limits = evidence.plan, evidence.limits
    share = plan.totals.whole * limits.breakage_whole / 100 + plan.totals.cut * limits.breakage_cut / 100
    tiles = plan.totals.tiles + max(limits.breakage_least, math.ceil(share - 1e-9))
    counts = {area.name: area.count for area in plan.areas}
    supports = sum(_part(support) * counts.get(support.area, 1) for support in plan.supports)
    litres = plan.totals.sealed_area / 1e6 / limits.sealer_coverage if limits.sealer_coverage else 0.0
    for item, least in (
        ("tile", tiles),
        ("support", math.ceil(supports)),
        ("backer", plan.totals.spare_backers),
        ("end-grain sealer", litres),
    ):
        bought = sum(line.count for line in plan.buy if line.item == item)
        if bought < least - 1e-6:
            yield fault("buy", "buy", f"{item}: {number(bought)} to be bought; the plan takes {number(least)}")


def _part(support: AreaSupport) -> float:
    """The part of a whole support that one comes out of: a half or quarter where it lies on one side of its middle."""
    (x, y), shape = support.at, polygon(support.outline)
    if shape.is_empty:
        return 1.0
    x0, y0, x1, y1 = shape.bounds
    sawn = (x1 <= x + TOLERANCE or x0 >= x - TOLERANCE, y1 <= y + TOLERANCE or y0 >= y - TOLERANCE)
    return float(0.5 ** sum(sawn))


def _setups(evidence: Evidence) -> Iterator[Fault]:
    stated, found = evidence.plan.totals.setups, setups(evidence)
    if stated != found:
        yield fault("totals", "totals.setups", f"is {stated}; the steps change the fence {found} times")
    bound, kinds = evidence.plan.totals.setups_bound, different(evidence)
    if bound > found:
        yield fault("totals", "totals.setups_bound", f"is {bound}, above the {found} settings that the steps take")
    elif 0 < bound < kinds:
        yield fault("totals", "totals.setups_bound", f"is {bound}; the cuts want {kinds} different settings")


def _stone(evidence: Evidence) -> Iterator[Fault]:
    """Ground of the cells along a stone border that has to be covered and that no wood covers, mm2."""
    stated, found, cells = evidence.plan.totals.stone_area, 0.0, 0
    for area in evidence.plan.areas:
        need = ground(area).need
        for cell in area.cells:
            lefts = [polygon(left.outline) for left in cell.left if left.rule == "stone_edge"]
            if lefts:
                place = cell_to_layout(evidence.plan, area, cell).shape(evidence.rectangle)
                found += area.count * common(common(need, place), unary_union(lefts)).area
                cells += area.count
    if abs(stated - found) > STONE_PLAY * cells + 1.0:
        yield fault("totals", "totals.stone_area", f"is {number(stated)}; counted {number(found)}")


def _money(plan: Plan) -> Iterator[Fault]:
    """The prices are not in the plan; a cost that is no amount of money is wrong all the same."""
    if not math.isfinite(plan.totals.cost) or plan.totals.cost < 0:
        yield fault("totals", "totals.cost", f"is {plan.totals.cost}")
