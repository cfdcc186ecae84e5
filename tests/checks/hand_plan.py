"""Puts a plan together around one cut tile, T1, that lies in cell (0, 1) of the small plan's row.

Shapes, cuts, backers, new screws, holes and supports are given by hand; what follows from them by plain arithmetic (the
fragments of slats, cut ends to seal, minutes by the rates, totals) is worked out here, from no planner.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field
from itertools import pairwise
from typing import Any

from shapely.geometry import Polygon, box

from tests.checks.small_plan import SLATS, Json, small
from tests.checks.small_rules import RULES

Spots = Sequence[Sequence[float]]
SIZE = 600.0
X, Y = 612.0, 8.0  # where the cell's corner lies in the layout
SAW_RATES = {"table saw": "rate_table_saw", "guided saw": "rate_guided_saw", "jigsaw": "rate_jigsaw"}
END_GRAIN = 10.0  # degrees from the slats


@dataclass(frozen=True, kw_only=True)
class Made:
    """A piece by its rings, the tile's own frame."""

    id: str
    outline: Spots
    holes: Sequence[Spots] = ()
    fixed: Sequence[str] = ("u0",)
    chiral: bool = False

    @property
    def shape(self) -> Polygon:
        return Polygon(self.outline, list(self.holes))


@dataclass(frozen=True, kw_only=True)
class Work:
    """All that a hand-made plan is put together from. `out`: screws that come out; `new`: (slat, backer, u, v)."""

    outline: Spots  # of the area
    pieces: Sequence[Made]
    cuts: Sequence[Json]
    backers: Sequence[Json]
    holes: Sequence[Json]
    offcuts: Sequence[Json]
    supports: Sequence[Json]
    steps: Sequence[Json]
    out: Sequence[str] = ()
    new: Sequence[tuple[int, str, float, float]] = ()
    sealed_backers: Sequence[tuple[str, Spots]] = ()
    posts: Sequence[Json] = ()
    left: Sequence[Json] = ()
    rules: Json = field(default_factory=dict)
    on_the_left: Sequence[Json] | None = None  # supports there, where they are not the small plan's


def rect(u0: float, v0: float, u1: float, v1: float) -> list[list[float]]:
    return [[u0, v0], [u1, v0], [u1, v1], [u0, v1]]


def backer(number: int, span: Sequence[float], state: str, piece: str = "P1", **more: Any) -> Json:
    """A backer of T1's backer `number`, where it was unless `line` says otherwise."""
    at = {1: 40.0, 2: 300.0, 3: 560.0}[number]
    wood = {"source": "T1", "backer": number, "span": list(span)}
    line = [[at, span[0]], [at, span[1]]]
    made = {"id": f"T1.b{number}", "piece": piece, "from": wood, "line": line, "width": 60, "state": state}
    return {**made, **more}


def hole(spot: Sequence[float], of: str, state: str = "kept", piece: str = "P1") -> Json:
    return {"piece": piece, "backer": of, "u": spot[0], "v": spot[1], "state": state}


def support(at: Sequence[float], shape: str, outline: Spots, pins: Spots) -> Json:
    where = {"area": "Terrace", "at": list(at), "shape": shape}
    return {**where, "outline": [list(spot) for spot in outline], "pins": [list(pin) for pin in pins]}


def post(outline: Spots, **more: Any) -> Json:
    return {"name": "post", "kind": "post", "round": False, "outline": outline, "gap": [6, 12], **more}


def usual_supports() -> list[Json]:
    """Those on the left: of the whole tile and between it and the cell."""
    return [one for one in small()["supports"] if one["at"][0] < X]


def plan_of(work: Work) -> Json:
    """The plan's values."""
    plan = small()
    plan["rules"] = {**RULES, **work.rules}
    area = plan["areas"][0]
    area |= {"outline": [list(spot) for spot in work.outline], "posts": list(work.posts)}
    area["edges"] = [{"kind": "wall", "gap": [6, 12]} for _ in work.outline]
    area["cells"][1] |= {"pieces": [piece.id for piece in work.pieces], "left": list(work.left)}
    common = {"area": "Terrace", "row": 0, "col": 1, "fit": "shop", "uncertainty": 0.9}
    plan["pieces"] = [
        {**common, "id": p.id, "outline": p.outline, "holes": list(p.holes), "fixed_sides": p.fixed, "chiral": p.chiral}
        for p in work.pieces
    ]
    plan["supports"] = [*(usual_supports() if work.on_the_left is None else work.on_the_left), *work.supports]
    plan["sources"] = [_source(plan, work)]
    plan["steps"] = _steps(plan, work)
    _add_up(plan, work)
    return plan


def _source(plan: Json, work: Work) -> Json:
    source = plan["sources"][0]
    source["placements"] = [{"piece": p.id, "half_turn": False, "shift": [0, 0]} for p in work.pieces]
    source["cuts"] = [_cut(plan, number, cut) for number, cut in enumerate(work.cuts, 1)]
    source["backers"] = list(work.backers)
    source["slats"] = [
        {"piece": p.id, "slat": slat, "outline": [[float(u), float(v)] for u, v in ring], "state": "kept"}
        for p in work.pieces
        for slat, ring in fragments(p.shape)
    ]
    source["screws"] = [*_kept(plan, work), *_new(work)]
    source["screws_out"] = list(work.out)
    source["pin_holes"] = list(work.holes)
    ends: list[tuple[str, Spots, int]] = [(p.id, end, 20) for p in work.pieces for end in slat_ends(p.shape)]
    ends += [(piece, end, 18) for piece, end in work.sealed_backers]
    source["sealed"] = [{"piece": p, "path": [list(a) for a in path], "thickness": t} for p, path, t in ends]
    bare: Json = {"keep": False, "slats": [], "backers": [], "screws": [], "pin_holes": []}
    source["offcuts"] = [{**bare, **offcut} for offcut in work.offcuts]
    return dict(source)


def _cut(plan: Json, number: int, cut: Json) -> Json:
    usual = {"n": number, "piece": "P1", "saw": "table_saw", "closed": False, "waste_side": "right"}
    made = {**usual, **cut}
    return {**made, "kerf": plan["kerf"][made["saw"]]}


def fragments(shape: Polygon) -> list[tuple[int, list[tuple[float, float]]]]:
    """What a piece has of each slat: its number and ring, anticlockwise."""
    found = []
    for slat, (low, high) in enumerate(SLATS, 1):
        part = shape.intersection(box(-1, low, SIZE + 1, high))
        for one in getattr(part, "geoms", [part]):
            if isinstance(one, Polygon) and one.area > 0.01:
                found.append((slat, list(one.normalize().exterior.coords)[:-1][::-1]))
    return found


def slat_ends(shape: Polygon) -> list[list[tuple[float, float]]]:
    """The cut ends of its slats: edges across them that are not the tile's own."""
    ends = []
    for _, ring in fragments(shape):
        for a, b in pairwise([*ring, ring[0]]):
            steep = math.degrees(math.atan2(abs(b[1] - a[1]), abs(b[0] - a[0]))) > END_GRAIN
            own = a[0] == b[0] and a[0] in (0, SIZE)
            if steep and not own:
                ends.append([a, b])
    return ends


def _kept(plan: Json, work: Work) -> list[Json]:
    """The tile's screws that stay, with the backer in place that they are in."""
    found = []
    for screw in plan["tile"]["screws"]:
        if screw["id"] in work.out:
            continue
        for one in work.backers:
            low, high = sorted(spot[1] for spot in one["line"])
            here = one["from"] and one["from"]["backer"] == screw["backer"] and low <= screw["v"] <= high
            if here and one["state"] in ("kept", "cut", "shaved"):
                spot = {"u": screw["u"], "v": screw["v"], "state": "kept"}
                found.append({"piece": one["piece"], "slat": screw["slat"], "backer": one["id"], **spot})
    return found


def _new(work: Work) -> list[Json]:
    by_id = {one["id"]: one for one in work.backers}
    states = {"moved": "moved", "added": "added"}
    return [
        {"piece": by_id[b]["piece"], "slat": s, "backer": b, "u": u, "v": v}
        | {"state": states.get(by_id[b]["state"], "moved")}
        for s, b, u, v in work.new
    ]


def _steps(plan: Json, work: Work) -> list[Json]:
    empty: Json = {"source": "T1", "copy": 1, "pieces": [p.id for p in work.pieces], "where": "shop", "face": "up"}
    empty |= {"station": "bench", "cut": None, "screws": [], "backer": None, "holes": [], "after": [], "setup": None}
    empty |= {"sum": "", "falls_off": "", "text": "Do it."}
    steps = [{**empty, "n": number, **step} for number, step in enumerate(work.steps, 1)]
    return [{**step, "minutes": _minutes(plan, work, step)} for step in steps]


def _minutes(plan: Json, work: Work, step: Json) -> float:
    rates = plan["rules"]
    if step["do"] == "cut":
        return float(rates[SAW_RATES[step["station"]]])
    driven = rates["rate_screw_in"] * sum(one[1] == step["backer"] for one in work.new)
    minutes: dict[str, float] = {
        "mark": 0.5,
        "unscrew": rates["rate_screw_out"] * len(step["screws"]),
        "re-hang": rates["rate_backer"] + rates["rate_mark"] * _oblique(plan, step) + driven,
        "screw": driven,
        "drill": rates["rate_hole"] * len(step["holes"]),
        "seal": rates["rate_seal"],
        "label": rates["rate_label"],
        "rack": rates["rate_label"],
    }
    return minutes[step["do"]]


def _oblique(plan: Json, step: Json) -> bool:
    """Whether a backer's line has to be marked, since it does not run square across the slats."""
    lines = [one["line"] for one in plan["sources"][0]["backers"] if one["id"] == step["backer"]]
    return any(line[0][0] != line[1][0] for line in lines)


def _add_up(plan: Json, work: Work) -> None:
    source, totals = plan["sources"][0], plan["totals"]
    count, laid = len(work.pieces), sum(p.shape.area for p in work.pieces)
    source["minutes"] = sum(step["minutes"] for step in plan["steps"])
    stations: dict[str, float] = {"laying": 0.25 + count}
    for step in plan["steps"]:
        stations[step["station"]] = stations.get(step["station"], 0.0) + step["minutes"]
    fences = [step["setup"] for step in plan["steps"] if step["setup"]]
    setups = [fence for i, fence in enumerate(fences) if i == 0 or fence != fences[i - 1]]
    if setups:
        stations["setting fences"] = 0.8 * len(setups)
    kept = sum(Polygon(o["outline"]).area for o in source["offcuts"] if o["keep"])
    totals |= {
        "one_for_one": 1 + count,
        "pieces": count,
        "setups": len(setups),
        "spare_backers": sum(one["from"] is None for one in source["backers"]),
        "screws_moved": len(work.new),
        "holes_drilled": sum(one["state"] == "drilled" for one in work.holes),
        "sealed_area": sum(line["thickness"] * math.dist(*line["path"]) for line in source["sealed"]),
        "minutes": sum(stations.values()),
        "minutes_by_station": stations,
        "offcut_area": kept,
        "waste_area": SIZE * SIZE - laid - kept,
    }
    plan["buy"][1]["count"] = len(plan["supports"])
    plan["buy"].append({"item": "backer", "count": totals["spare_backers"], "unit": "piece", "why": "bought"})
