"""Ways to spoil a good plan, one fault each, with the rules by which the check must name it.

Each looks for a victim in whatever plan it is given, so that the same list serves the small plan and real ones; where a
plan has none (no notch, no second cut), `NoVictim` is raised.
"""

from __future__ import annotations

import copy
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from itertools import pairwise
from typing import Any

Json = dict[str, Any]
Spoil = Callable[[Json], None]


class NoVictim(LookupError):
    """The plan has nothing that this corruption could spoil."""


@dataclass(frozen=True, kw_only=True, slots=True)
class Corruption:
    """`spoil` changes the values in place; one of `rules` must be among the findings."""

    name: str
    rules: frozenset[str]
    spoil: Spoil

    def of(self, plan: Json) -> Json:
        """A spoiled copy of a plan's values."""
        spoiled = copy.deepcopy(plan)
        self.spoil(spoiled)
        return spoiled


CORRUPTIONS: list[Corruption] = []


def names(*rules: str) -> Callable[[Spoil], Spoil]:
    """Put a function on the list, with the rules that may name its fault."""

    def listed(spoil: Spoil) -> Spoil:
        CORRUPTIONS.append(Corruption(name=spoil.__name__, rules=frozenset(rules), spoil=spoil))
        return spoil

    return listed


# victims


def first(found: Iterable[Any]) -> Any:
    """The first of what was found."""
    for victim in found:
        return victim
    raise NoVictim


def sources(plan: Json) -> list[Json]:
    return list(plan["sources"])


def cut_source(plan: Json) -> Json:
    return dict_of(first(source for source in sources(plan) if source["cuts"]))


def dict_of(value: Any) -> Json:
    assert isinstance(value, dict)
    return value


def cells(plan: Json, kind: str) -> list[tuple[Json, Json]]:
    return [(area, cell) for area in plan["areas"] for cell in area["cells"] if cell["kind"] == kind]


def fittings(plan: Json, key: str, *states: str) -> list[tuple[Json, Json]]:
    return [(s, item) for s in sources(plan) for item in s[key] if not states or item["state"] in states]


def steps(plan: Json, do: str) -> list[Json]:
    return [step for step in plan["steps"] if step["do"] == do]


def shift(ring: list[list[float]], du: float, dv: float) -> None:
    for spot in ring:
        spot[0] += du
        spot[1] += dv


def drop_step(plan: Json, step: Json) -> None:
    """Take a step out, and renumber so that only the work is missing."""
    gone = step["n"]
    plan["steps"].remove(step)
    for other in plan["steps"]:
        other["after"] = [n - (n > gone) for n in other["after"] if n != gone]
        other["n"] -= other["n"] > gone


def tile_corners(plan: Json, area: Json, cell: Json) -> list[list[float]]:
    (x, y), (px, py) = area["grid"]["origin"], area["grid"]["pitch"]
    x, y = x + cell["col"] * px, y + cell["row"] * py
    w, h = plan["tile"]["length"], plan["tile"]["width"]
    if cell["quarter_turn"]:
        w, h = h, w
    return [[x, y], [x + w, y], [x + w, y + h], [x, y + h]]


def leave(plan: Json, area: Json, cell: Json, rule: str) -> None:
    cell["kind"], cell["pieces"] = "left", []
    cell["left"] = [{"outline": tile_corners(plan, area, cell), "rule": rule, "why": "no reason"}]


# placements


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


# cuts


@names("cuts-make-pieces")
def cuts_removed(plan: Json) -> None:
    source = cut_source(plan)
    source["cuts"] = []
    for step in [s for s in plan["steps"] if s["source"] == source["id"] and s["do"] == "cut"]:
        drop_step(plan, step)


@names("cut-part", "cut-order")
def cuts_swapped(plan: Json) -> None:
    source = first(s for s in sources(plan) if len(s["cuts"]) > 1)
    source["cuts"].reverse()


@names("kerf")
def kerf_of_a_cut_changed(plan: Json) -> None:
    cut_source(plan)["cuts"][0]["kerf"] += 0.5


@names("kerf")
def kerf_of_a_saw_changed(plan: Json) -> None:
    plan["kerf"][cut_source(plan)["cuts"][0]["saw"]] += 0.5


@names("cuts-make-pieces", "blade-in-piece")
def waste_side_flipped(plan: Json) -> None:
    cut = cut_source(plan)["cuts"][0]
    cut["waste_side"] = "left" if cut["waste_side"] == "right" else "right"


@names("cuts-make-pieces", "offcuts")
def parts_renamed_crosswise(plan: Json) -> None:
    cut = cut_source(plan)["cuts"][0]
    cut["into"].reverse()


@names("cuts-make-pieces", "cut-path")
def cut_1_mm_off(plan: Json) -> None:
    cut = first(c for s in sources(plan) for c in s["cuts"] if len(c["path"]) == 2)
    axis = 0 if abs(cut["path"][0][0] - cut["path"][1][0]) < 1 else 1
    shift(cut["path"], 1 - axis, axis)


@names("cut-path")
def cut_stops_short(plan: Json) -> None:
    path = cut_source(plan)["cuts"][0]["path"]
    for axis in (0, 1):
        path[-1][axis] += (path[-2][axis] - path[-1][axis]) / 10


@names("saw", "kerf")
def saw_not_there(plan: Json) -> None:
    del plan["kerf"][cut_source(plan)["cuts"][0]["saw"]]


@names("saw")
def rip_beyond_the_fence(plan: Json) -> None:
    first(c for s in sources(plan) for c in s["cuts"] if c["saw"] == "table_saw")
    plan["rules"]["widest_rip"] = 1


@names("saw")
def corner_on_a_table_saw(plan: Json) -> None:
    cut = cut_source(plan)["cuts"][0]
    (u0, v0), (u1, v1) = cut["path"][0], cut["path"][-1]
    cut["saw"] = "table_saw"
    cut["path"] = [[u0, v0], [(u0 + u1) / 2, (v0 + v1) / 2], [u1, v1]]


@names("offcuts")
def offcut_removed(plan: Json) -> None:
    first(s for s in sources(plan) if s["offcuts"])["offcuts"].pop()


@names("offcuts")
def offcut_grown(plan: Json) -> None:
    outline = first(o for s in sources(plan) for o in s["offcuts"])["outline"]
    least = min(p[0] for p in outline)
    for spot in outline:
        spot[0] -= 2 * (spot[0] == least)


@names("offcut-hardware")
def offcut_keeps_used_wood(plan: Json) -> None:
    for source in sources(plan):
        for backer in source["backers"]:
            if backer["from"] and backer["from"]["source"] == source["id"] and source["offcuts"]:
                tile = {b["id"]: b for b in plan["tile"]["backers"]}
                source["offcuts"][0]["backers"].append(copy.deepcopy(tile[backer["from"]["backer"]]))
                return
    raise NoVictim


# cells


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
    cell["left"] = [{"outline": tile_corners(plan, area, cell), "rule": "bearing", "why": "no reason"}]


@names("left-open")
def cut_cell_left_instead(plan: Json) -> None:
    """The piece goes with all that is made for it, so that only the cell tells."""
    for source in sources(plan):
        if len(source["placements"]) != 1:
            continue
        name = source["placements"][0]["piece"]
        piece = first(p for p in plan["pieces"] if p["id"] == name)
        if len(piece["outline"]) != 4 or not _upright(piece["outline"]):
            continue
        area, cell = first((a, c) for a, c in cells(plan, "cut") if c["pieces"] == [name])
        plan["sources"].remove(source)
        plan["pieces"].remove(piece)
        for step in [s for s in plan["steps"] if s["source"] == source["id"]]:
            drop_step(plan, step)
        leave(plan, area, cell, "bearing")
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


# slats and screws


@names("fragments")
def slat_removed(plan: Json) -> None:
    cut_source(plan)["slats"].pop()


@names("fragments")
def slat_shortened_1_mm(plan: Json) -> None:
    _, slat = first(fittings(plan, "slats", "kept"))
    most = max(p[0] for p in slat["outline"])
    for spot in slat["outline"]:
        spot[0] -= spot[0] == most


@names("screw-state", "backer-free", "screw-near-blade")
def screw_put_back(plan: Json) -> None:
    source = first(s for s in sources(plan) if s["screws_out"])
    name = source["screws_out"].pop(0)
    for step in steps(plan, "unscrew"):
        if step["source"] == source["id"] and name in step["screws"]:
            step["screws"].remove(name)


@names("screw-near-blade")
def blade_clearance_widened(plan: Json) -> None:
    cut_source(plan)
    plan["rules"]["screw_clearance"] = 300


@names("screw-state", "screw-place")
def kept_screw_1_mm_off(plan: Json) -> None:
    _, screw = first(fittings(plan, "screws", "kept"))
    screw["u"] += 1


@names("screw-place", "screw-edge")
def new_screw_at_the_edge(plan: Json) -> None:
    """Halfway from where it is good to the next edge, and the tile's own distances forgotten."""
    source, screw = first(fittings(plan, "screws", "moved", "added"))
    slat = first(s for s in source["slats"] if s["slat"] == screw["slat"] and s["piece"] == screw["piece"])
    screw["v"] = min(p[1] for p in slat["outline"]) + 3


@names("screw-place")
def new_screw_beside_its_backer(plan: Json) -> None:
    _, screw = first(fittings(plan, "screws", "moved", "added"))
    screw["u"] -= 65


@names("screw-hole", "screw-place", "screw-edge")
def new_screw_at_a_pin_hole(plan: Json) -> None:
    source = first(s for s in sources(plan) if s["pin_holes"])
    for hole in source["pin_holes"]:
        for screw in source["screws"]:
            if screw["backer"] == hole["backer"] and screw["state"] != "kept":
                screw["u"], screw["v"] = hole["u"], hole["v"] - 8
                return
    raise NoVictim


@names("fragment-held")
def fragment_on_one_screw(plan: Json) -> None:
    source = first(s for s in sources(plan) if s["screws"])
    slat, piece = source["screws"][0]["slat"], source["screws"][0]["piece"]
    mine = [s for s in source["screws"] if (s["slat"], s["piece"]) == (slat, piece)]
    source["screws"] = [s for s in source["screws"] if s not in mine[1:]]


@names("screw-place", "screw-state")
def screw_in_the_wrong_slat(plan: Json) -> None:
    source = first(s for s in sources(plan) if len({screw["slat"] for screw in s["screws"]}) > 1)
    wrong = first(s["slat"] for s in source["screws"] if s["slat"] != source["screws"][0]["slat"])
    source["screws"][0]["slat"] = wrong


@names("screw-place")
def screw_twice(plan: Json) -> None:
    source = first(s for s in sources(plan) if s["screws"])
    source["screws"].append(copy.deepcopy(source["screws"][0]))


@names("screw-state")
def kept_screw_forgotten(plan: Json) -> None:
    source, screw = first(fittings(plan, "screws", "kept"))
    source["screws"].remove(screw)


@names("fragment-width")
def fragments_too_narrow(plan: Json) -> None:
    cut_source(plan)
    plan["rules"]["fragment_least"] = 500


# backers


@names("wood-twice")
def stretch_of_backer_twice(plan: Json) -> None:
    source, backer = first(
        (s, b) for s, b in fittings(plan, "backers", "moved", "added") if b["from"] and len(s["backers"]) > 1
    )
    other = first(b for b in source["backers"] if b is not backer and b["from"])
    backer["from"] = copy.deepcopy(other["from"])


@names("backer-width", "backer-place")
def backer_widened(plan: Json) -> None:
    _, backer = first(fittings(plan, "backers"))
    backer["width"] += 2


@names("backer-width")
def backer_shaved_to_a_lath(plan: Json) -> None:
    _, backer = first(fittings(plan, "backers"))
    backer["width"] = 20


@names("backer-outside", "backer-wood", "backer-place")
def backer_beyond_its_piece(plan: Json) -> None:
    _, backer = first(fittings(plan, "backers"))
    backer["line"][1][1] += plan["tile"]["width"]


@names("backer-place")
def kept_backer_1_mm_off(plan: Json) -> None:
    _, backer = first(fittings(plan, "backers", "kept"))
    shift(backer["line"], 1, 0)


@names("pin-hole-state", "screw-place", "screw-backer")
def moved_backer_5_mm_off(plan: Json) -> None:
    source, backer = first(
        (s, b) for s, b in fittings(plan, "backers", "moved") if any(h["backer"] == b["id"] for h in s["pin_holes"])
    )
    shift(backer["line"], -5, 0)
    assert source


@names("backer-shape")
def backer_askew(plan: Json) -> None:
    _, backer = first(fittings(plan, "backers"))
    backer["line"][0][0] += 3


@names("reference", "fragment-held")
def backer_removed(plan: Json) -> None:
    first(s for s in sources(plan) if s["backers"])["backers"].pop()


@names("bay", "overhang", "fragment-held", "one-whole")
def backer_removed_with_all_in_it(plan: Json) -> None:
    source = first(s for s in sources(plan) if len(s["backers"]) > 2)
    gone = source["backers"].pop(1)
    for key in ("screws", "pin_holes"):
        source[key] = [item for item in source[key] if item["backer"] != gone["id"]]


@names("backer-wood")
def backer_of_no_wood(plan: Json) -> None:
    _, backer = first(fittings(plan, "backers", "kept", "moved", "cut"))
    backer["from"] = None


@names("backer-wood")
def backer_longer_than_its_wood(plan: Json) -> None:
    _, backer = first(fittings(plan, "backers", "moved"))
    backer["from"]["span"][1] -= 5


@names("spare-backers", "totals")
def backer_bought_unseen(plan: Json) -> None:
    _, backer = first(fittings(plan, "backers", "moved"))
    backer["from"], backer["state"] = None, "added"


# holes and supports


@names("pin-hole-state", "pins")
def kept_hole_1_mm_off(plan: Json) -> None:
    _, hole = first(fittings(plan, "pin_holes", "kept"))
    hole["v"] += 1


@names("pin-hole-state")
def moved_hole_1_mm_off(plan: Json) -> None:
    _, hole = first(fittings(plan, "pin_holes", "moved"))
    hole["v"] += 1


@names("pins")
def hole_where_no_pin_is(plan: Json) -> None:
    _, hole = first(fittings(plan, "pin_holes"))
    hole["v"] += 9
    hole["state"] = "drilled"


@names("pin-hole-wood")
def hole_at_the_backers_edge(plan: Json) -> None:
    _, hole = first(fittings(plan, "pin_holes"))
    hole["u"] += 22


@names("pins")
def holes_forgotten(plan: Json) -> None:
    first(s for s in sources(plan) if s["pin_holes"])["pin_holes"].clear()


@names("pins", "standing", "face-past-bearing")
def support_removed(plan: Json) -> None:
    plan["supports"].remove(first(s for s in plan["supports"] if s["pins"]))


@names("pins", "standing")
def supports_all_removed(plan: Json) -> None:
    first(plan["supports"])
    plan["supports"] = []


@names("support-pin", "pins")
def pin_3_mm_off(plan: Json) -> None:
    first(s for s in plan["supports"] if s["pins"])["pins"][0][0] += 3


@names("support-shape", "support-pin")
def pad_moved(plan: Json) -> None:
    shift(first(s for s in plan["supports"] if s["pins"])["outline"], 45, 45)


@names("support-shape", "support-pin")
def pad_trimmed_unsaid(plan: Json) -> None:
    outline = first(s for s in plan["supports"] if s["shape"] != "trimmed" and s["pins"])["outline"]
    low, high = min(p[1] for p in outline), max(p[1] for p in outline)
    for spot in outline:
        spot[1] = low + (spot[1] - low) * 0.4 if high > low else spot[1]


@names("support-outside")
def pad_beyond_the_area(plan: Json) -> None:
    area = plan["areas"][0]
    support = first(s for s in plan["supports"] if s["area"] == area["name"])
    by = min(p[0] for p in area["outline"]) - min(p[0] for p in support["outline"]) - 20
    shift(support["outline"], by, 0)
    shift(support["pins"], by, 0)
    support["at"][0] += by


@names("support-outside")
def support_twice(plan: Json) -> None:
    plan["supports"].append(copy.deepcopy(first(plan["supports"])))


@names("face-past-bearing", "standing")
def bearing_asked_wider(plan: Json) -> None:
    plan["rules"]["bearing_least"] = 200


# sealing


@names("sealed")
def sealed_removed(plan: Json) -> None:
    first(s for s in sources(plan) if s["sealed"])["sealed"].pop()


@names("sealed")
def sealed_halfway(plan: Json) -> None:
    path = first(s for s in sources(plan) if s["sealed"])["sealed"][0]["path"]
    path[-1] = [(a + b) / 2 for a, b in zip(path[0], path[-1], strict=True)]


@names("sealed")
def sealed_beside_the_end(plan: Json) -> None:
    shift(first(s for s in sources(plan) if s["sealed"])["sealed"][0]["path"], -7, -7)


# steps


@names("step-order")
def steps_swapped(plan: Json) -> None:
    """A step and the one it has to wait for change places; their numbers stay in order."""
    later = first(step for step in plan["steps"] if step["after"])
    earlier = first(step for step in plan["steps"] if step["n"] == max(later["after"]))
    i, j = plan["steps"].index(earlier), plan["steps"].index(later)
    plan["steps"][i], plan["steps"][j] = later, earlier
    earlier["n"], later["n"] = later["n"], earlier["n"]


@names("step-order")
def steps_misnumbered(plan: Json) -> None:
    plan["steps"][0]["n"], plan["steps"][1]["n"] = plan["steps"][1]["n"], plan["steps"][0]["n"]


@names("step-order", "backer-free")
def backer_hung_before_it_is_free(plan: Json) -> None:
    hang = first(steps(plan, "re-hang"))
    unscrew = first(
        step for step in steps(plan, "unscrew") if step["source"] == hang["source"] and step["n"] < hang["n"]
    )
    i, j = plan["steps"].index(unscrew), plan["steps"].index(hang)
    plan["steps"][i], plan["steps"][j] = hang, unscrew
    unscrew["n"], hang["n"] = hang["n"], unscrew["n"]
    for step in plan["steps"]:
        step["after"] = []


def _without(do: str, *rules: str) -> None:
    def spoil(plan: Json) -> None:
        drop_step(plan, first(steps(plan, do)))

    CORRUPTIONS.append(Corruption(name=f"step_removed_{do}", rules=frozenset(rules), spoil=spoil))


_without("cut", "step-cuts")
_without("unscrew", "step-screws")
_without("re-hang", "step-backers")
_without("label", "step-label")
_without("seal", "step-seal")
_without("drill", "step-drill")


@names("step-cuts")
def cut_made_twice(plan: Json) -> None:
    again = copy.deepcopy(first(steps(plan, "cut")))
    again["n"] = len(plan["steps"]) + 1
    plan["steps"].append(again)


@names("step-station")
def cut_at_the_brush(plan: Json) -> None:
    first(steps(plan, "cut"))["station"] = "brush"


@names("setup")
def fence_1_mm_off(plan: Json) -> None:
    first(step for step in plan["steps"] if step["setup"])["setup"]["fence"] += 1


@names("setup")
def fence_at_the_wrong_side(plan: Json) -> None:
    setup = first(step for step in plan["steps"] if step["setup"])["setup"]
    setup["datum"] = {"u0": "u1", "u1": "u0", "v0": "v1", "v1": "v0"}[setup["datum"]]


@names("step-sum")
def sum_that_is_wrong(plan: Json) -> None:
    step = first(step for step in plan["steps"] if "=" in step["sum"])
    step["sum"] = "100 + 3.2 + 480 = 600"


@names("reference")
def step_of_a_strange_source(plan: Json) -> None:
    plan["steps"][-1]["source"] = "nowhere"


@names("rules")
def rule_forgotten(plan: Json) -> None:
    del plan["rules"]["screw_clearance"]


# sums


def _total(key: str, by: float, rule: str = "totals") -> None:
    def spoil(plan: Json) -> None:
        plan["totals"][key] += by

    CORRUPTIONS.append(Corruption(name=f"total_changed_{key}", rules=frozenset({rule}), spoil=spoil))


for _key in ("tiles", "whole", "cut", "one_for_one", "pieces", "spare_backers", "screws_moved", "holes_drilled"):
    _total(_key, 1)
for _key in ("sealed_area", "offcut_area", "waste_area"):
    _total(_key, 5000.0)
_total("minutes", 60.0)
_total("setups", 10_000)
_total("lower_bound", 10_000, "proof")


@names("proof")
def proven_turned_round(plan: Json) -> None:
    plan["totals"]["proven"] = not plan["totals"]["proven"]


@names("proof")
def bound_above_the_value(plan: Json) -> None:
    plan["proof"]["bound"] = plan["proof"]["value"] + 1


@names("proof")
def met_with_a_gap(plan: Json) -> None:
    plan["proof"]["met"] = plan["totals"]["proven"] = True
    plan["proof"]["bound"] = plan["proof"]["value"] - 1


@names("buy")
def too_few_tiles_bought(plan: Json) -> None:
    first(line for line in plan["buy"] if line["item"] == "tile")["count"] = plan["totals"]["tiles"] - 1
