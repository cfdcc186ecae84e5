"""Which places go together on one tile: every set of places that keep a kerf between their true shapes."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import replace

import numpy as np
import shapely

from cutopt.cut.notching import legs
from cutopt.cut.records import Pattern, PieceClass, Place
from cutopt.cut.saws import Saws
from cutopt.fit import Carpenter, Fit, Refusal
from cutopt.geometry import NEAR, Ring, extent, from_lowest, polygon
from cutopt.lay.records import Chord, Shape, Side
from cutopt.tile import Backer, Point

SHORTEST_WOOD = 60 * 320  # ticks: a shorter stretch of backer is not kept for use elsewhere
SAW_WIDTH = 4 * 320  # ticks: no blade is wider
MOST_PATTERNS = 60_000


def places_of(kind: int, piece: PieceClass, carpenter: Carpenter) -> list[Place] | Refusal:
    """Where a class may lie on a tile so that its fixed sides stay factory edges, or the refusal at its own place."""
    found: list[Place] = []
    refusal: Refusal | None = None
    for half_turn in (False, True) if carpenter.slats_turn else (False,):
        for shift in _shifts(piece, half_turn, carpenter):
            shape = _moved(piece.shape, half_turn, shift, carpenter)
            answer = carpenter.fit(shape.outline, shape.holes)
            if isinstance(answer, Fit):
                found.append(Place(kind=kind, half_turn=half_turn, shift=shift, shape=shape, fit=answer))
            else:
                refusal = refusal or answer
    return found if found or refusal is None else refusal


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


def _moved(shape: Shape, half_turn: bool, shift: Point, carpenter: Carpenter) -> Shape:
    """The shape as it lies on the source."""
    size = (carpenter.tile.length, carpenter.tile.width)

    def seen(p: Point) -> Point:
        return (
            (shift[0] + size[0] - p[0], shift[1] + size[1] - p[1]) if half_turn else (shift[0] + p[0], shift[1] + p[1])
        )

    ring: Ring = tuple(seen(p) for p in shape.outline)
    freed = _freed_sides(shape, size) if shift != (0, 0) else []
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


def _freed_sides(shape: Shape, size: Point) -> list[Chord]:
    """Chords along the cell's sides that the piece has an edge on: a piece that slides on its tile is cut there too."""
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


def patterns_of(
    places: Sequence[Place],
    classes: Sequence[PieceClass],
    carpenter: Carpenter,
    saws: Saws,
    *,
    together: bool,
    twins: bool,
) -> tuple[list[Pattern], bool]:
    """All patterns of the places, and whether these are really all.

    There is one for each set of classes: the one that needs least wood, then least time. `twins`: a piece that is
    wanted many times may come twice from one tile.
    """
    most = [kind.demand if twins else len(kind.members) for kind in classes]
    best: dict[tuple[int, ...], Pattern] = {}
    beside = _compatible(places, saws.cutting.straight_kerf) if together else [0] * len(places)
    for clique in _cliques(places, most, beside):
        pattern = pattern_of([places[i] for i in clique], carpenter, saws)
        known = best.get(pattern.kinds)
        if known is None or _work(pattern) < _work(known):
            best[pattern.kinds] = pattern
        if len(best) >= MOST_PATTERNS:
            return list(best.values()), False
    return list(best.values()), True


def _work(pattern: Pattern) -> tuple[int, float]:
    return len(pattern.needs) - len(pattern.had), pattern.minutes


def _compatible(places: Sequence[Place], kerf: int) -> list[int]:
    """For each place the set, as bits, of the later places that keep a kerf from it."""
    if not places:
        return []
    boxes = np.array([extent(place.shape.outline) for place in places])
    shapes = np.array([polygon(place.shape.outline) for place in places])
    square = np.array([len(place.shape.outline) == 4 and not _slanted(place) for place in places])
    off = [share.whole if (share := place.fit.share) else (np.inf, -np.inf) for place in places]
    off_low, off_high = np.array(off, dtype=float).T
    gap = kerf - NEAR
    found = []
    for i in range(len(places)):
        later = slice(i + 1, len(places))
        apart = (
            (boxes[later, 0] - boxes[i, 2] >= gap)
            | (boxes[i, 0] - boxes[later, 2] >= gap)
            | (boxes[later, 1] - boxes[i, 3] >= gap)
            | (boxes[i, 1] - boxes[later, 3] >= gap)
        )
        unsure = ~apart & ~(square[later] & square[i])
        if unsure.any():
            where = np.flatnonzero(unsure)
            apart[where] = shapely.distance(shapes[i], shapes[later][where]) >= gap
        # slats that come off whole must not run on into another piece
        apart &= (boxes[later, 3] <= off_low[i]) | (boxes[later, 1] >= off_high[i])
        apart &= (boxes[i, 3] <= off_low[later]) | (boxes[i, 1] >= off_high[later])
        bits = 0
        for j in np.flatnonzero(apart).tolist():
            bits |= 1 << (i + 1 + j)
        found.append(bits)
    return found


def _slanted(place: Place) -> bool:
    ring = place.shape.outline
    return any(p[0] != q[0] and p[1] != q[1] for p, q in zip(ring, (*ring[1:], *ring[:1]), strict=True))


def _cliques(places: Sequence[Place], most: Sequence[int], beside: list[int]) -> Iterator[tuple[int, ...]]:
    """Every set of places that go together, no class more often than `most` allows; singles first."""
    layer: list[tuple[tuple[int, ...], int]] = [((i,), bits) for i, bits in enumerate(beside)]
    while layer:
        following: list[tuple[tuple[int, ...], int]] = []
        for clique, bits in layer:
            yield clique
            while bits:
                low = bits & -bits
                j = low.bit_length() - 1
                bits ^= low
                kind = places[j].kind
                if sum(places[i].kind == kind for i in clique) < most[kind]:
                    following.append(((*clique, j), beside[j] & bits))
        layer = following


def pattern_of(places: Sequence[Place], carpenter: Carpenter, saws: Saws) -> Pattern:
    """The pattern of these places: its balance of backers, and its minutes at bench, drill and saw."""
    free = _wood(places, carpenter)
    wanted = sorted((length for place in places for length in place.fit.needs), reverse=True)
    needs: list[int] = []
    for length in wanted:
        fitting = [wood for wood in free if wood >= length]
        if fitting:
            free.remove(min(fitting))
        else:
            needs.append(length)
    rules = saws.rules
    cuts = sum(
        len(place.shape.chords) * rules.rate_table_saw + len(place.shape.notches) * rules.rate_jigsaw
        for place in places
    )
    return Pattern(
        places=tuple(places),
        needs=tuple(needs),
        had=tuple(sorted(free, reverse=True)),
        minutes=sum(place.fit.minutes for place in places) + cuts,
    )


def _wood(places: Sequence[Place], carpenter: Carpenter) -> list[int]:
    """Lengths of the tile's backers that no place keeps: whole ones, and the stretches beside kept ones."""
    found: list[int] = []
    for backer in carpenter.tile.backers:
        found += [high - low for low, high in spare_wood(places, backer)]
    return found


def spare_wood(places: Sequence[Place], backer: Backer) -> list[tuple[int, int]]:
    """The stretches of a tile's backer that are free for use elsewhere.

    One that no place keeps comes off before the cuts, whole. Of any other, what no blade goes through: every chord is
    taken to run through the whole tile, so that this holds in whatever order the cuts are made.
    """
    kept = sorted(span for place in places for span in place.fit.kept.get(backer.id, ()))
    spans = spare_stretches(backer.v, kept)
    if not kept:
        return spans
    for place in places:
        lines = [(chord, True) for chord in place.shape.chords]
        lines += [(leg, False) for notch in place.shape.notches for leg in legs(notch)]
        for line, endless in lines:
            sawn = _crossed(line, backer, endless=endless)
            if sawn is not None:
                spans = [part for low, high in spans for part in ((low, min(high, sawn[0])), (max(low, sawn[1]), high))]
                spans = [(low, high) for low, high in spans if high - low >= SHORTEST_WOOD]
    return spans


def _crossed(line: Chord, backer: Backer, *, endless: bool) -> tuple[int, int] | None:
    """The interval across in which a blade on the line goes through a backer, a saw's width to spare."""
    (u0, v0), (u1, v1) = sorted(line)
    low, high = backer.u - backer.width // 2 - SAW_WIDTH, backer.u + backer.width // 2 + SAW_WIDTH
    if u0 == u1:
        return (backer.v if endless else (v0 - SAW_WIDTH, v1 + SAW_WIDTH)) if low < u0 < high else None
    if not endless:
        low, high = max(low, u0), min(high, u1)
        if low >= high:
            return None
    ends = sorted(v0 + (v1 - v0) * (u - u0) / (u1 - u0) for u in (low, high))
    return math.floor(ends[0]) - SAW_WIDTH, math.ceil(ends[1]) + SAW_WIDTH


def spare_stretches(board: tuple[int, int], kept: Sequence[tuple[int, int]]) -> list[tuple[int, int]]:
    """What is left of a backer beside the stretches that stay, less a saw's width, where it is long enough to use."""
    if not kept:
        return [board]
    at, found = board[0], []
    for low, high in kept:
        found.append((at, low - SAW_WIDTH))
        at = high + SAW_WIDTH
    found.append((at, board[1]))
    return [(a, b) for a, b in found if b - a >= SHORTEST_WOOD]
