"""The least work that hangs a piece: branch and bound over the backers that stay and those that are hung.

A state is a set of seats. Of the faults that it has, the one that fewest places can mend is taken up, and each of those
places is tried; a state that takes as much work as the best one found is given up. Where that ends before the limit,
no set of the given places takes less work.
"""

from __future__ import annotations

import heapq
import itertools
import math
from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property

from cutopt.fit.bearing import Tipping, too_far_out
from cutopt.fit.needs import Holding, Need
from cutopt.fit.places import MOST_COUNTED, Mask, Places, Screwed, a_crossing, screwed_at
from cutopt.fit.plane import hull
from cutopt.fit.records import Drive, Fault, Fit, Seat
from cutopt.fit.standing import Footing, Standing
from cutopt.fit.timber import Timber

MOST_OPEN = 4  # wood hung anew in one piece: more is never cheaper than another cut
MOST_GONE = 2  # backers that could stay and are taken off nevertheless
GONE = 3.0  # minutes by which ways that take off a backer without need are looked at later
DEEPER = 3  # times as many states are looked at before a piece is refused, in another order
FEW = (2, 6, 1000)  # places tried for a fault, first, then, and at last all
SAME = 1e-9  # minutes: less is no difference

UNSTOOD = {
    "bearing_least": "a backer would bear on less than {size:g} mm of its support",
    "hole_wood": "no pin hole finds {size:g} mm of wood around it, clear of screws",
    "backer_past_pad": "a backer would end more than {size:g} mm past its last support",
    "face_past_bearing": "its face would reach more than {size:g} mm past what it rests on",
    "wall_face_past_bearing": "its face at the wall would reach more than {size:g} mm past what it rests on",
}

Pair = tuple[Seat, Screwed]


@dataclass(frozen=True, kw_only=True, slots=True)
class _State:
    """Backers that stay, numbers of the places where others are hung, and the places that may still be taken.

    `work`: what is minimised, without what it stands on; `gone`: backers taken off though nothing hung is in their way.
    """

    staying: tuple[Pair, ...]
    new: tuple[int, ...]
    free: Mask
    work: float
    gone: int


@dataclass(kw_only=True, slots=True)
class _Menders:
    """Places that mend the fault of a state, the one to be tried next the last in `order`; those already `tried`.

    `counts`: how many of its faults each place mends; `bound`: what any way with all of the state's backers takes at
    least; `spared`: minutes at most that are saved by backers that come off.
    """

    need: Need | None = None
    counts: bytes = b""
    order: list[int] = field(default_factory=list)
    tried: Mask = 0
    bound: float = 0.0
    spared: float = 0.0


# its rank, the backers hung (less than none), the turn, what the work is at least, the state, what is still to be tried
_Entry = tuple[float, int, int, float, _State, _Menders | None]


@dataclass(frozen=True, kw_only=True)
class Bench:
    """One piece on the bench: what holds it together, how it stands, and the backers that can stay under it."""

    holding: Holding
    standing: Standing
    kept: tuple[Pair, ...]

    @staticmethod
    def of(places: Places, kept: Sequence[Seat]) -> Bench:
        """A piece with the `kept` backers; one under a single slat of several holds nothing together, and is none."""
        timber = places.timber
        pairs = tuple((seat, screwed_at(places.fastening, seat)) for seat in kept)
        return Bench(
            holding=Holding(timber=timber),
            standing=Standing(timber=timber),
            kept=tuple(pair for pair in pairs if ties(timber, pair[1])),
        )

    @property
    def timber(self) -> Timber:
        """The piece."""
        return self.holding.timber

    @cached_property
    def out(self) -> float:
        """Minutes to take out all of the tile's screws that are in the piece, or in slats that come off to share."""
        timber, share = self.timber, self.timber.share
        off = (share.inner.id, share.outer.id) if share is not None else ()
        screws = timber.tile.screws
        under = timber.under([screw.at for screw in screws])
        return timber.rules.rate_screw_out * sum(
            screw.slat in off or there for screw, there in zip(screws, under, strict=True)
        )

    def more(self, needs: Sequence[Need], pairs: Sequence[Pair]) -> float:
        """What mending these needs takes at least: backers, and their crossings with what lacks them.

        A backer that stays may come off for it, and new screws in it with it.
        """
        backers, crossings = self.holding.lacking(needs, [screwed.hold for _, screwed in pairs])
        return backers * self.timber.rules.rate_backer + crossings * a_crossing(self.timber) - spared_at_most(pairs)

    def with_hung(self) -> float:
        """What any way takes at least in which a backer is hung: what all that stay together still lack."""
        needs = self.holding.needs([screwed.hold for _, screwed in self.kept])
        return self.out + sum(screwed.work for _, screwed in self.kept) + self.more(needs, self.kept)

    def holes(self, seats: Sequence[Seat]) -> float:
        """What boring takes at least for any of these seats beside those that stay: the first and the last stand.

        The first one reaches to near the piece's low end, as far from it as a slat may reach past it, or nearer.
        """
        u0, _, u1, _ = self.timber.extent
        every = [*(seat for seat, _ in self.kept), *seats]
        half = max(seat.width * seat.slant + abs(seat.lean) for seat in every) / 2 if every else 0.0
        most = self.timber.overhang
        least = [math.inf, math.inf]
        for seat in every:
            for way, near in enumerate((seat.u - half <= u0 + most, seat.u + half >= u1 - most)):
                if near and least[way] > 0:
                    least[way] = min(least[way], self.standing.drilled_at_least(seat))
        return sum(n for n in least if n < math.inf) * self.timber.rules.rate_hole


def ties(timber: Timber, screwed: Screwed) -> bool:
    """Whether a backer holds anything together: one under a single slat of several counts for nothing."""
    return len(screwed.held) >= min(2, len(timber.fragments))


def spared_at_most(pairs: Sequence[Pair]) -> float:
    """Minutes at most that are saved where backers that stay come off: those for new screws in them."""
    return sum(max(0.0, screwed.work) for seat, screwed in pairs if seat.backer is not None)


@dataclass(kw_only=True)
class Search:
    """One search over the places for backers of one piece, for a fit that is worth less than one found before.

    `worth`: the work of the best one. `most_looks`: states looked at; where they do not do, the search is `spent`, and
    the least work is not proven; where nothing is found by then, three times as many are looked at in another order.
    """

    places: Places
    bench: Bench
    best: Fit | None = None
    worth: float = math.inf
    most_looks: int = 60
    spent: bool = False
    _looks: int = 0
    _looked: dict[tuple[tuple[int, ...], tuple[int, ...]], tuple[Need, ...]] = field(default_factory=dict)
    _faults: Counter[str] = field(default_factory=Counter)
    _first: dict[str, Fault] = field(default_factory=dict)

    @property
    def timber(self) -> Timber:
        """The piece."""
        return self.places.timber

    def least(self) -> Fit | Fault:
        """The fit of least work with the backers that stay, and others hung at some of the places; else the fault."""
        starts = sorted(self._starts(), key=lambda s: (s.gone, s.work))
        self._best_first(starts)
        if self.spent and self.best is None:
            self._dive(starts)
        if self.best is not None:
            return replace(self.best, least=not self.spent)
        rule = max(self._faults, key=lambda r: (self._faults[r], r), default="fragment_held")
        fault = self._first.get(rule, Fault(rule=rule, words="no backers can be hung that hold it together"))
        return replace(fault, sure=not self.spent)

    def _starts(self) -> Iterator[_State]:
        """All backers that can stay, and fewer of them: one in the way of a better one is taken off."""
        pairs, out = self.bench.kept, self.bench.out
        most = MOST_GONE if len(pairs) <= MOST_OPEN + 1 else 1
        free = self.places.every
        for gone in range(min(most, len(pairs)) + 1):
            for staying in itertools.combinations(pairs, len(pairs) - gone):
                work = out + sum(screwed.work for _, screwed in staying)
                yield _State(staying=staying, new=(), free=free, work=work, gone=gone)

    def _pairs(self, state: _State) -> list[Pair]:
        new = [(self.places.seats[number], self.places.screwed(number)) for number in state.new]
        return sorted((*state.staying, *new), key=lambda pair: (pair[0].u, pair[0].span))

    def _best_first(self, starts: Sequence[_State]) -> None:
        """Look at states in the order of the work that they take at least, those with backers taken off later.

        Of equals, the one with most backers hung. What mends a state is taken up one place at a time. Nothing is given
        up but what takes no less work than the best one.
        """
        count = itertools.count()
        heap = [self._entry(next(count), state, state.work + self.holes, None) for state in starts]
        heapq.heapify(heap)
        while heap and not self.spent:
            _, _, _, bound, state, menders = heapq.heappop(heap)
            if bound >= self.worth - SAME:
                continue
            if menders is None:
                menders = self._menders_of(state)
                bound = max(bound, menders.bound)
            else:
                child = self._child(state, menders)
                if child is not None:
                    least = max(bound, child.work + self.holes)
                    heapq.heappush(heap, self._entry(next(count), child, least, None))
            if menders.order:
                least = state.work + self.places.at_least[menders.order[-1]] - menders.spared + self.holes
                heapq.heappush(heap, self._entry(next(count), state, max(bound, least), menders))

    def _entry(self, turn: int, state: _State, bound: float, menders: _Menders | None) -> _Entry:
        return bound + GONE * state.gone, -len(state.new), turn, bound, state, menders

    def _dive(self, starts: Sequence[_State]) -> None:
        """Follow the places that mend most, few for each fault, so that one poor choice does not take up all looks."""
        self.spent, self.most_looks = False, self._looks + DEEPER * self.most_looks
        for widest in FEW:
            for state in starts:
                self._explore(state, widest)
        self.spent = True

    def _explore(self, state: _State, widest: int) -> None:
        if self.spent or state.work + self.holes >= self.worth - SAME:
            return
        menders = self._menders_of(state)
        menders.order.sort(key=lambda n: (menders.counts[n], -self.places.at_least[n], -n))
        while menders.order and widest > 0 and menders.bound < self.worth - SAME:
            child = self._child(state, menders)
            if child is not None:
                widest -= 1
                self._explore(child, widest)

    @cached_property
    def holes(self) -> float:
        """What boring takes at least."""
        return self.bench.holes(self.places.seats)

    def _menders_of(self, state: _State) -> _Menders:
        """The places that mend the fault that fewest places can mend; none where it lacks nothing or too much."""
        pairs = self._pairs(state)
        needs = self._look(state, pairs)
        if not needs or len(state.new) >= MOST_OPEN:
            return _Menders()
        places = self.places
        every = [places.menders(need) for need in needs]
        free = [mask & state.free for mask in every]
        first = min(range(len(free)), key=lambda n: free[n].bit_count())
        counts = places.counts(sum(every[:MOST_COUNTED]))
        return _Menders(
            need=needs[first],
            counts=counts,
            order=places.in_order(free[first], counts),
            bound=state.work + self.bench.more(needs, pairs) + self.holes,
            spared=spared_at_most(pairs),
        )

    def _child(self, state: _State, menders: _Menders) -> _State | None:
        """The state with the next of the places hung, None where that mends nothing or takes too much work."""
        places, number = self.places, menders.order.pop()
        menders.tried |= places.mask(number)
        if state.work + places.at_least[number] - menders.spared + self.holes >= self.worth - SAME:
            return None
        screwed = places.screwed(number)
        if menders.need is None or not ties(self.timber, screwed) or not menders.need.held(screwed.held):
            return None
        seat = places.seats[number]
        off = [pair for pair in state.staying if pair[0].overlaps(seat)]
        work = state.work + screwed.work - sum(pair[1].work for pair in off)
        if work + self.holes >= self.worth - SAME:
            return None
        # places that come later may still be hung beside this one; those before it were tried with it
        beside = state.free & ~(places.clashing(number) | menders.tried)
        staying = tuple(pair for pair in state.staying if pair not in off) if off else state.staying
        return _State(staying=staying, new=(*state.new, number), free=beside, work=work, gone=state.gone)

    def _look(self, state: _State, pairs: Sequence[Pair]) -> tuple[Need, ...]:
        """What a state lacks; where it lacks nothing, the fit is noted."""
        key = tuple(id(screwed) for _, screwed in state.staying), state.new
        if key in self._looked:
            return self._looked[key]
        if self._looks >= self.most_looks:
            self.spent = True
            return ()
        self._looks += 1
        needs = self.bench.holding.needs([screwed.hold for _, screwed in pairs])
        if not needs:
            need = self._stand(pairs, state.work)
            needs = (need,) if need is not None else ()
        if needs:
            self._faults[needs[0].rule] += 1
            self._first.setdefault(needs[0].rule, needs[0].fault)
        self._looked[key] = needs
        return needs

    def _stand(self, pairs: Sequence[Pair], work: float) -> Need | None:
        """Note the fit that these backers are, if it takes less work than the best one; else what it lacks to stand."""
        found = self.bench.standing.stood(pairs)
        if isinstance(found, Tipping):
            return self._unstood(found)
        rules = self.timber.rules
        worth = work + (found.drilled + found.alone) * rules.rate_hole
        if worth < self.worth - SAME:
            missing = sum(screwed.missing for seat, screwed in pairs if seat.state == "open")
            minutes = work - missing * (rules.rate_screw_in + rules.rate_screw_out) + found.drilled * rules.rate_hole
            self.worth = worth
            self.best = _fit(self.timber, pairs, found, round(abs(minutes), 9))
        return None

    def _unstood(self, fault: Tipping) -> Need:
        """What mends a fault of standing: a backer close to the corner of the face that is too far out; else any."""
        said = unstood(fault.rule, self.timber)
        corner, fragments = fault.corner, self.timber.fragments
        if corner is None:
            return Need(fault=said)
        u, most = corner[0], self.timber.rules.wall_face_past_bearing
        near = min(range(len(fragments)), key=lambda n: min(math.dist(corner, p) for p in fragments[n].outline))
        return Need(fault=said, fragment=near, between=(u - most, u + most), by_edge=True)


def unstood(rule: str, timber: Timber) -> Fault:
    """A rule on standing that is broken."""
    return Fault(rule=rule, words=UNSTOOD[rule], size=getattr(timber.rules, rule))


def _fit(timber: Timber, pairs: Sequence[Pair], found: Footing, minutes: float) -> Fit:
    drives: tuple[tuple[Drive, ...], ...] = tuple(screwed.drives for _, screwed in pairs)
    return Fit(
        fragments=timber.fragments,
        seats=tuple(seat for seat, _ in pairs),
        drives=drives,
        stands=found.stands,
        minutes=minutes,
    )


def hopeless(every: Sequence[Places], bench: Bench) -> Fault | None:
    """What stops every way: some end of a fragment that none of the backers can hold, whatever the others are.

    Or a corner of the face that is too far out though the piece rested on all of all the backers.
    """
    timber = bench.timber
    for need in bench.holding.end_needs:
        if not any(need.mended(screwed.hold) for _, screwed in bench.kept) and not any(
            places.held_at_all(need) for places in every
        ):
            return need.fault
    seats = [*(seat for seat, _ in bench.kept), *(seat for places in every for seat in places.tying)]
    far = too_far_out(timber, hull([corner for seat in _outermost(seats) for corner in seat.corners]))
    return unstood(far.rule, timber) if far is not None else None


def _outermost(seats: Iterable[Seat]) -> list[Seat]:
    """Those of some seats that can bound what all of them cover: of straight ones alike across the first and last."""
    bounding: list[Seat] = []
    rows: dict[tuple[int, tuple[int, int]], list[Seat]] = {}
    for seat in seats:
        if seat.lean:
            bounding.append(seat)
        else:
            rows.setdefault((seat.width, seat.span), []).append(seat)
    for row in rows.values():
        bounding += [min(row, key=lambda seat: seat.u), max(row, key=lambda seat: seat.u)]
    return bounding
