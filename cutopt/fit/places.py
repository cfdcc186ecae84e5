"""The places for hung backers of one piece in arrays, so that a search can ask at once which of them mend a fault."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, field
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from cutopt.fit.fastening import crossing, drives_at
from cutopt.fit.needs import Need
from cutopt.fit.probing import Distances
from cutopt.fit.records import Drive, Seat
from cutopt.fit.timber import Timber
from cutopt.geometry import area2

Chosen = NDArray[np.bool_]  # one for each place


@dataclass(frozen=True, kw_only=True, slots=True)
class Screwed:
    """What a seat takes: its drives, minutes for them, and crossings that find no good place for a screw.

    `held`: the fragments it holds; `screws`: how many it has in each fragment.
    """

    drives: tuple[Drive, ...]
    minutes: float
    missing: int
    held: frozenset[int]
    screws: tuple[int, ...]


@dataclass(kw_only=True)
class Places:
    """Seats with where each lies under each fragment. Arrays are fragments by seats, ticks.

    `known`: what seats take, shared by all searches over one piece.
    """

    timber: Timber
    limits: Distances
    seats: Sequence[Seat]
    known: dict[Seat, Screwed] = field(default_factory=dict)
    _screwed: dict[int, Screwed] = field(default_factory=dict)
    _clashing: dict[int, Chosen] = field(default_factory=dict)

    @cached_property
    def _middle(self) -> NDArray[np.float64]:
        """The centre lines' u at each fragment's middle."""
        vs = [(v0 + v1) / 2 for _, v0, _, v1 in self.timber.fragment_extents]
        return np.array([[seat.u_at(v) for seat in self.seats] for v in vs], dtype=float).reshape(len(vs), -1)

    @cached_property
    def _half(self) -> NDArray[np.float64]:
        return np.array([seat.width * seat.slant / 2 for seat in self.seats], dtype=float)

    @cached_property
    def _under(self) -> NDArray[np.bool_]:
        """Which backers reach under which fragment across."""
        spans = self._lying[1]
        return np.array([(spans[:, 0] < v1) & (spans[:, 1] > v0) for _, v0, _, v1 in self.timber.fragment_extents])

    def menders(self, need: Need) -> Chosen:
        """The places that lie where the need wants a backer."""
        if need.fragment is None:
            return np.ones(len(self.seats), dtype=bool)
        middle = self._middle[need.fragment]
        low, high = need.between
        found: Chosen = (middle > low) & (middle < high)
        if need.by_edge:
            found = (middle - self._half <= high) & (middle + self._half >= low)
        found &= self._under[need.fragment]
        return found

    @cached_property
    def at_least(self) -> list[float]:
        """What each place takes at least: its backer, and screws in each whole slat that it crosses for certain."""
        rules, most = self.timber.rules, self.timber.rules.rate_screw_in + self.timber.rules.rate_screw_out
        us, spans, widths, lean = self._lying
        crossed = np.zeros(len(self.seats))
        for fragment, (u0, v0, u1, v1) in zip(self.timber.fragments, self.timber.fragment_extents, strict=True):
            square = (
                len(fragment.outline) == 4
                and not fragment.holes
                and area2(fragment.outline) > 2 * (u1 - u0) * (v1 - v0) - 1
            )
            if square and v1 - v0 >= rules.fragment_least:
                crossed += (us > u0) & (us < u1) & (spans[:, 0] < v1) & (spans[:, 1] > v0) & ~lean
        full = min(backer.width for backer in self.timber.tile.backers)
        found = rules.rate_backer + crossed * usual_screws(self.timber) * most
        found += rules.rate_table_saw * (widths < full) + rules.rate_mark * lean
        return [float(minutes) for minutes in found]

    def clashing(self, number: int) -> Chosen:
        """The places whose backers would lie on that of this one, itself too."""
        if number not in self._clashing:
            self._clashing[number] = self._clashes(self.seats[number])
        return self._clashing[number]

    @cached_property
    def _lying(self) -> tuple[NDArray[np.float64], NDArray[np.float64], NDArray[np.float64], Chosen]:
        seats = self.seats
        spans = np.array([seat.span for seat in seats], dtype=float).reshape(-1, 2)
        us = np.array([seat.u for seat in seats], dtype=float)
        return us, spans, np.array([seat.width for seat in seats], dtype=float), np.array([s.lean != 0 for s in seats])

    def _clashes(self, seat: Seat) -> Chosen:
        us, spans, widths, lean = self._lying
        over = (spans[:, 0] < seat.span[1]) & (seat.span[0] < spans[:, 1])
        clash: Chosen = over & (np.abs(us - seat.u) < (widths + seat.width) / 2)
        # a leaning board's corners reach past its span
        for other in np.flatnonzero(lean | (seat.lean != 0)).tolist():
            clash[other] = self.seats[other].overlaps(seat)
        return clash

    def screwed(self, number: int) -> Screwed:
        """The drives of a place, looked for once."""
        if number not in self._screwed:
            seat = self.seats[number]
            if seat not in self.known:
                self.known[seat] = screwed_at(self.timber, seat, self.limits)
            self._screwed[number] = self.known[seat]
        return self._screwed[number]


def usual_screws(timber: Timber) -> int:
    """How many screws a crossing of the tile has."""
    return max(Counter((s.slat, s.backer) for s in timber.tile.screws).values())


def screwed_at(timber: Timber, seat: Seat, limits: Distances) -> Screwed:
    """The drives of a seat and what they take."""
    drives, rules = drives_at(timber, seat, limits), timber.rules
    fresh = [drive for drive in drives if drive.screw is None]
    count = Counter(drive.fragment for drive in drives)
    minutes = sum(rules.rate_screw_new if drive.predrilled else rules.rate_screw_in for drive in fresh)
    missing = 0
    if seat.state == "open":
        full = min(backer.width for backer in timber.tile.backers)
        minutes += rules.rate_backer + len(drives) * rules.rate_screw_out  # its wood is unscrewed somewhere
        minutes += rules.rate_table_saw * (seat.width < full) + rules.rate_mark * (seat.lean != 0)
        usual = usual_screws(timber)
        missing = sum(
            max(0, usual - count[number])
            for number, fragment in enumerate(timber.fragments)
            if count[number] < usual and crossing(timber, fragment, seat) is not None
        )
    return Screwed(
        drives=drives,
        minutes=minutes,
        missing=missing,
        held=frozenset(count),
        screws=tuple(count[number] for number in range(len(timber.fragments))),
    )
