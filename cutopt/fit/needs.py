"""What a set of backers still lacks to hold a piece together, and where a backer would mend it."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import pairwise

from cutopt.fit.records import Seat
from cutopt.fit.timber import Timber

FEWEST = 2  # backers under a piece, and screws in a fragment; common practice, no source
EVERYWHERE = (-math.inf, math.inf)


@dataclass(frozen=True, kw_only=True, slots=True)
class Need:
    """A rule that is broken, in words, and what mends it.

    A backer that holds fragment number `fragment`, with its centre line `between` two places along it, or reaching to
    between them with an edge where `by_edge`; or, where `fragment` is None, one that holds a fragment outside `known`.
    `lacking`: how many more backers it wants at least.
    """

    rule: str
    why: str
    fragment: int | None = None
    between: tuple[float, float] = EVERYWHERE
    by_edge: bool = False
    known: frozenset[int] = frozenset()
    lacking: int = 1

    def held(self, fragments: frozenset[int]) -> bool:
        """Whether a backer that holds these fragments would do."""
        return self.fragment in fragments if self.fragment is not None else bool(fragments - self.known)


@dataclass(frozen=True, kw_only=True, slots=True)
class Hold:
    """How many screws a backer has in each fragment, and where it lies at each fragment's middle: u, half its width."""

    screws: tuple[int, ...]
    middles: tuple[float, ...]
    half: float


def hold_of(timber: Timber, seat: Seat, screws: tuple[int, ...]) -> Hold:
    """How a seat with so many screws in each fragment holds them."""
    if seat.lean:
        middles = tuple(seat.u_at((v0 + v1) / 2) for _, v0, _, v1 in timber.fragment_extents)
    else:
        middles = (float(seat.u),) * len(screws)
    return Hold(screws=screws, middles=middles, half=seat.width * seat.slant / 2)


@dataclass(frozen=True, kw_only=True)
class Holding:
    """What holds the fragments of one piece together."""

    timber: Timber

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
        return 2 * self.timber.overhang + 4 * max(backer.width for backer in self.timber.tile.backers)

    def needs(self, holds: Sequence[Hold]) -> tuple[Need, ...]:
        """What the backers lack: each fragment's hold first, then that all is one whole. Empty where nothing is."""
        needs: list[Need] = []
        for number in range(len(self._fragments)):
            held = [(hold.middles[number], hold.half, hold.screws[number]) for hold in holds if hold.screws[number]]
            needs += self._of_fragment(number, held)
        if not needs and len(holds) < FEWEST:
            needs.append(Need(rule="fragment_held", why="it would hang on a single backer"))
        return tuple(needs) or self._apart(holds)

    def _of_fragment(self, number: int, held: list[tuple[float, float, int]]) -> Iterator[Need]:
        """What one fragment lacks: backers and screws, a backer near its ends, one within a long bay."""
        slat, u0, u1, short = self._fragments[number]
        if sum(screws for _, _, screws in held) < FEWEST or (len(held) < FEWEST and not short):
            why = f"slat {slat} would be held on {len(held)} backer{'s' * (len(held) != 1)}"
            lacking = 1 if short else FEWEST - len(held)
            yield Need(rule="fragment_held", why=why, fragment=number, between=(u0, u1), lacking=max(lacking, 1))
            return
        first, last = min(u - half for u, half, _ in held), max(u + half for u, half, _ in held)
        if first - u0 > self.timber.overhang:
            yield self._near_end(number, first - u0, (-math.inf, u0 + self.timber.overhang))
        if u1 - last > self.timber.overhang:
            yield self._near_end(number, u1 - last, (u1 - self.timber.overhang, math.inf))
        for low, high in pairwise(sorted(u for u, _, _ in held)):
            if high - low > self._bay:
                why = f"slat {slat} would have {(high - low) / 320:.0f} mm between two backers"
                more = math.ceil((high - low) / self._bay) - 1
                yield Need(rule="longest_bay", why=why, fragment=number, between=(low, high), lacking=more)

    def _near_end(self, number: int, past: float, between: tuple[float, float]) -> Need:
        why = f"slat {self._fragments[number][0]} would end {past / 320:.0f} mm past its last backer"
        return Need(rule="longest_overhang", why=why, fragment=number, between=between, by_edge=True)

    def _apart(self, holds: Sequence[Hold]) -> tuple[Need, ...]:
        """Where not all is one whole: what ties the first fragment's group to another."""
        group = self._groups(holds)
        mine = frozenset(number for number, g in enumerate(group) if g == group[0])
        others = sorted(self._fragments[number][0] for number in range(len(group)) if number not in mine)
        if not others:
            return ()
        return (Need(rule="one_whole", why=f"nothing would tie slat {others[0]} to the rest", known=mine),)

    def _groups(self, holds: Sequence[Hold]) -> list[int]:
        """Of each fragment, a number for the whole that screws and backers tie it to."""
        group = list(range(len(self._fragments)))
        for hold in holds:
            held = [number for number, screws in enumerate(hold.screws) if screws]
            for number in held[1:]:
                old, new = group[number], group[held[0]]
                if old != new:
                    group = [new if g == old else g for g in group]
        return group

    def lacking(self, needs: Sequence[Need], holds: Sequence[Hold]) -> tuple[int, int]:
        """How many backers more, and crossings of these with fragments, these needs take at least.

        Each fragment that lacks something is crossed by another backer: by more where it wants more, has more
        long bays, or lacks one near both its ends and is too long for one. A backer that crosses so many fragments
        ties so many groups at most, and each one that counts for anything crosses two.
        """
        backers: dict[int, int] = {}
        for number in {need.fragment for need in needs if need.fragment is not None}:
            mine = [need for need in needs if need.fragment == number]
            bays = sum(need.lacking for need in mine if need.rule == "longest_bay")
            ends = sum(need.rule == "longest_overhang" for need in mine)
            _, u0, u1, _ = self._fragments[number]
            if u1 - u0 <= self._both_ends:
                ends = min(ends, 1)
            backers[number] = max(bays, ends, *(need.lacking for need in mine))
        most = max(backers.values(), default=1)
        groups = len(set(self._groups(holds)))
        fewest = min(2, len(self._fragments))
        return most, max(sum(backers.values()), fewest * most, groups - 1 + most)


def end_needs(timber: Timber) -> list[Need]:
    """A backer near each end of each fragment, which every way of hanging the piece has."""
    most = timber.overhang
    needs = []
    for number, fragment in enumerate(timber.fragments):
        u0, _, u1, _ = timber.fragment_extents[number]
        for end, between in ((u0, (-math.inf, u0 + most)), (u1, (u1 - most, math.inf))):
            at = timber.view.u(round(end)) if timber.view else end
            why = f"no backer can hold slat {fragment.slat} within {most / 320:.0f} mm of its end at {at / 320:.0f} mm"
            needs.append(Need(rule="longest_overhang", why=why, fragment=number, between=between, by_edge=True))
    return needs
