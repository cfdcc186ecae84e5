"""What rectangle could be made for ground that stays open: the cuts on marks between the most and the least gap.

Tile frame of the cell, millimetres. A mark is measured from the factory edge on the kept side; where the opposite side
is cut as well there is none, and marks count from either side of the tile.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import product

import shapely
from shapely.geometry import Polygon, box

from cutopt.checks.evidence import Evidence
from cutopt.checks.shapes import TOLERANCE, exceeds, falls_short, inside
from cutopt.planfile.model import TileSlat

MOST_MARKS = 60  # tried at a side: more than a gap of two inches has in sixteenths


@dataclass(frozen=True, kw_only=True, slots=True)
class Makeable:
    """Where the sides of a rectangle that covers the ground and keeps the least gaps may lie.

    A side on the tile's own edge is no cut; then it is the only one in its tuple. An empty tuple: no mark fits.
    """

    length: float
    width: float
    low_u: tuple[float, ...]
    high_u: tuple[float, ...]
    low_v: tuple[float, ...]
    high_v: tuple[float, ...]

    def along(self) -> Iterator[tuple[float, float]]:
        """Pairs of ends along the slats."""
        return product(self.low_u, self.high_u)

    def across(self) -> Iterator[tuple[float, float]]:
        """Pairs of sides across the slats."""
        return product(self.low_v, self.high_v)


def makeable(evidence: Evidence, ground: Polygon, room: Polygon) -> Makeable | None:
    """The choice of sides; None where the ground is no plain rectangle, so that no square cut keeps the gaps."""
    need = ground.bounds
    shapely.prepare(room)
    if not inside(box(*need), room):
        return None
    tile = evidence.tile
    sizes = (tile.length, tile.width)
    mark = evidence.plan.job.mark

    def side(axis: int, end: int) -> tuple[float, ...]:
        opposite = need[axis + 2 * (1 - end)]
        far = sizes[axis] if end == 0 else 0.0
        kept = abs(opposite - far) <= TOLERANCE
        spots = _marks(need[axis + 2 * end], end, sizes[axis], mark, kept)
        own = sizes[axis] if end else 0.0
        fitting = tuple(at for at in spots if _fits(need, room, axis + 2 * end, at))
        return (own,) if own in fitting else fitting

    return Makeable(
        length=tile.length, width=tile.width, low_u=side(0, 0), high_u=side(0, 1), low_v=side(1, 0), high_v=side(1, 1)
    )


def _fits(need: tuple[float, float, float, float], room: Polygon, bound: int, at: float) -> bool:
    grown = list(need)
    grown[bound] = at
    return inside(box(*grown), room)


def _marks(at: float, end: int, size: float, mark: float, kept: bool) -> list[float]:
    """Places for a cut at or outwards of `at`, the nearest first, and the tile's own edge."""
    own = size if end else 0.0
    if abs(at - own) <= TOLERANCE or mark <= 0:
        return [own]
    reach = at if end else size - at  # from the opposite factory edge
    first = math.ceil((reach - TOLERANCE) / mark)
    reaches = [(first + step) * mark for step in range(MOST_MARKS)]
    spots = [one if end else size - one for one in reaches if one <= size]
    if not kept:  # from the side that is cut off
        rest = math.floor((size - reach + TOLERANCE) / mark)
        rests = [(rest - step) * mark for step in range(MOST_MARKS) if rest - step >= 0]
        spots += [size - one if end else one for one in rests]
    return sorted({*spots, own}, key=lambda spot: abs(spot - at))


def widest(evidence: Evidence, ground: Polygon, sides: Makeable | None) -> float:
    """What a piece may surely measure across the slats without a fragment too narrow; 0 where no mark fits.

    Where no square cuts keep the gaps, that is what the ground itself measures: whatever covers it is as wide.
    """
    if sides is not None:
        wide = (high - low for low, high in sides.across() if whole_fragments(evidence, low, high))
        return max(wide, default=0.0)
    return float(ground.bounds[3] - ground.bounds[1])


def longest(ground: Polygon, sides: Makeable | None) -> float:
    """What a piece may surely measure along the slats; 0 where no mark fits."""
    if sides is not None:
        return max((high - low for low, high in sides.along()), default=0.0)
    return float(ground.bounds[2] - ground.bounds[0])


def hangs_surely(evidence: Evidence, sides: Makeable) -> tuple[float, float] | None:
    """The size of a piece with one square cut at most that can always be hung, None where there is none.

    A crosscut that leaves room for two whole backers set back as in the tile, or a rip whose fragments are all of
    normal width: its backers stay, or move up to the cut as they are. Of a tile whose own design breaks the rules
    nothing is sure.
    """
    limits = evidence.limits
    if not _by_the_rules(evidence):
        return None
    room = 2 * (max((b.width for b in evidence.plan.tile.backers), default=0.0) + evidence.tile.overhang)
    least_across = max(limits.thinnest_across, room)
    for u0, u1 in sides.along():
        crosscut = u1 - u0 < sides.length
        if crosscut and ((u0 > 0 and u1 < sides.length) or u1 - u0 < least_across):
            continue
        for v0, v1 in sides.across():
            rip = v1 - v0 < sides.width
            if not rip:
                return (u1 - u0, v1 - v0)
            if crosscut or (v0 > 0 and v1 < sides.width) or v1 - v0 < limits.thinnest_strip:
                continue
            if all(not falls_short(w, limits.fragment_normal) for w, _ in _fragments(evidence, v0, v1)):
                return (u1 - u0, v1 - v0)
    return None


def _by_the_rules(evidence: Evidence) -> bool:
    """Whether the uncut tile keeps what the rules ask of pieces."""
    tile, limits = evidence.tile, evidence.limits
    return (
        not falls_short(tile.slat_width, limits.fragment_normal)
        and not falls_short(tile.backer_width, limits.shaved_least)
        and not falls_short(tile.hole_rim, limits.hole_wood)
        and not falls_short(min(tile.bears), limits.bearing_least)
        and not exceeds(tile.face_past_bearing, limits.face_past_bearing)
        and not exceeds(tile.overhang, limits.longest_overhang)
    )


def whole_fragments(evidence: Evidence, v0: float, v1: float) -> bool:
    """Whether a piece from v0 to v1 has no fragment too narrow, or but such as its whole neighbour can share with."""
    least = evidence.limits.fragment_least
    left = _fragments(evidence, v0, v1)
    for place, (width, _) in enumerate(left):
        if not falls_short(width, least):
            continue
        neighbours = left[max(0, place - 1) : place] + left[place + 1 : place + 2]
        if not any(_whole(one) and not falls_short((one[0] + width) / 2, least) for one in neighbours):
            return False
    return True


def _whole(fragment: tuple[float, TileSlat]) -> bool:
    width, slat = fragment
    return width >= slat.v[1] - slat.v[0] - TOLERANCE


def _fragments(evidence: Evidence, v0: float, v1: float) -> list[tuple[float, TileSlat]]:
    """What is left of each slat between v0 and v1: its width, mm, and the slat."""
    slats = sorted(evidence.plan.tile.slats, key=lambda slat: slat.v)
    widths = [(min(slat.v[1], v1) - max(slat.v[0], v0), slat) for slat in slats]
    return [(width, slat) for width, slat in widths if width > TOLERANCE]
