"""Which screws hold each fragment at each seat, with their distances in slat and backer."""

from __future__ import annotations

from dataclasses import replace

from cutopt.fit.probing import Distances, Probe
from cutopt.fit.records import Drive, Fragment, Seat
from cutopt.fit.timber import Timber, width_at
from cutopt.tile import Screw


def drives_at(timber: Timber, seat: Seat, limits: Distances) -> tuple[Drive, ...]:
    """The screws at a seat: those that may stay, and new ones where a fragment has none there."""
    found: list[Drive] = []
    for number, fragment in enumerate(timber.fragments):
        width = _crossing(timber, fragment, seat)
        if width is None:
            continue
        kept = _kept(timber, seat, fragment) if seat.backer is not None and not fragment.shared else []
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
    across = width_at(fragment, seat.u) or width
    narrow = across[1] - across[0] < timber.rules.fragment_normal
    probe = Probe.at(timber, seat, fragment, limits)
    own = sorted({s.at[1] for s in timber.tile.screws if s.slat == fragment.slat and not fragment.shared})
    good = [(seat.u, v) for v in own if probe.sound((seat.u, v))]
    if good:
        return [Drive(fragment=number, at=at, screw=None, predrilled=narrow) for at in good[: 1 if narrow else None]]
    # elsewhere it keeps the full end distance in the backer too, or what kept screws keep, predrilled
    for predrilled in (False, True):
        end = limits.backer_end if predrilled else limits.end
        closer = Probe.at(timber, seat, fragment, replace(limits, backer_end=end))
        first = next((at for at in closer.around(across) if closer.sound(at)), None)
        if first is not None:
            return [Drive(fragment=number, at=first, screw=None, predrilled=predrilled or narrow)]
    return []
