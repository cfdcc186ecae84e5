"""No blade near a screw that is in at that moment, none through a backer that was just re-hung: steps replayed."""

from __future__ import annotations

from collections.abc import Iterator

from shapely import intersects, points, prepare
from shapely.geometry import LineString

from cutopt.checks.evidence import Evidence
from cutopt.checks.finding import Fault, fault
from cutopt.checks.moments import Moment, moments
from cutopt.checks.shapes import TOLERANCE, board, falls_short, number, overlap
from cutopt.planfile.model import Source


def blades(evidence: Evidence) -> Iterator[Fault]:
    """All faults of blades and hardware."""
    for worked in evidence.worked:
        for moment in moments(evidence, worked):
            yield from _cut(evidence, worked.source, moment)


def _cut(evidence: Evidence, source: Source, moment: Moment) -> Iterator[Fault]:
    blade = moment.blade
    where = f"cut {blade.cut.n} of {source.id}"
    least = evidence.limits.screw_clearance
    part = blade.part.buffer(TOLERANCE)
    prepare(part)
    dust = blade.dust if not blade.dust.is_empty else LineString(blade.cut.path)  # a kerf of 0 is its own finding
    spots = points([tie.spot for tie in moment.ties]) if moment.ties else []
    for tie, spot, lies in zip(moment.ties, spots, intersects(part, spots), strict=True):
        gap = spot.distance(dust) if lies else least
        if falls_short(gap, least):
            passes = f"the blade passes {number(gap)} from screw {tie.name}, which is in"
            text = f"{passes}; at least {number(least)} is meant"
            yield fault("screw-near-blade", where, text)
    for backer in moment.hung:
        if overlap(board(backer.line, backer.width), blade.dust):
            yield fault("backer-under-blade", where, f"the blade runs into backer {backer.id}, hung before the cut")
