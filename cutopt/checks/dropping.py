"""Slat fragments too narrow for screws that were left out, so that a strip at a wall or post stays open.

wall  ▒▒▒▒▒▒▒▒▒▒▒▒▒
      - - - - - - -   least gap
      . . . . . . .   most gap          what would be left of slat 2 up to the gap is too narrow: it is dropped
slat 2 ············
      ─────────────   kept edge: in the gap between slats 1 and 2, no more than `dropped_gap` from the wall
slat 1 ############
"""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise

from shapely.geometry import LineString, Polygon, box
from shapely.geometry.base import BaseGeometry

from cutopt.checks.evidence import Evidence
from cutopt.checks.ground import Ground, beside
from cutopt.checks.shapes import (
    TOLERANCE,
    Move,
    angle_from_slats,
    common,
    falls_short,
    inside,
    number,
    polygons,
    ring_edges,
)

AT_GAP = 1.0  # mm that a kept edge may lie beside a gap between two slats
CONTACT = 0.05  # mm: what is no further from kept wood lies along it
LEAST_CONTACT = 1.0  # mm of an edge, or half of ground that is shorter than twice that, as where a tip was cut off


def dropped(
    evidence: Evidence, land: Ground, back: Move, region: Polygon, kept: BaseGeometry, room: BaseGeometry
) -> Iterator[str]:  # fmt: skip
    """Why open ground is no dropped fragment's; nothing where it may be one. In the cell's tile frame.

    `room`: what could be covered around it, up to the least gap; where the most gap is kept the cut may leave nothing
    of the slat that is dropped. No wood needs to be kept along a fragment between two posts.
    """
    most = evidence.limits.dropped_gap
    if not inside(region, back.shape(beside(land.area, most))):
        yield f"kept wood lies more than {number(most)} from wall and post there"
    edges = list(_kept_edges(region, kept))
    if not edges and not hemmed(region, back.shape(land.need)):
        yield "no kept wood runs along it, in the slats' direction"
    off = max((_off_gap(evidence, v) for _, low, _, high in edges for v in (low, high)), default=0.0)
    if off > AT_GAP + TOLERANCE:
        yield f"the kept edge runs {number(off)} from the nearest gap between slats"
    widths = list(_fragments(evidence, region))
    beside_it = common(room, region.buffer(evidence.tile.slat_gap + AT_GAP, join_style="mitre"))
    if not widths and not list(_fragments(evidence, beside_it)):
        yield "no slat was dropped there"
    elif widths and not falls_short(max(widths), evidence.limits.fragment_least):
        least = number(evidence.limits.fragment_least)
        yield f"the fragment dropped is {number(max(widths))} wide, and {least} can be screwed"


def _kept_edges(region: Polygon, kept: BaseGeometry) -> Iterator[tuple[float, float, float, float]]:
    """The bounds of the stretches, along the slats, where kept wood meets the open ground."""
    wood = kept.buffer(CONTACT, join_style="mitre")
    least = min(LEAST_CONTACT, (region.bounds[2] - region.bounds[0]) / 2)
    for edge in ring_edges(region):
        if angle_from_slats(*edge) < 45 and (along := LineString(edge).intersection(wood)).length > least:
            yield along.bounds


def hemmed(region: Polygon, need: BaseGeometry) -> bool:
    """Whether ground ends on all its sides along the slats where nothing must be covered, as between two posts."""
    sides = [edge for edge in ring_edges(region) if angle_from_slats(*edge) < 45]
    rim = need.boundary.buffer(CONTACT)
    return bool(sides) and all(rim.covers(LineString(side)) for side in sides)


def _off_gap(evidence: Evidence, v: float) -> float:
    """How far a place across lies from the nearest gap between slats."""
    slats = sorted(slat.v for slat in evidence.plan.tile.slats)
    gaps = [(one[1], other[0]) for one, other in pairwise(slats)]
    return min((max(low - v, v - high, 0.0) for low, high in gaps), default=float("inf"))


def _fragments(evidence: Evidence, region: BaseGeometry) -> Iterator[float]:
    """The widths of what the ground would take of each slat."""
    for slat in evidence.plan.tile.slats:
        strip = box(0.0, slat.v[0], evidence.tile.length, slat.v[1])
        for part in polygons(common(region, strip)):
            yield part.bounds[3] - part.bounds[1]
