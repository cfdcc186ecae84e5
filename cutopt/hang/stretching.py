"""Which stretch of a board is hung: its pin holes where pins go or clear of them, and none near a screw."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

from cutopt.fit import Drive, Seat
from cutopt.fit.timber import least_apart
from cutopt.geometry import NEAR
from cutopt.hang.records import Wood
from cutopt.job.records import Job
from cutopt.tile import PinHole, Point, Tile

WHOLE = 320  # ticks: wood that is longer by less than this is hung as it is
STEP = 5 * 320  # ticks between the stretches of a longer board that are tried


def stretch(seat: Seat, wood: Wood, drives: Sequence[Drive], pins: Sequence[Point], job: Job) -> Wood | None:
    """The wood with the best stretch of it for a seat with these screws and pin holes; None where there is none."""
    options: list[tuple[bool, int, int, Wood]] = []
    for span in _stretches(seat, wood):
        option = replace(wood, span=span)
        holes = holes_in(seat, option, job.tile)
        gaps = [math.dist(hole.at, pin) for hole in holes for pin in pins]
        if any(NEAR < gap < least_apart(job.tile, job.rules) for gap in gaps):
            continue
        if _clear_of_screws(holes, drives, job) and _in_wood(seat, holes, job):
            matched = sum(gap <= NEAR for gap in gaps)
            options.append((_spoils_end(option, job), -matched, len(options), option))
    return min(options)[3] if options else None


def _stretches(seat: Seat, wood: Wood) -> list[tuple[int, int]]:
    """Stretches of the wood that a seat may take: where it lay across the tile, else from an end, or within."""
    low, high = wood.span
    if high - low - seat.length < WHOLE:
        return [wood.span]
    starts = [seat.span[0]] if low <= seat.span[0] and seat.span[0] + seat.length <= high else []
    starts += [low, high - seat.length, *range(low, high - seat.length, STEP)]
    return [(start, start + seat.length) for start in dict.fromkeys(starts)]


def _clear_of_screws(holes: Sequence[PinHole], drives: Sequence[Drive], job: Job) -> bool:
    clear = job.rules.screw_hole_clear
    return all(math.dist(hole.at, drive.at) >= clear for hole in holes for drive in drives)


def _in_wood(seat: Seat, holes: Sequence[PinHole], job: Job) -> bool:
    """Whether a board that is ripped narrower keeps wood around the holes that it has."""
    if seat.width >= min(backer.width for backer in job.tile.design.backers):
        return True
    meat = max((hole.diameter for hole in job.tile.design.pin_holes), default=0) / 2 + job.rules.hole_wood
    return all(abs(hole.at[0] - seat.u_at(hole.at[1])) / seat.slant <= seat.width / 2 - meat for hole in holes)


def _spoils_end(wood: Wood, job: Job) -> bool:
    """Whether the stretch would end in a pin hole, or with too little wood beside one."""
    meat = job.rules.hole_wood
    return any(
        -hole.diameter / 2 < past < hole.diameter / 2 + meat
        for hole in job.tile.design.pin_holes
        if hole.backer == wood.backer
        for past in (hole.at[1] - wood.span[0], wood.span[1] - hole.at[1])
    )


def holes_in(seat: Seat, wood: Wood | None, tile: Tile) -> tuple[PinHole, ...]:
    """The pin holes that a board's wood has, where they lie now."""
    if wood is None:
        return ()
    tile = tile.design
    backer = next(b for b in tile.backers if b.id == wood.backer)
    return tuple(
        replace(hole, at=hole.at if seat.backer is not None else seat.carried(hole.at, backer, wood.span[0]))
        for hole in tile.pin_holes
        if hole.backer == wood.backer and wood.span[0] <= hole.at[1] <= wood.span[1]
    )
