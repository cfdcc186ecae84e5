"""Who gets which wood: open seats take what their own tile leaves, then other tiles' waste, then bought backers."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from cutopt.cut import CutTile
from cutopt.cut.patterns import spare_stretches
from cutopt.fit import Seat
from cutopt.hang.records import Wood
from cutopt.tile import Tile


@dataclass(frozen=True, kw_only=True, slots=True)
class OpenSeat:
    """A seat that wants wood: number `seat` of place number `place` of source number `source`."""

    source: int
    place: int
    seat: int
    length: int
    stands: bool


@dataclass(kw_only=True, slots=True)
class _Pile:
    """A stretch of wood and how many alike there are of it."""

    wood: Wood
    left: int
    bored: bool

    @property
    def length(self) -> int:
        return self.wood.span[1] - self.wood.span[0]


STEP = 5 * 320  # ticks between the stretches of a longer board that are tried

Supply = dict[tuple[int, int, int], Wood | None]


def supply(tiles: Sequence[CutTile], tile: Tile) -> tuple[list[CutTile], Supply]:
    """Wood for every open seat, by (source, place, seat); None: bought.

    Tiles cut alike whose wood comes from elsewhere are listed one by one, so that each board has one origin.
    """
    tiles = [single for t in tiles for single in _singled(t, tile)]
    piles = [pile for number, t in enumerate(tiles) for pile in _left_over(number, t, tile)]
    wanted = [seat for number, t in enumerate(tiles) for seat in _open_seats(number, t)]
    given: Supply = {}
    for seat in sorted(wanted, key=lambda s: (-s.length, not s.stands, s.source, s.place, s.seat)):
        given[_key(seat)] = _take(seat, piles, tiles, own=True)
    for seat in sorted(wanted, key=lambda s: (-s.length, not s.stands, s.source, s.place, s.seat)):
        if given[_key(seat)] is None:
            given[_key(seat)] = _take(seat, piles, tiles, own=False)
    return tiles, given


def _key(seat: OpenSeat) -> tuple[int, int, int]:
    return seat.source, seat.place, seat.seat


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
        kept = sorted(s for place in tile.pattern.places for s in place.fit.kept.get(backer.id, ()))
        piles += [
            _Pile(
                wood=Wood(source=number, backer=backer.id, span=span, stretch=span, sawn_free=bool(kept)),
                left=tile.uses,
                bored=backer.id in bored,
            )
            for span in spare_stretches(backer.v, kept)
        ]
    return piles


def _open_seats(number: int, tile: CutTile) -> list[OpenSeat]:
    return [
        OpenSeat(source=number, place=p, seat=s, length=seat.length, stands=any(x.seat == s for x in place.fit.stands))
        for p, place in enumerate(tile.pattern.places)
        for s, seat in enumerate(place.fit.seats)
        if seat.state == "open"
    ]


def _take(seat: OpenSeat, piles: list[_Pile], tiles: Sequence[CutTile], *, own: bool) -> Wood | None:
    """The shortest wood that does; bored wood where the seat stands on supports. Cut to the seat's length."""
    uses = tiles[seat.source].uses
    fitting = [
        pile
        for pile in piles
        if (pile.wood.source == seat.source) == own and pile.length >= seat.length and pile.left >= uses
    ]
    if not fitting:
        return None
    pile = min(fitting, key=lambda p: (p.length, p.bored != seat.stands, p.wood.source, p.wood.backer, p.wood.span))
    pile.left -= uses
    return pile.wood


def stretch_for(seat: Seat, wood: Wood) -> list[tuple[int, int]]:
    """Stretches of the wood that a seat may take: where it lay across the tile, else from an end, or within."""
    low, high = wood.span
    starts = [seat.span[0]] if low <= seat.span[0] and seat.span[1] <= high else []
    starts += [low, high - seat.length, *range(low, high - seat.length, STEP)]
    return [(start, start + seat.length) for start in dict.fromkeys(starts)]
