"""Whether a piece can be made at a place on a tile, and the least work that makes it."""

from __future__ import annotations

from dataclasses import replace

from cutopt.fit.places import Places, Screwed
from cutopt.fit.probing import distances
from cutopt.fit.records import Fit, Refusal, Seat
from cutopt.fit.searching import Search, hopeless
from cutopt.fit.seats import all_seats, kept_seats, usual_seats
from cutopt.fit.sharing import shares
from cutopt.fit.timber import Timber, neck
from cutopt.geometry import Ring, extent
from cutopt.rules import Rules
from cutopt.tile import Tile

NARROW_FAULTS = ("fragment_least", "fragment_held", "longest_overhang")  # what sharing the last two slats can mend
WIDE_LOOKS = 30  # states looked at among all places, where there are many that hardly differ
LITTLE = 2  # backers hung: where the usual places want this many or more, all places are looked at too


def fit(outline: Ring, tile: Tile, rules: Rules, holes: tuple[Ring, ...] = (), mark: int = 320) -> Fit | Refusal:
    """The carpentry of a piece whose ring lies on a tile, both in the tile frame, ticks.

    `holes` are rings cut out of its inside, clockwise; `mark` is the finest mark. Where a rip leaves a fragment that
    cannot be held, the last two slats share.
    """
    timber = Timber(tile=tile, rules=rules, outline=outline, holes=holes, mark=mark)
    answer = _fit(timber)
    if isinstance(answer, Fit) or answer.rule not in NARROW_FAULTS:
        return answer
    for share in shares(outline, timber.ripped, tile, rules):
        shared = _fit(replace(timber, share=share))
        if isinstance(shared, Fit):
            return replace(shared, share=share, minutes=shared.minutes + rules.rate_share)
    return answer


def _fit(timber: Timber) -> Fit | Refusal:
    narrow = _too_narrow(timber)
    if narrow is not None:
        return narrow
    kept, usual = kept_seats(timber), usual_seats(timber)
    known: dict[Seat, Screwed] = {}
    limits = distances(timber)
    search = Search(places=Places(timber=timber, limits=limits, seats=usual, known=known))
    answer = search.least(kept)
    if isinstance(answer, Fit) and sum(seat.state == "open" for seat in answer.seats) < LITTLE:
        return answer
    for back in (True, False):  # close behind a cut only where no place off it does
        seats = [*usual, *all_seats(timber, set_back=back)]
        places = Places(timber=timber, limits=limits, seats=seats, known=known)
        if search.best is None and (refusal := hopeless(places, kept)) is not None:
            answer = refusal
            continue
        search = Search(places=places, best=search.best, worth=search.worth, most_looks=WIDE_LOOKS)
        answer = search.least(kept)
        if isinstance(answer, Fit):
            return answer
    return answer


def _too_narrow(timber: Timber) -> Refusal | None:
    """A fragment that is too narrow all over, or has a neck."""
    least = timber.rules.fragment_least
    for fragment in timber.fragments:
        _, v0, _, v1 = extent(fragment.outline)
        width = v1 - v0 if v1 - v0 < least else neck(fragment, least)
        if width is not None:
            return Refusal(
                rule="fragment_least",
                why=f"slat {fragment.slat} would be left {width / 320:.1f} mm wide, too narrow to hold a screw",
            )
    return None
