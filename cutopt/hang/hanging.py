"""Finish the carpentry of the chosen sources: boards, screws, holes, sealed ends and what is left over."""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import shapely

from cutopt.cut import CutTile, Place
from cutopt.errors import NoPlan
from cutopt.fit import Drive, Seat, Stand
from cutopt.fit.seats import kept_seats
from cutopt.fit.standing import least_apart
from cutopt.fit.timber import Timber
from cutopt.geometry import NEAR, Rail, Ring, area2, polygon
from cutopt.hang.records import Board, BoardState, HungSource, Rest, Screwed, SealedEnd, Wood
from cutopt.hang.salvage import Supply, stretch_for, supply
from cutopt.job.records import Job
from cutopt.rules import Rules
from cutopt.tile import PinHole, Point, Tile

SQUARE_METRE = (1000 * 320) ** 2  # square ticks
STRIP = 2  # ticks: half the width of a line that is intersected with a region


def hang(tiles: Sequence[CutTile], job: Job) -> tuple[HungSource, ...]:
    """Hang every source. The order is that of the tiles; tiles that take wood from others are listed one by one.

    Raises `NoPlan` where boards whose holes would meet screws have to be bought beyond the spare backers allowed.
    """
    tiles, given = supply(tiles, job.tile)
    names = _Names()
    fitted = [_fitted(number, tile, given, names, job) for number, tile in enumerate(tiles)]
    used = _wood_used([board for one in fitted for board in one.boards])
    bought = sum(t.uses * sum(b.wood is None for b in f.boards) for t, f in zip(tiles, fitted, strict=True))
    if bought > job.rules.spare_backers:
        raise NoPlan(
            what=f"{bought} backers would have to be bought, {job.rules.spare_backers} are allowed",
            rule="spare_backers",
            remedy="allow more of them in [rules]",
        )
    return tuple(
        _hung(n, tile, one, used.get(n, []), job) for n, (tile, one) in enumerate(zip(tiles, fitted, strict=True))
    )


@dataclass(frozen=True, kw_only=True, slots=True)
class _Fitted:
    """A source with its boards chosen, before it is known what other sources take from it."""

    boards: list[Board]
    screwed: list[Screwed]
    stands: list[tuple[Stand, ...]]


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


def _wood_used(boards: Sequence[Board]) -> dict[int, list[tuple[int, tuple[int, int]]]]:
    """By source, the free stretches of its backers that boards are made of."""
    used: dict[int, list[tuple[int, tuple[int, int]]]] = {}
    for board in boards:
        if board.state == "moved" and board.wood is not None:
            used.setdefault(board.wood.source, []).append((board.wood.backer, board.wood.stretch))
    return used


def _fitted(number: int, tile: CutTile, given: Supply, names: _Names, job: Job) -> _Fitted:
    boards: list[Board] = []
    screwed: list[Screwed] = []
    stands: list[tuple[Stand, ...]] = []
    for p, place in enumerate(tile.pattern.places):
        hung = _boards(number, p, place, given, names, job)
        for s in range(len(hung)):
            screwed += [
                Screwed(board=len(boards) + s, fragment=place.fit.fragments[d.fragment], drive=d)
                for d in place.fit.drives[s]
            ]
        boards += hung
        stands.append(_stood(place, hung, job))
    return _Fitted(boards=boards, screwed=screwed, stands=stands)


def _hung(number: int, tile: CutTile, fitted: _Fitted, used: list[tuple[int, tuple[int, int]]], job: Job) -> HungSource:
    boards = fitted.boards
    out, early = _screws_out(number, tile, fitted, used, job)
    source = HungSource(
        tile=tile,
        boards=tuple(boards),
        screwed=tuple(fitted.screwed),
        stands=tuple(fitted.stands),
        screws_out=out,
        screws_early=early,
        sealed=tuple(end for p in range(len(tile.pattern.places)) for end in _sealed(p, tile, boards, job)),
        rests=tuple(
            Rest(part=part, outline=ring, keep=area2(ring) / 2 >= job.rules.keep_offcut * SQUARE_METRE)
            for part, ring in tile.tree.rests
        ),
        warnings=tuple(w for place in tile.pattern.places for w in place.fit.warnings),
    )
    return replace(source, rests=tuple(_worth_keeping(rest, source, job) for rest in source.rests))


def _worth_keeping(rest: Rest, source: HungSource, job: Job) -> Rest:
    """An offcut is racked only where two backers still hold it together."""
    seats, _ = left_hardware(rest, source, job.tile, job.rules)
    return replace(rest, keep=rest.keep and len({seat.backer for seat in seats}) > 1)


def _boards(number: int, p: int, place: Place, given: Supply, names: _Names, job: Job) -> list[Board]:
    """The boards of a place; wood whose holes would meet a screw however it is cut is left and a backer bought."""
    found = []
    for s, seat in enumerate(place.fit.seats):
        if seat.backer is not None:
            wood: Wood | None = Wood(
                source=number, backer=seat.backer, span=seat.span, stretch=seat.span, sawn_free=False
            )
            state: BoardState = "kept" if seat.state == "open" else seat.state
        else:
            pins = [stand.hole for stand in place.fit.stands if stand.seat == s]
            wood = _stretch(seat, given[number, p, s], place.fit.drives[s], pins, job)
            state = "added" if wood is None else "moved"
        name = names.of(wood.source if wood else None, wood.backer if wood else 0)
        found.append(Board(name=name, place=p, seat=seat, state=state, wood=wood))
    return found


def _stood(place: Place, boards: list[Board], job: Job) -> tuple[Stand, ...]:
    """The piece's stands: the holes are where the fit put them on every tile, so that one support plan serves all
    copies; those that a board's wood has there already are not drilled.
    """
    stands = []
    for stand in place.fit.stands:
        board = boards[stand.seat]
        state = stand.state
        if board.state in ("moved", "added"):
            holes = _holes(board.seat, board.wood, job.tile)
            there = any(math.dist(hole.at, stand.hole) <= NEAR for hole in holes)
            state = "moved" if there else "drilled"
        stands.append(replace(stand, state=state))
    return tuple(stands)


def _stretch(seat: Seat, wood: Wood | None, drives: tuple[Drive, ...], pins: Sequence[Point], job: Job) -> Wood | None:
    """The stretch of the wood that is hung: its holes where pins go, or clear of them, and none near a screw."""
    if wood is None:
        return None
    clear = job.rules.screw_hole_clear
    options: list[tuple[bool, int, int, Wood]] = []
    for span in stretch_for(seat, wood):
        option = replace(wood, span=span)
        holes = _holes(seat, option, job.tile)
        gaps = [math.dist(hole.at, pin) for hole in holes for pin in pins]
        matched = sum(gap <= NEAR for gap in gaps)
        if any(NEAR < gap < least_apart(job.tile, job.rules) for gap in gaps):
            continue
        if all(math.dist(hole.at, drive.at) >= clear for hole in holes for drive in drives):
            options.append((_spoils_end(option, job), -matched, len(options), option))
    return min(options)[3] if options else None


def _spoils_end(wood: Wood, job: Job) -> bool:
    """Whether the stretch would end in a pin hole, or with too little wood beside one."""
    meat = job.rules.hole_wood
    return any(
        -hole.diameter / 2 < past < hole.diameter / 2 + meat
        for hole in job.tile.pin_holes
        if hole.backer == wood.backer
        for past in (hole.at[1] - wood.span[0], wood.span[1] - hole.at[1])
    )


def _holes(seat: Seat, wood: Wood | None, tile: Tile) -> tuple[PinHole, ...]:
    """The pin holes that a board's wood has, where they lie now."""
    if wood is None:
        return ()
    shift = seat.span[0] - wood.span[0]
    return tuple(
        replace(hole, at=hole.at if seat.backer is not None else (seat.u, hole.at[1] + shift))
        for hole in tile.pin_holes
        if hole.backer == wood.backer and wood.span[0] <= hole.at[1] <= wood.span[1]
    )


def _screws_out(
    number: int, tile: CutTile, fitted: _Fitted, used: list[tuple[int, tuple[int, int]]], job: Job
) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """The tile's screws that come out, and of these the ones that come out before the first cut.

    Before it: those in a piece that do not stay; those of backers that are hung before it; all of a backer that no
    piece keeps but that lies under one, or it would be sawn loose; and any within the clearance of a blade. After it:
    those of wood that is hung elsewhere.
    """
    anatomy = job.tile
    staying = {s.drive.screw for s in fitted.screwed if s.drive.screw}
    pieces = shapely.union_all([polygon(place.shape.outline) for place in tile.pattern.places])
    off = _under(tile, pieces, anatomy)
    off |= {
        b.wood.backer
        for b in fitted.boards
        if b.state == "moved" and b.wood and not b.wood.sawn_free and b.wood.source == number
    }
    slats = {slat.id for place in tile.pattern.places if (x := place.fit.share) for slat in (x.inner, x.outer)}
    blades = shapely.union_all([blade(cut.path, cut.kerf) for cut in tile.tree.cuts])
    out, early = [], []
    for screw in anatomy.screws:
        point = shapely.Point(screw.at)
        near = blades.distance(point) < job.rules.screw_clearance if tile.tree.cuts else False
        soon = screw.backer in off or screw.slat in slats or near or bool(pieces.covers(point))
        taken = any(screw.backer == b and low <= screw.at[1] <= high for b, (low, high) in used)
        if screw.id not in staying and (soon or taken):
            out.append(screw.id)
            early += [screw.id] * soon
    return tuple(out), tuple(early)


def _under(tile: CutTile, pieces: shapely.Geometry, anatomy: Tile) -> set[int]:
    """Backers that lie under a piece and that no piece keeps."""
    kept = {b for place in tile.pattern.places for b in place.fit.kept}
    return {
        b.id
        for b in anatomy.backers
        if b.id not in kept
        and shapely.box(b.u - b.width / 2, b.v[0], b.u + b.width / 2, b.v[1]).intersection(pieces).area > 0
    }


def blade(path: Ring, kerf: int) -> shapely.Geometry:
    """What the saw turns to dust: a kerf to the right of the path."""
    strips = []
    for a, b in itertools.pairwise(path):
        far = Rail(a=b, b=a, slack=0).slid(kerf)
        strips.append(polygon([a, b, far.a, far.b]))
    return shapely.union_all(strips)


def _sealed(p: int, tile: CutTile, boards: list[Board], job: Job) -> list[SealedEnd]:
    """Cut slat ends, and the sawn ends of backers."""
    place, anatomy = tile.pattern.places[p], job.tile
    timber = Timber(tile=anatomy, rules=job.rules, outline=place.shape.outline)
    ends: list[SealedEnd] = []
    for a, b in timber.end_grain:
        line = shapely.LineString([a, b])
        for fragment in place.fit.fragments:
            part = line.intersection(polygon(fragment.outline).buffer(STRIP))
            if part.length > 4 * STRIP:
                ends.append(_end(p, part, anatomy.slat_thickness))
    for board in boards:
        if board.place == p:
            ends += [
                SealedEnd(place=p, line=line, thickness=anatomy.backer_thickness) for line in _sawn_ends(board, anatomy)
            ]
    return ends


def _end(p: int, part: shapely.Geometry, thickness: int) -> SealedEnd:
    (u0, v0), (u1, v1) = part.coords[0], part.coords[-1]
    return SealedEnd(place=p, line=((round(u0), round(v0)), (round(u1), round(v1))), thickness=thickness)


def _sawn_ends(board: Board, tile: Tile) -> list[tuple[tuple[int, int], tuple[int, int]]]:
    """The ends of a board that were sawn: those that are not the ends of the backer that it was."""
    seat, wood = board.seat, board.wood
    low, high = seat.u - seat.width // 2, seat.u + seat.width // 2
    if wood is None:  # a bought backer is cut at both ends
        return [((low, at), (high, at)) for at in seat.span]
    full = next(b.v for b in tile.backers if b.id == wood.backer)
    sawn = [at for at, now, once in zip(seat.span, wood.span, full, strict=True) if abs(now - once) > NEAR]
    return [((low, at), (high, at)) for at in sawn]


def screwed_while_sawn(rest: Rest, source: HungSource, tile: Tile) -> bool:
    """Whether screws hold a leftover together at the saw: those of wood that leaves later are still in then."""
    ring = polygon(rest.outline)
    return any(s.id not in source.screws_early and ring.covers(shapely.Point(s.at)) for s in tile.screws)


def left_hardware(rest: Rest, source: HungSource, tile: Tile, rules: Rules) -> tuple[list[Seat], list[str]]:
    """Backers and screws that stay on an offcut: stretches whose screws were not taken out."""
    timber = Timber(tile=tile, rules=rules, outline=rest.outline)
    ring = timber.polygon
    screws = [s for s in tile.screws if s.id not in source.screws_out and ring.covers(shapely.Point(s.at))]
    seats = [
        seat
        for seat in kept_seats(timber)
        if any(s.backer == seat.backer and seat.span[0] <= s.at[1] <= seat.span[1] for s in screws)
    ]
    held = [
        s.id
        for s in screws
        if any(s.backer == seat.backer and seat.span[0] <= s.at[1] <= seat.span[1] for seat in seats)
    ]
    return seats, held
