"""What to buy: tiles with breakage in one batch, supports, screws, backers, sealer, stone."""

from __future__ import annotations

import math
from dataclasses import dataclass

from cutopt.job.records import Job
from cutopt.planfile.model import Purchase
from cutopt.rules import Rules
from cutopt.work.names import Wording
from cutopt.work.pilot import bit, source
from cutopt.work.supporting import Parts

STONE_DEPTH = 0.05  # metres: depth of a stone border where nothing else is said; common practice, no source


@dataclass(frozen=True, kw_only=True, slots=True)
class Needs:
    """Counts over all copies of all areas; areas in square metres."""

    whole: int
    cut: int
    supports: Parts
    holes_drilled: int
    screws_driven: int
    predrilled: int
    spare_backers: int
    sealed: float
    stone: float


def breakage(needs: Needs, rules: Rules) -> int:
    """Tiles bought beyond the plan, common practice: a share of whole and of cut ones, and a least number."""
    share = needs.whole * rules.breakage_whole / 100 + needs.cut * rules.breakage_cut / 100
    return max(rules.breakage_least, math.ceil(share - 1e-9))


def purchases(needs: Needs, job: Job) -> tuple[Purchase, ...]:
    """The shopping list, nothing that is not needed."""
    rules = job.rules
    tiles = needs.whole + needs.cut
    extra = breakage(needs, rules)
    guides = math.ceil(needs.holes_drilled / rules.guide_holes)
    screws = math.ceil(needs.screws_driven * 0.1)
    litres = math.ceil(needs.sealed / rules.sealer_coverage * 20) / 20
    lines = [
        ("tile", tiles + extra, "pieces", f"{tiles} and {extra} for breakage, all of one batch"),
        (
            "support", needs.supports.to_buy + guides, "pieces",
            f"{needs.supports.words}; {guides} worn out as drilling guides",
        ),
        ("screw", screws, "pieces", f"one for ten of the {needs.screws_driven} that are driven again"),
        (
            f"drill bit, {Wording(job=job, source=()).length(bit(job))}", min(needs.predrilled, 1), "pieces",
            f"for {needs.predrilled} screws near an edge or end, predrilled; {source(job.tile)}",
        ),
        ("backer", needs.spare_backers, "pieces", "wanted beyond what the tiles leave"),
        ("end-grain sealer", litres, "litres", f"{needs.sealed:.2f} m² at {rules.sealer_coverage:g} m² a litre"),
        (
            "stone", math.ceil(needs.stone * STONE_DEPTH * 100) / 100, "m³",
            f"{needs.stone:.2f} m² of border, {STONE_DEPTH * 1000:g} mm deep",
        ),
    ]  # fmt: skip
    return tuple(Purchase(item=i, count=c, unit=u, why=w) for i, c, u, w in lines if c)
