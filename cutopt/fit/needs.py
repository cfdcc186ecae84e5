"""What a set of backers still lacks to hold a piece together, and where a backer would mend it."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field
from functools import cached_property
from itertools import pairwise

from cutopt.fit.records import Fault, Seat
from cutopt.fit.timber import Timber

FEWEST = 2  # backers under a piece, and screws in a fragment; common practice, no source
EVERYWHERE = (-math.inf, math.inf)
LONG_BAY = "slat {slat} would have {size:.0f} mm between two backers"
FAR_OUT = "slat {slat} would end {size:.0f} mm past its last backer"
NOT_NEAR = "no backer can hold slat {slat} within {size:.0f} mm of its end at {at:.0f} mm"


@dataclass(frozen=True, kw_only=True, slots=True)
class Need:
    """A rule that is broken, and what mends it.

    A backer that holds fragment number `fragment`, with its centre line `between` two places along it, or reaching to
    between them with an edge where `by_edge`; or, where `fragment` is None, one that holds a fragment outside `known`.
    `lacking`: how many more backers it wants at least.
    """

    fault: Fault
    fragment: int | None = None
    between: tuple[float, float] = EVERYWHERE
    by_edge: bool = False
    known: frozenset[int] = frozenset()
    lacking: int = 1

    @property
    def rule(self) -> str:
        """The rule that is broken."""
        return self.fault.rule

    def held(self, fragments: frozenset[int]) -> bool:
        """Whether a backer that holds these fragments would do."""
        return self.fragment in fragments if self.fragment is not None else bool(fragments - self.known)

    def mended(self, hold: Hold) -> bool:
        """Whether a backer that holds the fragments so does."""
        if self.fragment is None:
            return any(count for number, count in enumerate(hold.screws) if number not in self.known)
        u, low, high = hold.lying[self.fragment]
        least, most = self.between
        there = low <= most and high >= least if self.by_edge else least < u < most
        return there and hold.screws[self.fragment] > 0


@dataclass(frozen=True, kw_only=True, slots=True)
class Hold:
    """How many screws a backer has in each fragment, and where it lies at each fragment's middle: its centre line and
    its edges.

    `mask`: a bit for each fragment that it holds.
    """

    screws: tuple[int, ...]
    lying: tuple[tuple[float, float, float], ...]
    mask: int


def hold_of(timber: Timber, seat: Seat, screws: tuple[int, ...]) -> Hold:
    """How a seat with so many screws in each fragment holds them."""
    half = seat.width * seat.slant / 2
    if seat.lean:
        middles = [seat.u_at((v0 + v1) / 2) for _, v0, _, v1 in timber.fragment_extents]
        lying = tuple((u, u - half, u + half) for u in middles)
    else:
        lying = ((float(seat.u), seat.u - half, seat.u + half),) * len(screws)
    mask = sum([1 << number for number, count in enumerate(screws) if count])
    return Hold(screws=screws, lying=lying, mask=mask)


@dataclass(frozen=True, kw_only=True)
class Holding:
    """What holds the fragments of one piece together."""

    timber: Timber
    _loose: dict[tuple[int, int], Need] = field(default_factory=dict)
    _far: dict[tuple[int, float, tuple[float, float]], Need] = field(default_factory=dict)

    @cached_property
    def _fragments(self) -> tuple[tuple[int, float, float, bool], ...]:
        """Of each fragment: its slat, its ends, and whether it is short."""
        short = self.timber.rules.short_fragment
        return tuple(
            (fragment.slat, u0, u1, u1 - u0 < short)
            for fragment, (u0, _, u1, _) in zip(self.timber.fragments, self.timber.fragment_extents, strict=True)
        )

    @cached_property
    def _bay(self) -> int:
        return self.timber.tile.longest_bay

    @cached_property
    def _both_ends(self) -> float:
        """A fragment longer than this has no backer that is near both its ends, however it leans."""
        return 2 * self.timber.overhang + 4 * max(backer.width for backer in self.timber.tile.design.backers)

    @cached_property
    def end_needs(self) -> list[Need]:
        """A backer near each end of each fragment, which every way of hanging the piece has."""
        most = self.timber.overhang
        needs = []
        for number, (slat, u0, u1, _) in enumerate(self._fragments):
            for end, between in ((u0, (-math.inf, u0 + most)), (u1, (u1 - most, math.inf))):
                fault = Fault(rule="longest_overhang", words=NOT_NEAR, slat=slat, size=most, at=end)
                needs.append(Need(fault=fault, fragment=number, between=between, by_edge=True))
        return needs

    def needs(self, holds: Sequence[Hold]) -> tuple[Need, ...]:
        """What the backers lack: each fragment's hold first, then that all is one whole. Empty where nothing is."""
        needs: list[Need] = []
        most, bay = self.timber.overhang, self._bay
        for number, (slat, u0, u1, short) in enumerate(self._fragments):
            us, screws, first, last = _held(number, holds)
            if screws < FEWEST or (len(us) < FEWEST and not short):
                needs.append(self._held_loosely(number, len(us)))
                continue
            if first - u0 > most:
                needs.append(self._near_end(number, first - u0, (-math.inf, u0 + most)))
            if u1 - last > most:
                needs.append(self._near_end(number, u1 - last, (u1 - most, math.inf)))
            us.sort()
            for low, high in pairwise(us):
                if high - low > bay:
                    fault = Fault(rule="longest_bay", words=LONG_BAY, slat=slat, size=high - low)
                    more = math.ceil((high - low) / bay) - 1
                    needs.append(Need(fault=fault, fragment=number, between=(low, high), lacking=more))
        if not needs and len(holds) < FEWEST:
            needs.append(Need(fault=Fault(rule="fragment_held", words="it would hang on a single backer")))
        return tuple(needs) or self._apart(holds)

    def _held_loosely(self, number: int, count: int) -> Need:
        """A fragment that lacks backers or screws, held on so many backers."""
        found = self._loose.get((number, count))
        if found is None:
            slat, u0, u1, short = self._fragments[number]
            words = f"slat {{slat}} would be held on {count} backer{'s' * (count != 1)}"
            fault = Fault(rule="fragment_held", words=words, slat=slat)
            lacking = 1 if short else max(FEWEST - count, 1)
            found = Need(fault=fault, fragment=number, between=(u0, u1), lacking=lacking)
            self._loose[number, count] = found
        return found

    def _near_end(self, number: int, past: float, between: tuple[float, float]) -> Need:
        key = number, past, between
        found = self._far.get(key)
        if found is None:
            fault = Fault(rule="longest_overhang", words=FAR_OUT, slat=self._fragments[number][0], size=past)
            found = self._far[key] = Need(fault=fault, fragment=number, between=between, by_edge=True)
        return found

    def _apart(self, holds: Sequence[Hold]) -> tuple[Need, ...]:
        """Where not all is one whole: what ties the first fragment's group to another."""
        mine = next((group for group in _groups(holds) if group & 1), 1)
        numbers = range(len(self._fragments))
        others = sorted(self._fragments[number][0] for number in numbers if not mine >> number & 1)
        if not others:
            return ()
        fault = Fault(rule="one_whole", words="nothing would tie slat {slat} to the rest", slat=others[0])
        return (Need(fault=fault, known=frozenset(number for number in numbers if mine >> number & 1)),)

    def lacking(self, needs: Sequence[Need], holds: Sequence[Hold]) -> tuple[int, int]:
        """How many backers more, and crossings of these with fragments, these needs take at least.

        Each fragment that lacks something is crossed by another backer: by more where it wants more, has more
        long bays, or lacks one near both its ends and is too long for one. A backer that crosses so many fragments
        ties so many groups at most, and each one that counts for anything crosses two.
        """
        bays: dict[int, int] = {}
        ends: dict[int, int] = {}
        backers: dict[int, int] = {}
        for need in needs:
            number = need.fragment
            if number is None:
                continue
            if need.rule == "longest_bay":
                bays[number] = bays.get(number, 0) + need.lacking
            elif need.rule == "longest_overhang":
                _, u0, u1, _ = self._fragments[number]
                ends[number] = 2 if number in ends and u1 - u0 > self._both_ends else 1
            backers[number] = max(backers.get(number, 0), need.lacking, bays.get(number, 0), ends.get(number, 0))
        most = max(backers.values(), default=1)
        every = len(self._fragments)
        tied = _groups(holds)
        groups = len(tied) + every - sum([group.bit_count() for group in tied])
        return most, max(sum(backers.values()), min(2, every) * most, groups - 1 + most)


def _held(number: int, holds: Sequence[Hold]) -> tuple[list[float], int, float, float]:
    """Where a fragment is held along, by how many screws in all, and the first and last edge of what holds it."""
    us: list[float] = []
    screws, first, last, bit = 0, math.inf, -math.inf, 1 << number
    for hold in holds:
        if hold.mask & bit:
            u, low, high = hold.lying[number]
            screws += hold.screws[number]
            us.append(u)
            if low < first:
                first = low
            if high > last:
                last = high
    return us, screws, first, last


def _groups(holds: Sequence[Hold]) -> list[int]:
    """The wholes that screws and backers tie fragments to, each as a mask of fragments; those held nowhere in none."""
    groups: list[int] = []
    for hold in holds:
        mine, apart = hold.mask, []
        for group in groups:
            if group & mine:
                mine |= group
            else:
                apart.append(group)
        groups = [*apart, mine] if mine else apart
    return groups
