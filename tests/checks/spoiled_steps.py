"""Spoiled steps."""

from __future__ import annotations

import copy

from tests.checks.spoiling import Corruption, Json, cut_source, drop_step, first, onto, steps

SPOILED: list[Corruption] = []
names = onto(SPOILED)


@names("step-order")
def steps_swapped(plan: Json) -> None:
    """A step and the one it has to wait for change places; their numbers stay in order."""
    later = first(step for step in plan["steps"] if step["after"])
    earlier = first(step for step in plan["steps"] if step["n"] == max(later["after"]))
    i, j = plan["steps"].index(earlier), plan["steps"].index(later)
    plan["steps"][i], plan["steps"][j] = later, earlier
    earlier["n"], later["n"] = later["n"], earlier["n"]


@names("step-order")
def steps_misnumbered(plan: Json) -> None:
    plan["steps"][0]["n"], plan["steps"][1]["n"] = plan["steps"][1]["n"], plan["steps"][0]["n"]


@names("step-order", "backer-free")
def backer_hung_before_it_is_free(plan: Json) -> None:
    hang = first(steps(plan, "re-hang"))
    unscrew = first(
        step for step in steps(plan, "unscrew") if step["source"] == hang["source"] and step["n"] < hang["n"]
    )
    i, j = plan["steps"].index(unscrew), plan["steps"].index(hang)
    plan["steps"][i], plan["steps"][j] = hang, unscrew
    unscrew["n"], hang["n"] = hang["n"], unscrew["n"]
    for step in plan["steps"]:
        step["after"] = []


def _without(do: str, *rules: str) -> None:
    def spoil(plan: Json) -> None:
        drop_step(plan, first(steps(plan, do)))

    SPOILED.append(Corruption(name=f"step_removed_{do}", rules=frozenset(rules), spoil=spoil))


_without("cut", "step-cuts")
_without("unscrew", "step-screws")
_without("re-hang", "step-backers")
_without("label", "step-label")
_without("seal", "step-seal")
_without("drill", "step-drill")


@names("step-cuts")
def cut_made_twice(plan: Json) -> None:
    again = copy.deepcopy(first(step for step in steps(plan, "cut") if step["cut"] is not None))
    again["n"] = len(plan["steps"]) + 1
    plan["steps"].append(again)


@names("step-station")
def cut_at_the_brush(plan: Json) -> None:
    first(step for step in steps(plan, "cut") if step["cut"] is not None)["station"] = "brush"


@names("step-cuts")
def shared_slat_ripped_twice(plan: Json) -> None:
    again = copy.deepcopy(first(step for step in steps(plan, "cut") if step["cut"] is None))
    again["n"] = len(plan["steps"]) + 1
    plan["steps"].append(again)


@names("step-cuts")
def shared_slat_not_ripped(plan: Json) -> None:
    drop_step(plan, first(step for step in steps(plan, "cut") if step["cut"] is None))


@names("step-screws")
def shared_slats_not_laid_back(plan: Json) -> None:
    drop_step(plan, first(step for step in steps(plan, "screw") if step["backer"] is None))


def _after(plan: Json, step: Json, other: Json) -> None:
    """A step is done after another one; what else had to wait for it is left out."""
    plan["steps"].remove(step)
    plan["steps"].insert(plan["steps"].index(other) + 1, step)
    for number, one in enumerate(plan["steps"], 1):
        one |= {"n": number, "after": []}


@names("step-order")
def shared_slat_ripped_while_it_is_screwed(plan: Json) -> None:
    rip = first(step for step in steps(plan, "cut") if step["cut"] is None)
    _after(plan, first(step for step in steps(plan, "unscrew") if step["source"] == rip["source"]), rip)


@names("step-order")
def shared_slats_laid_back_after_they_are_screwed(plan: Json) -> None:
    back = first(step for step in steps(plan, "screw") if step["backer"] is None)
    mine = [s for s in steps(plan, "screw") if s["pieces"] == back["pieces"] and s["backer"] is not None]
    _after(plan, back, first(mine))


@names("setup")
def fence_1_mm_off(plan: Json) -> None:
    first(step for step in plan["steps"] if step["setup"])["setup"]["fence"] += 1


@names("setup")
def fence_at_the_wrong_side(plan: Json) -> None:
    setup = first(step for step in plan["steps"] if step["setup"] and step["cut"])["setup"]
    setup["datum"] = {"u0": "u1", "u1": "u0", "v0": "v1", "v1": "v0"}[setup["datum"]]


@names("step-sum")
def sum_that_is_wrong(plan: Json) -> None:
    step = first(step for step in plan["steps"] if "=" in step["sum"])
    step["sum"] = "100 + 3.2 + 480 = 600"


@names("reference")
def step_of_a_strange_source(plan: Json) -> None:
    plan["steps"][-1]["source"] = "nowhere"


@names("rules")
def rule_forgotten(plan: Json) -> None:
    del plan["rules"]["screw_clearance"]


def _elsewhere(do: str) -> None:
    def spoil(plan: Json) -> None:
        step = first(steps(plan, do))
        step["station"] = "brush" if step["station"] == "bench" else "bench"

    SPOILED.append(Corruption(name=f"{do}_at_another_station", rules=frozenset({"step-station"}), spoil=spoil))


def _other_face_up(do: str) -> None:
    def spoil(plan: Json) -> None:
        step = first(step for step in steps(plan, do) if step["station"] != "guided saw")
        step["face"] = "up" if step["face"] == "down" else "down"

    SPOILED.append(Corruption(name=f"{do}_with_the_other_face_up", rules=frozenset({"step-face"}), spoil=spoil))


for _do in ("mark", "unscrew", "re-hang", "drill", "label", "seal", "rack"):
    _elsewhere(_do)
for _do in ("unscrew", "re-hang", "drill", "cut"):
    _other_face_up(_do)


@names("step-sum")
def sum_of_other_numbers(plan: Json) -> None:
    """It adds up, and is not this cut's."""
    step = first(step for step in plan["steps"] if step["setup"])
    step["sum"] = "100 + 3.2 + 496.8 = 600"


@names("step-sum")
def sum_left_out(plan: Json) -> None:
    first(step for step in plan["steps"] if step["setup"])["sum"] = ""


@names("step-where")
def scribed_piece_cut_in_the_shop(plan: Json) -> None:
    scribed = {piece["id"] for piece in plan["pieces"] if piece["fit"] == "scribe"}
    first(step for step in steps(plan, "cut") if step["cut"] and scribed & set(step["pieces"]))["where"] = "shop"


@names("step-text")
def step_that_says_nothing(plan: Json) -> None:
    first(plan["steps"])["text"] = " "


@names("minutes")
def step_done_in_no_time(plan: Json) -> None:
    first(steps(plan, "cut"))["minutes"] = 0


@names("minutes")
def source_done_in_no_time(plan: Json) -> None:
    cut_source(plan)["minutes"] = 0


@names("step-screws")
def strange_screw_taken_out(plan: Json) -> None:
    first(step for step in steps(plan, "unscrew"))["screws"].append("99.9z")


@names("reference")
def slat_ripped_for_no_one(plan: Json) -> None:
    """A saw step without a cut, for a piece of which no slats share."""
    step = copy.deepcopy(first(steps(plan, "cut")))
    step |= {"n": len(plan["steps"]) + 1, "cut": None, "backer": None, "setup": None, "sum": ""}
    shared = {slat["piece"] for source in plan["sources"] for slat in source["slats"] if slat["state"] == "shared"}
    step["pieces"] = [first(p["id"] for p in plan["pieces"] if p["id"] not in shared)]
    plan["steps"].append(step)


@names("minutes")
def minutes_too_few(plan: Json) -> None:
    """Those of one copy, where the source is cut more often."""
    uses = {source["id"]: source["uses"] for source in plan["sources"]}
    step = first(step for step in steps(plan, "cut") if uses[step["source"]] > 1)
    step["minutes"] /= uses[step["source"]]


@names("minutes")
def sawing_to_length_not_counted(plan: Json) -> None:
    """A backer is sawn to length in the step that hangs it, and the step takes no longer for it."""
    uses = {source["id"]: source["uses"] for source in plan["sources"]}
    step = first(
        step
        for step in steps(plan, "re-hang")
        if "with the guided saw" in step["text"] and " and at " not in step["text"] and "predrilled" not in step["text"]
    )
    step["minutes"] -= plan["rules"]["rate_guided_saw"] * uses[step["source"]]
