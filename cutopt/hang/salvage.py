"""Who gets which wood: open seats take what their own tile leaves, other tiles' waste, or bought backers: as few of
these as can be.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from cutopt.cut import CutTile
from cutopt.cut.patterns import spare_wood
from cutopt.fit import Drive, Seat
from cutopt.hang.matching import Offer, Want, matched
from cutopt.hang.records import Wood
from cutopt.hang.stretching import stretch
from cutopt.job.records import Job
from cutopt.tile import Point, Tile


@dataclass(frozen=True, kw_only=True, slots=True)
class OpenSeat:
    """A seat that wants wood: number `seat` of place number `place` of source number `source`.

    `drives` are its screws, `pins` where its pin holes go.
    """

    source: int
    place: int
    number: int
    seat: Seat
    drives: tuple[Drive, ...]
    pins: tuple[Point, ...]

    @property
    def length(self) -> int:
        """Wood needed, ticks."""
        return self.seat.length

    @property
    def key(self) -> Key:
        """By what its wood is found."""
        return self.source, self.place, self.number


@dataclass(kw_only=True, slots=True)
class _Pile:
    """A stretch of wood and how many alike there are of it."""

    wood: Wood
    left: int
    bored: bool

    @property
    def length(self) -> int:
        return self.wood.span[1] - self.wood.span[0]


Key = tuple[int, int, int]  # source, place, seat
Supply = dict[Key, Wood | None]


def supply(tiles: Sequence[CutTile], job: Job) -> tuple[list[CutTile], Supply]:
    """Wood for every open seat, by (source, place, seat), cut to it; None: bought.

    Wood whose holes would meet a screw however it is cut is left for others. Tiles cut alike whose wood comes from
    elsewhere are listed one by one, so that each board has one origin.
    """
    tiles = [single for t in tiles for single in _singled(t, job.tile)]
    piles = [pile for number, t in enumerate(tiles) for pile in _left_over(number, t, job.tile)]
    wanted = [seat for number, t in enumerate(tiles) for seat in _open_seats(number, t)]
    wanted.sort(key=lambda s: (-s.length, not s.pins, s.key))
    alike = [seat for seat in wanted if tiles[seat.source].uses > 1]
    given: Supply = {seat.key: _take(seat, piles, tiles[seat.source].uses, job=job) for seat in alike}
    single = [seat for seat in wanted if tiles[seat.source].uses == 1]
    return tiles, given | _matched(single, [pile for pile in piles for _ in range(pile.left)], job)


def _matched(wanted: Sequence[OpenSeat], piles: Sequence[_Pile], job: Job) -> Supply:
    """Wood for seats of tiles that are cut once."""
    cut: dict[tuple[int, int], Wood | None] = {}

    def does(want: int, offer: int) -> bool:
        seat, wood = wanted[want], piles[offer].wood
        cut[want, offer] = stretch(seat.seat, wood, seat.drives, seat.pins, job)
        return cut[want, offer] is not None

    wants = [Want(key=s.key, length=s.length, source=s.source, pinned=bool(s.pins)) for s in wanted]
    offers = [Offer(length=p.length, source=p.wood.source, bored=p.bored) for p in piles]
    found = matched(wants, offers, does)
    numbers = [found[seat.key] for seat in wanted]
    return {
        seat.key: None if offer is None else cut[want, offer]
        for want, (seat, offer) in enumerate(zip(wanted, numbers, strict=True))
    }


def _singled(tile: CutTile, anatomy: Tile) -> list[CutTile]:
    """A tile whose own wood does not do is listed as often as it is cut."""
    own = [pile.length for pile in _left_over(0, tile, anatomy)]
    for seat in sorted((s.length for s in _open_seats(0, tile)), reverse=True):
        fitting = [length for length in own if length >= seat]
        if not fitting:
            return [replace(tile, uses=1)] * tile.uses
        own.remove(min(fitting))
    return [tile]


def _left_over(number: int, tile: CutTile, anatomy: Tile) -> list[_Pile]:
    """The stretches of a source's backers that none of its places keeps."""
    bored = {backer.id for backer in anatomy.bored}
    piles = []
    for backer in anatomy.backers:
        kept = backer.id in tile.pattern.kept
        piles += [
            _Pile(
                wood=Wood(source=number, backer=backer.id, span=span, stretch=span, sawn_free=kept),
                left=tile.uses,
                bored=backer.id in bored,
            )
            for span in spare_wood(tile.pattern.places, backer)
        ]
    return piles


def _open_seats(number: int, tile: CutTile) -> list[OpenSeat]:
    return [
        OpenSeat(
            source=number,
            place=p,
            number=s,
            seat=seat,
            drives=place.fit.drives[s],
            pins=tuple(stand.hole for stand in place.fit.stands if stand.seat == s),
        )
        for p, place in enumerate(tile.pattern.places)
        for s, seat in enumerate(place.fit.seats)
        if seat.state == "open"
    ]


def _take(seat: OpenSeat, piles: list[_Pile], uses: int, *, job: Job) -> Wood | None:
    """The shortest of its tile's own wood that does; bored wood where it stands on supports. Cut to its length."""
    fitting = [
        pile for pile in piles if pile.wood.source == seat.source and pile.length >= seat.length and pile.left >= uses
    ]
    fitting.sort(key=lambda p: (p.length, p.bored == (not seat.pins), p.wood.source, p.wood.backer, p.wood.span))
    for pile in fitting:
        wood = stretch(seat.seat, pile.wood, seat.drives, seat.pins, job)
        if wood is not None:
            pile.left -= uses
            return wood
    return None
