"""Where a piece rests on supports, and where their pins go."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field, replace

from cutopt.fit.bearing import Tipping, borne, overturned, too_far_out
from cutopt.fit.places import Screwed
from cutopt.fit.plane import hull
from cutopt.fit.records import Drive, Seat, Stand
from cutopt.fit.timber import Timber
from cutopt.geometry import NEAR, FloatPoint
from cutopt.tile import Point

STEP = 320  # ticks: a new hole is shifted millimetre by millimetre
Span = tuple[int, int]
FARTHEST_SHIFT = 60 * 320  # ticks: a hole further from its corner than this more leaves the backer's end loose


@dataclass(frozen=True, kw_only=True, slots=True)
class Hung:
    """A seat with its drives and with the pin holes that its wood brings along, where known."""

    seat: Seat
    drives: tuple[Drive, ...]
    holes: tuple[Point, ...]


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class Rest:
    """What one backer stands on: its stands (`seat` is 0 in all), the corners of where it bears, and its fault.

    `drilled`: holes that are bored anew. `alone`: stands at a factory end that want a support of their own, since their
    holes are not where their neighbours' are.
    """

    stands: tuple[Stand, ...] = ()
    corners: tuple[FloatPoint, ...] = ()
    fault: str | None = None
    drilled: int = 0
    alone: int = 0


@dataclass(frozen=True, kw_only=True, slots=True)
class Footing:
    """A piece on its stands: these, how many holes are bored for them, how many want a support of their own."""

    stands: tuple[Stand, ...]
    drilled: int
    alone: int


@dataclass(frozen=True, kw_only=True)
class Standing:
    """How one piece stands. What a backer stands on is worked out once, whatever hangs beside it."""

    timber: Timber
    _rests: dict[tuple[Screwed, int | None, int, bool], Rest] = field(default_factory=dict)
    _bored: dict[tuple[int | None, int, Span, Span, int], int] = field(default_factory=dict)
    _hulls: dict[tuple[Rest, ...], tuple[list[FloatPoint], Tipping | None]] = field(default_factory=dict)

    def stood(self, pairs: Sequence[tuple[Seat, Screwed]]) -> Footing | Tipping:
        """Stands for a piece with these backers, in their order along the slats; else the fault that it would have.

        The first and the last backer stand on supports; where that is not enough, every one that ends some fragment,
        and then every one. A short backer stands at one end where that is enough.
        """
        sources = self._sources(pairs)
        ends = _outermost(pairs)
        us = [pairs[n][0].u for n in ends]
        few = {n: ways for n, ways in ends.items() if pairs[n][0].u in (us[0], us[-1])}
        every = {n: ends.get(n, ()) for n in range(len(pairs))}
        fault = Tipping(rule="bearing_least")
        tried = 0
        for chosen in (few, ends, every):
            if len(chosen) == tried:
                continue
            tried = len(chosen)
            for sparing in (True, False) if any(_short(self.timber, pairs[n][0]) for n in chosen) else (False,):
                toward = {n: self._toward(pairs[n][0], ways) for n, ways in chosen.items()}
                rests = {n: self._rest(*pairs[n], sources[n], toward[n], sparing=sparing) for n in chosen}
                found = self._tips(pairs, tuple(rests.values()))
                if found is None:
                    return _footing(rests)
                fault = found
        return fault

    def drilled_at_least(self, seat: Seat) -> int:
        """How many holes are bored for a backer at least if it stands on supports, whatever wood it is of."""
        key = (seat.backer, seat.width, seat.span, seat.reach, seat.lean)
        if key not in self._bored:
            sources = [seat.backer] if seat.backer is not None else self.timber.bored
            holes = [at for source in sources for at in self._holes(seat, source)]
            ends = _ends(self.timber, seat, sparing=True)
            self._bored[key] = sum(_hole_there(self.timber, seat, holes, side) is None for side in ends)
        return self._bored[key]

    def _tips(self, pairs: Sequence[tuple[Seat, Screwed]], rests: tuple[Rest, ...]) -> Tipping | None:
        faults = [rest.fault for rest in rests if rest.fault is not None]
        for rule in ("hole_wood", "bearing_least", "backer_past_pad") if faults else ():
            if rule in faults:
                return Tipping(rule=rule)
        if rests not in self._hulls:
            ring = hull([corner for rest in rests for corner in rest.corners])
            self._hulls[rests] = ring, too_far_out(self.timber, ring)
        ring, far = self._hulls[rests]
        return overturned(self.timber, [seat for seat, _ in pairs], ring) or far

    def _sources(self, pairs: Sequence[tuple[Seat, Screwed]]) -> list[int | None]:
        """The backer that each seat's wood is of: hung ones take bored ones while there are, the outermost first."""
        staying = {seat.backer for seat, _ in pairs}
        spare = [number for number in self.timber.bored if number not in staying]
        hung = [n for n, (seat, _) in enumerate(pairs) if seat.backer is None]
        last = len(pairs) - 1
        if self.timber.view and self.timber.view.along:  # in the order of the tile as it was given
            spare.reverse()
            hung.reverse()
        given = dict(zip(sorted(hung, key=lambda n: n not in (0, last)), spare, strict=False))
        return [given.get(n) if seat.backer is None else seat.backer for n, (seat, _) in enumerate(pairs)]

    def _toward(self, seat: Seat, ways: tuple[int, ...]) -> int:
        """Which way along the slats from the support a backer lies."""
        return ways[0] if len(ways) == 1 else _nearer_side(self.timber, seat)

    def _rest(self, seat: Seat, screwed: Screwed, source: int | None, toward: int, *, sparing: bool) -> Rest:
        sparing = sparing and _short(self.timber, seat)
        key = (screwed, source, toward, sparing)
        if key not in self._rests:
            hung = Hung(seat=seat, drives=screwed.drives, holes=self._holes(seat, source))
            self._rests[key] = self._rested(hung, toward, _ends(self.timber, seat, sparing=sparing))
        return self._rests[key]

    def _holes(self, seat: Seat, source: int | None) -> tuple[Point, ...]:
        """The pin holes that a seat's wood brings along; none where it is ripped and has too little left around them.

        Then it is another one, bored anew.
        """
        mine = [hole for hole in self.timber.tile.pin_holes if hole.backer == source]
        if seat.backer is not None or not mine:
            return tuple(hole.at for hole in mine)
        wood = self.timber.backer(mine[0].backer)
        holes = tuple(seat.carried(hole.at, wood) for hole in mine)
        meat = max(hole.diameter for hole in mine) / 2 + self.timber.rules.hole_wood
        aside = max(abs(u - seat.u_at(v)) / seat.slant for u, v in holes)
        return holes if aside <= seat.width / 2 - meat else ()

    def _rested(self, one: Hung, toward: int, ends: tuple[int, ...]) -> Rest:
        """What a backer stands on at its low (1) and high (-1) end, or one of them."""
        stands: list[Stand] = []
        for side in ends:
            stand = _stand(self.timber, one, (toward, side), [stand.hole for stand in stands])
            if stand is None:
                return Rest(fault="hole_wood")
            stands.append(stand)
        corners, fault = borne(self.timber, one.seat, stands)
        return Rest(
            stands=tuple(stands),
            corners=tuple(hull(corners)),
            fault=fault,
            drilled=sum(stand.state == "drilled" for stand in stands),
            alone=sum(_alone(self.timber, stand) for stand in stands),
        )


def _footing(rests: dict[int, Rest]) -> Footing:
    """A piece that stands, from what its backers of these numbers stand on."""
    return Footing(
        stands=tuple(replace(stand, seat=n) for n, rest in rests.items() for stand in rest.stands),
        drilled=sum(rest.drilled for rest in rests.values()),
        alone=sum(rest.alone for rest in rests.values()),
    )


def _outermost(pairs: Sequence[tuple[Seat, Screwed]]) -> dict[int, tuple[int, ...]]:
    """Seats that are the first or last behind some fragment, with the directions along u from support to piece."""
    least: dict[int, int] = {}
    most: dict[int, int] = {}
    for n, (_, screwed) in enumerate(pairs):
        for fragment in screwed.held:
            least.setdefault(fragment, n)
            most[fragment] = n
    first, last = set(least.values()), set(most.values())
    return {n: (1,) * (n in first) + (-1,) * (n in last) for n in sorted(first | last)}


def _alone(timber: Timber, stand: Stand) -> bool:
    """Whether a stand at a factory end wants a support of its own: its hole is not where its neighbours' are."""
    tile, (u0, _, u1, _) = timber.tile, timber.extent
    inset = timber.hole_inset[0]
    if stand.toward[0] > 0:
        return u0 == 0 and stand.hole[0] < 2 * inset and abs(stand.hole[0] - inset) > NEAR
    far = tile.length - stand.hole[0]
    return u1 >= tile.length and far < 2 * inset and abs(far - inset) > NEAR


def _nearer_side(timber: Timber, seat: Seat) -> int:
    u0, _, u1, _ = timber.extent
    return 1 if seat.u - u0 <= u1 - seat.u else -1


def _short(timber: Timber, seat: Seat) -> bool:
    """Whether one pad may do for a backer: the face reaches no further past it than it may at a wall."""
    return seat.reach[1] - seat.reach[0] <= timber.one_pad


def _ends(timber: Timber, seat: Seat, *, sparing: bool) -> tuple[int, ...]:
    """The ends that reach the piece's edges; only one where two holes would have no wood between them.

    `sparing`: one of a short backer too. That at the tile's own side is chosen, where the neighbour shares the support.

    A backer that ends under the piece stands there too if it would reach too far past its only pad.
    """
    inset = timber.hole_inset[1]
    at_side = (-1,) if seat.reach[1] == timber.tile.width and seat.reach[0] > 0 else (1,)
    if sparing and _short(timber, seat):
        return at_side
    ends = tuple(way for way in (1, -1) if _reaches(timber, seat, way))
    lone = timber.tile.support.pad[1] // 2 + timber.rules.backer_past_pad
    if len(ends) < 2 and seat.length > lone:
        return 1, -1
    if len(ends) < 2 or seat.reach[1] - seat.reach[0] >= 2 * inset + timber.least_apart:
        return ends
    return at_side


def _reaches(timber: Timber, seat: Seat, way: int) -> bool:
    """Whether a backer runs up to the piece's edge at its low (1) or high (-1) end."""
    gap = seat.span[0] - seat.reach[0] if way > 0 else seat.reach[1] - seat.span[1]
    return gap <= timber.hole_inset[1] - timber.least_apart // 2


def _stand(timber: Timber, one: Hung, toward: tuple[int, int], taken: list[Point]) -> Stand | None:
    """The hole at one end of a seat: one that the wood has, or a new one as near to its usual inset as it may be."""
    seat = one.seat
    there = _hole_there(timber, seat, [at for at in one.holes if at not in taken], toward[1])
    if there is not None:
        return Stand(seat=0, hole=there, toward=toward, state="moved" if seat.state == "open" else "kept")
    target, meat = _target(timber, seat, toward[1]), _meat(timber)
    line = _hole_line(timber, seat, meat)
    for shift in range(0, FARTHEST_SHIFT, STEP):
        for way in (toward[1], -toward[1]):
            v = target + way * shift
            at = (round(seat.u_at(v)), v) if seat.lean else (line, v)
            if _bored(timber, one, at, taken, meat):
                return Stand(seat=0, hole=at, toward=toward, state="drilled")
    return None


def _target(timber: Timber, seat: Seat, side: int) -> int:
    """Where across the hole at the low (1) or high (-1) end of a seat belongs: inset as in the tile."""
    low, high = seat.reach if _reaches(timber, seat, side) else seat.span
    target = low + timber.hole_inset[1] if side > 0 else high - timber.hole_inset[1]
    return timber.rounded(target, STEP)  # to the millimetre: the pins have a millimetre of play


def _meat(timber: Timber) -> float:
    """From a hole's centre to the end of its wood."""
    return timber.tile.design.pin_holes[0].diameter / 2 + timber.rules.hole_wood


def _hole_there(timber: Timber, seat: Seat, holes: Sequence[Point], side: int) -> Point | None:
    """The nearest of the holes that the wood has to where one belongs, if it is near enough and has its wood."""
    target, meat = _target(timber, seat, side), _meat(timber)
    good = [
        at
        for at in holes
        if min(at[1] - seat.span[0], seat.span[1] - at[1]) >= meat
        and abs(at[1] - target) <= timber.hole_inset[1] - meat + NEAR
    ]
    return min(good, key=lambda at: abs(at[1] - target), default=None)


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
    return all(math.dist(at, other) >= apart for other in [*taken, *one.holes])
