"""A source as in a mirror: everything on it is turned over across the slats, v becomes the tile's width less v.

What is in the mirror agrees with itself: slats, backers, screws, holes, cuts and steps. Only where the pieces lie, and
what they lie beside, tells the two apart.
"""

from __future__ import annotations

import re

from tests.checks.spoiling import Json

Spots = list[list[float]]
SIDES = {"v0": "v1", "v1": "v0", "u0": "u0", "u1": "u1"}
WAYS = {"left": "right", "right": "left"}
LETTERS = {"a": "b", "b": "a", "": ""}


def mirror(plan: Json, source: Json) -> None:
    """Mirror a new tile and all pieces cut from it. A half-turned piece is mirrored as well."""
    width = plan["tile"]["width"]
    turned = {slat["id"]: _slat_at(plan, width - slat["v"][1]) for slat in plan["tile"]["slats"]}
    mine = {placement["piece"] for placement in source["placements"]}
    for piece in (piece for piece in plan["pieces"] if piece["id"] in mine):
        piece["outline"] = _over(piece["outline"], width)[::-1]
        piece["holes"] = [_over(hole, width)[::-1] for hole in piece["holes"]]
        piece["fixed_sides"] = sorted(SIDES[side] for side in piece["fixed_sides"])
    for placement in source["placements"]:
        placement["shift"][1] *= -1
    _mirror_cuts(source, width)
    for backer in source["backers"]:
        backer["line"] = _over(backer["line"], width)[::-1]
        if backer["from"] is not None:
            backer["from"]["span"] = [width - v for v in backer["from"]["span"]][::-1]
    for slat in source["slats"]:
        slat["outline"], slat["slat"] = _over(slat["outline"], width)[::-1], turned[slat["slat"]]
    for screw in source["screws"]:
        screw["slat"] = turned[screw["slat"]]
    for fitting in (*source["screws"], *source["pin_holes"]):
        fitting["v"] = width - fitting["v"]
    source["screws_out"] = [_renamed(name, turned) for name in source["screws_out"]]
    for line in source["sealed"]:
        line["path"] = _over(line["path"], width)
    for offcut in source["offcuts"]:
        offcut["outline"] = _over(offcut["outline"], width)[::-1]
        offcut |= {"slats": [], "backers": [], "screws": [], "pin_holes": []}
    for step in (step for step in plan["steps"] if step["source"] == source["id"]):
        step["screws"] = [_renamed(name, turned) for name in step["screws"]]
        step["holes"] = _over(step["holes"], width)
        if step["setup"]:
            step["setup"]["datum"] = SIDES[step["setup"]["datum"]]


def _mirror_cuts(source: Json, width: float) -> None:
    for cut in source["cuts"]:
        cut["path"] = _over(cut["path"], width)
        cut["into"], cut["waste_side"] = cut["into"][::-1], WAYS[cut["waste_side"]]
        if cut["arc"] is not None:
            cut["arc"]["centre"] = _over([cut["arc"]["centre"]], width)[0]


def _over(spots: Spots, width: float) -> Spots:
    return [[u, width - v] for u, v in spots]


def _slat_at(plan: Json, low: float) -> int:
    return int(min(plan["tile"]["slats"], key=lambda slat: abs(slat["v"][0] - low))["id"])


def _renamed(screw: str, turned: dict[int, int]) -> str:
    """The screw of slat.backer and letter that is where this one is in the mirror."""
    found = re.fullmatch(r"(\d+)\.(\d+)([ab]?)", screw)
    assert found is not None
    slat, backer, letter = found.groups()
    return f"{turned[int(slat)]}.{backer}{LETTERS[letter]}"
