"""Nothing loose is sawn: what lies between fence and blade is one whole, and each slat that a blade meets is held."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

import shapely
from shapely.geometry import Polygon, box
from shapely.geometry.base import BaseGeometry

from cutopt.checks.clamping import only_clamped
from cutopt.checks.evidence import Evidence
from cutopt.checks.finding import Fault, fault
from cutopt.checks.framing import merged
from cutopt.checks.moments import Moment, Tie, moments
from cutopt.checks.replay import BEYOND, Replay
from cutopt.checks.shapes import TOLERANCE, common, exceeds, number, overlap, polygons
from cutopt.planfile.model import Setup


def holding(evidence: Evidence) -> Iterator[Fault]:
    """All faults of loose wood at the saws."""
    for worked in evidence.worked:
        for moment in moments(evidence, worked):
            where = f"cut {moment.blade.cut.n} of {worked.source.id}"
            yield from _unheld(evidence, where, worked, moment)
            if moment.blade.cut.saw == "table_saw" and moment.step is not None and moment.step.setup is not None:
                yield from _at_fence(evidence, where, moment, moment.step.setup)


def _unheld(evidence: Evidence, where: str, worked: Replay, moment: Moment) -> Iterator[Fault]:
    """Each fragment of a slat that the blade crosses has a screw in, within the part that is sawn, or but a clamp."""
    part, dust = moment.blade.part, moment.blade.dust
    for slat, strip in moment.slats:
        if not strip.intersects(dust):
            continue
        mine = [tie for tie in moment.ties if tie.slat == slat]
        for fragment in polygons(common(part, strip)):
            held = not overlap(fragment, dust) or _in(mine, fragment)
            if not held and not only_clamped(evidence, worked, moment, slat, fragment):
                u0, v0, u1, v1 = (number(bound) for bound in fragment.bounds)
                text = f"the blade saws slat {slat} from ({u0}, {v0}) to ({u1}, {v1}), which no screw holds then"
                yield fault("unheld-slat", where, text)


def _at_fence(evidence: Evidence, where: str, moment: Moment, setup: Setup) -> Iterator[Fault]:
    """Slats and backers between fence and blade hang together by screws that are in; a batten has to do where no other
    saw could make the cut.
    """
    if not _other_saw(evidence, moment):
        return
    region = common(moment.blade.part, _fence_side(evidence, setup))
    groups = tied(moment, region)
    if len(groups) > 1:
        fewest: set[str] = min(groups, key=len)
        loose = ", ".join(sorted(fewest))
        text = f"{len(groups)} parts that no screw ties together lie between fence and blade, one of them {loose}"
        yield fault("loose-at-fence", where, text)


def _other_saw(evidence: Evidence, moment: Moment) -> bool:
    """Whether the job has a saw besides the table saw that could make a straight cut, with the part clamped."""
    saws, (start, end) = evidence.plan.kerf, moment.blade.cut.path[:2]
    short = not exceeds(math.dist(start, end), evidence.limits.jigsaw_reach)
    return "guided_saw" in saws or ("jigsaw" in saws and short)


def _fence_side(evidence: Evidence, setup: Setup) -> Polygon:
    """All that lies between the fence and the near side of the blade."""
    axis, far = (0 if setup.datum[0] == "u" else 1), setup.datum[1] == "1"
    size = (evidence.tile.length, evidence.tile.width)[axis]
    bounds = [-BEYOND, -BEYOND, BEYOND, BEYOND]
    bounds[axis if far else axis + 2] = size - setup.fence if far else setup.fence
    return box(*bounds)


def tied(moment: Moment, region: BaseGeometry) -> list[set[str]]:
    """The wood of a region in groups that screws tie together, by name; a backer no screw held before is off."""
    slats = [(f"slat {slat}", slat, f) for slat, s in moment.slats for f in polygons(common(region, s))]
    on = {tie.wood for tie in moment.ties if moment.blade.part.dwithin(shapely.Point(tie.spot), TOLERANCE)}
    boards = [
        (f"backer {name}", name, part)
        for name, shape in moment.wood.items()
        if name in on
        for whole in polygons(common(moment.blade.part, shape))
        if _in([tie for tie in moment.ties if tie.wood == name], whole)
        for part in polygons(common(region, whole))
    ]
    names = [name for name, _, _ in (*slats, *boards)]
    groups = [{number_} for number_ in range(len(names))]
    for tie in moment.ties:
        spot = shapely.Point(tie.spot)
        ends = {i for i, (_, slat, shape) in enumerate(slats) if slat == tie.slat and shape.dwithin(spot, TOLERANCE)}
        ends |= {
            len(slats) + i
            for i, (_, wood, shape) in enumerate(boards)
            if wood == tie.wood and shape.dwithin(spot, TOLERANCE)
        }
        groups = merged(groups, ends)
    return [{names[number_] for number_ in group} for group in groups]


def _in(ties: Sequence[Tie], shape: BaseGeometry) -> bool:
    return any(shape.dwithin(shapely.Point(tie.spot), TOLERANCE) for tie in ties)
