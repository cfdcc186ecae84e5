"""Backers are scarce: a bound on the tiles of strategy anywhere by the backers that their pieces hang on.

A slat's fragment hangs on as many backers as its length asks for, and in a convex piece a straight backer that holds a
given fragment reaches from edge to edge of the piece, less its set-back. So a class takes at least so many backers of
at least such a length, wherever it lies: found for each shift across the slats, a few millimetres of shifts at a time.
Each of a tile's backers, and each one bought, yields no more of them than a bar does (dual feasible functions).

Nothing is counted for pieces that are not convex or may have backers along an oblique edge: these may be hung on
shorter ones.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import pairwise

import numpy as np
import shapely

from cutopt.cut.records import PieceClass
from cutopt.fit.leaning import LEAST_LEAN, MOST_LEAN
from cutopt.fit.needs import FEWEST
from cutopt.fit.seats import LEANING
from cutopt.fit.timber import Timber
from cutopt.geometry import NEAR, Ring, area2
from cutopt.packing.bounds import fewest_bars
from cutopt.rules import Rules
from cutopt.tile import Slat, Tile

MOST_CLASSES = 400  # those that are wanted most; without the others the bound is lower, and one all the same
SHIFTS = 10 * 320  # ticks: shifts across that are looked at as one
ALIKE = 320  # ticks: half-turned slats lie as they do to a millimetre
ON_LINE = 1e-6  # ticks: nearer is on it
SHARING = 2  # slats at a ripped side that may lie elsewhere because they share
Span = tuple[float, float]
FloatRing = tuple[tuple[float, ...], ...]
Backers = tuple[int, int]  # how many, and how long each, ticks


def fewest_by_backers(classes: Sequence[PieceClass], tile: Tile, rules: Rules) -> int:
    """Tiles that no plan goes below wherever the pieces lie: their backers and those bought are what there is."""
    plain = sorted((kind for kind in classes if not kind.shape.notches), key=lambda kind: -kind.demand)
    wants = [(least_backers(kind.shape.outline, tile, rules), kind.demand) for kind in plain[:MOST_CLASSES]]
    known = [(length, count * demand) for (count, length), demand in wants if count and length > 0]
    if not known:
        return 0
    lengths = np.array([length for length, _ in known], dtype=np.int32)
    counts = np.array([count for _, count in known], dtype=np.int64)
    bars = fewest_bars(lengths, counts, max(backer.v[1] - backer.v[0] for backer in tile.backers))
    return max(0, math.ceil((bars - rules.spare_backers) / len(tile.backers)))


def least_backers(outline: Ring, tile: Tile, rules: Rules) -> Backers:
    """A piece takes at least so many backers, each at least so long, wherever it lies; (0, 0) where nothing is sure."""
    piece = _Piece(timber=Timber(tile=tile, rules=rules, outline=outline))
    if not piece.plain:
        return 0, 0
    offers = list(piece.fragments())
    best: Backers = (0, 0)
    for count in sorted({count for some in offers for count, _ in some}):
        length = min(max((long for many, long in some if many >= count), default=0) for some in offers)
        best = max(best, (count, int(length)), key=lambda one: one[0] * one[1])
    return best


@dataclass(frozen=True, kw_only=True)
class _Piece:
    """A piece wherever it lies; `timber` is the piece as in its cell."""

    timber: Timber

    @cached_property
    def _edges(self) -> tuple[tuple[float, float, float, float], ...]:
        """Of each edge: how far it runs along, and across, and between which places across."""
        return tuple((abs(c - a), abs(d - b), min(b, d), max(b, d)) for (a, b), (c, d) in self.timber.rim)

    @property
    def plain(self) -> bool:
        """Whether it is convex, and no backer may lie along an edge of it."""
        ring = self.timber.outline
        convex = shapely.convex_hull(shapely.Polygon(ring)).area - area2(ring) / 2 < NEAR * NEAR
        return convex and not any(LEAST_LEAN <= du <= MOST_LEAN * dv for du, dv, _, _ in self._edges)

    def _shifts(self) -> Iterator[tuple[float, float]]:
        """Between which places its low side may lie across the tile, all of them."""
        _, v0, _, v1 = self.timber.extent
        room = self.timber.tile.width - (v1 - v0)
        for low in range(0, max(room, 1), SHIFTS):
            yield low - ALIKE, min(low + SHIFTS, room) + ALIKE

    def fragments(self) -> Iterator[list[Backers]]:
        """For each way to lie, of the slats' fragments that are there for certain: how many backers hold each, and how
        long these are at least. Where slats may share, those at one side or at the other may lie elsewhere.
        """
        _, v0, _, v1 = self.timber.extent
        for low, high in self._shifts():
            slats = [slat for slat in self.timber.by_v if slat.v[1] > high + NEAR and slat.v[0] < low + v1 - v0 - NEAR]
            found = [self._held(slat, v0 - high, v0 - low) for slat in slats]
            if self._rips:
                yield found[SHARING:]
                yield found[:-SHARING]
            else:
                yield found

    @cached_property
    def _rips(self) -> bool:
        """Whether slats may share at one of its sides: not where both are the tile's own from end to end."""
        _, v0, _, v1 = self.timber.extent
        full = v1 - v0 >= self.timber.tile.width
        return not full or any(du > dv and not (a == b and a in (v0, v1)) for du, dv, a, b in self._edges)

    def _held(self, slat: Slat, least: float, most: float) -> Backers:
        """What holds a slat's fragment; the slat is shifted by between `least` and `most` in the piece's own place."""
        certain = slat.v[0] + most, slat.v[1] + least
        possible = slat.v[0] + least, slat.v[1] + most
        lengths = [self._across(way, possible) for way in self._ways]
        long = max(0.0, min(lengths) - self._set_back - NEAR) if not self._short_beside(possible) else 0.0
        return self._count(self._reach(certain)), math.floor(long)

    def _reach(self, between: Span) -> float:
        """How far the piece reaches along somewhere between two places across, at least."""
        _, v0, _, v1 = self.timber.extent
        low, high = max(between[0], v0 + 1), min(between[1], v1 - 1)
        along = _crossed(self.timber.outline, 1, (low + high) / 2) if low <= high else []
        return max(along) - min(along) if along else 0.0

    def _count(self, reach: float) -> int:
        """Backers that hold a fragment that reaches so far: near both its ends, with no bay too long."""
        timber = self.timber
        if reach < timber.rules.short_fragment:
            return 1
        ends = 2 * (timber.overhang + max(backer.width for backer in timber.tile.design.backers) / 2)
        return max(FEWEST, 1 + math.ceil((reach - ends - NEAR) / timber.tile.design.longest_bay))

    @cached_property
    def _ways(self) -> tuple[FloatRing, ...]:
        """For each width that a backer may have: where its centre line may run under the piece, a convex ring."""
        timber = self.timber
        widths = {*timber.hung_widths, *(backer.width for backer in timber.tile.design.backers)}
        found = []
        for half in (width / 2 - 2 * NEAR for width in sorted(widths)):
            rings = [shapely.Polygon([(u + by, v) for u, v in timber.outline]) for by in (-half, half)]
            both = rings[0].intersection(rings[1])
            found.append(tuple(both.exterior.coords[:-1]) if isinstance(both, shapely.Polygon) else ())
        return tuple(found)

    def _across(self, way: FloatRing, between: Span) -> float:
        """The shortest straight backer that reaches to between two places across.

        How long a convex shape is across is a concave function of the place along, least at the ends of a stretch.
        """
        us = [u for u, v in way if between[0] <= v <= between[1]]
        us += [u for v in between for u in _crossed(way, 1, v)]
        if not us:
            return float(self.timber.tile.width)  # nothing can hold it: it does not lie so
        ends = [_crossed(way, 0, u) for u in (min(us), max(us))]
        return min(max(vs) - min(vs) for vs in ends if vs)

    def _short_beside(self, between: Span) -> bool:
        """Whether a short backer may be hung there, behind an edge that ends some of the slats and not all."""
        _, v0, _, v1 = self.timber.extent
        tile, least = self.timber.tile.design, self.timber.rules.fragment_least
        reach = 2 * max((b.v[1] - a.v[0] for a, b in pairwise(self.timber.by_v)), default=tile.width)
        for du, dv, low, high in self._edges:
            partial = low - v0 >= least or v1 - high >= least
            if dv and du <= LEANING and partial and low - reach < between[1] and high + reach > between[0]:
                return True
        return False

    @cached_property
    def _set_back(self) -> float:
        """What a backer loses of the piece's width: as much as in the uncut tile."""
        tile = self.timber.tile.design
        return max(backer.v[0] + tile.width - backer.v[1] for backer in tile.backers)


def _crossed(ring: Sequence[Sequence[float]], axis: int, at: float) -> list[float]:
    """Where on the other axis a line meets a ring's edges, both ends of an edge that lies on it."""
    found = []
    for p, q in zip(ring, (*ring[1:], *ring[:1]), strict=True):
        low, high = (p, q) if p[axis] <= q[axis] else (q, p)
        if high[axis] - low[axis] <= ON_LINE:
            found += [p[1 - axis], q[1 - axis]] if abs(low[axis] - at) <= ON_LINE else []
        elif low[axis] - ON_LINE <= at <= high[axis] + ON_LINE:
            share = min(max((at - low[axis]) / (high[axis] - low[axis]), 0.0), 1.0)
            found.append(low[1 - axis] + share * (high[1 - axis] - low[1 - axis]))
    return found
