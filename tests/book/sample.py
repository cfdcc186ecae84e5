"""A plan made by hand: an invented balcony of four by three cells, two alike, with one source of each kind of cut.

    y
    1478 +-----------+-----------+--.          top wall: straight, then falling 20 mm in 604
         |  P3 rip   |  P4 rip   |  P5 taper .--+------+
    1214 +-----------+-----------+-----------+  | left |
         | whole     |  whole    |  whole    |  P2     |
     610 + liftable  +-------[]--+-----------+---------+      [] the post "vent"
         | whole     |  P6 notch |  whole    |  P1     |
       6 +-----------+-----------+-----------+---------+
         6          610         1214        1818      2238     x

Tile: 600 x 600, seven slats of 80 (gaps 40/6), backers at 40, 300, 560 of width 60 from 6 to 594, two screws a
crossing 20 mm from the slat's edges, holes of 12 mm at (40 | 560, 40 | 560), joint 4, so a pitch of 604.

T1  P1: crosscut at 420, face up; backer 3 is hung at 380 before and brings its holes
T2  P2: the same, at 420, face down
T3  P3 and P4 (half-turned): rips at 256 and 600 - 256 = 344; a strip of one slat between them, 344 - 256 - 2 * 3.2
T4  P5: taper from 254 at the home end to 234 at the far end
T5  P6: corner notch, u from 482, v from 506; a bought backer behind it
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Literal

from cutopt.planfile import Plan

SLAT, GAP, SIZE = 80.0, 40 / 6, 600.0
SQUARE = [[0.0, 0.0], [SIZE, 0.0], [SIZE, SIZE], [0.0, SIZE]]
BACKERS = (40.0, 300.0, 560.0)
HOLES = (40.0, 560.0)
KERFS = {"table_saw": 3.2, "guided_saw": 2.2, "jigsaw": 1.5}
Json = dict[str, Any]


def slat_span(slat: int) -> tuple[float, float]:
    """The v-interval of slat 1 to 7, to the tick."""
    low = round((slat - 1) * (SLAT + GAP) * 320) / 320
    return low, low + SLAT


def hardware() -> Json:
    """The tile's own slats, backers, screws and pin holes."""
    slats = [{"id": n, "v": list(slat_span(n))} for n in range(1, 8)]
    backers = [{"id": n, "u": u, "width": 60.0, "v": [6.0, 594.0]} for n, u in enumerate(BACKERS, 1)]
    screws = [
        {"id": f"{slat}.{n}{letter}", "slat": slat, "backer": n, "u": u, "v": slat_span(slat)[0] + rise}
        for slat in range(1, 8)
        for n, u in enumerate(BACKERS, 1)
        for letter, rise in (("a", 20.0), ("b", 60.0))
    ]
    holes = [
        {"id": n, "backer": 1 if u == 40 else 3, "u": u, "v": v, "diameter": 12.0}
        for n, (u, v) in enumerate([(u, v) for u in HOLES for v in HOLES], 1)
    ]
    return {"slats": slats, "backers": backers, "screws": screws, "pin_holes": holes}


@dataclass(frozen=True, kw_only=True, slots=True)
class Kept:
    """Which part of the tile's hardware a piece keeps where it is: u below, and v between."""

    piece: str
    u: tuple[float, float] = (0.0, SIZE)
    v: tuple[float, float] = (0.0, SIZE)


def _within(span: tuple[float, float], value: float) -> bool:
    return span[0] < value < span[1]


def kept_screws(source: str, kept: Kept, but: tuple[str, ...] = ()) -> list[Json]:
    return [
        {"piece": kept.piece, "slat": screw["slat"], "backer": f"{source}.b{screw['backer']}", "u": screw["u"],
         "v": screw["v"], "state": "kept"}
        for screw in hardware()["screws"]
        if screw["id"] not in but and _within(kept.u, screw["u"]) and _within(kept.v, screw["v"])
    ]  # fmt: skip


def kept_holes(source: str, kept: Kept) -> list[Json]:
    return [
        {"piece": kept.piece, "backer": f"{source}.b{hole['backer']}", "u": hole["u"], "v": hole["v"], "state": "kept"}
        for hole in hardware()["pin_holes"]
        if _within(kept.u, hole["u"]) and _within(kept.v, hole["v"])
    ]


def kept_slats(kept: Kept) -> list[Json]:
    found = []
    for slat in range(1, 8):
        low, high = slat_span(slat)
        low, high = max(low, kept.v[0]), min(high, kept.v[1])
        if low < high:
            ring = [[kept.u[0], low], [kept.u[1], low], [kept.u[1], high], [kept.u[0], high]]
            found.append({"piece": kept.piece, "slat": slat, "outline": ring, "state": "kept"})
    return found


def backer(source: str, piece: str, n: int, u: float, v: tuple[float, float], state: str = "kept") -> Json:
    name = f"{source}.b{n}" if state != "cut" or piece != "P4" else f"{source}.b{n}b"
    return {"id": name, "piece": piece, "from": {"source": source, "backer": n, "span": list(v)},
            "line": [[u, v[0]], [u, v[1]]], "width": 60.0, "state": state}  # fmt: skip


def cut(n: int, part: str, into: tuple[str, str], piece: str, saw: str, path: list[list[float]]) -> Json:
    return {"n": n, "part": part, "into": list(into), "piece": piece, "saw": saw, "kerf": KERFS[saw], "path": path,
            "closed": False, "waste_side": "right"}  # fmt: skip


OUT = tuple(f"{slat}.3{letter}" for slat in range(1, 8) for letter in "ab")
MOVED_U = 380.0


def crosscut_source(source: str, piece: str, saw: str) -> Json:
    """The last backer is unscrewed, hung at 380 with its holes, and the tile is cut at 420."""
    kept = Kept(piece=piece, u=(0.0, 420.0))
    name = f"{source}.b3"
    moved = [
        {"piece": piece, "slat": screw["slat"], "backer": name, "u": MOVED_U, "v": screw["v"], "state": "moved"}
        for screw in hardware()["screws"]
        if screw["backer"] == 3
    ]
    carried = [{"piece": piece, "backer": name, "u": MOVED_U, "v": v, "state": "moved"} for v in HOLES]
    sawn = 420.0 + KERFS[saw]
    offcut = {"id": f"R{source[1:]}", "keep": True, "slats": hardware()["slats"], "backers": [], "screws": [],
              "pin_holes": [], "outline": [[sawn, 0.0], [600.0, 0.0], [600.0, 600.0], [sawn, 600.0]]}  # fmt: skip
    whole = (6.0, 594.0)
    return {
        "cuts": [cut(1, source, (piece, offcut["id"]), piece, saw, [[420.0, 0.0], [420.0, 600.0]])],
        "backers": [backer(source, piece, 1, 40.0, whole), backer(source, piece, 2, 300.0, whole),
                    backer(source, piece, 3, MOVED_U, whole, "moved")],
        "slats": kept_slats(kept), "screws": kept_screws(source, kept) + moved, "screws_out": list(OUT),
        "pin_holes": kept_holes(source, kept) + carried, "offcuts": [offcut],
        "sealed": [{"piece": piece, "path": [[420.0, slat_span(n)[0]], [420.0, slat_span(n)[1]]], "thickness": 20.0}
                   for n in range(1, 8)],
    }  # fmt: skip


def rip_source() -> Json:
    """P3 keeps slats 1 to 3, P4 keeps slats 5 to 7; slat 4 falls out between two cuts that run in slat gaps."""
    low, high = Kept(piece="P3", v=(0.0, 256.0)), Kept(piece="P4", v=(344.0, 600.0))
    strip = [[0.0, 259.2], [600.0, 259.2], [600.0, 340.8], [0.0, 340.8]]
    drilled = [
        {"piece": piece, "backer": f"T3.b{n}{suffix}", "u": u, "v": v, "state": "drilled"}
        for piece, v, suffix in (("P3", 212.0, ""), ("P4", 388.0, "b"))
        for n, u in ((1, 40.0), (3, 560.0))
    ]
    upper = [{**screw, "backer": screw["backer"] + "b"} for screw in kept_screws("T3", high)]
    return {
        "cuts": [cut(1, "T3", ("T3.2", "P3"), "P3", "table_saw", [[0.0, 256.0], [600.0, 256.0]])
                 | {"waste_side": "left"},
                 cut(2, "T3.2", ("P4", "T3.3"), "P4", "table_saw", [[0.0, 344.0], [600.0, 344.0]])],
        "backers": [backer("T3", "P3", n, u, (6.0, 256.0), "cut") for n, u in enumerate(BACKERS, 1)]
        + [backer("T3", "P4", n, u, (344.0, 594.0), "cut") for n, u in enumerate(BACKERS, 1)],
        "slats": kept_slats(low) + kept_slats(high), "screws": kept_screws("T3", low) + upper, "screws_out": [],
        "pin_holes": kept_holes("T3", low) + kept_holes("T3", high) + drilled,
        "offcuts": [{"id": "T3.3", "outline": strip, "keep": False, "slats": [], "backers": [], "screws": [],
                     "pin_holes": []}],
        "sealed": [{"piece": "P3", "path": [[u - 30, 256.0], [u + 30, 256.0]], "thickness": 18.0} for u in BACKERS],
    }  # fmt: skip


def taper_source() -> Json:
    """The oblique cut passes the upper screw of slat 3 at backer 3 by 2 mm, so that screw comes out."""
    kept = Kept(piece="P5", v=(0.0, 260.0))
    added = {"piece": "P5", "slat": 3, "backer": "T4.b3", "u": 560.0, "v": 216.0, "state": "added"}
    drilled = [
        {"piece": "P5", "backer": f"T4.b{n}", "u": u, "v": 180.0, "state": "drilled"}
        for n, u in ((1, 40.0), (3, 560.0))
    ]
    path = [[0.0, 254.0], [600.0, 234.0]]
    return {
        "cuts": [cut(1, "T4", ("T4.2", "P5"), "P5", "guided_saw", path) | {"waste_side": "left"}],
        "backers": [backer("T4", "P5", n, u, (6.0, 254.0 - u / 30), "cut") for n, u in enumerate(BACKERS, 1)],
        "slats": kept_slats(Kept(piece="P5", v=(0.0, 254.0))),
        "screws": [*kept_screws("T4", kept, ("3.3b",)), added], "screws_out": ["3.3b"],
        "pin_holes": kept_holes("T4", kept) + drilled, "offcuts": [], "sealed": [],
    }  # fmt: skip


def notch_source() -> Json:
    """The notch takes the corner hole and the end of backer 3; a bought backer holds slats 6 and 7 behind it."""
    out = ("7.3a", "7.3b")
    kept = Kept(piece="P6")
    added = [
        {"piece": "P6", "slat": n, "backer": "T5.b4", "u": 440.0, "v": slat_span(n)[0] + rise, "state": "added"}
        for n in (6, 7)
        for rise in (20.0, 60.0)
    ]
    bought = {"id": "T5.b4", "piece": "P6", "from": None, "line": [[440.0, 440.0], [440.0, 594.0]], "width": 60.0,
              "state": "added"}  # fmt: skip
    holes = [hole for hole in kept_holes("T5", kept) if (hole["u"], hole["v"]) != (560.0, 560.0)]
    holes.append({"piece": "P6", "backer": "T5.b3", "u": 560.0, "v": 466.0, "state": "drilled"})
    path = [[482.0, 600.0], [482.0, 506.0], [600.0, 506.0]]
    return {
        "cuts": [cut(1, "T5", ("T5.2", "P6"), "P6", "jigsaw", path) | {"waste_side": "left"}],
        "backers": [backer("T5", "P6", 1, 40.0, (6.0, 594.0)), backer("T5", "P6", 2, 300.0, (6.0, 594.0)),
                    backer("T5", "P6", 3, 560.0, (6.0, 506.0), "cut"), bought],
        "slats": kept_slats(kept), "screws": kept_screws("T5", kept, out) + added, "screws_out": list(out),
        "pin_holes": holes, "offcuts": [], "sealed": [],
    }  # fmt: skip


def rectangle(u: float, v: float) -> list[list[float]]:
    return [[0.0, 0.0], [u, 0.0], [u, v], [0.0, v]]


def piece(n: int, cell: tuple[int, int], outline: list[list[float]], fixed: list[str], chiral: bool = False) -> Json:
    return {"id": f"P{n}", "area": "AREA", "row": cell[0], "col": cell[1], "outline": outline, "holes": [],
            "fixed_sides": fixed, "fit": "scribe" if n == 6 else "shop", "uncertainty": 0.9,
            "chiral": chiral}  # fmt: skip


def source(n: int, pieces: list[tuple[str, bool]], made: Json, uses: int) -> Json:
    placements = [{"piece": name, "half_turn": turned, "shift": [0.0, 0.0]} for name, turned in pieces]
    return {
        "id": f"T{n}",
        "from": "new",
        "uses": uses,
        "outline": SQUARE,
        "placements": placements,
        "minutes": 21.0,
    } | made


Doing = Literal["mark", "unscrew", "cut", "re-hang", "screw", "drill", "seal", "label", "rack"]


def step(source: str, do: Doing, text: str, **more: Any) -> Json:
    """A step with what most of them have; `more` overrides."""
    stations = {"cut": "table saw", "drill": "drill", "seal": "brush", "label": "brush"}
    return {"n": 0, "source": source, "copy": 1, "pieces": [], "where": "shop", "station": stations.get(do, "bench"),
            "face": "down", "do": do, "cut": None, "screws": [], "backer": None, "holes": [], "after": [], "text": text,
            "setup": None, "sum": "", "falls_off": "", "minutes": 2.0} | more  # fmt: skip


def crosscut_steps(source: str, piece: str, face: str) -> list[Json]:
    saw, total = ("table saw", "420 + 3.2 + 176.8 = 600") if face == "up" else ("guided saw", "420 + 2.2 + 177.8 = 600")
    return [
        step(source, "mark", f"Chalk the home corner of {source}. Write {piece} with its arrow to the wall beyond u1."),
        step(source, "unscrew", "Turn the tile face down. Take out the 14 screws of backer b3.", screws=list(OUT)),
        step(source, "re-hang", "Hang backer b3 with its centre 380 from u0, ends 6 from v0 and v1; predrill, screw.",
             backer=f"{source}.b3"),
        step(source, "cut", f"Cut 1: set 420 from u0, cut, and keep {piece} on the fence side.", station=saw, face=face,
             cut=1, setup={"fence": 420.0, "datum": "u0"}, sum=total,
             falls_off=f"offcut R{source[1:]}, {total.split()[4]} wide: to the rack"),
        step(source, "seal", "Seal the 7 cut slat ends today."),
        step(source, "label", f"Label {piece}."),
    ]  # fmt: skip


def rip_steps() -> list[Json]:
    first = {"station": "table saw", "cut": 1, "setup": {"fence": 256.0, "datum": "v0"},
             "sum": "256 + 3.2 + 340.8 = 600", "falls_off": "part T3.2, 340.8 wide: cut 2"}  # fmt: skip
    second = {"station": "table saw", "cut": 2, "setup": {"fence": 256.0, "datum": "v1"},
              "sum": "256 + 3.2 + 81.6 = 340.8", "falls_off": "a strip with slat 4: waste"}  # fmt: skip
    return [
        step(
            "T3", "mark", "Chalk the home corner of T3. Write P3 with its arrow beyond v1, P4 with its arrow beyond v0."
        ),
        step(
            "T3",
            "drill",
            "Drill 4 holes of 12 mm with a support as the guide.",
            holes=[[40.0, 212.0], [560.0, 212.0], [40.0, 388.0], [560.0, 388.0]],
        ),
        step("T3", "cut", "Cut 1: set 256 from v0, cut, keep P3 on the fence side.", **first),
        step("T3", "cut", "Cut 2: set 256 from v1, cut, keep P4 on the fence side.", **second),
        step("T3", "seal", "Seal the 6 sawn backer ends."),
    ]


def taper_steps() -> list[Json]:
    return [
        step("T4", "mark", "Chalk the home corner of T4. Mark 254 from v0 on end u0 and 234 from v0 on end u1."),
        step("T4", "unscrew", "Take out screw 3.3b; a new one goes 216 from v0.", screws=["3.3b"]),
        step("T4", "cut", "Cut 1: guided saw along the two marks, keep the side of v0.", station="guided saw", cut=1,
             sum="254 + 2.2 + 343.8 = 600", falls_off="343.8 to 363.8 wide: waste"),
        step("T4", "drill", "Drill 2 holes of 12 mm, a support as the guide.", holes=[[40.0, 180.0], [560.0, 180.0]]),
    ]  # fmt: skip


def notch_steps() -> list[Json]:
    return [
        step("T5", "mark", "Chalk the home corner of T5. Mark the notch: 482 from u0 and 506 from v0.", where="site"),
        step("T5", "unscrew", "Take out screws 7.3a and 7.3b.", screws=["7.3a", "7.3b"]),
        step("T5", "screw", "Hang the bought backer b4, 154 long, centre 440 from u0; 4 new screws.", backer="T5.b4"),
        step("T5", "cut", "Cut 1: jigsaw from v1 to the inside corner, then from u1; keep the large part.",
             station="jigsaw", where="site", cut=1, sum="482 + 1.5 + 116.5 = 600", falls_off="the corner: waste"),
        step("T5", "drill", "Drill 1 hole of 12 mm.", holes=[[560.0, 466.0]]),
    ]  # fmt: skip


def numbered(steps: list[Json], pieces_of: dict[str, list[str]]) -> list[Json]:
    """Steps 1, 2, 3 ... where each waits for the one before it on the same source."""
    last: dict[str, int] = {}
    done = []
    for n, one in enumerate(steps, 1):
        name = one["source"]
        done.append(one | {"n": n, "after": [last[name]] if name in last else [], "pieces": pieces_of[name]})
        last[name] = n
    return done


def cells() -> list[Json]:
    made = {(0, 1): ["P6"], (0, 3): ["P1"], (1, 3): ["P2"], (2, 0): ["P3"], (2, 1): ["P4"], (2, 2): ["P5"]}
    found = []
    for row in range(3):
        for col in range(4):
            kind = "left" if (row, col) == (2, 3) else "cut" if (row, col) in made else "whole"
            corner = [[1818.0, 1214.0], [2240.0, 1214.0], [2240.0, 1444.0], [1818.0, 1458.0]]
            left = [
                {
                    "outline": corner,
                    "rule": "thinnest_strip",
                    "why": "a strip of 60 beside it would be narrower than 75",
                }
            ]
            found.append({"row": row, "col": col, "quarter_turn": False, "kind": kind,
                          "pieces": made.get((row, col), []), "order": row * 4 + col + 1,
                          "liftable": (row, col) == (1, 0), "left": left if kind == "left" else []})  # fmt: skip
    return found


def area(name: str, count: int) -> Json:
    gap = [6.0, 12.0]
    kinds = ("wall", "wall", "flush", "stone", "open")
    return {
        "name": name, "count": count, "frame": {"origin": [0.0, 0.0], "turn": 0.0},
        "outline": [[0.0, 0.0], [2246.0, 0.0], [2246.0, 1444.0], [1214.0, 1478.0], [0.0, 1478.0]],
        "edges": [{"kind": kind, "gap": gap} for kind in kinds],
        "posts": [
            {"name": "vent", "kind": "post", "round": False, "gap": gap,
             "outline": [[1100.0, 520.0], [1200.0, 520.0], [1200.0, 604.0], [1100.0, 604.0]]},
            {"name": "drain", "kind": "drain", "round": False, "gap": gap,
             "outline": [[250.0, 850.0], [350.0, 850.0], [350.0, 950.0], [250.0, 950.0]]},
        ],
        "grid": {"origin": [6.0, 6.0], "pitch": [604.0, 604.0]}, "cells": cells(),
    }  # fmt: skip


def supports(area: str) -> list[Json]:
    found = []
    for row in range(4):
        for col in range(5):
            x, y = min(4.0 + col * 604.0, 2238.0), min(4.0 + row * 604.0, 1470.0)
            low = (max(x - 70, 0.0), max(y - 70, 0.0))
            high = (min(x + 70, 2246.0), min(y + 70, 1474.0))
            edges = (row in (0, 3)) + (col in (0, 4))
            ring = [[low[0], low[1]], [high[0], low[1]], [high[0], high[1]], [low[0], high[1]]]
            pins = [
                [x + dx, y + dy]
                for dx in (-42, 42)
                for dy in (-42, 42)
                if low[0] < x + dx < high[0] and low[1] < y + dy < high[1]
            ]
            shape = ("whole", "half", "quarter")[edges]
            found.append({"area": area, "at": [x, y], "shape": shape, "outline": ring, "pins": pins})
    return found


def sources(uses: int) -> list[Json]:
    return [
        source(1, [("P1", False)], crosscut_source("T1", "P1", "table_saw"), uses),
        source(2, [("P2", False)], crosscut_source("T2", "P2", "guided_saw"), uses),
        source(3, [("P3", False), ("P4", True)], rip_source(), uses),
        source(4, [("P5", False)], taper_source(), uses),
        source(5, [("P6", False)], notch_source(), uses),
    ]


def pieces() -> list[Json]:
    notched = [[0.0, 0.0], [600.0, 0.0], [600.0, 506.0], [482.0, 506.0], [482.0, 600.0], [0.0, 600.0]]
    return [
        piece(1, (0, 3), rectangle(420.0, 600.0), ["u0", "v1"]),
        piece(2, (1, 3), rectangle(420.0, 600.0), ["u0", "v0"]),
        piece(3, (2, 0), rectangle(600.0, 256.0), ["u1", "v0"]),
        piece(4, (2, 1), rectangle(600.0, 256.0), ["u0", "u1", "v0"]),
        piece(5, (2, 2), [[0.0, 0.0], [600.0, 0.0], [600.0, 234.0], [0.0, 254.0]], ["u0", "v0"], chiral=True),
        piece(6, (0, 1), notched, ["u0", "u1", "v1"], chiral=True),
    ]


def totals(count: int) -> Json:
    return {
        "tiles": 10 * count, "whole": 5 * count, "cut": 5 * count, "one_for_one": 11 * count, "lower_bound": 5 * count,
        "proven": True, "pieces": 6 * count, "spare_backers": count, "setups": 3, "screws_moved": 31 * count,
        "holes_drilled": 7 * count, "sealed_area": 71_000.0 * count, "minutes": 105.0 * count,
        "minutes_by_station": {"bench": 60.0 * count, "table saw": 20.0 * count, "drill": 25.0 * count},
        "cost": 824.5 * count, "currency": "EUR", "offcut_area": 212_160.0 * count, "waste_area": 400_000.0 * count,
        "stone_area": 0.0,
    }  # fmt: skip


def sample_json(
    *, show: str = "mm", count: int = 2, name: str = "Invented balcony", area_name: str = "Balcony"
) -> Json:
    """The plan as JSON, so that a test can change it before it is read."""
    pieces_of = {"T1": ["P1"], "T2": ["P2"], "T3": ["P3", "P4"], "T4": ["P5"], "T5": ["P6"]}
    steps = [
        *crosscut_steps("T1", "P1", "up"),
        *crosscut_steps("T2", "P2", "down"),
        *rip_steps(),
        *taper_steps(),
        *notch_steps(),
    ]
    return {
        "format": "cutopt-plan", "version": 1,
        "job": {"name": name, "sha256": "0" * 64, "show": show, "mark": 1.0, "seed": 0},
        "rules": {"wall_gap": [6.0, 12.0], "thinnest_strip": 75.0},
        "kerf": KERFS, "strategy": "factory-edge",
        "tile": {"name": "sample-600", "length": SIZE, "width": SIZE, "slat_thickness": 20.0, "backer_thickness": 18.0,
                 "density": 680.0, "gauge": 8,
                 "support": {"pad": [140.0, 140.0], "pin_offset": 42.0, "pin": 10.0, "height": 15.0}}
        | hardware(),
        "stock": [], "areas": [area(area_name, count)],
        "pieces": [one | {"area": area_name} for one in pieces()], "sources": sources(count),
        "supports": supports(area_name), "steps": numbered(steps, pieces_of),
        "proof": {"aim": "tiles", "value": 5.0 * count, "bound": 5.0 * count, "met": True, "scope": "listed grids",
                  "stopped": "met", "grids": {"considered": 24, "dropped": 20}},
        "totals": totals(count),
        "buy": [{"item": "tile", "count": 12.0 * count, "unit": "", "why": "10 and 2 for breakage, in one batch"},
                {"item": "support", "count": 20.0, "unit": "", "why": "halves and quarters come out of them"},
                {"item": "end-grain sealer", "count": 0.5, "unit": "L", "why": "0.071 m² of cut ends"}],
        "warnings": ["P6: slat 7 ends 100 past backer b2 until b4 is in"],
    }  # fmt: skip


def sample_plan(*, show: str = "mm", count: int = 2) -> Plan:
    """The plan as records."""
    return Plan.model_validate(sample_json(show=show, count=count))


def named(name: str) -> Plan:
    """The sample with the name wherever a job or a plan file puts a text of its own."""
    made: dict[str, Any] = sample_json(name=name, area_name=name)
    made["tile"]["name"] = name
    made["warnings"] = [name]
    made["areas"][0]["posts"][0]["name"] = name
    made["steps"][0]["text"] = name
    made["steps"][0]["falls_off"] = name
    made["buy"][0]["item"] = name
    made["areas"][0]["cells"][-1]["left"][0]["why"] = name
    return Plan.model_validate(made)
