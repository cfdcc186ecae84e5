"""Spoiled backers."""

from __future__ import annotations

import copy

from tests.checks.spoiling import Corruption, Json, first, fittings, onto, shift, sources

SPOILED: list[Corruption] = []
names = onto(SPOILED)


@names("wood-twice")
def stretch_of_backer_twice(plan: Json) -> None:
    source, backer = first(
        (s, b) for s, b in fittings(plan, "backers", "moved", "added") if b["from"] and len(s["backers"]) > 1
    )
    other = first(b for b in source["backers"] if b is not backer and b["from"])
    backer["from"] = copy.deepcopy(other["from"])


@names("backer-width", "backer-place")
def backer_widened(plan: Json) -> None:
    _, backer = first(fittings(plan, "backers"))
    backer["width"] += 2


@names("backer-width")
def backer_shaved_to_a_lath(plan: Json) -> None:
    _, backer = first(fittings(plan, "backers"))
    backer["width"] = 20


@names("backer-outside", "backer-wood", "backer-place")
def backer_beyond_its_piece(plan: Json) -> None:
    _, backer = first(fittings(plan, "backers"))
    backer["line"][1][1] += plan["tile"]["width"]


@names("backer-place")
def kept_backer_1_mm_off(plan: Json) -> None:
    _, backer = first(fittings(plan, "backers", "kept"))
    shift(backer["line"], 1, 0)


@names("pin-hole-state", "screw-place", "screw-backer")
def moved_backer_5_mm_off(plan: Json) -> None:
    source, backer = first(
        (s, b) for s, b in fittings(plan, "backers", "moved") if any(h["backer"] == b["id"] for h in s["pin_holes"])
    )
    shift(backer["line"], -5, 0)
    assert source


@names("backer-shape")
def backer_askew(plan: Json) -> None:
    _, backer = first(fittings(plan, "backers"))
    backer["line"][0][0] += 3


@names("reference", "fragment-held")
def backer_removed(plan: Json) -> None:
    first(s for s in sources(plan) if s["backers"])["backers"].pop()


@names("bay", "overhang", "fragment-held", "one-whole")
def backer_removed_with_all_in_it(plan: Json) -> None:
    source = first(s for s in sources(plan) if len(s["backers"]) > 2)
    gone = source["backers"].pop(1)
    for key in ("screws", "pin_holes"):
        source[key] = [item for item in source[key] if item["backer"] != gone["id"]]


@names("backer-wood")
def backer_of_no_wood(plan: Json) -> None:
    _, backer = first(fittings(plan, "backers", "kept", "moved", "cut"))
    backer["from"] = None


@names("backer-wood")
def backer_longer_than_its_wood(plan: Json) -> None:
    _, backer = first(fittings(plan, "backers", "moved"))
    backer["from"]["span"][1] -= 5


@names("spare-backers", "totals")
def backer_bought_unseen(plan: Json) -> None:
    _, backer = first(fittings(plan, "backers", "moved"))
    backer["from"], backer["state"] = None, "added"
