"""Pin holes: in their backer with wood around them; kept ones where they were, moved ones with their backer."""

from __future__ import annotations

from collections.abc import Iterator

from shapely.geometry import Point

from cutopt.checks.evidence import Evidence, Placed, same_spot
from cutopt.checks.finding import Fault, fault
from cutopt.checks.shapes import board, falls_short, number, same
from cutopt.checks.wood import IN_PLACE, stick_of, was_there
from cutopt.planfile.model import Backer, PinHole


def pinholes(evidence: Evidence) -> Iterator[Fault]:
    """All faults of pin holes. Their distance to screws is with the screws."""
    for placed in evidence.placed:
        backers = {backer.id: backer for backer in placed.backers}
        mine = [hole for hole in placed.source.pin_holes if hole.piece == placed.piece.id]
        for number_, hole in enumerate(mine):
            where = f"pin hole at ({number(hole.u)}, {number(hole.v)}) of {placed.where}"
            backer = backers.get(hole.backer)
            if backer is not None:
                yield from _meat(evidence, where, hole, backer)
                yield from _origin(evidence, placed, where, hole, backer)
            if any(same_spot((hole.u, hole.v), (other.u, other.v)) for other in mine[:number_]):
                yield fault("pin-hole-state", where, "is listed twice")


def _meat(evidence: Evidence, where: str, hole: PinHole, backer: Backer) -> Iterator[Fault]:
    shape = board(backer.line, backer.width)
    spot = Point(hole.u, hole.v)
    if not shape.intersects(spot):
        yield fault("pin-hole-wood", where, f"is not in its backer {backer.id}")
        return
    wood = shape.exterior.distance(spot) - evidence.tile.hole_diameter / 2
    least = evidence.limits.hole_wood
    if hole.state != "drilled":  # it may have less where the tile's own holes have
        least = min(least, evidence.tile.hole_rim)
    if falls_short(wood, least):
        yield fault("pin-hole-wood", where, f"has {number(wood)} of wood around it; at least {number(least)} is meant")


def _origin(evidence: Evidence, placed: Placed, where: str, hole: PinHole, backer: Backer) -> Iterator[Fault]:
    stick = stick_of(evidence, backer)
    spot = (hole.u, hole.v)
    if hole.state == "drilled":
        return
    if stick is None:
        yield fault("pin-hole-state", where, f"is {hole.state}, and its backer is bought or unknown")
    elif hole.state == "kept":
        there = any(same(h.u, hole.u) and same(h.v, hole.v) for h in stick.holes)
        if not there or backer.state not in IN_PLACE or stick.source is not placed.source:
            yield fault(
                "pin-hole-state", where, "is listed as kept, and the tile has no hole there or its backer moved"
            )
    elif backer.state in IN_PLACE or not was_there(backer, stick, spot, tuple((h.u, h.v) for h in stick.holes)):
        yield fault("pin-hole-state", where, "is listed as moved, and its backer brings no hole to that place")
