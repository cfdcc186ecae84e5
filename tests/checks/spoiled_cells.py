"""Spoiled cells, grid and site."""

from __future__ import annotations

import math
from itertools import pairwise

from tests.checks.spoiling import (
    Corruption,
    Json,
    NoVictim,
    cells,
    drop_step,
    first,
    leave,
    onto,
    sources,
    tile_corners,
)

SURE = 200.0  # mm: a piece no smaller can surely be hung
SPOILED: list[Corruption] = []
names = onto(SPOILED)


@names("left-open")
def whole_cell_left_as_not_yet_planned(plan: Json) -> None:
    area, cell = first(cells(plan, "whole"))
    leave(plan, area, cell, "not_yet_planned")


@names("left-open")
def whole_cell_left_as_thin(plan: Json) -> None:
    area, cell = first(cells(plan, "whole"))
    leave(plan, area, cell, "thinnest_strip")


@names("left-open")
def whole_cell_left_as_an_open_edge(plan: Json) -> None:
    area, cell = first(cells(plan, "whole"))
    leave(plan, area, cell, "open_edge")


@names("left-open")
def whole_cell_left_for_a_bay(plan: Json) -> None:
    area, cell = first(cells(plan, "whole"))
    leave(plan, area, cell, "longest_bay")


@names("left-open")
def whole_cell_left_for_a_made_up_rule(plan: Json) -> None:
    area, cell = first(cells(plan, "whole"))
    leave(plan, area, cell, "tiredness")


@names("coverage")
def whole_cell_left_without_a_word(plan: Json) -> None:
    _, cell = first(cells(plan, "whole"))
    cell["kind"] = "left"


@names("missing-cell")
def whole_cell_dropped(plan: Json) -> None:
    area, cell = first(cells(plan, "whole"))
    area["cells"].remove(cell)


@names("left-overlap", "left-open")
def cut_cell_left_as_well(plan: Json) -> None:
    area, cell = first(cells(plan, "cut"))
    cell["left"] = [{"outline": tile_corners(plan, area, cell), "rule": "longest_bay", "why": "no reason"}]


def _least_side(ring: list[list[float]]) -> float:
    return min(max(spot[axis] for spot in ring) - min(spot[axis] for spot in ring) for axis in (0, 1))


@names("left-open")
def cut_cell_left_instead(plan: Json) -> None:
    """The piece goes with all that is made for it, so that only the cell tells."""
    for source in sources(plan):
        if len(source["placements"]) != 1:
            continue
        name = source["placements"][0]["piece"]
        piece = first(p for p in plan["pieces"] if p["id"] == name)
        if len(piece["outline"]) != 4 or not _upright(piece["outline"]) or _least_side(piece["outline"]) < SURE:
            continue
        area, cell = first((a, c) for a, c in cells(plan, "cut") if c["pieces"] == [name])
        plan["sources"].remove(source)
        plan["pieces"].remove(piece)
        for step in [s for s in plan["steps"] if s["source"] == source["id"]]:
            drop_step(plan, step)
        leave(plan, area, cell, "longest_bay")
        return
    raise NoVictim


def _upright(ring: list[list[float]]) -> bool:
    return all(0 in (a[0] - b[0], a[1] - b[1]) for a, b in pairwise(ring))


@names("cell-kind", "wall-gap", "post-gap", "outside-area")
def cut_cell_called_whole(plan: Json) -> None:
    _, cell = first(cells(plan, "cut"))
    cell["kind"] = "whole"


@names("reference")
def cell_lists_a_strange_piece(plan: Json) -> None:
    _, cell = first(cells(plan, "cut"))
    cell["pieces"].append("nobody")


@names("unique-id")
def laying_order_twice(plan: Json) -> None:
    area = first(area for area in plan["areas"] if len([c for c in area["cells"] if c["kind"] != "left"]) > 1)
    laid = [cell for cell in area["cells"] if cell["kind"] != "left"]
    laid[1]["order"] = laid[0]["order"]


@names("post-gap", "outside-area")
def post_put_into_a_whole_tile(plan: Json) -> None:
    area, cell = first(cells(plan, "whole"))
    ring = tile_corners(plan, area, cell)
    x, y = ring[0][0] + 200, ring[0][1] + 200
    outline = [[x, y], [x + 80, y], [x + 80, y + 80], [x, y + 80]]
    area["posts"].append({"name": "new", "kind": "post", "round": False, "outline": outline, "gap": [6, 12]})


@names("wall-gap")
def wall_gap_widened(plan: Json) -> None:
    area, _ = first(cells(plan, "cut"))
    for edge in area["edges"]:
        if edge["kind"] == "wall":
            edge["gap"] = [100, 120]


@names("open-edge")
def wall_called_open(plan: Json) -> None:
    area, _ = first(cells(plan, "cut"))
    for edge in area["edges"]:
        edge["kind"], edge["gap"] = "open", [0, 0]


@names("grid")
def pitch_changed(plan: Json) -> None:
    plan["areas"][0]["grid"]["pitch"][0] += 5


@names("wall-gap", "coverage", "missing-cell", "outside-area", "open-edge")
def grid_moved(plan: Json) -> None:
    plan["areas"][0]["grid"]["origin"][0] += 30


@names("coverage", "wall-gap", "outside-area", "missing-cell", "overlap")
def cut_cell_turned(plan: Json) -> None:
    """A crosscut piece turned a quarter: its slats run the wrong way and its shape does not fit."""
    sides = {p["id"]: [max(q[0] for q in p["outline"]), max(q[1] for q in p["outline"])] for p in plan["pieces"]}
    _, cell = first(
        (a, c) for a, c in cells(plan, "cut") if c["pieces"] and sides[c["pieces"][0]][0] != sides[c["pieces"][0]][1]
    )
    cell["quarter_turn"] = not cell["quarter_turn"]


def _left_for(rule: str) -> None:
    def spoil(plan: Json) -> None:
        area, cell = first(cells(plan, "whole"))
        leave(plan, area, cell, rule)

    SPOILED.append(Corruption(name=f"whole_cell_left_for_{rule}", rules=frozenset({"left-open"}), spoil=spoil))


for _rule in (
    *("stone_edge", "thinnest_across", "mark", "fragment_least", "fragment_held", "longest_overhang", "one_whole"),
    *("bearing_least", "face_past_bearing", "wall_face_past_bearing", "hole_wood"),
):
    _left_for(_rule)


@names("left-overlap")
def open_ground_listed_beyond_its_cell(plan: Json) -> None:
    area, cell = first(
        (a, c) for a, c in [*cells(plan, "left"), *cells(plan, "cut")] if a["grid"]["pitch"][0] < a["outline"][1][0]
    )
    x, y = plan["tile"]["length"], plan["tile"]["width"]
    (x0, y0) = (sum(spot[axis] for spot in area["outline"]) / len(area["outline"]) for axis in (0, 1))
    ring = [[x0, y0], [x0 + x, y0], [x0 + x, y0 + y], [x0, y0 + y]]
    cell["left"].append({"outline": ring, "rule": "bearing_least", "why": "no reason"})


@names("frame", "wall-gap", "coverage", "outside-area")
def site_mirrored(plan: Json) -> None:
    area, _ = first(cells(plan, "cut"))
    most = max(p[0] for p in area["outline"])
    mirrored = [[most - x, y] for x, y in reversed(area["outline"])]
    if sorted(mirrored) == sorted(area["outline"]):
        raise NoVictim
    area["outline"] = mirrored


@names("frame")
def site_turned_by_1_degree(plan: Json) -> None:
    """The outline turns in its frame, and cells and posts stay where they are."""
    area, _ = first(cells(plan, "cut"))
    cos, sin = math.cos(math.radians(1)), math.sin(math.radians(1))
    area["outline"] = [[x * cos - y * sin, x * sin + y * cos] for x, y in area["outline"]]


@names("pattern")
def whole_tile_turned(plan: Json) -> None:
    """The wood lies where it lay; only its slats run the wrong way."""
    if plan["tile"]["length"] != plan["tile"]["width"]:
        raise NoVictim
    area = first(area for area in plan["areas"] if len(area["cells"]) > 8)
    cell = first(cell for cell in area["cells"] if cell["kind"] == "whole")
    cell["quarter_turn"] = not cell["quarter_turn"]


@names("laying-order", "unique-id")
def cell_not_laid_in_order(plan: Json) -> None:
    _, cell = first(cells(plan, "whole"))
    cell["order"] = 10_000


@names("laying-order")
def tile_over_a_drain_laid_first(plan: Json) -> None:
    area, drain = first((a, c) for a, c in cells(plan, "whole") if c["liftable"])
    other = first(cell for cell in area["cells"] if cell["order"] == 1)
    drain["order"], other["order"] = other["order"], drain["order"]


@names("liftable")
def tile_over_a_drain_fixed(plan: Json) -> None:
    _, drain = first((a, c) for a, c in cells(plan, "whole") if c["liftable"])
    drain["liftable"] = False


@names("liftable")
def tile_liftable_for_nothing(plan: Json) -> None:
    _, cell = first((a, c) for a, c in cells(plan, "whole") if not c["liftable"])
    cell["liftable"] = True
