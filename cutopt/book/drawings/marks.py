"""What a saw operator measures for a cut: distances from a named side, one for a straight cut, two for a taper.

The datum is the one that the step's words have: the fence's side; for a line that no fence sets the home end and the
home side, or the far ones where only from there the distance is a whole number of the operator's marks.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from cutopt.book.drawings.drawing import Point
from cutopt.book.drawings.rings import NEAR, box_of, distance
from cutopt.book.drawings.sides import Side
from cutopt.lengths import ticks
from cutopt.planfile.model import Cut, Plan, Source, Step

ON_ARC = 0.02  # a line of a round notch's path is a part of its arc if it passes the centre at about the radius
FAR_OFF = 1.15  # radii: and if both its ends lie near the circle


@dataclass(frozen=True, kw_only=True, slots=True)
class Mark:
    """`distance` from `side` to the cut, square to it, between the points `ends` of the cut (source's frame, mm).

    `start` is the coordinate that the distance is measured from: the side itself, or a sawn edge parallel to it.
    A slanting leg has a mark at each of its ends, two where the end lies inside the tile.
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


def marks(plan: Plan, source: Source, cut: Cut, step: Step | None) -> tuple[Mark, ...]:
    """The distances to measure for one cut, along its path.

    A straight cut with a fence setting has that one. For any other, each corner of the line as it is marked has its
    distances along and across, equal ones once; of an arc it is the centre, and the ends of straight legs beside it.
    """
    box = box_of(source.outline)
    line = marked_line(source, cut) if cut.arc is None else (cut.arc.centre, *leg_ends(cut))
    if step is not None and step.setup is not None and len(cut.path) == 2:
        side, fence = step.setup.datum, step.setup.fence
        axis = 0 if side[0] == "u" else 1
        if _straight(*cut.path, axis):
            origin = cut.path[0][axis] + (fence if side[1] == "1" else -fence)
            return (Mark(side=side, distance=fence, start=origin, ends=cut.path),)
    found: dict[tuple[Side, int], list[Point]] = {}
    for point in line:
        for axis in (0, 1):
            rim = (box[axis], box[axis + 2])
            if all(abs(point[axis] - side) > NEAR for side in rim):
                side = _datum(point[axis], axis, rim, plan.job.mark)
                found.setdefault((side, ticks(point[axis])), []).append(point)
    made = []
    for (side, _), points in found.items():
        axis = 0 if side[0] == "u" else 1
        start = box[axis + 2 * int(side[1])]
        made.append(Mark(side=side, distance=abs(points[0][axis] - start), start=start, ends=tuple(points)))
    return tuple(made)


def marked_line(source: Source, cut: Cut) -> tuple[Point, ...]:
    """The line as it is marked on the uncut source: a straight cut from rim to rim, any other as it is sawn.

    A cut that starts at another one is longer as a mark than as a cut, since it is marked before the first is made.
    """
    if len(cut.path) != 2 or cut.closed:
        return cut.path
    (u1, v1), (u2, v2) = cut.path
    box = box_of(source.outline)
    du, dv = u2 - u1, v2 - v1
    low, high = -math.inf, math.inf
    for at, step, first, last in ((u1, du, box[0], box[2]), (v1, dv, box[1], box[3])):
        if abs(step) > NEAR:
            near, far = sorted(((first - at) / step, (last - at) / step))
            low, high = max(low, near), min(high, far)
    if not (math.isfinite(low) and math.isfinite(high)):
        return cut.path
    # the plan's own ends where they lie on the rim already, to the tick
    tail = cut.path[0] if abs(low) * math.hypot(du, dv) < NEAR else (u1 + du * low, v1 + dv * low)
    tip = cut.path[1] if abs(high - 1) * math.hypot(du, dv) < NEAR else (u1 + du * high, v1 + dv * high)
    return tail, tip


def leg_ends(cut: Cut) -> tuple[Point, ...]:
    """The ends of a round notch's legs that are no part of its arc."""
    if cut.arc is None:
        return ()
    path = (*cut.path, cut.path[0]) if cut.closed else cut.path
    ends: list[Point] = []
    for a, b in pairwise(path):
        touches = abs(distance(cut.arc.centre, a, b) - cut.arc.radius) <= ON_ARC * cut.arc.radius
        far = max(math.dist(a, cut.arc.centre), math.dist(b, cut.arc.centre))
        if not touches or far > FAR_OFF * cut.arc.radius:
            ends += [a, b]
    return tuple(dict.fromkeys(ends))


def _datum(at: float, axis: int, rim: Sequence[float], mark: float) -> Side:
    """The home end or side, or the far one where the distance is a whole number of marks only from there."""
    home, far, every = ticks(at - rim[0]), ticks(rim[1] - at), ticks(mark)
    from_far = home % every != 0 and far % every == 0
    if axis == 0:
        return "u1" if from_far else "u0"
    return "v1" if from_far else "v0"


def _straight(start: Point, end: Point, axis: int) -> bool:
    """Whether the leg stands square to the axis."""
    return abs(start[axis] - end[axis]) < NEAR


def kept_side(cut: Cut) -> Side:
    """The side of the tile that the kept wood of the cut's first leg lies towards."""
    (u1, v1), (u2, v2) = cut.path[0], cut.path[1]
    du, dv = u2 - u1, v2 - v1
    axis = 0 if abs(du) <= abs(dv) else 1
    # the normal to the left is (-dv, du); the kept wood lies on the side that is not waste
    to_left = -dv if axis == 0 else du
    kept_is_low = (to_left > 0) == (cut.waste_side == "left")
    if axis == 0:
        return "u0" if kept_is_low else "u1"
    return "v0" if kept_is_low else "v1"
