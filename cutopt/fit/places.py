"""The places for hung backers of one piece in arrays, so that a search can ask at once which of them mend a fault."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field
from functools import cached_property
from itertools import compress

import numpy as np
from numpy.typing import NDArray

from cutopt.fit.fastening import Fastening
from cutopt.fit.needs import Hold, Need, hold_of
from cutopt.fit.plane import edges_of
from cutopt.fit.probing import Grip
from cutopt.fit.rates import hanging, ripping
from cutopt.fit.records import Drive, Seat
from cutopt.fit.timber import Timber
from cutopt.geometry import NEAR, Ring

Chosen = NDArray[np.bool_]  # one for each place
Mask = int  # a byte for each place, 1 where it is chosen: so the sum of some masks counts for each place
MOST_COUNTED = 255  # masks in one sum, since a byte holds no more
ROUNDED = 2  # ticks that a width across loses at most where it is taken on whole ticks


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class Screwed:
    """What a seat takes: its drives, and how many screws are `missing` where no good place for one is found.

    There is one for each seat of a piece, the same whatever hangs beside it.

    `held`: the fragments it holds; `work`: what it adds to what is minimised: its minutes, less those for the screws
    that stay in it, the screws that find no place counted as if they were driven.
    """

    drives: tuple[Drive, ...]
    missing: int
    held: frozenset[int]
    hold: Hold
    work: float


@dataclass(kw_only=True)
class Places:
    """Seats with where each lies under each fragment. Arrays are fragments by seats, ticks.

    `known`: what seats take, shared by all searches over one piece.
    """

    fastening: Fastening
    seats: Sequence[Seat]
    known: dict[Seat, Screwed] = field(default_factory=dict)
    _screwed: dict[int, Screwed] = field(default_factory=dict)
    _clashing: dict[int, Mask] = field(default_factory=dict)
    _menders: dict[tuple[int | None, tuple[float, float], bool], Mask] = field(default_factory=dict)

    @property
    def timber(self) -> Timber:
        """The piece."""
        return self.fastening.timber

    @cached_property
    def _middle(self) -> NDArray[np.float64]:
        """The centre lines' u at each fragment's middle."""
        us, _, _, lean = self._lying
        found = np.tile(us, (len(self.timber.fragments), 1))
        for number in np.flatnonzero(lean).tolist():
            seat = self.seats[number]
            found[:, number] = [seat.u_at((v0 + v1) / 2) for _, v0, _, v1 in self.timber.fragment_extents]
        return found

    @cached_property
    def _edges(self) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
        """The boards' edges at each fragment's middle."""
        half = np.array([seat.width * seat.slant / 2 for seat in self.seats], dtype=float)
        return self._middle - half, self._middle + half

    @cached_property
    def _under(self) -> NDArray[np.bool_]:
        """Which backers reach under which fragment across."""
        spans = self._lying[1]
        return np.array([(spans[:, 0] < v1) & (spans[:, 1] > v0) for _, v0, _, v1 in self.timber.fragment_extents])

    @cached_property
    def tying(self) -> list[Seat]:
        """The places whose backers may tie slats: they lie under two fragments, or under the only one."""
        us, _, _, lean = self._lying
        ends = np.array([(u0, u1) for u0, _, u1, _ in self.timber.fragment_extents]).T[:, :, None]
        under = self._under & (((ends[0] <= us) & (us < ends[1])) | lean)
        most = under.sum(axis=0) >= min(2, len(self.timber.fragments))
        return [self.seats[number] for number in np.flatnonzero(most).tolist()]

    @cached_property
    def every(self) -> Mask:
        """All places."""
        return int.from_bytes(b"\1" * len(self.seats), "little")

    def mask(self, number: int) -> Mask:
        """One place alone."""
        return 1 << 8 * number

    def numbers(self, mask: Mask) -> list[int]:
        """The numbers of the places of a mask, in order."""
        return [*compress(range(len(self.seats)), self.counts(mask))]

    def counts(self, total: Mask) -> bytes:
        """How many of the masks that were added up choose each place."""
        return total.to_bytes(len(self.seats), "little")

    def in_order(self, mask: Mask, counts: bytes) -> list[int]:
        """The numbers of the places of a mask, that of least work last; of equals, that of the greatest count."""
        numbers = np.flatnonzero(np.frombuffer(self.counts(mask), dtype=np.uint8))[::-1]
        ranks = np.lexsort((np.frombuffer(counts, dtype=np.uint8)[numbers], -self._work[numbers]))
        found: list[int] = numbers[ranks].tolist()
        return found

    def menders(self, need: Need) -> Mask:
        """The places that lie where the need wants a backer."""
        key = need.fragment, need.between, need.by_edge
        found = self._menders.get(key)
        if found is None:
            found = self._menders[key] = self._mending(need)
        return found

    def _mending(self, need: Need) -> Mask:
        if need.fragment is None:
            return self.every
        low, high = need.between
        if need.by_edge:
            low_edge, high_edge = self._edges
            found = (low_edge[need.fragment] <= high) & (high_edge[need.fragment] >= low)
        else:
            middle = self._middle[need.fragment]
            found = (middle > low) & (middle < high)
        return _mask(found & self._under[need.fragment])

    @cached_property
    def at_least(self) -> list[float]:
        """What each place takes at least: its backer, and screws in each fragment that it crosses for certain."""
        found: list[float] = self._work.tolist()
        return found

    @cached_property
    def _work(self) -> NDArray[np.float64]:
        rules, (_, _, widths, lean) = self.timber.rules, self._lying
        crossed = np.zeros(len(self.seats))
        for grip in self.fastening.grips:
            crossed += self._crossed(grip)
        full = self.timber.full
        found = rules.rate_backer + crossed * a_crossing(self.timber)
        found += ripping(rules) * (widths < full) + rules.rate_mark * lean
        return found

    def _crossed(self, grip: Grip) -> Chosen:
        """The straight backers that a fragment lies across, wide enough for a screw."""
        us, spans, _, lean = self._lying
        u0, v0, u1, v1 = grip.box
        least = self.timber.rules.fragment_least
        if grip.square:
            wide = v1 - v0 >= least
            crossed: Chosen = (us >= u0) & (us < u1) & (spans[:, 0] < v1) & (spans[:, 1] > v0) & ~lean
            crossed &= wide
            return crossed
        low, high, hits = self._met(grip.fragment.outline)
        # with a hole in it or more than one strand it may be narrower than it looks
        crossed = (hits == 2) & (high - low >= least + ROUNDED) & ~lean
        crossed &= (np.maximum(low, spans[:, 0]) + ROUNDED < np.minimum(high, spans[:, 1])) & (not grip.fragment.holes)
        return crossed

    def _met(self, ring: Ring) -> tuple[NDArray[np.float64], NDArray[np.float64], NDArray[np.int_]]:
        """Where the centre line of each straight place first and last meets a ring, and how often."""
        us = self._lying[0]
        low, high, hits = np.full(len(us), np.inf), np.full(len(us), -np.inf), np.zeros(len(us), dtype=int)
        for (ua, va), (ub, vb) in edges_of(ring):
            if ua == ub:
                continue
            hit = (ua <= us) != (ub <= us)
            v = va + (us - ua) * ((vb - va) / (ub - ua))
            low, high = np.where(hit & (v < low), v, low), np.where(hit & (v > high), v, high)
            hits += hit
        return low, high, hits

    def held_at_all(self, need: Need) -> bool:
        """Whether any of the places mends a need; where a fragment is too narrow there, no screw is looked for."""
        if need.fragment is None:
            wide = self.every
        else:
            _, _, _, lean = self._lying
            low, high, hits = self._met(self.timber.fragments[need.fragment].outline)
            narrow = (hits == 2) & (high - low < self.timber.rules.fragment_least - ROUNDED)
            wide = _mask(((hits > 0) & ~narrow) | lean)
        return any(need.held(self.screwed(number).held) for number in self.numbers(self.menders(need) & wide))

    def clashing(self, number: int) -> Mask:
        """The places whose backers would lie on that of this one, itself too."""
        found = self._clashing.get(number)
        if found is None:
            found = self._clashing[number] = _mask(self._clashes(number))
        return found

    @cached_property
    def _lying(self) -> tuple[NDArray[np.float64], NDArray[np.float64], NDArray[np.float64], Chosen]:
        seats = self.seats
        spans = np.array([seat.span for seat in seats], dtype=float).reshape(-1, 2)
        us = np.array([seat.u for seat in seats], dtype=float)
        lean = np.array([seat.lean != 0 for seat in seats], dtype=bool)
        return us, spans, np.array([seat.width for seat in seats], dtype=float), lean

    @cached_property
    def _boards(self) -> NDArray[np.float64]:
        """Of each board: its middle, the unit vector along it, half its length and half its width."""
        rows = []
        for seat in self.seats:
            (u0, v0), (u1, v1) = seat.line
            size = math.hypot(u1 - u0, v1 - v0)
            row = ((u0 + u1) / 2, (v0 + v1) / 2, (u1 - u0) / size, (v1 - v0) / size, size / 2, seat.width / 2)
            rows.append(row)
        return np.array(rows, dtype=float).reshape(-1, 6).T

    @cached_property
    def _straight(self) -> bool:
        return not any(seat.lean for seat in self.seats)

    def _clashes(self, number: int) -> Chosen:
        us, spans, widths, _ = self._lying
        if self._straight:
            seat = self.seats[number]
            over: Chosen = (spans[:, 0] < seat.span[1]) & (seat.span[0] < spans[:, 1])
            over &= np.abs(us - seat.u) < (widths + seat.width) / 2
            return over
        # rectangles lie on one another where along none of their sides' directions they are apart
        middle_u, middle_v, along_u, along_v, length, width = self._boards
        mine = self._boards[:, number]
        off_u, off_v = middle_u - mine[0], middle_v - mine[1]
        turned = np.abs(along_u * mine[2] + along_v * mine[3]), np.abs(along_u * mine[3] - along_v * mine[2])
        clash: Chosen = np.ones(len(us), dtype=bool)
        for (du, dv), own, other in (
            ((mine[2], mine[3]), mine[4], length * turned[0] + width * turned[1]),
            ((mine[3], -mine[2]), mine[5], length * turned[1] + width * turned[0]),
            ((along_u, along_v), mine[4] * turned[0] + mine[5] * turned[1], length),
            ((along_v, -along_u), mine[4] * turned[1] + mine[5] * turned[0], width),
        ):
            clash &= np.abs(off_u * du + off_v * dv) < own + other - NEAR
        clash[number] = True
        return clash

    def screwed(self, number: int) -> Screwed:
        """The drives of a place, looked for once."""
        found = self._screwed.get(number)
        if found is None:
            seat = self.seats[number]
            if seat not in self.known:
                self.known[seat] = screwed_at(self.fastening, seat)
            found = self._screwed[number] = self.known[seat]
        return found


def _mask(chosen: Chosen) -> Mask:
    return int.from_bytes(chosen.tobytes(), "little")


def a_crossing(timber: Timber) -> float:
    """What a crossing of a hung backer takes at least: as many screws as the tile has there, out of its wood and in."""
    rules = timber.rules
    return timber.usual_screws * (rules.rate_screw_out + min(rules.rate_screw_in, rules.rate_screw_new))


def screwed_at(fastening: Fastening, seat: Seat) -> Screwed:
    """The drives of a seat and what they take."""
    timber, rules = fastening.timber, fastening.timber.rules
    crossings = fastening.at(seat)
    drives = tuple(drive for crossing in crossings for drive in crossing.drives)
    fresh = [drive for drive in drives if drive.screw is None]
    screws = [0] * len(timber.fragments)
    for crossing in crossings:
        screws[crossing.grip.number] = len(crossing.drives)
    minutes = sum([rules.rate_screw_new if drive.predrilled else rules.rate_screw_in for drive in fresh])
    missing = 0
    if seat.state == "open":
        full = timber.full
        minutes += hanging(rules, leaning=seat.lean != 0) + ripping(rules) * (seat.width < full)
        minutes += len(drives) * rules.rate_screw_out  # its wood is unscrewed somewhere
        usual = timber.usual_screws
        missing = sum([max(0, usual - len(crossing.drives)) for crossing in crossings])
    saved = (len(drives) - len(fresh)) * rules.rate_screw_out
    return Screwed(
        drives=drives,
        missing=missing,
        held=frozenset([crossing.grip.number for crossing in crossings if crossing.drives]),
        hold=hold_of(timber, seat, tuple(screws)),
        work=minutes - saved + missing * (rules.rate_screw_in + rules.rate_screw_out),
    )
