"""The least work that hangs a piece: branch and bound over the backers that stay and those that are hung.

A state is a set of seats. Of the faults that it has, the one that fewest places can mend is taken up, and each of those
places is tried; a state that takes as much work as the best one found is given up. Where that ends before the limit,
no set of the given places takes less work.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property
from itertools import combinations

import numpy as np

from cutopt.fit.bearing import Tipping
from cutopt.fit.needs import Hold, Need, end_needs, needs_of
from cutopt.fit.places import Chosen, Places, Screwed, screwed_at
from cutopt.fit.records import Drive, Fit, Refusal, Seat, Stand
from cutopt.fit.standing import Hung, stood
from cutopt.fit.timber import Timber
from cutopt.geometry import NEAR, Ring
from cutopt.tile import Point

MOST_OPEN = 4  # wood hung anew in one piece: more is never cheaper than another cut
MOST_GONE = 2  # backers that could stay and are taken off nevertheless

UNSTOOD = {
    "bearing_least": "a backer would bear on less than {mm:g} mm of its support",
    "hole_wood": "no pin hole finds {mm:g} mm of wood around it, clear of screws",
    "backer_past_pad": "a backer would end more than {mm:g} mm past its last support",
    "face_past_bearing": "its face would reach more than {mm:g} mm past what it rests on",
    "wall_face_past_bearing": "its face at the wall would reach more than {mm:g} mm past what it rests on",
}

Pair = tuple[Seat, Screwed]


@dataclass(frozen=True, kw_only=True, slots=True)
class _State:
    """Backers that stay, numbers of the places where others are hung, and the places that may still be taken."""

    staying: tuple[Pair, ...]
    new: tuple[int, ...]
    free: Chosen


@dataclass(kw_only=True)
class Search:
    """One search over the places for backers of one piece, for a fit that is worth less than one found before.

    `worth`: the work of the best one. `most_looks`: states looked at; where they do not do, the search is `spent`, and
    the least work is not proven.
    """

    places: Places
    best: Fit | None = None
    worth: float = math.inf
    most_looks: int = 60
    spent: bool = False
    _looks: int = 0
    _faults: Counter[str] = field(default_factory=Counter)
    _why: dict[str, str] = field(default_factory=dict)

    @property
    def timber(self) -> Timber:
        """The piece."""
        return self.places.timber

    def least(self, kept: Sequence[Seat]) -> Fit | Refusal:
        """The fit of least work with the `kept` backers, and others hung at some of the places; else the refusal."""
        for state in sorted(self._starts(kept), key=self._work):
            self._explore(state)
        if self.best is not None:
            return replace(self.best, least=not self.spent)
        rule = max(self._faults, key=lambda r: (self._faults[r], r), default="fragment_held")
        return Refusal(rule=rule, why=self._why.get(rule, f"no way found to hang its backers within the rule {rule}"))

    def _starts(self, kept: Sequence[Seat]) -> Iterator[_State]:
        """All backers that can stay, and fewer of them: one in the way of a better one is taken off."""
        pairs = [(seat, screwed_at(self.timber, seat, self.places.limits)) for seat in kept]
        pairs = [pair for pair in pairs if self._ties(pair[1])]
        most = MOST_GONE if len(pairs) <= MOST_OPEN + 1 else 1
        free = np.ones(len(self.places.seats), dtype=bool)
        for gone in range(min(most, len(pairs)) + 1):
            for staying in combinations(pairs, len(pairs) - gone):
                yield _State(staying=staying, new=(), free=free)

    def _ties(self, screwed: Screwed) -> bool:
        """Whether a backer holds anything together: one under a single slat of several counts for nothing."""
        return len(screwed.held) >= min(2, len(self.timber.fragments))

    def _pairs(self, state: _State) -> list[Pair]:
        new = [(self.places.seats[number], self.places.screwed(number)) for number in state.new]
        return sorted((*state.staying, *new), key=lambda pair: (pair[0].u, pair[0].span))

    def _explore(self, state: _State) -> None:
        """Look at a state and at what mends it, unless it takes more work than the best one so far."""
        work = self._work(state)
        if work >= self.worth:
            return
        if self._looks >= self.most_looks:
            self.spent = True
            return
        self._looks += 1
        pairs = self._pairs(state)
        needs = needs_of(self.timber, [Hold(seat=seat, screws=screwed.screws) for seat, screwed in pairs])
        if not needs:
            need = self._stand(pairs, work)
            if need is None:
                return
            needs = (need,)
        self._faults[needs[0].rule] += 1
        self._why.setdefault(needs[0].rule, needs[0].why)
        if len(state.new) < MOST_OPEN and work + self._cheapest < self.worth:
            for child in self._mended(state, work, needs):
                self._explore(child)

    @cached_property
    def _cheapest(self) -> float:
        """What one more backer takes at least: itself, and a screw in each of two slats."""
        rules = self.timber.rules
        return rules.rate_backer + 2 * (rules.rate_screw_out + rules.rate_screw_in)

    def _stand(self, pairs: Sequence[Pair], work: float) -> Need | None:
        """Note the fit that these backers are, if it takes less work than the best one; else what it lacks to stand."""
        stands, fault = stood(self.timber, _hung(self.timber, pairs))
        if fault is not None:
            return self._unstood(fault)
        holes = sum(stand.state == "drilled" for stand in stands) * self.timber.rules.rate_hole
        worth = work + holes + sum(map(self._alone, stands)) * self.timber.rules.rate_hole
        if worth < self.worth:
            self.worth = worth
            self.best = _fit(self.timber, pairs, stands, self._minutes(pairs) + holes)
        return None

    def _unstood(self, fault: Tipping) -> Need:
        """What mends a fault of standing: a backer close to the corner of the face that is too far out; else any."""
        why = UNSTOOD[fault.rule].format(mm=getattr(self.timber.rules, fault.rule) / 320)
        if fault.corner is None:
            return Need(rule=fault.rule, why=why)
        u, most = fault.corner[0], self.timber.rules.wall_face_past_bearing
        near = min(
            range(len(self.timber.fragments)), key=lambda n: _off(fault.corner, self.timber.fragments[n].outline)
        )
        return Need(rule=fault.rule, why=why, fragment=near, between=(u - most, u + most), by_edge=True)

    def _alone(self, stand: Stand) -> bool:
        """Whether a stand at a factory end wants a support of its own: its hole is not where its neighbours' are."""
        tile, (u0, _, u1, _) = self.timber.tile, self.timber.extent
        inset = tile.hole_inset[0]
        if stand.toward[0] > 0:
            return u0 == 0 and stand.hole[0] < 2 * inset and abs(stand.hole[0] - inset) > NEAR
        far = tile.length - stand.hole[0]
        return u1 >= tile.length and far < 2 * inset and abs(far - inset) > NEAR

    def _mended(self, state: _State, work: float, needs: Sequence[Need]) -> Iterator[_State]:
        """The state with one more backer that mends the fault that fewest places can mend, the best mender first."""
        places = self.places
        need, menders = min(
            ((need, places.menders(need) & state.free) for need in needs), key=lambda n: int(n[1].sum())
        )
        counts = np.sum([places.menders(other) for other in needs], axis=0)
        order = sorted(np.flatnonzero(menders).tolist(), key=lambda n: (-counts[n], places.at_least[n], n))
        free = state.free & ~menders
        later = [*order]
        for number in order:
            # places that come later may still be hung beside this one; those before it were tried with it
            later.pop(0)
            if work + places.at_least[number] >= self.worth:
                continue
            screwed = places.screwed(number)
            if not self._ties(screwed) or not need.held(screwed.held):
                continue
            beside = free.copy()
            beside[later] = True
            beside &= ~places.clashing(number)
            seat = places.seats[number]
            staying = tuple(pair for pair in state.staying if not pair[0].overlaps(seat))
            yield _State(staying=staying, new=(*state.new, number), free=beside)

    def _work(self, state: _State) -> float:
        """What is minimised: the minutes, and those of screws that find no good place as if they were driven."""
        rules = self.timber.rules
        missing = sum(self.places.screwed(number).missing for number in state.new)
        return self._minutes(self._pairs(state)) + missing * (rules.rate_screw_in + rules.rate_screw_out)

    def _minutes(self, pairs: Sequence[Pair]) -> float:
        """Bench time: screws out of backers that do not stay, backers hung and ripped, screws in and new."""
        staying = sum(drive.screw is not None for _, screwed in pairs for drive in screwed.drives)
        out = (self._own_screws - staying) * self.timber.rules.rate_screw_out
        return out + sum(screwed.minutes for _, screwed in pairs)

    @cached_property
    def _own_screws(self) -> int:
        """How many of the tile's screws are in the piece."""
        u0, v0, u1, v1 = self.timber.extent
        return sum(
            u0 - screw.at[0] < NEAR and screw.at[0] < u1 and v0 <= screw.at[1] <= v1
            for screw in self.timber.tile.screws
        )


def _off(corner: Point | None, ring: Ring) -> float:
    return min(math.dist(corner, p) for p in ring) if corner else 0.0


def _hung(timber: Timber, pairs: Sequence[Pair]) -> list[Hung]:
    """The seats with the pin holes that their wood brings along: a hung one takes a bored backer's while there are."""
    spare = sorted({b.id for b in timber.tile.bored} - {seat.backer for seat, _ in pairs})
    hung = []
    for number, (seat, screwed) in enumerate(pairs):
        source = seat.backer if seat.backer is not None else (spare.pop(0) if spare else None)
        holes = tuple(hole for hole in timber.tile.pin_holes if hole.backer == source)
        if seat.backer is None:
            holes = tuple(replace(hole, at=seat.carried(hole.at, timber.backer(hole.backer))) for hole in holes)
            meat = max((hole.diameter for hole in holes), default=0) / 2 + timber.rules.hole_wood
            if any(abs(hole.at[0] - seat.u_at(hole.at[1])) / seat.slant > seat.width / 2 - meat for hole in holes):
                holes = ()  # ripped, that wood has too little left around its holes: another one is bored anew
        hung.append(Hung(number=number, seat=seat, drives=screwed.drives, holes=holes))
    return hung


def _fit(timber: Timber, pairs: Sequence[Pair], stands: tuple[Stand, ...], minutes: float) -> Fit:
    drives: tuple[tuple[Drive, ...], ...] = tuple(screwed.drives for _, screwed in pairs)
    fresh = sum(drive.predrilled for many in drives for drive in many)
    return Fit(
        fragments=timber.fragments,
        seats=tuple(seat for seat, _ in pairs),
        drives=drives,
        stands=stands,
        minutes=minutes,
        warnings=(f"new screws near an edge or end, to be predrilled: {fresh}",) if fresh else (),
    )


def hopeless(places: Places, kept: Sequence[Seat]) -> Refusal | None:
    """The refusal where some end of a fragment can be held by none of the backers, whatever the others are."""
    timber = places.timber
    stays = Places(timber=timber, limits=places.limits, seats=kept)
    for need in end_needs(timber):
        if not any(
            need.held(some.screwed(number).held)
            for some in (stays, places)
            for number in np.flatnonzero(some.menders(need)).tolist()
        ):
            return Refusal(rule=need.rule, why=need.why)
    return None
