"""What a drawing's file must hold, worked out of the plan alone, and how rings read back from it are compared."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from cutopt.planfile import Plan
from cutopt.planfile.model import Area, Cell, Piece, Placement, Source

Point = tuple[float, float]
Ring = tuple[Point, ...]
Round = tuple[float, float, float]  # x, y, radius

EXACT = 0.01  # mm
STARTER = 6.0  # mm, radius of the hole that a jigsaw starts from: as the steps say it


@dataclass(frozen=True, kw_only=True, slots=True)
class Geometry:
    """Closed rings and lines by what they are, and circles; mm, y upwards."""

    outlines: tuple[Ring, ...] = ()
    posts: tuple[Ring, ...] = ()
    tiles: tuple[Ring, ...] = ()
    pieces: tuple[Ring, ...] = ()
    cuts: tuple[Ring, ...] = ()
    holes: tuple[Round, ...] = ()


def site_geometry(plan: Plan, outlines: Sequence[Ring]) -> Geometry:
    """Of all areas, each shifted to where its outline was read; the first must not be."""
    assert len(outlines) == len(plan.areas)
    assert math.dist(low(outlines[0]), low(plan.areas[0].outline)) < EXACT
    shifts = [_between(area.outline, outline) for area, outline in zip(plan.areas, outlines, strict=True)]
    pieces = {piece.id: piece for piece in plan.pieces}
    areas = list(zip(plan.areas, shifts, strict=True))
    length, width = plan.tile.length, plan.tile.width
    whole = ((0.0, 0.0), (length, 0.0), (length, width), (0.0, width))
    return Geometry(
        outlines=tuple(_shifted(area.outline, by) for area, by in areas),
        posts=tuple(_shifted(post.outline, by) for area, by in areas for post in area.posts),
        tiles=tuple(
            _shifted(_laid(plan, area, cell, whole), by)
            for area, by in areas
            for cell in area.cells
            if cell.kind == "whole"
        ),
        pieces=tuple(
            _shifted(_laid(plan, area, cell, ring), by)
            for area, by in areas
            for cell in area.cells
            for name in cell.pieces
            for ring in _rings(pieces[name])
        ),
    )


def tiles_geometry(plan: Plan, outlines: Sequence[Ring]) -> Geometry:
    """Of all sources as they lie: face down, and after that face up where a cut is made so."""
    faces = [(source, up) for source in plan.sources for up in (False, True) if not up or _has_face_up(plan, source)]
    assert len(outlines) == len(faces)
    pieces = {piece.id: piece for piece in plan.pieces}
    found: list[Geometry] = []
    for (source, up), outline in zip(faces, outlines, strict=True):
        by = _between(_seen(plan, source.outline, up), outline)
        rings = [placed(plan, place, ring) for place in source.placements for ring in _rings(pieces[place.piece])]
        paths = [(*cut.path, cut.path[0]) if cut.closed else cut.path for cut in source.cuts]
        found.append(
            Geometry(
                outlines=(_shifted(_seen(plan, source.outline, up), by),),
                pieces=tuple(_shifted(_seen(plan, ring, up), by) for ring in rings),
                cuts=tuple(_shifted(_seen(plan, path, up), by) for path in paths),
                holes=() if up else tuple(_holes(plan, source, by)),
            )
        )
    return Geometry(
        outlines=tuple(ring for one in found for ring in one.outlines),
        pieces=tuple(ring for one in found for ring in one.pieces),
        cuts=tuple(ring for one in found for ring in one.cuts),
        holes=tuple(hole for one in found for hole in one.holes),
    )


def same_rings(drawn: Sequence[Ring], expected: Sequence[Ring]) -> bool:
    """Whether each expected ring was drawn once, and no other, to `EXACT`."""
    left = sorted(drawn)
    for ring in sorted(expected):
        match = next((n for n, other in enumerate(left) if _alike(ring, other)), None)
        if match is None:
            return False
        left.pop(match)
    return not left


def low(ring: Ring) -> Point:
    """The lower left corner of its box."""
    return min(x for x, _ in ring), min(y for _, y in ring)


def _alike(one: Ring, other: Ring) -> bool:
    return len(one) == len(other) and all(math.dist(a, b) <= EXACT for a, b in zip(one, other, strict=True))


def _between(own: Ring, drawn: Ring) -> Point:
    return low(drawn)[0] - low(own)[0], low(drawn)[1] - low(own)[1]


def _shifted(ring: Sequence[Point], by: Point) -> Ring:
    return tuple((x + by[0], y + by[1]) for x, y in ring)


def _rings(piece: Piece) -> tuple[Ring, ...]:
    return (piece.outline, *piece.holes)


def _laid(plan: Plan, area: Area, cell: Cell, ring: Ring) -> Ring:
    """As the plan file's format has it: corner + (u, v), or + (width - v, u) in a cell with a quarter turn."""
    x = area.grid.origin[0] + cell.col * area.grid.pitch[0]
    y = area.grid.origin[1] + cell.row * area.grid.pitch[1]
    if cell.quarter_turn:
        return tuple((x + plan.tile.width - v, y + u) for u, v in ring)
    return tuple((x + u, y + v) for u, v in ring)


def placed(plan: Plan, place: Placement, ring: Ring) -> Ring:
    du, dv = place.shift
    if place.half_turn:
        return tuple((du + plan.tile.length - u, dv + plan.tile.width - v) for u, v in ring)
    return tuple((du + u, dv + v) for u, v in ring)


def _seen(plan: Plan, ring: Ring, up: bool) -> Ring:
    """Face down, left and right have changed places."""
    return tuple((u if up else plan.tile.length - u, v) for u, v in ring)


def _has_face_up(plan: Plan, source: Source) -> bool:
    return any(step.source == source.id and step.do == "cut" and step.face == "up" for step in plan.steps)


def _holes(plan: Plan, source: Source, by: Point) -> list[Round]:
    """The source's holes that no piece has any more, those of its pieces, and those that a jigsaw starts from."""
    stock = {f"stock:{one.id}": one for one in plan.stock}
    own = stock.get(source.from_, plan.tile).pin_holes
    radius = max((hole.diameter for hole in own), default=plan.tile.support.pin) / 2
    mine = [(hole.u, hole.v, radius) for hole in source.pin_holes]
    gone = [
        (hole.u, hole.v, hole.diameter / 2)
        for hole in own
        if all(math.dist((hole.u, hole.v), (u, v)) > 0.1 for u, v, _ in mine)
    ]
    steps = [step for step in plan.steps if step.source == source.id and step.do == "drill" and step.cut is not None]
    starts = [(u, v, STARTER) for step in steps for u, v in step.holes]
    return [(plan.tile.length - u + by[0], v + by[1], r) for u, v, r in (*mine, *gone, *starts)]


def same_rounds(drawn: Sequence[Round], expected: Sequence[Round]) -> bool:
    """Whether each expected circle was drawn once, and no other, to `EXACT`."""
    return same_rings([(round_[:2], (round_[2], 0.0)) for round_ in drawn], [(o[:2], (o[2], 0.0)) for o in expected])
