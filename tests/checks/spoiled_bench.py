"""Spoiled work: oblique and ripped backers, what lies loose at the saw, pads that are seen."""

from __future__ import annotations

import copy

from tests.checks.hand_plan import X, Y, rect
from tests.checks.spoiling import Json, steps
from tests.checks.spoiling_worked import Listed, source, spoils_onto
from tests.checks.worked_backers import oblique, oblique_spot, ripped_backer, screws_back_in
from tests.checks.worked_notches import corner_notch, lifted_over
from tests.checks.worked_splits import split_in_two

SPOILED: list[Listed] = []
spoils = spoils_onto(SPOILED)


# oblique and ripped backers


@spoils(oblique, "backer-shape")
def oblique_backer_hung_as_in_a_mirror(plan: Json) -> None:
    """It leans the other way."""
    line = source(plan)["backers"][2]["line"]
    line[0][0], line[1][0] = line[1][0], line[0][0]


@spoils(oblique, "step-cuts")
def guided_cut_made_twice(plan: Json) -> None:
    plan["steps"].append({**copy.deepcopy(steps(plan, "cut")[0]), "n": len(plan["steps"]) + 1})


@spoils(oblique, "backer-shape")
def oblique_backer_not_along_the_cut(plan: Json) -> None:
    source(plan)["backers"][2]["line"][1][0] += 2


@spoils(oblique, "backer-wood")
def oblique_backer_as_long_as_it_is_wide(plan: Json) -> None:
    """584 across, as if it were straight; its line is 586.9 long."""
    source(plan)["backers"][2]["from"]["span"] = [6, 590]


@spoils(oblique, "backer-wood")
def more_wood_than_the_backer_is_long(plan: Json) -> None:
    source(plan)["backers"][2]["line"][1] = list(oblique_spot(585, 40))


@spoils(oblique, "screw-backer")
def screw_near_the_oblique_backers_edge(plan: Json) -> None:
    next(s for s in source(plan)["screws"] if s["backer"] == "T1.b3")["u"] += 25


@spoils(oblique, "pin-hole-wood")
def hole_near_the_oblique_backers_edge(plan: Json) -> None:
    next(h for h in source(plan)["pin_holes"] if h["backer"] == "T1.b3")["u"] -= 16


@spoils(oblique, "support-seen")
def pad_not_cut_along_the_oblique_edge(plan: Json) -> None:
    pad = plan["supports"][-1]
    low, high = (f(y for _, y in pad["outline"]) for f in (min, max))
    pad["outline"] = rect(pad["at"][0] - 70, low, pad["at"][0], high)


@spoils(oblique, "sealed")
def oblique_backers_end_not_sealed(plan: Json) -> None:
    source(plan)["sealed"] = [line for line in source(plan)["sealed"] if line["thickness"] == 20]


@spoils(ripped_backer, "backer-width")
def backer_ripped_too_narrow(plan: Json) -> None:
    source(plan)["backers"][2]["width"] = 39


@spoils(ripped_backer, "screw-backer")
def old_screw_at_a_ripped_edge(plan: Json) -> None:
    """11.5 mm are left beside screws that go back into their old holes."""
    plan["rules"]["shaved_least"] = 10
    source(plan)["backers"][2]["width"] = 23


@spoils(ripped_backer, "pin-hole-wood")
def hole_at_a_ripped_edge(plan: Json) -> None:
    plan["rules"]["shaved_least"] = 10
    source(plan)["backers"][2]["width"] = 30


@spoils(ripped_backer, "wood-twice")
def other_half_of_a_ripped_backer_used(plan: Json) -> None:
    """What is ripped off the edges is no wood for another backer."""
    other = copy.deepcopy(source(plan)["backers"][2])
    other |= {"id": "T1.b3b", "line": [[240, 6], [240, 594]]}
    source(plan)["backers"].append(other)


# what lies loose at the saw


@spoils(screws_back_in, "loose-at-fence")
def waste_along_the_fence(plan: Json) -> None:
    """The end that falls off has lost its backer: seven loose slat ends between fence and blade."""
    cut = steps(plan, "cut")[0]
    cut |= {"setup": {"fence": 176.8, "datum": "u1"}, "sum": "176.8 + 3.2 + 420 = 600"}


@spoils(screws_back_in, "unheld-slat")
def slat_sawn_before_its_screws_are_in(plan: Json) -> None:
    """All that is screwed comes after the cut: slat 4 lies loose under the blade."""
    late = [step for step in plan["steps"] if step["do"] in ("re-hang", "screw")]
    others = [step for step in plan["steps"] if step not in late]
    plan["steps"] = [*others[:3], *late, *others[3:]]
    for number, step in enumerate(plan["steps"], 1):
        step["n"] = number


@spoils(screws_back_in, "unheld-slat", "loose-at-fence")
def slats_held_by_screws_of_the_waste_alone(plan: Json) -> None:
    """Slat 7 loses all its screws before the cut."""
    unscrew = steps(plan, "unscrew")[0]
    unscrew["screws"] = [*unscrew["screws"], "7.1a", "7.1b", "7.2a", "7.2b"]
    made = source(plan)
    made["screws"] = [s for s in made["screws"] if (s["slat"], s["backer"]) != (7, "T1.b3")]


@spoils(split_in_two, "loose-at-fence")
def backer_without_screws_along_the_fence(plan: Json) -> None:
    """Slats 1 and 2 come off backer 2, whose sawn end then lies loose beside the blade."""
    names = [f"{slat}.2{letter}" for slat in (1, 2) for letter in "ab"]
    source(plan)["screws_out"] = names
    plan["steps"].insert(1, {**plan["steps"][0], "do": "unscrew", "screws": names, "face": "down", "minutes": 0.32})
    for number, step in enumerate(plan["steps"], 1):
        step["n"] = number


@spoils(screws_back_in, "wood-sawn")
def backer_sawn_before_it_comes_off(plan: Json) -> None:
    """The cut runs at u 560, along the backer that is hung elsewhere, and its screws come out afterwards."""
    source(plan)["cuts"][0]["path"] = [[560, 0], [560, 600]]
    unscrew = steps(plan, "unscrew")[0]
    plan["steps"].remove(unscrew)
    plan["steps"].append(unscrew)
    for number, step in enumerate(plan["steps"], 1):
        step["n"] = number


@spoils(oblique, "step-face")
def rip_with_the_face_up(plan: Json) -> None:
    """Nearly along the slats; what else is wrong with such a cut is said as well."""
    source(plan)["cuts"][0]["path"] = [[600, 100], [0, 110]]


# what is seen from above


@spoils(screws_back_in, "support-seen")
def pad_in_the_walls_gap(plan: Json) -> None:
    """It is sawn through its middle, 2 mm beyond the piece's cut end."""
    for pad in plan["supports"][-2:]:
        for spot in pad["outline"]:
            spot[0] += 2 * (spot[0] == 1032)


@spoils(screws_back_in, "support-shape")
def half_beside_its_middle(plan: Json) -> None:
    """A half of the right size, across two quarters of each half."""
    half = next(one for one in plan["supports"] if one["shape"] == "half")
    low, high = (f(y for _, y in half["outline"]) for f in (min, max))
    half["outline"] = rect(half["at"][0] - 70, low + 10, half["at"][0] + 70, high + 10)


@spoils(lifted_over, "support-seen")
def support_below_a_hole(plan: Json) -> None:
    """A pad in the middle of the piece is seen through the hole around the post."""
    x, y = X + 120, Y + 255
    pad = {"area": "Terrace", "at": [x, y], "shape": "trimmed", "pins": []}
    plan["supports"].append({**pad, "outline": rect(x - 30, y - 30, x + 30, y + 10)})


# masses


@spoils(corner_notch, "standing")
def stands_at_one_side_only(plan: Json) -> None:
    """Both supports on the right go, and with them their holes: the piece tips."""
    plan["supports"] = [one for one in plan["supports"] if one["at"][0] < X]
    source(plan)["pin_holes"] = [hole for hole in source(plan)["pin_holes"] if hole["u"] == 40]
