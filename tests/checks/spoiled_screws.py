"""Spoiled slats and screws."""

from __future__ import annotations

import copy

from tests.checks.spoiling import Corruption, Json, NoVictim, cut_source, first, fittings, onto, shift, sources, steps

SPOILED: list[Corruption] = []
names = onto(SPOILED)


@names("fragments")
def slat_removed(plan: Json) -> None:
    cut_source(plan)["slats"].pop()


@names("fragments")
def slat_shortened_1_mm(plan: Json) -> None:
    _, slat = first(fittings(plan, "slats", "kept"))
    most = max(p[0] for p in slat["outline"])
    for spot in slat["outline"]:
        spot[0] -= spot[0] == most


@names("screw-state", "backer-free", "screw-near-blade")
def screw_put_back(plan: Json) -> None:
    source = first(s for s in sources(plan) if s["screws_out"])
    name = source["screws_out"].pop(0)
    for step in steps(plan, "unscrew"):
        if step["source"] == source["id"] and name in step["screws"]:
            step["screws"].remove(name)


@names("screw-near-blade")
def blade_clearance_widened(plan: Json) -> None:
    cut_source(plan)
    plan["rules"]["screw_clearance"] = 300


@names("screw-state", "screw-place")
def kept_screw_1_mm_off(plan: Json) -> None:
    _, screw = first(fittings(plan, "screws", "kept"))
    screw["u"] += 1


@names("screw-place", "screw-edge")
def new_screw_at_the_edge(plan: Json) -> None:
    """Halfway from where it is good to the next edge, and the tile's own distances forgotten."""
    source, screw = first(fittings(plan, "screws", "moved", "added"))
    slat = first(s for s in source["slats"] if s["slat"] == screw["slat"] and s["piece"] == screw["piece"])
    screw["v"] = min(p[1] for p in slat["outline"]) + 3


@names("screw-place")
def new_screw_beside_its_backer(plan: Json) -> None:
    _, screw = first(fittings(plan, "screws", "moved", "added"))
    screw["u"] -= 65


@names("screw-hole", "screw-place", "screw-edge")
def new_screw_at_a_pin_hole(plan: Json) -> None:
    source = first(s for s in sources(plan) if s["pin_holes"])
    for hole in source["pin_holes"]:
        for screw in source["screws"]:
            if screw["backer"] == hole["backer"] and screw["state"] != "kept":
                screw["u"], screw["v"] = hole["u"], hole["v"] - 8
                return
    raise NoVictim


@names("fragment-held")
def fragment_on_one_screw(plan: Json) -> None:
    source = first(s for s in sources(plan) if s["screws"])
    slat, piece = source["screws"][0]["slat"], source["screws"][0]["piece"]
    mine = [s for s in source["screws"] if (s["slat"], s["piece"]) == (slat, piece)]
    source["screws"] = [s for s in source["screws"] if s not in mine[1:]]


@names("screw-place", "screw-state")
def screw_in_the_wrong_slat(plan: Json) -> None:
    source = first(s for s in sources(plan) if len({screw["slat"] for screw in s["screws"]}) > 1)
    wrong = first(s["slat"] for s in source["screws"] if s["slat"] != source["screws"][0]["slat"])
    source["screws"][0]["slat"] = wrong


@names("screw-place")
def screw_twice(plan: Json) -> None:
    source = first(s for s in sources(plan) if s["screws"])
    source["screws"].append(copy.deepcopy(source["screws"][0]))


@names("screw-state")
def kept_screw_forgotten(plan: Json) -> None:
    source, screw = first(fittings(plan, "screws", "kept"))
    source["screws"].remove(screw)


@names("fragment-width")
def fragments_too_narrow(plan: Json) -> None:
    """More is asked than a screwed fragment has, and less than a whole slat."""
    whole = min(slat["v"][1] - slat["v"][0] for slat in plan["tile"]["slats"])
    _, slat = first((s, slat) for s, slat in fittings(plan, "slats") if _width(slat) < whole - 1 and _square(slat))
    plan["rules"]["fragment_least"] = _width(slat) + 0.5


def _width(slat: Json) -> float:
    vs = [v for _, v in slat["outline"]]
    return float(max(vs) - min(vs))


def _square(slat: Json) -> bool:
    return len(slat["outline"]) == 4 and all(len({spot[axis] for spot in slat["outline"]}) == 2 for axis in (0, 1))


@names("shared-slats")
def shared_slat_1_mm_wider(plan: Json) -> None:
    _, slat = first(fittings(plan, "slats", "shared"))
    most = max(p[1] for p in slat["outline"])
    for spot in slat["outline"]:
        spot[1] += spot[1] == most


@names("shared-slats", "fragments")
def shared_slat_called_kept(plan: Json) -> None:
    _, slat = first(fittings(plan, "slats", "shared"))
    slat["state"] = "kept"


@names("shared-slats", "fragments")
def slats_shared_for_nothing(plan: Json) -> None:
    _, slat = first(fittings(plan, "slats", "kept"))
    slat["state"] = "shared"


@names("step-screws", "step-backers")
def new_screws_never_driven(plan: Json) -> None:
    hang = first(step for step in plan["steps"] if step["do"] == "re-hang")
    for step in plan["steps"]:
        if step["do"] in ("re-hang", "screw") and step["backer"] == hang["backer"]:
            step["backer"] = None


@names("shared-slats")
def shared_slat_elsewhere(plan: Json) -> None:
    _, slat = first(fittings(plan, "slats", "shared"))
    shift(slat["outline"], 0, 2)


@names("shared-slats")
def screw_of_a_shared_slat_left_in(plan: Json) -> None:
    source, slat = first(fittings(plan, "slats", "shared"))
    source["screws_out"].remove(first(name for name in source["screws_out"] if name.startswith(f"{slat['slat']}.")))
