"""Whether a tile can be: what is refused, and what is used with a warning.

Refused is what cannot exist: a screw beside its slat, a hole beside its backer, a pin that fits no hole. A tile that
exists but keeps less than the rules' distances is used as it is, since its own design is the authority, and the plan
carries a warning.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable
from itertools import pairwise

from cutopt.job.laying import pin_joints
from cutopt.job.ledger import Ledger
from cutopt.lengths import TICKS_PER_INCH
from cutopt.rules import Rules
from cutopt.tile import Backer, PinHole, Screw, Slat, Tile

# IRC Table R507.7 ends at 1-1/4 in boards, on joists at most 16 in apart; nothing is published for thinner slats
LONGEST_PUBLISHED_BAY = 16 * TICKS_PER_INCH


def check_tile(tile: Tile, ledger: Ledger) -> bool:
    """Note every fault that makes the tile impossible; whether there is none."""
    faults = (*_backer_faults(tile), *_screw_faults(tile), *_hole_faults(tile), *_support_faults(tile, ledger.length))
    for key, where, rule, remedy in faults:
        ledger.add(f"tile.{key}", where, rule, remedy)
    return not faults


Fault = tuple[str, str, str, str]  # key inside [tile], what, rule, remedy


def _backer_faults(tile: Tile) -> Iterable[Fault]:
    backers = tile.backers
    for backer in backers:
        if backer.u - backer.width / 2 < 0 or backer.u + backer.width / 2 > tile.length:
            yield "backers.at", f"backer {backer.id}", "backers lie inside the tile", "move it or make it narrower"
    for one, other in pairwise(backers):
        if other.u - one.u < one.width:
            both = f"backers {one.id} and {other.id}"
            yield "backers.at", both, "backers lie in order and side by side", "list centre lines from the home corner"
    if backers[0].v[0] >= backers[0].v[1]:
        yield "backers.inset", "", "leaves the backers a length", "make it smaller"


def _screw_faults(tile: Tile) -> Iterable[Fault]:
    """Each kind of fault once, with the first screw that has it."""
    radius = tile.screw_diameter / 2
    slats, backers = {s.id: s for s in tile.slats}, {b.id: b for b in tile.backers}
    found: dict[str, Fault] = {}
    for screw in tile.screws:
        slat, backer, name = slats[screw.slat], backers[screw.backer], f"screw {screw.id}"
        if min(screw.at[1] - slat.v[0], slat.v[1] - screw.at[1]) < radius:
            rule = "screws stand inside their slat"
            found.setdefault("slat", ("screws.inset", name, rule, "measure it from the slat's edge"))
        elif min(screw.at[1] - backer.v[0], backer.v[1] - screw.at[1]) < radius or backer.width / 2 < radius:
            rule = "screws stand inside their backer"
            remedy = "correct the screws' inset or the backers' inset and width"
            found.setdefault("backer", ("screws.inset", name, rule, remedy))
        for hole in tile.pin_holes:
            if math.dist(screw.at, hole.at) < hole.diameter / 2 + radius:
                rule = "no screw stands in a pin hole"
                remedy = "correct the insets of screws and pin holes"
                found.setdefault("hole", ("screws.inset", f"{name}, pin hole {hole.id}", rule, remedy))
    yield from found.values()
    yield from _order_faults(tile)


def _order_faults(tile: Tile) -> Iterable[Fault]:
    for one, other in _pairs(tile):
        if other.at[1] - one.at[1] < tile.screw_diameter:
            what = f"screws {one.id} and {other.id}"
            yield "screws.inset", what, "the two screws of a crossing stand apart", "make it less than half a slat"
            return


def _hole_faults(tile: Tile) -> Iterable[Fault]:
    backers = {b.id: b for b in tile.backers}
    for hole in tile.pin_holes:
        if _wood_around(hole, backers[hole.backer]) < 0:
            what, rule = f"pin hole {hole.id}", f"pin holes lie inside their backer, here backer {hole.backer}"
            yield "pin_holes.inset", what, rule, "correct the holes' inset and diameter, or the backers"
            return
    if 2 * tile.hole_inset[0] >= tile.length or 2 * tile.hole_inset[1] >= tile.width:
        yield "pin_holes.inset", "", "is less than half the tile", "measure it from the tile's edge"


def _support_faults(tile: Tile, length: Callable[[int], str]) -> Iterable[Fault]:
    support = tile.support
    if support.pin > min(hole.diameter for hole in tile.pin_holes):
        yield "support.pin", length(support.pin), "pins fit the pin holes", "correct the pin or the holes' diameter"
    if support.pin_offset + support.pin / 2 > min(support.pad) / 2:
        what = length(support.pin_offset)
        yield "support.pin_offset", what, "pins stand on the support's pad", "correct the offset or the pad"
    pitch = [size + joint for size, joint in zip(_sizes(tile), pin_joints(tile), strict=True)]
    if any(side > room for side, room in zip(support.pad, pitch, strict=True)):
        rule = f"pads lie side by side, so that none is larger than tile and joint, {' by '.join(map(length, pitch))}"
        what = " by ".join(length(side) for side in support.pad)
        yield "support.pad", what, rule, "correct the pad or the pin offset"
    for inset in sorted(set(tile.hole_inset)):
        if support.pin_offset < inset:
            rule = f"is at least the pin holes' inset, {length(inset)}: twice the difference is the joint"
            yield "support.pin_offset", length(support.pin_offset), rule, "measure both from the wood and the support"


def warnings_for(tile: Tile, rules: Rules, length: Callable[[int], str]) -> tuple[str, ...]:
    """What a possible tile keeps less of than the rules ask, a sentence each."""
    d = tile.screw_diameter
    return tuple(
        f"tile {tile.name}: {what} is {length(round(has))}, {asked} {length(round(limit))}; {then}"
        for what, has, asked, limit, then in (*_distances(tile, rules, d), *_widths(tile, rules), *_spans(tile, rules))
        if (has < limit if asked == _AT_LEAST else has > limit)
    )


Measure = tuple[str, float, str, float, str]  # what, what the tile has, how it is asked, the limit, what follows

_AT_LEAST = "the rules ask for at least"
_AT_MOST = "the rules ask for at most"
_KEPT = "screws that stay keep what the tile has, new ones keep the rule"
_WHOLE = "whole tiles are laid as they are"


def _distances(tile: Tile, rules: Rules, d: float) -> Iterable[Measure]:
    slats, backers = {s.id: s for s in tile.slats}, {b.id: b for b in tile.backers}
    to_edge = min(_side(s, slats[s.slat]) for s in tile.screws)
    to_end = min(min(s.at[0], tile.length - s.at[0]) for s in tile.screws)
    backer_edge = min(b.width / 2 for b in tile.backers)
    backer_end = min(_side(s, backers[s.backer]) for s in tile.screws)
    yield "a screw's distance to its slat's edge", to_edge, _AT_LEAST, rules.screw_edge * d, _KEPT
    yield "a screw's distance to its slat's end", to_end, _AT_LEAST, rules.screw_end * d, _KEPT
    yield "a screw's distance to its backer's edge", backer_edge, _AT_LEAST, rules.screw_edge * d, _KEPT
    yield "a screw's distance to its backer's end", backer_end, _AT_LEAST, rules.screw_end * d, _KEPT
    rows = [b.at[1] - a.at[1] for a, b in _pairs(tile)]
    if rows:
        yield "the distance of two screws of a crossing", min(rows), _AT_LEAST, rules.screw_row * d, _KEPT
    clear = min(math.dist(s.at, h.at) for s in tile.screws for h in tile.pin_holes)
    yield "a screw's distance to a pin hole's centre", clear, _AT_LEAST, rules.screw_hole_clear, _KEPT
    wood = min(_wood_around(h, backers[h.backer]) for h in tile.pin_holes)
    yield "the wood around a pin hole", wood, _AT_LEAST, rules.hole_wood, "new holes keep the rule"


def _widths(tile: Tile, rules: Rules) -> Iterable[Measure]:
    """Boards, and the pads below them."""
    narrowest = min(s.v[1] - s.v[0] for s in tile.slats)
    yield "a slat's width", narrowest, _AT_LEAST, rules.fragment_least, "what a cut leaves of a slat keeps the rule"
    thin = min(b.width for b in tile.backers)
    yield "a backer's width", thin, _AT_LEAST, rules.shaved_least, "backers stay as wide as they are made"
    pad = min(tile.support.pad) / 2 - tile.support.pin_offset - tile.support.pin / 2
    yield (
        "the pad beyond a support's pin",
        pad,
        _AT_LEAST,
        rules.pad_past_pin,
        "uncut supports are used as they are made",
    )
    bearing = min(min(u1 - u0, v1 - v0) for u0, v0, u1, v1 in _bearings(tile))
    yield "what a backer has on its support", bearing, _AT_LEAST, rules.bearing_least, _WHOLE


def _spans(tile: Tile, rules: Rules) -> Iterable[Measure]:
    first, last = tile.backers[0], tile.backers[-1]
    overhang = max(first.u - first.width / 2, tile.length - last.u - last.width / 2)
    then = "pieces keep what the tile has; no strength is claimed"
    yield "a slat's overhang past its last backer", overhang, _AT_MOST, rules.longest_overhang, then
    yield (
        "how far the face reaches past what it rests on",
        _past_bearing(tile),
        _AT_MOST,
        rules.face_past_bearing,
        _WHOLE,
    )
    asked = "the longest published for thicker boards (IRC Table R507.7) is"
    yield "the longest bay between backers", tile.longest_bay, asked, LONGEST_PUBLISHED_BAY, then


def _bearings(tile: Tile) -> list[tuple[float, float, float, float]]:
    """For each pin hole, what its backer has on the pad of an uncut support: least u and v, most u and v, ticks."""
    backers = {b.id: b for b in tile.backers}
    support = tile.support
    found = []
    for hole in tile.pin_holes:
        backer = backers[hole.backer]
        u, v = (at - _outward(at, size) * support.pin_offset for at, size in zip(hole.at, _sizes(tile), strict=True))
        pad = (u - support.pad[0] / 2, v - support.pad[1] / 2, u + support.pad[0] / 2, v + support.pad[1] / 2)
        low, high = backer.u - backer.width / 2, backer.u + backer.width / 2
        found.append((max(pad[0], low), max(pad[1], backer.v[0]), min(pad[2], high), min(pad[3], backer.v[1])))
    return found


def _outward(at: int, size: int) -> int:
    """The way from a hole's nearer side of the tile to the hole: 1, or -1 where that is the far side."""
    return 1 if 2 * at < size else -1


def _sizes(tile: Tile) -> tuple[int, int]:
    return tile.length, tile.width


def _past_bearing(tile: Tile) -> float:
    """How far the walking face's corners are outside the hull of all that the bored backers have on pads."""
    patches = _bearings(tile)
    low_u, low_v = min(p[0] for p in patches), min(p[1] for p in patches)
    high_u, high_v = max(p[2] for p in patches), max(p[3] for p in patches)
    return math.hypot(max(low_u, tile.length - high_u, 0), max(low_v, tile.width - high_v, 0))


def _pairs(tile: Tile) -> list[tuple[Screw, Screw]]:
    """The two screws of each crossing that has two."""
    return [(a, b) for a, b in pairwise(tile.screws) if (a.slat, a.backer) == (b.slat, b.backer)]


def _side(screw: Screw, board: Slat | Backer) -> int:
    """Distance across the tile from a screw's centre to the nearer end of a board's interval."""
    return min(screw.at[1] - board.v[0], board.v[1] - screw.at[1])


def _wood_around(hole: PinHole, backer: Backer) -> float:
    """The least wood from a hole's rim to its backer's edges and ends, negative where it breaks out."""
    across = backer.width / 2 - abs(hole.at[0] - backer.u)
    along = min(hole.at[1] - backer.v[0], backer.v[1] - hole.at[1])
    return min(across, along) - hole.diameter / 2
