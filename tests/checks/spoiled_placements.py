"""Spoiled placements, pieces and sources."""

from __future__ import annotations

import copy

from tests.checks.spoiling import Corruption, Json, NoVictim, cut_source, first, onto, sources, two

SPOILED: list[Corruption] = []
names = onto(SPOILED)


@names("factory-edge", "cuts-make-pieces", "outside-source")
def piece_moved_1_mm_along(plan: Json) -> None:
    cut_source(plan)["placements"][0]["shift"][0] += 1


@names("factory-edge", "cuts-make-pieces", "outside-source")
def piece_moved_1_mm_across(plan: Json) -> None:
    cut_source(plan)["placements"][0]["shift"][1] += 1


@names("cuts-make-pieces")
def piece_half_turned(plan: Json) -> None:
    placement = cut_source(plan)["placements"][0]
    placement["half_turn"] = not placement["half_turn"]


@names("coverage", "wall-gap", "post-gap", "cuts-make-pieces")
def outline_mirrored(plan: Json) -> None:
    for piece in plan["pieces"]:
        for axis, size in ((0, plan["tile"]["length"]), (1, plan["tile"]["width"])):
            turned = [[*p[:axis], size - p[axis], *p[axis + 1 :]] for p in reversed(piece["outline"])]
            if sorted(turned) != sorted(piece["outline"]):
                piece["outline"] = turned
                return
    raise NoVictim


@names("cuts-make-pieces", "outside-cell")
def piece_grown_1_mm(plan: Json) -> None:
    piece = plan["pieces"][0]
    most = max(p[0] for p in piece["outline"])
    for spot in piece["outline"]:
        spot[0] += spot[0] == most


@names("demand")
def piece_unplaced(plan: Json) -> None:
    cut_source(plan)["placements"].pop()


@names("demand")
def source_used_twice(plan: Json) -> None:
    cut_source(plan)["uses"] += 1


@names("unique-id")
def piece_id_twice(plan: Json) -> None:
    plan["pieces"].append(copy.deepcopy(plan["pieces"][0]))


@names("unique-id")
def backer_id_twice(plan: Json) -> None:
    source = first(s for s in sources(plan) if len(s["backers"]) > 1)
    source["backers"][1]["id"] = source["backers"][0]["id"]


@names("reference")
def source_from_nowhere(plan: Json) -> None:
    cut_source(plan)["from"] = "stock:none"


@names("source-outline", "outside-source")
def source_outline_grown(plan: Json) -> None:
    outline = cut_source(plan)["outline"]
    most = max(p[1] for p in outline)
    for spot in outline:
        spot[1] += 5 * (spot[1] == most)


@names("fixed-sides")
def fixed_side_dropped(plan: Json) -> None:
    for piece in plan["pieces"]:
        if piece["fixed_sides"]:
            piece["fixed_sides"] = []
    if plan["strategy"] == "anywhere":
        raise NoVictim


@names("outline")
def piece_outline_reversed(plan: Json) -> None:
    plan["pieces"][0]["outline"].reverse()


@names("fixed-sides")
def one_fixed_side_removed(plan: Json) -> None:
    """A piece that has several keeps the others."""
    piece = first(p for p in plan["pieces"] if p["fixed_sides"])
    if plan["strategy"] == "anywhere":
        raise NoVictim
    piece["fixed_sides"] = piece["fixed_sides"][1:]


@names("reference", "cuts-make-pieces", "blade-in-piece")
def placements_of_two_sources_swapped(plan: Json) -> None:
    one, other = two(s for s in sources(plan) if s["cuts"])
    one["placements"], other["placements"] = other["placements"], one["placements"]


@names("cut-part", "reference", "cuts-make-pieces")
def names_of_two_sources_swapped(plan: Json) -> None:
    one, other = two(s for s in sources(plan) if s["cuts"])
    one["id"], other["id"] = other["id"], one["id"]


@names("unique-id", "wood-twice", "demand")
def source_listed_twice(plan: Json) -> None:
    plan["sources"].append(copy.deepcopy(cut_source(plan)))
