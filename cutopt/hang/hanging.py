"""Finish the carpentry of the chosen sources: boards, screws, holes, sealed ends and what is left over."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import compress
from typing import Literal

import shapely

from cutopt.cut import CutTile, Place
from cutopt.cut.records import SawTree
from cutopt.errors import ShortOfBackers
from cutopt.fit import Seat, Stand
from cutopt.fit.seats import kept_seats
from cutopt.fit.timber import Timber
from cutopt.geometry import NEAR, area2, covered, polygon
from cutopt.hang.atsaw import Laid, Lying, at_saw, early_boards
from cutopt.hang.records import Board, BoardState, HungSource, Rest, Screwed, SealedEnd, Wood
from cutopt.hang.salvage import Supply, supply
from cutopt.hang.stretching import holes_in
from cutopt.job.records import Job
from cutopt.rules import Rules
from cutopt.tile import Tile

SQUARE_METRE = (1000 * 320) ** 2  # square ticks
STRIP = 2  # ticks: half the width of a line that is intersected with a region


def hang(tiles: Sequence[CutTile], job: Job) -> tuple[HungSource, ...]:
    """Hang every source. The order is that of the tiles; tiles that take wood from others are listed one by one.

    Raises `ShortOfBackers` where boards have to be bought beyond the spare ones allowed, since holes would meet screws.
    """
    tiles, given = supply(tiles, job)
    names = _Names()
    fitted = [_fitted(number, tile, given, names, tile.at_bench(job)) for number, tile in enumerate(tiles)]
    used = _wood_used([board for one in fitted for board in one.boards])
    bought = sum(t.uses * sum(b.wood is None for b in f.boards) for t, f in zip(tiles, fitted, strict=True))
    if bought > job.rules.spare_backers:
        raise ShortOfBackers(bought=bought, allowed=job.rules.spare_backers)
    known: dict[Laid, SawTree | None] = {}
    return tuple(
        _hung(n, tile, one, used.get(n, []), tile.at_bench(job), known)
        for n, (tile, one) in enumerate(zip(tiles, fitted, strict=True))
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


def _wood_used(boards: Sequence[Board]) -> dict[int, list[Wood]]:
    """By source, the wood of its backers that boards are made of."""
    used: dict[int, list[Wood]] = {}
    for board in boards:
        if board.state == "moved" and board.wood is not None:
            used.setdefault(board.wood.source, []).append(board.wood)
    return used


def _fitted(number: int, tile: CutTile, given: Supply, names: _Names, job: Job) -> _Fitted:
    boards: list[Board] = []
    screwed: list[Screwed] = []
    stands: list[tuple[Stand, ...]] = []
    for p, place in enumerate(tile.pattern.places):
        hung = _boards((number, p), place, given, names, job.tile)
        for s in range(len(hung)):
            screwed += [
                Screwed(board=len(boards) + s, fragment=place.fit.fragments[d.fragment], drive=d)
                for d in place.fit.drives[s]
            ]
        boards += hung
        stands.append(_stood(place, hung, job))
    return _Fitted(boards=early_boards(boards, number, tile, job.tile), screwed=screwed, stands=stands)


def _hung(
    number: int, tile: CutTile, fitted: _Fitted, used: list[Wood], job: Job, known: dict[Laid, SawTree | None]
) -> HungSource:  # fmt: skip
    boards = fitted.boards
    lying = Lying(number=number, tile=tile, boards=boards, screwed=fitted.screwed, used=used, job=job, known=known)
    saw = at_saw(lying)
    tile = replace(tile, tree=saw.tree)
    source = HungSource(
        tile=tile,
        boards=tuple(boards),
        screwed=tuple(fitted.screwed),
        stands=tuple(fitted.stands),
        screws_out=saw.out,
        screws_early=saw.early,
        sealed=tuple(end for p in range(len(tile.pattern.places)) for end in _sealed(p, tile, boards, job)),
        rests=tuple(
            Rest(part=part, outline=ring, keep=area2(ring) / 2 >= job.rules.keep_offcut * SQUARE_METRE)
            for part, ring in tile.tree.rests
        ),
    )
    return replace(source, rests=tuple(_worth_keeping(rest, source, job) for rest in source.rests))


def _worth_keeping(rest: Rest, source: HungSource, job: Job) -> Rest:
    """An offcut is racked only where two backers still hold it together."""
    seats, _ = left_hardware(rest, source, job.tile, job.rules)
    return replace(rest, keep=rest.keep and len({seat.backer for seat in seats}) > 1)


def _boards(at: tuple[int, int], place: Place, given: Supply, names: _Names, wood_of: Tile) -> list[Board]:
    """The boards of a place, kept or made of the wood that they are given. `at`: numbers of its source and its place;
    `wood_of`: the source's anatomy.
    """
    found = []
    width = {backer.id: backer.width for backer in wood_of.backers}
    for s, seat in enumerate(place.fit.seats):
        if seat.backer is not None:
            wood: Wood | None = Wood(
                source=at[0],
                backer=seat.backer,
                width=width[seat.backer],
                span=seat.span,
                stretch=seat.span,
                sawn_free=False,
            )
            state: BoardState = "kept" if seat.state == "open" else seat.state
        else:
            wood = given[*at, s]
            state = "added" if wood is None else "moved"
        name = names.of(wood.source if wood else None, wood.backer if wood else 0)
        found.append(Board(name=name, place=at[1], seat=seat, state=state, wood=wood))
    return found


def _stood(place: Place, boards: list[Board], job: Job) -> tuple[Stand, ...]:
    """The piece's stands: the holes are where the fit put them on every tile, to a hair, so that one support plan
    serves all copies; those that a board's wood has there already are not drilled.
    """
    stands = []
    for stand in place.fit.stands:
        board = boards[stand.seat]
        if board.state in ("moved", "added"):
            holes = holes_in(board.seat, board.wood, job.tile)
            there = next((hole.at for hole in holes if math.dist(hole.at, stand.hole) <= NEAR), None)
            state: Literal["moved", "drilled"] = "moved" if there else "drilled"
            stand = replace(stand, state=state, hole=there or stand.hole)
        stands.append(stand)
    return tuple(stands)


def _sealed(p: int, tile: CutTile, boards: list[Board], job: Job) -> list[SealedEnd]:
    """Cut slat ends, and the sawn ends of backers."""
    place, anatomy = tile.pattern.places[p], job.tile
    timber = Timber(tile=anatomy, rules=job.rules, outline=place.shape.outline, holes=place.shape.holes)
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
    corners = [(round(u), round(v)) for u, v in seat.board.exterior.coords[:4]]
    ends = ((corners[0], corners[1]), (corners[3], corners[2]))
    if wood is None:  # a bought backer is cut at both ends
        return list(ends)
    full = next(b.v for b in tile.design.backers if b.id == wood.backer)
    return [end for end, now, once in zip(ends, wood.span, full, strict=True) if abs(now - once) > NEAR]


def screwed_while_sawn(rest: Rest, source: HungSource, tile: Tile) -> bool:
    """Whether screws hold a leftover together at the saw: those of wood that leaves later are still in then."""
    ring = polygon(rest.outline)
    return any(covered([s.at for s in tile.screws if s.id not in source.screws_early], ring))


def left_hardware(rest: Rest, source: HungSource, tile: Tile, rules: Rules) -> tuple[list[Seat], list[str]]:
    """Backers and screws that stay on an offcut: stretches whose screws were not taken out."""
    timber = Timber(tile=tile, rules=rules, outline=rest.outline)
    ring = timber.polygon
    staying = [s for s in tile.screws if s.id not in source.screws_out]
    screws = list(compress(staying, covered([s.at for s in staying], ring)))
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
