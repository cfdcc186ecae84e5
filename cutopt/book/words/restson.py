"""What the money and the weight rest on, in words for the page. No verdict on either."""

from __future__ import annotations

from cutopt.book.words import printed
from cutopt.planfile.model import Plan

LB_PER_FT2 = 0.3048**2 / 0.45359237  # in a kilogram per square metre; both exact (NIST SP 811, App. B.8)


def money_lines(plan: Plan) -> tuple[str, ...]:
    """What the cost is made of, what it leaves out and what the hours rest on; nothing where the job has no prices."""
    totals, prices = plan.totals, plan.totals.prices
    if not totals.cost or not prices:
        return ()
    tiles, backers = totals.tiles * prices["tile"], totals.spare_backers * prices["backer"]
    work = totals.cost - tiles - backers  # the minutes are rounded, the cost is not made of rounded ones
    parts = (
        (printed.plural(totals.tiles, "tile"), "tile", "", tiles),
        (f"{printed.minutes(totals.minutes)} of one person", "hour", " an hour", work),
        (printed.plural(totals.spare_backers, "bought backer"), "backer", "", backers),
    )
    money, currency = printed.money, totals.currency
    lines = [
        f"{what} at {money(prices[key], currency)}{each}: {money(part, currency)}"
        for what, key, each, part in parts
        if prices[key] and part > 0
    ]
    return (
        *lines,
        "Not in it: the tiles for breakage, all else on the shopping list, carriage and disposal.",
        "The hours rest on the rules rate_mark to rate_lay_cut: common practice, no source. Time the first tiles and "
        "give the job your own.",
    )


def weight_line(plan: Plan) -> str:
    """What a square metre of tiles weighs, and that somebody has to check what is below; empty in older plans."""
    weight = plan.totals.weight_per_m2
    if not weight:
        return ""
    words = f"{weight:g} kg/m²" if plan.job.show == "mm" else f"{weight * LB_PER_FT2:.1f} lb/ft² ({weight:g} kg/m²)"
    return (
        f"The wood of the tiles weighs about {words} at the density that the job gives, {plan.tile.density:g} kg/m³. "
        "Wet wood weighs more; screws, supports, stone and people come on top. Have a licensed engineer check whether "
        "the roof or slab bears it: nothing here says that it does."
    )
