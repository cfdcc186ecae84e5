"""Spoiled backers."""

from __future__ import annotations

import copy

from tests.checks.spoiling import Corruption, Json, dict_of, first, fittings, onto, shift, sources, steps

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


@names("pin-hole-state", "screw-place", "screw-backer", "pin-hole-wood")
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


def _foreign(plan: Json) -> tuple[Json, Json, Json]:
    """A source, a backer of it whose wood is another's, and that other source."""
    source, backer = first((s, b) for s, b in fittings(plan, "backers") if b["from"] and b["from"]["source"] != s["id"])
    return source, backer, dict_of(first(s for s in sources(plan) if s["id"] == backer["from"]["source"]))


@names("backer-free", "screw-state")
def wood_of_another_source_still_screwed(plan: Json) -> None:
    """All screws of the backer stay in the tile that it is taken from."""
    _, backer, other = _foreign(plan)
    held = {screw["id"] for screw in plan["tile"]["screws"] if screw["backer"] == backer["from"]["backer"]}
    other["screws_out"] = [name for name in other["screws_out"] if name not in held]


@names("backer-wood")
def wood_of_a_strange_source(plan: Json) -> None:
    _, backer, _ = _foreign(plan)
    backer["from"]["source"] = "nowhere"


@names("backer-place", "wood-twice")
def wood_of_another_source_called_kept(plan: Json) -> None:
    _, backer, _ = _foreign(plan)
    backer["state"] = "kept"


@names("wood-twice")
def wood_of_another_source_taken_twice_as_often(plan: Json) -> None:
    source, backer, _ = _foreign(plan)
    again = copy.deepcopy(backer)
    again["id"] += "x"
    source["backers"].append(again)


@names("step-order", "backer-free")
def wood_of_another_source_hung_first(plan: Json) -> None:
    """The step that hangs it comes before all work on the tile that it is taken from."""
    source, backer, _ = _foreign(plan)
    hang = first(s for s in steps(plan, "re-hang") if s["source"] == source["id"] and s["backer"] == backer["id"])
    plan["steps"].remove(hang)
    plan["steps"].insert(0, hang)
    for number, step in enumerate(plan["steps"], 1):
        step["n"], step["after"] = number, []


@names("backer-wood")
def bought_backer_too_long(plan: Json) -> None:
    _, backer = first((s, b) for s, b in fittings(plan, "backers") if b["from"] is None)
    backer["line"][1][1] += plan["tile"]["width"]
