"""What a set of backers still lacks to hold a piece together, and where a backer would mend it."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from cutopt.fit.records import Fragment, Seat
from cutopt.fit.timber import Timber
from cutopt.tile import Tile

FEWEST = 2  # backers under a piece, and screws in a fragment; common practice, no source
EVERYWHERE = (-math.inf, math.inf)


@dataclass(frozen=True, kw_only=True, slots=True)
class Need:
    """A rule that is broken, in words, and what mends it.

    A backer that holds fragment number `fragment`, with its centre line `between` two places along it, or reaching to
    between them with an edge where `by_edge`; or, where `fragment` is None, one that holds a fragment outside `known`.
    """

    rule: str
    why: str
    fragment: int | None = None
    between: tuple[float, float] = EVERYWHERE
    by_edge: bool = False
    known: frozenset[int] = frozenset()

    def held(self, fragments: frozenset[int]) -> bool:
        """Whether a backer that holds these fragments would do."""
        return self.fragment in fragments if self.fragment is not None else bool(fragments - self.known)


@dataclass(frozen=True, kw_only=True, slots=True)
class Hold:
    """A seat and how many screws it has in which fragment."""

    seat: Seat
    screws: tuple[int, ...]


def needs_of(timber: Timber, holds: Sequence[Hold]) -> tuple[Need, ...]:
    """What the seats lack: each fragment's hold first, then that all is one whole. Empty where nothing is."""
    needs: list[Need] = []
    for number, fragment in enumerate(timber.fragments):
        needs += _of_fragment(timber, number, fragment, [(h.seat, h.screws[number]) for h in holds if h.screws[number]])
    if not needs and len(holds) < FEWEST:
        needs.append(Need(rule="fragment_held", why="it would hang on a single backer"))
    return tuple(needs) or _apart(timber, holds)


def _of_fragment(timber: Timber, number: int, fragment: Fragment, held: list[tuple[Seat, int]]) -> list[Need]:
    """What one fragment lacks: backers and screws, a backer near its ends, one within a long bay."""
    u0, v0, u1, v1 = timber.fragment_extents[number]
    middle = (v0 + v1) / 2
    short = u1 - u0 < timber.rules.short_fragment
    if sum(screws for _, screws in held) < FEWEST or (len(held) < FEWEST and not short):
        why = f"slat {fragment.slat} would be held on {len(held)} backer{'s' * (len(held) != 1)}"
        return [Need(rule="fragment_held", why=why, fragment=number, between=(u0, u1))]
    most = max(timber.rules.longest_overhang, own_overhang(timber.tile))
    reach = [(seat.u_at(middle), seat.width * seat.slant / 2) for seat, _ in held]
    first, last = min(u - half for u, half in reach), max(u + half for u, half in reach)
    needs = []
    for past, between in ((first - u0, (-math.inf, u0 + most)), (u1 - last, (u1 - most, math.inf))):
        if past > most:
            why = f"slat {fragment.slat} would end {past / 320:.0f} mm past its last backer"
            needs.append(Need(rule="longest_overhang", why=why, fragment=number, between=between, by_edge=True))
    bay = timber.tile.longest_bay
    for low, high in pairwise(sorted(u for u, _ in reach)):
        if high - low > bay:
            why = f"slat {fragment.slat} would have {(high - low) / 320:.0f} mm between two backers"
            needs.append(Need(rule="longest_bay", why=why, fragment=number, between=(low, high)))
    return needs


def end_needs(timber: Timber) -> list[Need]:
    """A backer near each end of each fragment, which every way of hanging the piece has."""
    most = max(timber.rules.longest_overhang, own_overhang(timber.tile))
    needs = []
    for number, fragment in enumerate(timber.fragments):
        u0, _, u1, _ = timber.fragment_extents[number]
        for end, between in ((u0, (-math.inf, u0 + most)), (u1, (u1 - most, math.inf))):
            why = f"no backer can hold slat {fragment.slat} within {most / 320:.0f} mm of its end at {end / 320:.0f} mm"
            needs.append(Need(rule="longest_overhang", why=why, fragment=number, between=between, by_edge=True))
    return needs


def own_overhang(tile: Tile) -> int:
    """How far the uncut tile's slats reach past their last backer."""
    first = min(tile.backers, key=lambda b: b.u)
    last = max(tile.backers, key=lambda b: b.u)
    return max(first.u - first.width // 2, tile.length - last.u - last.width // 2)


def _apart(timber: Timber, holds: Sequence[Hold]) -> tuple[Need, ...]:
    """Fragments and backers tied by screws are one whole; else what ties the first fragment's group to another."""
    group = list(range(len(timber.fragments)))
    for hold in holds:
        held = [number for number, screws in enumerate(hold.screws) if screws]
        for number in held[1:]:
            old, new = group[number], group[held[0]]
            group = [new if g == old else g for g in group]
    mine = frozenset(number for number, g in enumerate(group) if g == group[0])
    others = sorted(timber.fragments[number].slat for number in range(len(group)) if number not in mine)
    if not others:
        return ()
    return (Need(rule="one_whole", why=f"nothing would tie slat {others[0]} to the rest", known=mine),)
