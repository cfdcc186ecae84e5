"""Where a new screw may go: its distances to edges, ends, old screw holes and pin holes."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

from cutopt.fit.records import Fragment, Seat
from cutopt.fit.timber import Timber, width_at
from cutopt.geometry import extent
from cutopt.tile import Point

STEP = 2 * 320  # ticks across between the places that are tried
ASIDE = 4 * 320  # ticks off the backer's centre line between them


@dataclass(frozen=True, kw_only=True, slots=True)
class Distances:
    """Least distances of a new screw in ticks: to a slat's edge and end, and to a backer's end.

    NDS Commentary Table C12.1.5.7, in diameters, but never more than the uncut tile itself keeps.
    """

    edge: float
    end: float
    backer_end: float


def distances(timber: Timber) -> Distances:
    """The distances for this tile's screws."""
    tile, rules = timber.tile, timber.rules
    slats = {slat.id: slat for slat in tile.slats}
    own_edge = min(min(s.at[1] - slats[s.slat].v[0], slats[s.slat].v[1] - s.at[1]) for s in tile.screws)
    own_end = min(min(s.at[0], tile.length - s.at[0]) for s in tile.screws)
    own_backer = min(s.at[1] - min(b.v[0] for b in tile.backers) for s in tile.screws)
    diameter = tile.screw_diameter
    return Distances(
        edge=min(rules.screw_edge * diameter, own_edge),
        end=min(rules.screw_end * diameter, own_end),
        backer_end=min(rules.kept_screw_edge, own_backer),
    )


@dataclass(frozen=True, kw_only=True, slots=True)
class Probe:
    """Tries places for a screw of one fragment at one seat. `old` are screw holes near by, `holes` pin holes."""

    timber: Timber
    seat: Seat
    fragment: Fragment
    limits: Distances
    ends: tuple[float, float]
    old: tuple[Point, ...]
    holes: tuple[Point, ...]

    @staticmethod
    def at(timber: Timber, seat: Seat, fragment: Fragment, limits: Distances) -> Probe:
        """A probe with all that is near the seat looked up once."""
        u0, _, u1, _ = extent(fragment.outline)
        near = seat.width // 2 + timber.rules.old_hole_clear
        moved = timber.share.moved if timber.share and timber.share.outer.id == fragment.slat else 0
        screws = timber.tile.screws
        old = [(s.at[0], s.at[1] + moved) for s in screws if s.slat == fragment.slat]
        old += [s.at for s in screws if seat.backer is not None and s.backer == seat.backer]
        holes = [
            hole.at if seat.backer is not None else (seat.u, hole.at[1])  # wood from elsewhere may bring its holes
            for hole in timber.tile.pin_holes
            if seat.backer in (None, hole.backer)
        ]
        return Probe(
            timber=timber, seat=seat, fragment=fragment, limits=limits, ends=(u0, u1),
            old=tuple(hole for hole in old if abs(hole[0] - seat.u) < near), holes=tuple(holes),
        )  # fmt: skip

    def sound(self, at: Point) -> bool:
        """Whether a new screw here keeps all its distances."""
        limits, seat, rules = self.limits, self.seat, self.timber.rules
        clear_old, clear_hole = rules.old_hole_clear**2, rules.screw_hole_clear**2
        if min(at[0] - self.ends[0], self.ends[1] - at[0]) < limits.end:
            return False
        if min(at[1] - seat.span[0], seat.span[1] - at[1]) < limits.backer_end:
            return False
        if any((at[0] - u) ** 2 + (at[1] - v) ** 2 < clear_old for u, v in self.old):
            return False
        if any((at[0] - u) ** 2 + (at[1] - v) ** 2 < clear_hole for u, v in self.holes):
            return False
        across = width_at(self.fragment, at[0])
        if across is None or min(at[1] - across[0], across[1] - at[1]) < limits.edge:
            return False
        return self.timber.to_sawn(at) >= limits.edge and self.timber.to_end_grain(at) >= limits.end

    def around(self, across: tuple[int, int]) -> Iterator[Point]:
        """Places across from the middle outward, on the backer's centre line first, then off it to both sides."""
        limits, seat = self.limits, self.seat
        low = math.ceil(max(across[0] + limits.edge, seat.span[0] + limits.backer_end))
        high = math.floor(min(across[1] - limits.edge, seat.span[1] - limits.backer_end))
        if low > high:
            return
        middle = (low + high) // 2
        places = sorted({middle, low, high, *range(low, high, STEP)}, key=lambda v: (abs(v - middle), v))
        aside = int(seat.width / 2 - limits.edge)
        for off in [*range(0, aside, ASIDE), aside]:
            for u in dict.fromkeys((seat.u - off, seat.u + off)):
                for v in places:
                    yield u, v
