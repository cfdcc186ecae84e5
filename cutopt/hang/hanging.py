"""Finish the carpentry of the chosen sources: boards, screws, holes, sealed ends and what is left over."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

import shapely

from cutopt.cut import CutTile, Place
from cutopt.errors import OurFault
from cutopt.fit import Drive, Seat, Stand
from cutopt.fit.standing import Hung, stands_of, tips
from cutopt.fit.timber import Timber
from cutopt.geometry import NEAR, Rail, Ring, area2, extent, polygon
from cutopt.hang.records import Board, BoardState, HungSource, Rest, Screwed, SealedEnd, Wood
from cutopt.hang.salvage import Supply, stretch_for, supply
from cutopt.job.records import Job
from cutopt.tile import PinHole, Tile

SQUARE_METRE = (1000 * 320) ** 2  # square ticks
STRIP = 2  # ticks: half the width of a line that is intersected with a region


def hang(tiles: Sequence[CutTile], job: Job) -> tuple[HungSource, ...]:
    """Hang every source. The order is that of the tiles; tiles that take wood from others are listed one by one."""
    tiles, given = supply(tiles, job.tile)
    used = _wood_used(given)
    names = _Names()
    return tuple(_hung(number, tile, given, used, names, job) for number, tile in enumerate(tiles))


class _Names:
    """Names of boards, after the backer that they were: T2.b3, and T2.b3b for a second stretch of it."""

    def __init__(self) -> None:
        self._taken: dict[str, int] = {}

    def of(self, source: int | None, backer: int) -> str:
        name = f"T{source + 1}.b{backer}" if source is not None else "spare"
        times = self._taken[name] = self._taken.get(name, 0) + 1
        if source is None:
            return f"{name} {times}"
        return name if times == 1 else f"{name}{_letters(times)}"


def _letters(number: int) -> str:
    """2 → b, 3 → c, …, 27 → ab."""
    text = ""
    while number:
        number, rest = divmod(number - 1, 26)
        text = chr(97 + rest) + text
    return text


def _wood_used(given: Supply) -> dict[int, list[tuple[int, tuple[int, int]]]]:
    """By source, the stretches of its backers that are hung somewhere."""
    used: dict[int, list[tuple[int, tuple[int, int]]]] = {}
    for wood in given.values():
        if wood is not None:
            used.setdefault(wood.source, []).append((wood.backer, wood.span))
    return used


def _hung(
    number: int,
    tile: CutTile,
    given: Supply,
    used: dict[int, list[tuple[int, tuple[int, int]]]],
    names: _Names,
    job: Job,
) -> HungSource:
    boards: list[Board] = []
    screwed: list[Screwed] = []
    stands: list[tuple[Stand, ...]] = []
    for p, place in enumerate(tile.pattern.places):
        chosen = _boards(number, p, place, given, names, job.tile)
        hung, standing = _stood(place, chosen, job)
        for s, board in enumerate(hung):
            screwed += [
                Screwed(board=len(boards) + s, fragment=place.fit.fragments[d.fragment], drive=d)
                for d in place.fit.drives[s]
            ]
        boards += hung
        stands.append(standing)
    return HungSource(
        tile=tile,
        boards=tuple(boards),
        screwed=tuple(screwed),
        stands=tuple(stands),
        screws_out=_screws_out(tile, screwed, used.get(number, []), job),
        sealed=tuple(end for p in range(len(tile.pattern.places)) for end in _sealed(p, tile, boards, job)),
        rests=tuple(
            Rest(part=part, outline=ring, keep=area2(ring) / 2 >= job.rules.keep_offcut * SQUARE_METRE)
            for part, ring in tile.tree.rests
        ),
        warnings=tuple(w for place in tile.pattern.places for w in place.fit.warnings),
    )


def _boards(number: int, p: int, place: Place, given: Supply, names: _Names, tile: Tile) -> list[Board]:
    found = []
    for s, seat in enumerate(place.fit.seats):
        if seat.backer is not None:
            wood: Wood | None = Wood(source=number, backer=seat.backer, span=seat.span, sawn_free=False)
            state: BoardState = "kept" if seat.state == "open" else seat.state
        else:
            wood = given[number, p, s]
            state = "added" if wood is None else "moved"
        name = names.of(wood.source if wood else None, wood.backer if wood else 0)
        found.append(Board(name=name, place=p, seat=seat, state=state, wood=wood))
    return found


def _stood(place: Place, boards: list[Board], job: Job) -> tuple[list[Board], tuple[Stand, ...]]:
    """Settle which stretch of its wood each moved board is, so that its holes serve or do no harm, and the stands."""
    timber = Timber(tile=job.tile, rules=job.rules, outline=place.shape.outline)
    cut_to = [_stretched(board, place.fit.drives[s], job) for s, board in enumerate(boards)]
    hung = [
        Hung(number=s, seat=board.seat, drives=place.fit.drives[s], holes=_holes(board, job.tile))
        for s, board in enumerate(cut_to)
    ]
    stands = stands_of(timber, hung)
    if stands is None or tips(timber, place.fit.seats, stands) is not None:
        raise OurFault(f"a piece that could be hung on its own tile cannot be hung on its boards: {place.shape.outline}")
    return cut_to, stands


def _stretched(board: Board, drives: tuple[Drive, ...], job: Job) -> Board:
    if board.state != "moved" or board.wood is None:
        return board
    options = [replace(board, wood=replace(board.wood, span=span)) for span in stretch_for(board.seat, board.wood)]
    clear = job.rules.screw_hole_clear

    def spoiled(option: Board) -> tuple[int, int]:
        holes = _holes(option, job.tile)
        hit = sum(math.dist(hole.at, drive.at) < clear for hole in holes for drive in drives)
        return hit, -len(holes)

    return min(options, key=spoiled)


def _holes(board: Board, tile: Tile) -> tuple[PinHole, ...]:
    """The pin holes that a board's wood has, where they lie now."""
    if board.wood is None:
        return ()
    seat, wood = board.seat, board.wood
    shift = seat.span[0] - wood.span[0]
    kept = board.state != "moved"
    return tuple(
        replace(hole, at=hole.at if kept else (seat.u, hole.at[1] + shift))
        for hole in tile.pin_holes
        if hole.backer == wood.backer and wood.span[0] <= hole.at[1] <= wood.span[1]
    )


def _screws_out(
    tile: CutTile, screwed: list[Screwed], used: list[tuple[int, tuple[int, int]]], job: Job
) -> tuple[str, ...]:
    """The tile's screws that come out before the first cut.

    Those in a piece that do not stay; those of boards that are hung elsewhere; all of a backer that no piece keeps but
    that lies under one, or it would be sawn loose; and any within the clearance of a blade.
    """
    anatomy = job.tile
    staying = {s.drive.screw for s in screwed if s.drive.screw}
    kept = {b for place in tile.pattern.places for b in place.fit.kept}
    pieces = shapely.union_all([polygon(place.shape.outline) for place in tile.pattern.places])
    under = {
        b.id for b in anatomy.backers
        if b.id not in kept
        and shapely.box(b.u - b.width / 2, b.v[0], b.u + b.width / 2, b.v[1]).intersection(pieces).area > 0
    }
    blades = shapely.union_all([blade(cut.path, cut.kerf) for cut in tile.tree.cuts])
    out = []
    for screw in anatomy.screws:
        point = shapely.Point(screw.at)
        taken = any(screw.backer == b and low <= screw.at[1] <= high for b, (low, high) in used)
        near = blades.distance(point) < job.rules.screw_clearance if tile.tree.cuts else False
        inside = pieces.covers(point)
        if screw.id not in staying and (taken or screw.backer in under or near or inside):
            out.append(screw.id)
    return tuple(out)


def blade(path: Ring, kerf: int) -> shapely.Geometry:
    """What the saw turns to dust: a kerf to the right of the path."""
    strips = []
    for a, b in zip(path, path[1:], strict=False):
        far = Rail(a=b, b=a, slack=0).slid(kerf)
        strips.append(polygon([a, b, far.a, far.b]))
    return shapely.union_all(strips)


def _sealed(p: int, tile: CutTile, boards: list[Board], job: Job) -> list[SealedEnd]:
    """Cut slat ends, and the sawn ends of backers."""
    place, anatomy = tile.pattern.places[p], job.tile
    timber = Timber(tile=anatomy, rules=job.rules, outline=place.shape.outline)
    ends: list[SealedEnd] = []
    least = math.sin(math.radians(job.rules.end_grain_angle))
    for a, b in timber.sawn:
        if abs(b[1] - a[1]) <= least * math.dist(a, b):
            continue
        line = shapely.LineString([a, b])
        for fragment in place.fit.fragments:
            part = line.intersection(polygon(fragment.outline).buffer(STRIP))
            if part.length > 4 * STRIP:
                ends.append(_end(p, part, anatomy.slat_thickness))
    for board in boards:
        if board.place == p:
            ends += [
                SealedEnd(place=p, line=line, thickness=anatomy.backer_thickness)
                for line in _sawn_ends(board, anatomy)
            ]
    return ends


def _end(p: int, part: shapely.Geometry, thickness: int) -> SealedEnd:
    (u0, v0), (u1, v1) = part.coords[0], part.coords[-1]
    return SealedEnd(place=p, line=((round(u0), round(v0)), (round(u1), round(v1))), thickness=thickness)


def _sawn_ends(board: Board, tile: Tile) -> list[tuple[tuple[int, int], tuple[int, int]]]:
    """The ends of a board that were sawn: those that are not the ends of the backer that it was."""
    seat, wood = board.seat, board.wood
    full = next((b.v for b in tile.backers if wood and b.id == wood.backer), tile.backers[0].v)
    span = wood.span if wood else (full[0], full[0] + seat.length)
    low, high = seat.u - seat.width // 2, seat.u + seat.width // 2
    sawn = [at for at, now, once in zip(seat.span, span, full, strict=True) if abs(now - once) > NEAR]
    return [((low, at), (high, at)) for at in sawn]


def left_hardware(rest: Rest, source: HungSource, tile: Tile) -> tuple[list[Seat], list[str]]:
    """Backers and screws that stay on an offcut: stretches whose screws were not taken out."""
    ring = polygon(rest.outline)
    u0, _, u1, _ = extent(rest.outline)
    screws = [s for s in tile.screws if s.id not in source.screws_out and ring.covers(shapely.Point(s.at))]
    seats = []
    for backer in tile.backers:
        held = [s for s in screws if s.backer == backer.id]
        if not held:
            continue
        board = shapely.box(max(backer.u - backer.width / 2, u0), backer.v[0], min(backer.u + backer.width / 2, u1), backer.v[1])
        part = board.intersection(ring)
        b0, b1, b2, b3 = (round(x) for x in part.bounds)
        seats.append(
            Seat(u=(b0 + b2) // 2, width=b2 - b0, span=(b1, b3), reach=(b1, b3), state="kept", backer=backer.id)
        )
    return seats, [s.id for s in screws]
