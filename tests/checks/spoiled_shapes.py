"""Spoiled shapes and cuts: lifted over, round, split, dropped, mirrored, notched."""

from __future__ import annotations

import copy

from tests.checks.hand_plan import X, Y, rect
from tests.checks.spoiling import Json, drop_step, shift, steps
from tests.checks.spoiling_worked import Listed, source, spoils_onto
from tests.checks.worked_notches import corner_notch, lifted_over, round_notch
from tests.checks.worked_splits import dropped, split_in_two

SPOILED: list[Listed] = []
spoils = spoils_onto(SPOILED)
SIZE = 600.0


# lifted over a post


@spoils(lifted_over, "blade-in-piece")
def ring_sawn_on_the_outside(plan: Json) -> None:
    source(plan)["cuts"][1]["waste_side"] = "left"


@spoils(lifted_over, "cut-path")
def ring_not_closed(plan: Json) -> None:
    source(plan)["cuts"][1]["closed"] = False


@spoils(lifted_over, "cuts-make-pieces")
def ring_run_the_other_way(plan: Json) -> None:
    """The names of what lies left and right stay, so the piece is what falls out of it."""
    source(plan)["cuts"][1] |= {"path": source(plan)["cuts"][1]["path"][::-1], "waste_side": "left"}


@spoils(lifted_over, "saw")
def ring_sawn_with_a_guide(plan: Json) -> None:
    source(plan)["cuts"][1] |= {"saw": "guided_saw", "kerf": 2.2}


@spoils(lifted_over, "post-gap")
def hole_forgotten(plan: Json) -> None:
    plan["pieces"][0]["holes"] = []


@spoils(lifted_over, "outline")
def hole_the_wrong_way_round(plan: Json) -> None:
    plan["pieces"][0]["holes"][0].reverse()


@spoils(lifted_over, "cut-path")
def ring_beside_the_hole(plan: Json) -> None:
    source(plan)["cuts"][1]["path"] = [[119, 255], [119, 345], [190, 345], [190, 255]]


@spoils(lifted_over, "starter-hole")
def ring_without_a_hole_to_start_from(plan: Json) -> None:
    drop_step(plan, steps(plan, "drill")[0])


@spoils(lifted_over, "starter-hole")
def hole_to_start_from_drilled_afterwards(plan: Json) -> None:
    drill, cut = steps(plan, "drill")[0], steps(plan, "cut")[1]
    i, j = plan["steps"].index(drill), plan["steps"].index(cut)
    plan["steps"][i], plan["steps"][j] = cut, drill
    drill["n"], cut["n"] = cut["n"], drill["n"]


@spoils(lifted_over, "post-gap", "coverage")
def post_elsewhere(plan: Json) -> None:
    shift(plan["areas"][0]["posts"][0]["outline"], 0, 6)


@spoils(lifted_over, "neck")
def hole_that_leaves_necks(plan: Json) -> None:
    """It ends 5 mm within slat 4 at either side."""
    plan["pieces"][0]["holes"] = [[[120, 265], [120, 335], [190, 335], [190, 265]]]


@spoils(lifted_over, "saw")
def ring_longer_than_a_jigsaw_reaches(plan: Json) -> None:
    """The last leg, back to the first point, counts as well."""
    plan["rules"]["jigsaw_reach"] = 89


@spoils(lifted_over, "chiral")
def hole_that_makes_left_and_right(plan: Json) -> None:
    plan["pieces"][0]["holes"] = [[[120, 255], [120, 335], [190, 335], [190, 255]]]


@spoils(lifted_over, "fragment-held")
def fragment_too_long_for_one_backer(plan: Json) -> None:
    """Slat 4 keeps 120 mm in front of the post, on backer 1 alone."""
    plan["rules"]["short_fragment"] = 120


@spoils(lifted_over, "fragment-held")
def short_fragment_on_one_screw(plan: Json) -> None:
    gone = next(s for s in source(plan)["screws"] if (s["slat"], s["backer"]) == (4, "T1.b1"))
    source(plan)["screws"].remove(gone)


# round notches


@spoils(round_notch, "cuts-make-pieces", "cut-path")
def bite_sawn_square(plan: Json) -> None:
    path = source(plan)["cuts"][1]["path"]
    source(plan)["cuts"][1]["path"] = [path[0], [385, path[0][1]], [385, path[-1][1]], path[-1]]


@spoils(round_notch, "post-gap")
def thicker_round_post(plan: Json) -> None:
    ring = plan["areas"][0]["posts"][0]["outline"]
    x, y = X + 425, Y + 300
    plan["areas"][0]["posts"][0]["outline"] = [[x + (a - x) * 36 / 30, y + (b - y) * 36 / 30] for a, b in ring]


@spoils(round_notch, "arc")
def arc_of_another_radius(plan: Json) -> None:
    source(plan)["cuts"][1]["arc"]["radius"] -= 2


@spoils(round_notch, "arc")
def arc_around_another_centre(plan: Json) -> None:
    source(plan)["cuts"][1]["arc"]["centre"][1] += 2


@spoils(round_notch, "post-gap")
def arc_too_near_to_the_post(plan: Json) -> None:
    """The path keeps 9.8 from it, the arc itself 9.1."""
    plan["areas"][0]["posts"][0]["gap"] = [9.5, 12]
    source(plan)["cuts"][1]["arc"]["radius"] -= 0.9


@spoils(round_notch, "sealed")
def bite_not_sealed(plan: Json) -> None:
    source(plan)["sealed"] = [line for line in source(plan)["sealed"] if line["path"][0][0] == 420]


@spoils(round_notch, "backer-outside", "backer-under-blade")
def backer_in_the_bite(plan: Json) -> None:
    shift(source(plan)["backers"][2]["line"], 10, 0)


# splits


@spoils(split_in_two, "piece-slit")
def halves_closer_than_a_kerf(plan: Json) -> None:
    plan["pieces"][1]["outline"] = rect(0, 171, 600, 600)


@spoils(split_in_two, "coverage")
def halves_further_apart_than_a_joint(plan: Json) -> None:
    """A joint of 4 and 2 x 1 of play are 6 mm."""
    plan["pieces"][1]["outline"] = rect(0, 176.5, 600, 600)


@spoils(split_in_two, "overlap")
def halves_on_one_another(plan: Json) -> None:
    plan["pieces"][1]["outline"] = rect(0, 160, 600, 600)


@spoils(split_in_two, "wood-twice")
def backer_whole_in_both_halves(plan: Json) -> None:
    source(plan)["backers"][3] |= {"from": {"source": "T1", "backer": 1, "span": [100, 594]}}


@spoils(split_in_two, "piece-held")
def half_on_one_backer(plan: Json) -> None:
    """All that is in its other backers goes with them."""
    made = source(plan)
    gone = {"T1.b2", "T1.b3"}
    made["backers"] = [one for one in made["backers"] if one["id"] not in gone]
    for key in ("screws", "pin_holes"):
        made[key] = [one for one in made[key] if one["backer"] not in gone]


@spoils(split_in_two, "pins")
def holes_on_one_backer_only(plan: Json) -> None:
    source(plan)["pin_holes"] = [hole for hole in source(plan)["pin_holes"] if hole["piece"] != "P1"]


# dropped fragments


@spoils(dropped, "left-open")
def dropped_far_from_the_wall(plan: Json) -> None:
    """The wall is 34 from the kept edge."""
    for spot in plan["areas"][0]["outline"][2:4]:
        spot[1] += 4
    for spot in plan["areas"][0]["cells"][1]["left"][0]["outline"][2:]:
        spot[1] += 4


@spoils(dropped, "left-open")
def dropped_gap_made_narrower(plan: Json) -> None:
    plan["rules"]["dropped_gap"] = 29


@spoils(dropped, "left-open")
def dropped_though_it_holds_screws(plan: Json) -> None:
    plan["rules"]["fragment_least"] = 14


@spoils(dropped, "left-open")
def dropped_beside_a_slats_middle(plan: Json) -> None:
    """The kept edge is moved 5 mm into slat 2."""
    plan["pieces"][0]["outline"] = rect(0, 0, 600, 161)
    plan["areas"][0]["cells"][1]["left"][0]["outline"] = rect(X, Y + 161, X + 600, Y + 188)


@spoils(dropped, "left-open")
def dropped_without_a_slat(plan: Json) -> None:
    """The wall is so near that only the gap between two slats stays open, even where its least gap is kept."""
    for spot in plan["areas"][0]["outline"][2:4]:
        spot[1] -= 16
    plan["areas"][0]["edges"][2]["gap"] = [11, 12]


@spoils(dropped, "left-open")
def dropped_under_another_name(plan: Json) -> None:
    plan["areas"][0]["cells"][1]["left"][0]["rule"] = "not_yet_planned"


@spoils(dropped, "coverage")
def dropped_without_a_word(plan: Json) -> None:
    plan["areas"][0]["cells"][1]["left"] = []


# mirror images


def _mirror(rings: list[list[list[float]]]) -> None:
    for ring in rings:
        for spot in ring:
            spot[1] = SIZE - spot[1]


def _mirror_hardware(made: Json) -> None:
    _mirror([backer["line"] for backer in made["backers"]])
    for backer in made["backers"]:
        backer["line"].reverse()
    for fitting in (*made["screws"], *made["pin_holes"]):
        fitting["v"] = SIZE - fitting["v"]


@spoils(corner_notch, "post-gap", "coverage")
def notched_piece_mirrored(plan: Json) -> None:
    """All of it, piece and source alike, as one would saw it with the other face up."""
    made, piece = source(plan), plan["pieces"][0]
    _mirror([piece["outline"]])
    piece["outline"].reverse()
    _mirror([cut["path"] for cut in made["cuts"]])
    made["cuts"][1]["path"].reverse()
    _mirror([slat["outline"] for slat in made["slats"]])
    for slat in made["slats"]:
        slat["slat"] = 8 - slat["slat"]
        slat["outline"].reverse()
    for screw in made["screws"]:
        screw["slat"] = 8 - screw["slat"]
    _mirror([line["path"] for line in made["sealed"]])
    _mirror([offcut["outline"] for offcut in made["offcuts"]])
    _mirror_hardware(made)


@spoils(corner_notch, "backer-outside", "backer-under-blade")
def backers_hung_as_in_a_mirror(plan: Json) -> None:
    """Left and right exchanged, the tile face down."""
    _mirror_hardware(source(plan))


@spoils(corner_notch, "chiral")
def mirror_image_not_flagged(plan: Json) -> None:
    plan["pieces"][0]["chiral"] = False


@spoils(corner_notch, "neck")
def notch_that_leaves_a_tongue(plan: Json) -> None:
    """10 mm of slat 7 stay beside the notch."""
    for ring in (plan["pieces"][0]["outline"], source(plan)["cuts"][1]["path"]):
        for spot in ring:
            spot[1] = 530 if 500 < spot[1] < 600 else spot[1]


@spoils(corner_notch, "saw")
def notch_on_a_guided_saw(plan: Json) -> None:
    source(plan)["cuts"][1] |= {"saw": "guided_saw", "kerf": 2.2}


@spoils(corner_notch, "step-face")
def notch_with_the_face_up(plan: Json) -> None:
    steps(plan, "cut")[1]["face"] = "up"


@spoils(corner_notch, "face-past-bearing")
def slat_behind_the_notch_not_supported(plan: Json) -> None:
    source(plan)["pin_holes"] = [hole for hole in source(plan)["pin_holes"] if hole["u"] != 300]
    plan["supports"] = [one for one in plan["supports"] if one["at"][0] != 954]


@spoils(corner_notch, "bearing")
def hole_beside_the_pad(plan: Json) -> None:
    """Its pad is cut so that less than 30 of the backer lie on it, 20 around the pin."""
    pad = next(one for one in plan["supports"] if one["at"] == [954, 610])
    pad["outline"] = rect(892, 553, 932, 582)


@spoils(corner_notch, "step-cuts", "step-station")
def notch_prepared_at_the_table_saw(plan: Json) -> None:
    again = copy.deepcopy(steps(plan, "cut")[1])
    plan["steps"].append({**again, "n": len(plan["steps"]) + 1, "station": "table saw"})


@spoils(corner_notch, "step-cuts")
def notch_prepared_after_it_is_sawn(plan: Json) -> None:
    plan["steps"].append({**copy.deepcopy(steps(plan, "cut")[1]), "n": len(plan["steps"]) + 1, "station": "guided saw"})
