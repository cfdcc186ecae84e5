"""Spoiled totals, proof and shopping list."""

from __future__ import annotations

from tests.checks.spoiling import Corruption, Json, first, onto, two

SPOILED: list[Corruption] = []
names = onto(SPOILED)


def _total(key: str, by: float, rule: str = "totals") -> None:
    def spoil(plan: Json) -> None:
        plan["totals"][key] += by

    SPOILED.append(Corruption(name=f"total_changed_{key}", rules=frozenset({rule}), spoil=spoil))


for _key in ("tiles", "whole", "cut", "one_for_one", "pieces", "spare_backers", "screws_moved", "holes_drilled"):
    _total(_key, 1)
for _key in ("sealed_area", "offcut_area", "waste_area", "stone_area"):
    _total(_key, 5000.0)
_total("minutes", 60.0, "minutes")
_total("setups", 1)
_total("lower_bound", 10_000, "proof")


@names("proof")
def proven_turned_round(plan: Json) -> None:
    plan["totals"]["proven"] = not plan["totals"]["proven"]


@names("proof")
def bound_above_the_value(plan: Json) -> None:
    plan["proof"]["bound"] = plan["proof"]["value"] + 1


@names("proof")
def met_with_a_gap(plan: Json) -> None:
    plan["proof"]["met"] = plan["totals"]["proven"] = True
    plan["proof"]["bound"] = plan["proof"]["value"] - 1


@names("buy")
def too_few_tiles_bought(plan: Json) -> None:
    first(line for line in plan["buy"] if line["item"] == "tile")["count"] = plan["totals"]["tiles"] - 1


@names("minutes")
def minutes_of_a_station_changed(plan: Json) -> None:
    station = first(plan["totals"]["minutes_by_station"])
    plan["totals"]["minutes_by_station"][station] += 1


@names("minutes")
def minutes_of_two_stations_swapped(plan: Json) -> None:
    by_station = plan["totals"]["minutes_by_station"]
    one, other = two(name for name in by_station if by_station[name] > 0)
    by_station[one], by_station[other] = by_station[other] + 1, by_station[one] - 1


@names("buy")
def no_support_bought(plan: Json) -> None:
    plan["buy"] = [line for line in plan["buy"] if line["item"] != "support"]


@names("totals")
def cost_below_nought(plan: Json) -> None:
    plan["totals"]["cost"] = -1.0


def _lacking(item: str, saw: str = "") -> None:
    """Half of it on the shopping list; of a saw's blades none, where the plan cuts with it."""

    def spoil(plan: Json) -> None:
        if saw:
            first(cut for source in plan["sources"] for cut in source["cuts"] if cut["saw"] == saw)
        first(line for line in plan["buy"] if line["item"] == item)["count"] *= 0.0 if saw else 0.5

    SPOILED.append(Corruption(name=f"too_little_{item}", rules=frozenset({"buy"}), spoil=spoil))


for _item in ("coating", "abrasive disc, grit 80", "abrasive disc, grit 120"):
    _lacking(_item)
for _saw in ("table_saw", "guided_saw", "jigsaw"):
    _lacking(f"blade, {_saw.replace('_', ' ')}", _saw)


@names("buy")
def a_broken_pack(plan: Json) -> None:
    plan["rules"]["tiles_a_pack"] = 7
    tiles = first(line for line in plan["buy"] if line["item"] == "tile")
    tiles["count"] = 7 * (int(tiles["count"]) // 7 + 1) + 1


@names("buy")
def no_adhesive_for_the_dabs(plan: Json) -> None:
    first(plan["supports"])
    plan["rules"]["dabs_a_support"] = 4


@names("buy")
def fewer_than_none_bought(plan: Json) -> None:
    plan["buy"].append({"item": "wedge", "count": -1, "unit": "pieces", "why": "sold back"})


@names("totals")
def cost_that_its_prices_do_not_make(plan: Json) -> None:
    first(plan["totals"].get("prices", {}))
    plan["totals"]["cost"] += 5.0


@names("totals")
def a_price_left_out(plan: Json) -> None:
    first(plan["totals"].get("prices", {}))
    del plan["totals"]["prices"]["hour"]


@names("totals")
def a_lighter_tile(plan: Json) -> None:
    first(weight for weight in [plan["totals"].get("weight_per_m2")] if weight)
    plan["totals"]["weight_per_m2"] -= 1.0
