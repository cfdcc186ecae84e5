"""Which screws hold each fragment at each seat, with their distances in slat and backer."""

from __future__ import annotations

import math
from dataclasses import replace

import shapely

from cutopt.fit.probing import Distances, Probe
from cutopt.fit.records import Drive, Fragment, Seat
from cutopt.fit.timber import Timber, width_at
from cutopt.geometry import NEAR
from cutopt.tile import Screw


def drives_at(timber: Timber, seat: Seat, limits: Distances) -> tuple[Drive, ...]:
    """The screws at a seat: those that may stay, and new ones where a fragment has none there."""
    found: list[Drive] = []
    for number, fragment in enumerate(timber.fragments):
        width = crossing(timber, fragment, seat)
        if width is None:
            continue
        kept = _kept(timber, seat, fragment) if seat.backer is not None and not fragment.shared else []
        if kept:
            found += [Drive(fragment=number, at=screw.at, screw=screw.id) for screw in kept]
        else:
            found += _new(timber, seat, number, width, limits)
    return tuple(found)


def crossing(timber: Timber, fragment: Fragment, seat: Seat) -> tuple[int, int] | None:
    """The fragment's extent across over the seat, None where it is too narrow to be screwed."""
    across = width_over(fragment, seat)
    if across is None or across[1] - across[0] < timber.rules.fragment_least:
        return None
    low, high = max(across[0], seat.span[0]), min(across[1], seat.span[1])
    return (low, high) if high > low else None


def width_over(fragment: Fragment, seat: Seat) -> tuple[int, int] | None:
    """The fragment's extent across along a seat's centre line, None where that does not meet it."""
    if not seat.lean:
        return width_at(fragment, seat.u)
    vs = [p[1] for p in fragment.outline]
    line = shapely.LineString([(seat.u_at(v), v) for v in (min(vs), max(vs))])
    met = line.intersection(shapely.Polygon(fragment.outline, fragment.holes))
    parts = [part.bounds for part in shapely.get_parts(met).tolist() if part.length > NEAR]
    if not parts:
        return None
    _, low, _, high = max(parts, key=lambda b: b[3] - b[1])
    return math.ceil(low), math.floor(high)


def _kept(timber: Timber, seat: Seat, fragment: Fragment) -> list[Screw]:
    low, high = width_over(fragment, seat) or (0, 0)
    near = timber.rules.kept_screw_edge
    return [
        screw
        for screw in timber.tile.screws
        if screw.backer == seat.backer
        and screw.slat == fragment.slat
        and low <= screw.at[1] <= high
        and timber.to_sawn(screw.at) >= near
        and _off_sawn_ends(timber, seat, screw.at[1])
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
    across = width_over(fragment, seat) or width
    narrow = across[1] - across[0] < timber.rules.fragment_normal
    probe = Probe.at(timber, seat, fragment, limits)
    own = [] if fragment.shared else sorted({v for _, v in timber.screws_of_slat.get(fragment.slat, ())})
    own_places = [(round(seat.u_at(v)), v) for v in own]
    good = [at for at in own_places if probe.sound(at)]
    if good:
        return [Drive(fragment=number, at=at, screw=None, predrilled=narrow) for at in good[: 1 if narrow else None]]
    # elsewhere it keeps the full end distance in the backer too, or what kept screws keep, predrilled
    for predrilled in (False, True):
        end = limits.backer_end if predrilled else limits.end
        first = replace(probe, limits=replace(limits, backer_end=end)).first(across)
        if first is not None:
            return [Drive(fragment=number, at=first, screw=None, predrilled=predrilled or narrow)]
    return []
