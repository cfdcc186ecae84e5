"""What a saw operator measures for a cut: distances from a named side, one for a straight cut, two for a taper.

Sides of a tile: u0 is the end at the home corner, u1 the far end, v0 the side at the home corner, v1 the far side.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from cutopt.book.drawing import Box, Point
from cutopt.book.rings import NEAR, box_of
from cutopt.planfile.model import Cut, Plan, Source, Step

Side = Literal["u0", "u1", "v0", "v1"]


@dataclass(frozen=True, kw_only=True, slots=True)
class Mark:
    """`distance` from `side` to the cut, square to it, between the points `ends` of the cut (source's frame, mm).

    `start` is the coordinate that the distance is measured from: the side itself, or a sawn edge parallel to it.
    A slanting leg has two marks, each at one point.
    """

    side: Side
    distance: float
    start: float
    ends: tuple[Point, ...]

    @property
    def axis(self) -> int:
        """0 where the distance runs along u, 1 where along v."""
        return 0 if self.side[0] == "u" else 1


def cut_step(plan: Plan, source: Source, cut: Cut) -> Step | None:
    """The first step that makes this cut, None where the plan has none."""
    for step in plan.steps:
        if step.source == source.id and step.do == "cut" and step.cut == cut.n:
            return step
    return None


def marks(source: Source, cut: Cut, step: Step | None) -> tuple[Mark, ...]:
    """The distances to measure for one cut, along its path.

    A straight cut with a fence setting has that one. Every other leg is measured from the tile's side on the kept
    side of it, a slanting leg at both of its ends.
    """
    box = box_of(source.outline)
    legs = list(zip(cut.path, cut.path[1:], strict=False))
    if cut.closed:
        legs.append((cut.path[-1], cut.path[0]))
    if step is not None and step.setup is not None and len(legs) == 1:
        side, distance = step.setup.datum, step.setup.fence
        axis = 0 if side[0] == "u" else 1
        if _straight(*legs[0], axis):
            origin = legs[0][0][axis] + (distance if side[1] == "1" else -distance)
            return (Mark(side=side, distance=distance, start=origin, ends=legs[0]),)
    found: list[Mark] = []
    for start, end in legs:
        for mark in _leg_marks(box, start, end, cut.waste_side):
            if not any(mark.side == old.side and abs(mark.distance - old.distance) < NEAR for old in found):
                found.append(mark)
    return tuple(found)


def _straight(start: Point, end: Point, axis: int) -> bool:
    """Whether the leg stands square to the axis."""
    return abs(start[axis] - end[axis]) < NEAR


def _leg_marks(box: Box, start: Point, end: Point, waste_side: str) -> list[Mark]:
    du, dv = end[0] - start[0], end[1] - start[1]
    axis = 0 if abs(du) <= abs(dv) else 1
    # the normal to the left is (-dv, du); the kept wood lies on the side that is not waste
    to_left = -dv if axis == 0 else du
    kept_is_low = (to_left > 0) == (waste_side == "left")
    side: Side = ("u0" if kept_is_low else "u1") if axis == 0 else ("v0" if kept_is_low else "v1")
    origin = box[axis] if kept_is_low else box[axis + 2]
    oblique = not _straight(start, end, axis)
    places = [(start,), (end,)] if oblique else [(start, end)]
    return [Mark(side=side, distance=abs(ends[0][axis] - origin), start=origin, ends=ends) for ends in places]


def kept_side(cut: Cut) -> Side:
    """The side of the tile that the kept wood of the cut's first leg lies towards."""
    origin: Box = (0.0, 0.0, 0.0, 0.0)
    return _leg_marks(origin, cut.path[0], cut.path[1], cut.waste_side)[0].side
