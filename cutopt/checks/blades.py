"""No blade near a screw that is in at that moment, none through a backer that was just re-hung: steps replayed."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from shapely import intersects, points, prepare
from shapely.geometry import LineString

from cutopt.checks.evidence import Evidence, hardware_of
from cutopt.checks.finding import Fault, fault
from cutopt.checks.replay import Blade, Replay
from cutopt.checks.shapes import TOLERANCE, Spot, board, falls_short, number, overlap
from cutopt.planfile.model import Backer, Source, Step

NEW = ("moved", "added")  # screws and backers that go in during the work


def blades(evidence: Evidence) -> Iterator[Fault]:
    """All faults of blades and hardware."""
    for worked in evidence.worked:
        yield from _replay(evidence, worked, evidence.steps(worked.source))


def _replay(evidence: Evidence, worked: Replay, steps: Sequence[Step]) -> Iterator[Fault]:
    source = worked.source
    hardware = hardware_of(evidence.plan, source)
    if hardware is None:
        return
    ahead = {blade.cut.n: blade for blade in worked.blades}
    screws: dict[str, Spot] = {screw.id: (screw.u, screw.v) for screw in hardware.screws}
    hung: list[Backer] = []
    for step in steps:
        if step.do == "unscrew":
            for name in step.screws:
                screws.pop(name, None)
        elif step.do in ("re-hang", "screw"):
            backers = [backer for backer in source.backers if backer.id == step.backer]
            hung.extend(backer for backer in backers if backer.state in NEW and backer not in hung)
            screws |= _new_screws(source, backers)
        elif step.do == "cut" and step.cut in ahead:
            yield from _cut(evidence, source, ahead.pop(step.cut), screws, hung)
    for name in source.screws_out:
        screws.pop(name, None)
    for blade in ahead.values():  # no step cuts it (`steps.py` says so): judged as after all screws are out
        yield from _cut(evidence, source, blade, screws, hung)


def _new_screws(source: Source, backers: list[Backer]) -> dict[str, Spot]:
    """The screws that a step drives: those of the backer that are not the tile's own in their old place."""
    names = {backer.id for backer in backers}
    new = [screw for screw in source.screws if screw.backer in names and screw.state in NEW]
    return {f"new one at ({number(s.u)}, {number(s.v)})": (s.u, s.v) for s in new}


def _cut(
    evidence: Evidence, source: Source, blade: Blade, screws: dict[str, Spot], hung: list[Backer]
) -> Iterator[Fault]:  # fmt: skip
    where = f"cut {blade.cut.n} of {source.id}"
    least = evidence.limits.screw_clearance
    part = blade.part.buffer(TOLERANCE)
    prepare(part)
    dust = blade.dust if not blade.dust.is_empty else LineString(blade.cut.path)  # a kerf of 0 is its own finding
    spots = points(list(screws.values())) if screws else []
    for name, spot, lies in zip(screws, spots, intersects(part, spots), strict=True):
        gap = spot.distance(dust) if lies else least
        if falls_short(gap, least):
            text = f"the blade passes {number(gap)} from screw {name}, which is in; at least {number(least)} is meant"
            yield fault("screw-near-blade", where, text)
    for backer in hung:
        if overlap(board(backer.line, backer.width), blade.dust):
            yield fault("backer-under-blade", where, f"the blade runs into backer {backer.id}, hung before the cut")
