"""Whether a piece can be made at a place on a tile, and the least work that makes it."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import combinations, pairwise

from cutopt.fit.fastening import drives_at
from cutopt.fit.probing import distances
from cutopt.fit.records import Drive, Fit, Fragment, Refusal, Seat
from cutopt.fit.seats import kept_seats, open_seats
from cutopt.fit.sharing import shares
from cutopt.fit.standing import Hung, stood
from cutopt.fit.timber import Timber
from cutopt.geometry import NEAR, Ring, extent
from cutopt.rules import Rules
from cutopt.tile import Tile

MOST_OPEN = 4  # wood hung anew in one piece: more is never cheaper than another cut
MOST_TRIES = 3000
NARROW_FAULTS = ("fragment_least", "fragment_held", "longest_overhang")  # what sharing the last two slats can mend


@dataclass(frozen=True, kw_only=True, slots=True)
class _Choice:
    """A set of seats under trial, each with its drives."""

    seats: tuple[Seat, ...]
    drives: tuple[tuple[Drive, ...], ...]


def fit(outline: Ring, tile: Tile, rules: Rules) -> Fit | Refusal:
    """The carpentry of a piece whose ring lies on a tile, both in the tile frame, ticks.

    Where a rip leaves a fragment that cannot be held, the last two slats share.
    """
    timber = Timber(tile=tile, rules=rules, outline=outline)
    answer = _fit(timber)
    if isinstance(answer, Fit) or answer.rule not in NARROW_FAULTS:
        return answer
    for share in shares(outline, timber.ripped, tile, rules):
        shared = _fit(Timber(tile=tile, rules=rules, outline=outline, share=share))
        if isinstance(shared, Fit):
            return replace(shared, share=share, minutes=shared.minutes + rules.rate_share)
    return answer


def _fit(timber: Timber) -> Fit | Refusal:
    narrow = _too_narrow(timber)
    if narrow is not None:
        return narrow
    limits = distances(timber)
    kept = [(seat, drives_at(timber, seat, limits)) for seat in kept_seats(timber)]
    hung = [(seat, drives_at(timber, seat, limits)) for seat in open_seats(timber)]
    alone = len(timber.fragments) == 1
    kept = [(s, d) for s, d in kept if _ties(d, alone)]
    hung = [(s, d) for s, d in hung if _ties(d, alone)]
    return _cheapest(timber, kept, hung)


def _too_narrow(timber: Timber) -> Refusal | None:
    least = timber.rules.fragment_least
    for fragment in timber.fragments:
        _, v0, _, v1 = extent(fragment.outline)
        if v1 - v0 < least:
            return Refusal(
                rule="fragment_least",
                why=f"slat {fragment.slat} would be left {(v1 - v0) / 320:.1f} mm wide, too narrow to hold a screw",
            )
    return None


def _ties(drives: tuple[Drive, ...], alone: bool) -> bool:
    """Whether a backer here holds anything together: one under a single slat of several counts for nothing."""
    held = {drive.fragment for drive in drives}
    return len(held) >= (1 if alone else 2)


Pair = tuple[Seat, tuple[Drive, ...]]


def _cheapest(timber: Timber, kept: list[Pair], hung: list[Pair]) -> Fit | Refusal:
    """Try sets of seats in the order of their work; the first that holds and stands is the least work."""
    best: Fit | None = None
    refused: dict[str, int] = {}
    for minutes, choice in _sets(timber, kept, hung):
        if best is not None and minutes >= best.minutes:
            break
        fault = _loose(timber, choice)
        if fault is None:
            fault, found = _stood(timber, choice, minutes)
            if found is not None and (best is None or found.minutes < best.minutes):
                best = found
        if fault is not None:
            refused[fault] = refused.get(fault, 0) + 1
    if best is not None:
        return best
    rule = max(refused, key=lambda r: (refused[r], r), default="fragment_held")
    return Refusal(rule=rule, why=f"no way found to hang its backers within the rule {rule}")


def _sets(timber: Timber, kept: list[Pair], hung: list[Pair]) -> Iterator[tuple[float, _Choice]]:
    """Sets of seats that do not lie on one another, by rising work before holes."""
    trials: list[tuple[float, int, tuple[Pair, ...]]] = []
    for few in range(min(MOST_OPEN, len(hung)) + 1):
        for new in combinations(hung, few):
            if any(a[0].overlaps(b[0]) for a, b in combinations(new, 2)):
                continue
            stay = [pair for pair in kept if not any(pair[0].overlaps(n[0]) for n in new)]
            for less in range(min(2, len(stay)) + 1):
                for gone in combinations(range(len(stay)), less):
                    chosen = (*[p for i, p in enumerate(stay) if i not in gone], *new)
                    trials.append((_minutes(timber, chosen), len(trials), chosen))
            if len(trials) > MOST_TRIES:
                break
    for minutes, _, chosen in sorted(trials, key=lambda t: t[:2]):
        ordered = sorted(chosen, key=lambda pair: (pair[0].u, pair[0].span))
        yield minutes, _Choice(seats=tuple(p[0] for p in ordered), drives=tuple(p[1] for p in ordered))


def _minutes(timber: Timber, chosen: Sequence[Pair]) -> float:
    """Bench time: screws out of backers that do not stay, backers hung, screws in and new."""
    rules = timber.rules
    staying = {drive.screw for _, drives in chosen for drive in drives if drive.screw}
    u0, v0, u1, v1 = extent(timber.outline)
    out = sum(
        1
        for s in timber.tile.screws
        if s.id not in staying and u0 - s.at[0] < NEAR and s.at[0] < u1 and v0 <= s.at[1] <= v1
    )
    fresh = [drive for _, drives in chosen for drive in drives if drive.screw is None]
    hung = sum(1 for seat, _ in chosen if seat.state == "open")
    out += sum(len(drives) for seat, drives in chosen if seat.state == "open")  # its wood is unscrewed somewhere
    return (
        out * rules.rate_screw_out
        + hung * rules.rate_backer
        + sum(rules.rate_screw_new if drive.predrilled else rules.rate_screw_in for drive in fresh)
    )


def _loose(timber: Timber, choice: _Choice) -> str | None:
    """The rule on holding together that a choice breaks, None when each fragment is held and all is one whole."""
    if not choice.seats:
        return "fragment_held"
    for number, fragment in enumerate(timber.fragments):
        held = [(s, [d for d in ds if d.fragment == number]) for s, ds in zip(choice.seats, choice.drives, strict=True)]
        fault = _fragment_fault(timber, fragment, [(s, ds) for s, ds in held if ds])
        if fault is not None:
            return fault
    return None if _one_whole(len(timber.fragments), choice.drives) else "one_whole"


def _fragment_fault(timber: Timber, fragment: Fragment, held: list[tuple[Seat, list[Drive]]]) -> str | None:
    u0, _, u1, _ = extent(fragment.outline)
    short = u1 - u0 < timber.rules.short_fragment
    if not held or sum(len(ds) for _, ds in held) < 2 or (len(held) < 2 and not short):
        return "fragment_held"
    most = max(timber.rules.longest_overhang, _own_overhang(timber.tile))
    if held[0][0].u - held[0][0].width // 2 - u0 > most or u1 - held[-1][0].u - held[-1][0].width // 2 > most:
        return "longest_overhang"
    bay = timber.tile.longest_bay
    if any(b[0].u - a[0].u > bay for a, b in pairwise(held)):
        return "longest_bay"
    return None


def _own_overhang(tile: Tile) -> int:
    first = min(tile.backers, key=lambda b: b.u)
    return first.u - first.width // 2


def _one_whole(fragments: int, drives: Sequence[tuple[Drive, ...]]) -> bool:
    """Whether fragments and backers tied by screws are one whole."""
    group = list(range(fragments))
    for at in drives:
        held = sorted({drive.fragment for drive in at})
        for number in held[1:]:
            old, new = group[number], group[held[0]]
            group = [new if g == old else g for g in group]
    return len(set(group)) <= 1


def _stood(timber: Timber, choice: _Choice, minutes: float) -> tuple[str | None, Fit | None]:
    """The choice on its supports: the rule it breaks, or the fit."""
    spare = {b.id for b in timber.tile.bored} - {s.backer for s in choice.seats}
    hung = []
    for number, (seat, drives) in enumerate(zip(choice.seats, choice.drives, strict=True)):
        source = seat.backer if seat.backer is not None else (spare.pop() if spare else None)
        holes = tuple(h for h in timber.tile.pin_holes if h.backer == source)
        if seat.backer is None:
            holes = tuple(type(h)(id=h.id, backer=h.backer, at=(seat.u, h.at[1]), diameter=h.diameter) for h in holes)
        hung.append(Hung(number=number, seat=seat, drives=drives, holes=holes))
    stands, fault = stood(timber, hung)
    if fault is not None:
        return fault, None
    drilled = sum(stand.state == "drilled" for stand in stands)
    fresh = [d for ds in choice.drives for d in ds if d.predrilled]
    warnings = (f"new screws near an edge or end, to be predrilled: {len(fresh)}",) if fresh else ()
    return None, Fit(
        fragments=timber.fragments,
        seats=choice.seats,
        drives=choice.drives,
        stands=stands,
        minutes=minutes + drilled * timber.rules.rate_hole,
        warnings=warnings,
    )
