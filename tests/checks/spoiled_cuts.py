"""Spoiled cuts and offcuts."""

from __future__ import annotations

import copy

from tests.checks.spoiling import Corruption, Json, NoVictim, cut_source, drop_step, first, onto, shift, sources

SPOILED: list[Corruption] = []
names = onto(SPOILED)


@names("cuts-make-pieces")
def cuts_removed(plan: Json) -> None:
    source = cut_source(plan)
    source["cuts"] = []
    for step in [s for s in plan["steps"] if s["source"] == source["id"] and s["do"] == "cut"]:
        drop_step(plan, step)


@names("cut-part", "cut-order")
def cuts_swapped(plan: Json) -> None:
    source = first(s for s in sources(plan) if len(s["cuts"]) > 1)
    source["cuts"].reverse()


@names("kerf")
def kerf_of_a_cut_changed(plan: Json) -> None:
    cut_source(plan)["cuts"][0]["kerf"] += 0.5


@names("kerf")
def kerf_of_a_saw_changed(plan: Json) -> None:
    plan["kerf"][cut_source(plan)["cuts"][0]["saw"]] += 0.5


@names("cuts-make-pieces", "blade-in-piece")
def waste_side_flipped(plan: Json) -> None:
    cut = cut_source(plan)["cuts"][0]
    cut["waste_side"] = "left" if cut["waste_side"] == "right" else "right"


@names("cuts-make-pieces", "offcuts")
def parts_renamed_crosswise(plan: Json) -> None:
    cut = cut_source(plan)["cuts"][0]
    cut["into"].reverse()


@names("cuts-make-pieces", "cut-path")
def cut_1_mm_off(plan: Json) -> None:
    cut = first(c for s in sources(plan) for c in s["cuts"] if len(c["path"]) == 2)
    axis = 0 if abs(cut["path"][0][0] - cut["path"][1][0]) < 1 else 1
    shift(cut["path"], 1 - axis, axis)


@names("cut-path")
def cut_stops_short(plan: Json) -> None:
    path = cut_source(plan)["cuts"][0]["path"]
    for axis in (0, 1):
        path[-1][axis] += (path[-2][axis] - path[-1][axis]) / 10


@names("saw", "kerf")
def saw_not_there(plan: Json) -> None:
    del plan["kerf"][cut_source(plan)["cuts"][0]["saw"]]


@names("saw")
def rip_beyond_the_fence(plan: Json) -> None:
    first(c for s in sources(plan) for c in s["cuts"] if c["saw"] == "table_saw")
    plan["rules"]["widest_rip"] = 1


@names("saw")
def corner_on_a_table_saw(plan: Json) -> None:
    cut = cut_source(plan)["cuts"][0]
    (u0, v0), (u1, v1) = cut["path"][0], cut["path"][-1]
    cut["saw"] = "table_saw"
    cut["path"] = [[u0, v0], [(u0 + u1) / 2, (v0 + v1) / 2], [u1, v1]]


@names("offcuts")
def offcut_removed(plan: Json) -> None:
    first(s for s in sources(plan) if s["offcuts"])["offcuts"].pop()


@names("offcuts")
def offcut_grown(plan: Json) -> None:
    outline = first(o for s in sources(plan) for o in s["offcuts"])["outline"]
    least = min(p[0] for p in outline)
    for spot in outline:
        spot[0] -= 2 * (spot[0] == least)


@names("offcut-hardware")
def offcut_keeps_used_wood(plan: Json) -> None:
    for source in sources(plan):
        for backer in source["backers"]:
            if backer["from"] and backer["from"]["source"] == source["id"] and source["offcuts"]:
                tile = {b["id"]: b for b in plan["tile"]["backers"]}
                source["offcuts"][0]["backers"].append(copy.deepcopy(tile[backer["from"]["backer"]]))
                return
    raise NoVictim


@names("kerf")
def kerf_of_all_saws_0(plan: Json) -> None:
    cut_source(plan)
    plan["kerf"] = dict.fromkeys(plan["kerf"], 0)
    for source in sources(plan):
        for cut in source["cuts"]:
            cut["kerf"] = 0


@names("kerf")
def kerf_of_a_cut_0(plan: Json) -> None:
    cut_source(plan)["cuts"][0]["kerf"] = 0


@names("cuts-make-pieces", "offcuts")
def last_cut_forgotten(plan: Json) -> None:
    source = cut_source(plan)
    last = source["cuts"].pop()
    for step in [s for s in plan["steps"] if s["source"] == source["id"] and s["cut"] == last["n"]]:
        drop_step(plan, step)
