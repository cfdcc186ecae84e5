"""The small plan in other ways: turned by a half on its source, by a quarter on the ground, and three times over.

Each is made from it by hand: what turns, turns by its formula, and all else stays.
"""

from __future__ import annotations

from typing import Any

from tests.checks.small_plan import Json, small

SIZE = 600.0  # the small plan's tile, length and width
WIDTH = 616.0  # its area, across
COPIES = 3
OTHER_LETTER = {"a": "b", "b": "a"}


def half_turned() -> Json:
    """The piece is cut from the tile's far end: point (u, v) of the source becomes (600 - u, 600 - v).

    Slat 1 becomes slat 7, backer 1 backer 3, and of the two screws at a crossing the other one.
    """
    plan = small()
    source = plan["sources"][0]
    source["placements"][0]["half_turn"] = True
    for cut in source["cuts"]:
        cut["path"] = _half(cut["path"])
    for backer in source["backers"]:
        backer["line"] = _half(backer["line"])[::-1]
        backer["from"]["backer"] = 4 - backer["from"]["backer"]
    for slat in source["slats"]:
        slat["outline"], slat["slat"] = _half(slat["outline"]), 8 - slat["slat"]
    for screw in source["screws"]:
        screw["slat"] = 8 - screw["slat"]
    for fitting in (*source["screws"], *source["pin_holes"]):
        fitting["u"], fitting["v"] = SIZE - fitting["u"], SIZE - fitting["v"]
    for line in source["sealed"]:
        line["path"] = _half(line["path"])
    for offcut in source["offcuts"]:
        offcut["outline"] = _half(offcut["outline"])
    source["screws_out"] = [_opposite(name) for name in source["screws_out"]]
    for step in plan["steps"]:
        step["screws"] = [_opposite(name) for name in step["screws"]]
        if step["setup"]:
            step["setup"]["datum"] = "u1"
    return plan


def _half(spots: list[list[float]]) -> list[list[float]]:
    return [[SIZE - u, SIZE - v] for u, v in spots]


def _opposite(screw: str) -> str:
    """The screw of "slat.backer" and letter that lies where this one comes by a half turn."""
    slat, backer, letter = screw[0], screw[2], screw[3]
    return f"{8 - int(slat)}.{4 - int(backer)}{OTHER_LETTER[letter]}"


def quarter_turned() -> Json:
    """The slats run away from the start wall: point (x, y) of the layout becomes (616 - y, x), columns become rows.

    616 ───┐
     │ P1  │  1040
     │─────│
     │whole│
     0 ────┘
    """
    plan = small()
    area = plan["areas"][0]
    area["outline"] = _quarter(area["outline"])[-1:] + _quarter(area["outline"])[:-1]
    for cell in area["cells"]:
        cell["row"], cell["col"], cell["quarter_turn"] = cell["col"], 0, True
    for piece in plan["pieces"]:
        piece["row"], piece["col"] = piece["col"], 0
    for support in plan["supports"]:
        support["at"] = _quarter([support["at"]])[0]
        support["outline"], support["pins"] = _quarter(support["outline"]), _quarter(support["pins"])
    return plan


def _quarter(spots: list[list[float]]) -> list[list[float]]:
    return [[WIDTH - y, x] for x, y in spots]


def three_alike() -> Json:
    """Three areas alike: the source is cut three times, each step takes three times as long, the fence is set once."""
    plan = small()
    plan["areas"][0]["count"] = plan["sources"][0]["uses"] = COPIES
    totals: dict[str, Any] = plan["totals"]
    for key in (
        *("tiles", "whole", "cut", "one_for_one", "lower_bound", "pieces", "screws_moved"),
        *("sealed_area", "offcut_area", "waste_area"),
    ):
        totals[key] *= COPIES
    for step in plan["steps"]:
        step["minutes"] *= COPIES
    plan["sources"][0]["minutes"] *= COPIES
    # bench, saw and brush three times 4.6, 0.5 and 0.8; one setting; 3 · 0.25 + 3 · 1 to lay
    totals["minutes_by_station"] = {
        "bench": 13.8,
        "table saw": 1.5,
        "brush": 2.4,
        "setting fences": 0.8,
        "laying": 3.75,
    }
    totals["minutes"] = 22.25
    plan["proof"]["value"] = plan["proof"]["bound"] = COPIES
    plan["buy"][0]["count"], plan["buy"][1]["count"] = 3 * 2 + 2, 6
    return plan
