"""Where a new screw may go: its distances to edges, ends, old screw holes and pin holes."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from cutopt.fit.records import Fragment, Seat
from cutopt.fit.timber import Timber, strands
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


def _holes_of(timber: Timber, seat: Seat) -> tuple[Point, ...]:
    """Pin holes that a screw must not meet: those of the backer here, or those that wood from elsewhere may bring."""
    if seat.backer is not None:
        return tuple(hole.at for hole in timber.tile.pin_holes if hole.backer == seat.backer)
    return tuple({seat.carried(hole.at, timber.backer(hole.backer)) for hole in timber.tile.pin_holes})


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
        us = [p[0] for p in fragment.outline]
        near = seat.width // 2 + timber.rules.old_hole_clear + abs(seat.lean) // 2
        moved = timber.share.moved if timber.share and timber.share.outer.id == fragment.slat else 0
        old = [(u, v + moved) for u, v in timber.screws_of_slat.get(fragment.slat, ()) if abs(u - seat.u) < near]
        if seat.backer is not None:
            old += timber.screws_of_backer.get(seat.backer, ())
        return Probe(
            timber=timber,
            seat=seat,
            fragment=fragment,
            limits=limits,
            ends=(min(us), max(us)),
            old=tuple(old),
            holes=_holes_of(timber, seat),
        )

    def sound(self, at: Point) -> bool:
        """Whether a new screw here keeps all its distances."""
        limits, seat, rules = self.limits, self.seat, self.timber.rules
        (u, v), edge = at, limits.edge
        if u - self.ends[0] < limits.end or self.ends[1] - u < limits.end:
            return False
        along = seat.along(at)
        if along < limits.backer_end or seat.length - along < limits.backer_end:
            return False
        for spots, clear in ((self.old, rules.old_hole_clear), (self.holes, rules.screw_hole_clear)):
            for x, y in spots:
                if (u - x) * (u - x) + (v - y) * (v - y) < clear * clear:
                    return False
        if not any(low + edge <= v <= high - edge for low, high in strands(self.fragment, u)):
            return False
        return self.timber.to_sawn(at) >= limits.edge and self.timber.to_end_grain(at) >= limits.end

    def first(self, across: tuple[int, int]) -> Point | None:
        """The first place that will do: across from the middle outward, on the centre line, then off it on both sides.

        What is near an end, an old screw hole or a pin hole is sifted out at once.
        """
        us, vs = self._around(across)
        if not len(us):
            return None
        limits, seat, rules = self.limits, self.seat, self.timber.rules
        good = (us - self.ends[0] >= limits.end) & (self.ends[1] - us >= limits.end)
        for spots, clear in ((self.old, rules.old_hole_clear), (self.holes, rules.screw_hole_clear)):
            for x, y in spots:
                good &= (us - x) ** 2 + (vs - y) ** 2 >= clear * clear
        back = limits.backer_end / seat.slant
        good &= (vs - seat.span[0] >= back) & (seat.span[1] - vs >= back)
        places = ((int(us[i]), int(vs[i])) for i in np.flatnonzero(good))
        return next((at for at in places if self.sound(at)), None)

    def _around(self, across: tuple[int, int]) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
        """The places that are tried, in their order."""
        limits, seat = self.limits, self.seat
        back = limits.backer_end / seat.slant
        low = math.ceil(max(across[0] + limits.edge, seat.span[0] + back))
        high = math.floor(min(across[1] - limits.edge, seat.span[1] - back))
        if low > high:
            return np.empty(0, dtype=np.int64), np.empty(0, dtype=np.int64)
        middle = (low + high) // 2
        places = np.array(
            sorted({middle, low, high, *range(low, high, STEP)}, key=lambda v: (abs(v - middle), v)), dtype=np.int64
        )
        aside = int((seat.width / 2 - limits.edge) * seat.slant)
        offs = [off * way for off in (*range(0, aside, ASIDE), aside) for way in ((-1, 1) if off else (1,))]
        lines = np.rint(seat.u + seat.lean * ((places - seat.span[0]) / (seat.span[1] - seat.span[0]) - 0.5))
        us = (np.array(offs, dtype=np.int64)[:, None] + lines.astype(np.int64)[None, :]).ravel()
        return us, np.tile(places, len(offs))
