"""Sentences that page and terminal share: what is proven, what is counted."""

from __future__ import annotations

from cutopt.book.words import printed
from cutopt.planfile.model import Plan

STOPPED = {"met": "", "limit": " The search stopped at its limit.", "interrupted": " The search was interrupted."}


def tiles_to_buy(plan: Plan) -> str:
    """The tiles on the shopping list, with the reason there, or those that the plan needs."""
    for purchase in plan.buy:
        if purchase.item == "tile":
            return (
                f"{printed.count(purchase.count)} ({purchase.why})" if purchase.why else printed.count(purchase.count)
            )
    return f"{plan.totals.tiles}, without any for breakage"


def proof(plan: Plan) -> str:
    """Whether value and bound meet, and for what; never "proven" where they do not."""
    found = plan.proof
    value, bound = _amount(plan, found.value), _amount(plan, found.bound)
    if found.scope == "listed grids":
        scope = f"the sizes as laid, over the {printed.plural(found.grids.considered, 'grid start')} considered"
    else:
        scope = "the sizes as laid, at this grid start"
    if found.aim != "tiles":
        scope = f"{scope}, with the fence settings and the laying as they are here"
    if found.met:
        return f"{value}: proven, less will not do. For {scope}, strategy {plan.strategy}."
    gap = _amount(plan, found.value - found.bound)
    open_gap = f"not proven. No plan needs less than {bound}, the gap is {gap}."
    return f"{value}: {open_gap} For {scope}, strategy {plan.strategy}.{STOPPED[found.stopped]}"


def figures(plan: Plan) -> tuple[tuple[str, str], ...]:
    """The totals as (what, how much)."""
    totals, unit = plan.totals, plan.job.show
    saved = totals.one_for_one - totals.tiles
    rows = [
        ("Tiles to buy", tiles_to_buy(plan)),
        ("Tiles in the plan", f"{totals.tiles}: {totals.whole} whole and {totals.cut} to cut"),
        (
            "A tile for every piece",
            f"{totals.one_for_one} tiles, {saved} more" if saved else f"{totals.one_for_one} tiles",
        ),
        (_AIM[plan.proof.aim], proof(plan)),
        *((("From the rack", from_rack(plan)),) if plan.stock else ()),
        ("Pieces, cuts", f"{printed.plural(totals.pieces, 'piece')}, {printed.plural(cuts_made(plan), 'cut')}"),
        ("Table saw", fence_settings(plan)),
        ("Screws moved", printed.count(totals.screws_moved)),
        ("Holes drilled", printed.count(totals.holes_drilled)),
        ("Backers bought", printed.count(totals.spare_backers)),
        ("End grain to seal", printed.area(totals.sealed_area, unit)),
        ("Offcuts kept, waste", f"{printed.area(totals.offcut_area, unit)}, {printed.area(totals.waste_area, unit)}"),
    ]
    if totals.stone_area:
        rows.append(("Stone", printed.area(totals.stone_area, unit)))
    stations = ", ".join(f"{name} {printed.minutes(value)}" for name, value in totals.minutes_by_station.items())
    rows.append(
        ("Work", f"{printed.minutes(totals.minutes)}: {stations}" if stations else printed.minutes(totals.minutes))
    )
    if totals.cost:
        rows.append(("Cost", printed.money(totals.cost, totals.currency)))
    return tuple(rows)


def fence_settings(plan: Plan) -> str:
    """How often the fence is set, and how far that is proven; a bound of 0 was not worked out."""
    setups, bound = plan.totals.setups, plan.totals.setups_bound
    words = printed.plural(setups, "fence setting")
    if not setups or not bound:
        return words
    if setups == bound:
        return f"{words}, the fewest that the order of the cuts allows"
    return f"{words}; no order of these cuts takes fewer than {bound}"


def from_rack(plan: Plan) -> str:
    """The racked offcuts and the tiles of the plan that they are: "R7 is T3"."""
    names: dict[str, list[str]] = {stock.id: [] for stock in plan.stock}
    for source in plan.sources:
        if source.from_ != "new":
            names.setdefault(source.from_.removeprefix("stock:"), []).append(source.id)
    return ", ".join(f"{stock} is {' and '.join(uses)}" if uses else stock for stock, uses in names.items())


_AIM = {"tiles": "Tiles to cut", "cost": "Least cost", "minutes": "Least work"}


def cuts_made(plan: Plan) -> int:
    """Cuts over all copies of all sources."""
    return sum(source.uses * len(source.cuts) for source in plan.sources)


def _amount(plan: Plan, value: float) -> str:
    if plan.proof.aim == "cost":
        return printed.money(value, plan.totals.currency)
    if plan.proof.aim == "minutes":
        return printed.minutes(value)
    return printed.count(round(value, 6))
