"""Slats that only a clamp can hold while they are sawn: no screw could be in them at that moment.

At a guided saw or a jigsaw the wood lies still and is clamped down, so that a slat without a screw is held for all
that; at a table saw it is pushed past the blade. A clamp is no way round a screw, though: it will do only where each
screw that the slat was made with, and each that the plan gives it, is too near to a blade or in wood that cannot be
there.
"""

from __future__ import annotations

from collections.abc import Iterator

from shapely.geometry import Point, Polygon
from shapely.geometry.base import BaseGeometry
from shapely.ops import unary_union

from cutopt.checks.evidence import Evidence, hardware_of
from cutopt.checks.moments import NEW, Moment
from cutopt.checks.replay import Replay
from cutopt.checks.shapes import TOLERANCE, Spot, board, board_across, falls_short, overlap
from cutopt.checks.wood import IN_PLACE
from cutopt.planfile.model import Backer, TileBacker


def only_clamped(evidence: Evidence, worked: Replay, moment: Moment, slat: int, fragment: Polygon) -> bool:
    """Whether a fragment that a blade meets lies still and nothing but a clamp could hold it."""
    if moment.blade.cut.saw == "table_saw":
        return False
    blades = worked.blades[: worked.blades.index(moment.blade) + 1]
    dust = unary_union([blade.dust for blade in blades])
    all_dust = unary_union([blade.dust for blade in worked.blades])  # what is wanted elsewhere comes off before any cut
    spots = [*_own(evidence, worked, moment, slat, all_dust), *_planned(worked, slat, moment.blade.dust)]
    clear = evidence.limits.screw_clearance
    return all(
        falls_short(Point(spot).distance(dust), clear) for spot in spots if fragment.dwithin(Point(spot), TOLERANCE)
    )


def _own(evidence: Evidence, worked: Replay, moment: Moment, slat: int, dust: BaseGeometry) -> Iterator[Spot]:
    """The slat's screws as made, in backers that might have stayed until after the cut."""
    hardware = hardware_of(evidence.plan, worked.source)
    if hardware is None or _lifted(worked, slat):
        return
    hung = unary_union([board(backer.line, backer.width) for backer in moment.hung])
    for backer in hardware.backers:
        stick = board_across(backer.u, backer.v, backer.width)
        if any(b.from_ and (b.from_.source, b.from_.backer) == (worked.source.id, backer.id) for b in moment.hung):
            continue  # it hangs in its new place by then
        if overlap(stick, hung) or any(overlap(one, dust) for one in _wanted(evidence, worked, backer)):
            continue
        yield from ((s.u, s.v) for s in hardware.screws if s.slat == slat and s.backer == backer.id)


def _lifted(worked: Replay, slat: int) -> bool:
    """Whether a slat comes off the tile to be shared."""
    return any(fragment.slat == slat and fragment.state == "shared" for fragment in worked.source.slats)


def _wanted(evidence: Evidence, worked: Replay, made: TileBacker) -> Iterator[Polygon]:
    """The stretches of a source's backer, where they were made, that are hung elsewhere and that no blade may saw."""
    for wood in (b.from_ for source in evidence.plan.sources for b in source.backers if b.state in NEW):
        if wood is not None and (wood.source, wood.backer) == (worked.source.id, made.id):
            yield board_across(made.u, wood.span, made.width)


def _planned(worked: Replay, slat: int, dust: BaseGeometry) -> Iterator[Spot]:
    """The slat's screws in the finished piece, in boards that might have been hung before the cut."""
    source = worked.source
    for backer in source.backers:
        if backer.state not in IN_PLACE and (
            overlap(board(backer.line, backer.width), dust) or not _at_hand(worked, backer)
        ):
            continue
        yield from ((s.u, s.v) for s in source.screws if s.slat == slat and s.backer == backer.id and s.state in NEW)


def _at_hand(worked: Replay, backer: Backer) -> bool:
    """Whether a board can be hung before the source is sawn: a bought one, or its own wood that no cut has to free."""
    wood = backer.from_
    if wood is None:
        return True
    kept = any(
        other.state in IN_PLACE and other.from_ is not None and other.from_.backer == wood.backer
        for other in worked.source.backers
    )
    return wood.source == worked.source.id and not kept
