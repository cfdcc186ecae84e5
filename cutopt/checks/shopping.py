"""What is to be bought is no less than what the plan takes."""

from __future__ import annotations

import math
from collections import Counter, defaultdict
from collections.abc import Iterator

from cutopt.checks.evidence import Evidence
from cutopt.checks.finding import Fault, fault
from cutopt.checks.shapes import TOLERANCE, number, polygon
from cutopt.planfile.model import AreaSupport

PLAY = 1e-6  # of a count or a quantity
BLADES = {"table_saw": "blade, table saw", "guided_saw": "blade, guided saw", "jigsaw": "blade, jigsaw"}
DISCS = ("abrasive disc, grit 80", "abrasive disc, grit 120")
FACE_PLAY = 0.999  # of the walking face: corners of boards are rounded to ticks


def shopping(evidence: Evidence) -> Iterator[Fault]:
    """All faults of the shopping list."""
    plan, limits = evidence.plan, evidence.limits
    bought: defaultdict[str, float] = defaultdict(float)
    for line in plan.buy:
        bought[line.item] += line.count
        if line.count < 0:
            yield fault("buy", "buy", f"{line.item}: {number(line.count)} to be bought")
    for item, least in (*_counts(evidence), *_quantities(evidence)):
        if bought[item] < least - PLAY:
            yield fault("buy", "buy", f"{item}: {number(bought[item])} to be bought; the plan takes {number(least)}")
    pack = limits.tiles_a_pack
    if pack > 0 and abs(bought["tile"] / pack - round(bought["tile"] / pack)) > PLAY:
        yield fault("buy", "buy", f"tile: {number(bought['tile'])} to be bought; a pack has {number(pack)}")


def _counts(evidence: Evidence) -> Iterator[tuple[str, float]]:
    """Tiles with breakage, supports, bought backers, blades, cartridges."""
    plan, limits = evidence.plan, evidence.limits
    share = plan.totals.whole * limits.breakage_whole / 100 + plan.totals.cut * limits.breakage_cut / 100
    yield "tile", plan.totals.tiles + max(limits.breakage_least, math.ceil(share - 1e-9))
    counts = {area.name: area.count for area in plan.areas}
    yield "support", math.ceil(sum(_part(support) * counts.get(support.area, 1) for support in plan.supports))
    yield "backer", plan.totals.spare_backers
    cuts = Counter(dict.fromkeys(BLADES, 0))
    for source in plan.sources:
        for cut in source.cuts:
            cuts[cut.saw] += source.uses
    for saw, item in BLADES.items():
        yield item, math.ceil(_over(cuts[saw], limits.jigsaw_blade_cuts if saw == "jigsaw" else limits.blade_cuts))
    dabs = limits.dabs_a_support * sum(counts.get(support.area, 1) for support in plan.supports)
    yield "adhesive", math.ceil(_over(dabs, limits.dabs_a_cartridge))


def _quantities(evidence: Evidence) -> Iterator[tuple[str, float]]:
    """Sealer for the sealed area; coating and discs for the walking face of whole tiles and pieces."""
    plan, limits, tile = evidence.plan, evidence.limits, evidence.plan.tile
    yield "end-grain sealer", _over(plan.totals.sealed_area / 1e6, limits.sealer_coverage)
    face = plan.totals.whole * sum(slat.v[1] - slat.v[0] for slat in tile.slats) * tile.length
    face += sum(placed.source.uses * board.outline.area for placed in evidence.placed for board in placed.boards)
    square_metres = face / 1e6 * FACE_PLAY
    yield "coating", _over(square_metres * limits.coats, limits.coat_coverage)
    if limits.coats:
        for item in DISCS:
            yield item, math.ceil(_over(square_metres, limits.disc_coverage))


def _over(amount: float, lasts: float) -> float:
    """How many it takes; none where the rule says that one lasts for nothing, which no job may."""
    return amount / lasts if lasts > 0 else 0.0


def _part(support: AreaSupport) -> float:
    """The part of a whole support that one comes out of: a half or quarter where it lies on one side of its middle."""
    (x, y), shape = support.at, polygon(support.outline)
    if shape.is_empty:
        return 1.0
    x0, y0, x1, y1 = shape.bounds
    sawn = (x1 <= x + TOLERANCE or x0 >= x - TOLERANCE, y1 <= y + TOLERANCE or y0 >= y - TOLERANCE)
    return float(0.5 ** sum(sawn))
