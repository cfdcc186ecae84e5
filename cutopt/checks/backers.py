"""Backers: one straight board inside its piece, from a named stretch of wood that is free and used once."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Iterator

from shapely.geometry import Polygon

from cutopt.checks.evidence import Evidence, Placed, Stick, factory, tile_backer
from cutopt.checks.finding import Fault, fault
from cutopt.checks.shapes import (
    TOLERANCE,
    Spot,
    board,
    board_across,
    exceeds,
    falls_short,
    inside,
    number,
    overlap,
    polygon,
    ring_edges,
    same,
)
from cutopt.checks.wood import IN_PLACE, stick_of
from cutopt.planfile.model import Backer, Offcut, Source

SAWN_LONGER = 1.0  # mm that a stretch may be longer than the board made of it
PARALLEL = 0.1  # degrees between an oblique backer and the oblique cut that it is hung along


def backers(evidence: Evidence) -> Iterator[Fault]:
    """All faults of backers."""
    for placed in evidence.placed:
        mine = placed.backers
        for number_, backer in enumerate(mine):
            yield from _shape(evidence, placed, backer)
            yield from _origin(evidence, placed, backer)
            for other in mine[:number_]:
                if overlap(board(backer.line, backer.width), board(other.line, other.width)):
                    yield fault("backer-overlap", _where(placed, backer), f"lies across backer {other.id}")
    yield from _used_once(evidence)
    yield from _spares(evidence)
    for source in evidence.plan.sources:
        for offcut in source.offcuts:
            yield from _offcut(evidence, source, offcut)


def _where(placed: Placed, backer: Backer) -> str:
    return f"backer {backer.id} of {placed.where}"


def _shape(evidence: Evidence, placed: Placed, backer: Backer) -> Iterator[Fault]:
    where = _where(placed, backer)
    shape = board(backer.line, backer.width)
    if shape.is_empty:
        yield fault("backer-shape", where, "is no straight board: a line of two points and a width are meant")
        return
    if not inside(shape, placed.outline):
        yield fault("backer-outside", where, "reaches beyond its piece")
    stick = stick_of(evidence, backer)
    made = stick.backer.width if stick is not None else evidence.tile.backer_width
    least = min(evidence.limits.shaved_least, made)
    if falls_short(backer.width, least):
        yield fault("backer-width", where, f"is {number(backer.width)} wide; at least {number(least)}")
    start, end = backer.line
    if not same(start[0], end[0]) and not _along_a_cut(evidence, placed.outline, start, end):
        yield fault("backer-shape", where, "is oblique, and no cut of the piece runs along it")


def _along_a_cut(evidence: Evidence, outline: Polygon, start: Spot, end: Spot) -> bool:
    turn = _heading(start, end)
    edges = [(a, b) for a, b in ring_edges(outline) if not factory(evidence.tile, a, b) and not same(a[0], b[0])]
    return any(abs((_heading(*edge) - turn + 90) % 180 - 90) <= PARALLEL for edge in edges)


def _heading(start: Spot, end: Spot) -> float:
    return math.degrees(math.atan2(end[1] - start[1], end[0] - start[0]))


def _origin(evidence: Evidence, placed: Placed, backer: Backer) -> Iterator[Fault]:
    where = _where(placed, backer)
    if backer.from_ is None:
        if backer.state != "added":
            yield fault("backer-wood", where, f"is {backer.state} and names no wood")
        elif len(backer.line) == 2 and exceeds(math.dist(*backer.line), evidence.tile.backer_length):
            long = number(math.dist(*backer.line))
            yield fault(
                "backer-wood", where, f"is bought and {long} long; the tile's are {number(evidence.tile.backer_length)}"
            )
        return
    stick = stick_of(evidence, backer)
    if stick is None:
        yield fault(
            "backer-wood", where, f"names backer {backer.from_.backer} of {backer.from_.source}, which is not there"
        )
        return
    first, last = backer.from_.span
    if first >= last or falls_short(first, stick.backer.v[0]) or exceeds(last, stick.backer.v[1]):
        own = f"[{number(stick.backer.v[0])}, {number(stick.backer.v[1])}]"
        yield fault("backer-wood", where, f"takes [{number(first)}, {number(last)}] of a backer that has {own}")
    length = math.dist(*backer.line) if len(backer.line) == 2 else 0.0
    if falls_short(last - first, length):
        yield fault("backer-wood", where, f"is {number(length)} long, from a stretch of {number(last - first)}")
    elif last - first - length > SAWN_LONGER:
        yield fault("backer-wood", where, f"takes a stretch of {number(last - first)} and is {number(length)} long")
    if exceeds(backer.width, stick.backer.width):
        yield fault(
            "backer-width", where, f"is {number(backer.width)} wide, from a backer of {number(stick.backer.width)}"
        )
    if backer.state in IN_PLACE:
        yield from _in_place(placed, backer, stick)
    else:
        yield from _taken_off(where, backer, stick)


def _in_place(placed: Placed, backer: Backer, stick: Stick) -> Iterator[Fault]:
    """Kept, cut and shaved backers lie where they were."""
    where = _where(placed, backer)
    if stick.source is not placed.source:
        yield fault("backer-place", where, f"is {backer.state}, and its wood is of {stick.source.id}")
        return
    if len(backer.line) != 2 or backer.from_ is None:
        return
    vs = sorted(spot[1] for spot in backer.line)
    wood = backer.from_.span
    if not (same(vs[0], wood[0]) and same(vs[1], wood[1])):
        yield fault("backer-place", where, f"is {backer.state} and does not lie where its stretch of wood was")
    middle, width = backer.line[0][0], backer.width
    old = stick.backer
    if backer.state == "shaved":
        if exceeds(middle + width / 2, old.u + old.width / 2) or falls_short(middle - width / 2, old.u - old.width / 2):
            yield fault("backer-place", where, "is shaved and lies beside the backer that it was")
        return
    if not all(same(spot[0], old.u) for spot in backer.line) or not same(width, old.width):
        yield fault(
            "backer-place",
            where,
            f"is {backer.state} and lies {number(middle - old.u)} from where it was, or is not as wide",
        )
    whole = same(wood[0], old.v[0]) and same(wood[1], old.v[1])
    if backer.state == "kept" and not whole:
        yield fault("backer-place", where, "is listed as kept, and it is shorter than it was")


def _taken_off(where: str, backer: Backer, stick: Stick) -> Iterator[Fault]:
    """The screws of a stretch that is hung elsewhere are out where it came from."""
    if backer.from_ is None:
        return
    first, last = backer.from_.span
    still = [s.id for s in stick.screws if first <= s.v <= last and s.id not in stick.source.screws_out]
    if still:
        yield fault(
            "backer-free",
            where,
            f"is hung elsewhere while screws {', '.join(still)} of {stick.source.id} hold its wood",
        )


def _used_once(evidence: Evidence) -> Iterator[Fault]:
    """Each stretch of wood goes into as many backers as there are copies of it, a kerf apart."""
    uses = {source.id: source.uses for source in evidence.plan.sources}
    kerf = min(evidence.plan.kerf.values(), default=0.0)
    claims: defaultdict[tuple[str, int], list[tuple[float, float, int, str]]] = defaultdict(list)
    for source in evidence.plan.sources:
        for backer in source.backers:
            if backer.from_ is not None:
                first, last = backer.from_.span
                key = (backer.from_.source, backer.from_.backer)
                claims[key].append((first, last + kerf - TOLERANCE, source.uses, backer.id))
    for (name, stick), stretches in claims.items():
        for at in sorted({stretch[0] for stretch in stretches}):
            here = [stretch for stretch in stretches if stretch[0] <= at < stretch[1]]
            if sum(stretch[2] for stretch in here) > uses.get(name, 0):
                ids = ", ".join(stretch[3] for stretch in here)
                text = f"the stretch at {number(at)} goes into {ids}; the wood is there {uses.get(name, 0)} times"
                yield fault("wood-twice", f"backer {stick} of {name}", text)


def _spares(evidence: Evidence) -> Iterator[Fault]:
    bought = sum(s.uses for s in evidence.plan.sources for backer in s.backers if backer.from_ is None)
    if bought > evidence.limits.spare_backers:
        most = number(evidence.limits.spare_backers)
        yield fault("spare-backers", "plan", f"{bought} backers are bought; the rules allow {most}")


def _offcut(evidence: Evidence, source: Source, offcut: Offcut) -> Iterator[Fault]:
    """An offcut lists no wood or screw that is gone."""
    where = f"offcut {offcut.id} of {source.id}"
    region = polygon(offcut.outline)
    used = [
        (b.from_.backer, b.from_.span)
        for other in evidence.plan.sources
        for b in other.backers
        if b.from_ is not None and b.from_.source == source.id
    ]
    for left in offcut.backers:
        if not inside(board_across(left.u, left.v, left.width), region):
            yield fault("offcut-hardware", where, f"lists backer {left.id}, which reaches beyond it")
        if any(
            left.id == stick and span[0] < left.v[1] - TOLERANCE and left.v[0] < span[1] - TOLERANCE
            for stick, span in used
        ):
            yield fault("offcut-hardware", where, f"lists backer {left.id}, whose wood is used in a piece")
    gone = {screw.id for screw in offcut.screws} & set(source.screws_out)
    if gone:
        yield fault("offcut-hardware", where, f"lists screws that are taken out: {', '.join(sorted(gone))}")
    for hole in offcut.pin_holes:
        if tile_backer(offcut, hole.backer) is None:
            yield fault("offcut-hardware", where, f"lists a pin hole in backer {hole.backer}, which it does not have")
