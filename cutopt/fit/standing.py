"""Where a piece rests on supports, and where their pins go."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from cutopt.fit.bearing import Tipping, tips
from cutopt.fit.records import Drive, Seat, Stand
from cutopt.fit.timber import Timber
from cutopt.geometry import NEAR
from cutopt.rules import Rules
from cutopt.tile import PinHole, Point, Tile

STEP = 320  # ticks: a new hole is shifted millimetre by millimetre
FARTHEST_SHIFT = 60 * 320  # ticks: a hole further from its corner than this more leaves the backer's end loose


@dataclass(frozen=True, kw_only=True, slots=True)
class Hung:
    """A seat with its drives and with the pin holes that its wood brings along, where known."""

    number: int
    seat: Seat
    drives: tuple[Drive, ...]
    holes: tuple[PinHole, ...]


def outermost(hung: Sequence[Hung]) -> list[tuple[Hung, tuple[int, ...]]]:
    """Seats that are the first or last behind some fragment, with the directions along u from support to piece."""
    least: dict[int, Hung] = {}
    most: dict[int, Hung] = {}
    for one in sorted(hung, key=lambda h: h.seat.u):
        for drive in one.drives:
            least.setdefault(drive.fragment, one)
            most[drive.fragment] = one
    found: list[tuple[Hung, tuple[int, ...]]] = []
    for one in hung:
        ways = [1] * any(h is one for h in least.values()) + [-1] * any(h is one for h in most.values())
        if ways:
            found.append((one, tuple(ways)))
    return found


def stood(timber: Timber, hung: Sequence[Hung]) -> tuple[tuple[Stand, ...], Tipping | None]:
    """Stands for a piece, and the fault that it would have on them, None where it stands.

    The first and the last backer stand on supports; where that is not enough, every one that ends some fragment, and
    then every one.
    """
    ends = outermost(hung)
    few = [one for one in ends if one[0].seat.u in (ends[0][0].seat.u, ends[-1][0].seat.u)] if ends else []
    known = {id(one): (one, ways) for one, ways in ends}
    every = [known.get(id(one), (one, (_nearer_side(timber, one.seat),))) for one in hung]
    fault: Tipping | None = Tipping(rule="bearing_least")
    tried = 0
    for chosen in (few, ends, every):
        if len(chosen) == tried:
            continue
        tried = len(chosen)
        stands = _stands_of(timber, chosen)
        fault = Tipping(rule="hole_wood") if stands is None else tips(timber, [one.seat for one in hung], stands)
        if stands is not None and fault is None:
            return stands, None
    return (), fault


def _stands_of(timber: Timber, chosen: Sequence[tuple[Hung, tuple[int, ...]]]) -> tuple[Stand, ...] | None:
    """A stand at both ends of the chosen seats, at one in a narrow piece; None where a hole finds no place."""
    stands: list[Stand] = []
    for one, ways in chosen:
        toward = ways[0] if len(ways) == 1 else _nearer_side(timber, one.seat)
        taken: list[Point] = []
        for side in _ends(timber, one.seat):
            stand = _stand(timber, one, (toward, side), taken)
            if stand is None:
                return None
            taken.append(stand.hole)
            stands.append(stand)
    return tuple(stands)


def _nearer_side(timber: Timber, seat: Seat) -> int:
    u0, _, u1, _ = timber.extent
    return 1 if seat.u - u0 <= u1 - seat.u else -1


def _ends(timber: Timber, seat: Seat) -> tuple[int, ...]:
    """The ends that reach the piece's edges; only one where two holes would have no wood between them.

    A short backer that ends under the piece stands there too if it would reach too far past its only pad.
    """
    inset = timber.hole_inset[1]
    ends = tuple(way for way in (1, -1) if _reaches(timber, seat, way))
    lone = timber.tile.support.pad[1] // 2 + timber.rules.backer_past_pad
    if len(ends) < 2 and seat.length > lone:
        return 1, -1
    if len(ends) < 2 or seat.reach[1] - seat.reach[0] >= 2 * inset + timber.least_apart:
        return ends
    return (-1,) if seat.reach[1] == timber.tile.width else (1,)


def _reaches(timber: Timber, seat: Seat, way: int) -> bool:
    """Whether a backer runs up to the piece's edge at its low (1) or high (-1) end."""
    gap = seat.span[0] - seat.reach[0] if way > 0 else seat.reach[1] - seat.span[1]
    return gap <= timber.hole_inset[1] - timber.least_apart // 2


def least_apart(tile: Tile, rules: Rules) -> int:
    """Least distance between two pin holes: their radii and the wood between them."""
    return max(hole.diameter for hole in tile.pin_holes) + rules.hole_wood


def _stand(timber: Timber, one: Hung, toward: tuple[int, int], taken: list[Point]) -> Stand | None:
    """The hole at one end of a seat: one that the wood has, or a new one as near to its usual inset as it may be."""
    seat, inset = one.seat, timber.hole_inset[1]
    low, high = seat.reach if _reaches(timber, seat, toward[1]) else seat.span
    target = low + inset if toward[1] > 0 else high - inset
    diameter = timber.tile.pin_holes[0].diameter
    target = round(target / STEP) * STEP  # to the millimetre: the pins have a millimetre of play
    meat = diameter / 2 + timber.rules.hole_wood
    for hole in sorted(one.holes, key=lambda h: abs(h.at[1] - target)):
        whole = min(hole.at[1] - seat.span[0], seat.span[1] - hole.at[1]) >= meat
        if whole and abs(hole.at[1] - target) <= inset - meat + NEAR and hole.at not in taken:
            state = "moved" if seat.state == "open" else "kept"
            return Stand(seat=one.number, hole=hole.at, toward=toward, state=state)  # type: ignore[arg-type]
    for shift in range(0, FARTHEST_SHIFT, STEP):
        for way in (toward[1], -toward[1]):
            v = target + way * shift
            at = (round(seat.u_at(v)), v) if seat.lean else (_hole_line(timber, seat, meat), v)
            if _bored(timber, one, at, taken, meat):
                return Stand(seat=one.number, hole=at, toward=toward, state="drilled")
    return None


def _hole_line(timber: Timber, seat: Seat, meat: float) -> int:
    """Where along the slats a new hole goes: on the centre line, or where its neighbours have theirs if it may.

    Beside a factory end the support is shared with the neighbour's holes, so a ripped backer is bored off its middle.
    """
    inset, aside = timber.hole_inset[0], seat.width / 2 - meat
    for at in (inset, timber.tile.length - inset):
        whole_end = timber.extent[0] == 0 if at == inset else timber.extent[2] >= timber.tile.length
        if whole_end and abs(at - seat.u) <= aside:
            return at
    return seat.u


def _bored(timber: Timber, one: Hung, at: Point, taken: list[Point], meat: float) -> bool:
    """Whether a hole may be drilled here: wood around it, no screw and no other hole near."""
    seat = one.seat
    if min(at[1] - seat.span[0], seat.span[1] - at[1]) * seat.slant < meat or seat.width / 2 < meat:
        return False
    clear = timber.rules.screw_hole_clear
    if any(math.dist(at, drive.at) < clear for drive in one.drives):
        return False
    apart = timber.least_apart
    return all(math.dist(at, other) >= apart for other in [*taken, *(hole.at for hole in one.holes)])
