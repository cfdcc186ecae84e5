"""A whole plan that fits in the head: one row of two cells, a whole tile and one crosscut to 420 mm.

    y
    616 ┌────────────────────────────────┐  walls on all sides, gaps 6 to 12 mm
        │  ┌────────────┐ ┌────────┐     │
        │  │   whole    │ │   P1   │     │  grid origin (8, 8), tile 600, joint 4, pitch 604
        │  │            │ │  420   │     │
        │  └────────────┘ └────────┘     │
      0 └────────────────────────────────┘
        0  8          608 612    1032  1040  x

P1 is the left 420 mm of tile T1: backers 1 and 2 stay, backer 3 moves from u = 560 to 380 and brings its two pin holes
and, in new places in the slats, its fourteen screws. Every number is derived from the tile's anatomy here, not copied
from a planner.
"""

from __future__ import annotations

import copy
from typing import Any

from cutopt.checks import check
from cutopt.planfile import Plan
from tests.checks.small_rules import RULES

Json = dict[str, Any]

# seven slats of 80 leave 40 mm for six gaps: 12800 ticks, spread symmetrically
GAPS = (2133, 2133, 2134, 2134, 2133, 2133)
SLATS: list[list[float]] = []
_at = 0
for _gap in (*GAPS, 0):
    SLATS.append([_at / 320, _at / 320 + 80])
    _at += 80 * 320 + _gap
BACKERS = {1: 40.0, 2: 300.0, 3: 560.0}
CUT_AT, KERF = 420.0, 3.2
SAWS = ("table saw", "guided saw", "jigsaw")
MOVED_TO = CUT_AT - 40.0  # the distance from the cut that it had from the factory edge


def _tile() -> Json:
    return {
        "name": "hardwood-600",
        "length": 600,
        "width": 600,
        "slat_thickness": 20,
        "backer_thickness": 18,
        "density": 680,
        "gauge": 8,
        "support": {"pad": [140, 140], "pin_offset": 42, "pin": 10, "height": 15},
        "slats": [{"id": number, "v": v} for number, v in enumerate(SLATS, 1)],
        "backers": [{"id": number, "u": u, "width": 60, "v": [6, 594]} for number, u in BACKERS.items()],
        "screws": [
            {"id": f"{slat}.{backer}{letter}", "slat": slat, "backer": backer, "u": u, "v": v}
            for slat, (low, high) in enumerate(SLATS, 1)
            for backer, u in BACKERS.items()
            for letter, v in (("a", low + 20), ("b", high - 20))
        ],
        "pin_holes": [
            {"id": number, "backer": backer, "u": BACKERS[backer], "v": v, "diameter": 12}
            for number, (backer, v) in enumerate(((1, 40), (1, 560), (3, 40), (3, 560)), 1)
        ],
    }


def _box(u0: float, v0: float, u1: float, v1: float) -> list[list[float]]:
    return [[u0, v0], [u1, v0], [u1, v1], [u0, v1]]


def _area() -> Json:
    return {
        "name": "Terrace",
        "count": 1,
        "frame": {"origin": [0, 0], "turn": 0},
        "outline": _box(0, 0, 1040, 616),
        "edges": [{"kind": "wall", "gap": [6, 12]} for _ in range(4)],
        "posts": [],
        "grid": {"origin": [8, 8], "pitch": [604, 604]},
        "cells": [_cell(0, "whole", []), _cell(1, "cut", ["P1"])],
    }


def _cell(col: int, kind: str, pieces: list[str]) -> Json:
    return {
        "row": 0,
        "col": col,
        "quarter_turn": False,
        "kind": kind,
        "pieces": pieces,
        "order": col + 1,
        "liftable": False,
        "left": [],
    }


def _source() -> Json:
    tile = _tile()
    placed = [{"piece": "P1", "half_turn": False, "shift": [0, 0]}]
    cut = {"n": 1, "part": "T1", "into": ["P1", "T1.2"], "piece": "P1", "saw": "table_saw", "kerf": KERF}
    cut |= {"path": [[CUT_AT, 0], [CUT_AT, 600]], "closed": False, "waste_side": "right"}
    places = {1: (BACKERS[1], "kept"), 2: (BACKERS[2], "kept"), 3: (MOVED_TO, "moved")}
    at = {number: {"piece": "P1", "backer": f"T1.b{number}", "u": u, "state": s} for number, (u, s) in places.items()}
    return {
        "id": "T1",
        "from": "new",
        "uses": 1,
        "outline": _box(0, 0, 600, 600),
        "placements": placed,
        "cuts": [cut],
        "backers": [_backer(number, u, state) for number, (u, state) in places.items()],
        "slats": [
            {"piece": "P1", "slat": slat, "outline": _box(0, low, CUT_AT, high), "state": "kept"}
            for slat, (low, high) in enumerate(SLATS, 1)
        ],
        "screws": [{**at[screw["backer"]], "slat": screw["slat"], "v": screw["v"]} for screw in tile["screws"]],
        "screws_out": [screw["id"] for screw in tile["screws"] if screw["backer"] == 3],
        "pin_holes": [{**at[hole["backer"]], "v": hole["v"]} for hole in tile["pin_holes"]],
        "sealed": [{"piece": "P1", "path": [[CUT_AT, low], [CUT_AT, high]], "thickness": 20} for low, high in SLATS],
        "offcuts": [_offcut()],
        "minutes": 5.9,  # of its steps
    }


def _backer(number: int, u: float, state: str) -> Json:
    wood = {"source": "T1", "backer": number, "span": [6, 594]}
    line = [[u, 6], [u, 594]]
    return {"id": f"T1.b{number}", "piece": "P1", "from": wood, "line": line, "width": 60, "state": state}


def _offcut() -> Json:
    outline = _box(CUT_AT + KERF, 0, 600, 600)
    bare: Json = {"slats": _tile()["slats"], "backers": [], "screws": [], "pin_holes": []}
    return {"id": "R1", "outline": outline, "keep": True, **bare}


def _supports() -> list[Json]:
    """Centre lines on the joints, half a joint outside the tiles along walls: halves between, quarters outside.

    At P1's sawn end the quarters are cut flush with it, or they would stand in the wall's gap.
    """
    found = []
    for x, cols in ((6, (1,)), (610, (-1, 1)), (1034, (-1,))):
        for y, way in ((6, 1), (610, -1)):
            x0, x1 = x + 70 * min(0, *cols), min(x + 70 * max(0, *cols), 612 + CUT_AT)
            found.append(
                {
                    "area": "Terrace",
                    "at": [x, y],
                    "shape": "half" if len(cols) == 2 else "quarter",
                    "outline": _box(x0, min(y, y + 70 * way), x1, max(y, y + 70 * way)),
                    "pins": [[x + 42 * col, y + 42 * way] for col in cols],
                }
            )
    return found


def _steps() -> list[Json]:
    out = _source()["screws_out"]
    fence = {"fence": CUT_AT, "datum": "u0"}
    falls = "the 176.8 mm end, to the rack"
    work: list[Json] = [
        {"station": "bench", "do": "mark", "text": "Chalk the home corner."},
        {
            "station": "bench",
            "do": "unscrew",
            "screws": out,
            "text": "Take out 14 screws.",
            "face": "down",
            "after": [1],
        },
        {
            "station": "bench",
            "do": "re-hang",
            "backer": "T1.b3",
            "text": "Move backer 3.",
            "face": "down",
            "after": [2],
        },
        {"station": "bench", "do": "screw", "backer": "T1.b3", "text": "Screw it.", "face": "down", "after": [3]},
        {
            "station": "table saw",
            "do": "cut",
            "cut": 1,
            "setup": fence,
            "text": "Cut.",
            "after": [2, 4],
            "falls_off": falls,
        }
        | {"sum": "420 + 3.2 + 176.8 = 600"},
        {"station": "brush", "do": "seal", "text": "Seal the cut ends.", "after": [5]},
        {"station": "bench", "do": "label", "text": "Label P1.", "after": [5]},
        {"station": "bench", "do": "rack", "text": "Rack R1.", "after": [5]},
    ]
    empty: Json = {
        "source": "T1",
        "copy": 1,
        "pieces": ["P1"],
        "where": "shop",
        "face": "up",
        "cut": None,
        "screws": [],
    }
    empty |= {"backer": None, "holes": [], "after": [], "setup": None, "sum": "", "falls_off": ""}
    # by the rates: a mark, 14 screws out, a backer, 14 screws in, a cut, sealing, a label, the rack
    minutes = (0.5, 14 * 0.08, 0.7, 14 * 0.12, 0.5, 0.8, 0.3, 0.3)
    numbered = enumerate(zip(work, minutes, strict=True), 1)
    return [{**empty, "n": number, **step, "minutes": taken} for number, (step, taken) in numbered]


def _totals() -> Json:
    """Sealed: 7 slats x 80 x 20. Offcut: 176.8 x 600. Waste: the kerf, 3.2 x 600."""
    return {
        "tiles": 2,
        "whole": 1,
        "cut": 1,
        "one_for_one": 2,
        "lower_bound": 1,
        "proven": True,
        "pieces": 1,
        "spare_backers": 0,
        "setups": 1,
        "screws_moved": 14,
        "holes_drilled": 0,
        "sealed_area": 7 * 80 * 20,
        "minutes": 7.95,  # 5.9 of the steps, 0.8 for the fence, 0.25 and 1 to lay
        "minutes_by_station": {"bench": 4.6, "table saw": 0.5, "brush": 0.8, "setting fences": 0.8, "laying": 1.25},
        "cost": 160.0,
        "currency": "EUR",
        "offcut_area": 176.8 * 600,
        "waste_area": 3.2 * 600,
        "stone_area": 0.0,
    }


def small() -> Json:
    """A fresh copy of the plan as JSON values."""
    corners = _box(0, 0, CUT_AT, 600)
    piece = {"id": "P1", "area": "Terrace", "row": 0, "col": 1, "outline": corners, "holes": [], "fixed_sides": ["u0"]}
    proof = {"aim": "tiles", "value": 1, "bound": 1, "met": True, "scope": "this grid", "stopped": "met"}
    return copy.deepcopy(
        {
            "format": "cutopt-plan",
            "version": 1,
            "job": {"name": "Small", "sha256": "0" * 64, "show": "mm", "mark": 1, "seed": 0},
            "rules": RULES,
            "kerf": {"table_saw": KERF, "guided_saw": 2.2, "jigsaw": 1.5},
            "strategy": "factory-edge",
            "tile": _tile(),
            "stock": [],
            "areas": [_area()],
            "pieces": [{**piece, "fit": "shop", "uncertainty": 0.9, "chiral": False}],
            "sources": [_source()],
            "supports": _supports(),
            "steps": _steps(),
            "proof": {**proof, "grids": {"considered": 1, "dropped": 0}},
            "totals": _totals(),
            "buy": [
                {"item": "tile", "count": 4, "unit": "piece", "why": "2 and 2 for breakage"},
                {"item": "support", "count": 2, "unit": "piece", "why": "2 halves and 4 quarters"},
                {"item": "end-grain sealer", "count": 0.05, "unit": "litre", "why": "0.01 square metres"},
                *({"item": f"blade, {saw}", "count": 2, "unit": "piece", "why": "up to 20 cuts"} for saw in SAWS),
            ],
            "warnings": [],
        }
    )


def as_plan(values: Json) -> Plan:
    """The records of JSON values."""
    return Plan.model_validate(values)


def as_values(plan: Plan) -> Json:
    """A fresh copy of a plan's JSON values."""
    return plan.model_dump(mode="json", by_alias=True)


def said(values: Json) -> set[str]:
    """The rules that the check names."""
    return {finding.rule for finding in check(as_plan(values))}
