"""The wood that lies in an area, whole tiles and pieces, and the joints between it. Layout frame, millimetres."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from shapely.geometry import Polygon
from shapely.geometry.base import BaseGeometry
from shapely.ops import unary_union
from shapely.strtree import STRtree

from cutopt.checks.evidence import Evidence, cell_to_layout, factory
from cutopt.checks.measures import Measures
from cutopt.checks.shapes import Spot, ring_edges
from cutopt.planfile.model import Area


@dataclass(frozen=True, kw_only=True, slots=True)
class Laid:
    """All wood that lies in an area: cells, shapes and their factory edges alike in number; the tree finds shapes."""

    cells: tuple[tuple[int, int], ...]
    shapes: tuple[Polygon, ...]
    edges: tuple[tuple[tuple[Spot, Spot], ...], ...]
    tree: STRtree


def laid(evidence: Evidence, area: Area) -> Laid:
    """Derive it from cells and placements."""
    found: list[tuple[tuple[int, int], Polygon, tuple[tuple[Spot, Spot], ...]]] = []
    for cell in area.cells:
        if cell.kind == "whole":
            shape = cell_to_layout(evidence.plan, area, cell).region(evidence.rectangle)
            found.append(((cell.row, cell.col), shape, tuple(ring_edges(shape))))
    for placed in evidence.placed:
        if placed.area.name == area.name:
            own = [edge for edge in ring_edges(placed.outline) if factory(evidence.tile, *edge)]
            edges = tuple((placed.to_layout.spot(a), placed.to_layout.spot(b)) for a, b in own)
            found.append(((placed.cell.row, placed.cell.col), placed.to_layout.region(placed.outline), edges))
    shapes = tuple(shape for _, shape, _ in found)
    return Laid(
        cells=tuple(cell for cell, _, _ in found),
        shapes=shapes,
        edges=tuple(edges for _, _, edges in found),
        tree=STRtree(shapes),
    )


def widest_joint(tile: Measures) -> float:
    """What may lie open between two tiles: the joint, and the play of both pins in their holes."""
    return max(0.0, *tile.joint) + 2 * tile.hole_slack


def joined(shapes: Sequence[BaseGeometry], width: float) -> BaseGeometry:
    """Shapes with what lies between them, where they are no further apart than `width`. Corners stay as they are."""
    together = unary_union(list(shapes))
    if width <= 0:
        return together
    return together.buffer(width / 2, join_style="mitre").buffer(-width / 2, join_style="mitre").union(together)
