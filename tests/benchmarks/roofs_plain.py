"""What the plan is compared with: the same pieces put on tiles by hand rules, and by one plain CP-SAT model.

Both see bounding boxes, at the piece's own place on its tile or half-turned, which keep a kerf from one another. They
do not ask whether wood can be hung or in what order it is sawn, so they solve an easier problem in that; but they give
away the wedge beside a taper. Only tiles are counted.
"""

from __future__ import annotations

import itertools
from dataclasses import dataclass

from ortools.sat.python import cp_model

from cutopt.geometry import extent
from cutopt.lengths import TICKS_PER_MM
from cutopt.planfile import Plan

Box = tuple[int, int, int, int]  # least u, least v, most u, most v; ticks


@dataclass(frozen=True, kw_only=True, slots=True)
class Boxes:
    """Of each piece its box at its own place and half-turned; and the widest kerf of the job."""

    places: tuple[tuple[Box, Box], ...]
    kerf: int


@dataclass(frozen=True, kw_only=True, slots=True)
class PlainAnswer:
    """Tiles found (None where none were), the bound, and the seconds by the solver's own clock."""

    value: int | None
    bound: int
    seconds: float


def boxes_of(plan: Plan) -> Boxes:
    """The boxes of a plan's pieces, those of areas with a count as often as they are wanted."""
    counts = {area.name: area.count for area in plan.areas}
    length, width = round(plan.tile.length * TICKS_PER_MM), round(plan.tile.width * TICKS_PER_MM)
    places = []
    for piece in plan.pieces:
        u0, v0, u1, v1 = (round(value * TICKS_PER_MM) for value in extent(piece.outline))
        turned = (length - u1, width - v1, length - u0, width - v0)
        places += [((u0, v0, u1, v1), turned)] * counts[piece.area]
    return Boxes(places=tuple(places), kerf=round(max(plan.kerf.values()) * TICKS_PER_MM))


def apart_by_kerf(one: Box, other: Box, kerf: int) -> bool:
    """Whether a straight cut along or across the slats passes between two boxes."""
    return any(one[i + 2] + kerf <= other[i] or other[i + 2] + kerf <= one[i] for i in (0, 1))


def by_hand(boxes: Boxes) -> int:
    """First-fit decreasing: the largest box first, on the first tile begun where it has room, else on a new one."""
    tiles: list[list[Box]] = []
    for places in sorted(boxes.places, key=lambda two: -_area(two[0])):
        room = (
            (tile, place)
            for tile in tiles
            for place in places
            if all(apart_by_kerf(place, other, boxes.kerf) for other in tile)
        )
        tile, place = next(room, ([], places[0]))
        if not tile:
            tiles.append(tile)
        tile.append(place)
    return len(tiles)


def _area(box: Box) -> int:
    return (box[2] - box[0]) * (box[3] - box[1])


def plain_model(boxes: Boxes, most: int, seconds: float) -> PlainAnswer:
    """Every piece assigned to one of `most` tiles and one of its places; no two of a tile closer than a kerf."""
    if not boxes.places:
        return PlainAnswer(value=0, bound=0, seconds=0.0)
    model = cp_model.CpModel()
    # used[t]: tile t is cut into, in order, so that tiles are not told apart by number alone
    used = [model.new_bool_var("") for _ in range(most)]
    for before, after in itertools.pairwise(used):
        model.add_implication(after, before)
    along: list[list[cp_model.IntervalVar]] = [[] for _ in used]
    across: list[list[cp_model.IntervalVar]] = [[] for _ in used]
    for places in boxes.places:
        chosen = []
        for tile, place in itertools.product(range(most), dict.fromkeys(places)):
            here = model.new_bool_var("")
            chosen.append(here)
            model.add_implication(here, used[tile])
            # a box grown by a kerf at its far sides lies on no other where a kerf is kept on one of the two axes
            size_u, size_v = (place[i + 2] - place[i] + boxes.kerf for i in (0, 1))
            along[tile].append(model.new_optional_fixed_size_interval_var(place[0], size_u, here, ""))
            across[tile].append(model.new_optional_fixed_size_interval_var(place[1], size_v, here, ""))
        model.add_exactly_one(chosen)
    for tile in range(most):
        model.add_no_overlap_2d(along[tile], across[tile])
    model.minimize(sum(used))
    solver = cp_model.CpSolver()
    solver.parameters.num_workers = 1
    solver.parameters.catch_sigint_signal = False  # or Ctrl-C would end this process at once ever after
    solver.parameters.max_time_in_seconds = seconds
    found = solver.solve(model) in (cp_model.OPTIMAL, cp_model.FEASIBLE)
    value = round(solver.objective_value) if found else None
    return PlainAnswer(value=value, bound=max(1, round(solver.best_objective_bound)), seconds=solver.wall_time)
