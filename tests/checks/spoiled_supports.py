"""Spoiled pin holes, supports and sealed ends."""

from __future__ import annotations

import copy
import math

from tests.checks.spoiling import Corruption, Json, NoVictim, first, fittings, onto, shift, sources

SPOILED: list[Corruption] = []
names = onto(SPOILED)


@names("pin-hole-state", "pins")
def kept_hole_1_mm_off(plan: Json) -> None:
    _, hole = first(fittings(plan, "pin_holes", "kept"))
    hole["v"] += 1


@names("pin-hole-state")
def moved_hole_1_mm_off(plan: Json) -> None:
    _, hole = first(fittings(plan, "pin_holes", "moved"))
    hole["v"] += 1


@names("pins")
def hole_where_no_pin_is(plan: Json) -> None:
    _, hole = first(fittings(plan, "pin_holes"))
    hole["v"] += 9
    hole["state"] = "drilled"


@names("pin-hole-wood")
def hole_at_the_backers_edge(plan: Json) -> None:
    _, hole = first(fittings(plan, "pin_holes"))
    hole["u"] += 22


@names("pins")
def holes_forgotten(plan: Json) -> None:
    first(s for s in sources(plan) if s["pin_holes"])["pin_holes"].clear()


@names("pins", "standing", "face-past-bearing")
def support_removed(plan: Json) -> None:
    plan["supports"].remove(first(s for s in plan["supports"] if s["pins"]))


@names("pins", "standing")
def supports_all_removed(plan: Json) -> None:
    first(plan["supports"])
    plan["supports"] = []


@names("support-pin", "pins")
def pin_3_mm_off(plan: Json) -> None:
    first(s for s in plan["supports"] if s["pins"])["pins"][0][0] += 3


@names("support-shape", "support-pin")
def pad_moved(plan: Json) -> None:
    shift(first(s for s in plan["supports"] if s["pins"])["outline"], 45, 45)


@names("support-shape", "support-pin")
def pad_trimmed_unsaid(plan: Json) -> None:
    outline = first(s for s in plan["supports"] if s["shape"] != "trimmed" and s["pins"])["outline"]
    low, high = min(p[1] for p in outline), max(p[1] for p in outline)
    for spot in outline:
        spot[1] = low + (spot[1] - low) * 0.4 if high > low else spot[1]


@names("support-pin", "support-shape")
def pad_cut_12_from_the_middle_of_a_pin(plan: Json) -> None:
    """10 mm are meant beyond its rim, and a pin is 10 mm thick: 15 from its middle."""
    support = first(s for s in plan["supports"] if s["pins"])
    pin = max(x for x, _ in support["pins"])
    for spot in support["outline"]:
        spot[0] = min(spot[0], pin + 12)
    support["shape"] = "trimmed"


@names("support-outside")
def pad_beyond_the_area(plan: Json) -> None:
    area = plan["areas"][0]
    support = first(s for s in plan["supports"] if s["area"] == area["name"])
    by = min(p[0] for p in area["outline"]) - min(p[0] for p in support["outline"]) - 20
    shift(support["outline"], by, 0)
    shift(support["pins"], by, 0)
    support["at"][0] += by


@names("support-outside")
def support_twice(plan: Json) -> None:
    plan["supports"].append(copy.deepcopy(first(plan["supports"])))


@names("face-past-bearing", "standing")
def bearing_asked_wider(plan: Json) -> None:
    """More is asked than backers have on pads that are smaller than those the tile was made for."""
    plan["tile"]["support"]["pad"] = [480, 480]
    plan["rules"]["bearing_least"] = 200


# sealing


@names("sealed")
def sealed_removed(plan: Json) -> None:
    first(s for s in sources(plan) if s["sealed"])["sealed"].pop()


@names("sealed")
def sealed_halfway(plan: Json) -> None:
    path = first(s for s in sources(plan) if s["sealed"])["sealed"][0]["path"]
    path[-1] = [(a + b) / 2 for a, b in zip(path[0], path[-1], strict=True)]


@names("sealed")
def sealed_beside_the_end(plan: Json) -> None:
    shift(first(s for s in sources(plan) if s["sealed"])["sealed"][0]["path"], -7, -7)


@names("pins")
def pin_under_no_hole(plan: Json) -> None:
    """A pin that is not cut off lifts the piece that it has no hole in."""
    offset = plan["tile"]["support"]["pin_offset"]
    for support in plan["supports"]:
        x, y = support["at"]
        for pin in ([x + offset, y + offset], [x - offset, y + offset], [x + offset, y - offset]):
            if all(math.dist(one, pin) > 1 for one in support["pins"]):
                support["pins"].append(pin)
                return
    raise NoVictim
