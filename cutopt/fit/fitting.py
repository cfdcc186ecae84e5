"""Whether a piece can be made at a place on a tile, and the least work that makes it."""

from __future__ import annotations

from dataclasses import replace

from cutopt.fit.fastening import Fastening
from cutopt.fit.places import Places
from cutopt.fit.probing import distances
from cutopt.fit.rates import sharing, starting
from cutopt.fit.records import Fault, Fit, Refusal
from cutopt.fit.searching import SAME, Bench, Search, hopeless
from cutopt.fit.seats import all_seats, kept_seats, usual_seats
from cutopt.fit.sharing import shares
from cutopt.fit.timber import Timber
from cutopt.fit.turning import View, view_of
from cutopt.fit.widths import neck
from cutopt.geometry import Ring, extent
from cutopt.rules import Rules
from cutopt.tile import Tile

# what sharing the last two slats can mend
NARROW_FAULTS = ("fragment_least", "fragment_held", "longest_overhang", "wall_face_past_bearing")
TOO_NARROW = "slat {slat} would be left {size:.1f} mm wide, too narrow to hold a screw"
LOOKS_MORE = 30  # states looked at among all places for less work than the usual ones take
LOOKS_ANEW = 50  # and where the usual ones do not do: what is not found by then is refused


def fit(outline: Ring, tile: Tile, rules: Rules, holes: tuple[Ring, ...] = (), mark: int = 320) -> Fit | Refusal:
    """The carpentry of a piece whose ring lies on a tile, both in the tile frame, ticks.

    `holes` are rings cut out of its inside, clockwise; `mark` is the finest mark. Where a rip leaves a fragment that
    cannot be held, the last two slats share. Mirror images of a piece on mirrored tiles get mirrored answers.
    """
    view = view_of(tile, outline, holes)
    return seen_back(fit_in(view, rules, view.ring(outline), view.rings(holes), mark), view)


def seen_back(answer: Fit | Fault, view: View) -> Fit | Refusal:
    """What was worked out in a view, as the piece was given."""
    return view.back(answer) if isinstance(answer, Fit) else view.said(answer)


def fit_in(view: View, rules: Rules, outline: Ring, holes: tuple[Ring, ...], mark: int) -> Fit | Fault:
    """The carpentry of a piece as it is seen in a view, worked out there."""
    timber = Timber(tile=view.tile, rules=rules, outline=outline, holes=holes, mark=mark, view=view)
    answer = _fit(timber)
    starts = starting(rules, len(holes))
    if isinstance(answer, Fault) and answer.rule in NARROW_FAULTS:
        for share in shares(timber.outline, timber.ripped, timber.tile, rules):
            shared = _fit(replace(timber, share=share))
            if isinstance(shared, Fit):
                return replace(shared, share=share, minutes=shared.minutes + sharing(rules) + starts)
            answer = replace(answer, sure=answer.sure and shared.sure)
    return replace(answer, minutes=answer.minutes + starts) if isinstance(answer, Fit) else answer


def _fit(timber: Timber) -> Fit | Fault:
    """The usual places first; all of them where these do not do, or where a backer hung elsewhere may take less work.

    Places close behind a cut are looked at only where no place off it does.
    """
    narrow = _too_narrow(timber)
    if narrow is not None:
        return narrow
    rules = timber.rules
    fastening = Fastening(timber=timber, limits=distances(timber.tile.design, rules))
    usual = Places(fastening=fastening, seats=usual_seats(timber))
    bench = Bench.of(usual, kept_seats(timber))
    search = Search(places=usual, bench=bench)
    answer = hopeless([usual], bench) or search.least()
    # in a rectangle every place has the same ends, so that nowhere fewer holes are bored
    holes = search.holes if timber.rectangular else 0.0
    if isinstance(answer, Fit) and not search.spent and search.worth <= bench.with_hung() + holes + SAME:
        return answer
    if isinstance(answer, Fit):
        return _wider(_everywhere(usual, set_back=True), search)
    every = [_everywhere(usual, set_back=back) for back in (True, False)]
    fault = hopeless(every, bench)
    if fault is not None:
        return fault
    sure = True
    for places in every:
        answer = _wider(places, search)
        if isinstance(answer, Fit):
            return answer
        sure = sure and answer.sure
    return replace(answer, sure=sure)


def _everywhere(usual: Places, *, set_back: bool) -> Places:
    """The usual places and all others."""
    seats = [*usual.seats, *all_seats(usual.timber, set_back=set_back)]
    return Places(fastening=usual.fastening, seats=seats, known=usual.known)


def _wider(places: Places, search: Search) -> Fit | Fault:
    """The answer of a search among more places, for what takes less work than an earlier one found."""
    best, looks = search.best, LOOKS_ANEW if search.best is None else LOOKS_MORE
    return Search(places=places, bench=search.bench, best=best, worth=search.worth, most_looks=looks).least()


def _too_narrow(timber: Timber) -> Fault | None:
    """A fragment that is too narrow all over, or has a neck."""
    least = timber.rules.fragment_least
    for fragment in timber.fragments:
        _, v0, _, v1 = extent(fragment.outline)
        plain = len(fragment.outline) == 4 and not fragment.holes and all(v in (v0, v1) for _, v in fragment.outline)
        # four corners on the slat's edges: as wide as the slat somewhere in each stretch of it
        width = v1 - v0 if v1 - v0 < least else None if plain else neck(fragment, least)
        if width is not None:
            return Fault(rule="fragment_least", words=TOO_NARROW, slat=fragment.slat, size=width)
    return None
