"""What to buy: tiles with breakage in one batch, supports, screws, backers, sealer, stone."""

from __future__ import annotations

import math
from dataclasses import dataclass

from cutopt.planfile.model import Purchase
from cutopt.rules import Rules

STONE_DEPTH = 0.05  # metres: depth of a stone border where nothing else is said; common practice, no source


@dataclass(frozen=True, kw_only=True, slots=True)
class Needs:
    """Counts over all copies of all areas: supports by shape, screws that are new, areas in square metres."""

    whole: int
    cut: int
    whole_supports: int
    half_supports: int
    quarter_supports: int
    trimmed_supports: int
    holes_drilled: int
    screws_driven: int
    spare_backers: int
    sealed: float
    stone: float


def breakage(needs: Needs, rules: Rules) -> int:
    """Tiles bought beyond the plan, common practice: a share of whole and of cut ones, and a least number."""
    share = needs.whole * rules.breakage_whole / 100 + needs.cut * rules.breakage_cut / 100
    return max(rules.breakage_least, math.ceil(share - 1e-9))


def supports_to_buy(needs: Needs) -> int:
    """Whole supports: halves come two, quarters four out of one; a trimmed one takes a whole."""
    parts = needs.half_supports / 2 + needs.quarter_supports / 4
    return needs.whole_supports + needs.trimmed_supports + math.ceil(parts)


def purchases(needs: Needs, rules: Rules) -> tuple[Purchase, ...]:
    """The shopping list, nothing that is not needed."""
    tiles = needs.whole + needs.cut
    extra = breakage(needs, rules)
    guides = math.ceil(needs.holes_drilled / rules.guide_holes)
    screws = math.ceil(needs.screws_driven * 0.1)
    litres = math.ceil(needs.sealed / rules.sealer_coverage * 20) / 20
    lines = [
        ("tile", tiles + extra, "pieces", f"{tiles} and {extra} for breakage, all of one batch"),
        (
            "support", supports_to_buy(needs) + guides, "pieces",
            f"in whole {needs.whole_supports}, halved {needs.half_supports}, quartered {needs.quarter_supports}, "
            f"trimmed {needs.trimmed_supports}, worn out as drilling guides {guides}",
        ),
        ("screw", screws, "pieces", f"one for ten of the {needs.screws_driven} that are driven again"),
        ("backer", needs.spare_backers, "pieces", "wanted beyond what the tiles leave"),
        ("end-grain sealer", litres, "litres", f"{needs.sealed:.2f} m² at {rules.sealer_coverage:g} m² a litre"),
        (
            "stone", math.ceil(needs.stone * STONE_DEPTH * 100) / 100, "m³",
            f"{needs.stone:.2f} m² of border, {STONE_DEPTH * 1000:g} mm deep",
        ),
    ]  # fmt: skip
    return tuple(Purchase(item=i, count=c, unit=u, why=w) for i, c, u, w in lines if c)
