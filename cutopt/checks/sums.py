"""Totals and proof add up, and the shopping list is no less than what the plan takes."""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterator

from shapely.ops import unary_union

from cutopt.checks.evidence import Evidence, cell_to_layout
from cutopt.checks.finding import Fault, fault
from cutopt.checks.ground import bare_ground
from cutopt.checks.settings import different, setups
from cutopt.checks.shapes import common, number, polygon
from cutopt.checks.shopping import shopping
from cutopt.planfile import Plan
from cutopt.planfile.model import Source

AREA_PLAY = 1.0  # mm2 for each source: coordinates are rounded to ticks
AIM_PLAY = 0.1  # of money or minutes: totals are rounded
STONE_PLAY = 4.0  # mm2 for each cell with stone
MINUTES_PLAY, MONEY_PLAY, WEIGHT_PLAY = 0.051, 0.011, 0.051  # totals are rounded to 0.1 min, 0.01 and 0.1 kg
PRICES = {"tile", "hour", "backer"}


def sums(evidence: Evidence) -> Iterator[Fault]:
    """All faults of totals."""
    plan = evidence.plan
    yield from _counts(plan)
    yield from _areas(evidence)
    yield from _proof(plan)
    yield from _setups(evidence)
    yield from _stone(evidence)
    yield from _money(plan)
    yield from _weight(plan)
    yield from shopping(evidence)


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
        need = bare_ground(area)
        for cell in area.cells:
            lefts = [polygon(left.outline) for left in cell.left if left.rule == "stone_edge"]
            if lefts:
                place = cell_to_layout(evidence.plan, area, cell).shape(evidence.rectangle)
                found += area.count * common(common(need, place), unary_union(lefts)).area
                cells += area.count
    if abs(stated - found) > STONE_PLAY * cells + 1.0:
        yield fault("totals", "totals.stone_area", f"is {number(stated)}; counted {number(found)}")


def _money(plan: Plan) -> Iterator[Fault]:
    """The cost is that of tiles, hours and backers at the stated prices; older plans state none, and there a cost that
    is no amount of money is wrong all the same.
    """
    totals, prices = plan.totals, plan.totals.prices
    if not math.isfinite(totals.cost) or totals.cost < 0:
        yield fault("totals", "totals.cost", f"is {totals.cost}")
    if not prices:
        return
    if set(prices) != PRICES or any(price < 0 for price in prices.values()):
        yield fault("totals", "totals.prices", f"are {prices}; a tile, an hour and a backer have prices, 0 or more")
        return
    found = totals.tiles * prices["tile"] + totals.minutes / 60 * prices["hour"]
    found += totals.spare_backers * prices["backer"]
    if abs(totals.cost - found) > MINUTES_PLAY / 60 * prices["hour"] + MONEY_PLAY:
        yield fault("totals", "totals.cost", f"is {totals.cost}; at the stated prices it comes to {number(found)}")


def _weight(plan: Plan) -> Iterator[Fault]:
    """Slats and backers at the tile's density over the tile's own area, kg/m2; older plans state none."""
    tile, stated = plan.tile, plan.totals.weight_per_m2
    slats = sum(slat.v[1] - slat.v[0] for slat in tile.slats) * tile.length * tile.slat_thickness
    backers = sum((backer.v[1] - backer.v[0]) * backer.width for backer in tile.backers) * tile.backer_thickness
    face = tile.length * tile.width
    found = (slats + backers) * tile.density / 1000 / face if face else 0.0
    if stated and abs(stated - found) > WEIGHT_PLAY:
        yield fault("totals", "totals.weight_per_m2", f"is {stated}; the tile's boards weigh {number(found)}")
