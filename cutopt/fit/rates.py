"""Minutes of what is more than single screws and holes: what `fit` takes for least is what the steps add up to.

`fit` knows no saws: it counts the table saw, and `work` the one that is used. Neither where a board's wood comes from:
the crosscuts that it may want are counted by `work` alone.
"""

from __future__ import annotations

from cutopt.rules import Rules

PASSES = 2  # a board is ripped as much off each edge


def hanging(rules: Rules, *, leaning: bool) -> float:
    """A backer is hung, its oblique line marked first if it leans."""
    return rules.rate_backer + rules.rate_mark * leaning


def ripping(rules: Rules) -> float:
    """A backer is ripped narrower."""
    return PASSES * rules.rate_table_saw


def sharing(rules: Rules) -> float:
    """Two slats share: one is ripped, both are laid back."""
    return rules.rate_table_saw + rules.rate_share


def starting(rules: Rules, rings: int) -> float:
    """Starter holes for the jigsaw, one for each ring that is cut out of a piece's inside."""
    return rules.rate_hole * rings
