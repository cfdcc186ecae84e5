"""Outlines are rings with an area, anticlockwise, holes clockwise, and do not cross themselves; the tile adds up."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from shapely.geometry import LinearRing, Polygon

from cutopt.checks.finding import Fault, fault
from cutopt.checks.shapes import Spot, nothing
from cutopt.planfile import Plan


def rings(plan: Plan) -> Iterator[Fault]:
    """Every outline of the plan that is no proper ring."""
    for area in plan.areas:
        yield from _ring(f"area {area.name}", area.outline)
        if len(area.edges) != len(area.outline):
            yield fault("outline", f"area {area.name}", f"{len(area.edges)} edges for {len(area.outline)} corners")
        for post in area.posts:
            yield from _ring(f"post {post.name}", post.outline)
        for cell in area.cells:
            for left in cell.left:
                yield from _ring(f"{area.name} cell ({cell.row}, {cell.col}), left open", left.outline)
    for piece in plan.pieces:
        yield from _ring(f"piece {piece.id}", piece.outline)
        for hole in piece.holes:
            yield from _ring(f"hole of piece {piece.id}", hole, clockwise=True)
    for source in plan.sources:
        yield from _ring(f"source {source.id}", source.outline)
        for fragment in source.slats:
            yield from _ring(f"slat {fragment.slat} of piece {fragment.piece}", fragment.outline)
        for offcut in source.offcuts:
            yield from _ring(f"offcut {offcut.id}", offcut.outline)
    for support in plan.supports:
        yield from _ring(f"support at {support.at}", support.outline)


def _ring(where: str, spots: Sequence[Spot], *, clockwise: bool = False) -> Iterator[Fault]:
    if len(spots) < 3:
        yield fault("outline", where, f"has {len(spots)} corners; a ring has at least 3")
        return
    if len(set(spots)) < len(spots):
        yield fault("outline", where, "names a corner twice")
    shape = Polygon(spots)
    if not shape.is_valid or nothing(shape):
        yield fault("outline", where, "crosses itself or has no area")
    elif LinearRing(spots).is_ccw is clockwise:
        yield fault(
            "outline", where, f"runs the wrong way round; {'clockwise' if clockwise else 'anticlockwise'} is meant"
        )
