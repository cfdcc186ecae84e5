"""What the plans of worked pieces have in common: the piece of 420, its moved backer, steps and supports.

Slats at v 0-80, 86.7-166.7, 173.3-253.3, 260-340, 346.7-426.7, 433.3-513.3, 520-600; backers 60 wide at u 40, 300, 560.
"""

from __future__ import annotations

import copy

from tests.checks.hand_plan import backer, hole, rect, support
from tests.checks.small_plan import SLATS, Json

ALL = [6, 594]
OUT_3 = [f"{slat}.3{letter}" for slat in range(1, 8) for letter in "ab"]
RING = [(vs[0] + 20, vs[1] - 20) for vs in SLATS]  # where each slat has its screws


def bench(*middle: Json, seal: bool = True) -> list[Json]:
    """The steps of one tile: marking first, sealing and labelling last."""
    steps: list[Json] = [{"do": "mark"}, *middle]
    steps += [{"do": "seal", "station": "brush"}] if seal else []
    return [*steps, {"do": "label"}]


def fence(cut: int, fence: float, datum: str, total: str) -> Json:
    """A cut along the fence."""
    setup = {"fence": fence, "datum": datum}
    return {"do": "cut", "station": "table saw", "cut": cut, "setup": setup, "sum": total}


CROSSCUT = {"part": "T1", "saw": "table_saw", "path": [[420, 0], [420, 600]], "waste_side": "right"}
FENCE_420 = fence(1, 420, "u0", "420 + 3.2 + 176.8 = 600")
REHANG = {"do": "re-hang", "backer": "T1.b3", "face": "down"}
OFF_3 = {"do": "unscrew", "screws": OUT_3, "face": "down"}
NEW_3 = [(slat, "T1.b3", 380.0, v) for slat, vs in enumerate(RING, 1) for v in vs]
FIRST_HOLES = [hole((40, 40), "T1.b1"), hole((40, 560), "T1.b1")]
MOVED_3 = backer(3, ALL, "moved", line=[[380, 6], [380, 594]])
HOLES_3 = [hole((380, 40), "T1.b3", "moved"), hole((380, 560), "T1.b3", "moved")]
RIGHT = [
    support((1034, 6), "quarter", rect(964, 6, 1032, 76), [[992, 48]]),
    support((1034, 610), "quarter", rect(964, 540, 1032, 610), [[992, 568]]),
]
KEPT_END = {"id": "R1", "outline": rect(423.2, 0, 600, 600), "keep": True}
ROOM = rect(0, 0, 1040, 616)


def ripped(plan: Json) -> Json:
    """The plan with its third backer ripped from 60 to 40 before it is hung, in two passes of half a minute each.

    The fence is set twice more, 0.8 minutes each (rules of the small plan).
    """
    plan = copy.deepcopy(plan)  # worked plans have backers in common
    plan["sources"][0]["backers"][2]["width"] = 40
    place, hung = next((n, step) for n, step in enumerate(plan["steps"]) if step["do"] == "re-hang")
    passes = [
        {"fence": 50, "datum": "u0", "sum": "50 + 3.2 + 6.8 = 60"},
        {"fence": 40, "datum": "u1", "sum": "40 + 3.2 + 6.8 = 50"},
    ]
    plan["steps"][place:place] = [
        hung
        | {"do": "cut", "station": "table saw", "face": "up", "minutes": 0.5, "sum": one["sum"]}
        | {"setup": {"fence": one["fence"], "datum": one["datum"]}}
        for one in passes
    ]
    for n, step in enumerate(plan["steps"], 1):
        step["n"] = n
    source, totals = plan["sources"][0], plan["totals"]
    source["minutes"] += 1.0
    totals["minutes_by_station"]["table saw"] += 1.0
    totals["minutes_by_station"]["setting fences"] += 2 * plan["rules"]["rate_setup"]
    totals["minutes"] += 1.0 + 2 * plan["rules"]["rate_setup"]
    totals["setups"] += 2
    return plan
