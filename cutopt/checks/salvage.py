"""Wood that is hung elsewhere comes off its source in time, or a blade goes through it."""

from __future__ import annotations

from collections.abc import Iterator

from shapely import Point

from cutopt.checks.evidence import Evidence, Stick
from cutopt.checks.finding import Fault, fault
from cutopt.checks.moments import Moment, moments
from cutopt.checks.shapes import TOLERANCE, board_across, common, overlap, polygons
from cutopt.checks.wood import IN_PLACE, stick_of
from cutopt.planfile.model import Backer


def salvage(evidence: Evidence) -> Iterator[Fault]:
    """Boards made of wood that was still screwed down when a blade went through it."""
    worked = {one.source.id: tuple(moments(evidence, one)) for one in evidence.worked}
    for source in evidence.plan.sources:
        for backer in source.backers:
            stick = stick_of(evidence, backer)
            if stick is None or backer.state in IN_PLACE:
                continue
            for moment in worked.get(stick.source.id, ()):
                if _sawn(moment, stick, backer):
                    where = f"backer {backer.id} of {source.id}"
                    text = f"cut {moment.blade.cut.n} of {stick.source.id} saws through its wood"
                    yield fault("wood-sawn", where, text)


def _sawn(moment: Moment, stick: Stick, backer: Backer) -> bool:
    """Whether a blade meets the stretch while screws hold it, in the part that is sawn."""
    if backer.from_ is None:
        return False
    whole = board_across(stick.backer.u, stick.backer.v, stick.backer.width)
    stretch = board_across(stick.backer.u, backer.from_.span, stick.backer.width)
    if not overlap(stretch, moment.blade.dust):
        return False
    spots = [Point(tie.spot) for tie in moment.ties if tie.wood == str(stick.backer.id)]
    lying = [part for part in polygons(common(moment.blade.part, whole)) if overlap(part, stretch)]
    return any(part.dwithin(spot, TOLERANCE) for part in lying for spot in spots)
