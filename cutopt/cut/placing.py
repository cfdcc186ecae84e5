"""Where a class may lie on a tile: at its own place, half-turned, or slid to an end where no side of it is fixed."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import replace

import shapely

from cutopt.cut.records import PieceClass, Place
from cutopt.fit import Carpenter, Fit, Refusal
from cutopt.geometry import NEAR, Ring, extent, from_lowest, polygon
from cutopt.lay.records import Chord, Shape, Side
from cutopt.tile import Offcut, Point


def places_of(kind: int, lain: Iterable[tuple[bool, Point, Shape]], carpenter: Carpenter) -> list[Place] | Refusal:
    """Of the places where a class lies so that its fixed sides stay factory edges those where it can be hung, or the
    refusal at its own place.
    """
    found: list[Place] = []
    refusal: Refusal | None = None
    for half_turn, shift, shape in lain:
        answer = carpenter.fit(shape.outline, shape.holes)
        if isinstance(answer, Fit):
            found.append(Place(kind=kind, half_turn=half_turn, shift=shift, shape=shape, fit=answer))
        else:
            refusal = refusal or answer
    return found if found or refusal is None else refusal


def places_on(offcut: Offcut, source: int, kind: int, piece: PieceClass, carpenter: Carpenter) -> Iterator[Place]:
    """Where a class may lie on a racked offcut, number `source`, so that its fixed sides stay factory edges."""
    bench = carpenter.of(offcut.wood)
    wood = shapely.Polygon(offcut.outline).buffer(NEAR)
    shapely.prepare(wood)
    for half_turn, shift, shape in lies(piece, carpenter):
        if wood.covers(polygon(shape.outline)):
            answer = bench.fit(shape.outline, shape.holes)
            if isinstance(answer, Fit):
                yield Place(kind=kind, half_turn=half_turn, shift=shift, shape=shape, fit=answer, source=source)


def lies(piece: PieceClass, carpenter: Carpenter) -> Iterator[tuple[bool, Point, Shape]]:
    """Half turn, shift and shape of a class wherever its fixed sides stay factory edges, hung there or not."""
    for half_turn in (False, True) if carpenter.slats_turn else (False,):
        for shift in _shifts(piece, half_turn, carpenter):
            yield half_turn, shift, moved(piece.shape, half_turn, shift, carpenter)


def _shifts(piece: PieceClass, half_turn: bool, carpenter: Carpenter) -> list[Point]:
    """Along an axis with a fixed side a piece stays; along one with none it may also lie at either end of the tile."""
    tile = carpenter.tile
    ring = carpenter.turned(piece.shape.outline) if half_turn else piece.shape.outline
    u0, v0, u1, v1 = (int(x) for x in extent(ring))
    along = [0] if _held(piece.fixed, "u0", "u1") else sorted({0, -u0, tile.length - u1}, key=abs)
    across = [0] if _held(piece.fixed, "v0", "v1") else sorted({0, -v0, tile.width - v1}, key=abs)
    return [(u, v) for u in along for v in across]


def _held(fixed: frozenset[Side], *sides: Side) -> bool:
    return any(side in fixed for side in sides)


def moved(shape: Shape, half_turn: bool, shift: Point, carpenter: Carpenter) -> Shape:
    """The shape as it lies on the source."""
    size = (carpenter.tile.length, carpenter.tile.width)

    def seen(p: Point) -> Point:
        return (
            (shift[0] + size[0] - p[0], shift[1] + size[1] - p[1]) if half_turn else (shift[0] + p[0], shift[1] + p[1])
        )

    ring: Ring = tuple(seen(p) for p in shape.outline)
    freed = freed_sides(shape, size) if shift != (0, 0) else []
    chords = [(seen(a), seen(b)) for a, b in [*shape.chords, *freed]]
    return Shape(
        outline=from_lowest(ring),
        chords=tuple(chord for chord in chords if not _on_rim(chord, size)),
        notches=tuple(
            replace(
                notch,
                path=tuple(seen(p) for p in notch.path),
                centre=None if notch.centre is None else seen(notch.centre),
            )
            for notch in shape.notches
        ),
    )


def freed_sides(shape: Shape, size: Point) -> list[Chord]:
    """Chords along the cell's sides that the piece has an edge on: a piece that slides on its tile is cut there too.

    `size`: of the cell along and across, ticks.
    """
    length, width = size
    sides: list[tuple[Chord, int, int]] = [
        (((0, 0), (length, 0)), 1, 0),
        (((length, 0), (length, width)), 0, length),
        (((length, width), (0, width)), 1, width),
        (((0, width), (0, 0)), 0, 0),
    ]
    ring = shape.outline
    edges = list(zip(ring, (*ring[1:], *ring[:1]), strict=True))
    return [chord for chord, axis, at in sides if any(p[axis] == at == q[axis] for p, q in edges)]


def _on_rim(chord: Chord, size: Point) -> bool:
    """Whether a chord runs along the tile's own edge, or outside it."""
    return any(chord[0][axis] == chord[1][axis] and not 0 < chord[0][axis] < size[axis] for axis in (0, 1))
