"""A piece and its mirror images, which all get the same answer.

The carpentry of a piece is worked out in one of its four views: as it is given, seen in a mirror along the slats or
across them, or half-turned. The view is chosen by what is seen in it alone, so that mirror images are worked out in the
same view, with the same places offered and the same limits met; the answer is then seen back.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from itertools import product
from typing import TypeVar

from cutopt.fit.records import Drive, Fault, Fit, Fragment, Refusal, Seat, Stand
from cutopt.fit.sharing import Share, seen_across
from cutopt.geometry import Ring, from_lowest
from cutopt.tile import Backer, Point, Screw, Slat, Tile

NOT_SURE = "; looking ended before every way to hang it was tried"
HOLE_STEP = 320  # ticks: new holes are measured to the millimetre from the tile's home corner


@dataclass(frozen=True, kw_only=True)
class View:
    """A tile seen in a mirror `along` the slats, `across` them, or both; its parts are numbered as they are seen.

    What is seen is seen back by the same view. `slats`, `backers` and `screws` are the tile's own names of the parts in
    the order of those numbers. In views of equal `key` the same piece has the same answer.
    """

    along: bool
    across: bool
    tile: Tile
    key: tuple[tuple[int, ...], ...]
    slats: tuple[int, ...] = ()
    backers: tuple[int, ...] = ()
    screws: tuple[str, ...] = ()

    def u(self, u: int) -> int:
        """A place along the slats."""
        return self.tile.length - u if self.along else u

    def v(self, v: int) -> int:
        """A place across them."""
        return self.tile.width - v if self.across else v

    def point(self, at: Point) -> Point:
        """A point."""
        return self.u(at[0]), self.v(at[1])

    def span(self, v: tuple[int, int]) -> tuple[int, int]:
        """An interval across."""
        return (self.v(v[1]), self.v(v[0])) if self.across else v

    def ring(self, ring: Ring) -> Ring:
        """A ring, going round the same way, from its lowest corner."""
        points = [self.point(p) for p in ring]
        if self.along != self.across:
            points.reverse()
        return from_lowest(tuple(points))

    def rings(self, rings: Sequence[Ring]) -> tuple[Ring, ...]:
        """Rings in the order of their lowest corners."""
        return tuple(sorted((self.ring(ring) for ring in rings), key=lambda r: (r[0][1], r[0][0])))

    def said(self, fault: Fault) -> Refusal:
        """A fault found in this view, in words of the tile as it was given."""
        slat, at = self.slats[fault.slat - 1], self.u(round(fault.at)) / 320
        why = fault.words.format(slat=slat, size=fault.size / 320, at=at)
        return Refusal(rule=fault.rule, why=why if fault.sure else why + NOT_SURE, sure=fault.sure)

    def back(self, found: Fit) -> Fit:
        """A fit that was worked out in this view, as the piece was given."""
        rank = {self.slats[slat.id - 1]: self.v(slat.v[0]) for slat in self.tile.slats}
        fragments = [self._fragment(fragment) for fragment in found.fragments]
        order = sorted(range(len(fragments)), key=lambda n: (rank[fragments[n].slat], min(fragments[n].outline)))
        number = {old: new for new, old in enumerate(order)}
        seats = [self._seat(seat) for seat in found.seats]
        lying = sorted(range(len(seats)), key=lambda n: (seats[n].u, seats[n].span))
        drives = [tuple(self._drive(drive, number) for drive in some) for some in found.drives]
        stands = [self._stand(stand, lying.index(stand.seat)) for stand in found.stands]
        return replace(
            found,
            fragments=tuple(fragments[n] for n in order),
            seats=tuple(seats[n] for n in lying),
            drives=tuple(tuple(sorted(drives[n], key=lambda d: (d.fragment, d.at[1]))) for n in lying),
            stands=tuple(sorted(stands, key=lambda s: (s.seat, -s.toward[1]))),
            share=self._share(found.share) if found.share else None,
        )

    def _share(self, share: Share) -> Share:
        """Two slats that share."""
        seen = seen_across(share, self.tile) if self.across else share
        inner, outer = (replace(slat, id=self.slats[slat.id - 1]) for slat in (seen.inner, seen.outer))
        return replace(seen, inner=inner, outer=outer)

    def _fragment(self, fragment: Fragment) -> Fragment:
        return Fragment(
            slat=self.slats[fragment.slat - 1],
            outline=self.ring(fragment.outline),
            holes=tuple(map(self.ring, fragment.holes)),
            shared=fragment.shared,
        )

    def _seat(self, seat: Seat) -> Seat:
        lean = -seat.lean if self.along != self.across else seat.lean
        backer = self.backers[seat.backer - 1] if seat.backer is not None else None
        span, reach = self.span(seat.span), self.span(seat.reach)
        return replace(seat, u=self.u(seat.u), span=span, reach=reach, backer=backer, lean=lean)

    def _drive(self, drive: Drive, number: dict[int, int]) -> Drive:
        return Drive(
            fragment=number[drive.fragment],
            at=self.point(drive.at),
            screw=self.screws[int(drive.screw) - 1] if drive.screw is not None else None,
            predrilled=drive.predrilled,
        )

    def _stand(self, stand: Stand, seat: int) -> Stand:
        along, across = stand.toward
        toward = (-along if self.along else along, -across if self.across else across)
        return replace(stand, seat=seat, hole=self.point(stand.hole), toward=toward)


def view_of(tile: Tile, outline: Ring, holes: Sequence[Ring]) -> View:
    """The view in which a piece is worked out."""
    return min(_views(tile), key=lambda view: (view.ring(outline), view.rings(holes), view.key))


@lru_cache(maxsize=64)
def _views(tile: Tile) -> tuple[View, ...]:
    return tuple(_seen(tile, along, across) for along, across in product((False, True), repeat=2))


def _seen(tile: Tile, along: bool, across: bool) -> View:
    """The tile in a mirror, its parts numbered from the corner that is then the home corner; of an offcut, as those of
    the tile that it was made as.
    """
    view = View(along=along, across=across, tile=tile, key=())
    design = tile.design
    slats = sorted(design.slats, key=lambda s: view.span(s.v))
    backers = sorted(design.backers, key=lambda b: (view.u(b.u), view.span(b.v)))
    screws = sorted(design.screws, key=lambda s: view.point(s.at))
    slat_of = {slat.id: n for n, slat in enumerate(slats, 1)}
    backer_of = {backer.id: n for n, backer in enumerate(backers, 1)}
    screw_of = {screw.id: n for n, screw in enumerate(screws, 1)}

    def screw(s: Screw) -> Screw:
        number = str(screw_of[s.id])
        return replace(s, id=number, slat=slat_of[s.slat], backer=backer_of[s.backer], at=view.point(s.at))

    def mirrored(one: Tile) -> Tile:
        holes = sorted((replace(h, at=view.point(h.at)) for h in one.pin_holes), key=lambda h: h.at)
        return replace(
            one,
            slats=_in_order(replace(s, id=slat_of[s.id], v=view.span(s.v)) for s in one.slats),
            backers=_in_order(replace(b, id=backer_of[b.id], u=view.u(b.u), v=view.span(b.v)) for b in one.backers),
            screws=tuple(sorted(map(screw, one.screws), key=lambda s: int(s.id))),
            pin_holes=tuple(replace(h, id=n, backer=backer_of[h.backer]) for n, h in enumerate(holes, 1)),
            made=None if one.made is None else mirrored(one.made),
        )

    seen = mirrored(tile)
    key = (
        *(s.v for s in seen.slats),
        *((b.u, b.width, *b.v) for b in seen.backers),
        *((*s.at, s.slat, s.backer) for s in seen.screws),
        *((*h.at, h.backer, h.diameter) for h in seen.pin_holes),
        # what is not seen in the tile alone: whose wood a place is given first, where new holes are measured from
        (along and not _alike(seen), across and tile.width % (2 * HOLE_STEP) != 0),
    )
    return View(
        along=along,
        across=across,
        tile=seen,
        key=key,
        slats=tuple(s.id for s in slats),
        backers=tuple(b.id for b in backers),
        screws=tuple(s.id for s in screws),
    )


Part = TypeVar("Part", Slat, Backer)


def _in_order(parts: Iterable[Part]) -> tuple[Part, ...]:
    return tuple(sorted(parts, key=lambda part: part.id))


def _alike(tile: Tile) -> bool:
    """Whether all bored backers have their holes on the centre line and alike: any of them does as well."""
    off = [{(h.at[0] - b.u, h.at[1], h.diameter) for h in tile.pin_holes if h.backer == b.id} for b in tile.bored]
    return all(some == off[0] for some in off) and all(u == 0 for some in off for u, _, _ in some)
