"""Pieces sorted for cutting: equal ones are a class, and the carpenter says where each class may lie."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

from cutopt.cut.notching import legs
from cutopt.cut.placing import lies, places_of, places_on
from cutopt.cut.records import PieceClass, Place
from cutopt.cut.sawing import saw_tree
from cutopt.cut.saws import Saws
from cutopt.fit import Carpenter, Refusal
from cutopt.geometry import Ring, area2, extent
from cutopt.job.records import Cutting
from cutopt.lay.records import Piece
from cutopt.tile import Offcut, Tile


@dataclass(frozen=True, kw_only=True)
class Stock:
    """Pieces sorted for cutting: classes with their places, and the pieces that no place can make, with why."""

    classes: tuple[PieceClass, ...]
    places: tuple[tuple[Place, ...], ...]
    refused: tuple[tuple[int, Refusal], ...]

    def least_wood(self, tile: Tile) -> int:
        """Tiles that have as much wood as all pieces."""
        wood2 = sum(kind.demand * area2(kind.shape.outline) for kind in self.classes)
        return math.ceil(wood2 / 2 / (tile.length * tile.width) - 1e-9)

    def saved_by(self, rack: Sequence[Offcut]) -> int:
        """Tiles that racked offcuts save at most: one each, those that are large enough for a piece."""
        sizes = [_size(kind.shape.outline) for kind in self.classes]
        return sum(any(u <= wide and v <= high for u, v in sizes) for wide, high in (_size(o.outline) for o in rack))


def _size(ring: Ring) -> tuple[float, float]:
    u0, v0, u1, v1 = extent(ring)
    return u1 - u0, v1 - v0


def sort_pieces(
    pieces: Sequence[Piece], counts: Sequence[int], carpenter: Carpenter, cutting: Cutting | None = None
) -> Stock:
    """Group equal pieces into classes and ask the carpenter for their places. `counts`: of each piece, how many.

    With `cutting`, pieces that the saws at hand cannot make are refused too.
    """
    classes: list[PieceClass] = []
    places: list[tuple[Place, ...]] = []
    refused: list[tuple[int, Refusal]] = []
    kinds = [(kind, _beyond_saws(kind, carpenter, cutting)) for kind in classes_of(pieces, counts)]
    lain = [[] if beyond else list(lies(kind, carpenter)) for kind, beyond in kinds]
    carpenter.foresee([(shape.outline, shape.holes) for some in lain for *_, shape in some])
    for (kind, beyond), some in zip(kinds, lain, strict=True):
        found = beyond or places_of(len(classes), some, carpenter)
        if cutting is not None and not isinstance(found, Refusal):
            found = _sawable(found, carpenter, cutting)
        if isinstance(found, Refusal):
            refused += [(number, found) for number in kind.members]
            continue
        classes.append(kind)
        places.append(tuple(found))
    return Stock(classes=tuple(classes), places=tuple(places), refused=tuple(refused))


def with_offcuts(stock: Stock, rack: Sequence[Offcut], carpenter: Carpenter) -> Stock:
    """The stock with the places that its classes may have on racked offcuts."""
    places = [list(found) for found in stock.places]
    for source, offcut in enumerate(rack, start=1):
        for kind, piece in enumerate(stock.classes):
            places[kind] += places_on(offcut, source, kind, piece, carpenter)
    return replace(stock, places=tuple(map(tuple, places)))


def classes_of(pieces: Sequence[Piece], counts: Sequence[int]) -> list[PieceClass]:
    """Equal pieces together."""
    groups: dict[tuple[object, ...], list[int]] = {}
    for number, piece in enumerate(pieces):
        # pieces wanted equally often, so that those of a class can always be dealt to tiles without one meeting itself
        key = (piece.shape.outline, piece.shape.notches, piece.fixed, counts[number])
        groups.setdefault(key, []).append(number)
    return [
        PieceClass(
            shape=pieces[members[0]].shape,
            fixed=pieces[members[0]].fixed,
            members=tuple(members),
            counts=tuple(counts[m] for m in members),
        )
        for members in groups.values()
    ]


def _beyond_saws(kind: PieceClass, carpenter: Carpenter, cutting: Cutting | None) -> Refusal | None:
    """Why the saws at hand cannot make a piece, None where they can."""
    if cutting is None:
        return None
    shape, reach = kind.shape, carpenter.rules.jigsaw_reach
    if shape.notches and "jigsaw" not in cutting.saws:
        return Refusal(rule="saws", why="a notch wants a jigsaw")
    sides = [leg for notch in shape.notches for leg in legs(notch)]
    if "guided_saw" not in cutting.saws and any(math.dist(a, b) > reach for a, b in sides):
        return Refusal(rule="jigsaw_reach", why="a side of the notch is longer than a jigsaw follows")
    oblique = any(a[0] != b[0] and a[1] != b[1] for a, b in shape.chords)
    if oblique and cutting.saws == ("table_saw",):
        return Refusal(rule="saws", why="a taper wants a guided saw")
    return None


def _sawable(places: list[Place], carpenter: Carpenter, cutting: Cutting) -> list[Place] | Refusal:
    """The places whose straight cuts the saws at hand can make; a guided saw makes any."""
    if "guided_saw" in cutting.saws:
        return places
    saws = Saws(tile=carpenter.tile, rules=carpenter.rules, cutting=cutting)
    found = [place for place in places if saw_tree([place], carpenter.outline, saws)]
    return found or Refusal(rule="saws", why="a straight cut is beyond the saws at hand: it wants a guided saw")
