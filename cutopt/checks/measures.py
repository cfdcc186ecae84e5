"""The uncut tile's own measures, the authority for pieces cut from it. Millimetres."""

from __future__ import annotations

import itertools
from dataclasses import dataclass

from cutopt.checks.asmade import stance
from cutopt.checks.shapes import Spot
from cutopt.planfile import Plan
from cutopt.planfile.model import TileBacker

MM_PER_INCH = 25.4
TRUE_TO = 1.0  # mm: how far an anatomy may be from its own half turn and count as symmetric


@dataclass(frozen=True, kw_only=True, slots=True)
class Measures:
    """What the uncut tile has, in millimetres: the authority for pieces cut from it."""

    length: float
    width: float
    joint: Spot  # between neighbours along u and across v, set by the support's pins
    screw_diameter: float
    screw_to_edge: float  # least in the uncut tile: screw to its slat's long edge
    screw_to_end: float  # screw to its slat's end
    screw_to_backer_edge: float
    screw_to_backer_end: float
    backer_length: float  # the longest
    backer_width: float  # the widest
    hole_diameter: float
    hole_slack: float  # how far a pin may stand from its hole's centre
    hole_rim: float  # least wood around a hole in the uncut tile
    longest_bay: float
    overhang: float  # longest slat end past the outer backer's edge
    slat_width: float  # the narrowest
    slat_gap: float  # the widest
    bears: Spot  # least length along u and v of what a bored backer has on an uncut support
    face_past_bearing: float  # most that the face reaches past what it rests on, on uncut supports
    pad_past_pin: float  # least pad of an uncut support beyond a pin's rim
    slats_symmetric: bool


def measures_of(plan: Plan) -> Measures:
    """Measure the plan's tile."""
    tile = plan.tile
    slats = {slat.id: slat.v for slat in tile.slats}
    backers = {backer.id: backer for backer in tile.backers}
    screws = [s for s in tile.screws if s.slat in slats and s.backer in backers]
    backs = [(s, backers[s.backer]) for s in screws]
    us = sorted(backer.u for backer in tile.backers)
    sides = sorted(slat.v for slat in tile.slats)
    diameter = min((hole.diameter for hole in tile.pin_holes), default=0.0)
    rims = [_rim(backers[h.backer], (h.u, h.v)) - h.diameter / 2 for h in tile.pin_holes if h.backer in backers]
    starts = [b.u - b.width / 2 for b in tile.backers]
    ends = [tile.length - b.u - b.width / 2 for b in tile.backers]
    stands, support = stance(tile), tile.support
    return Measures(
        length=tile.length,
        width=tile.width,
        joint=_joints(plan),
        screw_diameter=(0.060 + 0.013 * tile.gauge) * MM_PER_INCH,
        screw_to_edge=_least([min(s.v - slats[s.slat][0], slats[s.slat][1] - s.v) for s in screws]),
        screw_to_end=_least([min(s.u, tile.length - s.u) for s in screws]),
        screw_to_backer_edge=_least([b.width / 2 - abs(s.u - b.u) for s, b in backs]),
        screw_to_backer_end=_least([min(s.v - b.v[0], b.v[1] - s.v) for s, b in backs]),
        backer_length=max((b.v[1] - b.v[0] for b in tile.backers), default=0.0),
        backer_width=max((b.width for b in tile.backers), default=0.0),
        hole_diameter=max((hole.diameter for hole in tile.pin_holes), default=0.0),
        hole_slack=max(0.0, (diameter - tile.support.pin) / 2),
        hole_rim=_least(rims),
        longest_bay=max((b - a for a, b in itertools.pairwise(us)), default=0.0),
        overhang=max(min(starts, default=0.0), min(ends, default=0.0)),
        slat_gap=max((b - a for (_, a), (b, _) in itertools.pairwise(sides)), default=0.0),
        slat_width=_least([slat.v[1] - slat.v[0] for slat in tile.slats]),
        bears=stands.bears,
        face_past_bearing=stands.face_past_bearing,
        pad_past_pin=min(support.pad) / 2 - support.pin_offset - support.pin / 2,
        slats_symmetric=_symmetric(plan),
    )


def _least(values: list[float]) -> float:
    return min(values, default=float("inf"))


def _rim(backer: TileBacker, spot: Spot) -> float:
    """From a point in a backer to its nearest edge."""
    return min(backer.width / 2 - abs(spot[0] - backer.u), spot[1] - backer.v[0], backer.v[1] - spot[1])


def _joints(plan: Plan) -> Spot:
    """2 x (pin offset - hole inset), along and across; the insets are those nearest the home corner."""
    holes, offset = plan.tile.pin_holes, plan.tile.support.pin_offset
    if not holes:
        return (0.0, 0.0)
    return (2 * (offset - min(hole.u for hole in holes)), 2 * (offset - min(hole.v for hole in holes)))


def _symmetric(plan: Plan) -> bool:
    turned = sorted((plan.tile.width - s.v[1], plan.tile.width - s.v[0]) for s in plan.tile.slats)
    lying = sorted(s.v for s in plan.tile.slats)
    return all(
        abs(a - b) <= TRUE_TO for one, other in zip(turned, lying, strict=True) for a, b in zip(one, other, strict=True)
    )
