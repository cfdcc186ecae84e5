"""Where a new screw may go: its distances to edges, ends, old screw holes, pin holes and other new screws.

Places are tried on lines along the backer. On each line everything that is too near takes an interval, so that what is
left is known at once; the place that is found is then measured itself.
"""

from __future__ import annotations

import math
from bisect import bisect_right
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from functools import cached_property, lru_cache
from itertools import pairwise

from cutopt.fit.plane import to_stretch
from cutopt.fit.records import Fragment, Seat
from cutopt.fit.timber import Timber
from cutopt.fit.widths import fits, strands
from cutopt.geometry import extent
from cutopt.rules import Rules
from cutopt.tile import Point, Tile

STEP = 2 * 320  # ticks across between the places that are tried
ASIDE = 4 * 320  # ticks off the backer's centre line between them

Span = tuple[int, int]
Spot = tuple[int, int, float]  # u, v, and how far a screw keeps from it
Sawn = tuple[int, int, int, int, float]  # start, way to its end, and how far a screw keeps from it


@dataclass(frozen=True, kw_only=True, slots=True)
class Distances:
    """Least distances of a new screw in ticks: to a slat's edge and end, to a backer's end, to a new one in its row.

    NDS Commentary Table C12.1.5.7, in diameters, but never more than the uncut tile itself keeps.
    """

    edge: float
    end: float
    backer_end: float
    row: float


@lru_cache(maxsize=64)
def distances(tile: Tile, rules: Rules) -> Distances:
    """The distances for the screws of a tile as made."""
    slats = {slat.id: slat for slat in tile.slats}
    own_edge = min(min(s.at[1] - slats[s.slat].v[0], slats[s.slat].v[1] - s.at[1]) for s in tile.screws)
    own_end = min(min(s.at[0], tile.length - s.at[0]) for s in tile.screws)
    own_backer = min(s.at[1] - min(b.v[0] for b in tile.backers) for s in tile.screws)
    rows = [sorted(s.at[1] for s in tile.screws if s.backer == backer.id) for backer in tile.backers]
    own_row = min((b - a for row in rows for a, b in pairwise(row)), default=math.inf)
    diameter = tile.screw_diameter
    return Distances(
        edge=min(rules.screw_edge * diameter, own_edge),
        end=min(rules.screw_end * diameter, own_end),
        backer_end=min(rules.kept_screw_edge, own_backer),
        row=min(rules.screw_row * diameter, own_row),
    )


@dataclass(frozen=True, kw_only=True, slots=True)
class Grip:
    """What a fragment offers to screws. `own`: where across its slat has its own; `old`: their holes as they lie,
    `old_us`: where along.

    `square`: it is a rectangle, its `box`. `sawn`: the sawn edges near it.
    """

    number: int
    fragment: Fragment
    box: tuple[int, int, int, int]
    square: bool
    own: tuple[int, ...]
    old: tuple[Point, ...]
    old_us: tuple[int, ...]
    sawn: tuple[Sawn, ...]
    _strands: dict[int, list[tuple[float, float]]] = field(default_factory=dict)

    def strands(self, u: int) -> list[tuple[float, float]]:
        """The intervals across in which it is wood at `u`."""
        found = self._strands.get(u)
        if found is None:
            found = self._strands[u] = strands(self.fragment, u)
        return found

    def wide(self, at: Point, least: int) -> bool:
        """Whether it is wide enough for a screw right at a place: off a seat's line it may be narrower than on it."""
        u, v = at
        return self.square or any(low <= v <= high and fits(low, high, least) for low, high in self.strands(u))


def grips_of(timber: Timber, limits: Distances) -> tuple[Grip, ...]:
    """One for each fragment."""
    ends = set(timber.end_grain)
    edges = [(a, b, max(limits.edge, limits.end) if (a, b) in ends else limits.edge) for a, b in timber.sawn]
    return tuple(_grip(number, fragment, timber, edges) for number, fragment in enumerate(timber.fragments))


def _grip(number: int, fragment: Fragment, timber: Timber, edges: Sequence[tuple[Point, Point, float]]) -> Grip:
    u0, v0, u1, v1 = (round(x) for x in extent(fragment.outline))
    screws = timber.screws_of_slat.get(fragment.slat, [])
    moved = timber.share.moved if timber.share and timber.share.outer.id == fragment.slat else 0
    near = [
        (*a, b[0] - a[0], b[1] - a[1], off)
        for a, b, off in edges
        if min(a[0], b[0]) - off < u1
        and max(a[0], b[0]) + off > u0
        and min(a[1], b[1]) - off < v1
        and max(a[1], b[1]) + off > v0
    ]
    corners = all(u in (u0, u1) and v in (v0, v1) for u, v in fragment.outline)
    return Grip(
        number=number,
        fragment=fragment,
        box=(u0, v0, u1, v1),
        square=corners and len(fragment.outline) == 4 and not fragment.holes,
        own=() if fragment.shared else tuple(sorted({v for _, v in screws})),
        old=tuple((u, v + moved) for u, v in screws),
        old_us=tuple(sorted({u for u, _ in screws})),
        sawn=tuple(near),
    )


@dataclass(frozen=True, kw_only=True)
class Probe:
    """Tries places for screws at one seat.

    `fresh`: the new ones so far; `elsewhere`: those of them that are not in the slats' own places.
    """

    timber: Timber
    seat: Seat
    limits: Distances
    fresh: list[Point] = field(default_factory=list)
    elsewhere: list[Point] = field(default_factory=list)

    @cached_property
    def holes(self) -> list[Spot]:
        """Pin holes, those of the backer here or those that wood from elsewhere may bring, and its own old holes."""
        seat, timber, rules = self.seat, self.timber, self.timber.rules
        clear: float = rules.screw_hole_clear
        if seat.backer is not None:
            at = {hole.at for hole in timber.tile.pin_holes if hole.backer == seat.backer}
            own = timber.screws_of_backer.get(seat.backer, ())
            return [(*p, clear) for p in sorted(at)] + [(*p, float(rules.old_hole_clear)) for p in own]
        if seat.lean:
            at = {seat.carried(hole.at, timber.backer(hole.backer)) for hole in timber.tile.pin_holes}
            return [(*p, clear) for p in sorted(at)]
        return [(seat.u + off, v, clear) for off, v in timber.brought]

    @cached_property
    def _slope(self) -> float:
        low, high = self.seat.span
        return self.seat.lean / (high - low)

    def spots(self, grip: Grip, again: Point | None = None) -> list[Spot]:
        """What a screw in a fragment here keeps clear of: pin holes, and old screw holes in slat and backer.

        All but the old hole that it is driven into `again`.
        """
        seat, clear = self.seat, self.timber.rules.old_hole_clear
        near = seat.width // 2 + clear + abs(seat.lean) // 2
        _, v0, _, v1 = grip.box
        old = [(u, v, float(clear)) for u, v in grip.old if -near < u - seat.u < near and (u, v) != again]
        return old + [spot for spot in self.holes if v0 - spot[2] < spot[1] < v1 + spot[2]]

    def undisturbed(self, grip: Grip) -> bool:
        """Whether nothing is near enough to a straight seat for wood from elsewhere to disturb a screw in its row."""
        seat, clear = self.seat, self.timber.rules.old_hole_clear
        if seat.lean or seat.backer is not None or not grip.square or grip.sawn:
            return False
        u0, _, u1, _ = grip.box
        if seat.u - u0 < self.limits.end or u1 - seat.u < self.limits.end:
            return False
        after = bisect_right(grip.old_us, seat.u - clear)
        return after == len(grip.old_us) or grip.old_us[after] >= seat.u + clear

    def in_row(self, at: Point) -> bool:
        """Whether one of the slat's own places is far enough from the new screws of the seat that are elsewhere.

        Those in their slats' own places keep what the uncut tile keeps.
        """
        return all(math.dist(at, other) >= self.limits.row for other in self.elsewhere)

    def sound(self, grip: Grip, spots: Sequence[Spot], at: Point, backer_end: float) -> bool:
        """Whether a new screw here keeps all its distances but those to other new ones."""
        limits, seat = self.limits, self.seat
        (u, v), (u0, v0, u1, v1), edge = at, grip.box, limits.edge
        if u - u0 < limits.end or u1 - u < limits.end:
            return False
        along = seat.along(at)
        if along < backer_end or seat.length - along < backer_end:
            return False
        if grip.square:
            if not v0 + edge <= v <= v1 - edge:
                return False
        elif not any(low + edge <= v <= high - edge for low, high in grip.strands(u)):
            return False
        if not grip.wide(at, self.timber.rules.fragment_least):
            return False
        if not self.clear_of(at, spots):
            return False
        return all(to_stretch(u - x, v - y, du, dv) >= off for x, y, du, dv, off in grip.sawn)

    def clear_of(self, at: Point, spots: Sequence[Spot]) -> bool:
        """Whether a place is far enough from all of some spots."""
        u, v = at
        for x, y, clear in spots:
            du, dv = u - x, v - y
            if -clear < du < clear and du * du + dv * dv < clear * clear:
                return False
        return True

    def sound_across(self, grip: Grip, v: int) -> bool:
        """Whether a place of a rectangle on a straight seat keeps off the slat's edges and the backer's ends."""
        (_, v0, _, v1), (low, high), limits = grip.box, self.seat.span, self.limits
        off = limits.backer_end
        return v0 + limits.edge <= v <= v1 - limits.edge and low + off <= v <= high - off

    def first(self, grip: Grip, spots: Sequence[Spot], across: Span, backer_end: float) -> Point | None:
        """The first place that will do: across from the middle outward, on the centre line, then off it on both sides.

        `across` is the fragment's extent over the seat.
        """
        seat = self.seat
        back = backer_end / seat.slant
        low = math.ceil(max(across[0] + self.limits.edge, seat.span[0] + back))
        high = math.floor(min(across[1] - self.limits.edge, seat.span[1] - back))
        if low > high:
            return None
        spots = [*spots, *((*at, self.limits.row) for at in self.fresh)]
        for off in self._offs():
            taken = _merged(self._taken(grip, spots, off, low, high))
            if any(a < low and b > high for a, b in taken):
                continue
            for v in _outward(low, high):
                for a, b in taken:
                    if a < v < b:
                        break
                else:
                    at = (round(seat.u_at(v)) + off, v)
                    if self.sound(grip, spots, at, backer_end):
                        return at
        return None

    def _offs(self) -> Iterator[int]:
        """How far off the centre line, along the slats."""
        aside = int((self.seat.width / 2 - self.limits.edge) * self.seat.slant)
        yield 0
        for off in (*range(ASIDE, aside, ASIDE), aside):
            if off > 0:
                yield from (-off, off)

    def _taken(self, grip: Grip, spots: Sequence[Spot], off: int, low: int, high: int) -> Iterator[tuple[float, float]]:
        """The intervals across that are too near something on the line `off` the seat's, between low and high."""
        slope, end = self._slope, self.limits.end
        start = self.seat.u_at(0) + off
        u0, _, u1, _ = grip.box
        for bound, way in ((u0 + end, 1), (u1 - end, -1)):  # where the line is too near an end of the fragment
            if not slope:
                if (start - bound) * way < 0:
                    yield -math.inf, math.inf
                continue
            v = (bound - start) / slope
            yield (-math.inf, v - 1) if slope * way > 0 else (v + 1, math.inf)
        for x, y, clear in spots:
            if y + clear > low and y - clear < high:
                yield from _in_disc(start - x, slope, y, clear)
        for x, y, du, dv, clear in grip.sawn:
            yield from _in_disc(start - x, slope, y, clear)
            yield from _in_disc(start - x - du, slope, y + dv, clear)
            yield from _beside(start - x, slope, y, (du, dv), clear)


@lru_cache(maxsize=1024)
def _outward(low: int, high: int) -> tuple[int, ...]:
    """Places across from the middle to both sides."""
    middle = (low + high) // 2
    return tuple(sorted({middle, low, high, *range(low, high, STEP)}, key=lambda v: (abs(v - middle), v)))


def _merged(taken: Iterable[tuple[float, float]]) -> list[tuple[float, float]]:
    """Open intervals as few: those that overlap are one."""
    merged: list[tuple[float, float]] = []
    for low, high in sorted(taken):
        if merged and low < merged[-1][1]:
            merged[-1] = merged[-1][0], max(merged[-1][1], high)
        else:
            merged.append((low, high))
    return merged


def _in_disc(start: float, slope: float, y: float, clear: float) -> Iterator[tuple[float, float]]:
    """Where the line u = start + slope v is nearer than `clear` to the point at u = 0, v = y."""
    square = 1 + slope * slope
    middle = (y - slope * start) / square
    rest = middle * middle - (start * start + y * y - clear * clear) / square
    if rest > 0:
        half = math.sqrt(rest)
        yield middle - half, middle + half


def _beside(start: float, slope: float, y: float, way: Point, clear: float) -> Iterator[tuple[float, float]]:
    """Where the line u = start + slope v is nearer than `clear` to a stretch from (0, y) on its `way`, beside it."""
    du, dv = way
    size = math.hypot(du, dv)
    low, high = -math.inf, math.inf
    for at_nought, rate, least, most in (
        (start * dv + y * du, slope * dv - du, -clear * size, clear * size),  # square to the stretch
        (start * du - y * dv, slope * du + dv, 0.0, size * size),  # along it
    ):
        if abs(rate) < 1e-9:
            if not least < at_nought < most:
                return
            continue
        a, b = sorted(((least - at_nought) / rate, (most - at_nought) / rate))
        low, high = max(low, a), min(high, b)
    if low < high:
        yield low, high
