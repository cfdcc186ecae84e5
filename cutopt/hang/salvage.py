"""Who gets which wood: open seats take what their own tile leaves, other tiles' waste, or bought backers: as few of
these as can be. Where that is more than may be bought, stretches are sawn in two.
"""

from __future__ import annotations

from collections.abc import Hashable, Sequence
from dataclasses import dataclass, replace

from cutopt.cut import CutTile
from cutopt.cut.wood import spare_wood
from cutopt.fit import Drive, Seat
from cutopt.hang.matching import Offer, Want, matched
from cutopt.hang.records import Wood
from cutopt.hang.sawnapart import crosscut_saw, sawn_apart
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
    """A stretch of wood; `row`: where it lay along the slats."""

    wood: Wood
    row: int
    bored: bool

    @property
    def length(self) -> int:
        return self.wood.span[1] - self.wood.span[0]

    @property
    def kind(self) -> Hashable:
        """What a seat's wood depends on."""
        return self.wood.backer, self.wood.span


Key = tuple[int, int, int]  # source, place, seat
_At = tuple[int, int, tuple[int, int]]  # source, backer, stretch
Supply = dict[Key, Wood | None]


def supply(tiles: Sequence[CutTile], job: Job) -> tuple[list[CutTile], Supply]:
    """Wood for every open seat, by (source, place, seat), cut to it; None: bought.

    Wood whose holes would meet a screw however it is cut is left for others. Tiles cut alike whose wood comes from
    elsewhere are listed one by one, so that each board has one origin.
    """
    together = _supply([single for tile in tiles for single in _singled(tile, job)], job)
    bought = _bought(together)
    if not bought:
        return together
    # a tile cut alike many times may spend long wood of its own on a short seat that others want
    apart = _supply([one for t in tiles for one in ([replace(t, uses=1)] * t.uses if _open_seats(0, t) else [t])], job)
    best = apart if _bought(apart) < bought else together
    if _bought(best) <= job.rules.spare_backers:
        return best
    split = _split([one for tile in tiles for one in [replace(tile, uses=1)] * tile.uses], job)
    return split if _bought(split) < _bought(best) else best


def _split(tiles: list[CutTile], job: Job) -> tuple[list[CutTile], Supply]:
    """Wood for tiles one by one: those for whose seats nothing is left get a part of a stretch, the longest first.

    What can be sawn is a stretch that nobody has, or one whose board leaves enough beside it.
    """
    tiles, given = _supply(tiles, job)
    seats = {seat.key: seat for number, tile in enumerate(tiles) for seat in _open_seats(number, tile)}
    owners: dict[_At, list[Key]] = {}
    for key, wood in given.items():
        if wood is not None:
            owners.setdefault(_at(wood), []).append(key)
    piles = [pile.wood for n, tile in enumerate(tiles) for pile in _left_over(n, tile, tile.at_bench(job).tile)]
    kerf = job.cutting.kerf[crosscut_saw(job)]
    for key in sorted((k for k, wood in given.items() if wood is None), key=lambda k: (-seats[k].length, k)):
        rooms = sorted(
            (_room(pile, [seats[k] for k in owners.get(_at(pile), ())], kerf), n) for n, pile in enumerate(piles)
        )
        for room, n in rooms:
            if room < seats[key].length:
                continue
            sharing = [*owners.get(_at(piles[n]), ()), key]
            if key[0] == piles[n].source and not piles[n].sawn_free:
                continue  # its own, hung before the cuts: nothing of it is late
            boards = sawn_apart([seats[k] for k in sharing], piles[n], kerf, job)
            if boards is not None:
                owners[_at(piles[n])] = sharing
                given |= _first_early(dict(zip(sharing, boards, strict=True)), piles[n])
                break
    return tiles, given


def _first_early(boards: dict[Key, Wood], wood: Wood) -> Supply:
    """A board of the wood's own tile is sawn off and hung before the cuts, so that nothing loose is sawn."""
    return {
        key: replace(board, stretch=wood.stretch, sawn_free=False, whole=None)
        if key[0] == wood.source and not wood.sawn_free
        else board
        for key, board in boards.items()
    }


def _at(wood: Wood) -> _At:
    """Which stretch of a pile it is."""
    return wood.source, wood.backer, wood.stretch


def _room(wood: Wood, seats: Sequence[OpenSeat], kerf: int) -> int:
    """What is left of a stretch beside the boards for some seats."""
    return wood.stretch[1] - wood.stretch[0] - sum(seat.length + kerf for seat in seats)


def _bought(found: tuple[list[CutTile], Supply]) -> int:
    """Backers to be bought."""
    tiles, given = found
    return sum(tiles[source].uses for (source, _, _), wood in given.items() if wood is None)


def _supply(tiles: list[CutTile], job: Job) -> tuple[list[CutTile], Supply]:
    """Wood for the seats of tiles as they are listed."""
    given: Supply = {}
    piles: list[_Pile] = []
    for number, tile in enumerate(tiles):
        own = _left_over(number, tile, tile.at_bench(job).tile)
        if tile.uses > 1:
            given |= _supplied(_open_seats(number, tile), own, job)
            taken = {(w.backer, w.stretch) for key, w in given.items() if w is not None and key[0] == number}
            own = [pile for pile in own if (pile.wood.backer, pile.wood.stretch) not in taken] * tile.uses
        piles += own
    wanted = [seat for n, tile in enumerate(tiles) if tile.uses == 1 for seat in _open_seats(n, tile)]
    wanted.sort(key=lambda s: (-s.length, not s.pins, s.key))
    return tiles, given | _supplied(wanted, piles, job)


def _supplied(wanted: Sequence[OpenSeat], piles: Sequence[_Pile], job: Job) -> Supply:
    """Wood of the piles for the seats, cut to them."""
    given, piles = _put_back(wanted, piles, job)
    wanted = [seat for seat in wanted if seat.key not in given]
    spans: dict[tuple[int, Hashable], tuple[int, int]] = {}

    def does(want: int, offer: int) -> bool:
        seat, pile = wanted[want], piles[offer]
        wood = stretch(seat.seat, pile.wood, seat.drives, seat.pins, job)
        if wood is not None:
            spans[want, pile.kind] = wood.span
        return wood is not None

    wants = [Want(length=s.length, source=s.source, pinned=bool(s.pins)) for s in wanted]
    offers = [Offer(kind=p.kind, length=p.length, source=p.wood.source, bored=p.bored) for p in piles]
    found = matched(wants, offers, does)
    for want, (seat, offer) in enumerate(zip(wanted, found, strict=True)):
        pile = None if offer is None else piles[offer]
        given[seat.key] = None if pile is None else replace(pile.wood, span=spans[want, pile.kind])
    return given


def _put_back(wanted: Sequence[OpenSeat], piles: Sequence[_Pile], job: Job) -> tuple[Supply, list[_Pile]]:
    """Wood for seats where a backer of their own tile lay: that one, ripped perhaps, so that its screws go into their
    own holes; and what is left. All of it is wanted there, so that no longer seat could have had it.
    """
    there = {(p.wood.source, p.row, p.wood.span): n for n, p in enumerate(piles)}
    given: Supply = {}
    gone: set[int] = set()
    for one in wanted:
        number = there.get((one.source, one.seat.u, one.seat.span))
        if number is None or number in gone or one.seat.lean:
            continue
        wood = stretch(one.seat, piles[number].wood, one.drives, one.pins, job)
        if wood is not None:
            given[one.key] = wood
            gone.add(number)
    return given, [pile for n, pile in enumerate(piles) if n not in gone]


def _singled(tile: CutTile, job: Job) -> list[CutTile]:
    """A tile whose own wood does not do is listed as often as it is cut."""
    if tile.uses == 1:
        return [tile]
    own = _supplied(_open_seats(0, tile), _left_over(0, tile, tile.at_bench(job).tile), job)
    return [tile] if all(own.values()) else [replace(tile, uses=1)] * tile.uses


def _left_over(number: int, tile: CutTile, anatomy: Tile) -> list[_Pile]:
    """The stretches of a source's backers that none of its places keeps."""
    bored = {backer.id for backer in anatomy.bored}
    piles = []
    for backer in anatomy.backers:
        kept = backer.id in tile.pattern.kept
        piles += [
            _Pile(
                wood=Wood(source=number, backer=backer.id, width=backer.width, span=span, stretch=span, sawn_free=kept),
                row=backer.u,
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
