"""Which screws hold each fragment at each seat, with their distances in slat and backer."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

from cutopt.fit.records import Drive, Fragment, Seat
from cutopt.fit.timber import Timber, width_at
from cutopt.geometry import extent
from cutopt.tile import Point, Screw

STEP = 320  # ticks: places for a new screw are tried millimetre by millimetre


@dataclass(frozen=True, kw_only=True, slots=True)
class Distances:
    """Least distances of a new screw in ticks: to a slat's edge and end, between two across, and to a backer's end.

    NDS Commentary Table C12.1.5.7, in diameters, but never more than the uncut tile itself keeps.
    """

    edge: float
    end: float
    row: float
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
        row=rules.screw_row * diameter,
        backer_end=min(rules.kept_screw_edge, own_backer),
    )


def drives_at(timber: Timber, seat: Seat, limits: Distances) -> tuple[Drive, ...]:
    """The screws at a seat: those that may stay, and new ones where a fragment has none there."""
    found: list[Drive] = []
    for number, fragment in enumerate(timber.fragments):
        width = _crossing(timber, fragment, seat)
        if width is None:
            continue
        kept = _kept(timber, seat, fragment) if seat.backer is not None else []
        if kept:
            found += [Drive(fragment=number, at=screw.at, screw=screw.id) for screw in kept]
        else:
            found += _new(timber, seat, number, width, limits)
    return tuple(found)


def _crossing(timber: Timber, fragment: Fragment, seat: Seat) -> tuple[int, int] | None:
    """The fragment's extent across over the seat, None where it is too narrow to be screwed."""
    across = width_at(fragment, seat.u)
    if across is None or across[1] - across[0] < timber.rules.fragment_least:
        return None
    low, high = max(across[0], seat.span[0]), min(across[1], seat.span[1])
    return (low, high) if high > low else None


def _kept(timber: Timber, seat: Seat, fragment: Fragment) -> list[Screw]:
    low, high = width_at(fragment, seat.u) or (0, 0)
    near = timber.rules.kept_screw_edge
    return [
        screw for screw in timber.tile.screws
        if screw.backer == seat.backer and screw.slat == fragment.slat and low <= screw.at[1] <= high
        and timber.to_sawn(screw.at) >= near and _off_sawn_ends(timber, seat, screw.at[1])
    ]


def _off_sawn_ends(timber: Timber, seat: Seat, v: int) -> bool:
    """Whether a kept screw is far enough from those ends of its backer that a cut makes."""
    full = next(backer.v for backer in timber.tile.backers if backer.id == seat.backer)
    near = timber.rules.kept_screw_edge
    low = near if seat.span[0] > full[0] else 0
    high = near if seat.span[1] < full[1] else 0
    return seat.span[0] + low <= v <= seat.span[1] - high


def _new(timber: Timber, seat: Seat, number: int, width: tuple[int, int], limits: Distances) -> list[Drive]:
    """New screws of a fragment at a seat: where the slat had them if that keeps the distances, else one that does."""
    fragment = timber.fragments[number]
    across = width_at(fragment, seat.u) or width
    narrow = across[1] - across[0] < timber.rules.fragment_normal
    own = sorted({screw.at[1] for screw in timber.tile.screws if screw.slat == fragment.slat})
    good: list[Point | None] = [(seat.u, v) for v in own if _sound((seat.u, v), timber, seat, fragment, limits)]
    if not good:
        tries = _around((seat.u, (width[0] + width[1]) // 2), width, seat.width / 2 - limits.edge)
        good = [next((at for at in tries if _sound(at, timber, seat, fragment, limits)), None)]
    found = [at for at in good if at is not None][: 1 if narrow else None]
    return [Drive(fragment=number, at=at, screw=None, predrilled=narrow) for at in found]


def _around(middle: Point, width: tuple[int, int], aside: float) -> Iterator[Point]:
    """Places in a backer for a screw: across from the middle outward, then the same off the backer's centre line."""
    across = sorted(range(width[0], width[1] + 1, STEP), key=lambda v: (abs(v - middle[1]), v))
    for off in range(0, int(aside) + 1, 3 * STEP):
        for u in dict.fromkeys((middle[0] - off, middle[0] + off)):
            for v in (middle[1], *across):
                yield u, v


def _sound(at: Point, timber: Timber, seat: Seat, fragment: Fragment, limits: Distances) -> bool:
    """Whether a new screw here keeps its distances to edges, ends, the backer's ends and old screw holes."""
    across = width_at(fragment, at[0])
    if across is None or min(at[1] - across[0], across[1] - at[1]) < limits.edge:
        return False
    if min(at[1] - seat.span[0], seat.span[1] - at[1]) < limits.backer_end:
        return False
    u0, _, u1, _ = extent(fragment.outline)
    if min(at[0] - u0, u1 - at[0]) < limits.end or timber.to_sawn(at) < limits.edge:
        return False
    if timber.to_end_grain(at) < limits.end:
        return False
    clear = timber.rules.old_hole_clear
    return all(
        math.dist(at, screw.at) >= clear for screw in timber.tile.screws if screw.slat == fragment.slat
    ) and not _in_hole(at, timber, seat)


def _in_hole(at: Point, timber: Timber, seat: Seat) -> bool:
    """Whether the screw would come too near to a pin hole: one that stays in this backer, or may come with the wood."""
    clear = timber.rules.screw_hole_clear
    return any(
        math.dist(at, hole.at if seat.backer else (seat.u, hole.at[1])) < clear
        for hole in timber.tile.pin_holes
        if seat.backer in (None, hole.backer)
    )
